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

import functools
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..cores import MU_0
from ..design import ComplexArray, FloatArray, IntArray
from .local_field import LayerFields, quadrature, shapes

BoolArray = NDArray[np.bool_]

_WORKING_SET = 120_000
"""Numbers of field at a time: they stay in a core's second-level cache (bounds work, not results)."""


@dataclass(frozen=True, kw_only=True)
class Conductors:
    """The conductors of n layers (or packs of them) of B builds, in C classes that respond alike.

    Attributes
    ----------
    kinds : tuple of str
        Kind of the conductors of each layer.
    of_section : (n,) array of int
        Class of each layer, index.
    first : tuple of int
        One layer of each class, index.
    breadth : (B, n) array
        Breadth along the layer, m.
    layers : (B, n) array
        Layers in a pack, count.
    number : (B, n) array
        Wires side by side in all layers of a pack, count.
    size : (B, n) array
        Pitch of a row or thickness of a sheet, m.
    porosity : (B, n) array
        Porosity of a sheet, dimensionless.
    present : (B, n) array of bool
        Layers that have turns.
    single : (B, n) array of bool
        Sheets along which current redistributes.
    weight : (B, n) array
        How much of the response of its class a layer has per metre of turn: wires (count) or breadth of sheet
        (m).
    across : (B, n) array of bool
        Layers that a field across them magnetizes.
    """

    kinds: tuple[str, ...]
    of_section: IntArray
    first: tuple[int, ...]
    breadth: FloatArray
    layers: FloatArray
    number: FloatArray
    size: FloatArray
    porosity: FloatArray
    present: BoolArray
    single: BoolArray
    weight: FloatArray
    across: BoolArray


@dataclass(frozen=True, kw_only=True)
class LayerResponse:
    """What n layers of C classes do at F frequencies, per metre of turn.

    Attributes
    ----------
    even : (F, B, n) array of complex
        Impedance per ampere-turn² to their own current, ohm/m.
    uneven : (F, B, n) array
        Resistance of a shape of unit density (foil), ohm/m; 0 for wires.
    jump : (F, B, n) array of complex
        Response to the jump in the field along it (foil), ohm m.
    across : (F, B, n) array of complex
        Response to the field across per metre of breadth (wires), ohm per (A/m)²; 0 for foil.
    mean : (F, B, C) array of complex
        Response of each class to the mean field along it per ``Conductors.weight``, ohm m.
    """

    even: ComplexArray
    uneven: FloatArray
    jump: ComplexArray
    across: ComplexArray
    mean: ComplexArray


@dataclass(frozen=True, kw_only=True)
class LayerCircuit:
    """The circuit of all layers, as far as no frequency is in it.

    N = n S currents: the even ones of all n layers first, then their first shapes, and so on; rows and
    columns of those that do not flow are zero.

    Attributes
    ----------
    conductors : Conductors
        The conductors of the layers.
    inductance : (B, N, N) array
        Linkage of the currents, H.
    products : (B, C, N²) array
        For every class, products of the fields along its layers, integrated over the layers and their turns
        with ``Conductors.weight``, 1/m.
    length : (B, n) array
        Turn length of the layers, m.
    shapes : int
        Shapes of zero sum along each layer, count.
    points : int
        Points along each layer at which the field is known, count.
    flowing : (B, n) array of bool
        Layers with shapes.
    """

    conductors: Conductors
    inductance: FloatArray
    products: FloatArray
    length: FloatArray
    shapes: int
    points: int
    flowing: BoolArray


def layer_circuit(fields: LayerFields, length: FloatArray, conductors: Conductors) -> LayerCircuit:
    """The circuit of layers in their fields.

    Every layer sees the field of the ampere-turns as they are, over its own turn length, so that ampere-turns
    that sum to zero leave nothing outside. Currents that circulate in two layers couple over √(l l').

    Parameters
    ----------
    fields : LayerFields
        Fields at the layers (``layer_fields``).
    length : (B, n) array
        Turn length of the layers, m.
    conductors : Conductors
        The conductors of the layers.

    Returns
    -------
    LayerCircuit
        The circuit.
    """
    count, n = length.shape
    lines, points, size = fields.of_line, fields.tangential.shape[2], fields.tangential.shape[-1]
    flowing = conductors.present & (conductors.single | conductors.across)
    kept = np.concatenate(
        [conductors.present[:, None], np.repeat(flowing[:, None], size - 1, axis=1)], axis=1
    )
    kept = kept.reshape(count, size * n).astype(float)
    root = np.sqrt(length)
    linkage = (
        np.moveaxis(fields.linkage, (2, 4), (1, 3)) * (root[:, :, None] * root[:, None, :])[:, None, :, None]
    )
    own_length = root[:, :, None] / root[:, None, :]
    linkage[:, 1:, :, 0] *= own_length[:, None]
    linkage[:, 0, :, 1:] /= own_length[:, :, None]
    linkage = linkage.reshape(count, size * n, size * n)
    linkage *= kept[:, :, None] * kept[:, None, :]
    # Fᵀ diag(weight) F over all points along the lines of a class
    factor = np.where(conductors.present, conductors.weight * length, 0.0) / np.bincount(lines, minlength=n)
    along = np.swapaxes(fields.tangential, 3, 4).reshape(count, len(lines), points, size * n)
    weights = quadrature(points)[1]
    products = np.empty((count, len(conductors.first), size * n, size * n))
    for number in range(len(conductors.first)):
        section_lines = np.flatnonzero(conductors.of_section[lines] == number)
        here = (along[:, section_lines] * kept[:, None, None]).reshape(
            count, len(section_lines) * points, size * n
        )
        weighted = (factor[:, lines[section_lines], None] * weights).reshape(
            count, len(section_lines) * points, 1
        )
        products[:, number] = np.swapaxes(here, 1, 2) @ (weighted * here)
    return LayerCircuit(
        conductors=conductors,
        inductance=linkage,
        products=products.reshape(count, len(conductors.first), -1),
        length=length,
        shapes=size - 1,
        points=points,
        flowing=flowing,
    )


def condensed(
    circuit: LayerCircuit, response: LayerResponse, angular_frequencies: FloatArray
) -> ComplexArray:
    """Impedance that eddy currents add at F frequencies, per ampere-turn².

    Parameters
    ----------
    circuit : LayerCircuit
        Circuit of the layers (``layer_circuit``).
    response : LayerResponse
        What the layers do at these frequencies.
    angular_frequencies : (F,) array
        Angular frequencies, rad/s.

    Returns
    -------
    (B, F, n, n) array of complex
        Added impedance, ohm.
    """
    (count, n), many = circuit.length.shape, len(angular_frequencies)
    order = circuit.inductance.shape[-1]
    layer_matrices = np.moveaxis(_own(circuit, response, angular_frequencies[:, None, None]), 0, 1)
    means = np.moveaxis(response.mean, 0, 1)
    portion = max(1, _WORKING_SET // (many * circuit.products[0].size))
    matrices = np.empty((count, many, n, n), complex)
    layer = np.arange(n)
    for start in range(0, count, portion):
        part = slice(start, start + portion)
        products, mean = circuit.products[part], means[part]
        total = np.empty((len(products), many, order, order), complex)
        total.real = (mean.real @ products).reshape(total.shape)
        total.imag = (mean.imag @ products).reshape(total.shape)
        total.imag += angular_frequencies[:, None, None] * circuit.inductance[part, None]
        by_layer = total.reshape(len(products), many, circuit.shapes + 1, n, circuit.shapes + 1, n)
        by_layer[:, :, :, layer, :, layer] += np.moveaxis(layer_matrices[part], 2, 0)
        linked = total[..., n:, :n]
        answer = total[..., :n, :n] - np.swapaxes(linked, -1, -2) @ np.linalg.solve(
            total[..., n:, n:], linked
        )
        matrices[part] = (answer + np.swapaxes(answer, -1, -2)) / 2
    return matrices


def _own(circuit: LayerCircuit, response: LayerResponse, angular_frequency: FloatArray) -> ComplexArray:
    """(F, B, n, S, S) what every layer does by itself (Ω) at ω (F, 1, 1); one on the diagonal of a shape that
    does not flow."""
    made, size = circuit.conductors, circuit.shapes + 1
    gram, across_gram = _grams(circuit.shapes, circuit.points)
    matrices = np.where(made.single, response.jump / made.breadth, 0.0)[..., None, None] * gram
    inner = np.arange(1, size)
    matrices[..., inner, inner] += (
        np.where(made.single, response.uneven, 0.0)[..., None] * np.diagonal(gram)[1:]
    )
    # ζ = across/(jωμ0) per metre of breadth
    magnetized = made.across & (np.abs(response.across) > 0)
    stiff = (angular_frequency * MU_0) ** 2 / np.where(magnetized, response.across, 1.0)
    stiff = np.where(magnetized, stiff * made.breadth, 0.0)
    matrices[..., 1:, 1:] += stiff[..., None, None] * across_gram
    matrices *= circuit.flowing[..., None, None]
    matrices[..., 0, 0] += np.where(made.present, response.even, 0.0)
    matrices *= circuit.length[..., None, None]
    matrices[..., inner, inner] += np.where(circuit.flowing, 0.0, 1.0)[..., None]
    return np.asarray(matrices)


@functools.cache
def _grams(number: int, points: int) -> tuple[FloatArray, FloatArray]:
    """Mean products of the shapes' densities along the layer (S, S), the even one first, and of their
    magnetizations across it (number, number), whose last one is even: a pair of currents at the ends."""
    density, magnetized = shapes(number, points)
    weights = quadrature(points)[1]
    even = np.concatenate([np.ones((1, points)), density])
    turned = np.concatenate([magnetized[:-1], np.ones((1, points))])
    return (even * weights) @ even.T, (turned * weights) @ turned.T
