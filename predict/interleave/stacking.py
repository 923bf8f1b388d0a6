"""Many orders of the same sections laid at once, as builds of one batch.

An order is described by the height at which each of its sections begins. Except on a ring a section has the
same height wherever it lies; on a ring it has more layers the higher it lies. The sections are laid in one
common order, each on a spacer (which may be negative) that brings it to its own height in every build.
"""

from __future__ import annotations

import math
from collections.abc import Hashable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from ..capacitance import Batch, SolidInsulation
from ..design import FloatArray, SpacerStep, Step, TapeStep
from ..errors import BuildError
from ..winding import ROUNDING, Heaps, lay_out, place_of, thickness_of, winding_space
from .divisible_parts import Bay, Rearrangement
from .divisions import connected, section_steps, shields_named
from .faces import highest, lowest
from .orders import Sequences
from .rules import Split

_SAME = 1e-10
"""Heights (m) that differ by less than this are equal (rounding; judged: far below any
film, far above 1e-16 of a window)."""


@dataclass(frozen=True)
class StackedSection:
    """What is laid in one piece at its place.

    Attributes
    ----------
    steps : tuple of Step, its build steps
    height : float or None
        Height, m; None where a layer does not fit its breadth, infinite where it is higher than the room.
    layers : int, of all its steps, count
    solid : tuple of float, thickness of each material within it, m
    inside : tuple of tuple of float, thickness of each material within it below each of its steps, m
    """

    steps: tuple[Step, ...]
    height: float | None
    layers: int
    solid: tuple[float, ...]
    inside: tuple[tuple[float, ...], ...]


@dataclass(frozen=True)
class Placed:
    """One order with its sections at their heights.

    Attributes
    ----------
    sections : tuple of (StackedSection, Bay), of every unit in turn, each with its place
    at : tuple of float, where each section begins, m
    below : tuple of tuple of float, insulation below each section by material, m
    top : tuple of float, where the build ends at every place, m
    whole : tuple of tuple of float, all insulation at every place by material, m
    """

    sections: tuple[tuple[StackedSection, Bay], ...]
    at: tuple[float, ...]
    below: tuple[tuple[float, ...], ...]
    top: tuple[float, ...]
    whole: tuple[tuple[float, ...], ...]

    @property
    def structure(self) -> Hashable:
        """What orders that are stacked together have in common."""
        return tuple((section.layers, bay) for section, bay in self.sections)


class Stacking:
    """Lays orders of a space; remembers the sections and what lies between them."""

    def __init__(self, space: Rearrangement) -> None:
        self.space = space
        design = space.design
        self.ring = design.core.dimensions.ring
        insulation = [step for step in design.build.steps if isinstance(step, TapeStep | SpacerStep)]
        self.materials = tuple(sorted({step.permittivity for step in insulation})) or (1.0,)
        width, height = design.core.dimensions.window
        self.ceiling = height if design.build.direction == "up" else width
        self.ground, self.lead = self._grounds()
        self.floor_solid, self.cover_solid = map(self._solid, (space.faces.floor, space.faces.cover))
        self._pieces: dict[tuple[int, Split, int], tuple[Step, ...]] = {}
        self._sections: dict[tuple[Split, tuple[Step, ...], Bay, int, frozenset[int]], StackedSection] = {}
        self._between: dict[tuple[int, int], tuple[float, tuple[float, ...]]] = {}

    def _grounds(self) -> tuple[dict[Bay, float], dict[Bay, tuple[float, ...]]]:
        """Where the insulation across all places ends at each place (m), and how much of it there is by
        material."""
        room = winding_space(self.space.design)
        heaps = Heaps()
        for step in self.space.lead:
            place = place_of(step)
            ground = heaps.top(place, room.bay(place).floor)
            heaps = heaps.raised(place, ground + thickness_of([step]), ground)
        grounds, lead = {}, {}
        for leg, chamber in self.space.bays:
            place = place_of(SpacerStep(0.0, chamber=chamber, leg=leg))
            grounds[leg, chamber] = float(heaps.top(place, room.bay(place).floor)[0])
            lead[leg, chamber] = self._solid(_concerning(self.space.lead, (leg, chamber)))
        return grounds, lead

    def _solid(self, steps: Sequence[Step]) -> tuple[float, ...]:
        """Thickness (m) of each material among build steps."""
        total = dict.fromkeys(self.materials, 0.0)
        for step in steps:
            if isinstance(step, TapeStep | SpacerStep):
                total[step.permittivity] += thickness_of([step])
        return tuple(total.values())

    def section(
        self, unit: int, split: Split, ordinal: int, bay: Bay, ground: float, legs: frozenset[int]
    ) -> StackedSection:
        """One section of a divided unit at a place.

        Parameters
        ----------
        unit : int, index
        split : Split
        ordinal : int, index of the section in the order of the build
        bay : Bay
        ground : float, height at which it begins, m
        legs : frozenset of int, that are wound in this build, count from 1
        """
        if (unit, split, ordinal) not in self._pieces:
            self._pieces[unit, split, ordinal] = section_steps(self.space.units[unit], split, ordinal)
        pieces = self._pieces[unit, split, ordinal]
        rise = ground - self.ground[bay] if self.ring else 0.0
        key = (split, pieces, bay, round(rise / _SAME), legs)
        if key not in self._sections:
            steps = tuple(replace(step, leg=bay[0], chamber=bay[1]) for step in pieces)
            inside = tuple(self._solid(steps[:k]) for k in range(len(steps)))
            height, layers = self._measured(unit, split, steps, rise, legs)
            self._sections[key] = StackedSection(steps, height, layers, self._solid(steps), inside)
        return self._sections[key]

    def _measured(
        self, unit: int, split: Split, steps: tuple[Step, ...], rise: float, legs: frozenset[int]
    ) -> tuple[float | None, int]:
        """Height (m; see ``StackedSection``) and number of layers of a section on its own."""
        space, first = self.space, steps[0]
        splits = tuple(split if k == unit else neighbour.splits[0] for k, neighbour in enumerate(space.units))
        windings = tuple(connected(space, splits, winding) for winding in space.design.windings)
        # if both legs are wound they share the window
        around = [SpacerStep(0.0, leg=leg, chamber=first.chamber) for leg in legs - {first.leg}]
        around.append(SpacerStep(rise, leg=first.leg, chamber=first.chamber))
        build = replace(space.design.build, steps=(*around, *steps))
        try:
            layout = lay_out(replace(space.design, windings=windings, build=build), strict=True)
        except BuildError as error:
            too_high = self.ring or all(fault.place.startswith("build") for fault in error.faults)
            return math.inf if too_high else None, 0
        floor = float(winding_space(replace(space.design, build=build)).bay(place_of(first)).floor[0])
        end = float(np.max(layout.stacked(layout.extent)[0, :, 1]))
        return end - floor - rise, len(layout.sections)

    def between(self, inner: int, outer: int) -> tuple[float, tuple[float, ...]]:
        """Thickness of what lies between two neighbouring units.

        Parameters
        ----------
        inner, outer : int, index

        Returns
        -------
        tuple of (float, tuple of float), thickness as a whole and by material, m
        """
        if (inner, outer) not in self._between:
            units = self.space.units
            steps = self.space.faces.between(highest(units[inner].steps), lowest(units[outer].steps))
            self._between[inner, outer] = thickness_of(steps), self._solid(steps)
        return self._between[inner, outer]

    def placed(self, splits: tuple[Split, ...], order: Sequences) -> Placed | str:
        """Where every section of an order lies.

        Parameters
        ----------
        splits : tuple of Split, one for each unit
        order : Sequences

        Returns
        -------
        Placed or str
            Sections at their heights; or why it cannot be wound: "breadth" (a layer does not fit) or
            "height".
        """
        space = self.space
        rows_of_split: list[list[tuple[StackedSection, Bay, float, tuple[float, ...]]]] = [[] for _ in splits]
        tops, wholes = [], []
        legs = frozenset(leg for (leg, _), symbols in zip(space.bays, order, strict=True) if symbols)
        too_high = False
        for bay, symbols in zip(space.bays, order, strict=True):
            ground, below = self.ground[bay], self.lead[bay]
            if symbols:
                ground += thickness_of(space.faces.floor)
                below = _sum(below, self.floor_solid)
            before = None
            for symbol in symbols:
                if before is not None:
                    thick, parts = self.between(before, symbol)
                    ground, below = ground + thick, _sum(below, parts)
                section = self.section(symbol, splits[symbol], len(rows_of_split[symbol]), bay, ground, legs)
                if section.height is None:
                    return "breadth"
                rows_of_split[symbol].append((section, bay, ground, below))
                ground, below = ground + section.height, _sum(below, section.solid)
                if ground > self.ceiling * (1 + ROUNDING):
                    too_high = True
                    if self.ring:
                        return "height"
                before = symbol
            if symbols:
                ground += thickness_of(space.faces.cover)
                below = _sum(below, self.cover_solid)
                too_high = too_high or ground > self.ceiling * (1 + ROUNDING)
            tops.append(ground)
            wholes.append(_sum(below, self._solid(_concerning(space.tail, bay))))
        if too_high:
            return "height"
        rows = [row for rows_of_one in rows_of_split for row in rows_of_one]
        return Placed(
            tuple((section, bay) for section, bay, _, _ in rows),
            tuple(ground for _, _, ground, _ in rows),
            tuple(below for _, _, _, below in rows),
            tuple(tops),
            tuple(wholes),
        )

    def stacked(self, splits: tuple[Split, ...], placed: Sequence[Placed]) -> tuple[Batch, NDArray[np.bool_]]:
        """Orders of one structure as one batch, and which of them fit.

        Parameters
        ----------
        splits : tuple of Split, one for each unit
        placed : sequence of B Placed

        Returns
        -------
        batch : Batch, the orders as builds
        fits : (B,) array of bool, whether each fits its window
        """
        space = self.space
        at, top = np.array([stacked.at for stacked in placed]), np.array([stacked.top for stacked in placed])
        solid, whole = (
            np.array([stacked.below for stacked in placed]),
            np.array([stacked.whole for stacked in placed]),
        )
        heights = np.array([[section.height for section, _ in stacked.sections] for stacked in placed], float)
        heap = {bay: np.full(len(placed), ground) for bay, ground in self.ground.items()}
        steps: list[Step] = list(space.lead)
        below: dict[int, tuple[int, FloatArray]] = {}
        for number, (section, bay) in enumerate(placed[0].sections):
            steps.append(SpacerStep(at[:, number] - heap[bay], leg=bay[0], chamber=bay[1]))
            for step, inside in zip(section.steps, section.inside, strict=True):
                below[len(steps)] = space.bays.index(bay), solid[:, number] + np.array(inside)
                steps.append(step)
            heap[bay] = at[:, number] + heights[:, number]
        used = {bay for _, bay in placed[0].sections}
        for bay_index, bay in enumerate(space.bays):
            if bay not in used:
                continue
            steps.append(SpacerStep(top[:, bay_index] - heap[bay], leg=bay[0], chamber=bay[1]))
        steps += space.tail
        windings = tuple(connected(space, splits, winding) for winding in space.design.windings)
        steps = shields_named(space, steps)
        build = replace(space.design.build, steps=tuple(steps))
        design = replace(space.design, windings=windings, build=build, tests=())
        layout = lay_out(design)
        bare = tuple(step if step.conducts else SpacerStep(0.0) for step in steps)
        known = np.zeros((len(placed), len(space.bays), len(steps), len(self.materials)))
        for index, (place, thickness) in below.items():
            known[:, place, index] = thickness
        insulation = SolidInsulation(space.bays, self.materials, known, whole)
        laid = replace(design, build=replace(build, steps=bare))
        key = (splits, placed[0].structure)
        return Batch(laid, layout, insulation, key), layout.fill <= 1 + ROUNDING


def _concerning(steps: Sequence[Step], bay: Bay) -> list[Step]:
    return [step for step in steps if step.leg == bay[0] and step.chamber in (None, bay[1])]


def _sum(first: tuple[float, ...], second: tuple[float, ...]) -> tuple[float, ...]:
    return tuple(a + b for a, b in zip(first, second, strict=True))
