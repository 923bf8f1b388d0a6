"""What the commands print at 80 and 120 columns and where only ASCII can be shown, against files once read.

    python tests/regression/test_output.py        # writes tests/regression/output/ again; read the difference

Our own earlier output, so this proves nothing of the numbers: digits are compared as digits, whatever their
value, and only the layout, the words and the stand-ins are held. Each command runs once; its parts are laid
out for every page.
"""

from __future__ import annotations

import contextlib
import html
import io
import os
import re
import sys
from collections.abc import Iterable, Iterator
from pathlib import Path

import pytest

sys.path.append(str(Path(__file__).parents[1] / "shared"))  # where pytest finds it by itself

from how_many import and_slow
from sample_pages import REPORT

from aswound.cli import output
from aswound.cli.main import main
from aswound.cli.views.page import Part

SAMPLES = Path(__file__).parents[2] / "samples"
FILES = Path(__file__).parent / "output"
KEPT = Path(__file__).parent / "written"
DESIGN, READINGS = "flyback-24w.toml", "flyback-24w.csv"
PART = "sample,test,reading\nA,L_P,591 uH\nA,L_S,10.5 uH\nA,Lk_P_S,3.7 uH\nA,n_P_S,7.49\nA,R_P,0.56 ohm\n"
STAGES = "sample,test,reading,stage\nA,R_P,562 mohm,wound\nA,L_P,591 uH,assembled\nA,L_P,570 uH,varnished\n"
BAD = '[core]\nshape = "ETD 29"\ngap = "1 kg"\n[bobin]\n[[winding]]\nname = "P"\n[build]\nsteps = []\n'
COMMANDS = {
    "predict": ["predict", DESIGN, "--builds", "500"],
    "predict-set": ["predict", DESIGN, "--builds", "200", "--set", "step2.wraps=4"],
    "predict-draw": ["predict", "gate-drive.toml", "--builds", "100", "--draw="],
    "plan": ["plan", DESIGN],
    "plan-limits": ["plan", DESIGN, "--limits"],
    "plan-budget": ["plan", "gate-drive.toml", "--budget"],
    "compare": ["compare", DESIGN, READINGS],
    "compare-stages": ["compare", DESIGN, "stages.csv"],
    "compare-learn": ["compare", "gate-drive.toml", "good.csv", "--learn", "-o", "learned.toml"],
    "explain": ["explain", DESIGN, READINGS],
    "explain-together": ["explain", "gate-drive.toml", "gate-drive.csv", "--together"],
    "new": ["new", "fresh.toml", "--core", "ETD 34/17/11"],
    "check": ["check", "part.csv", "--ratio", "7.5"],
    "lot": ["lot", DESIGN, READINGS],
    "interleave": ["interleave", DESIGN, "--most-sections", "2", "--most", "40", "--builds", "0"],
    "sweep": ["sweep", DESIGN, "--points", "40", "--builds", "100"],
    "cores": ["cores", "ETD"],
    "wires": ["wires", "0.5"],
    "materials": ["materials"],
    "schema": ["schema"],
    "sheet": ["sheet", "gate-drive.toml", "--builds", "100"],
    "bad-design": ["predict", "bad.toml"],
}
WRITTEN = {
    "new.toml": ["new", "new.toml", "--core", "ETD 34/17/11"],
    "learned.toml": ["compare", "gate-drive.toml", "good.csv", "--learn", "-o", "learned.toml"],
    "readings.csv": ["plan", DESIGN, "--csv", "--samples", "A1,A2"],
    "limits.csv": ["plan", DESIGN, "--csv", "--limits"],
    "netlist.cir": ["netlist", "gate-drive.toml", "--from", "10 kHz", "--to", "100 kHz", "-o", "netlist.cir"],
    "report.html": list(REPORT),
    "report-unread.html": ["report", "gate-drive.toml", "--builds", "100", "-o", "report-unread.html"],
}
"""Commands whose product is a file, written or on standard output, by the file's name."""

SLOW = ("lot", "compare-learn", "explain-together", "sheet")
SLOW_WRITTEN = ("report-unread.html", "netlist.cir", "learned.toml")
"""Dear, and shown elsewhere with every run: with --slow and in .ci/run."""

PAGES = {"80": (80, "utf-8"), "120": (120, "utf-8"), "ascii": (80, "ascii")}


class Sheets:
    """One text for each page, filled by what a command shows and writes."""

    def __init__(self) -> None:
        self.pages = {
            name: io.TextIOWrapper(io.BytesIO(), encoding=encoding, newline="")
            for name, (_, encoding) in PAGES.items()
        }

    def show(self, parts: Iterable[Part], stream: object = None) -> None:
        del stream
        kept = list(parts)
        for name, page in self.pages.items():
            with columns(PAGES[name][0]):
                real_show(kept, page)

    def write(self, text: str, stream: object = None) -> None:
        if stream in self.pages.values():
            real_write(text, stream)  # type: ignore[arg-type]
            return
        for page in self.pages.values():
            real_write(text, page)

    def texts(self) -> dict[str, str]:
        found = {}
        for name, page in self.pages.items():
            page.flush()
            assert isinstance(page.buffer, io.BytesIO)
            found[name] = page.buffer.getvalue().decode(PAGES[name][1])
        return found


real_show, real_write = output.print_parts, output.write


@contextlib.contextmanager
def columns(number: int) -> Iterator[None]:
    before = os.environ.get("COLUMNS")
    os.environ["COLUMNS"] = str(number)
    try:
        yield
    finally:
        if before is None:
            del os.environ["COLUMNS"]
        else:
            os.environ["COLUMNS"] = before


def prepare(patch: pytest.MonkeyPatch, folder: Path) -> None:
    """The files that the commands read, in the folder in which they run."""
    lines = (SAMPLES / "gate-drive.csv").read_text(encoding="utf-8").splitlines()
    good = "".join(f"{line}\n" for line in lines if line.startswith(("sample,", "C1,")))
    for name, text in (("part.csv", PART), ("stages.csv", STAGES), ("bad.toml", BAD), ("good.csv", good)):
        (folder / name).write_text(text, encoding="utf-8")
    for name in (DESIGN, READINGS, "gate-drive.toml", "gate-drive.csv"):
        (folder / name).write_bytes((SAMPLES / name).read_bytes())
    patch.chdir(folder)


def kept(name: str, patch: pytest.MonkeyPatch, folder: Path, page: Path | None = None) -> str:
    """What a command writes as a file, as far as it is compared: of a netlist the comments, of a page the
    text and the alternative texts, line by line, without what it echoes of files and this machine. ``page``:
    one that was made before."""
    if page is not None:
        return html_text(page.read_text(encoding="utf-8"))
    prepare(patch, folder)
    data = io.BytesIO()
    stream = io.TextIOWrapper(data, encoding="utf-8", newline="")
    with contextlib.redirect_stdout(stream):
        assert main(WRITTEN[name]) in (0, 1)
    stream.flush()
    file = folder / name
    text = (file.read_bytes() if file.exists() else data.getvalue()).decode()
    if name.endswith(".cir"):
        lines = [line for line in text.splitlines() if re.match(r"\*(?! step)|\.(subckt|ends)", line)]
        return "\n".join(lines) + "\n"
    if name.endswith(".html"):
        return html_text(text)
    return text


def html_text(page: str) -> str:
    """The words of a page: a line for each element that holds some, cells of a row with bars between."""
    body = page[page.index("<body>") :]
    body = re.sub(
        r"(?s)<pre>.*?</pre>|<dt>Version</dt><dd>.*?</dd>|<style.*?</style>|<defs>.*?</defs>", "", body
    )
    body = re.sub(r"(?s)<text\b.*?</text>", "", body)  # letters of pictures: their descriptions stay
    body = re.sub(r"</t[dh]>\s*<t[dh][^>]*>", " | ", body)
    body = re.sub(r"<h([1-6])[^>]*>", lambda found: "\n" + "#" * int(found[1]) + " ", body)
    body = re.sub(r"</?(?:b|a|span|code|sub|sup|tspan)\b[^>]*>", "", body)
    lines = (" ".join(part.split()) for part in re.split(r"<[^>]*>|\n", body))
    return "".join(f"{html.unescape(line)}\n" for line in lines if line)


def printed(arguments: list[str], patch: pytest.MonkeyPatch, folder: Path) -> dict[str, str]:
    """What a command prints, run beside the samples, page by page."""
    prepare(patch, folder)
    sheets = Sheets()
    patch.setattr(output, "print_parts", sheets.show)
    patch.setattr(output, "write", sheets.write)
    assert main(arguments) in (0, 1, 2)
    return sheets.texts()


def masked(text: str) -> str:
    """The text with every digit as 0, and signs as +."""
    return re.sub(r"(?<![\w])-(?=\d)", "+", re.sub(r"\d", "0", text))


@pytest.mark.regression
@pytest.mark.parametrize("name", [*(name for name in COMMANDS if name not in SLOW), *and_slow(*SLOW)])
def test_a_command_prints_as_before(name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    pages = printed(COMMANDS[name], monkeypatch, tmp_path)
    for page, text in pages.items():
        before = (FILES / f"{name}.{page}.txt").read_text(encoding="utf-8")
        assert masked(text) == masked(before), f"{name}.{page}.txt: read the difference, then write it again"


@pytest.mark.regression
@pytest.mark.parametrize(
    "name", [*(name for name in WRITTEN if name not in SLOW_WRITTEN), *and_slow(*SLOW_WRITTEN)]
)
def test_a_file_is_written_as_before(
    name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, request: pytest.FixtureRequest
) -> None:
    before = (KEPT / f"{name}.txt").read_text(encoding="utf-8")
    page = request.getfixturevalue("flyback_report")[0] if name == "report.html" else None
    found = masked(kept(name, monkeypatch, tmp_path, page))
    assert found == masked(before), "read the difference; write it again"


@pytest.mark.parametrize("path", sorted(FILES.glob("*.txt")), ids=lambda path: path.name)
def test_a_page_fits_its_columns(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    page = path.name.split(".")[1]
    assert max(map(len, text.splitlines())) <= PAGES[page][0]
    assert not re.search(r"[ \t]$", text, re.M), "blanks at the end of a line"
    assert "\x1b" not in text
    assert page != "ascii" or (
        text.isascii() and "?" not in text.replace("Did you mean", "").replace("'?", "")
    )


@pytest.mark.parametrize("quiet", [True, False])
def test_a_terminal_shows_the_same(quiet: bool, monkeypatch: pytest.MonkeyPatch) -> None:
    """On a terminal of 80 columns heads are bold, unless NO_COLOR is set; the text is that of a pipe."""

    class Terminal(io.StringIO):
        encoding = "utf-8"

        def isatty(self) -> bool:
            return True

    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.setenv("TERM", "xterm-256color")
    monkeypatch.setenv("NO_COLOR", "1") if quiet else monkeypatch.delenv("NO_COLOR", raising=False)
    terminal = Terminal()
    monkeypatch.setattr(sys, "stdout", terminal)
    assert main(["cores", "ETD"]) == 0
    text = terminal.getvalue()
    assert ("\x1b[" in text) != quiet
    plain = re.sub(r" +$", "", re.sub(r"\x1b\[[0-9;]*m", "", text), flags=re.M)  # a bold head is filled up
    assert plain == (FILES / "cores.80.txt").read_text(encoding="utf-8")


def regenerate() -> None:
    """Write every file again."""
    import tempfile

    FILES.mkdir(exist_ok=True)
    for name, arguments in COMMANDS.items():
        with tempfile.TemporaryDirectory() as folder, pytest.MonkeyPatch.context() as patch:
            for page, text in printed(arguments, patch, Path(folder)).items():
                (FILES / f"{name}.{page}.txt").write_text(text, encoding="utf-8", newline="")
        print(name)
    KEPT.mkdir(exist_ok=True)
    for name in WRITTEN:
        with tempfile.TemporaryDirectory() as folder, pytest.MonkeyPatch.context() as patch:
            text = kept(name, patch, Path(folder))
            (KEPT / f"{name}.txt").write_text(text, encoding="utf-8", newline="")
        print(name)


if __name__ == "__main__":
    regenerate()
