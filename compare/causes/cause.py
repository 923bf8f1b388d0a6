"""What a cause is: where it applies, what it does to design or bench, how likely it is, what to do about it.

A cause is an object, not code elsewhere: the evidence asks it for its variants (changed designs with their
prior weights) and knows nothing else about it. To add one, write a block like those in this folder and
list it in ``__init__``.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from ...predict.design import Design, TapeStep, Winding, WindStep, first_build
from ...predict.winding import layout_of

EVERYDAY, COMMON, OCCASIONAL, RARE = 3.0, 1.5, 1.0, 0.2
"""Prior weights of causes relative to each other (judged, no source; a shop's own history is better).
``EVERYDAY``: what nearly every bench or hand-wound part shows now and then, such as leads in a two-wire
reading, or turns on a ring that are not spread as drawn."""


@dataclass(frozen=True)
class Variant:
    """A cause at one severity.

    Attributes
    ----------
    amount : float or None
        As wound against as designed (contract 5.1), in the cause's own unit (SI, count or dimensionless);
        None if none fits.
    weight : float
        Prior, relative within its place.
    design : Design
        The design (or bench) as it would be.
    title : str
        The variant in words.
    """

    amount: float | None
    weight: float
    design: Design
    title: str


@dataclass(frozen=True)
class Counts:
    """What a cause counts in whole numbers: amounts between two computed ones are filled in.

    Attributes
    ----------
    drawn : Callable[[Design, str], float]
        (design, place) → number as designed, count.
    title : Callable[[Design, str, float], str]
        (design, place, amount) → words.
    """

    drawn: Callable[[Design, str], float]
    title: Callable[[Design, str, float], str]


@dataclass(frozen=True, kw_only=True)
class Cause:
    """One way in which a part, its material or the bench differs from the design.

    Attributes
    ----------
    name : str
        Identifier of the contract.
    kind : str
        Class of the contract.
    weight : float
        Prior relative to other causes, dimensionless.
    places : Callable[[Design], Sequence[str]]
        Where it may be in a design: names of windings, "step 3", "core", "bench"; empty: not applicable.
    variants : Callable[[Design, str], Sequence[Variant]]
        (design, place) → its severities, sorted by amount.
    confirm : str
        What would confirm it; ``{where}`` is replaced by the place.
    remedy : str
        A sentence for the build sheet; ``{where}`` as above.
    confusable : tuple[str, ...]
        Names of causes with a similar signature.
    continuous : bool
        Whether severities between the given ones are possible.
    caution : str
        A safety remark, or "".
    title : Callable[[Design, str, float], str] or None
        For a continuous cause, its words for any amount.
    undone_by : tuple[tuple[str, float], ...]
        Interventions (by name, module ``interventions``) that undo it, and the fraction of its amount that
        remains, dimensionless.
    neutral : float
        Amount of a part as designed, dimensionless: 0 for differences, 1 for ratios.
    drawn : Callable[[Design, str], float] or None
        The same if it depends on design and place.
    exact : tuple[str, ...]
        Measures that it moves by an exact amount (whole turns and strands, steps of a series; leakage is
        never among them), where no severity lies between those computed.
    counts : Counts or None
        For a cause whose amount is a difference of whole numbers.
    of_sound : bool
        Whether normal production does it now and then; the weights of its variants are then fractions of the
        normal builds.
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
    exact: tuple[str, ...] = ()
    counts: Counts | None = None


def winding_names(design: Design) -> tuple[str, ...]:
    """Names of all windings."""
    return tuple(winding.name for winding in design.windings)


def has_window(design: Design) -> bool:
    """Whether layers lie along a leg (not on a ring)."""
    return not design.core.dimensions.ring


def the_core(design: Design) -> tuple[str, ...]:
    """The core, in every design."""
    return ("core",)


def known_permeability(design: Design) -> tuple[str, ...]:
    """The core, if its permeability is known."""
    return ("core",) if math.isfinite(first_build(design.core.material.initial_permeability)) else ()


def reads_capacitance(design: Design) -> bool:
    """Whether a test depends on insulation and potentials."""
    return any(test.measure in ("capacitance", "resonance") for test in design.tests)


def wind_steps(design: Design, name: str) -> list[int]:
    """Build steps that wind a winding, also as a companion.

    Parameters
    ----------
    design : Design
    name : str, name of the winding

    Returns
    -------
    list[int], indices of the steps, from 0
    """
    return [number for number, step in enumerate(design.build.steps) if name in step.windings]


def with_winding_steps(design: Design, name: str, **changes: object) -> Design:
    """The design with fields replaced of every build step that winds a winding.

    Parameters
    ----------
    design : Design
    name : str, name of the winding
    **changes : object, fields of the steps and their new values
    """
    for number in wind_steps(design, name):
        design = with_step(design, number, **changes)
    return design


def with_step(design: Design, number: int, **changes: object) -> Design:
    """The design with fields of one build step replaced.

    Parameters
    ----------
    design : Design
        The transformer.
    number : int
        Build step, index from 0.
    **changes : object
        New values of fields.
    """
    steps = list(design.build.steps)
    steps[number] = replace(steps[number], **changes)  # type: ignore[arg-type]
    return replace(design, build=replace(design.build, steps=tuple(steps)))


def with_winding(design: Design, name: str, edit: Callable[[Winding], Winding]) -> Design:
    """The design with one winding passed through ``edit``.

    Parameters
    ----------
    design : Design
    name : str, name of the winding
    edit : Callable[[Winding], Winding], gives the changed winding
    """
    return replace(
        design,
        windings=tuple(edit(winding) if winding.name == name else winding for winding in design.windings),
    )


def laid_windings(design: Design) -> tuple[str, ...]:
    """Names of the windings that lie by themselves: of those wound together throughout, the first alone."""
    steps: dict[tuple[int, ...], str] = {}
    for name in reversed(winding_names(design)):
        steps[tuple(wind_steps(design, name)) or (-1 - len(steps),)] = name
    return tuple(name for name in winding_names(design) if name in steps.values())


def laid_with(design: Design, name: str, steps: Sequence[int] | None = None) -> str:
    """A winding's name in words, with those that lie turn by turn beside it: "P (with RESET)".

    Parameters
    ----------
    design : Design
    name : str, name of the winding
    steps : Sequence[int] or None, optional, build steps, index from 0; None: all that wind it
    """
    wound = wind_steps(design, name) if steps is None else steps
    names = dict.fromkeys(each for number in wound for each in design.build.steps[number].windings)
    beside = [each for each in names if each != name]
    return f"{name} (with {', '.join(beside)})" if beside else name


PRESSED = 0.08
"""Fraction of the pitch that a winder can gain by pressing one more turn into a full layer (common practice,
no source)."""


def ways_of_laying(design: Design) -> tuple[Design, ...]:
    """Laid by the rules; and pressed in by ``PRESSED`` if that saves a layer (the winder decides)."""
    pressed = replace(design, build=replace(design.build, allowance=design.build.allowance - PRESSED))
    return (design,) if same_layers(design, pressed) else (design, pressed)


def same_layers(design: Design, changed: Design) -> bool:
    """Whether two designs have the same turns in the same layers.

    Parameters
    ----------
    design : Design
    changed : Design, another one
    """
    plain, moved = layout_of(design).turns, layout_of(changed).turns
    return plain.shape == moved.shape and bool(np.array_equal(plain, moved))


def tape_between(design: Design) -> list[int]:
    """Tape steps with a winding above them, index from 0."""
    wound = [number for number, step in enumerate(design.build.steps) if isinstance(step, WindStep)]
    return [
        number
        for number, step in enumerate(design.build.steps)
        if isinstance(step, TapeStep) and wound and number < wound[-1]
    ]


def sized(
    design: Design,
    location: str,
    amounts: Iterable[tuple[float, float]],
    changed: Callable[[float], Design],
    title: Callable[[Design, str, float], str],
) -> list[Variant]:
    """A cause at each of its severities.

    Parameters
    ----------
    design : Design
    location : str, place where the cause sits
    amounts : Iterable[tuple[float, float]], amount (in the cause's unit) and relative prior weight of each
    changed : Callable[[float], Design], amount → the design with the cause
    title : Callable[[Design, str, float], str], (design, place, amount) → words
    """
    return [
        Variant(amount, weight, changed(amount), title(design, location, amount))
        for amount, weight in amounts
    ]


def of_any_size(low: float, high: float, count: int) -> list[tuple[float, float]]:
    """Severities evenly spaced in the logarithm, with weights that make every size from low to high equally
    likely: the density of a in ln a is in proportion to a.

    Parameters
    ----------
    low : float, lowest, above 0, in the cause's own unit (SI or dimensionless)
    high : float, highest, same unit (SI or dimensionless)
    count : int, severities, count

    Returns
    -------
    list[tuple[float, float]]
        (severity, weight) of each; the weight relative, in the same unit (SI or dimensionless).
    """
    return [(size, size) for size in evenly(low, high, count, logarithmic=True)]


def equally(amounts: Iterable[float]) -> list[tuple[float, float]]:
    """Amounts (in the cause's unit), each as likely as any other."""
    return [(amount, 1.0) for amount in amounts]


def evenly(low: float, high: float, count: int, *, logarithmic: bool = False) -> list[float]:
    """Severities evenly spaced from low to high.

    Parameters
    ----------
    low : float, lowest, in the cause's own unit (SI or dimensionless)
    high : float, highest, same unit (SI or dimensionless)
    count : int, severities, count
    logarithmic : bool, optional, whether they are spaced evenly in the logarithm

    Returns
    -------
    list[float], severities, same unit (SI or dimensionless)
    """
    points = np.geomspace(low, high, count) if logarithmic else np.linspace(low, high, count)
    return [float(point) for point in points]
