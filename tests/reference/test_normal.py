"""The normal distribution of verdict and plan, held against scipy.special (reference)."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.special import ndtr

from aswound.compare.verdict.normal import below_normal


def test_probability_below() -> None:
    z = np.linspace(-12.0, 9.0, 211).reshape(1, -1)
    assert below_normal(z).shape == z.shape
    assert below_normal(z) == pytest.approx(ndtr(z), rel=1e-12)
    assert float(below_normal(0.0)) == 0.5
