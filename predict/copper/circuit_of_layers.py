"""The circuit of all layers in the field of the window, as far as no frequency is in it.

The currents that flow in the layers, their linkages, and the products of the fields along the layers that a
response per wire and metre multiplies. ``eddy_current`` condenses it at each frequency.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from ..alike import taken
from ..design import FloatArray, IntArray, Wire
from .local_field import LayerFields, quadrature

BoolArray = NDArray[np.bool_]

_WORKING_SET = 120_000
"""Numbers of field at a time: they stay in a core's second-level cache (bounds work, not results)."""


@dataclass(frozen=True, kw_only=True)
class Conductors:
    """The conductors of n layers (or packs of them) of B builds, in C classes that respond alike.

    Attributes
    ----------
    kinds : tuple of str
    of_section : (n,) array of int, class of each layer, index
    first : tuple of int, one layer of each class, index
    breadth : (B, n) array, breadth along the layer, m
    layers : (B, n) array, count
    number : (B, n) array, wires side by side in all layers of a pack, count
    size : (B, n) array, pitch of a row or thickness of a sheet, m
    porosity : (B, n) array, of a sheet, dimensionless
    present : (B, n) array of bool, layers that have turns
    single : (B, n) array of bool, sheets along which current redistributes
    weight : (B, n) array
        How much of the response of its class a layer has per metre of turn: wires (count) or breadth of sheet
        (m).
    across : (B, n) array of bool, layers that a field across them magnetizes
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
class LayerCircuit:
    """The circuit of all layers, as far as no frequency is in it, for r distinct builds out of B.

    N = R + n S currents: first one ampere-turn in each place where ampere-turns that do not sum to zero
    return, then the even currents of all n layers, their first shapes, and so on; rows and columns of those
    that do not flow are zero. Builds that differ only in how ampere-turns return share all of it.

    Attributes
    ----------
    conductors : Conductors, of the layers, r builds
    wires : tuple of Wire, wire of each class, r builds
    inductance : (r, N, N) array, linkage of the currents, H
    products : (r, C, N²) array
        For every class, products of the fields along its layers, integrated over the layers and their turns
        with ``Conductors.weight``, 1/m.
    length : (r, n) array, turn length of the layers, m
    shapes : int, of zero sum along each layer, count
    points : int, points along each layer at which the field is known, count
    flowing : (r, n) array of bool, layers with shapes
    of_build : (B,) array of int, the distinct build that each build is, index
    returns : (B, R) array, parts of the sum of all ampere-turns that return in each place, dimensionless
    """

    conductors: Conductors
    wires: tuple[Wire, ...]
    inductance: FloatArray
    products: FloatArray
    length: FloatArray
    shapes: int
    points: int
    flowing: BoolArray
    of_build: IntArray
    returns: FloatArray

    def of_builds(self, rows: IntArray) -> LayerCircuit:
        """The circuit of some of the distinct builds.

        Parameters
        ----------
        rows : (k,) array of int, the distinct builds wanted, index
        """
        count = len(self.length)
        if np.array_equal(rows, np.arange(count)):
            return self
        per_build = (
            "breadth",
            "layers",
            "number",
            "size",
            "porosity",
            "present",
            "single",
            "weight",
            "across",
        )
        chosen = {name: getattr(self.conductors, name)[rows] for name in per_build}
        return replace(
            self,
            conductors=replace(self.conductors, **chosen),
            wires=taken(self.wires, rows, count),
            inductance=self.inductance[rows],
            products=self.products[rows],
            length=self.length[rows],
            flowing=self.flowing[rows],
        )


def layer_circuit(
    fields: LayerFields,
    length: FloatArray,
    conductors: Conductors,
    wires: tuple[Wire, ...],
    shared: tuple[IntArray, FloatArray],
) -> LayerCircuit:
    """The circuit of layers in their fields.

    Every layer sees the field of the ampere-turns as they are, over its own turn length, so that ampere-turns
    that sum to zero leave nothing outside. Currents that circulate in two layers couple over √(l l').

    Parameters
    ----------
    fields : LayerFields, fields at the layers (``layer_fields``) of r distinct builds
    length : (r, n) array, m
    conductors : Conductors
    wires : tuple of Wire, wire of each class
    shared : ((B,) array of int, (B, R) array)
        The distinct build that each build is, index, and how its ampere-turns return
        (``local_field.returns``).
    """
    size = fields.tangential.shape[3]
    flowing = conductors.present & (conductors.single | conductors.across)
    kept = np.concatenate([conductors.present, *[flowing] * (size - 1)], axis=1)
    return LayerCircuit(
        conductors=conductors,
        wires=wires,
        inductance=_linkages(fields, length, kept.astype(float)),
        products=_field_products(fields, length, conductors, kept.astype(float)),
        length=length,
        shapes=size - 1,
        points=fields.tangential.shape[2],
        flowing=flowing,
        of_build=shared[0],
        returns=shared[1],
    )


def _linkages(fields: LayerFields, length: FloatArray, kept: FloatArray) -> FloatArray:
    """(r, N, N) ``LayerCircuit.inductance``; ``kept`` (r, S n) is one for currents that flow."""
    count, n = length.shape
    size, places = fields.tangential.shape[3], fields.returning.shape[-1]
    order = places + size * n
    root = np.sqrt(length)
    result = np.zeros((count, order, order))
    whole = result[:, places:, places:]
    whole[:] = fields.linkage.reshape(count, size * n, size * n)
    over = np.tile(root, (1, size))
    whole *= over[:, :, None] * over[:, None, :]
    own_length = np.tile(root, (1, size - 1))[:, :, None] / root[:, None, :]
    whole[:, n:, :n] *= own_length
    whole[:, :n, n:] *= own_length.swapaxes(1, 2)
    whole *= kept[:, :, None] * kept[:, None, :]
    returning = fields.returning_linkage * length[:, None, :, None]
    returning = returning.reshape(count, size * n, places) * kept[:, :, None]
    result[:, places:, :places] = returning
    result[:, :places, places:] = returning.swapaxes(1, 2)
    return result


def _field_products(
    fields: LayerFields, length: FloatArray, conductors: Conductors, kept: FloatArray
) -> FloatArray:
    """(r, C, N²) ``LayerCircuit.products``: Fᵀ diag(weight) F over all points along the lines of a class."""
    count, n = length.shape
    lines, points = fields.of_line, fields.tangential.shape[2]
    factor = np.where(conductors.present, conductors.weight * length, 0.0) / np.bincount(lines, minlength=n)
    root = np.sqrt(factor[:, lines, None] * quadrature(points)[1])[..., None]
    along = fields.tangential.reshape(count, len(lines), points, -1)
    places = fields.returning.shape[-1]
    order = places + along.shape[-1]
    products = np.empty((count, len(conductors.first), order, order))
    portion = max(1, _WORKING_SET // (len(lines) * points * order))
    for start in range(0, count, portion):
        part = slice(start, start + portion)
        for number in range(len(conductors.first)):
            of_class = np.flatnonzero(conductors.of_section[lines] == number)
            field = np.empty((len(along[part]), len(of_class), points, order))
            weight = root[part, of_class]
            field[..., :places] = fields.returning[part, of_class] * weight
            field[..., places:] = along[part, of_class] * weight
            field[..., places:] *= kept[part, None, None]
            rows = field.reshape(len(field), -1, order)
            products[part, number] = rows.swapaxes(1, 2) @ rows
    return products.reshape(count, len(conductors.first), -1)
