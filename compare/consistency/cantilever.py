"""The extended cantilever: a transformer of any number of windings in elements that readings give directly.

Winding 1 carries the magnetizing inductance L11 (its open inductance); winding k hangs on an ideal
transformer of effective ratio n_k = M_1k/L11 (the voltage at k over that at 1, k open); between every two
windings j and k stands a leakage ℓ_jk at the level of winding 1. With B = L⁻¹ and n_1 = 1

    ℓ_jk = −1/(n_j n_k b_jk)                    and back
    b_jk = −1/(n_j n_k ℓ_jk),   b_kk = Σ_j 1/(n_k² ℓ_jk)  (b_11: + 1/L11)

There are as many elements as the inductance matrix has entries, N (N + 1)/2: N open inductances (or one and
N − 1 ratios) and N (N − 1)/2 leakages. A single ℓ_jk may be negative. Source: R. W. Erickson, D.
Maksimovic, "A multiple-winding magnetics model having directly measurable parameters", PESC 1998 (from
memory).
"""

from __future__ import annotations

import numpy as np

from ...predict.design import FloatArray


def mutual_of_leakages(opened: FloatArray, leakage: FloatArray) -> FloatArray:
    """(..., N, N) inductance matrix (H), all windings in one sense, from open inductances (..., N) and
    pairwise leakages.

    leakage : (..., N, N), entry j, k above the diagonal read at j with k shorted (H): Λ_jk = L_j (1 − k²),
    so M_jk² = L_k (L_j − Λ_jk). NaN where a leakage exceeds its open inductance.
    """
    rows, columns = np.triu_indices(opened.shape[-1], 1)
    with np.errstate(invalid="ignore"):
        mutual = np.sqrt(opened[..., columns] * (opened[..., rows] - leakage[..., rows, columns]))
    matrix = np.zeros((*opened.shape, opened.shape[-1]))
    matrix[..., rows, columns] = mutual
    matrix[..., columns, rows] = mutual
    each = np.arange(opened.shape[-1])
    matrix[..., each, each] = opened
    return matrix


def extended_cantilever(matrix: FloatArray) -> tuple[FloatArray, FloatArray]:
    """(ratios (..., N), links (..., N, N)) of an inductance matrix (..., N, N) in H; equations above.

    ratios : n_k, 1 for winding 1. links : ℓ_jk (H), symmetric, on its diagonal L11 of winding 1 and infinity
    else. NaN where the matrix is not positive definite: no passive part has it.
    """
    size = matrix.shape[-1]
    ratios = matrix[..., 0, :] / matrix[..., 0, :1]
    definite = np.all(np.isfinite(matrix), axis=(-1, -2))
    safe = np.where(definite[..., None, None], matrix, np.eye(size))
    passive = definite & (np.linalg.eigvalsh(safe)[..., 0] > 0)
    safe = np.where(passive[..., None, None], safe, np.eye(size))
    with np.errstate(divide="ignore"):
        links = -1.0 / (ratios[..., :, None] * ratios[..., None, :] * np.linalg.inv(safe))
    each = np.arange(size)
    links[..., each, each] = np.inf
    links[..., 0, 0] = matrix[..., 0, 0]
    return ratios, np.where(passive[..., None, None], links, np.nan)


def matrix_of_cantilever(ratios: FloatArray, links: FloatArray) -> FloatArray:
    """(..., N, N) inductance matrix (H) of an extended cantilever: the inverse of ``extended_cantilever``."""
    scale = ratios[..., :, None] * ratios[..., None, :]
    inverse = -1.0 / (scale * links)
    each = np.arange(ratios.shape[-1])
    inverse[..., each, each] = 0.0
    rise = 1.0 / links
    rise[..., each, each] = 0.0
    inverse[..., each, each] = np.sum(rise, axis=-1) / ratios**2
    inverse[..., 0, 0] += 1.0 / links[..., 0, 0]
    return np.asarray(np.linalg.inv(inverse))
