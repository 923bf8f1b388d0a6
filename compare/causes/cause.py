"""What a cause is: where it applies, what it does to design or bench, how likely it is, what to do about it.

A cause is an object, not code elsewhere: the evidence asks it for its variants (changed designs with their
prior weights) and knows nothing else about it. To add one, write one block like those in this folder and
list it in ``__init__``.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from ...predict.design import Design, TapeStep, Winding, WindStep

EVERYDAY, COMMON, OCCASIONAL, RARE = 3.0, 1.5, 1.0, 0.2
"""Prior weights of causes against each other (judged, no source; a shop's own history is better).
``EVERYDAY``: what nearly every bench or hand-wound part has now and then, such as leads in a two-wire
reading, or turns on a ring that are not spread as drawn."""


@dataclass(frozen=True)
class Variant:
    """A cause at one severity.

    amount : as wound against as designed (contract 5.1), None where none fits. weight : prior, relative
    within its place.
    design : the design (or bench) as it would then be. title : in words.
    """

    amount: float | None
    weight: float
    design: Design
    title: str


@dataclass(frozen=True, kw_only=True)
class Cause:
    """One way in which a part, its material or the bench differs from the design.

    name, kind : identifier and class of the contract. weight : prior against other causes.
    places : where it may sit in a design: names of windings, "step 3", "core", "bench"; empty: not
    applicable.
    variants : (design, place) → its severities, sorted by amount. continuous : severities between the given
    ones are possible too.
    confirm, remedy : what would confirm it; a sentence for the build sheet; ``{where}`` stands for the
    place. caution : a safety remark, or "".
    confusable : names of causes with a like signature.
    undone_by : interventions (by name, module ``interventions``) that undo it, and the part of its amount
    that then remains. neutral : amount of a part as designed: 0 for differences, 1 for ratios. drawn : the
    same where it hangs on design and place.
    title : of a continuous cause, in words, for any amount. of_sound : what sound production does now and
    then; the weights of its variants are parts of the sound builds.
    """

    name: str
    kind: str
    weight: float
    places: Callable[[Design], Sequence[str]]
    variants: Callable[[Design, str], Sequence[Variant]]
    confirm: str
    remedy: str
    confusable: tuple[str, ...] = ()
    continuous: bool = False
    caution: str = ""
    title: Callable[[Design, str, float], str] | None = None
    undone_by: tuple[tuple[str, float], ...] = ()
    neutral: float = 0.0
    drawn: Callable[[Design, str], float] | None = None
    of_sound: bool = False


def winding_names(design: Design) -> tuple[str, ...]:
    """All windings."""
    return tuple(winding.name for winding in design.windings)


def has_window(design: Design) -> bool:
    """Whether layers lie along a leg (not on a ring)."""
    return not design.core.dimensions.ring


def the_core(design: Design) -> tuple[str, ...]:
    """The core, in every design."""
    return ("core",)


def known_permeability(design: Design) -> tuple[str, ...]:
    """The core, where its permeability is known."""
    return ("core",) if math.isfinite(number_of(design.core.material.initial_permeability)) else ()


def reads_capacitance(design: Design) -> bool:
    """Whether a test reads what insulation and potentials do."""
    return any(test.measure in ("capacitance", "resonance") for test in design.tests)


def wind_steps(design: Design, name: str) -> list[int]:
    """Numbers (from 0) of the build steps that wind ``name``, also as a companion."""
    return [
        number
        for number, step in enumerate(design.build.steps)
        if isinstance(step, WindStep) and name in (step.winding, *step.companions)
    ]


def with_step(design: Design, number: int, **changes: object) -> Design:
    """The design with fields of one build step replaced."""
    steps = list(design.build.steps)
    steps[number] = replace(steps[number], **changes)  # type: ignore[arg-type]
    return replace(design, build=replace(design.build, steps=tuple(steps)))


def with_winding(design: Design, name: str, edit: Callable[[Winding], Winding]) -> Design:
    """The design with one winding passed through ``edit``."""
    return replace(
        design,
        windings=tuple(edit(winding) if winding.name == name else winding for winding in design.windings),
    )


def tape_between(design: Design) -> list[int]:
    """Numbers (from 0) of the tape steps that have a winding above them."""
    wound = [number for number, step in enumerate(design.build.steps) if isinstance(step, WindStep)]
    return [
        number
        for number, step in enumerate(design.build.steps)
        if isinstance(step, TapeStep) and wound and number < wound[-1]
    ]


def number_of(value: object) -> float:
    """A single build's number as a float."""
    return float(np.asarray(value, float).flat[0])


def evenly(low: float, high: float, count: int, *, logarithmic: bool = False) -> list[float]:
    """``count`` severities from low to high, evenly spaced (in the logarithm)."""
    points = np.geomspace(low, high, count) if logarithmic else np.linspace(low, high, count)
    return [float(point) for point in points]
