"""Sure only when right: every reading displaced by itself, as far as the models say of themselves, accuses no
sound part. All designs: ``tests/benchmarks/law.py``."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[1] / "benchmarks"))

from law import DESIGNS, Stated, stated, together

from aswound.predict import load_design

pytestmark = pytest.mark.property
CHOSEN = ("flyback-24w", "gate-drive", "r36-ring", "efd20-few-turns", "etd29-pairs")
"""Two samples, a ring, few turns, leakages of three pairs of windings."""
PARTS = 30


@pytest.fixture(scope="module")
def drawn() -> Stated:
    """Sound parts and faulty ones of all of them."""
    found = [stated(load_design(path), PARTS) for path in DESIGNS if path.stem in CHOSEN]
    assert len(found) == len(CHOSEN)
    return together(found)


@pytest.mark.slow
def test_no_sound_part_is_accused(drawn: Stated) -> None:
    assert drawn.accused <= 0.01


@pytest.mark.slow
def test_what_is_stated_is_right_so_often(drawn: Stated) -> None:
    assert abs(drawn.overstated) <= 0.03


@pytest.mark.slow
def test_models_that_knew_nothing_of_their_errors_would_accuse() -> None:
    """The same displacement, weighed without it: the law can fail."""
    path = next(path for path in DESIGNS if path.stem == "etd29-pairs")
    blind = stated(load_design(path), PARTS, blind=True, faulty=False, scale=1.5)
    assert blind.accused > 0.01
