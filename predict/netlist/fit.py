"""Impedance against frequency → resistors and inductors that have it, none of them negative.

A matrix of impedances is approximated by

    Z(s) = s L + Σ_p s G_p/(1 + s τ_p) ,   L, G_p ⪰ 0 ,

the form that every circuit of coils and eddy-current rings has (Foster; Brune 1931, from memory). Each G
splits into rank-one terms g vvᵀ: an inductor g, with g/τ_p in parallel, behind ideal transformers of
ratios v. So the result is passive by construction, however well or badly it fits.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from scipy.optimize import linprog, nnls

from ..design import ComplexArray, FloatArray

_POLES_PER_DECADE = 3
_ROUNDS = 60
_ENOUGH = 1e-3
"""Time constants per decade; most rounds of the fit, which ends when the squared error falls by less than
``_ENOUGH`` from round to round. Judged on netlists of the three samples: with 2, 3, 5 per decade the shorted
resistance deviates by 2.6, 0.5, 0.4 %; a tenth of ``_ENOUGH`` moves no deviation by more than 0.003 % and
costs a third more rounds; 30 or 120 rounds change nothing."""
_IDLE = 1e-7
"""A term is dropped if its effect is below this fraction of the largest term's. Measured on the samples:
1e-9 moves nothing, 1e-5 one deviation from 0.69 to 0.83 %."""
_QUALITIES = ((0.5, 6), (1.0, 8), (2.0, 12), (5.0, 30))
"""Quality of the core's resonances, and how many per decade: a loss that rises faster than the frequency
needs narrow ones that overlap. Measured on the samples: without the two narrow ones the open resistance
deviates by 33 %, with twice as many of each by as much as here (0.69, 0.60 %)."""
_CLOSE = 2e-3
"""No closer fit is sought below this relative error of a reading (judged: a fifth of what is named,
``check``; measured on the samples: 1e-3 costs 24 elements more, of 202)."""
_THRIFT = 1e-6
"""Price of an element relative to error: among circuits equally good, small ones are preferred.
Measured on the samples: 0 costs 85 elements more, of 202, and 1e-4 moves nothing."""
_DECADES = 3.5
"""Decades of frequency over which a core's fit is dense; over more, as many points and terms lie further
apart (judged on netlists of nine decades: 4 s instead of 47; largest deviations .041 for .042 and .123 for
.091)."""
_RESISTIVE_FLOOR = 0.004
"""Resistances below this fraction of the reactance are fitted as if they were that large. Measured on the
samples: half and twice move no deviation by more than 0.04 %."""


@dataclass(frozen=True)
class Mode:
    """One term: an inductor with a resistor and a capacitor in parallel, behind ideal transformers.

    Attributes
    ----------
    ratios : (n,) array, ratio of the ideal transformer of each element that it couples, dimensionless
    inductance : float, H
    resistance : float, resistance, ohm; infinite for none
    capacitance : float, capacitance, F; 0 for none
    """

    ratios: FloatArray
    inductance: float
    resistance: float = np.inf
    capacitance: float = 0.0


def impedance_of(modes: tuple[Mode, ...], omega: FloatArray) -> ComplexArray:
    """Impedance of all modes together.

    Parameters
    ----------
    modes : tuple[Mode, ...]
    omega : (F,) array, rad/s

    Returns
    -------
    (F, n, n) complex array, ohm
    """
    ratios = np.array([mode.ratios for mode in modes])
    inductance, resistance, capacitance = (
        np.array([getattr(mode, name) for mode in modes])
        for name in ("inductance", "resistance", "capacitance")
    )
    around = 1j * omega[:, None]
    behind = 1 / (1 / (around * inductance) + 1 / resistance + around * capacitance)
    return np.asarray((ratios.T * behind[:, None, :]) @ ratios)


def fit_matrix(omega: FloatArray, impedance: ComplexArray, resistance: FloatArray) -> tuple[Mode, ...]:
    """Modes that have a given impedance matrix.

    Errors count relative to the resistance and to the reactance of every combination of currents, not of
    every element: errors of leakage, in which large elements cancel, count as much as the others. Least
    squares over non-negative terms, with as many directions as needed: a new one, the lowest eigenvector
    of the gradient, is added while it lowers the error (fully corrective Frank–Wolfe).

    Parameters
    ----------
    omega : (F,) array, rad/s
    impedance : (F, n, n) complex array, impedance without the direct-current resistance, symmetric, ohm
    resistance : (n,) array, direct-current resistance in series, used in the weights, ohm

    References
    ----------
    Lawson and Hanson's NNLS; fully corrective Frank–Wolfe (from memory).
    """
    taus = _time_constants(omega)
    basis = np.stack([1j * omega / (1 + 1j * omega * tau) for tau in taus])
    real = np.asarray(impedance.real + np.diag(resistance), float)
    imaginary = np.asarray(impedance.imag, float)
    weights = (
        _inverse_root(real + _RESISTIVE_FLOOR * np.abs(_part(imaginary))),
        _inverse_root(_part(imaginary) + real),
    )
    target = np.concatenate(
        [_upper(w @ part @ w) for w, part in zip(weights, _parts(impedance), strict=True)]
    )
    directions = [(pole, vector) for pole in range(len(taus)) for vector in _start(imaginary, omega)]
    columns = [_column(weights, basis[pole], vector) for pole, vector in directions]
    error = np.inf
    for left in reversed(range(_ROUNDS)):
        amounts, norm = _non_negative(np.stack(columns, axis=1), target)
        kept = np.flatnonzero(amounts > 0)
        directions, columns = [directions[k] for k in kept], [columns[k] for k in kept]
        amounts = amounts[kept]
        if left == 0 or norm**2 > error * (1 - _ENOUGH):
            break
        error = norm**2
        rest = target - np.stack(columns, axis=1) @ amounts
        steepest = _steepest(weights, basis, rest, impedance.shape[-1])
        if not steepest:
            break
        directions += steepest
        columns += [_column(weights, basis[pole], vector) for pole, vector in steepest]
    return _merged(directions, amounts, taus)


def _non_negative(columns: FloatArray, target: FloatArray) -> tuple[FloatArray, float]:
    """Amounts ≥ 0 of the c ``columns`` (r, c) nearest to ``target`` (r,), and the distance that is left: NNLS
    on the triangle that an orthogonal turn leaves of the many rows (r ≫ c)."""
    triangle = np.asarray(np.linalg.qr(np.column_stack([columns, target]), mode="r"))
    amounts, norm = nnls(triangle[:, :-1], triangle[:, -1], maxiter=100 * columns.shape[1])
    return np.asarray(amounts), float(norm)


def _parts(impedance: ComplexArray) -> tuple[FloatArray, FloatArray]:
    return np.asarray(impedance.real), np.asarray(impedance.imag)


def _part(matrix: FloatArray) -> FloatArray:
    """The positive part of symmetric matrices."""
    values, vectors = np.linalg.eigh(matrix)
    return np.asarray((vectors * np.maximum(values, 0.0)[..., None, :]) @ np.swapaxes(vectors, -1, -2))


def _inverse_root(matrix: FloatArray) -> FloatArray:
    values, vectors = np.linalg.eigh(matrix)
    floor = 1e-9 * values[..., -1:]
    return np.asarray(
        (vectors / np.sqrt(np.maximum(values, floor))[..., None, :]) @ np.swapaxes(vectors, -1, -2)
    )


def _column(weights: tuple[FloatArray, FloatArray], basis: ComplexArray, vector: FloatArray) -> FloatArray:
    """Effect of one unit of a term on the weighted impedance."""
    seen = [weight @ vector for weight in weights]
    parts = [
        part[:, None, None] * s[:, :, None] * s[:, None, :]
        for part, s in zip(_parts(basis), seen, strict=True)
    ]
    return np.concatenate([_upper(part) for part in parts])


def _upper(matrices: FloatArray) -> FloatArray:
    """The upper triangles of symmetric matrices (F, n, n) in one row, whose squares sum to those of all
    elements."""
    row, column = np.triu_indices(matrices.shape[-1])
    return np.asarray((matrices[:, row, column] * np.where(row == column, 1.0, math.sqrt(2))).reshape(-1))


def _whole(upper: FloatArray, size: int) -> FloatArray:
    """The symmetric matrices (F, n, n) of ``_upper``."""
    row, column = np.triu_indices(size)
    matrices = np.zeros((len(upper) // len(row), size, size))
    matrices[:, row, column] = upper.reshape(-1, len(row)) / np.where(row == column, 1.0, math.sqrt(2))
    matrices[:, column, row] = matrices[:, row, column]
    return matrices


def _start(imaginary: FloatArray, omega: FloatArray) -> list[FloatArray]:
    """Directions to start with: those of the inductances at the lowest and highest frequency."""
    directions = []
    for end_index in (0, -1):
        inductance = imaginary[end_index] / omega[end_index]
        scale = np.sqrt(np.maximum(np.diagonal(inductance), 1e-30))
        _, vectors = np.linalg.eigh(inductance / np.outer(scale, scale))
        directions += [scale * vector for vector in vectors.T]
    return [vector / np.max(np.abs(vector)) for vector in directions]


def _steepest(
    weights: tuple[FloatArray, FloatArray], basis: ComplexArray, rest: FloatArray, size: int
) -> list[tuple[int, FloatArray]]:
    """For every pole the direction in which the error falls most, if it falls.

    In coordinates in which the mean weight is one, so that small combinations are found as well.
    """
    halves = rest.reshape(2, -1)
    pulls = [weight @ _whole(half, size) @ weight for weight, half in zip(weights, halves, strict=True)]
    scale = np.linalg.inv(weights[1][len(weights[1]) // 2])
    directions = []
    for pole, values in enumerate(basis):
        gradient = np.einsum("f,fij->ij", values.real, pulls[0]) + np.einsum(
            "f,fij->ij", values.imag, pulls[1]
        )
        inner = scale @ gradient @ scale
        eigenvalues, vectors = np.linalg.eigh((inner + inner.T) / 2)
        for value, vector in zip(eigenvalues[::-1], vectors.T[::-1], strict=True):
            if value > 1e-12 * np.linalg.norm(inner):
                direction = scale @ vector
                directions.append((pole, direction / np.max(np.abs(direction))))
    return directions


def _merged(
    directions: list[tuple[int, FloatArray]], amounts: FloatArray, taus: FloatArray
) -> tuple[Mode, ...]:
    """All terms of one time constant as the fewest possible, by the eigenvectors of their sum."""
    modes = []
    size = len(directions[0][1])
    sums = np.zeros((len(taus), size, size))
    for (pole, vector), amount in zip(directions, amounts, strict=True):
        sums[pole] += amount * np.outer(vector, vector)
    scale = np.sqrt(np.maximum(np.diagonal(np.sum(sums, axis=0)), 1e-30))
    for tau, whole in zip(taus, sums, strict=True):
        values, vectors = np.linalg.eigh(whole / np.outer(scale, scale))
        for value, vector in zip(values, vectors.T, strict=True):
            if value <= _IDLE:
                continue
            ratios = scale * vector
            largest = ratios[np.argmax(np.abs(ratios))]
            inductance = float(value * largest**2)
            modes.append(Mode(ratios / largest, inductance, inductance / tau if tau > 0 else np.inf))
    return tuple(modes)


def _time_constants(omega: FloatArray) -> FloatArray:
    """0 (a plain inductor), then evenly spaced in the logarithm from beyond the highest to beyond the lowest
    frequency."""
    low, high = 1 / (8 * omega[-1]), 2 / omega[0]
    number = max(2, round(_POLES_PER_DECADE * np.log10(high / low)) + 1)
    return np.concatenate([[0.0], np.geomspace(low, high, number)])


def fit_core(omega: FloatArray, impedance: ComplexArray, gains: ComplexArray) -> tuple[Mode, ...]:
    """Modes (ratio 1) of a core, from its impedance per turn².

    The elements are inductors with resistors, and resonances of the material: R, L and C in parallel. Of
    all circuits of such elements, the one with the smallest largest error of a reading is chosen
    (Chebyshev; a linear program, whose solution has few elements of its own accord). Permeability and loss
    of a linear material are linked over all frequencies (Kramers and Kronig). Tables that are rounded, or
    one tan δ at all frequencies, violate that, and no passive circuit matches them exactly.

    Parameters
    ----------
    omega : (F,) array, rad/s
    impedance : (F,) complex array, impedance per turn², ohm
    gains : (F, r) complex array
        Effect of a relative change of the impedance on r readings, dimensionless; their relative change is
        the real part of gain times change. A resonance of the windings amplifies an error, their resistance
        hides it.
    """
    columns, shapes = _core_terms(omega)
    relative = columns / impedance[:, None]
    parts = np.concatenate([(gain[:, None] * relative).real for gain in gains.T], axis=0)
    wanted = np.concatenate(list(gains.T.real))
    scale = np.linalg.norm(parts, axis=0)
    rows = parts / scale
    slack = -np.ones((len(rows), 1))
    solution = linprog(
        np.append(np.full(len(shapes), _THRIFT), 1.0),
        A_ub=np.block([[rows, slack], [-rows, slack]]),
        b_ub=np.concatenate([wanted, -wanted]),
        bounds=[*[(0.0, None)] * len(shapes), (_CLOSE, None)],
        method="highs",
    )
    assert solution.x is not None, solution.message  # a large enough error is always allowed
    amounts = solution.x[:-1] / scale
    modes = []
    for amount, column, (tau, resonance, quality) in zip(amounts, columns.T, shapes, strict=True):
        if np.max(np.abs(amount * column / impedance)) <= _IDLE:
            continue
        inductance = float(amount)
        if resonance > 0:
            resistor, capacitor = inductance * resonance * quality, 1 / (inductance * resonance**2)
            modes.append(Mode(np.ones(1), inductance, resistor, capacitor))
        else:
            modes.append(Mode(np.ones(1), inductance, inductance / tau if tau > 0 else np.inf))
    return tuple(modes)


def thinned(decades: float) -> float:
    """Density of points and terms of a core fit over so many decades, relative to few (dimensionless): the
    cost of the linear program rises with the third power of their number, so that number is bounded."""
    return min(1.0, _DECADES / decades)


def _core_terms(omega: FloatArray) -> tuple[ComplexArray, list[tuple[float, float, float]]]:
    """Impedances (F, n) per henry of the terms to choose from, and the time constant (s), resonance (rad/s)
    and quality of each.

    They extend beyond either end of the range, because the cause of what acts inside may lie there.
    """
    low, high = float(omega[0]), float(omega[-1])
    decades = math.log10(high / low)
    dense = thinned(decades)
    shapes = [(0.0, 0.0, 0.0)]
    shapes += [
        (float(1 / corner), 0.0, 0.0)
        for corner in np.geomspace(low / 10, 10 * high, round(4 * dense * (decades + 2)) + 1)
    ]
    for quality, density in _QUALITIES:
        resonances = np.geomspace(low / 2, 20 * high, round(density * dense * (decades + 1.6)) + 1)
        shapes += [(0.0, float(resonance), quality) for resonance in resonances]
    columns = []
    for tau, resonance, quality in shapes:
        relative = 1j * omega / resonance if resonance > 0 else np.zeros(len(omega))
        columns.append(
            1j * omega / (1 + 1j * omega * tau + (relative / quality + relative**2 if quality else 0))
        )
    return np.array(columns).T, shapes
