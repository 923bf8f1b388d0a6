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

That construction serves neighbours within a layer (``row_to_plane``). Facing layers are solved exactly, row
by row (``wire_rows``): each in series with what lies between, the other a plane at its own depth where it is
not known how the two lie to each other.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..design import FloatArray, Real
from .wire_rows import EPSILON_0, WireRow, row_thickness, strip_thickness, turn_to_turn

ENAMEL = 3.5
"""Relative permittivity of wire enamel (common practice, no source)."""
FILLING = {"none": 1.0, "dipped": 2.5, "potted": 4.0}
"""Relative permittivity between the wires by impregnation; dipping fills about half of the air (common
practice, no source)."""
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(24)


@dataclass(frozen=True)
class LayerFace:
    """What one layer turns to its neighbour; numbers or (B,) arrays over builds.

    diameter : of the conductor, overall : over its insulation (m); both 0 for a sheet of metal (foil, core,
    shield, tracks). width : of one track (m); 0 where the sheet is closed.
    pitch : from wire to wire along the layer (m). insulation : relative permittivity of the enamel.
    """

    diameter: Real = 0.0
    overall: Real = 0.0
    pitch: Real = 1.0
    insulation: Real = ENAMEL
    width: Real = 0.0

    @property
    def flat(self) -> bool:
        """Whether it is a sheet of metal."""
        return not np.any(np.asarray(self.overall) > 0)


SHEET = LayerFace()
"""A plane conductor."""


def facing_thickness(
    one: LayerFace,
    other: LayerFace,
    gap: Real,
    reduced: Real,
    *,
    filling: Real = 1.0,
    offset: float | None = None,
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """(s, T₁, T₂): what lies between two layers, and what their own shapes add, m of vacuum in series.

    gap : distance between the outer surfaces of their insulation (m). reduced : thickness over relative
    permittivity of all that lies in it (m). filling : relative permittivity between the wires outside the
    gap.
    offset : by how much two rows of equal pitch are aside, in pitches; None: anything, as where turns cross
    (the mean of 0 and ½). Broadcast. Equations: the module's docstring. Raises nothing. Range: pitch not
    below the overall diameter; gaps of zero are allowed where there is enamel.
    """
    h = np.maximum(np.asarray(reduced, float), 1e-9)
    sheet = np.maximum(np.asarray(gap, float), 1e-9)
    boards = _in_register(one, other)
    own = []
    for face, opposite in ((one, other), (other, one)):
        if face.flat:
            strips = np.any(np.asarray(face.width) > 0)
            thin = strip_thickness(face.width, face.pitch, np.where(boards, h / 2, h)) if strips else 0.0
            own.append(np.asarray(thin + np.zeros_like(h)))
            continue
        row = WireRow(face.diameter, face.overall, face.pitch, face.insulation, filling)
        depth = row_depth(opposite) * np.asarray(filling)
        own.append(row_thickness(row, sheet, sheet / h, depth=depth, offset=offset))
    return h, own[0], own[1]


def facing_capacitance(
    one: LayerFace,
    other: LayerFace,
    gap: Real,
    reduced: Real,
    *,
    filling: Real = 1.0,
    offset: float | None = None,
) -> FloatArray:
    """Capacitance (F/m²) between two layers per area of the gap, at one potential each: ε0/(s + T₁ + T₂);
    arguments and range as ``facing_thickness``."""
    return np.asarray(
        EPSILON_0 / sum(facing_thickness(one, other, gap, reduced, filling=filling, offset=offset))
    )


def _in_register(one: LayerFace, other: LayerFace) -> NDArray[np.bool_]:
    """Whether two rows of tracks are alike, so that track faces track: half way between lies a plane."""
    alike = np.isclose(one.pitch, other.pitch, rtol=1e-3, atol=0.0)
    alike = alike & np.isclose(one.width, other.width, rtol=1e-3, atol=0.0)
    return np.asarray(alike & (one.flat and other.flat))


def row_depth(face: LayerFace) -> FloatArray:
    """How deep (m of vacuum) behind its surface a row looks like a plane from afar: its insulation, and about
    a ninth of its pitch for the roundness of its wires (close-wound bare wires: 0.10)."""
    if face.flat:
        return np.zeros(())
    wall = (np.asarray(face.overall) - np.asarray(face.diameter)) / 2 / np.asarray(face.insulation)
    return np.asarray(wall + 0.11 * np.asarray(face.pitch))


def row_to_plane(row: LayerFace, reduced: ArrayLike, filling: Real = 1.0) -> FloatArray:
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


def neighbour_capacitance(wire: LayerFace, filling: Real = 1.0) -> FloatArray:
    """Capacitance (F/m) between two neighbouring wires of one row, per length: as between two facing rows.

    For the turns of one winding, whose far fields end on the layers beside them; with nothing beside, some
    5 pF/m more (``wire_rows.turn_to_turn``).
    """
    apart = np.maximum(np.asarray(wire.pitch) - np.asarray(wire.overall), 0.0)
    close = LayerFace(wire.diameter, wire.overall, wire.overall, wire.insulation)
    h = np.maximum(apart / np.asarray(filling), 1e-9)
    return np.asarray(row_to_plane(close, h / 2, filling) * np.asarray(wire.overall) / 2)


def alternating_capacitance(wire: LayerFace, filling: Real = 1.0) -> FloatArray:
    """Capacitance (F/m) between two neighbouring wires of a row in which windings wound together alternate.

    Exact for two windings of single wires in free space (``wire_rows.turn_to_turn``).
    """
    return turn_to_turn(WireRow(wire.diameter, wire.overall, wire.pitch, wire.insulation, filling))
