"""``enter`` in a real pseudo-terminal: prompts, verdicts, slips, back and skip, a session that is killed.
Label: cli."""

from __future__ import annotations

import csv
import io
import os
import pty
import select
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from functools import partial
from pathlib import Path

import forked
import pytest
from openpyxl import Workbook
from small_design import SMALL

from aswound.cli.enter import _entered, _following, _Session, _Typed
from aswound.cli.main import main
from aswound.cli.written import alone
from aswound.compare.plan.at_the_bench import bench_guide, judged_entry
from aswound.compare.readings.bench_entries import EntryFile, as_written, entry_file
from aswound.compare.readings.file import COLUMNS, readings_from_options
from aswound.compare.verdict.comparison import compare
from aswound.predict import load_design, parse_design
from aswound.predict.errors import DesignError, ReadingsError

SAMPLES = Path(__file__).parents[2] / "samples"
FLYBACK = SAMPLES / "flyback-24w.toml"


class Keyboard:
    """The user's end of the terminal."""

    def __init__(self, terminal: int, process: subprocess.Popen[bytes] | forked.Begun) -> None:
        self.terminal, self.process, self.seen = terminal, process, ""

    def wait_for(self, text: str) -> str:
        """What was shown since the last wait, up to ``text``; fails after a minute."""
        until = time.monotonic() + 60
        while text not in self.seen:
            left = until - time.monotonic()
            assert left > 0, f"{text!r} did not come; shown: {self.seen[-2000:]}"
            if select.select([self.terminal], [], [], left)[0]:
                try:
                    self.seen += os.read(self.terminal, 65536).decode().replace("\r\n", "\n")
                except OSError:  # the other end has closed
                    assert text in self.seen, self.seen[-2000:]
        shown, _, self.seen = self.seen.partition(text)
        return shown

    def type(self, line: str) -> None:
        os.write(self.terminal, f"{line}\n".encode())


@contextmanager
def session(*arguments: str, started: bool = False) -> Iterator[Keyboard]:
    """A session in a process of its own, which the shell's way of starting it begins if it is ``started``."""
    ours, theirs = pty.openpty()
    told = {"COLUMNS": "80", "LINES": "24", "PYTHONIOENCODING": "utf-8"}
    process: subprocess.Popen[bytes] | forked.Begun
    if started:
        command = [sys.executable, "-m", "aswound.cli.aswound", "enter", *arguments]
        process = subprocess.Popen(
            command,
            stdin=theirs,
            stdout=theirs,
            stderr=theirs,
            env=os.environ | told,
            start_new_session=True,
        )
    else:
        streams = (theirs, theirs, theirs)
        process = forked.Begun(
            ["enter", *arguments], streams, environment=told, before="import os; os.setsid()"
        )
    os.close(theirs)
    try:
        yield Keyboard(ours, process)
    finally:
        if process.returncode is None and process.poll() is None:
            process.send_signal(signal.SIGKILL)
        process.wait()
        os.close(ours)


def rows_of(file: Path) -> list[tuple[str, str, str]]:
    with file.open(encoding="utf-8", newline="") as stream:
        return [(row["sample"], row["test"], row["reading"]) for row in csv.DictReader(stream)]


@pytest.mark.slow
def test_a_session_from_the_first_reading_to_the_verdict(tmp_path: Path) -> None:
    file = tmp_path / "readings.csv"
    with session(str(FLYBACK), "-o", str(file), started=True) as bench:
        bench.wait_for("Sample (Enter: A1")
        bench.type("")
        shown = bench.wait_for("L_P in uH: ")
        for told in ("Drive P (pins 1–3)", "10 kHz, 1.00 V RMS", "Expect", "limits"):
            assert told in shown
        bench.type("59.0u")
        shown = bench.wait_for("Lk_P in uH: ")
        assert "out" in shown
        assert "ten times as much would fit" in " ".join(shown.split())
        assert rows_of(file) == [("A1", "L_P", "59.0u")]
        bench.type("b")
        bench.wait_for("L_P in uH: ")
        bench.type("590 # typed again")
        assert ": in (score" in bench.wait_for("Lk_P in uH: ")
        assert rows_of(file) == [("A1", "L_P", "590 uH")]  # in place of the first
        bench.type("590u")  # the link came off
        assert "open short" in bench.wait_for("Lk_S in nH: ")
        bench.type("b")
        bench.wait_for("Lk_P in uH: ")
        bench.type("3,59")
        bench.wait_for("Lk_S in nH: ")
        bench.type("s")
        bench.wait_for("\nn: ")
        bench.type("seven")
        assert "is not a plain number" in bench.wait_for("\nn: ")
        bench.type("OL")
        assert "cannot be judged" in bench.wait_for("n_AUX: ")
        bench.type("6.65")
        bench.wait_for("R_P in mohm: ")
        bench.type("R562 @ 24.5")
        bench.wait_for("R_S in mohm: ")
        bench.type("n taken at the pins")
        assert "Noted on R_P" in bench.wait_for("R_S in mohm: ")
        bench.type("12.3")
        bench.wait_for("dot_S in deg: ")
        bench.type("next")
        shown = bench.wait_for("Sample (Enter: A2")
        assert "A1: consistent with the design" in shown
        assert "Measure next: " in shown
        bench.type("q")
        bench.wait_for("holds A1")
        assert bench.process.wait(10) == 0
    text = file.read_text(encoding="utf-8")
    assert "typed again" in text
    assert "0.562 ohm,,24.5 degC,taken at the pins" in text
    assert rows_of(file) == [
        ("A1", "L_P", "590 uH"),
        ("A1", "Lk_P", "3.59 uH"),
        ("A1", "n", "OL"),
        ("A1", "n_AUX", "6.65"),
        ("A1", "R_P", "0.562 ohm"),
        ("A1", "R_S", "12.3 mohm"),
    ]


def test_a_killed_session_goes_on_where_it_was(tmp_path: Path) -> None:
    design, file = tmp_path / "small.toml", tmp_path / "readings.csv"
    design.write_text(SMALL, encoding="utf-8")
    with session(str(design), "-o", str(file), "--sample", "S-09") as bench:
        bench.wait_for("L_P in uH: ")
        bench.type("218")
        bench.wait_for("\nn: ")
        bench.process.send_signal(signal.SIGKILL)
        bench.process.wait()
    assert rows_of(file) == [("S-09", "L_P", "218 uH")]
    with session(str(design), "-o", str(file)) as bench:
        assert "Going on with S-09" in bench.wait_for("\nn: ")
        bench.type("q")
        bench.wait_for("holds S-09")
    assert len(rows_of(file)) == 1
    assert sorted(path.name for path in tmp_path.iterdir()) == ["readings.csv", "small.toml"]  # no draft


# --- without a terminal ------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def guide():  # type: ignore[no-untyped-def]
    return bench_guide(load_design(FLYBACK), builds=300)


@pytest.mark.parametrize(
    ("typed", "slip"),
    [
        ("L_P=0.59uH", "the unit: a thousand times"),
        ("L_P=590mH", "the unit: a thousandth"),
        ("L_P=5.9mH", "a decade: a tenth"),
        ("L_P=3.6uH", "a link left on S"),
        ("Lk_P=590uH", "an open short"),
        ("n=0.1333", "upside down"),
        ("dot_S=-179.1deg", "exchanged ends"),
        ("R_S=562mohm", "the reading of R_P"),
        ("n=6.648", "the reading of n_AUX"),
    ],
)
def test_what_a_slip_looks_like(guide, typed: str, slip: str) -> None:  # type: ignore[no-untyped-def]
    (reading,) = readings_from_options([typed], guide.design)
    found = judged_entry(guide, reading)
    assert found.verdict == "out"
    assert any(slip in words for words in found.looks_like), found


def test_a_unit_that_would_not_fit_is_not_proposed() -> None:
    """310 µΩ where some 280 mΩ are expected: a thousand times as much fits, a million times does not."""
    text = (
        SMALL
        + """
[[test]]
name = "Rac_P"
measure = "ac_resistance"
drive = "P"
short = ["S"]
frequency = "100 kHz"
"""
    )
    small = bench_guide(parse_design(text), builds=300)
    index = [test.name for test in small.design.tests].index("Rac_P")
    (reading,) = readings_from_options([f"Rac_P={small.expected[index] * 1e-3!r} ohm"], small.design)
    assert judged_entry(small, reading).looks_like == ("the unit: a thousand times as much would fit",)


def test_a_wrong_short_is_what_the_forward_model_says_of_it(guide) -> None:  # type: ignore[no-untyped-def]
    """Regression against our own model: the test taken with AUX shorted in place of S."""
    place = [test.name for test in guide.design.tests].index("Lk_P")
    (slip,) = [slip for slip in guide.slips[place] if slip.words == "a wrong short: AUX instead of S"]
    (reading,) = readings_from_options([f"Lk_P={slip.expected!r}H"], guide.design)
    assert slip.words in judged_entry(guide, reading).looks_like


def test_scores_and_zones_are_those_of_compare(guide) -> None:  # type: ignore[no-untyped-def]
    for typed, verdict in (("L_P=590uH", "in"), ("L_P=630uH", "at the edge"), ("L_P=662uH", "out")):
        readings = readings_from_options([typed], guide.design)
        found = judged_entry(guide, readings[0])
        (test,) = compare(guide.design, readings)[0].tests
        assert found.score == pytest.approx(test.score, rel=0.1)
        assert found.verdict == verdict or test.verdict == "undecided"


def test_a_reading_nearer_to_a_limit_than_the_bench_can_tell_is_not_judged(guide) -> None:  # type: ignore[no-untyped-def]
    (reading,) = readings_from_options(["L_P=561uH"], guide.design)
    assert judged_entry(guide, reading).verdict == "cannot be judged"


# --- the file ---------------------------------------------------------------------------------------


def test_an_empty_file_of_plan_is_filled_in_where_it_stands() -> None:
    from aswound.compare.readings import empty_template

    design = load_design(FLYBACK)
    text = empty_template(design, ("A1", "A2"))
    file = entry_file(text, COLUMNS, "x.csv").entered("A2", "L_P", "590 uH", note="it's, fine")
    assert file.samples == ("A2",)
    assert file.next_place("A2", [test.name for test in design.tests]) == 1
    assert 'A2,L_P,590 uH,,,"it\'s, fine"' in file.text()
    assert file.text().startswith("# Write each reading")
    assert entry_file(file.text(), COLUMNS, "x.csv") == file


def test_samples_that_look_like_comments_and_rows_at_a_stage_survive() -> None:
    file = EntryFile().entered("#1", "L_P", "590 uH")
    assert entry_file(file.text(), COLUMNS, "") == file
    text = "sample,test,reading,stage\nA1,L_P,580 uH,before core\n"
    again = entry_file(text, COLUMNS, "").entered("A1", "L_P", "590 uH")
    assert again.text() == text + "A1,L_P,590 uH,\n"


@pytest.mark.parametrize(
    "text",
    [
        "sample;test;reading\nA1;L_P;1,2 mH\n",
        "sample,L_P [uH]\nA1,590\n",
        "sample,test,reading [uH]\nA1,L_P,5\n",
    ],
)
def test_a_file_of_another_shape_is_not_written_into(text: str) -> None:
    with pytest.raises(ReadingsError, match="Choose a new name"):
        entry_file(text, COLUMNS, "x.csv")


@pytest.mark.parametrize(
    ("typed", "dimension", "unit", "written"),
    [
        ("612", "inductance", "uH", "612 uH"),
        ("612u", "inductance", "uH", "612u"),
        ("1,52 uH", "inductance", "uH", "1.52 uH"),
        ("0,226", "number", "", "0.226"),
        ("1 234,5", "inductance", "uH", "1234.5 uH"),
        ("24.5", "temperature", "degC", "24.5 degC"),
        ("OL", "inductance", "uH", "OL"),
    ],
)
def test_what_is_typed_as_the_file_holds_it(typed: str, dimension: str, unit: str, written: str) -> None:
    assert as_written(typed, dimension, unit) == written


@pytest.mark.parametrize(
    ("name", "next_one"), [("A1", "A2"), ("S-09", "S-10"), ("9b", "10b"), ("good", "good 2")]
)
def test_the_next_sample_is_proposed(name: str, next_one: str) -> None:
    assert _following(name) == next_one


# --- what an attack found ---------------------------------------------------------------------------


def typed(monkeypatch: pytest.MonkeyPatch, path: Path, *lines: str | Callable[[], str]) -> int:
    """A session in this process: each line as it is typed, or what a function does before it gives one."""

    class Hands(io.StringIO):
        def readline(self, _: int = -1) -> str:
            line = next(left, None)
            return "" if line is None else f"{line if isinstance(line, str) else line()}\n"

    left = iter(lines)
    monkeypatch.setattr("sys.stdin", Hands())
    return main(["enter", str(FLYBACK), "-o", str(path)])


def test_a_workbook_is_not_written_over(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    book = Workbook()
    for row in (["sample", "test", "reading"], ["A1", "L_P", "590 uH"]):
        book.active.append(row)
    book.save(tmp_path / "r.xlsx")
    before = (tmp_path / "r.xlsx").read_bytes()
    assert typed(monkeypatch, tmp_path / "r.xlsx", "A2", "590u", "q") == 2
    assert (tmp_path / "r.xlsx").read_bytes() == before
    assert "found    a workbook" in capsys.readouterr().err


def test_titles_and_comments_stay_where_they_are(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    text = "Bench 2\nsample,test,reading\n# morning\nA1,L_P,590 uH\n# evening\nA1,n,7.5\n# end\n"
    (tmp_path / "r.csv").write_text(text, encoding="utf-8")
    assert typed(monkeypatch, tmp_path / "r.csv", "next", "A2", "590u", "q") == 0
    assert (tmp_path / "r.csv").read_text(encoding="utf-8") == f"{text}A2,L_P,590u\n"


def test_two_sessions_in_one_file_keep_each_others_readings(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "r.csv"

    def meanwhile() -> str:
        file = entry_file(path.read_text(encoding="utf-8"), COLUMNS, "")
        path.write_text(file.entered("B1", "L_P", "601 uH").text(), encoding="utf-8")
        return "3.6u"

    assert typed(monkeypatch, path, "A1", "590u", meanwhile, "q") == 0
    assert rows_of(path) == [("A1", "L_P", "590u"), ("B1", "L_P", "601 uH"), ("A1", "Lk_P", "3.6u")]


def test_sessions_within_the_same_milliseconds_keep_each_others_readings(tmp_path: Path) -> None:
    """Each waits until the other has read the file again and written it whole."""
    design = parse_design(SMALL)
    (tmp_path / "r.csv").write_text("sample,test,reading\n", encoding="utf-8")
    start = threading.Barrier(2)

    def types(name: str) -> None:
        session = _Session(bench_guide(design), tmp_path / "r.csv", EntryFile(), "")
        start.wait()
        for number in range(20):
            cell = _Typed("218 uH", "", "")
            session = session.kept(partial(_entered, f"{name}{number}", "L_P", cell))

    with ThreadPoolExecutor() as sessions:
        list(sessions.map(types, "AB"))
    assert {row[0] for row in rows_of(tmp_path / "r.csv")} == {
        f"{name}{k}" for name in "AB" for k in range(20)
    }
    assert list(tmp_path.iterdir()) == [tmp_path / "r.csv"]


def test_a_file_that_another_command_holds_is_not_waited_for_for_ever(tmp_path: Path) -> None:
    path = tmp_path / "r.csv"
    with alone(path), pytest.raises(DesignError, match="held by another command"), alone(path, 0.01):
        pass
    with alone(tmp_path / "r.csv", 0.0):  # let go
        pass


def test_notes_that_are_too_long_together_are_not_kept(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """The file could not be read again, with all that was typed before. 4999 + 2 + 4999 characters fit, and
    no more."""
    note = "n" * 4999
    lines = ("A1", "590u", f"n {note}", f"n {note}", "n w", "q")
    assert typed(monkeypatch, tmp_path / "r.csv", *lines) == 0
    assert (tmp_path / "r.csv").read_text(encoding="utf-8").endswith(f",{note}; {note}\n")
    shown = " ".join(capsys.readouterr().out.split())
    assert "note: 10003 characters is not at most 10000 characters with the notes before it" in shown
    assert typed(monkeypatch, tmp_path / "r.csv", "3.6u", "q") == 0


@pytest.mark.parametrize("lines", [("590u", "n an arrow key \x1b[A"), ("590u # \x1b[A", "590u")])
def test_a_note_that_steers_a_terminal_is_not_kept(
    lines: tuple[str, ...], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The file could not be read again, with all that was typed before."""
    assert typed(monkeypatch, tmp_path / "r.csv", "A1", *lines, "q") == 0
    assert rows_of(tmp_path / "r.csv") == [("A1", "L_P", "590u")]
    assert "\x1b" not in (tmp_path / "r.csv").read_text(encoding="utf-8")


@pytest.mark.parametrize("name", ["=cmd", "\x1b[31mA", "A" * 300])
def test_a_sample_that_no_file_should_hold_is_asked_for_again(
    name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    assert typed(monkeypatch, tmp_path / "r.csv", name, "A1", "590u", "q") == 0
    assert rows_of(tmp_path / "r.csv") == [("A1", "L_P", "590u")]
    assert "! sample: " in capsys.readouterr().out


def test_a_file_of_another_design_is_refused_before_anything_is_typed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "r.csv").write_text("sample,test,reading\nA1,Ls,590 uH\n", encoding="utf-8")
    assert typed(monkeypatch, tmp_path / "r.csv", "A2", "590u", "q") == 2
    assert capsys.readouterr().out == ""


def test_a_pipe_is_no_file_to_go_on_with(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """It waited for ever for what nobody would write."""
    os.mkfifo(tmp_path / "r.csv")
    assert typed(monkeypatch, tmp_path / "r.csv", "A1", "590u", "q") == 2


def test_without_a_keyboard_nothing_is_entered(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("sys.stdin", None)
    assert main(["enter", str(FLYBACK), "-o", str(tmp_path / "r.csv")]) == 0
    assert not (tmp_path / "r.csv").exists()
