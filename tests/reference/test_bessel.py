"""Modified Bessel functions of the gap's fringing, held against scipy.special (reference)."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.special import ive, kve

from aswound.predict.cores.modified_bessel import scaled_i, scaled_k

ARGUMENTS = np.geomspace(0.05, 800.0, 200)


@pytest.mark.parametrize("order", [0, 1])
def test_modified_bessel_functions(order: int) -> None:
    assert scaled_k(order, ARGUMENTS) == pytest.approx(kve(order, ARGUMENTS), rel=1e-11)
    assert scaled_i(order, ARGUMENTS) == pytest.approx(ive(order, ARGUMENTS), rel=1e-9)
