"""Readings that stop a wrong part early: after each winding, before the core is in, after coring.

Resistance of a section, once it is wound and its ends are bared:

    limits = 95 % range of random builds ± U        U = 2u of one reading: the design's bench, ± 1 K

A wider range would let more wrong parts through; one sound part in twenty that lies outside is read again.
What each reading would catch is found by reading changed sections: a turn more or fewer, wires lost, other
wire, other metal (``causes.copper``). Before coring turns are told by a ratio on a test core; its limits lie
half way to the nearest count that is one turn off. After coring the tests of the design hold, with the
specification's limits, else the proposed ones.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from ..predict.design import BenchTest, Design, FloatArray, Member, WindStep
from ..predict.layout import Layout, lay_out
from ..predict.production import HIGH, LOW, random_builds
from ..predict.resistance import lead_resistance, section_resistance, temperature_factor
from ..predict.tolerance_defaults import deviation
from ..predict.tolerances import parameters
from .causes import copper
from .evaluation import handled_uncertainty
from .plan import PlannedTest

STATED_AT = 20.0
"""Temperature (°C) at which direct-current resistances stand."""


@dataclass(frozen=True)
class Slip:
    """A mistake in words, of a kind ("turns", or a cause of copper: "wire", "strand", "conductor"), what the
    reading would then be (SI), and whether the limits tell it."""

    kind: str
    title: str
    reading: float
    told: bool


@dataclass(frozen=True)
class ShopReading:
    """One reading for the shop, SI.

    after : the build step (from 1) after which it is taken; None: once all is wound. stage : "winding",
    "before core" or "assembled". name : of the test, or of what is read. where : between which ends, in
    words. expected : nominal. minimum, maximum : limits, None where there is none. specified : whether they
    are the design file's, else from the spread. uncertainty : standard, of one reading (0: of a count).
    frequency : Hz; None: direct current. slips : what it would read after single mistakes.
    """

    after: int | None
    stage: str
    name: str
    measure: str
    where: str
    expected: float
    minimum: float | None
    maximum: float | None
    specified: bool
    uncertainty: float
    frequency: float | None = None
    slips: tuple[Slip, ...] = ()


@dataclass(frozen=True)
class _Piece:
    """What is read after a step: one section, or (``joined``) all sections of a winding as joined."""

    step: int
    winding: str
    ordinal: int
    count: int
    joined: bool


def winding_readings(design: Design, *, builds: int = 2000, seed: int = 1) -> tuple[ShopReading, ...]:
    """Resistance of every section after its step, and of every divided winding after its last one, in winding
    order. Raises BuildError where the layout is outside the models."""
    chosen = tuple(parameter for parameter in parameters(design) if parameter.origin == "build")
    z = np.random.default_rng(seed).standard_normal((builds, len(chosen)))
    some = random_builds(design, chosen, z)
    plain, varied = lay_out(design), lay_out(some)
    pieces = list(_pieces(design, plain))
    nominal = _resistances(design, plain, pieces)[0]
    spread = np.broadcast_to(_resistances(some, varied, pieces), (builds, len(pieces)))
    low, high = np.quantile(spread, [LOW, HIGH], axis=0)
    changed = {piece.winding: _changed(design, piece.winding) for piece in pieces}
    result = []
    for number, piece in enumerate(pieces):
        value = float(nominal[number])
        test = BenchTest("", "resistance", (Member(piece.winding),))
        handled = float(handled_uncertainty(design, test, np.asarray(value), complex(value)))
        doubt = math.hypot(handled, value * _per_kelvin(design, piece.winding) * deviation("temperature"))
        least, most = float(low[number]) - 2 * doubt, float(high[number]) + 2 * doubt
        slips = []
        for kind, title, other in (*_turns_changed(design, piece), *changed[piece.winding]):
            shown = float(_resistances(other, lay_out(other), [piece])[0, 0])
            slips.append(Slip(kind, title, shown, not least <= shown <= most))
        result.append(
            ShopReading(
                after=piece.step + 1,
                stage="winding",
                name=f"R of {_name(piece)}",
                measure="resistance",
                where=_where(design, piece),
                expected=value,
                minimum=least,
                maximum=most,
                specified=False,
                uncertainty=doubt,
                slips=tuple(slips),
            )
        )
    return tuple(result)


def turns_readings(design: Design) -> tuple[ShopReading, ...]:
    """The ratio of turns of the first winding to every other one, as a test core shows it before coring."""
    layout = lay_out(design)
    counts = {winding.name: _turns(design, layout, winding.name) for winding in design.windings}
    names = list(counts)
    result = []
    for other in names[1:]:
        one, two = counts[names[0]], counts[other]
        slips = [
            (
                f"{name} has a turn too {word}",
                (one + by * (name == names[0])) / (two + by * (name == other)),
            )
            for name in (names[0], other)
            for by, word in ((1, "many"), (-1, "few"))
            if counts[name] + by > 0
        ]
        ratio = one / two
        below = [shown for _, shown in slips if shown < ratio]
        above = [shown for _, shown in slips if shown > ratio]
        least = (max(below) + ratio) / 2 if below else None
        most = (min(above) + ratio) / 2 if above else None
        result.append(
            ShopReading(
                after=None,
                stage="before core",
                name=f"{names[0]} : {other}",
                measure="ratio",
                where=f"on a closed test core, {names[0]} driven, {other} open: {one} : {two} turns",
                expected=ratio,
                minimum=least,
                maximum=most,
                specified=False,
                uncertainty=0.0,
                slips=tuple(Slip("turns", title, shown, True) for title, shown in slips),
            )
        )
    return tuple(result)


def assembled_readings(tests: tuple[PlannedTest, ...]) -> tuple[ShopReading, ...]:
    """The tests of the bench sheet as readings after coring: the specification's limits where there are any,
    else the proposed ones."""
    result = []
    for test in tests:
        given = test.minimum is not None or test.maximum is not None
        proposed = test.proposed
        least = test.minimum if given else None if proposed is None else proposed.minimum
        most = test.maximum if given else None if proposed is None else proposed.maximum
        result.append(
            ShopReading(
                after=None,
                stage="assembled",
                name=test.name,
                measure=test.measure,
                where=test.connections,
                expected=test.expected,
                minimum=least,
                maximum=most,
                specified=given,
                uncertainty=test.measurement_uncertainty,
                frequency=test.frequency,
            )
        )
    return tuple(result)


def _pieces(design: Design, layout: Layout) -> Iterator[_Piece]:
    """What can be read after every step, in winding order."""
    branches = {name: [one for one in layout.branches if one.winding == name] for name in _names(design)}
    for number, step in enumerate(design.build.steps):
        if not isinstance(step, WindStep):
            continue
        for name in (step.winding, *step.companions):
            own = branches[name]
            place = next(place for place, branch in enumerate(own) if branch.step == number)
            if len(own) > 1:
                yield _Piece(number, name, place + 1, len(own), joined=False)
            if place == len(own) - 1:
                yield _Piece(number, name, place + 1, len(own), joined=True)


def _names(design: Design) -> list[str]:
    return [winding.name for winding in design.windings]


def _resistances(design: Design, layout: Layout, pieces: list[_Piece]) -> FloatArray:
    """(B, pieces) at 20 °C: a section by itself without leads, a whole winding with them."""
    each = section_resistance(design, layout, STATED_AT)
    columns = []
    for piece in pieces:
        steps = [branch.step for branch in layout.branches if branch.winding == piece.winding]
        rows = [
            [
                index
                for index, section in enumerate(layout.sections)
                if section.winding == piece.winding and section.step == step
            ]
            for step in steps
        ]
        own = np.stack([np.sum(each[:, row], axis=1) for row in rows], axis=-1)
        if not piece.joined:
            columns.append(own[:, piece.ordinal - 1])
            continue
        parallel = design.winding(piece.winding).sections == "parallel"
        whole = 1 / np.sum(1 / own, axis=1) if parallel else np.sum(own, axis=1)
        columns.append(whole + lead_resistance(design, piece.winding, STATED_AT))
    return np.stack(np.broadcast_arrays(*columns), axis=-1)


def _changed(design: Design, name: str) -> list[tuple[str, str, Design]]:
    """(kind, title, design) of what may be wrong with the conductor of a winding: of other wire the nearest
    sizes, of lost wires one, of joints none."""
    found = []
    for cause in copper.CAUSES:
        if cause.name == "joint" or name not in cause.places(design):
            continue
        variants = [item for item in cause.variants(design, name) if item.weight >= 1.0]
        if cause.name == "wire":
            nearest = sorted(variants, key=lambda item: abs(math.log(item.amount or 1.0)))[:4]
            variants = sorted(nearest, key=lambda item: -(item.amount or 1.0))
        elif cause.name == "strand":
            variants = variants[:1]
        found += [(cause.name, item.title, item.design) for item in variants]
    return found


def _turns_changed(design: Design, piece: _Piece) -> list[tuple[str, str, Design]]:
    """(kind, title, design) of a turn too many and too few in the step of a piece."""
    step = design.build.steps[piece.step]
    assert isinstance(step, WindStep)
    turns = int(np.asarray(step.turns).flat[0])
    found = []
    for by, word in ((1, "many"), (-1, "few")):
        if turns + by > 0:
            steps = list(design.build.steps)
            steps[piece.step] = replace(step, turns=turns + by)
            changed = replace(design, build=replace(design.build, steps=tuple(steps)))
            found.append(("turns", f"a turn too {word} in step {piece.step + 1}", changed))
    return found


def _per_kelvin(design: Design, name: str) -> float:
    """Relative change of a winding's resistance per kelvin."""
    return float(temperature_factor(design.winding(name).metal, STATED_AT + 1.0)) - 1.0


def _turns(design: Design, layout: Layout, name: str) -> int:
    """Turns of a winding: of sections in parallel those of the first."""
    of_steps: dict[int, float] = {}
    for index, section in enumerate(layout.sections):
        if section.winding == name:
            of_steps[section.step] = of_steps.get(section.step, 0.0) + float(layout.turns[0, index])
    own = list(of_steps.values())
    return round(own[0] if design.winding(name).sections == "parallel" else sum(own))


def _name(piece: _Piece) -> str:
    if not piece.joined:
        return f"{piece.winding}, section {piece.ordinal} of {piece.count}"
    return piece.winding if piece.count == 1 else f"{piece.winding}, all sections"


def _where(design: Design, piece: _Piece) -> str:
    winding = design.winding(piece.winding)
    if not piece.joined:
        return "between its ends"
    pins = f"pins {winding.start} and {winding.finish}" if winding.start and winding.finish else "its ends"
    joined = ""
    if piece.count > 1:
        joined = f", its {piece.count} sections joined in {winding.sections}"
    return f"between {pins}{joined}"
