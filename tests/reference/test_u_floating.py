"""The core that floats in the air around it: a potential in the middle of both legs of a U core, alike.

Reference: Laplace's equation by finite differences on a grid in an eighth of the space (seven points,
conjugate gradients), with no flux through the outer wall: a core whose potential is shifted as a whole then
has the same energy, as it has in free space where no net flux leaves it. The energy on a grid is too high; it
falls with the grid's step, so that the true one lies between the finer grid's and what both tell for no step.
"""

from __future__ import annotations

import numpy as np
import scipy.sparse as sp
from scipy.sparse.linalg import cg

from aswound.predict.field.u_exterior import WAVES, u_exterior

LEG, WINDOW, WALL = 10.0, 20.0, 40.0
"""Breadth, depth and yoke; width and height of the window; distance of the outer wall; mm."""


def energy(step: float) -> float:
    """∫ |∇Ω|² dV of the air, mm, with Ω = cos(πz/h) on both legs and 0 on the yokes."""
    count = round(WALL / step) + 1
    x, y, z = np.meshgrid(*[np.arange(count) * step] * 3, indexing="ij")
    held = (y <= LEG / 2) & (x <= 2 * LEG) & (z <= 2 * LEG) & ((x >= LEG) | (z >= LEG))
    middle = [axis[:-1, :-1, :-1] + step / 2 for axis in (x, y, z)]
    iron = (middle[1] < LEG / 2) & (middle[0] < 2 * LEG) & (middle[2] < 2 * LEG)
    air = 1.0 - (iron & ((middle[0] > LEG) | (middle[2] > LEG)))
    index = np.arange(count**3).reshape(held.shape)
    matrix = sp.csr_matrix((count**3, count**3))
    for axis in range(3):  # each edge of the grid: a quarter of every cell of air beside it
        weight = np.pad(air, [(0, 0) if along == axis else (1, 1) for along in range(3)])
        for along in {0, 1, 2} - {axis}:
            front, back = (np.delete(weight, at, axis=along) for at in (0, -1))
            weight = (front + back) / 2
        weight = step * weight.ravel()
        near, far = (np.delete(index, at, axis=axis).ravel() for at in (-1, 0))
        values = np.concatenate([weight, weight, -weight, -weight])
        places = (np.concatenate([near, far, near, far]), np.concatenate([near, far, far, near]))
        matrix = matrix + sp.coo_matrix((values, places), shape=matrix.shape).tocsr()
    potential = np.where(held & (z < LEG), np.cos(np.pi * z / WINDOW), 0.0).ravel()
    free = ~held.ravel()
    free &= matrix.diagonal() > 0
    inner = matrix[free][:, free]
    source = -(matrix[free][:, ~free] @ potential[~free])
    potential[free], stopped = cg(inner, source, rtol=1e-6, M=sp.diags(1 / inner.diagonal()))
    assert stopped == 0
    return float(8 * potential @ (matrix @ potential))


def test_no_net_flux_leaves_a_core_whose_legs_have_one_potential() -> None:
    form = 1e3 * u_exterior(LEG / 1e3, LEG / 1e3, WINDOW / 1e3, WINDOW / 1e3, LEG / 1e3)  # mm
    both = np.zeros(1 + 2 * WAVES)
    both[[1, 1 + WAVES]] = 1.0
    coarse, fine = energy(2.5), energy(1.25)
    assert 2 * fine - coarse < both @ form @ both < fine
    assert coarse - fine < 0.06 * fine
