"""Where a build may lie: the window between leg, yokes and flanges, its chambers, both legs of a U core, the
sectors of a ring; and how high the build stands at each place so far.

There are two axes: a build *stacks* along one, and its layers run *along* the other. Layers around
the leg (direction "out") stack across the window, from the leg's surface outwards, and run along the leg,
from the lower flange. Flat layers ("up") stack along the leg, from the lower flange upwards, and run across
the window, from the bobbin's wall at the leg. On a ring layers stack on all faces and run around it. All
lengths in m; arrays are (B,) over builds.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np

from ..design import Design, FloatArray, Step, WindStep, builds

_TOUCHING = 1e-9  # sectors that share less than this angle (rad) do not overlap


@dataclass(frozen=True)
class Place:
    """Where a step lies.

    Attributes
    ----------
    leg : int, leg, count from 1: 1 or 2
    chamber : int or None, chamber, count from 1; None: across all of them
    from_angle : float, angle at which it begins on a ring, rad
    sector : float or None, angle that it covers on a ring, rad; None: all round
    """

    leg: int = 1
    chamber: int | None = None
    from_angle: float = 0.0
    sector: float | None = None

    def overlaps(self, second: Place) -> bool:
        """Whether one of two places lies on the other: they share any room."""
        if self.leg != second.leg:
            return False
        if None not in (self.chamber, second.chamber) and self.chamber != second.chamber:
            return False
        if self.sector is None or second.sector is None:
            return True
        ahead = (second.from_angle - self.from_angle) % math.tau
        return ahead < self.sector - _TOUCHING or math.tau - ahead < second.sector - _TOUCHING


def place_of(step: Step) -> Place:
    """The place that a build step names."""
    if isinstance(step, WindStep):
        return Place(step.leg, step.chamber, step.from_angle % math.tau, step.sector)
    return Place(step.leg, step.chamber)


@dataclass(frozen=True)
class Bay:
    """The room at one place, for B builds.

    Attributes
    ----------
    floor, ceiling : (B,) array, where the stack begins and where it must end, m
    start, end : (B,) array, where a layer begins and ends, m; 0 on a ring
    """

    floor: FloatArray
    ceiling: FloatArray
    start: FloatArray
    end: FloatArray

    @property
    def breadth(self) -> float:
        """Length along the layers in the first build, m."""
        return float((self.end - self.start).flat[0])


@dataclass(frozen=True, kw_only=True)
class WindingSpace:
    """The winding space of a design of B builds.

    Attributes
    ----------
    flat : bool, whether the layers lie flat (direction "up")
    ring : bool, whether the core is a toroid
    width : float, of the window, m
    height : float, of the window, m; infinite on a ring
    legs : int, that are wound, count: 2 if steps lie on both legs of a U core
    wall : (B,) array, distance from the leg to the first layer, m
    walls : tuple of pairs of (B,) arrays, lower and upper wall of every chamber above the lower yoke, m
    """

    flat: bool
    ring: bool
    width: float
    height: float
    legs: int
    wall: FloatArray
    walls: tuple[tuple[FloatArray, FloatArray], ...]

    def bay(self, place: Place) -> Bay:
        """The room at a place: that of one chamber, or all between the flanges."""
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
        """Width of the window taken by a build around the leg, both legs together: (B,) array, m."""
        tops = [heaps.top(Place(leg), self.wall) for leg in range(1, self.legs + 1)]
        return np.asarray(np.sum(np.stack(tops), axis=0))

    def pressing(self, heaps: Heaps, place: Place) -> tuple[FloatArray, FloatArray]:
        """How a build that is too high is pressed towards its floor, to 0.999 of the room.

        Parameters
        ----------
        heaps : Heaps
        place : Place

        Returns
        -------
        floor : (B,) array, of the place, m
        factor : (B,) array, factor on the height above the floor, dimensionless; 1 where the build fits
        """
        bay = self.bay(place)
        top, foot = heaps.top(place, bay.floor), bay.floor
        if not self.flat:
            top, foot = self.across(heaps), self.legs * bay.floor
        room = 0.999 * bay.ceiling - foot
        return bay.floor, np.where(top > bay.ceiling, room / np.maximum(top - foot, 1e-12), 1.0)

    def filled(self, heaps: Heaps) -> tuple[FloatArray, FloatArray]:
        """How far the finished build reaches, m, and how much of the room it fills, dimensionless (see
        ``Layout``): (B,) arrays."""
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
    """The winding space of a design, for all its builds."""
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
    """Lower and upper wall of every chamber above the lower yoke.

    Equal chambers share the room between the flanges less the partitions. Listed breadths keep their size;
    where they do not fit they shrink evenly (only a changed build can get there: the reader refuses such a
    design).

    Parameters
    ----------
    design : Design of one or B builds
    height : float, of the window, m
    count : int, number of builds B, count

    Returns
    -------
    tuple of pairs of (B,) arrays, m
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
    """How high the build stands so far.

    Attributes
    ----------
    tops : tuple of (Place, (B,) array), height at every place where a step lies, m
    place : Place or None, of the step before
    start : (B,) array, height at which the step before begins, m
    end_along : (B,) array, where the step before ends along the layer, m
    """

    tops: tuple[tuple[Place, FloatArray], ...] = ()
    place: Place | None = None
    start: FloatArray = field(default_factory=lambda: np.zeros(1))
    end_along: FloatArray = field(default_factory=lambda: np.zeros(1))

    def top(self, place: Place, floor: FloatArray) -> FloatArray:
        """Height on which a step lies: the highest of all places that it overlaps, else the floor.

        Parameters
        ----------
        place : Place of the step
        floor : (B,) array, floor there, m

        Returns
        -------
        (B,) array, height, m
        """
        result = floor
        for known, top in self.tops:
            if place.overlaps(known):
                result = np.maximum(result, top)
        return result

    def raised(
        self, place: Place, top: FloatArray, start: FloatArray, end_along: FloatArray | None = None
    ) -> Heaps:
        """The heaps with one more step on them.

        Parameters
        ----------
        place : Place of the step
        top, start : (B,) array, height at which the step ends and begins, m
        end_along : (B,) array or None
            Where the step ends along the layer, m; None: where the step before ended.
        """
        tops = tuple((known, height) for known, height in self.tops if known != place)
        end = self.end_along if end_along is None else end_along
        return Heaps(tops=(*tops, (place, top)), place=place, start=start, end_along=end)
