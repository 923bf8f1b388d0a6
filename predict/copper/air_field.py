"""The field that coaxial coils in air have at their own layers, and how a row of wires turns it aside.

Every layer stands as equal rings at its middle radius, one for each wire as far as ``RINGS`` allows; the
field at a ring is that of all others, and of itself what its curvature adds: at the middle of a band of
breadth w and radius a, ln(16 a/w)/(4π a) along the axis (leading order of the loop's field). It has a
component along the layer and one across it, which in a short coil is the greater one. In a long coil the
first is half the ampere-turns per length, as in a long solenoid. To other layers a ring is a band as broad as
its share of the layer: beside a loop's field the difference of the plane fields of band and line,

    ΔH_z = [δ/ρ² − (arctan((ζ + w/2)/δ) − arctan((ζ − w/2)/δ))/w]/2π
    ΔH_r = [ln(((ζ + w/2)² + δ²)/((ζ − w/2)² + δ²))/2w − ζ/ρ²]/2π,   ρ² = δ² + ζ²

at a distance δ across the layers and ζ along them. Foil and tracks, whose current moves within the conductor,
keep the field of a long coil.

Wires in a field across their row become dipoles, −α H per wire and metre, each of which adds α H/(2π x²) at a
distance x along the row. The row's own response (``row_excess``) takes the field to be even along an endless
row; what uneven field and ends change follows from

    (1 + α S) H_q − α Σ H_p/(2π x_pq²) = H0_q,   S = π/(6 w²) for rings w apart

Against a table of measured coils and finite elements: ``tests/published/test_air_resistance.py``.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from ..alike import alike
from ..cores import MU_0
from ..design import ComplexArray, FloatArray
from ..field import loop_field
from ..winding import Layout

RINGS, LEAST_RINGS, ALL_RINGS = 40, 12, 240
"""Rings for a layer at most; fewer, but no fewer than the second, where all layers would have more than the
third together (judged: cost against Medhurst's table)."""


@dataclass(frozen=True)
class AirField:
    """Fields of n sections at their own rings, per ampere-turn.

    Attributes
    ----------
    along : (B, n, n, n) array
        Mean product at section i of the fields of sections j and k, along the layer, 1/m².
    across : tuple of (B, Q, n) arrays, at each section the field across the layer at its Q rings, 1/m
    spacing : (B, n) array, distance of two rings, m
    per_ring : (n,) array, wires for which a ring stands, count
    """

    along: FloatArray
    across: tuple[FloatArray, ...]
    spacing: FloatArray
    per_ring: FloatArray

    def turned_aside(self, index: int, crossing: ComplexArray, angular_frequency: float) -> ComplexArray:
        """Mean product of the field across a section and of what its row leaves of it. Equation: see the
        module.

        Parameters
        ----------
        index : int, of the section
        crossing : (B,) array of complex
            Complex power of a wire per (A/m)² of an even field across the row, ohm m (``row_excess``).
        angular_frequency : float, rad/s

        Returns
        -------
        (B, n, n) array of complex, mean product for each two sections, 1/m²; symmetric
        """
        field, apart = self.across[index], self.spacing[:, index]
        rings = field.shape[1]
        moment = -crossing / (1j * angular_frequency * MU_0) * self.per_ring[index]
        order = np.arange(rings)
        far = (order[:, None] - order).astype(float)
        pull = np.where(far == 0, 0.0, 1 / (2 * math.pi * np.where(far == 0, 1.0, far) ** 2))
        even = math.pi / 6 * np.eye(rings)
        matrix = np.eye(rings) + (moment / apart**2)[:, None, None] * (even - pull)
        left = np.linalg.solve(matrix, field.astype(complex))
        return np.asarray(np.swapaxes(field, 1, 2) @ left / rings)


_SAME = 1e-3
"""Part of its breadth within which a ring is at the place of another, as of windings wound together
(bounds work: layers are further apart)."""


def _band_less_line(
    across: FloatArray, along: FloatArray, breadth: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """(radial, axial) field of a band less that of a line at its middle, per ampere, 1/m (the module's ΔH);
    none within a layer, whose wires are lines."""
    elsewhere = np.abs(across) > _SAME * breadth
    far = np.where(elsewhere, across, 1.0)
    upper, lower = along + breadth / 2, along - breadth / 2
    square = far**2 + along**2
    axial = far / square - (np.arctan(upper / far) - np.arctan(lower / far)) / breadth
    radial = np.log((upper**2 + far**2) / (lower**2 + far**2)) / (2 * breadth) - along / square
    return np.where(elsewhere, radial, 0.0) / math.tau, np.where(elsewhere, axial, 0.0) / math.tau


def air_field(layout: Layout, radius: float, wires: FloatArray) -> AirField:
    """The field of coaxial coils at their own layers.

    Parameters
    ----------
    layout : Layout
    radius : float, of the former, m
    wires : (n,) array, wires side by side in each section, count
    """
    same = alike(len(layout.top), layout.copper) if len(layout.top) > 1 else None
    if same is None:
        return _air_field(layout, layout.copper, radius, wires)
    rows, of_build = same
    few = _air_field(layout, layout.copper[rows], radius, wires)
    across = tuple(each[of_build] for each in few.across)
    return AirField(few.along[of_build], across, few.spacing[of_build], few.per_ring)


def _air_field(layout: Layout, copper: FloatArray, radius: float, wires: FloatArray) -> AirField:
    """``air_field`` for boxes ``copper`` (B, n, 4)."""
    count, n = copper.shape[:2]
    most = min(RINGS, max(LEAST_RINGS, ALL_RINGS // n))
    rings = np.clip(np.rint(wires), 1, most).astype(int)
    low, high = np.moveaxis(layout.along(copper), -1, 0)
    middle = layout.stacked(copper).mean(axis=-1)
    spacing = (high - low) / rings
    places = []
    for i in range(n):
        line = low[:, i, None] + spacing[:, i, None] * (np.arange(rings[i]) + 0.5)
        level = np.broadcast_to(middle[:, i, None], line.shape)
        places.append((radius + line, level) if layout.flat else (radius + level, line))
    along, across = np.zeros((count, n, n, n)), []
    for i, (r, z) in enumerate(places):
        radial, axial = np.zeros((count, rings[i], n)), np.zeros((count, rings[i], n))
        for j, (a, at) in enumerate(places):
            apart = r[..., None] - a[:, None], z[..., None] - at[:, None]
            here = np.hypot(*apart) < _SAME * spacing[:, j, None, None]
            loop = loop_field(a[:, None], r[..., None], np.where(here, 1.0, apart[1]))
            band = _band_less_line(*apart, spacing[:, j, None, None])
            curved = np.log(16 * r / spacing[:, j, None]) / (4 * math.pi * r)
            radial[..., j] = np.where(here, 0.0, loop[0] + band[0]).mean(axis=-1)
            axial[..., j] = np.where(here, curved[..., None], loop[1] + band[1]).mean(axis=-1)
        for_row, beside = (radial, axial) if layout.flat else (axial, radial)
        along[:, i] = np.einsum("bqj,bqk->bjk", for_row, for_row) / rings[i]
        across.append(beside)
    return AirField(along, tuple(across), spacing, np.maximum(wires, 1.0) / rings)
