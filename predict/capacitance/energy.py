"""Electrostatic energy as a quadratic form of potentials, gathered face by face.

Every potential of a build is a linear combination of the potentials of its labels (ends of branches, core,
shields), so the energy of all faces is W = ½ Vᵀ C V. A face of weight w (F) between electrodes whose
potentials are the rows a and b of such combinations adds w (a − b)(a − b)ᵀ to C. ``potentials`` lists the
faces.
"""

from __future__ import annotations

from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from ..design import CORE, FloatArray
from .electrodes import ElectrodeSpace, Units
from .stacks import unclosed

_GATHERED = 4096
"""Number of faces whose products of potentials are added at one time (bounds work, not results)."""
Rows = NDArray[np.int_]


_NO_CORE = 1e-9
"""What is left of capacitances to a core that is not there, so that its node is not without any (measured on
a coil in air: ten times more or less moves no reading by more than 1e-14)."""


class Energy:
    """Gathers the faces of one batch of B builds; a scratch object of ``build_capacitance``.

    There are n sections and m potentials; electrode n is the core.

    Attributes
    ----------
    labels : tuple of (int, str)
        Names of the m potentials: (branch, "start"), (branch, "finish"), and core and shields as (−1, name).
    plates : (2, B, n) array, weight of the lower and upper ends of layers towards the core, F
    own : (B, n) array, weight of the squared difference between the two ends of a layer, F
    """

    def __init__(self, space: ElectrodeSpace, units: Units) -> None:
        self.space, self.units, self.count = space, units, space.count
        layout = space.layout
        n = self.sections = len(layout.sections)
        shields = list(dict.fromkeys(s.winding for s in layout.sections if s.shield))
        branches = range(len(layout.branches))
        ends = [(branch, end) for branch in branches for end in ("start", "finish")]
        self.labels = (*ends, (-1, CORE), *((-1, name) for name in shields))
        self.plates = np.zeros((2, self.count, n))
        self.own = np.zeros((self.count, n))
        self.scramble = np.array([section.scramble for section in layout.sections])
        self._matrix = np.zeros((self.count, len(self.labels), len(self.labels)))
        low, high = self._ends()
        self._low, self._high = low, high
        loose = self.scramble[:, None]
        self._difference = high[:, :n] - low[:, :n]
        middle = (low[:, :n] + high[:, :n]) / 2
        begin, stop = units.low[:, units.unit, None], units.high[:, units.unit, None]
        slope = np.where(loose, 0.0, self._difference / np.maximum(stop - begin, 1e-12))
        self._p, self._q = low.copy(), np.zeros_like(low)
        self._p[:, :n] = np.where(loose, middle, low[:, :n] - slope * begin)
        self._q[:, :n] = slope
        self._at_end = low.copy(), high.copy()
        for at, end in zip(self._at_end, (low, high), strict=True):
            at[:, :n] = np.where(loose, middle, end[:, :n])

    @cached_property
    def open_layers(self) -> NDArray[np.bool_]:
        """(B, N + 1) the layers through which fields pass (``stacks.unclosed``)."""
        return unclosed(self.units)

    def face(
        self, build: Rows, inner: Rows, outer: Rows, weights: tuple[FloatArray, FloatArray, FloatArray]
    ) -> None:
        """Add faces of electrodes whose potentials run as p + q y, one face in each of R rows.

        Parameters
        ----------
        build : (R,) array of int, of each face, index, rising
        inner : (R,) array of int, first electrode, index; the core is the electrode after all sections
        outer : (R,) array of int, second electrode, index
        weights : tuple of three (R,) arrays
            Weight of the face with 1, y and y² over its stretch, F, F m and F m².
        """
        if not self.space.design.core.dimensions.permeable:  # no core that could be an electrode
            real = (inner % (self.sections + 1) < self.sections) & (
                outer % (self.sections + 1) < self.sections
            )
            weights = tuple(np.where(real, weight, _NO_CORE * weight) for weight in weights)  # type: ignore[assignment]
        p = self._p[build, inner] - self._p[build, outer]
        q = self._q[build, inner] - self._q[build, outer]
        w0, w1, w2 = (weight[:, None] for weight in weights)
        self._add(build, p, w0 * p + w1 * q)
        self._add(build, q, w1 * p + w2 * q)

    def end_to_end(self, build: Rows, lower: Rows, upper: Rows, weight: FloatArray) -> None:
        """Add layers lying end to end: the upper end of one faces the lower end of another, R pairs.

        Parameters
        ----------
        build : (R,) array of int, of each pair, index, rising
        lower, upper : (R,) array of int, lower and upper section, index
        weight : (R,) array, F
        """
        apart = self._at_end[1][build, lower] - self._at_end[0][build, upper]
        self._add(build, apart, weight[:, None] * apart)

    def together(self, first: int, second: int, weight: FloatArray) -> None:
        """Add two sections wound turn by turn; their potential difference is linear along the layer.

        Parameters
        ----------
        first, second : int, index
        weight : (B,) array, of the pair, F
        """
        low = self._low[:, first] - self._low[:, second]
        high = self._high[:, first] - self._high[:, second]
        every = np.arange(self.count)
        self._add(every, low, weight[:, None] * (low + high / 2))
        self._add(every, high, weight[:, None] * (high + low / 2))

    def scatter(self, build: Rows, member: Rows, weight: FloatArray) -> None:
        """Add the energy from the variance Δ²/12 of the potentials in a layer wound at random.

        The core adds none.

        Parameters
        ----------
        build, member : (R,) array of int, build and electrode of each face, index
        weight : (R,) array, of the face, F
        """
        if not self.scramble.any():
            return
        known = np.minimum(member, self.sections - 1)
        loose = self.scramble[known] & (member < self.sections)
        np.add.at(self.own, (build[loose], member[loose]), weight[loose] / 12)

    def _add(self, build: Rows, left: FloatArray, right: FloatArray) -> None:
        """Add Σ left rightᵀ over the rows of each build; ``build`` rises."""
        if self.count == 1:
            self._matrix += left.T @ right
            return
        number = np.bincount(build, minlength=self.count)
        place = np.arange(len(build)) - np.repeat(np.cumsum(number) - number, number)
        most = max(1, int(np.max(number)))
        portion = max(1, _GATHERED // most)
        for begin in range(0, self.count, portion):
            rows = slice(*np.searchsorted(build, (begin, begin + portion)).tolist())
            here = self._matrix[begin : begin + portion]
            gathered = np.zeros((2, len(here), most, left.shape[1]))
            for of_all, part in zip(gathered, (left, right), strict=True):
                of_all[build[rows] - begin, place[rows]] = part[rows]
            here += np.swapaxes(gathered[0], 1, 2) @ gathered[1]

    def matrix(self) -> FloatArray:
        """(B, m, m) symmetric capacitance matrix C of all faces gathered, F."""
        n = self.sections
        result = self._matrix + _form(self._difference, self.own[:, :, None] * self._difference)
        for at, weight in zip(self._at_end, self.plates, strict=True):
            apart = at[:, :n] - at[:, n:]
            result = result + _form(apart, weight[:, :, None] * apart)
        return np.asarray((result + result.swapaxes(1, 2)) / 2)

    def _ends(self) -> tuple[FloatArray, FloatArray]:
        """(low, high), (B, n + 1, m) each: the potential of every electrode at both ends of its layer, as
        combinations of the labels."""
        layout, n = self.space.layout, self.sections
        node_index = {label: index for index, label in enumerate(self.labels)}
        low = np.zeros((self.count, n + 1, len(self.labels)))
        high = low.copy()
        low[:, n, node_index[-1, CORE]] = high[:, n, node_index[-1, CORE]] = 1.0
        rows_of_branch: dict[int, list[int]] = {}
        for index, section in enumerate(layout.sections):
            if section.shield:
                low[:, index, node_index[-1, section.winding]] = high[
                    :, index, node_index[-1, section.winding]
                ] = 1.0
            else:
                rows_of_branch.setdefault(section.branch, []).append(index)
        for branch, rows in rows_of_branch.items():
            turns = layout.turns[:, rows]
            laid = turns.cumsum(axis=1)
            whole = np.maximum(laid[:, -1:], 1e-12)
            after, before = laid / whole, (laid - turns) / whole
            foil = self.space.design.winding(layout.sections[rows[0]].winding).wire.foil
            back = np.array([layout.sections[index].descending and not foil for index in rows])
            start, finish = node_index[branch, "start"], node_index[branch, "finish"]
            for ends, part in ((low, np.where(back, after, before)), (high, np.where(back, before, after))):
                ends[:, rows, start], ends[:, rows, finish] = 1.0 - part, part
        return low, high


def _form(left: FloatArray, right: FloatArray) -> FloatArray:
    return np.asarray(left.swapaxes(1, 2) @ right)
