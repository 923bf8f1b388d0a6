"""Eddy currents of all layers together: the circuit of what circulates in them, condensed.

Every layer carries its own current I evenly and, besides, q of zero sum along it (``local_field``). With
the fields' linkage M and the layers' own impedances Z the q have no source, so that

    ΔZ = Z_II − Z_Iq Z_qq⁻¹ Z_qI ,   Z = jωM + layers

A layer of foil: resistance to q, and the exact eddy currents across its thickness (Dowell 1966, from
memory) in the jump J and mean H of the field along it, point by point. A row of round wires: exact
response to the field along it; the field across magnetizes it, M = ζ H, which is the impedance −jωμ0/ζ
to q = −dM/dy. Symmetric, and passive since every part is. Source of the squared local field: Sullivan
2001 (from memory); the circuit of shapes: this project.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from .design import ComplexArray, FloatArray
from .local_field import POINTS, SHAPES, LayerFields, shapes
from .magnetizing import MU_0


@dataclass(frozen=True)
class LayerResponse:
    """What one layer does, per metre of turn; (B,) each.

    even : Ω/m per ampere-turn² in its own current. uneven : Ω/m of a shape of unit density (foil), 0 for
    wires. jump : Ω m of the jump in the field along it, mean : of the mean field along it, per (A/m)²
    and metre of breadth. across : the same of the field across (wires), 0 for foil.
    """

    even: ComplexArray
    uneven: FloatArray
    jump: ComplexArray
    mean: ComplexArray
    across: ComplexArray
    present: FloatArray


def condensed(
    fields: LayerFields, breadth: FloatArray, layers: list[LayerResponse], angular_frequency: float
) -> ComplexArray:
    """(B, n, n) what eddy currents add, Ω/m per ampere-turn²; breadth (B, n) of the layers (m)."""
    count, n = breadth.shape
    size = SHAPES + 1
    total = 1j * angular_frequency * fields.linkage
    density, magnetized = shapes()
    weights = np.polynomial.legendre.leggauss(POINTS)[1] / 2
    even = np.concatenate([np.ones((1, POINTS)), density])
    gram = np.einsum("aq,bq,q->ab", even, even, weights)
    turned = np.concatenate([magnetized[:-1], np.ones((1, POINTS))])
    across_gram = np.einsum("aq,bq,q->ab", turned, turned, weights)
    inner = np.arange(1, size)
    for index, layer in enumerate(layers):
        b = breadth[:, index]
        field = fields.tangential[:, index].reshape(count, POINTS, n * size)
        driven = np.swapaxes(field * weights[:, None], -1, -2) @ field
        factor = np.where(layer.present > 0, layer.mean * b, 0.0)
        total = total + (factor[:, None, None] * driven).reshape(count, n, size, n, size)
        own = np.zeros((count, size, size), complex)
        own[:, 0, 0] = layer.even
        foil = layer.uneven > 0
        own += np.where(foil, layer.jump / b, 0.0)[:, None, None] * gram
        own[:, inner, inner] += np.where(foil, layer.uneven, 0.0)[:, None] * np.diagonal(gram)[1:]
        active = np.abs(layer.across) > 0
        response = np.where(active, layer.across, 1.0)
        # ζ = across/(jωμ0) per metre of breadth
        stiff = np.where(active, (angular_frequency * MU_0) ** 2 / response, 0.0)
        own[:, 1:, 1:] += (stiff * b)[:, None, None] * across_gram
        total[:, index, :, index, :] += own
        idle = (layer.present <= 0) | ~(foil | active)
        if np.any(idle):
            total[idle, index, 1:] = 0.0
            total[idle, :, :, index, 1:] = 0.0
            total[idle, index, 1:, index, 1:] = np.eye(SHAPES)
            total[idle & (layer.present <= 0), index, 0] = 0.0
            total[idle & (layer.present <= 0), :, :, index, 0] = 0.0
    loose = total[:, :, 1:, :, 1:].reshape(count, n * SHAPES, n * SHAPES)
    link = total[:, :, 1:, :, 0].reshape(count, n * SHAPES, n)
    direct = total[:, :, 0, :, 0]
    answer = direct - np.swapaxes(link, 1, 2) @ np.linalg.solve(loose, link)
    return np.asarray((answer + np.swapaxes(answer, 1, 2)) / 2)
