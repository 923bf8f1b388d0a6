"""The readings of a build sheet in the order in which the shop takes them: what stops a wrong part early.

After each winding its direct-current resistance (``process_readings``); before coring the turns ratio on a
test core, with limits half way to the nearest count that is one turn off, but never tighter than the bench
reads a ratio; after coring the tests of the
design (``finished_checks``). Each has its limits, and what a reading beyond them points to.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from ...predict.design import BenchTest, Design, Member
from ...predict.production import BUILDS
from ..meter import COVERAGE, handled_components
from ..verdict import below_normal
from .finished_checks import BY_DESIGN, ShopReading, finished_checks
from .process_readings import ProcessFault, ProcessReading, process_readings

UNJUDGED = 0.3
"""No limits are proposed if the expanded uncertainty (k = 2) of one reading exceeds this fraction of what is
expected: the floor of the bench, not the part, would set them (common practice)."""


def shop_readings(design: Design, *, builds: int = BUILDS, seed: int = 1) -> tuple[ShopReading, ...]:
    """Every reading of the build sheet of a design, in the order in which they are taken.

    Parameters
    ----------
    design : Design
        The transformer.
    builds : int, optional
        Random builds behind ranges and limits, count.
    seed : int, optional
        Seed of the random builds.

    Raises
    ------
    BuildError
        The layout is outside the models.
    """
    return (
        *map(judged_here, _winding_readings(design, builds=builds, seed=seed)),
        *turns_readings(design),
        *map(judged_here, finished_checks(design, builds=builds, seed=seed)),
    )


def judged_here(reading: ShopReading) -> ShopReading:
    """The reading, without limits and what they would stop if this bench cannot tell. Limits of the design
    file stay; so do those of a phase, which is a sign."""
    size = abs(reading.expected)
    if reading.specified or reading.measure == "phase" or not math.isfinite(size):
        return reading
    if 2 * reading.uncertainty <= UNJUDGED * size:
        return reading
    return replace(reading, minimum=None, maximum=None, above=(), below=(), faults=(), judged=False)


def _winding_readings(design: Design, *, builds: int = BUILDS, seed: int = 1) -> tuple[ShopReading, ...]:
    """Resistance of every section after its step, and of all sections so far, in winding order."""
    return tuple(
        ShopReading(
            after=reading.section.step + 1,
            stage="winding",
            name=f"R of {_name(reading)}",
            measure="resistance",
            where=_where(design, reading),
            expected=reading.expected,
            minimum=reading.minimum,
            maximum=reading.maximum,
            specified=bool(reading.specified),
            uncertainty=reading.budget.combined,
            temperature=reading.section.temperature,
            above=_stopped(reading, above=True),
            below=_stopped(reading, above=False),
            faults=reading.faults,
        )
        for reading in process_readings(design, builds=builds, seed=seed)
    )


def _stopped(reading: ProcessReading, *, above: bool) -> tuple[str, ...]:
    """What a reading beyond that limit points to."""
    limit = reading.maximum if above else reading.minimum
    if limit is not None and (reading.expected > limit if above else reading.expected < limit):
        return (BY_DESIGN,)
    return tuple(fault.title for fault in reading.stopped(above=above))


def turns_readings(design: Design) -> tuple[ShopReading, ...]:
    """Turns ratio of the first winding to every other one, as a test core shows it before coring. None on a
    ring, which is wound on its own core."""
    if design.core.dimensions.ring:
        return ()
    counts = {winding.name: design.turns_of(winding.name) for winding in design.windings}
    first, *others = counts
    return tuple(_turns_reading(design, (first, counts[first]), (name, counts[name])) for name in others)


def _turns_reading(design: Design, first: tuple[str, int], second: tuple[str, int]) -> ShopReading:
    """The ratio of two windings, each a name and its turns."""
    ratio = first[1] / second[1]
    test = BenchTest(
        name="n", measure="ratio", drive=(Member(first[0]),), sense=(Member(second[0]),), frequency=10e3
    )
    parts = handled_components(design, test, np.asarray(ratio), 1.0 + 0.0j)
    uncertainty = math.hypot(*(float(part) for part in parts.values()))
    shown = [(first[1] + by) / second[1] for by in (1, -1)]
    shown += [first[1] / (second[1] + by) for by in (1, -1) if second[1] + by > 0]
    above, below = (value for value in shown if value > ratio), (value for value in shown if value < ratio)
    maximum = max((ratio + min(above)) / 2, ratio + COVERAGE * uncertainty)
    minimum = min((ratio + max(below)) / 2, ratio - COVERAGE * uncertainty)
    faults = []
    for number, (name, turns) in enumerate((first, second)):
        for sign, word in ((1, "many"), (-1, "few")):
            for by in range(1, max(turns if sign < 0 else turns + 1, 2)):
                changed = [first[1], second[1]]
                changed[number] += sign * by
                if changed[number] <= 0:
                    break
                fault = _miscounted(
                    name, sign * by, word, changed[0] / changed[1], (minimum, maximum), uncertainty
                )
                if by == 1 or fault.told:
                    faults.append(fault)
                if fault.told:
                    break
    return ShopReading(
        after=None,
        stage="before core",
        name=f"{first[0]} : {second[0]}",
        measure="ratio",
        where=f"on a closed test core, {first[0]} driven, {second[0]} open: {first[1]} : {second[1]} turns",
        expected=ratio,
        minimum=minimum,
        maximum=maximum,
        specified=False,
        uncertainty=uncertainty,
        above=tuple(fault.title for fault in faults if fault.told and fault.above > fault.below),
        below=tuple(fault.title for fault in faults if fault.told and fault.below > fault.above),
        faults=tuple(faults),
    )


def _miscounted(
    name: str, by: int, word: str, shown: float, limits: tuple[float, float], uncertainty: float
) -> ProcessFault:
    """A winding with so many turns too many or too few, of which a test core shows the ratio ``shown``."""
    count = "1 turn" if abs(by) == 1 else f"{abs(by)} turns"
    return ProcessFault(
        kind="turns",
        size=float(by),
        title=f"{name} has {count} too {word}",
        reading=shown,
        below=float(below_normal((limits[0] - shown) / uncertainty)),
        above=float(below_normal((shown - limits[1]) / uncertainty)),
    )


def _name(reading: ProcessReading) -> str:
    part = reading.section
    if part.extent == "section":
        return part.winding if part.whole else f"{part.winding}, section {part.ordinal} of {part.count}"
    if part.whole:
        return f"{part.winding}, all sections"
    return f"{part.winding}, sections 1 to {part.ordinal}"


def _where(design: Design, reading: ProcessReading) -> str:
    """Between which ends, in words."""
    part = reading.section
    winding = design.winding(part.winding)
    pins = "its ends"
    if part.whole and winding.start and winding.finish:
        pins = f"pins {winding.start} and {winding.finish}"
    joined = ""
    if part.extent == "parallel":
        joined = ", joined in parallel"
    elif part.extent == "series":
        joined = ", in series"
    elif part.count > 1 and winding.sections == "parallel":
        joined = ", before it is joined"
    return f"between {pins}{joined}"
