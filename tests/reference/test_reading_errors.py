"""What the models say of themselves in single readings, against the simulator of the benchmark."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))

from reading_errors import DESIGNS as SIMULATED
from reading_errors import Residual, against_simulator, root_mean_square

pytestmark = pytest.mark.reference
KINDS = {
    "leakage": (0.7, 1.1),
    "capacitance": (0.5, 1.1),
    "resonance": (0.8, 1.2),
    "ac_resistance": (0.5, 0.9),
    "quality": (0.7, 1.1),
    "ratio": (0.4, 1.2),
    # No model shows how far the two sides differ on a bench: what is stated is chosen by the law
    # (law.py; own_errors.ONE_SIDE), and must only be no less than the models show.
    "Lk_P less Lk_S": (0.1, 1.0),
    "L_P less L_S": (0.7, 1.5),
}
"""Root mean square of the residuals in units of what is stated: 1 where that is right. Of a quality the
residual of every part comes on top (8 %)."""


@pytest.fixture(scope="module")
def found() -> list[Residual]:
    """Every reading of every benchmark design as drawn."""
    return [one for path in SIMULATED for one in against_simulator(path)]


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.slow
def test_residuals_are_as_large_as_stated(kind: str, found: list[Residual]) -> None:
    low, high = KINDS[kind]
    assert low < root_mean_square([row for row in found if row[0] == kind]) < high
