"""What can be rearranged in a design: its windings as units that may be divided, its shields, its places.

A winding whose build steps differ only in their turns is divided anew: in series into sections as equal as
whole turns allow (the first sections in the order of the build get the remaining turns), in parallel into
sections of equal turns. A winding whose steps differ in anything else (breadth, margin, position on the
layer), steps laid beside each other, and the tracks of a board keep their steps, in another order.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from ..design import Design, ShieldStep, SpacerStep, Step, TapeStep, Winding, WindStep
from ..winding import ends_of, place_of, shield_kind, turn_pitch, winding_space
from .faces import Faces, Insulation
from .rules import Rules, Split, rule_error

Bay = tuple[int, int | None]
"""(leg, chamber): one of the places where a build stacks."""


@dataclass(frozen=True, kw_only=True)
class Unit:
    """What is divided and moved as one.

    Attributes
    ----------
    steps : tuple of Step, of one section, from the leg outwards, without a place
    windings : tuple of str, names of its windings, or of its shield
    turns : tuple of (str, int)
        Turns of each winding between its ends, count; empty where the steps are fixed.
    blocks : tuple of (str, float), for steps that are blocks, thickness of all sections of each winding, m
    wires : tuple of (str, int), in hand of each winding, of all its parallel sections together, count
    splits : tuple of Split, divisions that are allowed
    repeats : bool, whether its sections may lie on each other
    now : Split, division in the design
    shield : bool, whether it carries no load current
    short : bool, whether divisions are left out because their sections would be too short
    """

    steps: tuple[Step, ...]
    windings: tuple[str, ...]
    splits: tuple[Split, ...]
    now: Split
    turns: tuple[tuple[str, int], ...] = ()
    blocks: tuple[tuple[str, float], ...] = ()
    wires: tuple[tuple[str, int], ...] = ()
    repeats: bool = False
    shield: bool = False
    short: bool = False

    @property
    def name(self) -> str:
        """Its name in a list of the order."""
        return "+".join(self.windings)


@dataclass(frozen=True, kw_only=True)
class Rearrangement:
    """Everything that may be rearranged.

    Attributes
    ----------
    design : Design
    units : tuple of Unit, that are divided and moved
    bays : tuple of (int, int or None), places: leg and chamber, count from 1
    faces : Faces
    lead : Insulation
        Insulation across all places below everything, which stays (for single places: ``Faces.floor``).
    tail : Insulation
        Insulation across all places above everything, which stays (for single places: ``Faces.cover``).
    end_shields : bool, whether shields may lie innermost or outermost, as one does now
    shared : bool, whether sections in parallel share the wires in hand
    undivided : tuple of str, windings that are not divided further, since their sections would be too short
    """

    design: Design
    units: tuple[Unit, ...]
    bays: tuple[Bay, ...]
    faces: Faces
    lead: Insulation
    tail: Insulation
    end_shields: bool
    shared: bool
    undivided: tuple[str, ...] = ()


def rearrangement_of(design: Design, rules: Rules, faces: Faces) -> Rearrangement:
    """What may be rearranged in a design under some rules.

    Parameters
    ----------
    design : Design of one or B builds
    rules : Rules
    faces : Faces

    Raises
    ------
    DesignError
        For builds that are not enumerated: windings on sectors of a ring, tape across several chambers
        between windings, groups of windings that cannot be divided alike.
    """
    steps = design.build.steps
    laid = [k for k, step in enumerate(steps) if step.conducts]
    _check_supported(design, steps[laid[0] : laid[-1] + 1])
    units: list[Unit] = []
    bays = _bays(design)
    units += _shields(steps, rules, faces)
    for cluster in _clusters(design, rules):
        units += _units(design, rules, cluster, faces)
    first, last = steps[laid[0]], steps[laid[-1]]
    across = [
        (number, step)
        for number, step in enumerate(steps)
        if isinstance(step, TapeStep | SpacerStep) and (step.leg, step.chamber) not in bays
    ]
    return Rearrangement(
        design=design,
        units=tuple(units),
        bays=bays,
        faces=faces,
        lead=tuple(step for number, step in across if number < laid[0]),
        tail=tuple(step for number, step in across if number > laid[0]),
        end_shields=isinstance(first, ShieldStep) or isinstance(last, ShieldStep),
        shared=rules.parallel != "same",
        undivided=tuple(unit.name for unit in units if unit.short),
    )


def _check_supported(design: Design, between: Sequence[Step]) -> None:
    ring = design.core.dimensions.ring
    winds = [step for step in between if isinstance(step, WindStep)]
    if ring and any(step.sector is not None for step in winds):
        raise rule_error(
            "build.steps",
            "windings on sectors of a ring",
            "windings all around the ring, whose order is enumerated",
            "Change the sectors by hand and compare with 'predict --against'.",
        )
    across = [step for step in between if isinstance(step, TapeStep | SpacerStep) and step.chamber is None]
    if any(step.chamber is not None for step in winds) and across:
        raise rule_error(
            "build.steps",
            "tape or a spacer across several chambers between windings",
            "insulation with the 'chamber' that it lies in; across all of them only first or last",
        )


def _bays(design: Design) -> tuple[Bay, ...]:
    winds = [step for step in design.build.steps if step.conducts]
    legs = sorted({step.leg for step in winds})
    chambers: list[int | None] = [None]
    if any(step.chamber is not None for step in winds):
        chambers = list(range(1, (len(design.bobbin.chambers) or design.bobbin.chamber_count) + 1))
    return tuple((leg, chamber) for leg in legs for chamber in chambers)


def _blocks(steps: Sequence[Step]) -> list[tuple[Step, ...]]:
    """Wind steps and shields, with steps laid beside each other in one block."""
    blocks: list[list[Step]] = []
    for step in steps:
        if isinstance(step, WindStep) and step.beside and blocks:
            blocks[-1].append(step)
        elif step.conducts:
            blocks.append([step])
    return [tuple(block) for block in blocks]


def _placeless(step: Step) -> Step:
    return replace(step, chamber=None, leg=1)


def _shields(steps: Sequence[Step], rules: Rules, faces: Faces) -> list[Unit]:
    """One unit for all shields of a kind: as many as the design has, and more of those that part two circuits
    wherever they meet, for the new faces of these circuits."""
    kinds: dict[Step, list[str]] = {}
    for step in steps:
        if isinstance(step, ShieldStep):
            kinds.setdefault(replace(step, chamber=None, leg=1, name=""), []).append(step.name)
    shields = []
    for kind, names in kinds.items():
        assert isinstance(kind, ShieldStep)
        count = most = len(names)
        if any(shield_kind(kind) in needed.shields for needed in faces.required.values()):
            most = max(count, 2 * rules.most_sections - 1)
        splits = tuple(Split(k, "fixed") for k in range(count, most + 1))
        shields.append(
            Unit(
                steps=(replace(kind, name=names[0]),),
                windings=tuple(names),
                splits=splits,
                now=splits[0],
                shield=True,
            )
        )
    return shields


def _clusters(design: Design, rules: Rules) -> list[tuple[str, ...]]:
    """The windings with steps of their own, each alone or with its group, in the order of the design."""
    owners = list(dict.fromkeys(s.winding for s in design.build.steps if isinstance(s, WindStep)))
    clusters: list[tuple[str, ...]] = []
    for name in owners:
        group = next((group for group in rules.groups if name in group), (name,))
        if group not in clusters:
            clusters.append(group)
    for group in rules.groups:
        for name in group:
            if name not in owners:
                raise rule_error(
                    "option --group",
                    f"{name}, which is wound together with another",
                    "windings with build steps of their own",
                )
    return clusters


def _alike(steps: Sequence[WindStep]) -> bool:
    first = _template(steps[0])
    return all(_template(step) == first for step in steps)


def _template(step: WindStep) -> WindStep:
    """A step without place, turns and layers (and without the thickness of a block, which changes with the
    turns)."""
    thick = None if step.thickness is None else 0.0
    return replace(step, chamber=None, leg=1, turns=0, layers=None, thickness=thick)


def _units(design: Design, rules: Rules, cluster: tuple[str, ...], faces: Faces) -> list[Unit]:
    """The units of one winding or group; a winding that keeps its steps gives one unit for each kind of
    step."""
    blocks = [
        b for b in _blocks(design.build.steps) if isinstance(b[0], WindStep) and b[0].winding in cluster
    ]
    if not blocks:  # wound beside another winding throughout, and moved with it
        return []
    boards = design.build.direction == "up" and design.winding(cluster[0]).wire.track
    plain = all(len(block) == 1 for block in blocks)
    steps_of = {name: [b[0] for b in blocks if b[0].winding == name] for name in cluster}  # type: ignore[union-attr]
    divisible = plain and not boards and all(_alike(steps) for steps in steps_of.values())  # type: ignore[arg-type]
    divisible = divisible and not any(_beside_member(design, name) for name in cluster)
    if divisible:
        return [_divisible(design, rules, cluster, steps_of, faces)]  # type: ignore[arg-type]
    if len(cluster) > 1:
        raise rule_error(
            "option --group",
            ", ".join(cluster),
            "windings whose steps differ in their turns only, none of them beside another",
        )
    kinds: dict[tuple[Step, ...], int] = {}
    for block in blocks:
        key = tuple(_placeless(step) for step in block)
        kinds[key] = kinds.get(key, 0) + 1
    result = []
    for steps, count in kinds.items():
        names = tuple(
            dict.fromkeys(n for s in steps if isinstance(s, WindStep) for n in (s.winding, *s.companions))
        )
        split = Split(count, "fixed")
        result.append(Unit(steps=steps, windings=names, splits=(split,), repeats=boards, now=split))
    return result


def _beside_member(design: Design, name: str) -> bool:
    steps = design.build.steps
    return any(isinstance(step, WindStep) and step.beside and step.winding == name for step in steps)


def _divisible(
    design: Design, rules: Rules, cluster: tuple[str, ...], steps_of: dict[str, list[WindStep]], faces: Faces
) -> Unit:
    windings = [design.winding(name) for name in cluster for name in (name, *steps_of[name][0].companions)]
    parallel = windings[0].sections == "parallel"
    counts = {len(steps) for steps in steps_of.values()}
    turns = {name: _total(steps, design.winding(name)) for name, steps in steps_of.items()}
    if len(cluster) > 1 and (len(counts) > 1 or len({w.sections for w in windings}) > 1):
        raise rule_error(
            "option --group",
            ", ".join(f"{name} in {len(steps_of[name])}" for name in cluster),
            "windings with equally many sections, joined alike",
        )
    count = counts.pop()
    most = max(rules.most_of(winding.name for winding in windings), 1)
    wires = tuple((w.name, w.wire.in_hand * (count if parallel else 1)) for w in windings)
    splits = [Split(k, "series") for k in range(1, most + 1)]
    now = Split(count, "parallel" if parallel and count > 1 else "series")
    if rules.parallel == "shared":
        splits += [Split(k, "parallel") for k in range(2, most + 1) if _shares(steps_of, wires, k)]
    elif rules.parallel == "same":
        splits += [Split(k, "parallel") for k in range(2, most + 1)]
    kept = [
        split
        for split in splits
        if split in (now, Split(1, "series")) or _sensible(design, steps_of, split, rules)
    ]
    short, splits = len(kept) < len(splits), kept
    if now.connection == "parallel" and now not in splits and count <= most:
        splits.append(now)
    if rules.parallel == "none" and parallel and count > 1:
        splits = [now] if count <= most else []
    steps: list[Step] = []
    for name in cluster:
        step = replace(_template(steps_of[name][0]), turns=0)
        if steps:
            steps += faces.between(steps[-1:], [step])
        steps.append(step)
    names = tuple(winding.name for winding in windings)
    thick = {
        name: [step.thickness for step in steps_of[name] if step.thickness is not None] for name in cluster
    }
    blocks = tuple((name, float(sum(map(np.asarray, each)))) for name, each in thick.items() if each)
    return Unit(
        steps=tuple(steps),
        windings=names,
        turns=tuple(turns.items()),
        blocks=blocks,
        wires=wires,
        splits=tuple(splits),
        now=now,
        short=short,
    )


def _sensible(design: Design, steps_of: dict[str, list[WindStep]], split: Split, rules: Rules) -> bool:
    """Whether every section of a division has as many turns, and covers as much of the breadth of the
    broadest place, as the rules require."""
    space = winding_space(design)
    for name, steps in steps_of.items():
        winding, step = design.winding(name), steps[0]
        turns = _total(steps, winding)
        each = turns if split.connection == "parallel" else turns // split.sections
        if each < rules.least_turns:
            return False
        if step.thickness is not None or winding.wire.foil:
            continue
        windings = [design.winding(winding_name) for winding_name in (name, *step.companions)]
        pitch = 0.0
        for laid in windings:
            hands = laid.wire.in_hand
            if rules.parallel != "same":
                hands = max(hands * (len(steps) if laid.sections == "parallel" else 1), 1)
                hands = max(hands // (split.sections if split.connection == "parallel" else 1), 1)
            twisted = laid.wire.twisted and hands > 1
            pitch += float(np.asarray(turn_pitch(replace(laid.wire, in_hand=hands, twisted=twisted))))
        if space.ring:
            breadth = math.tau * (space.width - float(space.wall[0]))
        else:
            room = max(
                space.bay(place_of(replace(step, leg=leg, chamber=chamber))).breadth
                for leg, chamber in _bays(design)
            )
            breadth = room - sum(ends_of(design, step, room))
        if each * pitch * (1 + design.build.allowance) < rules.least_cover * breadth:
            return False
    return True


def _total(steps: Sequence[WindStep], winding: Winding) -> int:
    """Turns of a winding between its ends."""
    turns = [int(np.asarray(step.turns)) for step in steps]
    if winding.sections == "parallel" and len(set(turns)) > 1:
        raise rule_error(
            f"winding {winding.name}",
            "parallel sections of " + ", ".join(map(str, turns)) + " turns",
            "parallel sections of equal turns",
        )
    return turns[0] if winding.sections == "parallel" else sum(turns)


def _shares(steps_of: dict[str, list[WindStep]], wires: Sequence[tuple[str, int]], sections: int) -> bool:
    """Whether the wires in hand can be divided among so many sections (a block of copper: always)."""
    if all(step.thickness is not None for steps in steps_of.values() for step in steps):
        return True
    return all(count % sections == 0 for _, count in wires)
