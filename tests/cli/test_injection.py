"""What a user types cannot become a command of what shows it: of a page, a simulator, a terminal, a
spreadsheet, an archive's reader."""

from __future__ import annotations

import io
import re
import subprocess
import sys
import zipfile
from html.parser import HTMLParser
from pathlib import Path

import openpyxl
import pytest
from how_many import and_slow
from small_design import SMALL, SMALL_READINGS

from aswound.cli.main import main

SAMPLES = Path(__file__).parents[2] / "samples"
SCRIPT = "<script>alert(1)</script>"
QUOTED = 'x\\" onload=\\"alert(1)'
"""As TOML writes it."""
FEW = ["--builds", "100"]


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A design whose title, notes, winding and test, and readings whose samples, would run if they could."""
    image = "<img src=x onerror=alert(2)>"
    text = re.sub(r'^title = ".*"$', f'title = "{SCRIPT} {QUOTED}"', SMALL, flags=re.M)
    text = text.replace('"S"', f'"{SCRIPT}"').replace('name = "n"', f'name = "{image}"')
    text = text.replace("[build]", f'[build]\nnote = """{SCRIPT}\n.include /etc/passwd\n{QUOTED}"""')
    (tmp_path / "d.toml").write_text(text, encoding="utf-8")
    rows = SMALL_READINGS.replace(",n,", f",{image},")
    rows = rows.replace("A1,", f"{SCRIPT},").replace("A2,", '"x"" onload=""alert(1)",')
    (tmp_path / "r.csv").write_text(rows, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    return tmp_path


class Tags(HTMLParser):
    """Every element with its attributes."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.found: list[tuple[str, dict[str, str | None]]] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.found.append((tag, dict(attrs)))


def harmless(text: str) -> None:
    for tag, attributes in Tags(text).found:
        assert tag not in ("script", "img", "iframe", "object", "embed", "foreignobject")
        assert not any(name.startswith("on") for name in attributes)
        for name in ("href", "src", "xlink:href"):
            value = attributes.get(name) or "#"
            assert value.startswith(("#", "data:")), value


@pytest.mark.parametrize(
    "arguments",
    [
        ["report", "d.toml", "r.csv", *FEW, "-o", "page.html"],
        ["sheet", "d.toml", *FEW, "-o", "page.html"],
        ["predict", "d.toml", *FEW, "--draw", "page.svg"],
        ["sweep", "d.toml", *FEW, "--points", "10", "-o", "page.svg"],
    ],
    ids=lambda arguments: arguments[0],
)
def test_no_page_or_drawing_runs_what_a_user_typed(
    arguments: list[str], folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(arguments) in (0, 1), capsys.readouterr().err
    text = (folder / arguments[-1]).read_text(encoding="utf-8")
    assert "alert(1)" in text
    harmless(text)


def test_no_line_of_a_netlist_is_what_a_user_typed(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Titles and notes are comments, names of windings identifiers."""
    assert main(["netlist", "d.toml", "--to", "2 kHz", "-o", "n.cir"]) == 0, capsys.readouterr().err
    lines = (folder / "n.cir").read_text(encoding="utf-8").splitlines()
    allowed = re.compile(r"\*|\.(subckt|ends|param)\b|\+|[RLCKEFGHVX]\w*\s|$", re.I)
    for line in lines:
        assert allowed.match(line), line
        assert line.startswith("*") or not re.search(r'[<>"\'();]|include', line), line
    assert any("alert(1)" in line for line in lines)


@pytest.mark.parametrize("typed", ["A1\n.include /etc/passwd", "A1\\u001b]0;x\\u0007", "A1\\u202e"])
@pytest.mark.parametrize("place", ["title", "winding", "test"])
def test_lines_and_escapes_in_names_of_a_design_are_refused(
    typed: str, place: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = (SAMPLES / "flyback-24w.toml").read_text(encoding="utf-8")
    typed = typed.replace("\n", "\\n")
    old = {"title": re.search(r'^title = (".*")$', text, re.M)[1], "winding": '"AUX"', "test": '"dot_S"'}[
        place
    ]  # type: ignore[index]
    (tmp_path / "d.toml").write_text(text.replace(old, f'"{typed}"'), encoding="utf-8")
    assert main(["netlist", str(tmp_path / "d.toml"), "--to", "2 kHz"]) == 2
    shown = capsys.readouterr()
    assert shown.out == ""
    assert "found" in shown.err
    assert not re.search("[\x00-\x09\x0b-\x1f\x7f\u202e]", shown.err)
    assert not any(line.startswith(".include") for line in shown.err.splitlines())


@pytest.mark.parametrize("sign", ["\x1b[2J", "\x07", "\x9b31m", "\u202e", "\x00", "\u2028"])
@pytest.mark.parametrize("command", ["compare", "check", "explain", "lot"])
def test_no_sign_of_a_sample_steers_a_terminal(
    sign: str, command: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    rows = (SAMPLES / "flyback-24w.csv").read_text(encoding="utf-8").replace("A1,", f"A{sign}1,", 3)
    (tmp_path / "r.csv").write_text(rows, encoding="utf-8", newline="")
    design = [] if command == "check" else [str(SAMPLES / "flyback-24w.toml")]
    assert main([command, *design, str(tmp_path / "r.csv")]) == 2
    shown = capsys.readouterr()
    assert shown.out == ""
    assert sign[0] not in shown.err
    assert "found" in shown.err


@pytest.mark.parametrize("begin", ["=", "+", "-", "@"])
def test_no_cell_of_a_table_is_a_formula(begin: str, capsys: pytest.CaptureFixture[str]) -> None:
    name = f"{begin}cmd|' /C calc'!A0"
    status = main(["plan", str(SAMPLES / "flyback-24w.toml"), "--csv", "--samples", name])
    shown = capsys.readouterr()
    assert status == 2 or not re.search(rf'(?m)(^|,)"?{re.escape(begin)}cmd', shown.out)


DIGITS, HOW_MANY = "<digits>", 400_000_000


def _written(target: zipfile.ZipFile, item: str, text: str) -> None:
    """A part of a workbook; ``DIGITS`` become so many nines, a million at a time."""
    with target.open(item, "w") as part:
        before, *after = text.encode().split(DIGITS.encode())
        part.write(before)
        for rest in after:
            for _ in range(HOW_MANY // 1_000_000):
                part.write(b"9" * 1_000_000)
            part.write(rest)


def _grown(text: str) -> str:
    levels = "".join(f'<!ENTITY a{k} "{f"&a{k - 1};" * 10}">' for k in range(1, 10))
    return f'<!DOCTYPE x [<!ENTITY a0 "{"ha" * 10}">{levels}]>' + text.replace("591 uH", "&a9;")


def _fetched(text: str) -> str:
    return '<!DOCTYPE x [<!ENTITY a SYSTEM "file:///etc/passwd">]>' + text.replace("591 uH", "&a;")


def _blown(text: str) -> str:
    return text.replace("591 uH", DIGITS)


BOMBS = {"entities": _grown, "outside": _fetched, "pressed": _blown}


@pytest.mark.parametrize("name", ["entities", *and_slow("pressed", "outside")])
def test_a_workbook_that_grows_is_refused(name: str, tmp_path: Path, watched: list[str]) -> None:
    """Entities within entities, one that names a file, half a gigabyte of one digit pressed to some
    kilobytes: refused soon, in little memory, and nothing of another file is shown."""
    book, whole = openpyxl.Workbook(), io.BytesIO()
    sheet = book.active
    assert sheet is not None
    for row in (("sample", "test", "reading"), ("A1", "L_P", "591 uH")):
        sheet.append(row)
    book.save(whole)
    with (
        zipfile.ZipFile(whole) as source,
        zipfile.ZipFile(tmp_path / "r.xlsx", "w", zipfile.ZIP_DEFLATED, compresslevel=1) as target,
    ):
        for item in source.namelist():
            text = source.read(item).decode()
            inner = item in ("xl/sharedStrings.xml", "xl/worksheets/sheet1.xml")
            _written(target, item, BOMBS[name](re.sub(r"<\?xml[^>]*\?>", "", text)) if inner else text)
    call = [sys.executable, "-m", "aswound", "compare"]
    call += [str(SAMPLES / "flyback-24w.toml"), str(tmp_path / "r.xlsx")]
    out, err = tmp_path / "out", tmp_path / "err"
    with out.open("wb") as told, err.open("wb") as complained:
        usage = subprocess.run([*watched, *call], stdout=told, stderr=complained, check=False)
    message, _, figures = err.read_text(encoding="utf-8").rpartition("used ")
    seconds, kilobytes = map(float, figures.split())
    assert usage.returncode == 2, message
    assert out.read_text(encoding="utf-8") == ""
    assert message.startswith("aswound: 1 fault in the input")
    assert "root:" not in message
    assert seconds < 5
    assert kilobytes < 1_000_000
