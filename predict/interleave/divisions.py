"""A division of the windings put into effect: the build steps of a section, how the winding is joined, its
joints, the names of its shields, and an arrangement as a design."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import count

from ..design import Design, ShieldStep, Step, Winding, WindStep, Wire
from .divisible_parts import Bay, Rearrangement, Unit
from .faces import highest, lowest
from .orders import Sequences
from .rules import Split, equal_turns


def section_steps(unit: Unit, split: Split, ordinal: int) -> tuple[Step, ...]:
    """The build steps of one section of a divided unit, without a place.

    Parameters
    ----------
    unit : Unit
    split : Split
    ordinal : int, index of the section in the order of the build
    """
    if not unit.turns:
        return unit.steps
    turns, blocks = dict(unit.turns), dict(unit.blocks)
    result: list[Step] = []
    for step in unit.steps:
        if not isinstance(step, WindStep):
            result.append(step)
            continue
        whole = turns[step.winding]
        section_turns = (
            whole if split.connection == "parallel" else equal_turns(whole, split.sections)[ordinal]
        )
        thickness = step.thickness
        if thickness is not None:
            share = 1 / split.sections if split.connection == "parallel" else section_turns / whole
            thickness = blocks[step.winding] * share
        result.append(replace(step, turns=section_turns, thickness=thickness))
    return tuple(result)


def connected(space: Rearrangement, splits: tuple[Split, ...], winding: Winding) -> Winding:
    """A winding joined as its division requires, with the wires in hand that follow.

    Parameters
    ----------
    space : Rearrangement
    splits : tuple of Split, one for each unit
    winding : Winding
    """
    for unit, split in zip(space.units, splits, strict=True):
        wires = dict(unit.wires)
        if winding.name not in wires or split.connection == "fixed":
            continue
        parallel = split.connection == "parallel"
        hands = winding.wire.in_hand
        if space.shared and not unit.blocks:
            hands = wires[winding.name] // (split.sections if parallel else 1)
        return replace(
            winding,
            sections="parallel" if parallel else "series",
            wire=wire_in_hand(winding.wire, hands),
            total_turns=_checksum(unit, split, winding),
        )
    return winding


def wire_in_hand(wire: Wire, hands: int) -> Wire:
    """The wire with another number in hand, with the label that the reader of the file gives it.

    A single wire is not twisted.

    Parameters
    ----------
    wire : Wire
    hands : int, count
    """

    def told(number: int, twisted: bool) -> str:
        return (f", {number} in hand" if number > 1 else "") + (", twisted" if twisted else "")

    twisted = wire.twisted and hands > 1
    stated = wire.label.removesuffix(told(wire.in_hand, wire.twisted))
    single = replace(wire, in_hand=hands, twisted=twisted, label=f"{stated}{told(hands, twisted)}")
    if wire.twisted and not twisted and not wire.litz:  # a single wire has no lay
        single = replace(single, lay_factor=1.0, lay_known=True)
    return single


def _checksum(unit: Unit, split: Split, winding: Winding) -> int | None:
    """``total_turns`` as the reader of the file checks it: the sum over the steps."""
    if winding.total_turns is None:
        return None
    turns = dict(unit.turns).get(winding.name)
    if turns is None or split == unit.now:
        return winding.total_turns
    return turns * (split.sections if split.connection == "parallel" else 1)


def _divided(space: Rearrangement, splits: tuple[Split, ...]) -> dict[str, tuple[int, bool]]:
    """Sections of every winding (count), and whether they are in parallel."""
    divided: dict[str, tuple[int, bool]] = {}
    for unit, split in zip(space.units, splits, strict=True):
        for name in unit.windings if not unit.shield else ():
            fixed = split.connection == "fixed" and space.design.winding(name).sections == "parallel"
            before, _ = divided.get(name, (0, False))
            divided[name] = before + split.sections, fixed or split.connection == "parallel"
    return divided


def joints(space: Rearrangement, splits: tuple[Split, ...]) -> int:
    """Joints of a combination of divisions, without building it.

    Parameters
    ----------
    space : Rearrangement
    splits : tuple of Split, one for each unit

    Returns
    -------
    int, count
    """
    divided = _divided(space, splits).values()
    return sum((number - 1) * (2 if parallel else 1) for number, parallel in divided)


def pins_needed(space: Rearrangement, splits: tuple[Split, ...]) -> int:
    """Pins that a combination of divisions takes.

    They are the pins at which the windings start and finish (one for each end without a named pin), and one
    for every joint of two sections in series. Sections in parallel meet at the pins of their winding.

    Parameters
    ----------
    space : Rearrangement
    splits : tuple of Split, one for each unit

    Returns
    -------
    int, count
    """
    ends = [pin for winding in space.design.windings for pin in (winding.start, winding.finish)]
    in_series = sum(number - 1 for number, parallel in _divided(space, splits).values() if not parallel)
    return len(set(filter(None, ends))) + sum(not pin for pin in ends) + in_series


def arranged(space: Rearrangement, splits: tuple[Split, ...], order: Sequences) -> Design:
    """The design with its windings divided and laid in a given order.

    Parameters
    ----------
    space : Rearrangement
    splits : tuple of Split, one for each unit
    order : Sequences
    """
    design = space.design
    laid = [0] * len(space.units)
    steps: list[Step] = list(space.lead)
    for bay, symbols in zip(space.bays, order, strict=True):
        before: tuple[Step, ...] = ()
        if symbols:
            steps += [_at(step, bay) for step in space.faces.floor]
        for symbol in symbols:
            section = section_steps(space.units[symbol], splits[symbol], laid[symbol])
            laid[symbol] += 1
            if before:
                steps += [_at(step, bay) for step in space.faces.between(before, lowest(section))]
            steps += [_at(step, bay) for step in section]
            before = highest(section)
        if symbols:
            steps += [_at(step, bay) for step in space.faces.cover]
    steps += space.tail
    windings = tuple(connected(space, splits, winding) for winding in design.windings)
    return replace(
        design, windings=windings, build=replace(design.build, steps=tuple(shields_named(space, steps)))
    )


def shields_named(space: Rearrangement, steps: Sequence[Step]) -> list[Step]:
    """Build steps with a name for every shield.

    In their order the shields of one kind get the names that the design has for them, then the first of these
    with a number: E, E_2, E_3.

    Parameters
    ----------
    space : Rearrangement
    steps : sequence of Step, build steps whose shields have the first name of their kind
    """
    taken = {winding.name for winding in space.design.windings} | {s.name for s in space.design.shields}

    def names(own_names: tuple[str, ...]) -> Iterator[str]:
        yield from own_names
        yield from (name for name in (f"{own_names[0]}_{number}" for number in count(2)) if name not in taken)

    left = {unit.windings[0]: names(unit.windings) for unit in space.units if unit.shield}
    return [
        replace(step, name=next(left[step.name])) if isinstance(step, ShieldStep) else step for step in steps
    ]


def _at(step: Step, bay: Bay) -> Step:
    return replace(step, leg=bay[0], chamber=bay[1])
