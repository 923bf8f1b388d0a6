"""The build sheet as text, page and data: the same numbers, one printed page, nothing written by accident."""

from __future__ import annotations

import contextlib
import io
import json
import os
import re
import shutil
import subprocess
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest

from aswound.cli.main import main
from aswound.cli.views import words
from aswound.cli.views.buildsheet_checks import brief

SAMPLES = Path(__file__).parents[2] / "samples"
NAMES = ["flyback-24w", "bridge-300w", "gate-drive"]
BROWSER = shutil.which("chromium") or shutil.which("chromium-browser")
BUILDS = ["--builds", "100"]

browsing = pytest.mark.skipif(
    BROWSER is None and not os.environ.get("CI"), reason="no chromium here; the integration installs it"
)


class Page(HTMLParser):
    """The cells of every row of every table, elements, and all text."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.rows: list[list[str]] = []
        self.elements: list[tuple[str, dict[str, str]]] = []
        self.text = ""
        self._cell = False
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, {key: value or "" for key, value in attrs}))
        if tag == "tr":
            self.rows.append([])
        elif tag in ("td", "th"):
            self.rows[-1].append("")
            self._cell = True

    def handle_endtag(self, tag: str) -> None:
        if tag in ("td", "th"):
            self._cell = False

    def handle_data(self, data: str) -> None:
        plain = data.replace("\N{NO-BREAK SPACE}", " ")
        self.text += plain
        if self._cell:
            self.rows[-1][-1] += plain


def run(*arguments: str) -> str:
    """What the command prints, run as the console script runs it."""
    out = io.StringIO()
    with contextlib.redirect_stdout(out):
        assert main(["sheet", *arguments, *BUILDS]) == 0
    return out.getvalue()


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> dict[str, tuple[str, dict[str, Any]]]:
    """Page and data of every sample, by one run each."""
    folder = tmp_path_factory.mktemp("sheets")
    result = {}
    for name in NAMES:
        file = folder / f"{name}.html"
        data = json.loads(run(str(SAMPLES / f"{name}.toml"), "-o", str(file), "--json"))
        result[name] = file.read_text(encoding="utf-8"), data
    return result


Made = dict[str, tuple[str, dict[str, Any]]]


@pytest.mark.parametrize("name", NAMES)
def test_the_page_says_what_the_data_say(name: str, made: Made) -> None:
    text, data = made[name]
    page = Page(text)
    for step in data["steps"]:
        row = next(row for row in page.rows if row and row[0] == str(step["step"]))
        assert row[1].startswith(step["work"])
        assert any(f"{step['height_m']['nominal'] * 1e3:.2f} (" in cell for cell in row)
    for reading in data["readings"]:
        row = next(row for row in page.rows if any(cell.startswith(reading["name"]) for cell in row))
        expected = words.quantity(reading["expected"], reading["measure"])
        limits = words.limits(reading["limits"]["min"], reading["limits"]["max"], reading["measure"])
        assert expected in row
        assert limits in row
        assert row[-1] == "", "room to write the reading in"
    assert words.SAFETY in page.text
    assert "creepage" in page.text


@pytest.mark.parametrize("name", NAMES)
def test_the_page_needs_nothing_else(name: str, made: Made) -> None:
    text = made[name][0]
    page = Page(text)
    assert not {tag for tag, _ in page.elements} & {"script", "img", "link", "iframe", "object"}
    for _, attributes in page.elements:
        for key in ("src", "href", "xlink:href"):
            assert attributes.get(key, "#").startswith("#")
    assert "http" not in re.sub(r'xmlns(:\w+)?="http[^"]*"', "", text)
    assert "<desc" in text, "the drawing has an alternative text"
    ids = [attributes["id"] for _, attributes in page.elements if "id" in attributes]
    assert len(ids) == len(set(ids))


@browsing
@pytest.mark.parametrize(("name", "paper"), [*((name, "") for name in NAMES), ("bridge-300w", "A4 ")])
def test_a_sample_prints_on_one_page(name: str, paper: str, tmp_path: Path, made: Made) -> None:
    """On Letter, the browser's own, and the longest of them on A4."""
    assert BROWSER is not None
    file = tmp_path / "sheet.html"
    text = made[name][0]
    assert "size: landscape" in text
    file.write_text(text.replace("size: landscape", f"size: {paper}landscape"), encoding="utf-8")
    printed = tmp_path / "sheet.pdf"
    options = ["--headless", "--no-sandbox", "--disable-gpu", "--no-pdf-header-footer"]
    subprocess.run(
        [BROWSER, *options, f"--print-to-pdf={printed}", file.as_uri()],
        capture_output=True,
        check=True,
        timeout=120,
    )
    assert len(re.findall(rb"/Type\s*/Page\b", printed.read_bytes())) == 1


def test_text_fits_eighty_columns(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    assert main(["sheet", str(SAMPLES / "gate-drive.toml"), *BUILDS]) == 0
    out = capsys.readouterr().out
    assert max(map(len, out.splitlines())) <= 80
    assert "Step 1. Wind D: 0.315 mm, grade 2" in out
    assert "D and G1 (steps 1 and 3): tape 60.0 µm." in out
    assert "G1 and G2 (steps 3 and 4): nothing but the wires' own insulation." in out


def test_a_page_is_not_overwritten(tmp_path: Path, made: Made, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "sheet.html"
    file.write_bytes(b"mine")
    command = ["sheet", str(SAMPLES / "gate-drive.toml"), "-o", str(file), *BUILDS]
    assert main(command) == 2
    assert "--force" in capsys.readouterr().err
    assert file.read_bytes() == b"mine"
    assert main([*command, "--force"]) == 0
    assert file.read_text(encoding="utf-8") == made["gate-drive"][0], "the same inputs make the same page"


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (["--force"], "--force without --output"),
        (["-o", "no-such-folder/sheet.html"], "no folder"),
        (["--builds", "3"], "100"),
    ],
)
def test_faulty_options(arguments: list[str], told: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["sheet", str(SAMPLES / "gate-drive.toml"), *arguments]) == 2
    error = capsys.readouterr().err
    assert told in error
    assert "Traceback" not in error


def test_a_build_that_does_not_fit_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text = (SAMPLES / "gate-drive.toml").read_text(encoding="utf-8")
    file = tmp_path / "full.toml"
    file.write_text(text.replace("turns = 20", "turns = 900"), encoding="utf-8")
    assert main(["sheet", str(file), "-o", str(tmp_path / "out.html")]) == 2
    assert "Traceback" not in capsys.readouterr().err
    assert not (tmp_path / "out.html").exists()


def test_what_a_user_writes_is_escaped(tmp_path: Path) -> None:
    text = (SAMPLES / "gate-drive.toml").read_text(encoding="utf-8")
    file = tmp_path / "odd.toml"
    file.write_text(text.replace("Gate-drive ring", "<script>alert(1)</script>"), encoding="utf-8")
    page = tmp_path / "odd.html"
    assert main(["sheet", str(file), "-o", str(page), *BUILDS]) == 0
    assert "<script" not in page.read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("title", "short"),
    [
        ("P is wound with thinner wire (0.297 mm instead of 0.315 mm)", "thinner wire (0.297 mm)"),
        ("P is wound with aluminium wire instead of copper", "aluminium"),
        ("1 of the 3 wires in hand of S does not conduct", "1 of 3 wires of S lost"),
        ("P has 1 turn too few", "P −1 turn"),
        ("3 turns too many", "3 turns too many"),
        ("the sections were wound in the order P S instead of S P", "wound in the order P S"),
    ],
)
def test_short_words(title: str, short: str) -> None:
    assert brief(title) == short
