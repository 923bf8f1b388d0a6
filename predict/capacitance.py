"""Capacitance of a build: the electrostatic energy of its layers at their real potentials.

Turns of one branch (what one step winds of one winding) share their flux, so the potential runs evenly with
the turns from the branch's start to its finish; along a layer it is linear from the turns that the layer
begins with to those that it ends with. Between two neighbouring faces with c farads per area and turns of
length l

    W = ½ c l ∫ [V_a(y) − V_b(y)]² dy

over the stretch along which they see each other: a layer hides what lies behind it only where it covers.
With every potential a combination of the branches' end potentials V, W = ½ Vᵀ C V, and C is the matrix of
this module: symmetric, positive semidefinite, with rows that sum to zero (nothing is grounded). Core and
shields are conductors of one potential.

Faces: layer to layer, to leg and outer wall, to shields; ends of layers to yokes and to the neighbouring
chamber (as plates, ε0 × thickness/distance); turn to turn within a layer, which is nearly all between
windings wound together. What lies between is taken from the build steps: tape, spacers, interlayer, the
bobbin's walls; the rest is air or what impregnates the part. Range: layers along which neighbours are
closer than they are broad.

A turn of foil has one potential across its breadth, and neighbouring turns differ by one turn's voltage all
round: foils count as wound from the same side. In a layer wound without order any of its turns may lie
anywhere: at each place the mean potential of the layer, with the variance Δ²/12 of the potentials between
its two ends, independent of its neighbour's:

    E[(V_a − V_b)²] = (V̄_a − V̄_b)² + Δ_a²/12 + Δ_b²/12

so p such layers hold 7/6 of what same-side winding holds, back and forth 4/3. Its neighbouring turns count
as one turn apart, which is the least.

Source: electrostatics; the energy method for windings is textbook matter (E. C. Snelling, "Soft Ferrites",
1988, ch. 11, from memory); the statistics of wild winding is this project's own.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from .design import (
    Design,
    EDimensions,
    FloatArray,
    PotDimensions,
    RoundDimensions,
    SpacerStep,
    TapeStep,
    ToroidDimensions,
    UDimensions,
    Wire,
)
from .layer_capacitance import (
    FILLING,
    SHEET,
    Face,
    alternating_capacitance,
    facing_capacitance,
    neighbour_capacitance,
)
from .layering import bundle_factor
from .layout import Layout, leg_perimeter, window_of
from .round_outline import outer_leg_angle
from .wire_rows import EPSILON_0

INTERLAYER = 3.3
"""Relative permittivity of insulation between the layers of one step (as tape; common practice, no
source)."""
WALL_AIR = 0.1
"""Share of a bobbin's wall that is clearance to the leg (common practice, no source)."""
LITZ_COPPER = 0.95
"""Diameter of a litz bundle's conductors over its overall diameter (common practice, no source)."""
CORE = "core"
_GATHERED = 20_000  # potentials' products (terms × builds) that are added in one step


@dataclass(frozen=True)
class BuildCapacitance:
    """``labels`` of the m potentials: (branch, "start"), (branch, "finish"), and core and shields by name, as
    (−1, name). ``matrix`` (B, m, m): C (F)."""

    labels: tuple[tuple[int, str], ...]
    matrix: FloatArray


@dataclass(frozen=True)
class _Unit:
    """One layer with all that is wound in it. near, far : where it lies across the layers; low, high :
    along them (B,) (m). members : its sections. shares : of the layer's breadth that each takes. faces : of
    each member."""

    members: tuple[int, ...]
    near: FloatArray
    far: FloatArray
    low: FloatArray
    high: FloatArray
    there: NDArray[np.bool_]
    length: FloatArray
    shares: tuple[FloatArray, ...]
    faces: tuple[Face, ...]
    step: int
    layer: int
    leg: int
    chamber: int | None


def build_capacitance(design: Design, layout: Layout) -> BuildCapacitance:
    """The capacitance matrix of all builds of ``design``; equations and range in the module's docstring."""
    return _Assembly(design, layout).result()


def _cut(layout: Layout) -> float:
    """The angle (rad) at which a ring is cut open so that no sector lies across the cut: 0, else where some
    sector begins; 0 as well where every cut meets one, which then counts up to it only."""
    sectors = [(s.from_angle, s.sector) for s in layout.sections if s.sector is not None]

    def whole(cut: float) -> bool:
        return all((begin - cut) % math.tau + size <= math.tau + 1e-9 for begin, size in sectors)

    return next((cut for cut in (0.0, *(begin for begin, _ in sectors)) if whole(cut)), 0.0)


class _Assembly:
    """Gathers the faces of one batch of builds; a scratch object of ``build_capacitance``."""

    def __init__(self, design: Design, layout: Layout) -> None:
        self.design, self.layout = design, layout
        self.count = len(layout.top)
        self.flat = design.build.direction == "up"
        self.scale = np.asarray(design.model.permittivity, float)
        self.filling = np.maximum(FILLING[design.build.impregnation], 1.0)
        dimensions = design.core.dimensions
        width, height = window_of(dimensions)
        self.toroid = isinstance(dimensions, ToroidDimensions)
        self.across, self.along = (height, width) if self.flat else (width, height)
        if isinstance(dimensions, ToroidDimensions):
            self.along = math.pi * (dimensions.inner_diameter + dimensions.outer_diameter) / 2
        self.origin = _cut(layout)
        shields = list(dict.fromkeys(s.winding for s in layout.sections if s.shield))
        branches = range(len(layout.branches))
        ends = [(branch, end) for branch in branches for end in ("start", "finish")]
        self.labels = (*ends, (-1, CORE), *((-1, name) for name in shields))
        self.place = {label: index for index, label in enumerate(self.labels)}
        self.matrix = np.zeros((self.count, len(self.labels), len(self.labels)))
        self.terms: list[tuple[FloatArray, FloatArray]] = []
        self.ends = [self._ends(index) for index in range(len(layout.sections))]
        self.units = self._units()

    def result(self) -> BuildCapacitance:
        self._faces_across()
        self._faces_along()
        self._turn_to_turn()
        self._gather()
        factor = np.reshape(np.asarray(self.design.model.capacitance, float), (-1, 1, 1))
        return BuildCapacitance(self.labels, (self.matrix + np.swapaxes(self.matrix, 1, 2)) / 2 * factor)

    # --- potentials ---------------------------------------------------------------------------------

    def _ends(self, index: int) -> tuple[FloatArray, FloatArray]:
        """(low, high): potential at both ends of a section along its layer, as combinations (B, m) of the
        labels."""
        section = self.layout.sections[index]
        size = (self.count, len(self.labels))
        if section.shield:
            vector = np.zeros(size)
            vector[:, self.place[-1, section.winding]] = 1.0
            return vector, vector
        own = [k for k, other in enumerate(self.layout.sections) if other.branch == section.branch]
        turns = self.layout.turns
        total = np.maximum(np.sum(turns[:, own], axis=1), 1e-12)
        before = np.sum(turns[:, [k for k in own if k < index]], axis=1) / total
        after = before + turns[:, index] / total
        start, finish = self.place[section.branch, "start"], self.place[section.branch, "finish"]

        def at(fraction: FloatArray) -> FloatArray:
            vector = np.zeros(size)
            vector[:, start], vector[:, finish] = 1.0 - fraction, fraction
            return vector

        foil = self.design.winding(section.winding).wire.kind == "foil"
        return (at(after), at(before)) if section.descending and not foil else (at(before), at(after))

    def _add(self, one: FloatArray, other: FloatArray, weight: FloatArray) -> None:
        """weight × one otherᵀ, gathered: one product for many."""
        self.terms.append((one * weight[:, None], other))
        if len(self.terms) * self.count >= _GATHERED:
            self._gather()

    def _gather(self) -> None:
        if self.terms:
            weighted, others = (np.stack(part, axis=1) for part in zip(*self.terms, strict=True))
            self.matrix += np.swapaxes(weighted, 1, 2) @ others
            self.terms.clear()

    def _facing(
        self,
        one: tuple[FloatArray, FloatArray],
        other: tuple[FloatArray, FloatArray],
        moments: tuple[FloatArray, FloatArray, FloatArray],
        weight: FloatArray,
    ) -> None:
        """Energy of two faces whose potentials are ``p + q y``: moments ∫dy, ∫y dy, ∫y² dy of the stretch."""
        p, q = one[0] - other[0], one[1] - other[1]
        m0, m1, m2 = moments
        self._add(p, p, weight * m0)
        self._add(p, q, weight * m1)
        self._add(q, p, weight * m1)
        self._add(q, q, weight * m2)

    def _line(self, unit: _Unit, member: int) -> tuple[FloatArray, FloatArray]:
        """(p, q): the member's potential along the layer, p + q y; without order its mean."""
        low, high = self.ends[member]
        if self.layout.sections[member].scramble:
            return (low + high) / 2, np.zeros_like(low)
        slope = (high - low) / np.maximum(unit.high - unit.low, 1e-12)[:, None]
        return low - slope * unit.low[:, None], slope

    def _scatter(self, member: int, weight: FloatArray) -> None:
        """Energy by the variance Δ²/12 of the potentials of a layer wound without order (−1: the core)."""
        if member >= 0 and self.layout.sections[member].scramble:
            low, high = self.ends[member]
            self._add(high - low, high - low, weight / 12)

    def _end(self, member: int, end: int) -> FloatArray:
        """Potential of a section's lower (0) or upper (1) end; without order its mean."""
        low, high = self.ends[member]
        if self.layout.sections[member].scramble:
            return (low + high) / 2
        return (low, high)[end]

    def _core_line(self) -> tuple[FloatArray, FloatArray]:
        vector = np.zeros((self.count, len(self.labels)))
        vector[:, self.place[-1, CORE]] = 1.0
        return vector, np.zeros_like(vector)

    # --- units --------------------------------------------------------------------------------------

    def _units(self) -> list[_Unit]:
        groups: dict[int, list[int]] = {}
        for index, section in enumerate(self.layout.sections):
            groups.setdefault(section.group, []).append(index)
        units = [self._unit(members) for members in groups.values()]
        return sorted(units, key=lambda unit: float(np.mean(unit.near)))

    def _unit(self, members: list[int]) -> _Unit:
        layout = self.layout
        first, section = members[0], layout.sections[members[0]]
        x0, x1, y0, y1 = np.moveaxis(layout.extent[:, first], -1, 0)
        if self.flat:
            near, far, low, high = y0, y1, x0, x1
        else:
            near, far, low, high = x0, x1, y0, y1
        if self.toroid:
            covered = 2 * math.pi if section.sector is None else section.sector
            turned = (section.from_angle - self.origin) % math.tau if section.sector is not None else 0.0
            begin = self.along * turned / math.tau
            low = np.full(self.count, begin)
            high = low + self.along * covered / (2 * math.pi)
        if section.leg == 2:
            near, far = self.across - far, self.across - near
        wires = [self.design.winding(layout.sections[index].winding).wire for index in members]
        turns = layout.turns[:, first]
        strands = [1 if wire.twisted else wire.in_hand for wire in wires]
        pitch = (high - low) / np.maximum(turns * sum(strands), 1.0)
        faces = tuple(self._face(wire, pitch, section.block) for wire in wires)
        shares = tuple(np.full(self.count, strand / sum(strands)) for strand in strands)
        return _Unit(
            tuple(members),
            near,
            far,
            low,
            high,
            (turns > 0) & (high > low),
            layout.turn_length[:, first],
            shares,
            faces,
            section.step,
            section.layer,
            section.leg,
            section.chamber,
        )

    def _face(self, wire: Wire, pitch: FloatArray, block: bool) -> Face:
        if wire.kind == "foil":
            return SHEET
        if wire.kind == "track":
            return Face(pitch=np.maximum(pitch, wire.foil_width), width=wire.foil_width)
        overall = np.asarray(wire.overall, float)
        bare = overall * LITZ_COPPER if wire.kind == "litz" else np.asarray(wire.diameter, float)
        if wire.twisted:
            overall = overall * bundle_factor(wire.in_hand)
            bare = bare * bundle_factor(wire.in_hand)
        pitch = np.maximum(pitch, overall) if not block else overall
        return Face(bare, overall, pitch, 3.5 * self.scale)

    # --- across the layers --------------------------------------------------------------------------

    def _faces_across(self) -> None:
        edges = [np.zeros(self.count), np.full(self.count, self.along)]
        edges += [np.clip(edge, 0.0, self.along) for unit in self.units for edge in (unit.low, unit.high)]
        cuts = np.sort(np.stack(edges, axis=-1), axis=-1)
        begin, end = cuts[:, :-1], cuts[:, 1:]
        middle = (begin + end) / 2
        covers = [
            (unit.low[:, None] < middle) & (middle < unit.high[:, None]) & unit.there[:, None]
            for unit in self.units
        ]
        everywhere = end > begin

        def moments(active: NDArray[np.bool_]) -> tuple[FloatArray, FloatArray, FloatArray]:
            size = np.where(active, end - begin, 0.0)
            square = np.where(active, end**2 - begin**2, 0.0) / 2
            cube = np.where(active, end**3 - begin**3, 0.0) / 3
            return size.sum(axis=-1), square.sum(axis=-1), cube.sum(axis=-1)

        for i in range(-1, len(self.units)):
            open_still = everywhere if i < 0 else covers[i] & everywhere
            for j in range(i + 1, len(self.units)):
                active = open_still & covers[j]
                if np.any(active):
                    self._pair_across(i, j, moments(active))
                    open_still = open_still & ~covers[j]
            if i >= 0 and not self.toroid and np.any(open_still):
                self._pair_across(i, len(self.units), moments(open_still))

    def _pair_across(self, i: int, j: int, moments: tuple[FloatArray, FloatArray, FloatArray]) -> None:
        """Two units that see each other; −1 is the near surface of the core, the number of units the far
        one."""
        inner = self.units[i] if i >= 0 else None
        outer = self.units[j] if j < len(self.units) else None
        start = inner.far if inner is not None else np.zeros(self.count)
        stop = outer.near if outer is not None else np.full(self.count, self.across)
        gap = np.maximum(stop - start, 0.0)
        reduced = self._reduced(inner, outer, gap)
        lengths = [unit.length for unit in (inner, outer) if unit is not None]
        if self.flat:
            m0, m1, _ = moments
            lengths = [self._flat_length(m1 / np.maximum(m0, 1e-12))]
        length = sum(lengths, np.zeros(self.count)) / len(lengths) * self._seen(inner, outer)
        for member, share, face in self._members(inner):
            for other, part, opposite in self._members(outer):
                density = facing_capacitance(face, opposite, gap, reduced, filling=self.filling)
                one = self._core_line() if inner is None else self._line(inner, member)
                two = self._core_line() if outer is None else self._line(outer, other)
                weight = density * share * part * length
                self._facing(one, two, moments, weight)
                for index in (member, other):
                    self._scatter(index, weight * moments[0])

    def _flat_length(self, place: FloatArray) -> FloatArray:
        scale = np.asarray(self.design.build.mean_turn_scale, float)
        return np.asarray((leg_perimeter(self.design.core.dimensions) + 2 * math.pi * place) * scale)

    def _members(self, unit: _Unit | None) -> list[tuple[int, FloatArray, Face]]:
        if unit is None:
            return [(-1, np.ones(self.count), SHEET)]
        return list(zip(unit.members, unit.shares, unit.faces, strict=True))

    def _seen(self, inner: _Unit | None, outer: _Unit | None) -> FloatArray | float:
        """The part of a turn along which two faces see each other: a leg all round its own winding,
        everything else of the core, and the winding of the other leg, only in the window."""
        own = [unit for unit in (inner, outer) if unit is not None]
        if len(own) == 2 and own[0].leg == own[1].leg:
            return 1.0
        if self.toroid:
            return 1.0
        on_leg = len(own) == 1 and not self.flat and (inner is None) == (own[0].leg == 1)
        return 1.0 if on_leg else self._cover(np.mean([unit.length for unit in own], axis=0))

    def _cover(self, length: FloatArray) -> FloatArray:
        """Part of a turn of ``length`` (m) that lies in the window."""
        core = self.design.core
        if core.cover is not None:
            return np.full(self.count, core.cover)
        dimensions = core.dimensions
        if isinstance(dimensions, PotDimensions):
            return np.full(self.count, 1 - dimensions.slots * dimensions.slot_angle / (2 * math.pi))
        if isinstance(dimensions, RoundDimensions):
            return np.full(self.count, outer_leg_angle(dimensions) / (math.pi / 2))
        if isinstance(dimensions, EDimensions):
            inside = 2 * min(dimensions.outer_depth, dimensions.leg_depth)
        else:
            assert isinstance(dimensions, UDimensions)
            inside = dimensions.leg_depth
        return np.minimum(inside / length, 1.0)

    def _reduced(self, inner: _Unit | None, outer: _Unit | None, gap: FloatArray) -> FloatArray:
        """Thickness over relative permittivity (m) of what lies in a gap: the solid layers of the build
        steps, the rest air or its filling. Where a part was pressed into its window the solids are thinned
        alike."""
        solids = self._solids(inner, outer)
        whole = sum((thickness for thickness, _ in solids), np.zeros(self.count))
        squeeze = np.minimum(gap / np.maximum(whole, 1e-12), 1.0)
        reduced = np.maximum(gap - whole, 0.0) / self.filling
        for thickness, permittivity in solids:
            reduced = reduced + thickness * squeeze / permittivity
        return np.asarray(reduced)

    def _solids(self, inner: _Unit | None, outer: _Unit | None) -> list[tuple[FloatArray, FloatArray]]:
        """(thickness, relative permittivity) of the solid insulation between two units."""
        build = self.design.build
        if inner is not None and outer is not None and inner.step == outer.step:
            step = build.steps[inner.step]
            between = build.interlayer if getattr(step, "interlayer", None) is None else step.interlayer  # type: ignore[union-attr]
            layers = outer.layer - inner.layer
            return [self._solid(np.asarray(between) * layers, INTERLAYER)]
        found = []
        if inner is None or outer is None:
            found += self._bobbin(inner, outer)
        if inner is not None and outer is not None and inner.leg != outer.leg:
            chosen: Sequence[int] = [
                k
                for k, step in enumerate(build.steps)
                if k > (inner.step if getattr(step, "leg", 1) == inner.leg else outer.step)
            ]
        else:
            first = -1 if inner is None else inner.step
            last = len(build.steps) if outer is None else outer.step
            if (inner is None and outer is not None and outer.leg == 2) or (
                outer is None and inner is not None and inner.leg == 2
            ):
                first, last = (outer.step, len(build.steps)) if inner is None else (-1, inner.step)  # type: ignore[union-attr]
            chosen = range(min(first, last) + 1, max(first, last))
        unit = inner if inner is not None else outer
        for k in chosen:
            step = build.steps[k]
            if isinstance(step, TapeStep | SpacerStep) and self._concerns(step, unit):
                wraps = np.asarray(step.wraps) if isinstance(step, TapeStep) else 1
                found.append(self._solid(np.asarray(step.thickness) * wraps, step.permittivity))
        return found

    def _concerns(self, step: TapeStep | SpacerStep, unit: _Unit | None) -> bool:
        if unit is None:
            return True
        return step.chamber in (None, unit.chamber) and step.leg == unit.leg

    def _solid(self, thickness: FloatArray, permittivity: float) -> tuple[FloatArray, FloatArray]:
        """Permittivities above 1 scale with the insulation's; a spacer of air is air."""
        value = np.where(permittivity > 1, np.maximum(permittivity * self.scale, 1.0), self.filling)
        return thickness * np.ones(self.count), np.broadcast_to(value, (self.count,))

    def _bobbin(self, inner: _Unit | None, outer: _Unit | None) -> list[tuple[FloatArray, FloatArray]]:
        """The bobbin's wall (in flat builds its flange) where one of the faces is the core."""
        bobbin = self.design.bobbin
        if self.flat:
            return [self._solid(np.asarray(bobbin.flange), bobbin.permittivity)]
        unit = outer if inner is None else inner
        assert unit is not None
        on_leg = (inner is None) == (unit.leg == 1)
        if not on_leg:
            return []
        share = 1.0 if self.toroid else 1.0 - WALL_AIR
        return [self._solid(np.asarray(bobbin.wall) * share, bobbin.permittivity)]

    # --- along the layers ---------------------------------------------------------------------------

    def _faces_along(self) -> None:
        """Ends of layers to the core beyond them, and to the layers of the next chamber: plates."""
        if self.toroid:
            return
        bobbin = self.design.bobbin
        wall = np.asarray(bobbin.wall if self.flat else bobbin.flange) * np.ones(self.count)
        core = self._core_line()[0]
        for i, unit in enumerate(self.units):
            height = np.where(unit.there, unit.far - unit.near, 0.0)
            for end, distance in ((0, unit.low), (1, self.along - unit.high)):
                beside = [
                    other for other in self.units if other is not unit and self._hides(unit, other, end)
                ]
                if beside:
                    continue
                solid = np.minimum(wall, distance) if not (self.flat and end == 1) else np.zeros(self.count)
                permittivity = np.maximum(bobbin.permittivity * self.scale, 1.0)
                reduced = solid / permittivity + np.maximum(distance - solid, 0.0) / self.filling
                seen = 1.0 if self.flat and end == 0 else self._cover(unit.length)
                weight = EPSILON_0 * height * unit.length * seen / np.maximum(reduced, 1e-5)
                self._plates(unit, end, core, weight)
            for other in self.units[i + 1 :]:
                self._ends_facing(unit, other)

    def _hides(self, unit: _Unit, other: _Unit, end: int) -> bool:
        """Whether ``other`` stands between an end of ``unit`` and the core beyond it (in most builds)."""
        overlap = np.minimum(unit.far, other.far) - np.maximum(unit.near, other.near)
        beyond = other.high <= unit.low + 1e-9 if end == 0 else other.low >= unit.high - 1e-9
        return bool(np.mean((overlap > 0.5 * (unit.far - unit.near)) & beyond & other.there) > 0.5)

    def _plates(self, unit: _Unit, end: int, potential: FloatArray, weight: FloatArray) -> None:
        for member, share in zip(unit.members, unit.shares, strict=True):
            p = self._end(member, end) - potential
            self._add(p, p, weight * share)
            self._scatter(member, weight * share)

    def _ends_facing(self, one: _Unit, other: _Unit) -> None:
        """Two layers end to end, with the bobbin's partition or air between them."""
        overlap = np.minimum(one.far, other.far) - np.maximum(one.near, other.near)
        above = np.mean(other.low) >= np.mean(one.high) - 1e-9
        lower, upper = (one, other) if above else (other, one)
        distance = upper.low - lower.high
        both = one.there & other.there & (overlap > 0) & (distance > -1e-9)
        if not np.any(both) or one.leg != other.leg or self._between(lower, upper):
            return
        partition = self.design.bobbin.partition if one.chamber != other.chamber else 0.0
        solid = np.minimum(partition, np.maximum(distance, 0.0))
        permittivity = np.maximum(self.design.bobbin.permittivity * self.scale, 1.0)
        reduced = solid / permittivity + np.maximum(distance - solid, 0.0) / self.filling
        length = (one.length + other.length) / 2
        weight = np.where(
            both, EPSILON_0 * np.maximum(overlap, 0.0) * length / np.maximum(reduced, 2e-5), 0.0
        )
        for member, share in zip(lower.members, lower.shares, strict=True):
            for facing, part in zip(upper.members, upper.shares, strict=True):
                p = self._end(member, 1) - self._end(facing, 0)
                self._add(p, p, weight * share * part)
                for index in (member, facing):
                    self._scatter(index, weight * share * part)

    def _between(self, lower: _Unit, upper: _Unit) -> bool:
        """Whether a third layer stands between two that lie end to end (in most builds)."""
        for unit in self.units:
            inside = (unit.low >= lower.high - 1e-9) & (unit.high <= upper.low + 1e-9) & unit.there
            level = (np.minimum(unit.far, lower.far) - np.maximum(unit.near, lower.near)) > 0
            if unit is not lower and unit is not upper and np.mean(inside & level) > 0.5:
                return True
        return False

    # --- within a layer -----------------------------------------------------------------------------

    def _turn_to_turn(self) -> None:
        """Neighbouring wires of one layer: of one winding at one turn's voltage from each other, of
        windings wound together at the difference of their potentials."""
        for unit in self.units:
            turns = self.layout.turns[:, unit.members[0]]
            for place, member in enumerate(unit.members):
                face = unit.faces[place]
                if face.flat:
                    continue
                low, high = self.ends[member]
                if len(unit.members) == 1:
                    c = neighbour_capacitance(self._spaced(unit, place), self.filling) * unit.length
                    per_turn = (high - low) / np.maximum(turns, 1.0)[:, None]
                    self._add(per_turn, per_turn, c * np.maximum(turns - 1, 0.0))
                    continue
                # neighbours within the turn touch; the last of one turn and the first of the next do not
                last = place + 1 == len(unit.members)
                beside = 0 if last else place + 1
                if unit.faces[beside].flat:
                    continue
                pair = (place, beside)
                faces = [self._spaced(unit, k) if last else self._touching(unit, k) for k in pair]
                c = sum(alternating_capacitance(each, self.filling) for each in faces) / 2 * unit.length
                other = self.ends[unit.members[beside]]
                a, b = low - other[0], high - other[1]
                weight = c * (np.maximum(turns - 1, 0.0) if last else turns) / 3
                self._add(a, a, weight)
                self._add(b, b, weight)
                self._add(a, b, weight / 2)
                self._add(b, a, weight / 2)

    def _touching(self, unit: _Unit, place: int) -> Face:
        """A member's face with its wires in contact, as those of one turn are."""
        return replace(unit.faces[place], pitch=unit.faces[place].overall)

    def _spaced(self, unit: _Unit, place: int) -> Face:
        """A member's face with the pitch between the last wire of one turn and the first of the next: the
        wires of a turn touch each other, the turns share what is left."""
        turns = np.maximum(self.layout.turns[:, unit.members[place]], 1.0)
        taken = np.zeros(self.count)
        for member, face in zip(unit.members, unit.faces, strict=True):
            wire = self.design.winding(self.layout.sections[member].winding).wire
            taken = taken + np.asarray(face.overall) * (1 if wire.twisted else wire.in_hand)
        face = unit.faces[place]
        pitch = (unit.high - unit.low) / turns - taken + np.asarray(face.overall)
        return replace(face, pitch=np.maximum(pitch, face.overall))
