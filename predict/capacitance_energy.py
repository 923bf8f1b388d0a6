"""Electrostatic energy as a quadratic form of potentials, gathered face by face.

Every potential of a build is a combination of the potentials of its labels (ends of branches, core, shields),
so the energy of all faces is W = ½ Vᵀ C V; this module holds C while it grows. ``capacitance`` says what the
faces are.
"""

from __future__ import annotations

import numpy as np

from .capacitance_units import Space, Unit
from .design import FloatArray

CORE = "core"
_GATHERED = 20_000  # potentials' products (terms × builds) that are added in one step


class Energy:
    """Gathers the faces of one batch of builds; a scratch object of ``build_capacitance``.

    ``labels`` of the m potentials: (branch, "start"), (branch, "finish"), and core and shields by name, as
    (−1, name). ``matrix`` (B, m, m): what was gathered so far (F), not symmetric yet.
    """

    def __init__(self, space: Space) -> None:
        self.space, self.layout, self.count = space, space.layout, space.count
        layout = space.layout
        shields = list(dict.fromkeys(s.winding for s in layout.sections if s.shield))
        branches = range(len(layout.branches))
        ends = [(branch, end) for branch in branches for end in ("start", "finish")]
        self.labels = (*ends, (-1, CORE), *((-1, name) for name in shields))
        self._place = {label: index for index, label in enumerate(self.labels)}
        self._matrix = np.zeros((self.count, len(self.labels), len(self.labels)))
        self._terms: list[tuple[FloatArray, FloatArray]] = []
        self.ends = [self._ends(index) for index in range(len(layout.sections))]

    def matrix(self) -> FloatArray:
        """(B, m, m) C of all faces added so far (F), symmetric."""
        self._gather()
        return (self._matrix + np.swapaxes(self._matrix, 1, 2)) / 2

    def _ends(self, index: int) -> tuple[FloatArray, FloatArray]:
        """(low, high): potential at both ends of a section along its layer, as combinations (B, m) of the
        labels."""
        section = self.layout.sections[index]
        size = (self.count, len(self.labels))
        if section.shield:
            vector = np.zeros(size)
            vector[:, self._place[-1, section.winding]] = 1.0
            return vector, vector
        own = [k for k, other in enumerate(self.layout.sections) if other.branch == section.branch]
        turns = self.layout.turns
        total = np.maximum(np.sum(turns[:, own], axis=1), 1e-12)
        before = np.sum(turns[:, [k for k in own if k < index]], axis=1) / total
        after = before + turns[:, index] / total
        start, finish = self._place[section.branch, "start"], self._place[section.branch, "finish"]

        def at(fraction: FloatArray) -> FloatArray:
            vector = np.zeros(size)
            vector[:, start], vector[:, finish] = 1.0 - fraction, fraction
            return vector

        foil = self.space.design.winding(section.winding).wire.kind == "foil"
        return (at(after), at(before)) if section.descending and not foil else (at(before), at(after))

    def add(self, one: FloatArray, other: FloatArray, weight: FloatArray) -> None:
        """weight × one otherᵀ, gathered: one product for many."""
        self._terms.append((one * weight[:, None], other))
        if len(self._terms) * self.count >= _GATHERED:
            self._gather()

    def _gather(self) -> None:
        if self._terms:
            weighted, others = (np.stack(part, axis=1) for part in zip(*self._terms, strict=True))
            self._matrix += np.swapaxes(weighted, 1, 2) @ others
            self._terms.clear()

    def facing(
        self,
        one: tuple[FloatArray, FloatArray],
        other: tuple[FloatArray, FloatArray],
        moments: tuple[FloatArray, FloatArray, FloatArray],
        weight: FloatArray,
    ) -> None:
        """Energy of two faces whose potentials are ``p + q y``: moments ∫dy, ∫y dy, ∫y² dy of the stretch."""
        p, q = one[0] - other[0], one[1] - other[1]
        m0, m1, m2 = moments
        self.add(p, p, weight * m0)
        self.add(p, q, weight * m1)
        self.add(q, p, weight * m1)
        self.add(q, q, weight * m2)

    def line(self, unit: Unit, member: int) -> tuple[FloatArray, FloatArray]:
        """(p, q): the member's potential along the layer, p + q y; without order its mean."""
        low, high = self.ends[member]
        if self.layout.sections[member].scramble:
            return (low + high) / 2, np.zeros_like(low)
        slope = (high - low) / np.maximum(unit.high - unit.low, 1e-12)[:, None]
        return low - slope * unit.low[:, None], slope

    def scatter(self, member: int, weight: FloatArray) -> None:
        """Energy by the variance Δ²/12 of the potentials of a layer wound without order (−1: the core)."""
        if member >= 0 and self.layout.sections[member].scramble:
            low, high = self.ends[member]
            self.add(high - low, high - low, weight / 12)

    def end(self, member: int, end: int) -> FloatArray:
        """Potential of a section's lower (0) or upper (1) end; without order its mean."""
        low, high = self.ends[member]
        if self.layout.sections[member].scramble:
            return (low + high) / 2
        return (low, high)[end]

    def core_line(self) -> tuple[FloatArray, FloatArray]:
        vector = np.zeros((self.count, len(self.labels)))
        vector[:, self._place[-1, CORE]] = 1.0
        return vector, np.zeros_like(vector)
