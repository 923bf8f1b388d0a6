"""What the bench reads of each arrangement, many at once.

Arrangements of one structure (``capacitance.common_order``) are builds of one batch: one solution of the
window, one of eddy currents and one of the network serve all of them.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from ..capacitance import Batch, shared_capacitance, together
from ..circuit import predict_laid, sections_of
from ..design import BenchTest, Design, FloatArray, Member
from ..errors import BuildError, nearest
from ..portions import processes_at_hand, shared_out
from .arrangements import Arrangement
from .rules import rule_error

_CHUNK = 128
"""Arrangements predicted at one time (bounds work, not results)."""
_WORTH_SHARING = 300
"""Number of arrangements above which the work is shared among processes (bounds work, not
results)."""
USUAL_FREQUENCY = 100e3
"""Working frequency (Hz) where neither design nor user gives one; too high for laminated cores, which need
one of their own (common practice, no source)."""


@dataclass(frozen=True)
class Questions:
    """The tests by which arrangements are compared.

    Attributes
    ----------
    leakage : tuple of BenchTest, leakage tests; the first is that of the drive winding
    resistance : BenchTest, AC resistance of the drive winding with the same windings shorted
    capacitance : tuple of BenchTest
        Capacitance of the drive winding to one winding of every other circuit; may be empty.
    resonance : BenchTest, of the drive winding
    """

    leakage: tuple[BenchTest, ...]
    resistance: BenchTest
    capacitance: tuple[BenchTest, ...]
    resonance: BenchTest

    @property
    def tests(self) -> tuple[BenchTest, ...]:
        """All tests, in this order."""
        return (*self.leakage, self.resistance, *self.capacitance, self.resonance)


@dataclass(frozen=True, kw_only=True)
class Predictions:
    """Readings of A arrangements; those that the models refuse are NaN.

    Attributes
    ----------
    leakage : (A, p) array, leakage inductances, H
    resistance : (A,) array, AC resistance, ohm
    capacitance : (A, c) array, capacitances, F
    resonance : (A,) array, resonance, Hz
    wire_length : (A, W) array, length of one wire of each winding, without leads, m
    refused : tuple of (int, str), arrangements of which the models refuse a reading, index, with the reason
    """

    leakage: FloatArray
    resistance: FloatArray
    capacitance: FloatArray
    resonance: FloatArray
    wire_length: FloatArray
    refused: tuple[tuple[int, str], ...]


def questions_of(
    design: Design,
    *,
    drive: str | None = None,
    pairs: Sequence[tuple[str, str]] = (),
    frequency: float | None = None,
) -> Questions:
    """The tests by which arrangements are compared.

    The leakage of the drive winding is the design's own test of it if there is one (so that 'predict' shows
    the same number), else with all windings of other circuits shorted at the working frequency.

    Parameters
    ----------
    design : Design of one or B builds
    drive : str or None, winding whose leakage counts; None: that of the design's first leakage test
    pairs : sequence of (str, str), further pairs of a driven and a shorted winding
    frequency : float or None
        Working frequency, Hz; None: that of the design, else of the leakage test, else 100 kHz.

    Raises
    ------
    DesignError
        For unknown windings and for a design of one winding.
    """
    names = [winding.name for winding in design.windings]
    if len(names) < 2:
        raise rule_error(
            "winding", "one winding", "a design of two or more windings, which can be interleaved"
        )
    for name in [drive or names[0], *(name for pair in pairs for name in pair)]:
        if name not in names:
            option = "option --drive" if name == drive else "option --pair"
            raise rule_error(option, repr(name), "one of " + ", ".join(names), nearest(name, names))
    shorted = [t for t in design.tests if t.measure == "inductance" and t.short and len(t.drive) == 1]
    usable = [
        t for t in shorted if t.drive[0].name == (drive or t.drive[0].name) and t.drive[0].name in names
    ]
    start = drive or (usable[0].drive[0].name if usable else names[0])
    at = frequency or design.working_frequency or (usable[0].frequency if usable else None) or USUAL_FREQUENCY
    if usable:
        main = usable[0]
    else:
        others = tuple(Member(name) for name in _elsewhere(design, start) or [n for n in names if n != start])
        main = BenchTest(
            name=f"leakage of {start}",
            measure="inductance",
            drive=(Member(start),),
            short=others,
            frequency=at,
        )
    port = main.drive
    leakage = [main]
    for first, second in pairs:
        if first == second:
            raise rule_error("option --pair", f"{first}/{second}", "two different windings")
        name = f"leakage {first}/{second}"
        leakage.append(
            BenchTest(
                name=name, measure="inductance", drive=(Member(first),), short=(Member(second),), frequency=at
            )
        )
    resistance = replace(main, name="AC resistance", measure="ac_resistance", frequency=at, minimum=None)
    capacitance = []
    seen: set[str] = set()
    for name in sorted(_elsewhere(design, start), key=lambda n: n not in [m.name for m in main.short]):
        circuit = design.winding(name).circuit
        if circuit in seen:
            continue
        seen.add(circuit)
        stated = next(
            (
                t
                for t in design.tests
                if t.measure == "capacitance" and t.drive == port and t.sense == (Member(name),)
            ),
            None,
        )
        capacitance.append(
            stated
            or BenchTest(
                name=f"capacitance {start} to {name}",
                measure="capacitance",
                drive=port,
                short=(),
                sense=(Member(name),),
                frequency=min(at, 1e5),
            )
        )
    resonance = BenchTest(name=f"resonance of {start}", measure="resonance", drive=port)
    return Questions(tuple(leakage), resistance, tuple(capacitance), resonance)


def _elsewhere(design: Design, name: str) -> list[str]:
    """Windings of other circuits."""
    circuit = design.winding(name).circuit or name
    return [winding.name for winding in design.windings if (winding.circuit or winding.name) != circuit]


def predict_arrangements(
    arrangements: Sequence[Arrangement],
    questions: Questions,
    *,
    resonance: bool = True,
    progress: Callable[[int, int], None] | None = None,
    processes: int | None = None,
) -> Predictions:
    """Readings of all arrangements.

    Parameters
    ----------
    arrangements : sequence of Arrangement, the A arrangements
    questions : Questions, tests by which they are compared
    resonance : bool
        Whether to search for the resonance, which takes longest; without it these readings are NaN.
    progress : callable (int, int) or None
        Called after every portion with the arrangements done and their number.
    processes : int or None
        Processes that share the work, count; None: all that can run, where there is enough to do.
    """
    tests = questions.tests if resonance else questions.tests[:-1]
    readings, lengths, refused = predict_tests(arrangements, tests, progress=progress, processes=processes)
    values = np.full((len(arrangements), len(questions.tests)), np.nan)
    values[:, : len(tests)] = readings
    first, last = len(questions.leakage), len(questions.tests) - 1
    return Predictions(
        leakage=values[:, :first],
        resistance=values[:, first],
        capacitance=values[:, first + 1 : last],
        resonance=values[:, last],
        wire_length=lengths,
        refused=tuple(sorted(refused)),
    )


def predict_tests(
    arrangements: Sequence[Arrangement],
    tests: tuple[BenchTest, ...],
    *,
    progress: Callable[[int, int], None] | None = None,
    processes: int | None = None,
) -> tuple[FloatArray, FloatArray, list[tuple[int, str]]]:
    """Readings of any tests of all arrangements.

    Arguments as in ``predict_arrangements``.

    Parameters
    ----------
    arrangements : sequence of Arrangement, the A arrangements
    tests : tuple of BenchTest, the T tests
    progress : callable (int, int) or None
        Called after every portion with the arrangements done and their number.
    processes : int or None
        Processes that share the work, count; None: all that can run, where there is enough to do.

    Returns
    -------
    values : (A, T) array, readings, SI; NaN where the models refuse
    lengths : (A, W) array, length of one wire of each winding, m
    refused : list of (int, str), arrangements that the models refuse, index, with the reason
    """
    groups: dict[Hashable, list[int]] = {}
    first_of: dict[int, int] = {}  # a batch stays together, so that its builds are taken at once
    for index, arrangement in enumerate(arrangements):
        groups.setdefault(arrangement.batch.key, []).append(index)
        first_of.setdefault(id(arrangement.batch), index)
    portions = []
    for indices in groups.values():
        indices.sort(key=lambda index: first_of[id(arrangements[index].batch)])
        portions += [indices[begin : begin + _CHUNK] for begin in range(0, len(indices), _CHUNK)]
    portions.sort(key=len, reverse=True)

    def work(number: int) -> tuple[FloatArray, FloatArray, list[tuple[int, str]]]:
        parts = [(arrangements[index].batch, arrangements[index].row) for index in portions[number]]
        readings, reasons = _predicted(parts, tests)
        return readings, np.concatenate([_wire_lengths(batch)[[row]] for batch, row in parts]), reasons

    values = np.full((len(arrangements), len(tests)), np.nan)
    lengths = np.empty((len(arrangements), len(arrangements[0].design.windings)))
    refused: list[tuple[int, str]] = []
    done = 0
    enough = len(arrangements) >= _WORTH_SHARING
    hands = (processes_at_hand() if enough else 1) if processes is None else processes
    for number, (readings, wires, reasons) in shared_out(work, len(portions), hands):
        chunk = portions[number]
        values[chunk], lengths[chunk] = readings, wires
        refused += [(chunk[k], reason) for k, reason in reasons]
        done += len(chunk)
        if progress is not None:
            progress(done, len(arrangements))
    return values, lengths, refused


def _predicted(
    parts: Sequence[tuple[Batch, int]], tests: tuple[BenchTest, ...]
) -> tuple[FloatArray, list[tuple[int, str]]]:
    """(B, T) readings of arrangements with a common key; where the models refuse one, each is predicted on
    its own, and the reasons are returned."""
    try:
        design, layout, solid = together(parts)
        sections = sections_of(replace(design, tests=tests), layout)
        return predict_laid(sections, shared_capacitance(design, layout, solid)).values, []
    except BuildError as error:
        if len(parts) == 1:
            return np.full((1, len(tests)), np.nan), [(0, str(error.faults[0]))]
    values, reasons = [], []
    for k, part in enumerate(parts):
        readings, reason = _predicted([part], tests)
        values.append(readings[0])
        reasons += [(k, text) for _, text in reason]
    return np.stack(values), reasons


def _wire_lengths(batch: Batch) -> FloatArray:
    """(B, W) length (m) of one wire of each winding, without leads."""
    lengths = batch.layout.turns * batch.layout.turn_length
    names = np.array([section.winding for section in batch.layout.sections])
    lengths_by_winding = [
        np.sum(lengths[:, names == winding.name], axis=1) for winding in batch.design.windings
    ]
    return np.stack(lengths_by_winding, axis=1)
