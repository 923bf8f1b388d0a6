"""The report page as a browser shows it, against the JSON of the same run; that it reaches nowhere."""

from __future__ import annotations

import base64
import os
import re
import shlex
import shutil
import subprocess
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest
from small_design import SMALL

from aswound.cli.main import main

SAMPLES = Path(__file__).parents[2] / "samples"
DESIGN, READINGS = SAMPLES / "flyback-24w.toml", SAMPLES / "flyback-24w.csv"
BROWSER = shutil.which("chromium") or shutil.which("chromium-browser")
PREFIXES = {"n": 1e-9, "p": 1e-12, "µ": 1e-6, "m": 1e-3, "k": 1e3, "M": 1e6, "": 1.0}
UNITS = {"H": 1.0, "Ω": 1.0, "F": 1.0, "Hz": 1.0, "°": 3.141592653589793 / 180, "": 1.0}

browsing = pytest.mark.skipif(
    BROWSER is None and not os.environ.get("CI"), reason="no chromium here; the integration installs it"
)


class Page(HTMLParser):
    """Tables by id, addresses, ids, elements, and the text of marked elements."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tables: dict[str, list[list[str]]] = {}
        self.elements: list[tuple[str, dict[str, str]]] = []
        self.preformatted: list[str] = []
        self.command = ""
        self._table: str | None = None
        self._cell = False
        self._pre = self._code = False
        self.feed(text)

    @property
    def ids(self) -> list[str]:
        return [attributes["id"] for _, attributes in self.elements if "id" in attributes]

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        attributes = {key: value or "" for key, value in attrs}
        self.elements.append((tag, attributes))
        if tag == "table":
            self._table = attributes.get("id", f"unnamed-{len(self.tables)}")
            self.tables[self._table] = []
        elif tag == "tr" and self._table is not None:
            self.tables[self._table].append([])
        elif tag in ("td", "th") and self._table is not None:
            self.tables[self._table][-1].append("")
            self._cell = True
        elif tag == "pre":
            self._pre = True
            self.preformatted.append("")
        elif attributes.get("id") == "command":
            self._code = True

    def handle_endtag(self, tag: str) -> None:
        if tag == "table":
            self._table = None
        elif tag in ("td", "th"):
            self._cell = False
        elif tag == "pre":
            self._pre = False
        elif tag == "code":
            self._code = False

    def handle_data(self, data: str) -> None:
        if self._cell and self._table is not None:
            self.tables[self._table][-1][-1] += data.replace("\N{NO-BREAK SPACE}", " ")
        elif self._pre:
            self.preformatted[-1] += data
        elif self._code:
            self.command += data


def number(text: str) -> tuple[float, float]:
    """(value in SI, half of its last digit) of the first number in a cell: "3.59 ± 0.34 µH", "3.6 +0.5 −0.3
    µH"."""
    found = re.match(
        r"(-?[\d.]+)(?: (?:±|…) -?[\d.]+| \+[\d.]+ −[\d.]+)?\s?([npµmkM]?)(H|Ω|F|Hz|°|)(?:$|[ ;(])", text
    )
    assert found, text
    factor = PREFIXES[found[2]] * UNITS[found[3]]
    decimals = len(found[1].partition(".")[2])
    return float(found[1]) * factor, 0.5000001 * 10.0**-decimals * factor


def rows(page: Page, table: str) -> dict[str, list[str]]:
    """The rows of a table by their first cell."""
    return {row[0]: row[1:] for row in page.tables[table][1:]}


def dom(path: Path, width: int = 1280) -> str:
    """The page as the browser has it after loading."""
    assert BROWSER is not None, "the integration has a browser"
    options = ["--headless", "--no-sandbox", "--disable-gpu", f"--window-size={width},900", "--dump-dom"]
    done = subprocess.run(
        [BROWSER, *options, path.as_uri()], capture_output=True, encoding="utf-8", check=True, timeout=120
    )
    return done.stdout


@pytest.fixture(scope="module")
def written(flyback_report: tuple[Path, dict[str, Any]]) -> Path:
    return flyback_report[0]


@pytest.fixture(scope="module")
def told(flyback_report: tuple[Path, dict[str, Any]]) -> dict[str, Any]:
    """The data of the same run; that they are those of each command is held by ``test_schema``."""
    return flyback_report[1]


@pytest.fixture(scope="module", params=["file", pytest.param("browser", marks=(browsing, pytest.mark.slow))])
def shown(written: Path, request: pytest.FixtureRequest) -> Page:
    """The page as it stands in its file, and as a browser has it after loading."""
    return Page(written.read_text(encoding="utf-8") if request.param == "file" else dom(written))


class Nesting(HTMLParser):
    """Elements that are not closed where they were opened; a browser would move or mend them."""

    ALONE = ("meta", "link", "br", "hr", "img", "col", "input")

    def __init__(self, text: str) -> None:
        super().__init__()
        self.open: list[str] = []
        self.faults: list[str] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        del attrs
        if tag in ("p", "table", "div", "section", "ul", "h1", "h2", "h3", "pre") and "p" in self.open:
            self.faults.append(f"<{tag}> in a paragraph, line {self.getpos()[0]}")
        if tag not in self.ALONE:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        del tag, attrs

    def handle_endtag(self, tag: str) -> None:
        if not self.open or self.open.pop() != tag:
            self.faults.append(f"</{tag}>, line {self.getpos()[0]}")


def test_a_browser_has_nothing_to_mend(written: Path) -> None:
    found = Nesting(written.read_text(encoding="utf-8"))
    assert found.faults == []
    assert found.open == []


@pytest.mark.parametrize("wrong", ["<table><tr><td>1</tr></table>", "<p><table></table></p>", "<div><p></p>"])
def test_what_a_browser_would_mend_is_seen(wrong: str) -> None:
    found = Nesting(wrong)
    assert found.faults or found.open


def test_predictions_are_those_of_predict(shown: Page, told: dict[str, Any]) -> None:
    table = rows(shown, "predicted")
    tests = told["predict"]["tests"]
    assert set(table) == {test["name"] for test in tests}
    for test in tests:
        _, expected, span, *_ = table[test["name"]]
        for text, key in ((expected, "predicted"), (span, "low")):
            value, half = number(text)
            assert value == pytest.approx(test[key], abs=half), (test["name"], text)


def test_comparisons_are_those_of_compare(shown: Page, told: dict[str, Any]) -> None:
    samples = told["compare"]["samples"]
    assert [row[0] for row in shown.tables["verdicts"][1:]] == [sample["sample"] for sample in samples]
    for place, sample in enumerate(samples, 1):
        table = rows(shown, f"sample-{place}-table")
        for test in sample["tests"]:
            expected, read, _, score, limits = table[test["name"]]
            for text, key in ((expected, "predicted"), (read, "read")):
                value, half = number(text)
                assert value == pytest.approx(test[key], abs=half), (sample["sample"], test["name"], text)
            if score.startswith(("<", ">")):
                assert float(score[1:]) * test["score"] > 100**2
            else:
                assert float(score) == pytest.approx(test["score"], abs=0.051)
            verdict = limits.partition(":")[0] or "no limit"
            assert verdict == test["verdict"]
        checks = [row[0] == "holds" for row in shown.tables[f"sample-{place}-checks"][1:]]
        assert checks == [check["holds"] for check in sample["checks"]]


def test_causes_are_those_of_explain(shown: Page, told: dict[str, Any]) -> None:
    samples = told["explain"]["samples"]
    blamed = 0
    for row, sample in zip(shown.tables["verdicts"][1:], samples, strict=True):
        best = sample["causes"][0]
        sound = sample["as_designed"] >= best["probability"]
        assert ("consistent with the design" if sound else best["title"]) in row[3]
        blamed += not sound
        if sound:
            continue  # a verdict that needs no number: nothing deviates
        per_cent = re.search(r"(\d+) %\)?$", row[3])
        assert per_cent is not None
        assert float(per_cent[1]) == pytest.approx(100 * best["probability"], abs=0.51)
    assert blamed == 4


def test_the_lot_is_that_of_lot(shown: Page, told: dict[str, Any]) -> None:
    table = rows(shown, "lot-table")
    for test in told["lot"]["tests"]:
        count, mean, *_ = table[test["name"]]
        assert int(count) == test["n"] == 5
        value, half = number(mean)
        assert value == pytest.approx(test["mean"], abs=half)


def test_every_link_leads_somewhere(shown: Page) -> None:
    assert len(shown.ids) == len(set(shown.ids)), "an id twice"
    addresses = [
        value
        for _, attributes in shown.elements
        for key, value in attributes.items()
        if key in ("href", "xlink:href", "src", "data", "action", "srcset", "poster")
    ]
    inside = [address for address in addresses if address.startswith("#")]
    assert len(inside) > 12
    assert {address[1:] for address in inside} <= set(shown.ids)
    assert all(address.startswith("data:") for address in addresses if address not in inside)


def test_nothing_is_fetched_and_nothing_runs(written: Path, shown: Page) -> None:
    text = written.read_text(encoding="utf-8")
    tags = {tag for tag, _ in shown.elements}
    assert not tags & {"script", "link", "img", "iframe", "object", "embed", "image", "base", "form"}
    outside = set(
        re.findall(r"\b(?:https?|ftp|file):[^\s\"'<]*", re.sub(r"<pre>.*?</pre>", "", text, flags=re.S))
    )
    assert outside <= {"http://www.w3.org/2000/svg", "http://www.w3.org/1999/xlink"}, outside
    assert not re.search(r"@import|url\((?!#)", text)


@browsing
@pytest.mark.slow
@pytest.mark.parametrize("width", [1280, 800])
def test_nothing_overflows_to_the_side(written: Path, tmp_path: Path, width: int) -> None:
    probe = tmp_path / "probe.html"
    sizes = "[document.documentElement.scrollWidth, innerWidth]"
    measure = f"<script>document.body.dataset.wide = {sizes};</script></body>"
    probe.write_text(written.read_text(encoding="utf-8").replace("</body>", measure), encoding="utf-8")
    found = re.search(r'data-wide="(\d+),(\d+)"', dom(probe, width))
    assert found is not None
    assert int(found[2]) == width
    assert int(found[1]) <= width


def test_pictures_have_words(shown: Page) -> None:
    pictures = [attributes for tag, attributes in shown.elements if tag == "svg"]
    assert len(pictures) == 4
    for attributes in pictures:
        assert attributes["role"] == "img"
        assert set(attributes["aria-labelledby"].split()) <= set(shown.ids)


@pytest.mark.slow
def test_the_page_alone_makes_it_again(
    written: Path, shown: Page, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """From the files saved from the page and the command on it, in an empty folder."""
    assert [text.removeprefix("\n") for text in shown.preformatted] == [
        DESIGN.read_text(encoding="utf-8"),
        READINGS.read_text(encoding="utf-8"),
    ]
    for _, attributes in shown.elements:
        if "download" in attributes:
            head, _, body = attributes["href"].partition(",")
            assert head == "data:application/octet-stream;base64"
            (tmp_path / attributes["download"]).write_bytes(base64.b64decode(body))
    monkeypatch.chdir(tmp_path)
    words = shlex.split(shown.command)
    assert words[:2] == ["aswound", "report"]
    assert main(words[1:]) == 1
    assert (tmp_path / written.name).read_bytes() == written.read_bytes()


TITLE = '<script>alert(1)</script> $x^2$ & \\"quoted\\" Übertrager 変圧器'


@pytest.fixture(scope="module")
def unread(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A page of the small design with a title that would break it, beside its design."""
    folder = tmp_path_factory.mktemp("unread")
    design, path = folder / "small.toml", folder / "page.html"
    design.write_text(SMALL.replace("Two windings", TITLE), encoding="utf-8")
    assert main(["report", str(design), "-o", str(path), "--builds", "100"]) == 0
    return path


def test_a_page_without_readings(unread: Path) -> None:
    page = Page(unread.read_text(encoding="utf-8"))
    assert "predicted" in page.tables
    assert "verdicts" not in page.tables
    assert "causes" not in page.ids


@pytest.mark.slow
def test_readings_on_the_spot_stand_in_the_command(tmp_path: Path) -> None:
    path = tmp_path / "page.html"
    design = str(SAMPLES / "gate-drive.toml")
    test = json_names(design)[0]
    main(["report", design, "-o", str(path), "--builds", "100", "--read", f"{test}=OL", "--rule", "simple"])
    page = Page(path.read_text(encoding="utf-8"))
    assert shlex.split(page.command)[-6:] == ["--read", f"{test}=OL", "--rule", "simple", "--builds", "100"]
    assert page.tables["verdicts"][1][1] == "not read"


def json_names(design: str) -> list[str]:
    from aswound.predict import load_design

    return [test.name for test in load_design(design).tests]


def test_names_cannot_break_the_page(unread: Path) -> None:
    text = unread.read_text(encoding="utf-8")
    assert not any(tag == "script" for tag, _ in Page(text).elements)
    assert (
        "<h1>&lt;script&gt;alert(1)&lt;/script&gt; $x^2$ &amp; &#34;quoted&#34; Übertrager 変圧器</h1>"
        in text
    )


def test_an_existing_page_is_kept(unread: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path, design = tmp_path / "page.html", str(unread.with_name("small.toml"))
    path.write_text("mine", encoding="utf-8")
    assert main(["report", design, "-o", str(path)]) == 2
    assert path.read_text(encoding="utf-8") == "mine"
    assert "--force" in capsys.readouterr().err
    assert main(["report", design, "-o", str(path), "--force", "--builds", "100"]) == 0
    assert "<!DOCTYPE html>" in path.read_text(encoding="utf-8")


def test_a_folder_that_does_not_exist_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["report", str(SAMPLES / "gate-drive.toml"), "-o", str(tmp_path / "no" / "x.html")]) == 2
    assert "no folder" in capsys.readouterr().err


def test_the_command_needs_a_file(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["report", str(SAMPLES / "gate-drive.toml")]) == 2
    assert "--output" in capsys.readouterr().err


@browsing
@pytest.mark.slow
def test_long_names_stay_inside(tmp_path: Path) -> None:
    """Nothing reaches beyond the screen where a name is long."""
    name = "primary_winding_with_a_name_that_never_ends_and_never_breaks"
    design, path = tmp_path / "long.toml", tmp_path / "page.html"
    design.write_text(SMALL.replace('"P"', f'"{name}"'), encoding="utf-8")
    assert main(["report", str(design), "-o", str(path), "--builds", "100"]) == 0
    probe = tmp_path / "probe.html"
    measure = (
        "<script>document.body.dataset.wide = Math.max("
        "...[...document.querySelectorAll('td, th, p, h3, pre, svg')]"
        ".map(one => one.getBoundingClientRect().right));</script></body>"
    )
    probe.write_text(path.read_text(encoding="utf-8").replace("</body>", measure), encoding="utf-8")
    found = re.search(r'data-wide="([\d.]+)"', dom(probe, 800))
    assert found is not None
    assert float(found[1]) <= 800
