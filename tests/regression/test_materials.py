"""The ferrites' tables in the catalogue are those that ``tests/reference/causal_materials.py`` writes."""

from __future__ import annotations

import numpy as np
import pytest
from causal_materials import SHAPES, table

from aswound.predict.catalogue.lookup import find_material, load_catalogue

pytestmark = pytest.mark.regression


@pytest.mark.parametrize("name", SHAPES)
def test_tables_are_those_of_the_script(name: str) -> None:
    material = find_material(load_catalogue(), name)
    frequency, real, tangent = table(*SHAPES[name])
    np.testing.assert_allclose(material.frequencies, frequency, rtol=1e-9)
    np.testing.assert_allclose(material.real_ratio, real, rtol=2e-3)
    np.testing.assert_allclose(material.loss_tangent, tangent, rtol=2e-2)
