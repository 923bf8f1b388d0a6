"""What an aim is worth, counted and in closed form; the surface through forward runs."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from statistics import NormalDist
from typing import Any, cast

import numpy as np
import pytest

from aswound.compare.aims.changed_order import ChangedOrder
from aswound.compare.aims.joint_search import AimScatter, merits
from aswound.compare.aims.ranking import _scatter
from aswound.compare.aims.surface import Surface, _likeness
from aswound.compare.aims.target import Aim, log_yield, met, share_met
from aswound.predict import load_design
from aswound.predict.design import FloatArray

pytestmark = pytest.mark.exact

AROUND, LEAST, MOST = Aim("a", "=", 100.0, 5.0), Aim("b", ">=", 50.0), Aim("c", "<=", 20.0)


def test_bounds_of_the_three_senses() -> None:
    """Each met exactly at its bound, and not beyond."""
    assert (AROUND.low, AROUND.high) == (95.0, 105.0)
    assert (LEAST.low, LEAST.high) == (50.0, math.inf)
    assert (MOST.low, MOST.high) == (-math.inf, 20.0)
    readings = np.array([[95.0, 50.0, 20.0], [94.9, 49.9, 20.1], [105.1, 1e9, -1e9]])
    assert met(readings, [AROUND, LEAST, MOST]).tolist() == [[True] * 3, [False] * 3, [False, True, True]]


@pytest.mark.parametrize("reading", [80.0, 94.0, 100.0, 104.0, 130.0])
def test_yield_of_a_normal_distribution(reading: float) -> None:
    """The logarithm of Φ(b) − Φ(a), on both sides of the aim; independent aims multiply."""
    sigma = np.array([0.03, 0.1])
    of = NormalDist()
    first = of.cdf((math.log(105) - math.log(reading)) / 0.03) - of.cdf(
        (math.log(95) - math.log(reading)) / 0.03
    )
    second = 1 - of.cdf((math.log(50) - math.log(55)) / 0.1)
    found = log_yield(np.log([[reading, 55.0]]), [AROUND, LEAST], sigma)
    assert math.exp(found[0]) == pytest.approx(first * second, rel=1e-6, abs=1e-12)


def test_part_of_the_builds_is_counted() -> None:
    draw = np.random.default_rng(1)
    deviations = draw.normal(0, 0.05, (400, 3))
    logs = np.log([[100.0, 51.0, 19.0], [103.0, 60.0, 25.0]])
    aims = [AROUND, LEAST, MOST]
    counted = [np.mean(np.all(met(np.exp(row + deviations), aims), axis=1)) for row in logs]
    assert share_met(logs, aims, deviations) == pytest.approx(np.array(counted))


def test_builds_with_other_layers_count_by_their_share() -> None:
    """All builds as drawn meet the aim, none of the others: half of each is a yield of half."""
    sigma = np.array([0.01])
    scatter = AimScatter(sigma, sigma, np.zeros((10, 1)), np.full((10, 1), 0.5))
    logs = np.log([[100.0]])
    whole, half, none = (
        float(merits(logs, np.zeros(1), np.array([drawn]), [AROUND], scatter)[0])
        for drawn in (1.0, 0.5, 0.25)
    )
    assert whole - half == pytest.approx(0.5)
    assert half - none == pytest.approx(0.25)
    met_by_others = AimScatter(sigma, sigma, np.zeros((10, 1)), np.zeros((10, 1)))
    assert float(merits(logs, np.zeros(1), np.array([0.5]), [AROUND], met_by_others)[0]) == pytest.approx(
        whole
    )


def test_likeness_of_two_sets_of_changes() -> None:
    """Σ over pairs of changes of the products of their effects, and for one set 0.05² + 0.02²
    exp(−d²/2·0.1²)."""
    draw = np.random.default_rng(2)
    one, other = draw.normal(0, 0.1, (2, 4)), draw.normal(0, 0.1, (3, 4))
    same = np.array([[1.0, 0.0, 0.0], [0.0, 1.0, 1.0]])
    for i, j in itertools.product(range(2), range(3)):
        pairs = sum(
            one[i, p] * one[i, q] * other[j, p] * other[j, q] for p, q in itertools.combinations(range(4), 2)
        )
        near = math.exp(-float(np.sum((one[i] - other[j]) ** 2)) / (2 * 0.1**2))
        expected = pairs + same[i, j] * (0.05**2 + 0.02**2 * near)
        assert _likeness(one, other, same)[i, j] == pytest.approx(expected, rel=1e-9)


@dataclass
class Bent:
    """An order whose one reading bends with two changes, and more where both are made."""

    amounts: Sequence[Sequence[float]] = ((0.0, 1.0, 2.0, 3.0), (0.0, 1.0, 2.0, 3.0))
    unchanged: tuple[float, ...] = (0.0, 0.0)

    def read(self, choices: Sequence[tuple[float, ...]]) -> FloatArray:
        rows = [[0.05 * a - 0.03 * b**2 + 0.04 * a * b] for a, b in choices]
        return np.array(rows, float).reshape(-1, 1)

    def fill(self, choices: Sequence[tuple[float, ...]]) -> FloatArray:
        return np.array([0.5 + 0.1 * a + 0.05 * b for a, b in choices])


def test_the_surface_meets_what_was_run() -> None:
    """Singles exactly, several changes together to 0.0005; those near them better than by the sum alone."""
    order = Bent()
    surface = Surface(cast(ChangedOrder, cast(Any, order)), 1)
    assert surface.logs((0,), np.array([[2]]))[0, 0] == pytest.approx(0.1)
    plain = float(surface.logs((0, 1), np.array([[3, 2]]))[0, 0])
    surface.add([(2.0, 2.0), (3.0, 3.0)])
    for at in ((2, 2), (3, 3)):
        wanted = float(order.read([(float(at[0]), float(at[1]))])[0, 0])
        assert surface.logs((0, 1), np.array([at]))[0, 0] == pytest.approx(wanted, abs=1e-3)
    wanted = float(order.read([(3.0, 2.0)])[0, 0])
    after = float(surface.logs((0, 1), np.array([[3, 2]]))[0, 0])
    assert abs(after - wanted) < 0.5 * abs(plain - wanted)
    assert surface.filled((0, 1), np.array([[3, 2]]))[0] == pytest.approx(0.9)


def test_the_models_error_is_carried_over_to_another_build() -> None:
    """Production is the build's own; the model's part, √(0.05² − 0.03²) = 0.04 here, that of the build
    before."""
    design = load_design(Path(__file__).parents[2] / "samples" / "gate-drive.toml")
    design = replace(design, tests=design.tests[:1])
    before = AimScatter(np.array([0.03]), np.array([0.05]), np.zeros((1, 1)), np.zeros((1, 1)))
    scatter, drawn = _scatter(design, 100, 1, before)
    assert scatter.wide[0] ** 2 - scatter.sigma[0] ** 2 == pytest.approx(0.04**2)
    assert len(scatter.deviations) == round(100 * drawn)


def test_a_step_on_either_side_is_tried() -> None:
    """Of a change that is made: neighbours of its amount, none the same as not making it; the others stay."""
    none = cast(Any, None)
    order = ChangedOrder(none, none, (), ((0.0, 1.0, 2.0, 3.0, 4.0), (0.0, 0.1, 0.2)))
    assert order.stepped((2.0, 0.0), 1) == [(1.0, 0.0), (2.0, 0.0), (3.0, 0.0)]
    assert order.stepped((1.0, 0.2), 1) == [(1.0, 0.1), (1.0, 0.2), (2.0, 0.1), (2.0, 0.2)]
    assert order.stepped((3.0, 0.0), 2) == [(1.0, 0.0), (2.0, 0.0), (3.0, 0.0), (4.0, 0.0)]
