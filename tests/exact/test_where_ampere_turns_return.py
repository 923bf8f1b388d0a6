"""Ampere-turns that do not sum to zero return in the leg and in its gaps: what depends on it."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pytest

from aswound.predict import load_design
from aswound.predict.alike import taken
from aswound.predict.copper import alternating_excess, enclosed_share, local_fields
from aswound.predict.copper.circuit_of_layers import _linkages
from aswound.predict.design import Design, FloatArray
from aswound.predict.winding import lay_out

pytestmark = pytest.mark.exact
SAMPLES = Path(__file__).parents[2] / "samples"
FREQUENCY = 80e3


def _added(design: Design, leg_share: FloatArray) -> np.ndarray:
    """(B, n, n) what alternating current adds, ohm per turn²."""
    layout = lay_out(design)
    fields = local_fields(design, layout, leg_share)
    assert fields is not None
    enclosed = enclosed_share(layout, leg_share)
    return alternating_excess(design, layout, enclosed, FREQUENCY, 20.0, fields)


@pytest.mark.parametrize("name", ["flyback-24w", "bridge-300w"])
def test_the_share_of_the_leg_is_for_the_sum_alone(name: str) -> None:
    """Quadratic in the share, and nothing to ampere-turns that sum to zero (with and without a gap)."""
    design = load_design(SAMPLES / f"{name}.toml")
    shares = np.array([0.0, 0.5, 1.0, 0.3])
    none, half, full, other = np.concatenate([_added(design, np.array([share])) for share in shares])
    x = shares[3]
    parabola = none * (1 - x) * (1 - 2 * x) + half * 4 * x * (1 - x) + full * x * (2 * x - 1)
    scale = float(np.max(np.abs(full)))
    assert np.max(np.abs(other - parabola)) < 1e-12 * scale
    random = np.random.default_rng(5).normal(size=len(none))
    balanced = random - np.mean(random)
    for each in (half, full, other):
        assert balanced @ each @ balanced == pytest.approx(balanced @ none @ balanced, rel=1e-9)
        assert abs(random @ each @ random / (random @ none @ random) - 1) > 1e-3


@pytest.mark.parametrize("name", ["flyback-24w", "bridge-300w"])
def test_builds_with_equal_layers_share_their_circuit(name: str) -> None:
    """Six builds that differ in leg share, or in the gap's share by the gap of the faces: one circuit, and
    each is as if it were alone."""
    design = load_design(SAMPLES / f"{name}.toml")
    share, faces = np.linspace(0.2, 0.9, 6), 1e-6 * np.array([0.0, 4.0, 0.0, 4.0, 0.0, 4.0])
    several = replace(design, core=replace(design.core, face_gap=faces))
    layout = taken(lay_out(design), np.zeros(6, np.int64), 1)
    fields = local_fields(several, layout, share)
    assert fields is not None
    assert len(fields.length) == 1
    enclosed = enclosed_share(layout, share)
    together = alternating_excess(several, layout, enclosed, FREQUENCY, 20.0, fields)
    for row in range(6):
        single = replace(design, core=replace(design.core, face_gap=float(faces[row])))
        alone = _added(single, share[row : row + 1])[0]
        assert np.max(np.abs(together[row] - alone)) < 1e-12 * np.max(np.abs(alone))


def test_linkages_of_layers_of_two_lengths() -> None:
    """Layers of 1 m and 4 m, one shape each, one henry per metre throughout: two even distributions, or two
    shapes, link over the geometric mean of their lengths; a shape links with an even distribution over the
    shape's own length, whichever of the two comes first."""
    size, n, places = 2, 2, 1
    fields = SimpleNamespace(
        linkage=np.ones((1, size, n, size, n)),
        tangential=np.zeros((1, n, 3, size, n)),
        returning_linkage=np.ones((1, size, n, places)),
        returning=np.zeros((1, n, 3, places)),
    )
    found = _linkages(cast("Any", fields), np.array([[1.0, 4.0]]), np.ones((1, size * n)))
    expected = [
        [0.0, 1.0, 4.0, 1.0, 4.0],
        [1.0, 1.0, 2.0, 1.0, 4.0],
        [4.0, 2.0, 4.0, 1.0, 4.0],
        [1.0, 1.0, 1.0, 1.0, 2.0],
        [4.0, 4.0, 4.0, 2.0, 4.0],
    ]
    assert found[0] == pytest.approx(np.array(expected))
