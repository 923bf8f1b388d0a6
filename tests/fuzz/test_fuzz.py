"""Mutated files: only a clean answer, or a fault with file, place, found and allowed.

2000 files in .ci/run, 20 000 and more on demand (``python tests/fuzz/test_fuzz.py 20000 7``: how many, and
the seed). Every file is read; of those that are sound, one of ``EACH`` goes through a command: all of them
would take too long. No file may take more than 5 s of processor time or leave the process above
1 GB; JSON is valid by its schema and holds no NaN; every row of a readings file is a reading or a fault.

``cases/`` holds 52 files with which the tool of commit f4e05a9 was slow, silent, or at fault; they were found
by 33 308 mutations of this kind with random options (``cases/cases.json``: the command, and what was seen).
Those from 53 on were found later.
"""

from __future__ import annotations

import contextlib
import csv
import io
import json
import resource
import shutil
import signal
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from types import FrameType
from typing import Any

import jsonschema
import pytest
from mutate import ROOT, files

from aswound.cli.main import main
from aswound.cli.schema import schema_text
from aswound.compare.readings import parse_readings
from aswound.predict.designfile import load_design
from aswound.predict.designfile.reader import parse_design
from aswound.predict.errors import AswoundError

HERE = Path(__file__).parent

FILES, SEED, EACH = 2000, 20, 3
SECONDS, BYTES = 5.0, 1_000_000_000
FRESH = 60_000_000
"""Bytes of a process that has loaded the tool and done nothing."""
COMMANDS = (
    ["predict", "d.toml", "--builds", "100", "--json"],
    ["plan", "d.toml", "--json"],
    ["plan", "d.toml", "--csv"],
    ["predict", "d.toml", "--builds", "100"],
    ["compare", "d.toml", "r.csv", "--json"],
    ["sheet", "d.toml", "--builds", "100", "--json"],
)


class TooLong(BaseException):
    """More processor time than a file may take. No Exception, so that nothing on its way takes it for a
    fault."""


def peak_from_now() -> int:
    """Bytes of this process now, from which on its peak is counted again (Linux; elsewhere its peak ever)."""
    counter = Path("/proc/self/clear_refs")
    if counter.exists():
        counter.write_text("5", encoding="ascii")
    return peak()


def peak() -> int:
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024


@contextlib.contextmanager
def bounded(what: str, seconds: float = SECONDS) -> Iterator[None]:
    """Processor time and memory of a block, of whatever size the process is that runs it."""

    def stop(_: int, frame: FrameType | None) -> None:
        raise TooLong(f"{what}: more than {seconds} s, in {frame}")

    first = peak_from_now()
    before = signal.signal(signal.SIGPROF, stop)
    signal.setitimer(signal.ITIMER_PROF, seconds)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0.0)
        signal.signal(signal.SIGPROF, before)
        assert FRESH + peak() - first < BYTES, what


def faults_told(error: AswoundError, text: str, *, in_file: bool = False) -> None:
    assert error.faults, text
    for fault in error.faults:
        assert fault.place, (fault, text)
        assert fault.found, (fault, text)
        assert fault.allowed, (fault, text)
        assert fault.file or not in_file, (fault, text)


def answered(arguments: list[str], text: str) -> None:
    """Run a command in this process; what it prints is whole. A warning is an error here, and status 3."""
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        status = main(arguments)
    assert status in (0, 1, 2), (arguments, status, err.getvalue(), text)
    assert "Traceback" not in err.getvalue()
    assert "Warning" not in err.getvalue()
    if status == 2:
        assert out.getvalue() == "", (arguments, text)
        assert err.getvalue().startswith("aswound: ")
    elif "--json" in arguments:
        whole(arguments[0], out.getvalue(), text)


def whole(command: str, printed: str, text: str) -> None:
    """JSON without NaN, valid by the schema of its command."""

    def refused(constant: str) -> float:
        raise AssertionError((constant, text))

    value: Any = json.loads(printed, parse_constant=refused)
    jsonschema.validate(value, json.loads(schema_text(command)))


def rows_of(text: str) -> int:
    """Rows of a plain CSV file below its header, counted without the tool."""
    lines = [line for line in io.StringIO(text) if line.strip() and not line.lstrip().startswith("#")]
    return sum(any(cell.strip() for cell in row) for row in csv.reader(lines[1:]))


def designs(number: int, seed: int, folder: Path) -> tuple[int, int]:
    """(files that were refused, commands that were run)."""
    refused = run = sound = 0
    shutil.copy(ROOT / "samples" / "flyback-24w.csv", folder / "r.csv")
    for text in files(".toml", number, seed):
        (folder / "d.toml").write_text(text, encoding="utf-8", errors="surrogatepass", newline="")
        try:
            with bounded(text):
                load_design(folder / "d.toml")
        except AswoundError as error:
            faults_told(error, text, in_file=True)
            refused += 1
            continue
        sound += 1
        if sound % EACH == 0:
            with bounded(text):
                answered(list(COMMANDS[(sound // EACH) % len(COMMANDS)]), text)
            run += 1
    return refused, run


def readings(number: int, seed: int) -> tuple[int, int]:
    """(files that were refused, files that were read)."""
    design = parse_design((ROOT / "samples" / "flyback-24w.toml").read_text(encoding="utf-8"))
    refused = read = 0
    for text in files(".csv", number, seed):
        try:
            with bounded(text):
                found = parse_readings(text, design)
        except AswoundError as error:
            faults_told(error, text)
            refused += 1
            continue
        read += 1
        if (
            "test" in text
            and "reading" in text
            and '"' not in text
            and "\r" not in text
            and "sep=" not in text
        ):
            heads = next(line for line in text.splitlines() if line.strip() and not line.startswith("#"))
            if "test" in heads and "reading" in heads:
                assert len(found) == rows_of(text), text
    return refused, read


@pytest.mark.slow
def test_mutated_designs(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    refused, run = designs(FILES * 2 // 3, SEED, tmp_path)
    assert refused > FILES // 4
    assert run > 5


def test_mutated_readings() -> None:
    refused, read = readings(FILES // 3, SEED)
    assert refused > FILES // 10
    assert read > FILES // 50


CASES = json.loads((HERE / "cases" / "cases.json").read_text(encoding="utf-8"))
AGAIN = 3
"""Runs of which the quickest counts."""


def slowed() -> float:
    """By what factor a busy machine lengthens processor time just now: the mean of a small piece of work over
    its least, which other processes did not disturb (1.0 to 1.6 on two cores that share their caches)."""

    def piece() -> float:
        begin = time.thread_time()
        sum(number * number % 7 for number in range(60_000))
        return time.thread_time() - begin

    pieces = [piece() for _ in range(100)]
    return sum(pieces) / len(pieces) / min(pieces)


DEAR = {"02", "03", "05", "07", "09", "10", "15", "17", "19", "22", "24", "29", "33", "39", "43", "53"}
"""Commands of some seconds each: in .ci/run only."""


@pytest.mark.parametrize(
    "case",
    [pytest.param(row, id=row["case"], marks=[pytest.mark.slow] * (row["case"] in DEAR)) for row in CASES],
)
def test_what_was_found_by_attack(
    case: dict[str, Any], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A clean answer, or status 2 with its reason, soon and in little memory; no warning on the way."""
    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.chdir(shutil.copytree(HERE / "cases" / case["case"], tmp_path / "case"))
    for _ in range(AGAIN):
        began = time.process_time()
        with bounded(case["case"], 4 * SECONDS):
            answered(list(case["arguments"]), case["case"])
        spent = time.process_time() - began
        if spent > SECONDS:
            spent /= slowed()
        if spent < SECONDS:
            break
    assert spent < SECONDS


if __name__ == "__main__":
    import tempfile

    many = int(sys.argv[1]) if len(sys.argv) > 1 else 20_000
    first = int(sys.argv[2]) if len(sys.argv) > 2 else SEED
    start = time.process_time()
    with tempfile.TemporaryDirectory() as place, contextlib.chdir(place):
        print("designs (refused, commands run):", designs(many * 2 // 3, first, Path(place)))
    print("readings (refused, read):", readings(many // 3, first))
    print(f"{time.process_time() - start:.0f} s of processor time")
