"""Capacitance per unit area between neighbouring layers, from the shape of their wires.

Seen from a plane in front of it, a row of round wires is a comb of flux tubes. A tube leaves the wire at the
angle θ from the line that faces the plane, passes through the enamel, crosses the air on an arc that meets
wire and plane at right angles, and then crosses the sheet:

    length over permittivity   t(θ) = R ln(D/d)/ε_e + [R tan(θ/2)/ε_a + h/sin θ] θ
    foot on the plane          x(θ) = 2 R tan(θ/2)

(R = D/2; h: thickness over permittivity between the enamel and the plane; the arc is θ/sin θ times as long as
the straight line). The wire contributes C = 2 ε0 R ∫ dθ/t(θ), taken up to 90°, and for spaced rows up to the
foot at half the pitch. Where rows are spaced so far that this leaves out the back of the wire, the formula
for a row of line charges in front of a plane is used:

    C = 2π ε0/{ln[(p/πR) sinh(2πH/p)] − ln(2H/R) + arcosh(H/R) + ln(D/d)/ε_e},    H = R + h

This construction is used for neighbours within a layer (``row_to_plane``). Facing layers are solved exactly,
row by row (``wire_rows``): each row is in series with what lies between, and sees the other as a plane at
that row's own depth where their relative position is not known.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

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
    """The surface that one layer turns to its neighbour.

    Attributes
    ----------
    diameter : float or (B,) array
        Diameter of the conductor, m; 0 for a sheet of metal (foil, core, shield, tracks).
    overall : float or (B,) array
        Diameter over the insulation, m; 0 for a sheet of metal.
    pitch : float or (B,) array
        Distance from wire to wire along the layer, m.
    insulation : float or (B,) array
        Relative permittivity of the enamel, dimensionless.
    width : float or (B,) array
        Width of one track, m; 0 where the sheet is closed.
    """

    diameter: Real = 0.0
    overall: Real = 0.0
    pitch: Real = 1.0
    insulation: Real = ENAMEL
    width: Real = 0.0

    @cached_property
    def flat(self) -> bool:
        """Whether the face is a sheet of metal."""
        return not np.count_nonzero(np.asarray(self.overall) > 0)


SHEET = LayerFace()
"""A plane conductor (exact: it takes no room)."""


def facing_thickness(
    inner: LayerFace,
    outer: LayerFace,
    gap: Real,
    reduced: Real,
    *,
    filling: Real = 1.0,
    offset: float | None = None,
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """What lies between two layers and what their shapes add, as thicknesses of vacuum in series.

    Equations: see the module. All arguments broadcast. Range: pitch not below the overall diameter; a gap of
    zero is allowed where there is enamel.

    Parameters
    ----------
    inner : LayerFace
        Face of one layer.
    outer : LayerFace
        Face of the other layer.
    gap : float or (...,) array
        Distance between the outer surfaces of their insulation, m.
    reduced : float or (...,) array
        Thickness over relative permittivity of everything in the gap, m.
    filling : float or (...,) array
        Relative permittivity between the wires outside the gap, dimensionless.
    offset : float or None
        Displacement of two rows of equal pitch against each other, in pitches, dimensionless: 0 or 0.5. None
        where it is unknown, as where turns cross (the mean of 0 and 0.5).

    Returns
    -------
    s : (...,) array
        Thickness of what lies between, m of vacuum.
    t_one : (...,) array
        What the shape of ``inner`` adds, m of vacuum.
    t_other : (...,) array
        What the shape of ``outer`` adds, m of vacuum.
    """
    h = np.maximum(np.asarray(reduced, float), 1e-9)
    sheet = np.maximum(np.asarray(gap, float), 1e-9)
    boards = _in_register(inner, outer)
    added = []
    for face, opposite in ((inner, outer), (outer, inner)):
        if face.flat:
            strips = np.any(np.asarray(face.width) > 0)
            thin = strip_thickness(face.width, face.pitch, np.where(boards, h / 2, h)) if strips else 0.0
            added.append(np.asarray(thin + np.zeros_like(h)))
            continue
        row = WireRow(face.diameter, face.overall, face.pitch, face.insulation, filling)
        depth = row_depth(opposite) * np.asarray(filling)
        added.append(row_thickness(row, sheet, sheet / h, depth=depth, offset=offset))
    return h, added[0], added[1]


def _in_register(inner: LayerFace, outer: LayerFace) -> NDArray[np.bool_]:
    """Whether two rows of tracks are alike, so that track faces track; the plane half way between them is
    then at one potential."""
    if not (inner.flat and outer.flat):
        return np.zeros((), bool)
    alike = np.isclose(inner.pitch, outer.pitch, rtol=1e-3, atol=0.0)
    return np.asarray(alike & np.isclose(inner.width, outer.width, rtol=1e-3, atol=0.0))


def row_depth(face: LayerFace) -> FloatArray:
    """Depth behind its surface at which a row looks like a plane from afar.

    It is the insulation plus about a ninth of the pitch for the roundness of the wires (close-wound bare
    wires: 0.10).

    Parameters
    ----------
    face : LayerFace
        Face of the layer.

    Returns
    -------
    () or (B,) array
        Depth, m of vacuum; 0 for a sheet of metal.
    """
    if face.flat:
        return np.zeros(())
    wall = (np.asarray(face.overall) - np.asarray(face.diameter)) / 2 / np.asarray(face.insulation)
    return np.asarray(wall + 0.11 * np.asarray(face.pitch))


def row_to_plane(row: LayerFace, reduced: ArrayLike, filling: Real = 1.0) -> FloatArray:
    """Capacitance per unit area of a row of round wires to a plane in front of it.

    Parameters
    ----------
    row : LayerFace
        Face of the row.
    reduced : float or (...,) array
        Distance from the outer surface of the wires to the plane, thickness over permittivity, m.
    filling : float or (...,) array
        Relative permittivity between the wires, dimensionless.

    Returns
    -------
    (...,) array
        Capacitance per area, F/m².
    """
    h = np.asarray(reduced, float)
    radius, pitch = np.asarray(row.overall, float) / 2, np.asarray(row.pitch, float)
    wall = np.log(np.asarray(row.overall) / np.asarray(row.diameter)) / np.asarray(row.insulation)
    most = np.maximum(math.pi / 2, 2 * np.arctan(pitch / (4 * radius)))
    theta = most[..., None] * (_NODES + 1) / 2
    air_thickness = np.asarray(radius / np.asarray(filling))[..., None]
    length = (radius * wall)[..., None] + theta * (
        air_thickness * np.tan(theta / 2) + h[..., None] / np.sin(theta)
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
    """Capacitance per unit length between two neighbouring wires of one row, taken as two facing rows.

    Use it for the turns of one winding whose far fields end on the layers beside them. With no layer beside,
    add some 5 pF/m (``wire_rows.turn_to_turn``).

    Parameters
    ----------
    wire : LayerFace
        Face of the row.
    filling : float or (...,) array
        Relative permittivity between the wires, dimensionless.

    Returns
    -------
    (...,) array
        Capacitance per length, F/m.
    """
    apart = np.maximum(np.asarray(wire.pitch) - np.asarray(wire.overall), 0.0)
    close = LayerFace(wire.diameter, wire.overall, wire.overall, wire.insulation)
    h = np.maximum(apart / np.asarray(filling), 1e-9)
    return np.asarray(row_to_plane(close, h / 2, filling) * np.asarray(wire.overall) / 2)


def alternating_capacitance(wire: LayerFace, filling: Real = 1.0) -> FloatArray:
    """Capacitance per unit length between neighbouring wires of windings wound together, which alternate.

    Exact for two windings of single wires in free space (``wire_rows.turn_to_turn``).

    Parameters
    ----------
    wire : LayerFace
        Face of the row.
    filling : float or (...,) array
        Relative permittivity between the wires, dimensionless.

    Returns
    -------
    (...,) array
        Capacitance per length, F/m.
    """
    return turn_to_turn(WireRow(wire.diameter, wire.overall, wire.pitch, wire.insulation, filling))
