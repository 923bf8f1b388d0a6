"""Interventions: what can be done to a part, or to the bench, before the same test is read again.

Between the two readings of one part its tolerances, the model's errors and the meter's calibration cancel;
what remains is the effect of the intervention. Some undo a cause (a core that was badly seated closes
under a clamp, a remanent one is demagnetised): ``Cause.undone_by`` gives the fraction of its amount that
remains. Others change the set-up of every reading alike (a link twice as long, a warm part): the test is
then predicted with that set-up. In the readings file a reading after an intervention is a row of the same
test whose ``stage`` is the intervention's word.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from ...predict.circuit import is_leakage, stated_temperature
from ...predict.design import BenchTest, Design, FloatArray
from ...predict.errors import Fault, ReadingsError
from ..readings import Reading
from .candidates import nameless
from .hypothesis import Hypothesis

WARMER = 25.0
"""Proposed warming of a part (K) (judged: 10 % of copper's resistance)."""


def _as_it_is(_: Design, test: BenchTest) -> BenchTest:
    return test


def _as_built(design: Design) -> Design:
    return design


@dataclass(frozen=True, kw_only=True)
class Intervention:
    """Something done between two readings of one test.

    Attributes
    ----------
    name : str, its word in the column ``stage``
    spellings : tuple[str, ...], other words that are understood
    instruction : str, what to do, in words
    effort : float, effort relative to one plain reading, dimensionless
    rereads : Callable[[Design], Sequence[BenchTest]], tests of a design that are worth reading again
    set_up : Callable[[Design, BenchTest], BenchTest], the test with its set-up changed
    response : Callable[[Design], Design]
        What it does to any part, including a good one (as uncertain as it is large).
    doubt : float, standard uncertainty of the strength of its effect, relative
    """

    name: str
    spellings: tuple[str, ...]
    instruction: str
    effort: float
    rereads: Callable[[Design], Sequence[BenchTest]]
    set_up: Callable[[Design, BenchTest], BenchTest] = _as_it_is
    response: Callable[[Design], Design] = _as_built
    doubt: float = 0.2


@dataclass(frozen=True)
class Staged:
    """A reading that was (or may be) taken after an intervention.

    Attributes
    ----------
    test : BenchTest
        The test that is read again.
    intervention : Intervention
        What is done before.
    """

    test: BenchTest
    intervention: Intervention


def _opened(design: Design) -> list[BenchTest]:
    opened = (test for test in design.tests if test.measure == "inductance" and not is_leakage(design, test))
    return list(opened)[:1]


def _halves(design: Design) -> list[BenchTest]:
    """A ring is one piece: there is nothing to press together."""
    return [] if design.core.dimensions.ring else _opened(design)


def _on_a_ring(design: Design) -> list[BenchTest]:
    ring = design.core.dimensions.ring
    return [*_opened(design), *_shorted(design)[:1]] if ring else []


def _shorted(design: Design) -> list[BenchTest]:
    return [test for test in design.tests if test.measure == "inductance" and test.short][:2]


def _resistances(design: Design) -> list[BenchTest]:
    return [test for test in design.tests if test.measure == "resistance"][:3]


def _with_leads(design: Design) -> list[BenchTest]:
    return [*_shorted(design), *_resistances(design)]


def _capacitances(design: Design) -> list[BenchTest]:
    found = [test for test in design.tests if test.measure in ("capacitance", "resonance")]
    return sorted(found, key=lambda test: test.measure)[:1]


def _everything(design: Design) -> list[BenchTest]:
    return list(design.tests)


def warmed(test: BenchTest, temperature: float) -> BenchTest:
    """The test on a part at another temperature; a resistance is brought back to its stated one.

    Parameters
    ----------
    test : BenchTest
    temperature : float, temperature of the part, degC
    """
    return test if test.measure == "resistance" else replace(test, temperature=temperature)


def _closer(design: Design) -> Design:
    """A clamp closes a fifth of ordinary residual gaps (judged)."""
    return replace(design, core=replace(design.core, face_gap=design.core.face_gap * 0.8))


def _drier(design: Design) -> Design:
    """Drying removes 2 % of an ordinary part's permittivity (judged)."""
    return replace(design, model=replace(design.model, permittivity=design.model.permittivity * 0.98))


INTERVENTIONS = (
    Intervention(
        name="read again",
        spellings=("read-again", "re-read", "reread", "repeated", "again"),
        instruction="check pins, unit, mode, frequency and level, and read it again",
        effort=1.0,
        rereads=_everything,
    ),
    Intervention(
        name="clamped",
        spellings=("pressed", "clamp"),
        instruction="press the core together at its joints and read it again",
        effort=1.3,
        rereads=_halves,
        response=_closer,
        doubt=0.3,
    ),
    Intervention(
        name="demagnetised",
        spellings=("demagnetized", "degaussed", "demag"),
        instruction="demagnetise the core (an alternating voltage that falls slowly to zero) "
        "and read it again",
        effort=1.8,
        rereads=_opened,
    ),
    Intervention(
        name="moved clear",
        spellings=("clear of metal", "lifted"),
        instruction="lift the part clear of clips, plates and the bench, and read it again",
        effort=1.1,
        rereads=_opened,
    ),
    Intervention(
        name="spread",
        spellings=("spread evenly", "respread", "evened"),
        instruction="spread the turns by hand as they are drawn and read it again",
        effort=1.2,
        rereads=_on_a_ring,
        doubt=0.3,
    ),
    Intervention(
        name="link doubled",
        spellings=("double link", "longer link", "second link"),
        instruction="short with a link twice as long (two like the first in series) and read it again",
        effort=1.5,
        rereads=_shorted,
        set_up=lambda _, test: replace(test, link=2.0),
        doubt=0.15,
    ),
    Intervention(
        name="four-wire",
        spellings=("four wire", "4-wire", "kelvin", "corrected"),
        instruction="connect four wires at the pins, or correct open and short there, and read it again",
        effort=1.5,
        rereads=_with_leads,
        set_up=lambda _, test: replace(test, leads=0.0),
        doubt=0.1,
    ),
    Intervention(
        name="rested",
        spellings=("soaked", "cooled", "cold"),
        instruction="leave the part in the room for an hour and read it again",
        effort=3.0,
        rereads=_resistances,
    ),
    Intervention(
        name="soldered again",
        spellings=("resoldered", "re-soldered", "reworked", "retinned"),
        instruction="solder the ends of the winding again, let it cool and read it again",
        effort=2.5,
        rereads=_resistances,
        doubt=0.3,
    ),
    Intervention(
        name="warmed",
        spellings=("heated", "warm", "hot"),
        instruction=f"warm the part by {WARMER:.0f} K, let it settle and read it again with its temperature",
        effort=4.0,
        rereads=_opened,
        set_up=lambda design, test: warmed(test, stated_temperature(design, test) + WARMER),
        doubt=0.3,
    ),
    Intervention(
        name="dried",
        spellings=("baked",),
        instruction="dry the part if its materials allow (some hours at 105 °C), let it cool "
        "and read it again",
        effort=8.0,
        rereads=_capacitances,
        response=_drier,
        doubt=0.3,
    ),
)
"""Efforts, doubts and responses: common practice, no source."""
_BY_WORD = {word: item for item in INTERVENTIONS for word in (item.name, *item.spellings)}


def intervention(stage: str) -> Intervention | None:
    """The intervention that a stage of the readings file names; None for a stage of making."""
    return _BY_WORD.get(" ".join(stage.split()).casefold())


def relieved(hypothesis: Hypothesis, remaining: float) -> FloatArray:
    """Shifts if only a fraction of every severity remains.

    Interpolated between the forward runs of the hypothesis and the part as designed (shift 0 at the
    cause's neutral amount).

    Parameters
    ----------
    hypothesis : Hypothesis
    remaining : float, fraction that remains, dimensionless

    Returns
    -------
    (S, T) array, shifts, dimensionless (rad for a phase)
    """
    if remaining >= 1.0:
        return hypothesis.shift
    if remaining <= 0.0 or np.any(np.isnan(hypothesis.amounts)):
        return hypothesis.shift * max(remaining, 0.0)
    neutral = hypothesis.cause.neutral
    left = neutral + remaining * (hypothesis.amounts - neutral)
    order = np.argsort([*hypothesis.amounts, neutral], kind="stable")
    amounts = np.array([*hypothesis.amounts, neutral])[order]
    shifts = np.concatenate([hypothesis.shift, np.zeros((1, hypothesis.shift.shape[1]))])[order]
    return np.stack([np.interp(left, amounts, column) for column in shifts.T], axis=-1)


def interventions_apart(
    design: Design, readings: Sequence[Reading]
) -> tuple[Design, tuple[Reading, ...], dict[str, Staged]]:
    """Readings after interventions as tests of their own.

    They belong to the stage of making at which the sample was read before.

    Parameters
    ----------
    design : Design
        The transformer.
    readings : Sequence[Reading]
        Readings of all samples, SI.

    Returns
    -------
    Design
        The design with a test of its own for every such reading.
    tuple[Reading, ...]
        Readings that name these tests, SI.
    dict[str, Staged]
        What each of these tests is, by name.

    Raises
    ------
    ReadingsError
        The temperature of a warmed part is missing.
    """
    tests = {test.name: test for test in design.tests}
    added: dict[str, BenchTest] = {}
    staged: dict[str, Staged] = {}
    stages: dict[str, str] = {}
    faults, result = [], []
    for item in readings:
        chosen = intervention(item.stage) if item.stage else None
        if chosen is None:
            stages[item.sample] = item.stage
            result.append(item)
            continue
        plain = tests[item.test]
        if item.frequency is not None:
            plain = replace(plain, frequency=item.frequency)
        name = f"{item.test}, {chosen.name}"
        again = chosen.set_up(design, plain)
        if chosen.name == "warmed" and plain.measure != "resistance":
            if item.temperature is None or math.isnan(item.temperature):
                faults.append(
                    Fault(
                        f"sample {item.sample}, {item.test}, {item.stage}",
                        "no temperature",
                        "the temperature of the warm part in the column temperature",
                        "e.g. 48 degC",
                    )
                )
                continue
            again = warmed(plain, item.temperature)
            name = f"{name} to {item.temperature:.0f} °C"
        if item.frequency is not None and item.frequency != tests[item.test].frequency:
            name = f"{name} at {item.frequency:.4g} Hz"
        added[name] = replace(again, name=name)
        staged[name] = Staged(nameless(plain), chosen)
        result.append(replace(item, test=name, stage=stages.get(item.sample, ""), frequency=None))
    if faults:
        raise ReadingsError(faults)
    if not added:
        return design, tuple(readings), {}
    return replace(design, tests=(*design.tests, *added.values())), tuple(result), staged
