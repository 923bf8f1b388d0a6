"""Where a build may lie: the window between leg, yokes and flanges, its chambers, both legs of a U core, the
sectors of a ring; and how high the build stands at each place so far.

Two axes are told apart. A build *stacks* along one axis and its layers run *along* the other. Layers around
the leg (direction "out") stack across the window, from the leg's surface outwards, and run along the leg,
from the lower flange. Flat layers ("up") stack along the leg, from the lower flange upwards, and run across
the window, from the bobbin's wall at the leg. On a ring layers stack on all faces and run around it. All
lengths in m; arrays are (B,) over builds.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace

import numpy as np

from ..design import (
    Design,
    FloatArray,
    Step,
    WindStep,
    builds,
)

_TOUCHING = 1e-9  # sectors that share less than this angle (rad) do not overlap


@dataclass(frozen=True)
class Place:
    """Where a step lies. ``leg``: 1 or 2. ``chamber``: from 1; None: across all of them. ``from_angle``,
    ``sector``: on a ring (rad); None: all round."""

    leg: int = 1
    chamber: int | None = None
    from_angle: float = 0.0
    sector: float | None = None

    def overlaps(self, other: Place) -> bool:
        """Whether one of the two lies on the other."""
        if self.leg != other.leg:
            return False
        if None not in (self.chamber, other.chamber) and self.chamber != other.chamber:
            return False
        if self.sector is None or other.sector is None:
            return True
        ahead = (other.from_angle - self.from_angle) % math.tau
        return ahead < self.sector - _TOUCHING or math.tau - ahead < other.sector - _TOUCHING


def place_of(step: Step) -> Place:
    """The place that a build step names."""
    if isinstance(step, WindStep):
        return Place(step.leg, step.chamber, step.from_angle % math.tau, step.sector)
    return Place(step.leg, step.chamber)


@dataclass(frozen=True)
class Bay:
    """The room at one place, (B,) each (m). ``floor``, ``ceiling``: between which the build stacks.
    ``start``, ``end``: between which a layer runs; both 0 on a ring."""

    floor: FloatArray
    ceiling: FloatArray
    start: FloatArray
    end: FloatArray


@dataclass(frozen=True, kw_only=True)
class WindingSpace:
    """The winding space of a design of B builds.

    flat : direction "up". ring : a toroid. width, height : of the window (m; a ring's height is infinite).
    legs : 1, or 2 where steps lie on both legs of a U core. wall : (B,) from leg to first layer (m).
    walls : of every chamber the (lower, upper) wall above the lower yoke, (B,) each (m).
    """

    flat: bool
    ring: bool
    width: float
    height: float
    legs: int
    wall: FloatArray
    walls: tuple[tuple[FloatArray, FloatArray], ...]

    def bay(self, place: Place) -> Bay:
        """The room at a place: of one chamber, or between the flanges."""
        whole = np.ones_like(self.wall)
        if self.ring:
            return Bay(self.wall, self.width * whole, 0.0 * whole, 0.0 * whole)
        low, high = self.walls[0][0], self.walls[-1][1]
        if place.chamber is not None:
            low, high = self.walls[place.chamber - 1]
        if self.flat:
            return Bay(low, high, self.wall, self.width / self.legs * whole)
        return Bay(self.wall, self.width * whole, low, high)

    def across(self, heaps: Heaps) -> FloatArray:
        """(B,) what a build around the leg takes of the window's width (m), both legs together."""
        tops = [heaps.top(Place(leg), self.wall) for leg in range(1, self.legs + 1)]
        return np.asarray(np.sum(np.stack(tops), axis=0))

    def pressing(self, heaps: Heaps, place: Place) -> tuple[FloatArray, FloatArray]:
        """(B,) floor (m) of a place and the factor by which a build that is too high is pressed towards it,
        to 999 thousandths of the room; 1 where it fits."""
        bay = self.bay(place)
        top, foot = heaps.top(place, bay.floor), bay.floor
        if not self.flat:
            top, foot = self.across(heaps), self.legs * bay.floor
        room = 0.999 * bay.ceiling - foot
        return bay.floor, np.where(top > bay.ceiling, room / np.maximum(top - foot, 1e-12), 1.0)

    def filled(self, heaps: Heaps) -> tuple[FloatArray, FloatArray]:
        """(B,) where the finished build ends (m), and the part of the room that it fills (see ``Layout``)."""
        if not self.flat:
            tops = [heaps.top(Place(leg), self.wall) for leg in range(1, self.legs + 1)]
            return np.max(np.stack(tops), axis=0), self.across(heaps) / self.width
        tops, fills = [], []
        for leg in range(1, self.legs + 1):
            for number in range(1, len(self.walls) + 1):
                place = Place(leg, number if len(self.walls) > 1 else None)
                bay = self.bay(place)
                tops.append(heaps.top(place, bay.floor))
                fills.append((tops[-1] - bay.floor) / np.maximum(bay.ceiling - bay.floor, 1e-12))
        return np.max(np.stack(tops), axis=0), np.max(np.stack(fills), axis=0)


def winding_space(design: Design) -> WindingSpace:
    """The winding space of ``design``, for all its builds."""
    count = builds(design) or 1
    width, height = design.core.dimensions.window
    ring = design.core.dimensions.ring
    legs = 2 if any(step.leg == 2 for step in design.build.steps) else 1
    wall = np.asarray(design.bobbin.wall) * np.ones(count)
    walls = () if ring else chamber_walls(design, height, count)
    return WindingSpace(
        flat=design.build.direction == "up",
        ring=ring,
        width=width,
        height=height,
        legs=legs,
        wall=wall,
        walls=walls,
    )


def chamber_walls(design: Design, height: float, count: int = 1) -> tuple[tuple[FloatArray, FloatArray], ...]:
    """Lower and upper wall of every chamber above the lower yoke, (B,) each (m), in a window of ``height``,
    for ``count`` builds.

    Equal chambers share the room between the flanges less the partitions. Listed breadths keep their size;
    where they do not fit (a changed build: the reader refuses it in a design) they shrink evenly.
    """
    bobbin = design.bobbin
    whole = np.ones(count)
    listed = bobbin.chambers
    number = len(listed) or bobbin.chamber_count
    partition = np.asarray(bobbin.partition) * whole
    flange = np.asarray(bobbin.flange) * whole
    room = height - 2 * flange - (number - 1) * partition
    if listed:
        total = sum(listed) * np.asarray(bobbin.chamber_scale) * whole
        fit = np.where(total > room, np.maximum(room, 0.0) / total, 1.0) * np.asarray(bobbin.chamber_scale)
        breadths = [breadth * fit for breadth in listed]
    else:
        breadths = [room / number] * number
    walls, low = [], flange
    for breadth in breadths:
        walls.append((low, low + breadth))
        low = low + breadth + partition
    return tuple(walls)


@dataclass(frozen=True)
class Heaps:
    """How high the build stands: ``tops``, the height of every place that a step lies at; ``place``,
    ``start`` and ``end_along`` of the step before (B,) (m)."""

    tops: tuple[tuple[Place, FloatArray], ...] = ()
    place: Place | None = None
    start: FloatArray = field(default_factory=lambda: np.zeros(1))
    end_along: FloatArray = field(default_factory=lambda: np.zeros(1))

    def top(self, place: Place, floor: FloatArray) -> FloatArray:
        """(B,) height on which a step at ``place`` lies: the highest of all that it overlaps, else the
        floor."""
        result = floor
        for other, top in self.tops:
            if place.overlaps(other):
                result = np.maximum(result, top)
        return result

    def raised(
        self, place: Place, top: FloatArray, start: FloatArray, end_along: FloatArray | None = None
    ) -> Heaps:
        """The heaps with a step at ``place`` from ``start`` to ``top``, which ends at ``end_along`` (None: as
        before)."""
        tops = tuple((other, height) for other, height in self.tops if other != place)
        end = self.end_along if end_along is None else end_along
        return replace(self, tops=(*tops, (place, top)), place=place, start=start, end_along=end)
