"""A size of an error fitted to the cases that bear on it (``error_sizes``)."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.optimize import minimize_scalar
from scipy.stats import t as student

PREFERRED = np.array(
    [1, 1.12, 1.25, 1.4, 1.6, 1.8, 2, 2.24, 2.5, 2.8, 3.15, 3.55, 4, 4.5, 5, 5.6, 6.3, 7.1, 8, 9, 10]
)
"""R20 of ISO 3, from memory."""


@dataclass(frozen=True)
class Row:
    """One case: its residual in the logarithm, how the size enters (``weight``), and the standard error that
    is stated for other reasons (``rest``)."""

    case: str
    residual: float
    weight: float = 1.0
    rest: float = 0.0


@dataclass(frozen=True)
class Size:
    """One constant: where it stands, what is stated, and the cases. ``judged``: what else it holds, if it is
    meant to be larger than the cases show."""

    name: str
    stated: float
    rows: tuple[Row, ...]
    judged: str = ""
    one_sided: bool = False

    @property
    def fitted(self) -> float:
        """σ at its greatest likelihood."""
        r, w, s = (
            np.array([getattr(row, key) for row in self.rows]) for key in ("residual", "weight", "rest")
        )

        def minus_log(logarithm: float) -> float:
            variance = (w * np.exp(logarithm)) ** 2 + s**2
            return float(np.sum(r**2 / variance + np.log(variance)))

        return float(np.exp(minimize_scalar(minus_log, bounds=(-12.0, 2.0), method="bounded").x))

    @property
    def worst(self) -> float:
        """Half of the largest residual in units of the weight, without what is stated for other reasons."""
        left = [max((row.residual / 2) ** 2 - row.rest**2, 0.0) ** 0.5 / row.weight for row in self.rows]
        return max(left)

    @property
    def derived(self) -> float:
        """The size to be stated, before rounding up."""
        count = len(self.rows)
        if self.one_sided:
            return self.worst
        return max(self.fitted * float(student.ppf(0.975, count)) / 1.96, self.worst)

    @property
    def rounded(self) -> float:
        """The next preferred number."""
        scale = 10.0 ** np.floor(np.log10(self.derived))
        return float(scale * PREFERRED[self.derived / scale - 1e-9 <= PREFERRED][0])
