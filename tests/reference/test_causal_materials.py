"""The ferrites' tables against the shape of data sheets."""

from __future__ import annotations

import numpy as np
import pytest
from causal_materials import SHAPES, shape, table

pytestmark = pytest.mark.reference


@pytest.mark.parametrize("name", SHAPES)
def test_tables_are_near_the_shape_of_data_sheets(name: str) -> None:
    """Generic shape (common practice, no source): μ within 6 % to half of f_r, from a hundredth of
    f_r on the loss within a quarter."""
    frequency, real, tangent = table(*SHAPES[name])
    resonance, floor = SHAPES[name]
    wanted, loss = shape(frequency, resonance, floor)
    below = frequency < 0.5 * resonance
    assert np.max(np.abs(real / wanted - 1)[below]) < 0.06
    assert np.max(np.abs(tangent / loss - 1)[frequency > 0.01 * resonance]) < 0.25
