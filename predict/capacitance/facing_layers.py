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

This construction is used for neighbours within a layer (``_row_to_plane``). Facing layers are solved exactly,
row by row (``wire_rows``): each row is in series with what lies between, and sees the other as a plane at
that row's own depth where their relative position is not known.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike

from ..design import FloatArray, IntArray, Real, columns_of, field_names
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
    overall : float or (B,) array, diameter over the insulation, m; 0 for a sheet of metal
    pitch : float or (B,) array, distance from wire to wire along the layer, m
    insulation : float or (B,) array, relative permittivity of the enamel, dimensionless
    width : float or (B,) array, of one track, m; 0 where the sheet is closed
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

    def wires(self, rows: IntArray, filling: float) -> WireRow:
        """The rows of round wires among R faces.

        Parameters
        ----------
        rows : (W,) array of int, index
        filling : float, relative permittivity between the wires, dimensionless
        """
        sizes = (self.diameter, self.overall, self.pitch, self.insulation)
        diameter, overall, pitch, insulation = (np.asarray(size)[rows] for size in sizes)
        return WireRow(diameter, overall, pitch, insulation, filling)


SHEET = LayerFace()
"""A plane conductor (exact: it takes no room)."""


class FaceTable:
    """The faces of E electrodes as arrays over B builds, so that rows of any builds can be picked out.

    Parameters
    ----------
    faces : sequence of LayerFace
        Face of each electrode.
    count : int
        Builds B, count.

    Attributes
    ----------
    columns : dict of str to (B, E) array, every field of the faces, in its unit
    """

    def __init__(self, faces: Sequence[LayerFace], count: int) -> None:
        names = field_names(LayerFace)
        columns = [columns_of([getattr(face, name) for face in faces], count) for name in names]
        self._values = np.stack(columns)
        self.columns: dict[str, FloatArray] = dict(zip(names, self._values, strict=True))

    def of(self, build: IntArray, electrode: IntArray) -> LayerFace:
        """The face of an electrode in a build, for R rows.

        Parameters
        ----------
        build, electrode : (R,) array of int, index
        """
        return LayerFace(*self._values[:, build, electrode])


def shape_thickness(
    face: LayerFace, opposite: LayerFace, gap: FloatArray, reduced: FloatArray, *, filling: float = 1.0
) -> FloatArray:
    """What the shape of one layer adds between two layers, as a thickness of vacuum in series.

    Equations: see the module. Faces of all kinds stand side by side in the R rows. Range: pitch not below the
    overall diameter; a gap of zero is allowed where there is enamel.

    Parameters
    ----------
    face : LayerFace, of the layer, (R,) arrays
    opposite : LayerFace, face of the other layer, (R,) arrays
    gap : (R,) array, distance between the outer surfaces of their insulation, m
    reduced : (R,) array, thickness over relative permittivity of everything in the gap, m
    filling : float, relative permittivity between the wires outside the gap, dimensionless

    Returns
    -------
    (R,) array, what the shape of ``face`` adds, m of vacuum
    """
    h, sheet = np.maximum(reduced, 1e-9), np.maximum(gap, 1e-9)
    result = np.zeros(len(h))
    pitch, width = np.asarray(face.pitch), np.asarray(face.width)
    wires, tracks = np.flatnonzero(np.asarray(face.overall) > 0), np.flatnonzero(width > 0)
    for rows in (wires[begin : begin + _ROWS] for begin in range(0, len(wires), _ROWS)):
        row = face.wires(rows, filling)
        depth = row_depth(opposite)[rows] * filling
        result[rows] = row_thickness(row, sheet[rows], sheet[rows] / h[rows], depth=depth)
    if tracks.size:
        # Tracks that face tracks alike: the plane half way between them is at one potential.
        boards = np.isclose(pitch, opposite.pitch, rtol=1e-3, atol=0.0)
        boards &= np.isclose(width, opposite.width, rtol=1e-3, atol=0.0)
        behind = np.where(boards, h / 2, h)[tracks]
        result[tracks] = strip_thickness(width[tracks], pitch[tracks], behind)
    return result


_ROWS = 4000  # wires of a step


def row_depth(face: LayerFace) -> FloatArray:
    """Depth behind its surface at which a row looks like a plane from afar: the insulation plus about a ninth
    of the pitch for the roundness of the wires (close-wound bare wires: 0.10); (...,) array, m of vacuum; 0
    for a sheet of metal."""
    wall = (np.asarray(face.overall) - np.asarray(face.diameter)) / 2 / np.asarray(face.insulation)
    return np.where(np.asarray(face.overall) > 0, wall + 0.11 * np.asarray(face.pitch), 0.0)


def _row_to_plane(row: LayerFace, reduced: ArrayLike, filling: Real = 1.0) -> FloatArray:
    """Capacitance per unit area, (...,) in F/m², of a row of round wires to a plane in front of it.
    ``reduced``: distance from the outer surface of the wires to the plane, thickness over permittivity, m;
    ``filling``: relative permittivity between the wires, dimensionless."""
    h = np.asarray(reduced, float)
    radius, pitch = np.asarray(row.overall, float) / 2, np.asarray(row.pitch, float)
    wall = np.log(np.asarray(row.overall) / np.asarray(row.diameter)) / np.asarray(row.insulation)
    most = np.maximum(math.pi / 2, 2 * np.arctan(pitch / (4 * radius)))
    theta = most[..., None] * (_NODES + 1) / 2
    air_thickness = np.asarray(radius / np.asarray(filling))[..., None]
    length = (radius * wall)[..., None] + theta * (
        air_thickness * np.tan(theta / 2) + h[..., None] / np.sin(theta)
    )
    tubes = 2 * EPSILON_0 * radius * (_WEIGHTS / length).sum(axis=-1) * most / 2
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
    filling : float or (...,) array, relative permittivity between the wires, dimensionless

    Returns
    -------
    (...,) array, F/m
    """
    apart = np.maximum(np.asarray(wire.pitch) - np.asarray(wire.overall), 0.0)
    close = LayerFace(wire.diameter, wire.overall, wire.overall, wire.insulation)
    h = np.maximum(apart / np.asarray(filling), 1e-9)
    return np.asarray(_row_to_plane(close, h / 2, filling) * np.asarray(wire.overall) / 2)


def alternating_capacitance(wire: LayerFace, filling: Real = 1.0) -> FloatArray:
    """Capacitance per unit length between neighbouring wires of windings wound together, which alternate.

    Exact for two windings of single wires in free space (``wire_rows.turn_to_turn``).

    Parameters
    ----------
    wire : LayerFace
    filling : float or (...,) array, relative permittivity between the wires, dimensionless

    Returns
    -------
    (...,) array, F/m
    """
    return turn_to_turn(WireRow(wire.diameter, wire.overall, wire.pitch, wire.insulation, filling))
