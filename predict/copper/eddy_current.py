"""Eddy currents of all layers together: the circuit of their circulating currents, condensed.

Every layer carries its own current I evenly, and in addition currents q that sum to zero along it
(``local_field``). With the linkage M of the fields and the impedances of the layers themselves, the q have no
source, so that

    ΔZ = Z_II − Z_Iq Z_qq⁻¹ Z_qI ,   Z = jωM + layers

A layer of foil has a resistance to q, and the exact eddy currents across its thickness (Dowell 1966, from
memory) in the jump J and mean H of the field along it, point by point. A row of round wires responds exactly
to the field along it; the field across magnetizes it, M = ζ H, which is the impedance −jωμ0/ζ to q = −dM/dy.
The result is symmetric, and passive since every part is. Source of the squared local field: Sullivan 2001
(from memory); the circuit of shapes: this project.
"""

from __future__ import annotations

import functools
from dataclasses import dataclass
from dataclasses import fields as dataclass_fields

import numpy as np

from ..cores import MU_0
from ..design import ComplexArray, FloatArray
from .local_field import LayerFields, quadrature, shapes

_WORKING_SET = 120_000
"""Numbers of field handled at a time, so that they stay in a core's second-level cache."""


@dataclass(frozen=True, kw_only=True)
class LayerResponse:
    """The response of one layer, per metre of turn, for B builds.

    Attributes
    ----------
    even : (B,) array of complex
        Impedance in its own current, ohm/m per ampere-turn².
    uneven : (B,) array
        Resistance of a shape of unit density (foil), ohm/m; 0 for wires.
    jump : (B,) array of complex
        Response to the jump in the field along it, per (A/m)² and metre of breadth, ohm m.
    mean : (B,) array of complex
        Response to the mean field along it, per (A/m)² and metre of breadth, ohm m.
    across : (B,) array of complex
        Response to the field across it (wires), per (A/m)² and metre of breadth, ohm m; 0 for foil.
    present : (B,) array
        Turns in the layer, count; 0 where a build does not have it.
    """

    even: ComplexArray
    uneven: FloatArray
    jump: ComplexArray
    mean: ComplexArray
    across: ComplexArray
    present: FloatArray


def condensed(
    fields: LayerFields,
    breadth: FloatArray,
    length: FloatArray,
    layers: list[LayerResponse],
    angular_frequency: float,
) -> ComplexArray:
    """Impedance that eddy currents add.

    Every layer meets the field of the ampere-turns over the length of its own turn, so that ampere-turns
    which sum to zero leave nothing outside; circulating currents of two layers meet over √(l l').

    Parameters
    ----------
    fields : LayerFields
        Fields at the layers.
    breadth : (B, n) array
        Breadth of the layers, m.
    length : (B, n) array
        Length of their turns, m.
    layers : list of LayerResponse
        Responses of the n layers.
    angular_frequency : float
        Angular frequency, rad/s.

    Returns
    -------
    (B, n, n) array of complex
        Added impedance, ohm per ampere-turn².
    """
    count = len(breadth)
    portion = max(1, _WORKING_SET // fields.tangential[0].size)
    if portion >= count:
        return _condensed(fields, breadth, length, layers, angular_frequency)
    found = []
    for start in range(0, count, portion):
        part = slice(start, start + portion)
        here = LayerFields(fields.linkage[part], fields.tangential[part], fields.of_line)
        few = [
            LayerResponse(**{of.name: getattr(layer, of.name)[part] for of in dataclass_fields(layer)})
            for layer in layers
        ]
        found.append(_condensed(here, breadth[part], length[part], few, angular_frequency))
    return np.concatenate(found)


def _condensed(
    fields: LayerFields,
    breadth: FloatArray,
    length: FloatArray,
    layers: list[LayerResponse],
    angular_frequency: float,
) -> ComplexArray:
    """``condensed`` for a few builds, which stay in a core's cache."""
    count, n = breadth.shape
    lines, points, size = fields.of_line, fields.tangential.shape[2], fields.tangential.shape[-1]
    gram, across_gram = _grams(size - 1, points)
    even, uneven, jump, mean, across, present = (
        np.stack([getattr(layer, name) for layer in layers], axis=-1)
        for name in ("even", "uneven", "jump", "mean", "across", "present")
    )
    there, foil, wires = present > 0, uneven > 0, np.abs(across) > 0
    # eddy currents in the mean field along every line: Fᵀ diag(factor × weight) F over all points
    factor = np.where(there, mean * breadth * length, 0.0) / np.bincount(lines, minlength=n)
    field = fields.tangential.reshape(count, len(lines) * points, n * size)
    weighted = (factor[:, lines, None] * quadrature(points)[1]).reshape(count, len(lines) * points, 1)
    transposed = np.swapaxes(field, 1, 2)
    total = np.empty((count, n * size, n * size), complex)
    total.real = transposed @ (weighted.real * field)
    total.imag = transposed @ (weighted.imag * field)
    root = np.sqrt(length)
    linkage = fields.linkage * (angular_frequency * root[:, :, None] * root[:, None, :])[:, :, None, :, None]
    own_length = root[:, :, None] / root[:, None, :]
    linkage[:, :, 1:, :, 0] *= own_length[:, :, None, :]
    linkage[:, :, 0, :, 1:] /= own_length[..., None]
    total.imag += linkage.reshape(count, n * size, n * size)
    total = total.reshape(count, n, size, n, size)
    # response of every layer on its own
    own = np.where(foil, jump / breadth, 0.0)[..., None, None] * gram
    own[..., 0, 0] += even
    inner = np.arange(1, size)
    own[..., inner, inner] += np.where(foil, uneven, 0.0)[..., None] * np.diagonal(gram)[1:]
    # ζ = across/(jωμ0) per metre of breadth
    stiff = np.where(wires, (angular_frequency * MU_0) ** 2 / np.where(wires, across, 1.0), 0.0)
    own[..., 1:, 1:] += (stiff * breadth)[..., None, None] * across_gram
    layer = np.arange(n)
    total[:, layer, :, layer, :] += np.moveaxis(own * length[..., None, None], 1, 0)
    for shape, idle in ((inner, ~there | ~(foil | wires)), (np.array([0]), ~there)):
        if not np.any(idle):
            continue
        build, place = np.nonzero(idle)
        rows, columns = (build[:, None], place[:, None], shape), (build[:, None], slice(None), slice(None))
        total[rows] = 0.0
        total[(*columns, place[:, None], shape)] = 0.0
        if shape[0] > 0:
            total[(*rows, place[:, None], shape)] = 1.0
    loose = total[:, :, 1:, :, 1:].reshape(count, n * (size - 1), n * (size - 1))
    linked = total[:, :, 1:, :, 0].reshape(count, n * (size - 1), n)
    direct = total[:, :, 0, :, 0]
    answer = direct - np.swapaxes(linked, 1, 2) @ np.linalg.solve(loose, linked)
    return np.asarray((answer + np.swapaxes(answer, 1, 2)) / 2)


@functools.cache
def _grams(number: int, points: int) -> tuple[FloatArray, FloatArray]:
    """Mean products of the densities of the shapes along the layer (S, S), the even one first, and of their
    magnetizations across it (number, number), of which the last is even: a pair of currents at the ends."""
    density, magnetized = shapes(number, points)
    weights = quadrature(points)[1]
    even = np.concatenate([np.ones((1, points)), density])
    turned = np.concatenate([magnetized[:-1], np.ones((1, points))])
    return (even * weights) @ even.T, (turned * weights) @ turned.T
