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

from ..cores import MU_0
from ..design import ComplexArray, FloatArray
from .circuit_of_layers import BoolArray, LayerCircuit
from .local_field import quadrature, shapes

_WORKING_SET = 120_000
"""Numbers of field at a time: they stay in a core's second-level cache (bounds work, not results)."""


@dataclass(frozen=True, kw_only=True)
class LayerResponse:
    """What n layers of C classes do at F frequencies, per metre of turn.

    Attributes
    ----------
    even : (F, B, n) array of complex, impedance per ampere-turn² to their own current, ohm/m
    uneven : (F, B, n) array, resistance of a shape of unit density (foil), ohm/m; 0 for wires
    jump : (F, B, n) array of complex, response to the jump in the field along it (foil), ohm m
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


def condensed(
    circuit: LayerCircuit, response: LayerResponse, angular_frequencies: FloatArray
) -> ComplexArray:
    """Impedance that eddy currents add at F frequencies, per ampere-turn².

    Parameters
    ----------
    circuit : LayerCircuit, of the layers (``layer_circuit``), r builds
    response : LayerResponse, what the layers do at these frequencies
    angular_frequencies : (F,) array, rad/s

    Returns
    -------
    (r, F, R + n, R + n) array of complex
        Added impedance, ohm, to ampere-turns in the places where they return and to those of the layers
        (``returned``).
    """
    (count, n), many = circuit.length.shape, len(angular_frequencies)
    order, places = circuit.inductance.shape[-1], circuit.returns.shape[-1]
    layer_matrices = _own(circuit, response, angular_frequencies[:, None, None]).swapaxes(0, 1)
    means = response.mean.swapaxes(0, 1)
    portion = max(1, _WORKING_SET // (many * circuit.products[0].size))
    given = places + n
    matrices = np.empty((count, many, given, given), complex)
    of_layer = places + np.arange(n)[:, None] + n * np.arange(circuit.shapes + 1)
    for start in range(0, count, portion):
        part = slice(start, start + portion)
        products, mean = circuit.products[part], means[part]
        total = np.empty((len(products), many, order, order), complex)
        total.real = (mean.real @ products).reshape(total.shape)
        total.imag = (mean.imag @ products).reshape(total.shape)
        total.imag += angular_frequencies[:, None, None] * circuit.inductance[part, None]
        total[..., of_layer[:, :, None], of_layer[:, None, :]] += layer_matrices[part]
        linked = total[..., given:, :given]
        answer = total[..., :given, :given] - linked.swapaxes(-1, -2) @ np.linalg.solve(
            total[..., given:, given:], linked
        )
        matrices[part] = (answer + answer.swapaxes(-1, -2)) / 2
    return matrices


def returned(matrices: ComplexArray, returns: FloatArray, present: BoolArray) -> ComplexArray:
    """Impedance that eddy currents add where ampere-turns return as ``returns`` says.

    The ampere-turns I of the layers with −c ΣI in the places where they return: Tᵀ Z T with T = (−c 1ᵀ; 1).

    Parameters
    ----------
    matrices : (B, F, R + n, R + n) array of complex, what ``condensed`` gives, ohm
    returns : (B, R) array, parts c of the sum of all ampere-turns, dimensionless
    present : (B, n) array of bool, layers that have turns

    Returns
    -------
    (B, F, n, n) array of complex, added impedance, ohm per ampere-turn²
    """
    places = returns.shape[1]
    parts = returns[:, None, None, :]
    between = (parts @ matrices[..., :places, places:])[..., 0, :]
    alone = (parts @ matrices[..., :places, :places] @ parts.swapaxes(-1, -2))[..., 0, 0]
    half = (alone[..., None] / 2 - between) * present[:, None]
    there = present[:, None].astype(float)
    across = there[..., :, None] * half[..., None, :]
    return np.asarray(matrices[..., places:, places:] + across + across.swapaxes(-1, -2))


def _own(circuit: LayerCircuit, response: LayerResponse, angular_frequency: FloatArray) -> ComplexArray:
    """(F, B, n, S, S) what every layer does by itself (Ω) at ω (F, 1, 1); one on the diagonal of a shape that
    does not flow."""
    made, size = circuit.conductors, circuit.shapes + 1
    gram, across_gram = _grams(circuit.shapes, circuit.points)
    inner = np.arange(1, size)
    if made.single.any():
        matrices = np.where(made.single, response.jump / made.breadth, 0.0)[..., None, None] * gram
        uneven = np.where(made.single, response.uneven, 0.0)
        matrices[..., inner, inner] += uneven[..., None] * gram.diagonal()[1:]
    else:
        matrices = np.zeros((*response.even.shape, size, size), complex)
    # ζ = across/(jωμ0) per metre of breadth
    magnetized = made.across & (response.across != 0)
    stiff = (angular_frequency * MU_0) ** 2 / np.where(magnetized, response.across, 1.0)
    stiff = np.where(magnetized, stiff * made.breadth, 0.0)
    matrices[..., 1:, 1:] += stiff[..., None, None] * across_gram
    matrices *= circuit.flowing[..., None, None]
    matrices[..., 0, 0] += np.where(made.present, response.even, 0.0)
    matrices *= circuit.length[..., None, None]
    matrices[..., inner, inner] += ~circuit.flowing[..., None]
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
