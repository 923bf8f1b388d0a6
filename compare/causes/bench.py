"""Causes at the bench: link, leads, display, temperature, frequency, level, two wires instead of four."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from ...predict.circuit import two_terminal
from ...predict.design import BenchTest, Design, Member, first_build
from .cause import (
    COMMON,
    EVERYDAY,
    OCCASIONAL,
    RARE,
    Cause,
    Variant,
    equally,
    evenly,
    known_permeability,
    of_any_size,
    sized,
    winding_names,
)

LINK = (8e-9, 80e-9)
LINK_RESISTANCE_PER_HENRY = 0.1e-3 / 1e-9
LEADS = (100e-9, 900e-9)
LEAD_RESISTANCE_PER_HENRY = 0.08e-3 / 1e-9
"""Inductance (H) that a link or leads add, from least to most; any size between is as likely as any other
(judged). Resistance (ohm) of such a wire per henry."""
WARMER, USUALLY_WARMER = (8.0, 60.0), 30.0
"""How much warmer a part is than stated, K, from least to most, and the scale on which more is less likely,
K: the hand or the iron near it is met more often than an oven (judged)."""
TWO_WIRE = (1e-3, 0.25)
"""Resistance (ohm) that direct-current readings hold in excess: from what is left of leads that were zeroed
to thin ones with worn clips (judged)."""
USUAL_TWO_WIRE, WITHIN_TWO_WIRE = 20e-3, 3.3
"""Usual resistance (ohm) of two clip leads with their contacts, and the factor within which most of them lie
(judged)."""
LEFT_OF_ZEROED, WITHIN_ZEROED, ZEROED = 3e-3, 2.0, 0.25
"""The same where the leads were zeroed first, or the clips of a four-wire meter sit away from the pins: what
is left (ohm), its factor, and the part of such benches (judged)."""


def _link_title(design: Design, location: str, extra: float) -> str:
    return f"the shorting link has {extra * 1e9:.0f} nH more than the bench's entry"


def _leads_title(design: Design, location: str, extra: float) -> str:
    return f"leads of {extra * 1e9:.0f} nH are in the reading (fixture not corrected)"


def _in_series(design: Design, part: str, extra: float, resistance_per_henry: float) -> Design:
    """Extra inductance (H), with the resistance of such a wire, added to the bench's "short" or "lead"."""
    added = {"inductance": extra, "resistance": extra * resistance_per_henry}
    changed = {
        f"{part}_{kind}": getattr(design.bench, f"{part}_{kind}") + more for kind, more in added.items()
    }
    return replace(design, bench=replace(design.bench, **changed))


def _link(design: Design, location: str) -> list[Variant]:
    def changed(extra: float) -> Design:
        return _in_series(design, "short", extra, LINK_RESISTANCE_PER_HENRY)

    return sized(design, location, of_any_size(*LINK, 8), changed, _link_title)


def _leads(design: Design, location: str) -> list[Variant]:
    def changed(extra: float) -> Design:
        return _in_series(design, "lead", extra, LEAD_RESISTANCE_PER_HENRY)

    return sized(design, location, of_any_size(*LEADS, 8), changed, _leads_title)


def _two_wire_title(design: Design, location: str, extra: float) -> str:
    return f"{extra * 1e3:.3g} mΩ of leads and contacts are in every direct-current reading (two wires)"


def _two_wire_weight(extra: float, floor: float) -> float:
    """Prior of a resistance (ohm) per its logarithm, relative: plain leads, or what zeroing has left, if it
    is beyond the meter's floor (ohm)."""

    def near(usual: float, within: float) -> float:
        width = math.log(within)
        return math.exp(-0.5 * (math.log(extra / usual) / width) ** 2) / width

    left = ZEROED * near(LEFT_OF_ZEROED, WITHIN_ZEROED) if extra > 2 * floor else 0.0
    return (1 - ZEROED) * near(USUAL_TWO_WIRE, WITHIN_TWO_WIRE) + left


def _two_wire(design: Design, location: str) -> list[Variant]:
    """From the meter's floor on: less is in its own uncertainty."""
    bench, (least, most) = design.bench, TWO_WIRE
    sizes = evenly(max(least, min(bench.floor_resistance, USUAL_TWO_WIRE)), most, 14, logarithmic=True)
    weighed = [(extra, _two_wire_weight(extra, bench.floor_resistance)) for extra in sizes]

    def changed(extra: float) -> Design:
        whole = first_build(bench.direct_lead_resistance) + extra
        return replace(design, bench=replace(bench, direct_lead_resistance=whole))

    return sized(design, location, weighed, changed, _two_wire_title)


def _direct(design: Design) -> tuple[str, ...]:
    return ("bench",) if any(test.measure == "resistance" for test in design.tests) else ()


def _alternating(design: Design) -> tuple[str, ...]:
    return ("bench",) if any(two_terminal(test) for test in design.tests) else ()


def _any_test(design: Design) -> tuple[str, ...]:
    return ("bench",) if design.tests else ()


def _display(design: Design, location: str) -> list[Variant]:

    def with_other_display(test: BenchTest) -> BenchTest:
        shown = test.equivalent or design.bench.equivalent
        return replace(test, equivalent="parallel" if shown == "series" else "series")

    tests = tuple(
        with_other_display(test) if test.measure in ("inductance", "ac_resistance") else test
        for test in design.tests
    )
    shown = "parallel" if design.bench.equivalent == "series" else "series"
    return [
        Variant(None, 1.0, replace(design, tests=tests), f"the meter showed the {shown} equivalent circuit")
    ]


def _temperature_title(design: Design, location: str, extra: float) -> str:
    return f"the part was {extra:.0f} K warmer than stated"


def _temperature(design: Design, location: str) -> list[Variant]:
    weighed = [(extra, math.exp(-extra / USUALLY_WARMER)) for extra in evenly(*WARMER, 8)]

    def changed(extra: float) -> Design:
        error = np.add(design.bench.temperature_error, extra).item()
        return replace(design, bench=replace(design.bench, temperature_error=error))

    return sized(design, location, weighed, changed, _temperature_title)


FREQUENCIES = (0.3, 3.0, 5.0, 10.0)
LEVELS = (0.1, 0.3, 3.0, 10.0)
"""Frequency and level as set, relative to those of the test: steps of a meter's keys (judged)."""


def _frequency(design: Design, location: str) -> list[Variant]:
    def at(test: BenchTest, ratio: float) -> BenchTest:
        if test.measure not in SCALED or test.frequency is None:
            return test
        return replace(test, frequency=test.frequency * ratio)

    return sized(
        design,
        location,
        equally(FREQUENCIES),
        lambda ratio: replace(design, tests=tuple(at(test, ratio) for test in design.tests)),
        lambda _, __, ratio: f"the meter stood at ×{ratio:g} of the test frequency",
    )


SCALED = ("inductance", "ac_resistance", "quality")


def _level(design: Design, location: str) -> list[Variant]:
    result = []
    for ratio in LEVELS:
        bench = replace(design.bench, level_scale=first_build(design.bench.level_scale) * ratio)
        title = f"the meter's level was ×{ratio:g} of the stated one"
        result.append(Variant(ratio, 1.0, replace(design, bench=bench), title))
    return result


def _short_of(test: BenchTest) -> str:
    """What a test shorts, in words; "" for nothing."""
    return " and ".join(dict.fromkeys(member.name for member in test.short))


def _wrong_short(design: Design, location: str) -> list[Variant]:
    """In every test with a short: nothing shorted, or another winding. In one connection alone half as often
    (judged): where one winding should be shorted, not where another should."""

    def edit(test: BenchTest, name: str | None, meant: str) -> BenchTest:
        if not test.short or meant not in ("", _short_of(test)):
            return test
        busy = {member.name for member in (*test.drive, *test.sense)}
        if name is None or name in busy:
            return replace(test, short=()) if name is None else test
        return replace(test, short=(Member(name),))

    shorts = tuple(dict.fromkeys(_short_of(test) for test in design.tests if test.short))
    result, seen = [], {design.tests}
    for meant, share in (("", 2.0), *((short, 1.0) for short in shorts)):
        for name in (None, *winding_names(design)):
            tests = tuple(edit(test, name, meant) for test in design.tests)
            if tests in seen:
                continue
            seen.add(tests)
            if name is None:
                title = f"nothing was shorted where {meant} should be" if meant else "nothing was shorted"
            else:
                alone = " alone" if name in meant.split(" and ") else ""
                title = f"{name}{alone} was shorted instead of {meant or 'another winding'}"
            weight = (2.0 if name is None else 1.0) * share
            result.append(Variant(None, weight, replace(design, tests=tests), title))
    return result


CAUSES = (
    Cause(
        name="short-link",
        kind="bench",
        weight=COMMON,
        places=lambda design: ("bench",) if any(test.short for test in design.tests) else (),
        variants=_link,
        confirm=(
            "Repeat with a shorter and wider link soldered at the pins; read the leakage from "
            "the other side too, where the link hardly matters."
        ),
        remedy=(
            "No change of the part. Fix the link (solder braid at the bobbin's pins) and enter "
            "its inductance in [bench]."
        ),
        confusable=("leads", "bunched", "insulation"),
        continuous=True,
        title=_link_title,
    ),
    Cause(
        name="leads",
        kind="bench",
        weight=COMMON,
        places=_alternating,
        variants=_leads,
        confirm=(
            "Read a short at the end of the leads: what it shows is in every reading. Do open "
            "and short correction at the test frequency."
        ),
        remedy=(
            "No change of the part. Correct the fixture (open, short) or use four-wire clips at the pins."
        ),
        confusable=("short-link",),
        continuous=True,
        title=_leads_title,
    ),
    Cause(
        name="two-wire",
        kind="bench",
        weight=EVERYDAY,
        places=_direct,
        variants=_two_wire,
        confirm=(
            "Clip the leads together and read what they show by themselves; read one winding on four wires: "
            "every direct-current reading is high by the same amount, whatever the winding."
        ),
        remedy=(
            "No change of the part. Read direct-current resistance on four wires at the pins, or zero the "
            "leads first."
        ),
        undone_by=(("four-wire", 0.0),),
        confusable=("joint", "strand", "temperature", "wire"),
        continuous=True,
        title=_two_wire_title,
    ),
    Cause(
        name="display",
        kind="bench",
        weight=COMMON,
        places=lambda design: (
            ("bench",)
            if any(test.measure in ("inductance", "ac_resistance") for test in design.tests)
            else ()
        ),
        variants=_display,
        confirm=("Read quality or phase as well as inductance: series and parallel differ by 1 + 1/Q²."),
        remedy="No change of the part. State series or parallel with every reading.",
        undone_by=(("read again", 0.0),),
        confusable=("order", "bunched", "short-link"),
    ),
    Cause(
        name="temperature",
        kind="bench",
        weight=COMMON,
        places=_any_test,
        variants=_temperature,
        confirm=(
            "Leave the part at room temperature for an hour and read again; all resistances fall alike."
        ),
        remedy="No change of the part. Note the part's own temperature with its resistance.",
        undone_by=(("rested", 0.0),),
        confusable=("wire",),
        continuous=True,
        title=_temperature_title,
    ),
    Cause(
        name="frequency",
        kind="bench",
        weight=COMMON,
        places=lambda design: ("bench",) if any(test.measure in SCALED for test in design.tests) else (),
        variants=_frequency,
        confirm="Read the frequency off the meter's display, set it again and repeat.",
        remedy="No change of the part. Write the frequency next to every reading.",
        undone_by=(("read again", 0.0),),
        confusable=("short-link", "display", "shorted-turn"),
    ),
    Cause(
        name="level",
        kind="bench",
        weight=RARE,
        places=lambda design: _alternating(design) if known_permeability(design) else (),
        variants=_level,
        confirm="Read the inductance at a tenth and at ten times the level: ungapped cores follow it.",
        remedy="No change of the part. State the voltage across the winding with every reading.",
        undone_by=(("read again", 0.0),),
        confusable=("material", "bias", "unseated"),
    ),
    Cause(
        name="wrong-short",
        kind="bench",
        weight=OCCASIONAL,
        places=lambda design: ("bench",) if any(test.short for test in design.tests) else (),
        variants=_wrong_short,
        confirm="Repeat with the pin list in hand; check which pins the link joins.",
        remedy="No change of the part. Name the shorted pins on the bench sheet.",
        undone_by=(("read again", 0.0),),
        confusable=("order", "bunched", "short-link"),
    ),
)
