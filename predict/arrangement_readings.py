"""What the bench reads of each arrangement, many at once.

Arrangements whose sections are the same, laid in another order, differ in where each section lies and in
nothing else that fields, resistance and network ask for. Their layouts are brought into one canonical order
(windings as in the design, sections of a winding as in the build) and stacked as builds of one batch: one
window solution, one solution of eddy currents, one nodal solution for all of them. Capacitance asks as well
for the insulation between neighbours, which comes from each arrangement's own steps.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from .arrangement_rules import refuse
from .arrangements import Arrangement
from .batch import stack, structure
from .bench import predict_laid
from .capacitance import build_capacitance
from .design import BenchTest, Design, FloatArray, Member, ShieldStep, Step, WindStep
from .errors import BuildError, nearest
from .section import Branch, Layout
from .section_coupling import sections_of
from .solid_insulation import solid_insulation

_CHUNK = 128
"""Arrangements predicted at a time."""
USUAL_FREQUENCY = 100e3
"""Working frequency (Hz) where neither design nor user gives one (laminated cores ask for their own)."""


@dataclass(frozen=True)
class Questions:
    """The tests that compare arrangements. ``leakage``: the first is that of the drive winding.
    ``resistance``: its alternating-current resistance with the same windings shorted. ``capacitance``: of the
    drive winding to one of every other circuit (perhaps none). ``resonance``: of the drive winding."""

    leakage: tuple[BenchTest, ...]
    resistance: BenchTest
    capacitance: tuple[BenchTest, ...]
    resonance: BenchTest

    @property
    def tests(self) -> tuple[BenchTest, ...]:
        """All of them."""
        return (*self.leakage, self.resistance, *self.capacitance, self.resonance)


@dataclass(frozen=True)
class Predictions:
    """Readings of A arrangements (SI): leakage (A, p), capacitance (A, c), resistance and resonance (A,);
    wire_length (A, W): of one wire of each winding, leads left out (m). ``refused``: arrangements (their
    numbers) of which the models refuse a reading, with the reason; their readings are NaN."""

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

    drive : the winding whose leakage counts; None: that of the design's first leakage test. Its leakage is
    that test itself where the design has one for it (so that 'predict' shows the same number), else with all
    windings of other circuits shorted at the working frequency. pairs : further (drive, short).
    frequency : working frequency (Hz), None: the design's, else that of the leakage test, else 100 kHz.
    Raises DesignError for unknown windings and for a design of one winding.
    """
    names = [winding.name for winding in design.windings]
    if len(names) < 2:
        raise refuse("winding", "one winding", "a design of two or more windings, which can be interleaved")
    for name in [drive or names[0], *(name for pair in pairs for name in pair)]:
        if name not in names:
            option = "option --drive" if name == drive else "option --pair"
            raise refuse(option, repr(name), "one of " + ", ".join(names), nearest(name, names))
    shorted = [t for t in design.tests if t.measure == "inductance" and t.short and len(t.drive) == 1]
    own = [t for t in shorted if t.drive[0].name == (drive or t.drive[0].name) and t.drive[0].name in names]
    start = drive or (own[0].drive[0].name if own else names[0])
    at = frequency or design.working_frequency or (own[0].frequency if own else None) or USUAL_FREQUENCY
    if own:
        main = own[0]
    else:
        others = tuple(Member(name) for name in _elsewhere(design, start) or [n for n in names if n != start])
        main = BenchTest(f"leakage of {start}", "inductance", (Member(start),), others, frequency=at)
    port = main.drive
    leakage = [main]
    for first, second in pairs:
        if first == second:
            raise refuse("option --pair", f"{first}/{second}", "two different windings")
        name = f"leakage {first}/{second}"
        leakage.append(BenchTest(name, "inductance", (Member(first),), (Member(second),), frequency=at))
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
                f"capacitance {start} to {name}",
                "capacitance",
                port,
                (),
                (Member(name),),
                frequency=min(at, 1e5),
            )
        )
    resonance = BenchTest(f"resonance of {start}", "resonance", port)
    return Questions(tuple(leakage), resistance, tuple(capacitance), resonance)


def _elsewhere(design: Design, name: str) -> list[str]:
    """Windings of other circuits."""
    circuit = design.winding(name).circuit or name
    return [other.name for other in design.windings if (other.circuit or other.name) != circuit]


def predict_arrangements(
    arrangements: Sequence[Arrangement],
    questions: Questions,
    *,
    progress: Callable[[int, int], None] | None = None,
) -> Predictions:
    """Readings of all arrangements; progress(done, whole) is called after every portion."""
    groups: dict[Hashable, list[int]] = {}
    canonical = []
    for place, arrangement in enumerate(arrangements):
        laid = _canonical(arrangement, questions)
        canonical.append(laid)
        key = (laid.layout.sections, laid.layout.branches, laid.layout.flat, structure(laid.design))
        groups.setdefault(key, []).append(place)
    values = np.full((len(arrangements), len(questions.tests)), np.nan)
    refused: list[tuple[int, str]] = []
    done = 0
    for places in groups.values():
        for begin in range(0, len(places), _CHUNK):
            chunk = places[begin : begin + _CHUNK]
            found, reasons = _predicted([canonical[place] for place in chunk])
            values[chunk] = found
            refused += [(chunk[k], reason) for k, reason in reasons]
            done += len(chunk)
            if progress is not None:
                progress(done, len(arrangements))
    first, last = len(questions.leakage), len(questions.tests) - 1
    return Predictions(
        values[:, :first],
        values[:, first],
        values[:, first + 1 : last],
        values[:, last],
        np.stack([_wire_lengths(arrangement) for arrangement in arrangements]),
        tuple(refused),
    )


def _wire_lengths(arrangement: Arrangement) -> FloatArray:
    layout = arrangement.layout
    lengths = layout.turns[0] * layout.turn_length[0]
    names = np.array([section.winding for section in layout.sections])
    return np.array([float(np.sum(lengths[names == w.name])) for w in arrangement.design.windings])


@dataclass(frozen=True)
class _Laid:
    """An arrangement in canonical order: the design's wind steps sorted by winding, its layout accordingly.
    ``steps``: all of its steps in the order of the build; ``numbers``: the canonical number of each."""

    design: Design
    layout: Layout
    steps: tuple[Step, ...]
    numbers: tuple[int, ...]


def _canonical(arrangement: Arrangement, questions: Questions) -> _Laid:
    design, layout = replace(arrangement.design, tests=questions.tests), arrangement.layout
    rank = {
        name: k
        for k, name in enumerate([*(w.name for w in design.windings), *(s.name for s in design.shields)])
    }
    steps = design.build.steps
    wound = [k for k, step in enumerate(steps) if isinstance(step, WindStep | ShieldStep)]

    def of(k: int) -> str:
        step = steps[k]
        return step.winding if isinstance(step, WindStep) else step.name  # type: ignore[union-attr]

    in_order = sorted(wound, key=lambda k: (rank[of(k)], k))
    new_step = {old: new for new, old in enumerate(in_order)}
    branches = sorted(range(len(layout.branches)), key=lambda b: (new_step[layout.branches[b].step], b))
    new_branch = {old: new for new, old in enumerate(branches)}
    rows = sorted(range(len(layout.sections)), key=lambda i: (new_step[layout.sections[i].step], i))
    new_row = {old: new for new, old in enumerate(rows)}
    moved = tuple(
        replace(
            layout.sections[i],
            step=new_step[layout.sections[i].step],
            branch=new_branch[layout.sections[i].branch],
            group=new_row[layout.sections[i].group],
        )
        for i in rows
    )
    own = tuple(
        Branch(layout.branches[b].winding, new_step[layout.branches[b].step], layout.branches[b].ordinal)
        for b in branches
    )
    laid = replace(
        layout,
        sections=moved,
        branches=own,
        extent=layout.extent[:, rows],
        copper=layout.copper[:, rows],
        turns=layout.turns[:, rows],
        turn_length=layout.turn_length[:, rows],
    )
    build = replace(design.build, steps=tuple(steps[k] for k in in_order))
    numbers = tuple(new_step.get(k, 0) for k in range(len(steps)))
    return _Laid(replace(design, build=build), laid, steps, numbers)


def _predicted(laid: Sequence[_Laid]) -> tuple[FloatArray, list[tuple[int, str]]]:
    """(B, T) readings of arrangements that share a canonical structure; where the models refuse one, each on
    its own, and the reasons."""
    try:
        return _batch(laid), []
    except BuildError as error:
        if len(laid) == 1:
            tests = len(laid[0].design.tests)
            return np.full((1, tests), np.nan), [(0, str(error.faults[0]))]
    values, reasons = [], []
    for k, one in enumerate(laid):
        found, reason = _predicted([one])
        values.append(found[0])
        reasons += [(k, text) for _, text in reason]
    return np.stack(values), reasons


def _batch(laid: Sequence[_Laid]) -> FloatArray:
    first = laid[0].layout

    def together(name: str) -> FloatArray:
        return np.concatenate([getattr(one.layout, name) for one in laid], axis=0)

    layout = replace(
        first,
        extent=together("extent"),
        copper=together("copper"),
        turns=together("turns"),
        turn_length=together("turn_length"),
        top=together("top"),
        fill=together("fill"),
    )
    design = stack([one.design for one in laid])
    solid = solid_insulation([one.steps for one in laid], [one.numbers for one in laid], len(laid))
    charge = build_capacitance(design, layout, solid)
    return predict_laid(sections_of(design, layout), charge).values
