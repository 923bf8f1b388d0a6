"""What reaches the terminal: width, colour, character set, and nothing that a file could steer it with."""

from __future__ import annotations

import io
import os
import subprocess
import sys
from pathlib import Path

import forked
import pytest

from aswound.cli.main import main
from aswound.cli.output import print_parts, width_of
from aswound.cli.views.page import Grid, Heading, Paragraph, Part, plainly, render

SAMPLES = Path(__file__).parents[2] / "samples"
FLYBACK = str(SAMPLES / "flyback-24w.toml")
BRIDGE = str(SAMPLES / "bridge-300w.toml")
GRID = Grid(
    ("test", "read (mΩ)", "limits"),
    (("R_P", "12.10 ± 0.32 mΩ", "pass: 11.00 … 13.00 mΩ"), ("[uH] n", "7.502", "")),
    (1,),
)


class Terminal(io.StringIO):
    encoding = "utf-8"

    def isatty(self) -> bool:
        return True


@pytest.mark.parametrize("plain", [False, True])
def test_columns_stay_aligned(plain: bool) -> None:
    lines = render([GRID], 80, plain=plain).splitlines()
    assert len(lines) == 4
    assert len(lines[1].rstrip()) >= len(lines[0].rstrip())
    ends = [lines[0].index("read") + len(plainly("read (mΩ)") if plain else "read (mΩ)")]
    ends += [lines[3].index("7.502") + 5, lines[2].index("pass") - 2]
    assert len(set(ends)) == 1
    assert lines[2].index("pass") == lines[0].index("limits")
    assert all(line.isascii() for line in lines) == plain


def test_brackets_survive() -> None:
    assert "[uH] n" in render([GRID], 80)
    assert "[mm] [/bold]" in render([Paragraph("[mm] [/bold]"), Heading("[ohm]")], 80)


def test_a_number_stays_with_its_unit() -> None:
    for width in range(20, 60):
        text = render(["Expect 562.1 ± 3.5 mΩ at 20 °C and 100 kHz with 0.39 % per kelvin."], width)
        for whole in ("562.1 ± 3.5 mΩ", "20 °C", "100 kHz", "0.39 %"):
            assert whole in text, width
        assert max(map(len, text.splitlines())) <= width


def test_a_range_stays_in_one_line() -> None:
    for width in range(24, 60):
        assert "564.4 … 622.6 µH" in render(["95 % of production: 564.4 … 622.6 µH."], width), width


def test_numbers_are_never_cut() -> None:
    for width in (20, 40, 80):
        assert "12.10 ± 0.32 mΩ" in render([GRID], width)


def test_plain_stand_ins() -> None:
    assert plainly("20 °C, 0.85°, 3 µH ± 2 mΩ, ≤ 7 × 2 … 3 mm²") == (
        "20 degC, 0.85 deg, 3 uH +/- 2 mohm, <= 7 x 2 ... 3 mm^2"
    )
    assert render(["at 20 °C"], 80, plain=True) == "at 20 degC\n"


def test_control_characters_are_written_out(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """In a title they are refused; a message writes them out where it shows them, names of files too."""
    path = tmp_path / "x\u202e\x1b.toml"
    text = Path(FLYBACK).read_text(encoding="utf-8")
    path.write_text(text.replace('title = "', 'title = "\\u001b[31m[bold] '), encoding="utf-8")
    assert main(["predict", str(path), "--builds", "200"]) == 2
    shown = capsys.readouterr().err
    assert "\x1b" not in shown
    assert "\u202e" not in shown
    assert "'\\x1b[31m[bold]" in shown
    assert "x\\u202e\\x1b.toml" in shown
    path.write_text(text.replace('sense = "AUX"', 'sense = "\\u001b[2J"'), encoding="utf-8")
    assert main(["predict", str(path)]) == 2
    assert "\x1b" not in capsys.readouterr().err


PARTS: list[Part] = ["title", Heading("a"), GRID]


@pytest.mark.parametrize(
    ("name", "value", "bold"),
    [("NO_COLOR", "1", False), ("NO_COLOR", "", True), ("TERM", "dumb", False), ("TERM", "xterm", True)],
)
def test_bold_only_where_it_is_wanted(
    monkeypatch: pytest.MonkeyPatch, name: str, value: str, bold: bool
) -> None:
    monkeypatch.setenv("TERM", "xterm")
    monkeypatch.delenv("NO_COLOR", raising=False)
    monkeypatch.setenv(name, value)
    stream = Terminal()
    print_parts(PARTS, stream)
    assert ("\x1b[" in stream.getvalue()) == bold
    piped = io.StringIO()
    print_parts(PARTS, piped)
    assert "\x1b" not in piped.getvalue()


@pytest.mark.parametrize(
    ("text", "width"), [("100", 100), ("30", 80), ("wide", 80), ("", 80), ("²", 80), ("9" * 5000, 80)]
)
def test_width_without_a_terminal(monkeypatch: pytest.MonkeyPatch, text: str, width: int) -> None:
    monkeypatch.setenv("COLUMNS", text)
    assert width_of(io.StringIO()) == width


@pytest.mark.parametrize(
    ("encoding", "arguments"),
    [
        ("ascii", ["predict", BRIDGE, "--builds", "100"]),
        ("cp1252", ["predict", BRIDGE, "--builds", "100", "--set", "step2.wraps=3"]),
        ("ascii", ["plan", BRIDGE]),
        ("latin-1", ["compare", BRIDGE, str(SAMPLES / "bridge-300w.csv")]),
        pytest.param("ascii", ["explain", BRIDGE, str(SAMPLES / "bridge-300w.csv")], marks=pytest.mark.slow),
        ("utf-8", ["compare", BRIDGE, str(SAMPLES / "bridge-300w.csv")]),
        ("ascii", ["cores"]),
        ("ascii", ["materials"]),
    ],
)
def test_any_encoding_in_eighty_columns(
    monkeypatch: pytest.MonkeyPatch, encoding: str, arguments: list[str]
) -> None:
    monkeypatch.delenv("COLUMNS", raising=False)
    kept = io.BytesIO()
    monkeypatch.setattr(sys, "stdout", io.TextIOWrapper(kept, encoding=encoding))
    assert main(arguments) in (0, 1)
    text = kept.getvalue().decode(encoding)
    assert "?" not in text
    assert "\x1b" not in text
    assert max(map(len, text.splitlines())) <= 80
    assert text.isascii() == (encoding != "utf-8")


def test_piped_ascii_output() -> None:
    done = forked.run(["predict", FLYBACK, "--builds", "200"], environment={"PYTHONIOENCODING": "ascii"})
    assert done.stdout.isascii()
    assert "590.8 uH" in done.stdout
    assert "562.1 mohm" in done.stdout


@pytest.mark.slow
def test_a_readings_file_is_utf8_whatever_the_terminal(tmp_path: Path) -> None:
    path = tmp_path / "x.toml"
    text = Path(FLYBACK).read_text(encoding="utf-8").replace('"L_P"', '"Lµ_Ω"')
    path.write_text(text, encoding="utf-8")
    command = [sys.executable, "-m", "aswound"]
    done = subprocess.run(
        [*command, "plan", str(path), "--csv"],
        capture_output=True,
        check=True,
        env=os.environ | {"PYTHONIOENCODING": "ascii"},
    )
    (tmp_path / "x.csv").write_bytes(done.stdout)
    assert "Lµ_Ω" in done.stdout.decode()
    assert main(["compare", str(path), str(tmp_path / "x.csv")]) == 0
