"""Where windings of different circuits face each other, and what insulation the design file puts between
them.

A face is a pair of neighbouring build steps, or of windings wound together in one step. Nothing is judged
here: creepage and clearance follow from the applicable safety standard and the decision of a qualified
person; this module repeats what the file gives. Splitting a winding multiplies its faces, so they are
counted.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import combinations
from typing import Literal

import numpy as np

from ..design import CORE, Design, SpacerStep, Step, TapeStep, WindStep, first_build
from .space import Place, place_of

TRIPLE_WALL = "triple-insulated wire"
"""What the wall of such a wire is called in a face."""
FaceKind = Literal["stacked", "beside", "together", "chambers", "sectors", "legs", "core"]


@dataclass(frozen=True)
class Insulation:
    """One kind of insulation in a face.

    Attributes
    ----------
    what : str
        "tape", "spacer", "partition", "bobbin wall", "flange", "coating" or
        "triple-insulated wire" (the wall of one wire).
    count : int, how many times it lies there, count
    thickness : float, m
    """

    what: str
    count: int
    thickness: float


@dataclass(frozen=True, kw_only=True)
class Face:
    """Two neighbours of different circuits.

    Attributes
    ----------
    kind : FaceKind
        "stacked" (one on the other), "beside" (at the same height), "sectors" (two sectors of a ring),
        "together" (turn by turn in one layer), "chambers" (across a partition), "legs" (across the window of
        a U core) or "core" (the innermost step against the core, through the bobbin's wall).
    first : int or None, build step that goes on first, index from 0; None: the core
    second : int, build step that goes on second, index from 0
    first_names, second_names : tuple of str, windings or shields on the first and on the second side
    insulation : tuple of Insulation
        Insulation from the first side to the second; empty: only the wires' own insulation and air.
    """

    kind: FaceKind
    first: int | None
    second: int
    first_names: tuple[str, ...]
    second_names: tuple[str, ...]
    insulation: tuple[Insulation, ...] = ()

    @property
    def inner(self) -> str:
        """Names on the first side, joined: "A+B" for windings wound together."""
        return "+".join(self.first_names)

    @property
    def outer(self) -> str:
        """Names on the second side, joined."""
        return "+".join(self.second_names)

    @property
    def thickness(self) -> float:
        """Thickness of all insulation in the face, m; 0 with only the wires' own insulation."""
        return sum(part.count * part.thickness for part in self.insulation)

    @property
    def wraps(self) -> int:
        """Wraps of tape in the face, count."""
        return sum(part.count for part in self.insulation if part.what == "tape")

    @property
    def between_circuits(self) -> bool:
        """Whether both sides are windings or shields, not the core."""
        return self.first is not None


def insulated_faces(design: Design) -> tuple[Face, ...]:
    """Every face of a design between different circuits, in the nominal build.

    Windings of one ``circuit`` have no face between them, nor does a shield with the winding it is tied to.

    Parameters
    ----------
    design : Design, of many builds the first counts

    Returns
    -------
    tuple of Face, faces of the core first, then in winding order
    """
    steps = design.build.steps
    conducting = [number for number, step in enumerate(steps) if step.conducts]
    faces: list[Face] = []
    for second in conducting:
        faces += _together(design, second)
        hidden: list[int] = []
        for first in reversed([number for number in conducting if number < second]):
            if _covered(design, first, second, hidden):
                continue
            if not _place(design, first).overlaps(_place(design, second)):
                continue
            hidden.append(first)
            side = side_by_side(design, first, second)
            laid = [] if side else laid_between(design, first, second)
            between = [part for step in laid for part in _insulation(step)]
            faces += _pair(design, "beside" if side else "stacked", first, second, between)
        if not hidden:
            faces += _to_core(design, second)
    faces += _across(design, conducting)
    faces = [_with_own_insulation(design, face) for face in faces]
    return tuple(sorted(faces, key=lambda face: (face.between_circuits, face.second, face.first or 0)))


def _with_own_insulation(design: Design, face: Face) -> Face:
    """The face with the wall of triple-insulated wire, of each side whose windings all are of it."""
    walls = []
    for names in (face.first_names, face.second_names):
        wires = [winding.wire for winding in design.windings if winding.name in names]
        if wires and len(wires) == len(names) and all(wire.triple for wire in wires):
            least = min(first_build(wire.overall) - first_build(wire.diameter) for wire in wires) / 2
            walls.append(Insulation(TRIPLE_WALL, 1, least))
    return replace(face, insulation=(*face.insulation, *walls)) if walls else face


def faces_between_circuits(design: Design) -> tuple[Face, ...]:
    """The faces of ``insulated_faces`` where two circuits touch, shields included.

    Faces of the core are left out, and those across the window of a U core.

    Parameters
    ----------
    design : Design, of many builds the first counts
    """
    return tuple(face for face in insulated_faces(design) if face.between_circuits and face.kind != "legs")


def circuit_of(design: Design, name: str) -> str:
    """The circuit that a winding or shield belongs to.

    A shield belongs to the circuit of the winding end it is tied to; an open shield is a circuit of its own.

    Parameters
    ----------
    design : Design
    name : str, winding or shield

    Returns
    -------
    str, circuit; "core" for a shield tied to the core
    """
    for step in design.shields:
        if step.name == name:
            end = step.tied.rpartition(".")[0]
            return CORE if step.tied == CORE else circuit_of(design, end) if end else name
    return design.winding(name).circuit or name


def _place(design: Design, number: int) -> Place:
    return place_of(design.build.steps[number])


def _pair(
    design: Design, kind: FaceKind, first: int, second: int, insulation: Sequence[Insulation]
) -> list[Face]:
    """The face of two steps, with the names on each side that face another circuit; none if all belong to one
    circuit."""
    first_names, second_names = design.build.steps[first].names, design.build.steps[second].names
    facing = [
        (a, b) for a in first_names for b in second_names if circuit_of(design, a) != circuit_of(design, b)
    ]
    if not facing:
        return []
    here = tuple(name for name in first_names if any(name == a for a, _ in facing))
    there = tuple(name for name in second_names if any(name == b for _, b in facing))
    return [
        Face(
            kind=kind,
            first=first,
            second=second,
            first_names=here,
            second_names=there,
            insulation=tuple(insulation),
        )
    ]


def _together(design: Design, number: int) -> list[Face]:
    return [
        Face(kind="together", first=number, second=number, first_names=(first,), second_names=(second,))
        for first, second in combinations(design.build.steps[number].names, 2)
        if circuit_of(design, first) != circuit_of(design, second)
    ]


def side_by_side(design: Design, first: int, second: int) -> bool:
    """Whether a step starts at the height of an earlier one: every step after that one lies beside it.

    Parameters
    ----------
    design : Design
    first, second : int, index of the steps
    """
    steps = design.build.steps[first + 1 : second + 1]
    return all(isinstance(step, WindStep) and step.beside for step in steps)


def _covered(design: Design, first: int, second: int, between: Iterable[int]) -> bool:
    """Whether a step in between hides ``first`` from ``second``: it covers it completely and does not lie
    beside it.

    A step beside others at one height hides nothing of what lies under them, as it may be narrower.
    """
    for middle in between:
        if side_by_side(design, first, middle):
            continue
        over = _place(design, middle)
        if _within(_place(design, first), over) or _within(_place(design, second), over):
            return True
    return False


def _within(inner: Place, outer: Place) -> bool:
    """Whether the whole place ``inner`` lies inside ``outer``."""
    if inner.leg != outer.leg or (outer.chamber is not None and outer.chamber != inner.chamber):
        return False
    if outer.sector is None:
        return True
    if inner.sector is None:
        return False
    ahead = (inner.from_angle - outer.from_angle) % math.tau
    return ahead + inner.sector <= outer.sector + 1e-9


def lies_between(step: Step, first: Place, second: Place) -> bool:
    """Whether a step lies at both of two places.

    Parameters
    ----------
    step : Step
    first, second : Place
    """
    place = place_of(step)
    return place.overlaps(first) and place.overlaps(second)


def laid_between(design: Design, first: int, second: int) -> list[TapeStep | SpacerStep]:
    """Tape and spacers laid between two steps at the places of both.

    Parameters
    ----------
    design : Design
    first, second : int, index of the steps
    """
    places = _place(design, first), _place(design, second)
    between = design.build.steps[first + 1 : second]
    return [s for s in between if isinstance(s, TapeStep | SpacerStep) and lies_between(s, *places)]


def laid_over(design: Design, number: int) -> list[TapeStep | SpacerStep]:
    """Tape and spacers laid over a step, at its place.

    Parameters
    ----------
    design : Design
    number : int, index of the step
    """
    place, later = _place(design, number), design.build.steps[number + 1 :]
    return [s for s in later if isinstance(s, TapeStep | SpacerStep) and place_of(s).overlaps(place)]


def _insulation(step: TapeStep | SpacerStep) -> list[Insulation]:
    if isinstance(step, TapeStep):
        count = int(np.asarray(step.wraps).flat[0])
        return [Insulation("tape", count, first_build(step.thickness))] if count else []
    return [Insulation("spacer", 1, first_build(step.thickness))]


def _to_core(design: Design, second: int) -> list[Face]:
    """The innermost conductor against the core: the bobbin's wall and the tape on it."""
    names = tuple(name for name in design.build.steps[second].names if circuit_of(design, name) != CORE)
    if not names or not design.core.dimensions.permeable:
        return []
    flat = design.build.direction == "up"
    thickness = first_build(design.bobbin.flange if flat else design.bobbin.wall)
    ring = design.core.dimensions.ring
    name = "flange" if flat else "coating" if ring else "bobbin wall"
    wall = [Insulation(name, 1, thickness)] if thickness > 0 else []
    tape = [
        part
        for step in design.build.steps[:second]
        if isinstance(step, TapeStep | SpacerStep) and place_of(step).overlaps(_place(design, second))
        for part in _insulation(step)
    ]
    return [
        Face(
            kind="core",
            first=None,
            second=second,
            first_names=(CORE,),
            second_names=names,
            insulation=(*wall, *tape),
        )
    ]


def _outermost(design: Design, number: int, conducting: Sequence[int]) -> bool:
    """Whether no later conductor covers a step completely."""
    later = (
        later_step
        for later_step in conducting
        if later_step > number and not side_by_side(design, number, later_step)
    )
    return not any(_within(_place(design, number), _place(design, later_step)) for later_step in later)


def _across(design: Design, conducting: Sequence[int]) -> list[Face]:
    """Neighbours at different places: adjoining chambers, sectors of a ring, the two legs of a U core. One
    face for each pair of names."""
    faces: dict[tuple[str, tuple[str, ...], tuple[str, ...]], Face] = {}
    for first, second in combinations(conducting, 2):
        first_place, second_place = _place(design, first), _place(design, second)
        insulation: tuple[Insulation, ...] = ()
        kind: FaceKind
        if first_place.leg != second_place.leg:
            if not (_outermost(design, first, conducting) and _outermost(design, second, conducting)):
                continue
            kind = "legs"
            insulation = tuple(
                part
                for number in (first, second)
                for step in laid_over(design, number)
                for part in _insulation(step)
            )
        elif (
            first_place.chamber is not None
            and second_place.chamber is not None
            and abs(first_place.chamber - second_place.chamber) == 1
        ):
            kind = "chambers"
            partition = first_build(design.bobbin.partition)
            insulation = (Insulation("partition", 1, partition),) if partition > 0 else ()
        elif (
            first_place.sector is not None
            and second_place.sector is not None
            and not first_place.overlaps(second_place)
        ):
            kind = "sectors"
        else:
            continue
        for face in _pair(design, kind, first, second, insulation):
            faces.setdefault((kind, face.first_names, face.second_names), face)
    return list(faces.values())
