"""Capacitance between neighbouring layers per area, from the shape of their wires.

Seen from a plane in front of it, a row of round wires is a comb of tubes of flux. From the point of a wire
at the angle θ from its facing line a tube leaves through the enamel, crosses the air on an arc that meets
wire and plane at right angles, and then the sheet:

    length over permittivity   t(θ) = R ln(D/d)/ε_e + [R tan(θ/2)/ε_a + h/sin θ] θ
    foot on the plane          x(θ) = 2 R tan(θ/2)

(R = D/2; h: thickness over permittivity between the enamel and the plane; the arc's length is θ/sin θ of the
straight one). The wire's share is C = 2 ε0 R ∫ dθ/t(θ) up to 90°, of spaced rows up to the foot at half the
pitch; of rows spaced so far that this leaves out the wire's back, the row of line charges before a plane
takes over:

    C = 2π ε0/{ln[(p/πR) sinh(2πH/p)] − ln(2H/R) + arcosh(H/R) + ln(D/d)/ε_e},    H = R + h

Two rows are in series across the plane half-way. Where they stand on gap (half a pitch aside), the plane is
not one of equal potential unless the gap is wide: with w = exp[−6 (g + 0.1 (p − D))/p] the tubes run
straight across instead, C = C_plane (1 − w) + C_tubes w.

Against two-dimensional field solutions: rows up to twice their wires' diameter apart within 7 %, wider ones
within 20 % (tests/reference). The tubes are a construction of this project, w and its constants are fitted
to such solutions; the row of line charges is textbook potential theory.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from .design import FloatArray, Real

EPSILON_0 = 8.8541878128e-12
"""Permittivity of free space (F/m)."""
ENAMEL = 3.5
"""Relative permittivity of wire enamel (common practice, no source)."""
FILLING = {"none": 1.0, "dipped": 2.5, "potted": 4.0}
"""Relative permittivity between the wires by impregnation; dipping fills about half of the air (common
practice, no source)."""
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(24)
_PLACES = (np.arange(64) + 0.5) / 64 - 0.5


@dataclass(frozen=True)
class Face:
    """What one layer turns to its neighbour; numbers or (B,) arrays over builds.

    diameter : of the conductor, overall : over its insulation (m); both 0 for a sheet of metal (foil, core,
    shield).
    pitch : from wire to wire along the layer (m). insulation : relative permittivity of the enamel.
    """

    diameter: Real = 0.0
    overall: Real = 0.0
    pitch: Real = 1.0
    insulation: Real = ENAMEL

    @property
    def flat(self) -> bool:
        """Whether it is a sheet of metal."""
        return not np.any(np.asarray(self.overall) > 0)


SHEET = Face()
"""A plane conductor."""


def facing_capacitance(
    one: Face, other: Face, gap: Real, reduced: Real, *, filling: Real = 1.0, offset: float | None = None
) -> FloatArray:
    """Capacitance (F/m²) between two layers per area of the gap, at one potential each.

    gap : distance between the outer surfaces of their insulation (m). reduced : thickness over relative
    permittivity of all that lies in it (m). filling : relative permittivity between the wires outside the
    gap.
    offset : by how much two rows of equal pitch are aside, in pitches; None: anything, as where turns cross
    (the mean of 0 and ½). Broadcast. Equations: the module's docstring. Raises nothing. Range: pitch not
    below the overall diameter; gaps of zero are allowed where there is enamel.
    """
    h = np.maximum(np.asarray(reduced, float), 1e-9)
    if one.flat and other.flat:
        return np.asarray(EPSILON_0 / h)
    if one.flat or other.flat:
        return row_to_plane(other if one.flat else one, h, filling)
    first, second = row_to_plane(one, h / 2, filling), row_to_plane(other, h / 2, filling)
    plane = first * second / (first + second)
    if offset == 0:
        return np.asarray(plane)
    aside = 0.5 if offset is None else float(np.sin(math.pi * offset) ** 2)
    pitch = (np.asarray(one.pitch) + np.asarray(other.pitch)) / 2
    space = np.maximum(pitch - (np.asarray(one.overall) + np.asarray(other.overall)) / 2, 0.0)
    weight = np.exp(-6.0 * (np.asarray(gap) + 0.1 * space) / pitch)
    return np.asarray(plane + aside * weight * (_straight_tubes(one, other, h, filling) - plane))


def row_to_plane(row: Face, reduced: ArrayLike, filling: Real = 1.0) -> FloatArray:
    """Capacitance (F/m²) of a row of round wires to a plane at the distance ``reduced`` (m, over
    permittivity) from the wires' outer surface, per area."""
    h = np.asarray(reduced, float)
    radius, pitch = np.asarray(row.overall, float) / 2, np.asarray(row.pitch, float)
    wall = np.log(np.asarray(row.overall) / np.asarray(row.diameter)) / np.asarray(row.insulation)
    most = np.maximum(math.pi / 2, 2 * np.arctan(pitch / (4 * radius)))
    theta = np.expand_dims(most, -1) * (_NODES + 1) / 2
    air = np.expand_dims(radius / np.asarray(filling), -1)
    length = np.expand_dims(radius * wall, -1) + theta * (
        air * np.tan(theta / 2) + np.expand_dims(h, -1) / np.sin(theta)
    )
    tubes = 2 * EPSILON_0 * radius * np.sum(_WEIGHTS / length, axis=-1) * most / 2
    height = radius + h
    angle = 2 * math.pi * height / pitch
    log_sinh = angle - math.log(2) + np.log1p(-np.exp(-2 * angle))
    potential = np.log(pitch / (math.pi * radius)) + log_sinh
    potential = potential - np.log(2 * height / radius) + np.arccosh(height / radius) + wall
    lines = 2 * math.pi * EPSILON_0 / potential
    return np.asarray(np.maximum(tubes, lines) / pitch)


def _straight_tubes(one: Face, other: Face, reduced: FloatArray, filling: Real) -> FloatArray:
    """Capacitance (F/m²) of two rows half a pitch aside whose tubes run straight across the gap."""
    pitch = np.expand_dims((np.asarray(one.pitch, float) + np.asarray(other.pitch, float)) / 2, -1)
    aside = np.where(_PLACES < 0, _PLACES + 0.5, _PLACES - 0.5)
    near, far = (
        _tube(face, np.abs(place) * pitch, filling) for face, place in ((one, _PLACES), (other, aside))
    )
    return np.asarray(np.mean(EPSILON_0 / (near + far + np.expand_dims(reduced, -1)), axis=-1))


def _tube(face: Face, foot: FloatArray, filling: Real) -> FloatArray:
    """Length over permittivity (m) of the tube that meets the plane at ``foot`` from below the wire's
    centre, referred to its width on the plane."""
    radius = np.expand_dims(np.asarray(face.overall, float) / 2, -1)
    wall = np.log(np.asarray(face.overall) / np.asarray(face.diameter)) / np.asarray(face.insulation)
    half = np.arctan(foot / (2 * radius))
    widening = 1 / np.cos(half) ** 2  # dx over R dθ
    air = (
        radius * 2 * half * np.tan(half) * np.sqrt(widening) / np.expand_dims(np.asarray(filling, float), -1)
    )
    return np.asarray(radius * np.expand_dims(wall, -1) * widening + air)


def neighbour_capacitance(wire: Face, filling: Real = 1.0) -> FloatArray:
    """Capacitance (F/m) between two neighbouring wires of one row, per length: as between two facing rows."""
    apart = np.maximum(np.asarray(wire.pitch) - np.asarray(wire.overall), 0.0)
    close = Face(wire.diameter, wire.overall, wire.overall, wire.insulation)
    h = np.maximum(apart / np.asarray(filling), 1e-9)
    return np.asarray(row_to_plane(close, h / 2, filling) * np.asarray(wire.overall) / 2)
