"""``aswound enter``: readings typed at the bench, one after the other; each is judged and kept at once."""

from __future__ import annotations

import re
import sys
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from .options import BenchFile, DesignFile

if TYPE_CHECKING:
    from ..compare.plan import BenchGuide
    from ..compare.readings import EntryFile, Reading
    from ..predict.design import BenchTest
    from ..predict.errors import Fault
    from .views.page import Part

HELP = (
    "Type the reading as the meter shows it: 612u, 1,52 uH, 0.226, OL. A bare number is in the unit of the "
    "prompt. '@ 24.5' behind it: the part's temperature in °C; '# text': a note.",
    "b: back to the test before. s: skip this test. n TEXT: a note on the reading above. next: the next "
    "sample. q: stop; what was typed is in the file, and the same command goes on from there.",
)


@dataclass(frozen=True)
class _Session:
    """The guide, the file on the disk, what it holds, and its text as it was last read or written here."""

    guide: BenchGuide
    path: Path
    file: EntryFile
    text: str = ""

    @property
    def tests(self) -> tuple[BenchTest, ...]:
        return self.guide.design.tests

    def kept(self, change: Callable[[EntryFile], EntryFile]) -> _Session:
        """With a change of the file on the disk, before anything else is asked. What another session or
        program has written there in the meantime is read again and stays."""
        from ..compare.readings import COLUMNS, entry_file, read_text
        from .written import alone, write_whole

        with alone(self.path):
            file, begun = self.file, self.path.exists()
            if begun and (text := read_text(self.path, plain=True)) != self.text:
                file = entry_file(text, COLUMNS, str(self.path))
            file = change(file)
            write_whole(self.path, file.text(), over=begun)
        return replace(self, file=file, text=file.text())


@dataclass(frozen=True)
class _Typed:
    """One line taken apart: the reading as a cell of the file, temperature, note."""

    reading: str
    temperature: str
    note: str


def enter(
    design: DesignFile,
    output: Annotated[
        Path | None,
        typer.Option(
            "-o",
            "--output",
            metavar="FILE.csv",
            help="Readings file to write or to continue; default: DESIGN-readings.csv in this folder.",
        ),
    ] = None,
    sample: Annotated[
        str | None, typer.Option(metavar="NAME", help="Name of the first sample; default: you are asked.")
    ] = None,
    bench: BenchFile = None,
) -> int:
    """Type readings at the bench, in the order of the plan: each is judged and saved before the next."""
    from ..compare.plan import bench_guide
    from ..compare.readings import (
        COLUMNS,
        EntryFile,
        check_sample_name,
        entry_file,
        parse_readings,
        read_text,
    )
    from ..predict.designfile import load_design
    from ..predict.errors import DesignError, Fault
    from .views import entry as views
    from .written import check_free, inputs_of

    loaded = load_design(design, bench=bench)
    if not loaded.tests:
        raise DesignError(Fault("tests", "no test", "a design with tests", file=str(design)))
    path = output or Path(f"{design.stem}-readings.csv")
    check_free(path, True, inputs_of(design, bench))
    begun = path.exists()
    if begun and not path.is_file():
        allowed = "a file, which is read again and written after each reading"
        raise DesignError(Fault(f"option --output {path}", "a device or a pipe", allowed))
    text = read_text(path, plain=True) if begun else ""
    file = entry_file(text, COLUMNS, str(path)) if begun else EntryFile()
    if file.rows:
        parse_readings(text, loaded, name=str(path))
    if sample is not None:
        check_sample_name(sample, f"option --sample {sample}")
    session = _Session(bench_guide(loaded), path, file, text)
    _say(views.opening(loaded, str(path), file.samples, HELP))
    deviates = False
    name: str | None = sample
    unfinished = [item for item in file.samples if file.next_place(item, _names(session)) < len(loaded.tests)]
    if name is None and unfinished and file.samples[-1] == unfinished[-1]:
        name = unfinished[-1]
        _say([f"Going on with {name}."])
    while True:
        if name is None:
            name = _ask_sample(session)
        if not name:
            break
        session, stopped = _one_sample(session, name)
        told = _verdict(session, name)
        deviates = deviates or told
        if stopped:
            break
        name = None
    _say(views.closing(str(path), session.file.samples, str(design)))
    return 1 if deviates else 0


def _names(session: _Session) -> list[str]:
    return [test.name for test in session.tests]


def _say(parts: Iterable[Part]) -> None:
    from .output import print_parts

    print_parts(parts)
    sys.stdout.flush()


def _ask(prompt: str) -> str | None:
    """One line from the keyboard without blanks at its ends; None at its end."""
    from .output import write

    write(prompt)
    sys.stdout.flush()
    line = sys.stdin.readline() if sys.stdin is not None else ""  # None: closed by who started it
    if not line:
        write("\n")
        return None
    return line.strip()


def _ask_sample(session: _Session) -> str | None:
    """The name of the next sample; None to stop."""
    from ..compare.readings import check_sample_name
    from ..predict.errors import ReadingsError
    from .views import entry as views

    known = session.file.samples
    proposed = _following(known[-1]) if known else "A1"
    while True:
        typed = _ask(f"\nSample (Enter: {proposed}; q: stop): ")
        if typed is None or typed == "q":
            return None
        name = typed or proposed
        try:
            check_sample_name(name, "sample")
        except ReadingsError as error:
            _say(views.refusal(error.faults))
            continue
        if name not in known:
            return name
        test_index = session.file.next_place(name, _names(session))
        if test_index < len(session.tests):
            return name
        _say([f"{name} is in the file already, with all its tests. Its readings stay; type another name."])


def _following(name: str) -> str:
    """ "A1" → "A2", "S-09" → "S-10", "good" → "good 2"."""
    matched = re.search(r"(\d+)(\D*)$", name)
    if matched is None:
        return f"{name} 2"
    number = f"{int(matched[1]) + 1:0{len(matched[1])}d}"
    return f"{name[: matched.start()]}{number}{matched[2]}"


def _one_sample(session: _Session, sample: str) -> tuple[_Session, bool]:
    """All tests of one sample, from where it was left; and whether the user stopped."""
    from .views import entry as views

    test_index = session.file.next_place(sample, _names(session))
    last: str | None = session.tests[test_index - 1].name if test_index else None
    asked = -1
    while test_index < len(session.tests):
        test = session.tests[test_index]
        if asked != test_index:
            _say(views.question(session.guide, test_index, sample))
            asked = test_index
        typed = _ask(views.prompt(session.guide, test_index))
        if typed is None or typed == "q":
            return session, True
        if typed == "next":
            break
        if typed in ("?", "h", "help"):
            _say(HELP)
        elif typed == "b":
            test_index = max(test_index - 1, 0)
        elif typed == "s":
            test_index += 1
        elif typed == "n" or typed.startswith("n "):
            session = _noted(session, sample, last, typed[1:].strip())
        elif typed:
            reading, cell = _read(session, sample, test, test_index, typed)
            if reading is not None and cell is not None:
                session = session.kept(partial(_entered, sample, test.name, cell))
                _say(views.answer(session.guide, test_index, reading))
                last, test_index = test.name, test_index + 1
    return session, False


def _entered(sample: str, test: str, cell: _Typed, file: EntryFile) -> EntryFile:
    return file.entered(sample, test, cell.reading, cell.temperature, cell.note)


def _noted(session: _Session, sample: str, last: str | None, note: str) -> _Session:
    from ..predict.errors import ReadingsError
    from .views import entry as views

    if not note or last is None:
        _say(["A note is written as 'n TEXT', after the reading that it belongs to."])
        return session
    if faults := _note_faults(note):
        _say(views.refusal(faults))
        return session
    try:
        session = session.kept(lambda file: file.noted(sample, last, note))
    except ReadingsError as error:
        _say(views.refusal(error.faults))
        return session
    _say([f"Noted on {last}."])
    return session


def _note_faults(note: str) -> list[Fault]:
    """What is wrong with a note: an arrow key, for example, types characters that control a terminal."""
    from ..predict.errors import Fault
    from ..predict.plain_text import unfit

    wrong = unfit(note)
    return [Fault("note", wrong, "text on one line; it was not kept, type it again")] if wrong else []


def _taken_apart(typed: str, test: BenchTest, unit: str) -> _Typed:
    """ "0.562 @ 24.5 # warm" as reading, temperature and note, as the file holds them."""
    from ..compare.readings import DIMENSIONS, as_written

    typed, _, note = (part.strip() for part in typed.partition("#"))
    value, _, temperature = (part.strip() for part in typed.partition("@"))
    reading = as_written(value, DIMENSIONS[test.measure], unit)
    return _Typed(reading, as_written(temperature, "temperature", "degC"), note)


def _read(
    session: _Session, sample: str, test: BenchTest, index: int, typed: str
) -> tuple[Reading | None, _Typed | None]:
    """The reading that was typed; (None, None) after saying what is wrong with it."""
    from ..compare.readings import Conventions, read_row
    from ..predict.errors import Faults
    from .views import entry as views

    cell = _taken_apart(typed, test, views.unit_of_prompt(session.guide, index))
    design = session.guide.design
    conventions = Conventions({test.name: test}, design.bench.equivalent)
    faults = Faults()
    faults.found += _note_faults(cell.note)
    cells = {"sample": sample, "test": test.name, "reading": cell.reading, "temperature": cell.temperature}
    reading = None
    if not cell.reading:
        faults.add("", repr(typed), "a reading before '@' and '#'")
    else:
        reading = read_row(cells, conventions, faults, 0, "")
    if faults.found or reading is None:
        _say(views.refusal(faults.found))
        return None, None
    return reading, cell


def _verdict(session: _Session, sample: str) -> bool:
    """What ``explain`` says of the sample, and the measurement that would tell most; whether it deviates."""
    from ..compare.diagnosis import explain
    from ..compare.readings import parse_readings
    from ..compare.verdict import finished_readings, sweeps_apart
    from .views import entry as views

    if sample not in session.file.samples:
        return False
    readings = parse_readings(session.file.text(), session.guide.design, name=str(session.path))
    mine = [item for item in readings if item.sample == sample]
    design = session.guide.design
    finished, _ = finished_readings(design, mine)
    (diagnosis,) = explain(*sweeps_apart(design, finished))
    _say(views.sample_verdict(diagnosis))
    return diagnosis.deviates
