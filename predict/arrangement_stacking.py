"""Many orders of the same sections laid at once, as builds of one batch.

Off a ring a section is as high wherever it lies, so that every order is known by the height on which each of
its sections begins. The sections are laid in one order that all share, each on a spacer (which may well go
back towards the leg) that brings it to its own height in every build.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from .arrangement_batches import Batch
from .arrangement_divisions import connected, section_steps
from .arrangement_faces import insulation_thickness
from .arrangement_orders import Sequences
from .arrangement_rules import Split
from .arrangement_units import Bay, Space
from .design import FloatArray, ShieldStep, SpacerStep, Step, TapeStep, ToroidDimensions, WindStep
from .errors import BuildError
from .layering import ROUNDING
from .layout import lay_out
from .solid_insulation import SolidInsulation
from .winding_space import Heaps, place_of, winding_space, window_of


@dataclass(frozen=True)
class Section:
    """What is laid in one piece at its place. ``height`` (m): None where a layer does not fit its breadth,
    infinite where it is higher than the room. ``solid``: thickness of each material within it (m);
    ``inside``: the same below each of its steps."""

    steps: tuple[Step, ...]
    height: float | None
    solid: tuple[float, ...]
    inside: tuple[tuple[float, ...], ...]


class Stacking:
    """Lays orders of a space; remembers the sections and what lies between them."""

    def __init__(self, space: Space) -> None:
        self.space = space
        design = space.design
        self.ring = isinstance(design.core.dimensions, ToroidDimensions)
        insulation = [step for step in design.build.steps if isinstance(step, TapeStep | SpacerStep)]
        self.materials = tuple(sorted({step.permittivity for step in insulation})) or (1.0,)
        width, height = window_of(design.core.dimensions)
        self.ceiling = height if design.build.direction == "up" else width
        self.floor, self.lead = self._floors()
        self._sections: dict[tuple[int, Split, int, Bay], Section] = {}
        self._between: dict[tuple[int, int], tuple[float, tuple[float, ...]]] = {}

    def _floors(self) -> tuple[dict[Bay, float], dict[Bay, tuple[float, ...]]]:
        """Where the first section of each place begins (m), and the insulation below it by material."""
        room = winding_space(self.space.design)
        heaps = Heaps()
        for step in self.space.lead:
            place = place_of(step)
            ground = heaps.top(place, room.bay(place).floor)
            heaps = heaps.raised(place, ground + insulation_thickness([step]), ground)
        floor, lead = {}, {}
        for leg, chamber in self.space.bays:
            place = place_of(SpacerStep(0.0, chamber=chamber, leg=leg))
            floor[leg, chamber] = float(heaps.top(place, room.bay(place).floor)[0])
            lead[leg, chamber] = self._solid(_concerning(self.space.lead, (leg, chamber)))
        return floor, lead

    def _solid(self, steps: Sequence[Step]) -> tuple[float, ...]:
        """Thickness (m) of each material among build steps."""
        total = dict.fromkeys(self.materials, 0.0)
        for step in steps:
            if isinstance(step, TapeStep | SpacerStep):
                total[step.permittivity] += insulation_thickness([step])
        return tuple(total.values())

    def section(self, unit: int, split: Split, ordinal: int, bay: Bay) -> Section:
        """Section ``ordinal`` of a unit divided by ``split``, at a place."""
        key = (unit, split, ordinal, bay)
        if key not in self._sections:
            pieces = section_steps(self.space.units[unit], split, ordinal)
            steps = tuple(replace(step, leg=bay[0], chamber=bay[1]) for step in pieces)
            inside = tuple(self._solid(steps[:k]) for k in range(len(steps)))
            height = self._height(unit, split, steps, bay)
            self._sections[key] = Section(steps, height, self._solid(steps), inside)
        return self._sections[key]

    def _height(self, unit: int, split: Split, steps: tuple[Step, ...], bay: Bay) -> float | None:
        space = self.space
        splits = tuple(split if k == unit else other.splits[0] for k, other in enumerate(space.units))
        windings = tuple(connected(space, splits, winding) for winding in space.design.windings)
        legs = {leg for leg, _ in space.bays}  # where there are two they share the window
        others = tuple(SpacerStep(0.0, leg=leg, chamber=bay[1]) for leg in legs if leg != bay[0])
        build = replace(space.design.build, steps=(*steps, *others))
        try:
            layout = lay_out(replace(space.design, windings=windings, build=build), strict=True)
        except BuildError as error:
            too_high = all(fault.place.startswith("build") for fault in error.faults)
            return float("inf") if too_high else None
        room = winding_space(replace(space.design, build=build))
        floor = float(room.bay(place_of(steps[0])).floor[0])
        return float(np.max(layout.stacked(layout.extent)[0, :, 1])) - floor

    def between(self, inner: int, outer: int) -> tuple[float, tuple[float, ...]]:
        """Thickness (m) of what lies between two neighbouring units, whole and by material."""
        if (inner, outer) not in self._between:
            units = self.space.units
            steps = self.space.faces.between(units[inner].steps[-1], units[outer].steps[0])
            self._between[inner, outer] = insulation_thickness(steps), self._solid(steps)
        return self._between[inner, outer]

    def bays_of(self, order: Sequences) -> tuple[tuple[Bay, ...], ...]:
        """Of every unit the places of its sections."""
        found: list[list[Bay]] = [[] for _ in self.space.units]
        for bay, symbols in zip(self.space.bays, order, strict=True):
            for symbol in symbols:
                found[symbol].append(bay)
        return tuple(map(tuple, found))

    def misfit(self, splits: tuple[Split, ...], order: Sequences) -> str:
        """Why an order cannot be wound: "breadth" (a layer does not fit), "height" (its sections alone are
        higher than the window); "" where this quick look finds nothing."""
        number = [0] * len(splits)
        reason = ""
        for bay, symbols in zip(self.space.bays, order, strict=True):
            own = 0.0
            for symbol in symbols:
                section = self.section(symbol, splits[symbol], number[symbol], bay)
                number[symbol] += 1
                if section.height is None:
                    return "breadth"
                own += section.height
            if self.floor[bay] + own > self.ceiling * (1 + ROUNDING):
                reason = "height"
        return reason

    def stacked(
        self, splits: tuple[Split, ...], orders: Sequence[Sequences]
    ) -> tuple[Batch, NDArray[np.bool_]]:
        """All of ``orders``, which have their sections at the same places, as one batch; and which of them
        fit. Every section fits its breadth."""
        space, bays = self.space, self.bays_of(orders[0])
        pieces = [
            (self.section(unit, splits[unit], ordinal, bay), bay)
            for unit, places in enumerate(bays)
            for ordinal, bay in enumerate(places)
        ]
        first = np.cumsum([0, *map(len, bays)])  # of each unit's sections
        at = np.empty((len(orders), len(pieces)))
        top = np.empty((len(orders), len(space.bays)))
        solid = np.empty((len(orders), len(pieces), len(self.materials)))
        whole = np.empty((len(orders), len(space.bays), len(self.materials)))
        for build, order in enumerate(orders):
            laid = list(first)
            for place, (bay, symbols) in enumerate(zip(space.bays, order, strict=True)):
                ground, below = self.floor[bay], self.lead[bay]
                before = None
                for symbol in symbols:
                    if before is not None:
                        thick, parts = self.between(before, symbol)
                        ground, below = ground + thick, _sum(below, parts)
                    number = laid[symbol]
                    laid[symbol] += 1
                    at[build, number], solid[build, number] = ground, below
                    piece = pieces[number][0]
                    assert piece.height is not None
                    ground, below = ground + piece.height, _sum(below, piece.solid)
                    before = symbol
                top[build, place], whole[build, place] = ground, below
        whole += np.array([self._solid(_concerning(space.tail, bay)) for bay in space.bays])
        return self._laid(splits, pieces, at, top, solid, whole, bays)

    def _laid(
        self,
        splits: tuple[Split, ...],
        pieces: Sequence[tuple[Section, Bay]],
        at: FloatArray,
        top: FloatArray,
        solid: FloatArray,
        whole: FloatArray,
        bays: tuple[tuple[Bay, ...], ...],
    ) -> tuple[Batch, NDArray[np.bool_]]:
        space = self.space
        heap = {bay: np.full(len(at), floor) for bay, floor in self.floor.items()}
        steps: list[Step] = list(space.lead)
        numbers, inside = [], []
        for number, (piece, bay) in enumerate(pieces):
            steps.append(SpacerStep(at[:, number] - heap[bay], leg=bay[0], chamber=bay[1]))
            for place, step in enumerate(piece.steps):
                numbers.append((len(steps), number, space.bays.index(bay)))
                inside.append(piece.inside[place])
                steps.append(step)
            assert piece.height is not None
            heap[bay] = at[:, number] + piece.height
        for place, bay in enumerate(space.bays):
            steps.append(SpacerStep(top[:, place] - heap[bay], leg=bay[0], chamber=bay[1]))
        steps += space.tail
        below = np.zeros((len(at), len(space.bays), len(steps), len(self.materials)))
        for (index, number, place), extra in zip(numbers, inside, strict=True):
            below[:, place, index] = solid[:, number] + np.array(extra)
        windings = tuple(connected(space, splits, winding) for winding in space.design.windings)
        build = replace(space.design.build, steps=tuple(steps))
        design = replace(space.design, windings=windings, build=build)
        layout = lay_out(design)
        bare = tuple(step if isinstance(step, WindStep | ShieldStep) else SpacerStep(0.0) for step in steps)
        design = replace(design, build=replace(build, steps=bare), tests=())
        insulation = SolidInsulation(space.bays, self.materials, below, whole)
        return Batch(design, layout, insulation, (splits, bays)), layout.fill <= 1 + ROUNDING


def _concerning(steps: Sequence[Step], bay: Bay) -> list[Step]:
    return [step for step in steps if step.leg == bay[0] and step.chamber in (None, bay[1])]


def _sum(one: tuple[float, ...], other: tuple[float, ...]) -> tuple[float, ...]:
    return tuple(a + b for a, b in zip(one, other, strict=True))
