"""The extended cantilever: a transformer of any number of windings, in elements that readings give directly.

Winding 1 has the magnetizing inductance L11 (its open inductance) across it. Winding k connects through an
ideal transformer of effective ratio n_k = M_1k/L11 (the voltage at k over that at 1, with k open). Between
every two windings j and k there is a leakage ℓ_jk at the level of winding 1. With B = L⁻¹ and n_1 = 1

    ℓ_jk = −1/(n_j n_k b_jk)                    and back
    b_jk = −1/(n_j n_k ℓ_jk),   b_kk = Σ_j 1/(n_k² ℓ_jk)  (b_11: + 1/L11)

There are as many elements as the inductance matrix has independent entries, N (N + 1)/2: N open
inductances (or one and N − 1 ratios) and N (N − 1)/2 leakages. A single ℓ_jk may be negative. Source: R.
W. Erickson, D. Maksimovic, "A multiple-winding magnetics model having directly measurable parameters",
PESC 1998 (from memory).
"""

from __future__ import annotations

import numpy as np

from ...predict.design import FloatArray


def mutual_of_leakages(opened: FloatArray, leakage: FloatArray) -> FloatArray:
    """Inductance matrix, all windings in one sense, from open inductances and pairwise leakages.

    Λ_jk = L_j (1 − k²), so M_jk² = L_k (L_j − Λ_jk).

    Parameters
    ----------
    opened : (..., N) array, open inductances, H
    leakage : (..., N, N) array, leakages, H; entry j, k above the diagonal is read at j with k shorted

    Returns
    -------
    (..., N, N) array, inductance matrix, H; NaN where a leakage exceeds its open inductance
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
    """Extended cantilever of an inductance matrix. Equations in the module's docstring.

    Parameters
    ----------
    matrix : (..., N, N) array, inductance matrix, H

    Returns
    -------
    (..., N) array, ratios n_k, dimensionless; 1 for winding 1
    (..., N, N) array
        Links ℓ_jk, H, symmetric. The diagonal holds L11 for winding 1 and infinity for the others. NaN if the
        matrix is not positive definite: no passive part has it.

    References
    ----------
    R. W. Erickson, D. Maksimovic, "A multiple-winding magnetics model having directly measurable parameters",
    PESC 1998 (from memory).
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
