"""Electrostatic energy as a quadratic form of potentials, gathered face by face.

Every potential of a build is a combination of the potentials of its labels (ends of branches, core, shields),
so the energy of all faces is W = ½ Vᵀ C V. A face between two electrodes i, j of weight w (F) adds
w (v_i − v_j)², so that all faces together make a weighted graph of electrodes and C = Pᵀ L P, with its
Laplacian L (sums of weights on the diagonal, −w beside it) and the rows of P the electrodes' potentials.
``capacitance`` says what the faces are.
"""

from __future__ import annotations

import numpy as np

from .capacitance_units import Space, Units
from .design import FloatArray

CORE = "core"


class Energy:
    """Gathers the faces of one batch of builds; a scratch object of ``build_capacitance``. n sections, of
    which electrode n is the core.

    ``labels`` of the m potentials: (branch, "start"), (branch, "finish"), and core and shields by name, as
    (−1, name). ``facing`` (3, B, n + 1, n + 1): faces along which potentials run as p + q y, by the moments
    of their stretch. ``edges`` (B, 2n + 2, 2n + 2): ends of layers, the lower ones first. ``together``
    (B, n, n): pairs wound turn by turn. ``own`` (B, n): weight of the squared difference between a layer's
    two ends. All F.
    """

    def __init__(self, space: Space, units: Units) -> None:
        self.space, self.units, self.count = space, units, space.count
        layout = space.layout
        self.sections = len(layout.sections)
        shields = list(dict.fromkeys(s.winding for s in layout.sections if s.shield))
        branches = range(len(layout.branches))
        ends = [(branch, end) for branch in branches for end in ("start", "finish")]
        self.labels = (*ends, (-1, CORE), *((-1, name) for name in shields))
        n = self.sections
        self.facing = np.zeros((3, self.count, n + 1, n + 1))
        self.edges = np.zeros((self.count, 2 * n + 2, 2 * n + 2))
        self.together = np.zeros((self.count, n, n))
        self.own = np.zeros((self.count, n))
        self.scramble = np.array([section.scramble for section in layout.sections])

    def matrix(self) -> FloatArray:
        """(B, m, m) C of all faces gathered (F), symmetric."""
        n, units = self.sections, self.units
        low, high = self._ends()
        difference = high[:, :n] - low[:, :n]
        loose = self.scramble[:, None]
        middle = (low[:, :n] + high[:, :n]) / 2
        begin, stop = units.low[:, units.unit, None], units.high[:, units.unit, None]
        slope = np.where(loose, 0.0, difference / np.maximum(stop - begin, 1e-12))
        p, q = low.copy(), np.zeros_like(low)
        p[:, :n] = np.where(loose, middle, low[:, :n] - slope * begin)
        q[:, :n] = slope
        zero, first, second = map(_laplacian, self.facing)
        result = _form(p, zero @ p + first @ q) + _form(q, first @ p + second @ q)
        low_end, high_end = low.copy(), high.copy()
        low_end[:, :n] = np.where(loose, middle, low[:, :n])
        high_end[:, :n] = np.where(loose, middle, high[:, :n])
        at_ends = np.concatenate([low_end, high_end], axis=1)
        result = result + _form(at_ends, _laplacian(self.edges) @ at_ends)
        result = result + _form(difference, self.own[:, :, None] * difference)
        if np.any(self.together):
            pairs = _laplacian(self.together)
            one, other = pairs @ low[:, :n], pairs @ high[:, :n]
            result = result + _form(low[:, :n], one + other / 2) + _form(high[:, :n], other + one / 2)
        return np.asarray((result + np.swapaxes(result, 1, 2)) / 2)

    def _ends(self) -> tuple[FloatArray, FloatArray]:
        """(low, high), (B, n + 1, m) each: potential of every electrode at both ends of its layer, as
        combinations of the labels."""
        layout, n = self.space.layout, self.sections
        place = {label: index for index, label in enumerate(self.labels)}
        low = np.zeros((self.count, n + 1, len(self.labels)))
        high = low.copy()
        low[:, n, place[-1, CORE]] = high[:, n, place[-1, CORE]] = 1.0
        own: dict[int, list[int]] = {}
        for index, section in enumerate(layout.sections):
            if section.shield:
                low[:, index, place[-1, section.winding]] = high[:, index, place[-1, section.winding]] = 1.0
            else:
                own.setdefault(section.branch, []).append(index)
        for branch, rows in own.items():
            turns = layout.turns[:, rows]
            after = np.cumsum(turns, axis=1) / np.maximum(np.sum(turns, axis=1, keepdims=True), 1e-12)
            before = np.concatenate([np.zeros((self.count, 1)), after[:, :-1]], axis=1)
            foil = self.space.design.winding(layout.sections[rows[0]].winding).wire.kind == "foil"
            back = np.array([layout.sections[index].descending and not foil for index in rows])
            start, finish = place[branch, "start"], place[branch, "finish"]
            for ends, part in ((low, np.where(back, after, before)), (high, np.where(back, before, after))):
                ends[:, rows, start], ends[:, rows, finish] = 1.0 - part, part
        return low, high


def _laplacian(weights: FloatArray) -> FloatArray:
    """(B, e, e) Σ w_ij (v_i − v_j)² as a matrix, of weights (B, e, e) in any order of i and j."""
    both = weights + np.swapaxes(weights, 1, 2)
    result = -both
    diagonal = np.arange(weights.shape[-1])
    result[:, diagonal, diagonal] += np.sum(both, axis=-1)
    return result


def _form(one: FloatArray, other: FloatArray) -> FloatArray:
    return np.asarray(np.swapaxes(one, 1, 2) @ other)
