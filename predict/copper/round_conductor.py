"""Round wires in alternating current: alone, and in a row of equal ones.

With k = (1 − j)/δ the potential inside a wire of radius a is a series of J_m(kr). Outside, a multipole of
order m responds to the field of order m with

    β_m/α_m = a^2m J_{m+1}(ka)/J_{m−1}(ka)

(potentials matched at the surface; Ferreira 1994 for m = 1, from memory). In a periodic row of pitch p the
field at one wire is the applied field plus that of the multipoles of all other wires, Σ over the row of 1/(u
− np)^m: even values of the zeta function. A few orders, solved together, are exact for rows whose neighbours
across lie further away than about p/2. Three excitations are independent: the current of the wires, an
applied field along the row, and one across it.
"""

from __future__ import annotations

import math
from functools import cache

import numpy as np

from ..cores import MU_0
from ..design import ComplexArray, FloatArray, IntArray, Real
from .bessel import bessel_ratios

ORDERS = 3
"""Multipoles of each symmetry: 1, 3, 5 in an applied field, 2, 4, 6 for the current of the wires (measured on
26 designs: two and four move no reading by more than 2e-6 and 6e-8)."""
_ZETA = {2: math.pi**2 / 6, 4: math.pi**4 / 90, 6: math.pi**6 / 945, 8: math.pi**8 / 9450}


def _zeta(order: int) -> float:
    """ζ(order) for an even order, from 10 on by its first terms (1e-13)."""
    return _ZETA.get(order) or 1.0 + sum(number**-order for number in range(2, 24))


@cache
def _lattice(first: int) -> tuple[IntArray, FloatArray]:
    """Orders first, first + 2, … of a row's multipoles, and the field of each order that the others make at
    a wire, (ORDERS, ORDERS) in units of the pitch."""
    orders = np.arange(first, first + 2 * ORDERS, 2)
    fields = [[2 * _zeta(m + s) * math.comb(m + s - 1, m) for s in orders.tolist()] for m in orders.tolist()]
    return orders, np.array(fields)


@cache
def _even() -> tuple[IntArray, FloatArray]:
    """Orders 2, 4, … of the field that the currents of a row make at its wires, and its size, 2 ζ(order)."""
    orders = np.arange(2, 2 + 2 * ORDERS, 2)
    return orders, np.array([2 * _zeta(order) for order in orders.tolist()])


def _argument(diameter: Real, conductivity: Real, angular_frequency: Real) -> ComplexArray:
    """ka = (1 − j) a/δ."""
    depth = np.sqrt(angular_frequency * MU_0 * np.asarray(conductivity) / 2)
    return np.asarray((1 - 1j) * np.asarray(diameter) / 2 * depth)


def _excess_ratio(argument: ComplexArray, ratio: ComplexArray) -> ComplexArray:
    """Internal impedance of a lone wire over its direct-current resistance, z J0(z)/(2 J1(z)), beyond 1 −
    z²/8, its resistance and inductance at low frequency. ``ratio`` is J1(z)/J0(z)."""
    square = argument * argument
    series = -square * square * (1 / 192 + square / 3072 + 13 * square * square / 552960)
    return np.where(np.abs(argument) < 0.3, series, argument / (2 * ratio) - 1 + square / 8)


def _multipoles(
    ratios: ComplexArray, share: FloatArray, first: int, signs: FloatArray, applied: FloatArray
) -> ComplexArray:
    """(..., E, ORDERS) multipoles of orders first, first + 2, … of every wire of a row, in units of a^m, for
    E excitations.

    ratios (..., orders): J_{m+1}/J_m. share: a/p. applied (..., 1 or E, ORDERS): orders of the applied fields
    in units of a^−m. signs (E,): + for fields along the row and the current of the wires, − for fields across
    it.
    """
    orders, fields = _lattice(first)
    answer = (ratios[..., orders] * ratios[..., orders - 1])[..., None, :]
    lattice = fields * share[..., None, None] ** (orders[:, None] + orders)
    matrix = np.eye(ORDERS) - signs[:, None, None] * (answer[..., None] * lattice[..., None, :, :])
    return np.asarray(np.linalg.solve(matrix, (answer * applied)[..., None])[..., 0])


def row_excess(
    diameter: Real, pitch: Real, conductivity: Real, angular_frequency: Real
) -> tuple[ComplexArray, ComplexArray, ComplexArray]:
    """What a row of round wires adds to its low-frequency impedance, per wire and metre.

    Real parts are losses and not negative; imaginary parts are ω times the change of inductance. The fields
    give the complex power j ω 2π μ0 β_1. Arguments broadcast. Range: pitch ≥ diameter; other rows further
    away than about p/2; checked against field solutions of stacks of wires.

    Parameters
    ----------
    diameter, pitch : float or (...,) array, m
    conductivity : float or (...,) array, S/m
    angular_frequency : float or (...,) array, rad/s

    Returns
    -------
    own : (...,) array of complex
        With one ampere in every wire (skin effect, and crowding by the currents of the neighbours), ohm/m.
    along : (...,) array of complex, per (A/m)² of an applied field along the row, ohm m
    across : (...,) array of complex, per (A/m)² of an applied field across the row, ohm m
    """
    d, p = np.asarray(diameter, float), np.asarray(pitch, float)
    z = _argument(d, conductivity, angular_frequency)
    share = np.minimum(d / (2 * p), 0.495)
    if z.shape != share.shape:
        z, share = np.broadcast_arrays(z, share)
    ratios = np.stack(bessel_ratios(z, 2 * ORDERS), axis=-1)
    orders, even = _even()
    of_neighbours = even * share[..., None] ** orders
    poles = _multipoles(ratios, share, 2, np.ones(1), (of_neighbours / orders)[..., None, :])[..., 0, :]
    crowding = (of_neighbours * poles).sum(axis=-1)
    resistance = 4 / (math.pi * d**2 * np.asarray(conductivity))
    lone = resistance * _excess_ratio(z, ratios[..., 0])
    lone = lone + 1j * angular_frequency * MU_0 / (2 * math.pi) * crowding
    scale = 1j * angular_frequency * 2 * math.pi * MU_0 * (d / 2) ** 2
    driven = _multipoles(ratios, share, 1, np.array([1.0, -1.0]), np.eye(1, ORDERS))[..., 0]
    return np.asarray(lone), np.asarray(scale * driven[..., 0]), np.asarray(scale * driven[..., 1])


def lone_excess(
    diameter: Real, conductivity: Real, angular_frequency: Real
) -> tuple[ComplexArray, ComplexArray]:
    """What a wire without neighbours (a strand of litz) adds to its low-frequency impedance.

    In the field: at low frequency (π/16σ)(d/δ)⁴ per (A/m)², at high frequency 2π d/(σδ). Exact.

    Parameters
    ----------
    diameter : float or (...,) array, m
    conductivity : float or (...,) array, S/m
    angular_frequency : float or (...,) array, rad/s

    Returns
    -------
    own : (...,) array of complex, with one ampere in the wire, ohm/m
    driven : (...,) array of complex, per (A/m)² of a transverse field, ohm m
    """
    z = _argument(diameter, conductivity, angular_frequency)
    d = np.asarray(diameter)
    ratios = bessel_ratios(z, 1)
    lone = 4 / (math.pi * d**2 * np.asarray(conductivity)) * _excess_ratio(z, ratios[0])
    moment = ratios[1] * ratios[0]
    return np.asarray(lone), np.asarray(1j * angular_frequency * 2 * math.pi * MU_0 * (d / 2) ** 2 * moment)
