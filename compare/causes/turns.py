"""Wrong number of turns."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from ...predict.copper import conductor_area
from ...predict.design import BenchTest, Design, Member, ShieldStep, WindStep, first_build
from ...predict.winding import layer_turns
from .cause import (
    COMMON,
    RARE,
    Cause,
    Counts,
    Variant,
    has_window,
    laid_windings,
    laid_with,
    ways_of_laying,
    wind_steps,
    winding_names,
    with_step,
)

TURN_WEIGHTS = {-2: 1.0, -1: 4.0, 1: 4.0, 2: 1.0}
FAR_FEWER, FAR_MORE, FAR_WEIGHT = 1 / 3, 1 / 4, 0.5
"""A counter read wrong, a layer forgotten: at most this part of the turns is missing or too many, and the
weight of all such counts on either side (judged). Fewer than ``FEW`` turns are counted by eye."""
FEW = 12
ABOUT = 10
"""From this many turns on the number is told as "about": a ratio of three or four digits does not resolve one
turn in many (judged)."""
SHORTED = (1, 2)
RINGS = (10.0, 2.0)
"""Breadths of the ring that represents shorted turns, in overall diameters of the wire: broad, as turns side
by side lie, and hardly more than one turn (judged; no data behind it). On a core of high permeability only
the leakage between the turn and the rest is left; with thick wire the narrow ring leaves twice as much."""
ON_RINGS = RARE
"""Prior weight of shorted turns on a ring core: its turns hardly lie on each other, and no flange or pin
presses them (judged)."""
LOOP = "(shorted turn)"


def _variants(design: Design, winding_name: str) -> list[Variant]:
    """In the last section of a series winding; in every section of a parallel one.

    Of windings wound together, all have them wrong (the counter), which stands with the first of them; or one
    of them has (an end that leaves a turn early or late). Counts that are far off stand at both ends; those
    between are filled in (``Counts``). The tracks of a board are artwork: no counter goes wrong, and
    none goes beyond its layer.
    """
    chosen = _miscounted(design, winding_name)
    together = winding_name in laid_windings(design)
    beside = any(design.build.steps[number].companions for number in chosen)  # type: ignore[union-attr]
    least = min(first_build(design.build.steps[number].turns) for number in chosen)  # type: ignore[union-attr]
    low, high = _far(design, winding_name, least)
    result = [_far_off(design, winding_name, low)] if together and low < min(TURN_WEIGHTS) else []
    for amount, weight in TURN_WEIGHTS.items():
        if least + amount < 1:
            continue
        ways = []
        if together:
            ways.append((_counted(design, chosen, amount), laid_with(design, winding_name, chosen)))
        if beside:
            ways.append((_left_early(design, chosen, winding_name, amount), f"{winding_name} alone"))
        for changed, name in ways:
            laid = ways_of_laying(changed)
            title = _title(name, amount)
            result += [Variant(float(amount), weight / len(ways) / len(laid), way, title) for way in laid]
    if together and high > max(TURN_WEIGHTS):
        result.append(_far_off(design, winding_name, high))
    if design.winding(winding_name).wire.track:
        result = [variant for variant in result if _within_layers(design, variant.design)]
    return result


def _within_layers(design: Design, changed: Design) -> bool:
    """Whether no step needs more layers than drawn."""
    return bool(np.all(layer_turns(changed)[..., 0] <= layer_turns(design)[..., 0]))


def _title(name: str, amount: float) -> str:
    plural = "turn" if abs(amount) == 1 else "turns"
    about = "about " if abs(amount) >= ABOUT else ""
    return f"{name} has {about}{abs(amount):.0f} {plural} {'too many' if amount > 0 else 'too few'}"


def _miscounted(design: Design, winding_name: str) -> list[int]:
    """Steps whose count is wrong: the last one; of parallel sections all."""
    steps = wind_steps(design, winding_name)
    return steps if design.winding(winding_name).sections == "parallel" else steps[-1:]


def _number_of_turns(design: Design, winding_name: str) -> float:
    """Turns of a winding from end to end, count."""
    steps = wind_steps(design, winding_name)
    turns = [first_build(design.build.steps[number].turns) for number in steps]  # type: ignore[union-attr]
    return turns[0] if design.winding(winding_name).sections == "parallel" else sum(turns)


def _far(design: Design, winding_name: str, least: float) -> tuple[int, int]:
    """The counts furthest off; 0 where there is none. ``least``: turns of the shortest step."""
    turns = _number_of_turns(design, winding_name)
    if turns < FEW or design.winding(winding_name).wire.track:
        return 0, 0
    return -int(min(FAR_FEWER * turns, least - 1)), int(FAR_MORE * turns)


def _far_off(design: Design, winding_name: str, amount: int) -> Variant:
    changed = _counted(design, _miscounted(design, winding_name), amount)
    return Variant(float(amount), FAR_WEIGHT, changed, _counts_title(design, winding_name, amount))


def _counts_title(design: Design, winding_name: str, amount: float) -> str:
    return _title(laid_with(design, winding_name, _miscounted(design, winding_name)), amount)


def _counted(design: Design, steps: Sequence[int], amount: int) -> Design:
    """Everything that steps wind with turns more or less."""
    for number in steps:
        turns = int(first_build(design.build.steps[number].turns))  # type: ignore[union-attr]
        design = with_step(design, number, turns=turns + amount)
    return design


def _left_early(design: Design, steps: Sequence[int], name: str, amount: int) -> Design:
    """One of the windings that steps wind together with turns more or less, the others as drawn."""
    for number in steps:
        step = design.build.steps[number]
        assert isinstance(step, WindStep)
        each = tuple(amount if name == winding else 0 for winding in step.windings)
        design = with_step(design, number, miscount=each)
    return design


def _ringable(design: Design) -> tuple[str, ...]:
    """Windings with room for a ring beside their first layer: around a leg, not beside another step."""

    def possible(name: str) -> bool:
        steps = wind_steps(design, name)
        first = design.build.steps[steps[0]] if steps else None
        return isinstance(first, WindStep) and not first.beside and first_build(first.turns) > SHORTED[-1]

    if design.build.direction != "out":
        return ()
    return tuple(name for name in winding_names(design) if possible(name))


def _around_leg(design: Design) -> tuple[str, ...]:
    return _ringable(design) if has_window(design) else ()


def _on_ring_core(design: Design) -> tuple[str, ...]:
    return () if has_window(design) else _ringable(design)


def _shorted(design: Design, winding_name: str) -> list[Variant]:
    """n turns are taken from the winding, the others lying as drawn, and closed on themselves."""
    number = wind_steps(design, winding_name)[0]
    result = []
    for amount in SHORTED:
        fewer = _left_early(design, [number], winding_name, -amount)
        plural = "turn" if amount == 1 else "turns"
        title = f"{amount} {plural} of {winding_name} {'is' if amount == 1 else 'are'} shorted"
        changed = (
            [_ring_under(fewer, number, winding_name, amount, breadth) for breadth in RINGS]
            if has_window(design)
            else [_loop_around(fewer, number, winding_name, amount)]
        )
        weight = (2.0 if amount == 1 else 1.0) / len(changed)
        result += [Variant(float(amount), weight, each, title) for each in changed]
    return result


def _ring_under(design: Design, number: int, winding_name: str, amount: int, breadth: float) -> Design:
    """A closed ring under the first layer of step ``number``.

    n turns shorted on themselves link the same flux as one turn of n times their copper; the ring is
    ``breadth`` overall diameters of the wire broad.
    """
    first = design.build.steps[number]
    assert isinstance(first, WindStep)
    wire = design.winding(winding_name).wire
    width = wire.foil_width or breadth * first_build(wire.overall)
    area = amount * first_build(conductor_area(wire)) / max(wire.in_hand, 1)
    ring = ShieldStep(
        name=LOOP,
        thickness=area / first_build(width),
        width=width,
        closed=True,
        screens=False,
        metal=str(design.winding(winding_name).metal),
        chamber=first.chamber,
        leg=first.leg,
    )
    steps = (*design.build.steps[:number], ring, *design.build.steps[number:])
    return replace(design, build=replace(design.build, steps=steps))


def _loop_around(design: Design, number: int, winding_name: str, amount: int) -> Design:
    """On a ring core, where no band stands: one turn of ``amount`` wires over all others, as a winding of its
    own that is shorted, through the bench's link, in every test with alternating current."""
    winding, first = design.winding(winding_name), design.build.steps[number]
    assert isinstance(first, WindStep)
    loop = replace(
        winding,
        name=LOOP,
        wire=replace(winding.wire, in_hand=amount, open_strands=0),
        sections="series",
        total_turns=None,
        lead_length=0.0,
        polarity=(),
        joint_resistance=0.0,
        loop_inductance=0.0,
    )
    turn = WindStep(winding=LOOP, turns=1, sector=first.sector, from_angle=first.from_angle)

    def closed(test: BenchTest) -> BenchTest:
        if test.measure == "resistance" or (test.measure == "capacitance" and test.sense):
            return test
        return replace(test, short=(*test.short, Member(LOOP)))

    return replace(
        design,
        windings=(*design.windings, loop),
        build=replace(design.build, steps=(*design.build.steps, turn)),
        tests=tuple(closed(test) for test in design.tests),
    )


CAUSES = (
    Cause(
        name="turns",
        kind="turns",
        weight=COMMON,
        places=winding_names,
        variants=_variants,
        exact=("ratio", "resistance", "inductance"),
        counts=Counts(_number_of_turns, _counts_title),
        confirm=(
            "Measure the voltage ratio of {where} to another winding, ideally one whose turns are certain; "
            "0.1 % resolves one turn in several hundred."
        ),
        remedy=(
            "Set and check the turns counter for {where}; state on the sheet where start and "
            "finish leave the bobbin."
        ),
        confusable=("wire", "gap"),
    ),
    *(
        Cause(
            name="shorted-turn",
            kind="turns",
            weight=weight,
            places=places,
            variants=_shorted,
            confirm=(
                "Read inductance and quality of {where} at a tenth of the frequency: the inductance comes "
                "back, the quality stays poor. Do not put the part on voltage: shorted turns burn."
            ),
            remedy="Protect the wire of {where} at edges and pins; look at the enamel and at crossings.",
            confusable=("shield", "unseated"),
            caution=(
                "Shorted turns mean damaged insulation: stop, keep the part away from mains and high "
                "voltage, and have its insulation tested under the applicable safety standard by a "
                "qualified person."
            ),
        )
        for weight, places in ((ON_RINGS, _on_ring_core), (COMMON, _around_leg))
    ),
)
