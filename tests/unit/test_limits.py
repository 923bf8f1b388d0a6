"""Proposed limits: where they lie, how they are rounded, what is said to widen them."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from aswound.compare.meter.budget import Budget, budget
from aswound.compare.plan.bench_sheet import plan
from aswound.compare.plan.limits import proposed_limits
from aswound.predict.design import BenchTest, Design, Member, Spread
from aswound.predict.designfile.reader import load_design
from aswound.predict.production.drivers import Driver
from aswound.predict.production.monte_carlo import ProductionSpread

FLYBACK = load_design(Path(__file__).parents[2] / "samples" / "flyback-24w.toml")
TEST = BenchTest(name="L", measure="inductance", drive=(Member("P"),), frequency=1e4)
METER = budget([("meter", 1.0), ("temperature", 50.0)])


def _production(low: float, high: float, middle: float = 1000.0, share: float = 0.75) -> ProductionSpread:
    half = (high - low) / (2 * 1.959964)
    drivers = (Driver("tape", share), Driver("wire", 1 - share))
    samples = np.array([[low], [middle], [high]])
    return ProductionSpread(
        nominal=np.array([middle]),
        low=np.array([low]),
        high=np.array([high]),
        standard_uncertainty=np.array([half]),
        samples=samples,
        drivers=(drivers,),
        sampling_error=np.zeros(1),
        tipped=(),
    )


def _limits(low: float, high: float, test: BenchTest = TEST, meter: Budget = METER):
    found = proposed_limits(test, _production(low, high), 0, meter)
    assert found is not None
    return found


def test_three_deviations_of_production_and_a_guard_band() -> None:
    """Half width 3 × 10 + 2 × 1 = 32, the part's temperature is not counted twice; step 2."""
    found = _limits(1000 - 19.59964, 1000 + 19.59964)
    assert (found.half_width, found.guard_band, found.step) == (pytest.approx(32), pytest.approx(2), 2.0)
    assert (found.minimum, found.maximum) == (968.0, 1032.0)


def test_a_skewed_range_gives_unequal_limits_rounded_outwards() -> None:
    """−19.6 and +39.2: 30 + 2 below, 60 + 2 above; half width 47, step 2."""
    found = _limits(1000 - 19.59964 * 0.99, 1000 + 2 * 19.59964 * 0.99)
    assert (found.minimum, found.maximum) == (968.0, 1062.0)
    assert found.minimum < 1000 - 29.7 - 2
    assert found.maximum > 1000 + 59.4 + 2


def test_one_stated_limit_asks_for_that_one() -> None:
    above = _limits(980, 1020, replace(TEST, maximum=2000.0))
    below = _limits(980, 1020, replace(TEST, minimum=1.0))
    assert above.minimum is None
    assert above.maximum is not None
    assert below.minimum is not None
    assert below.maximum is None


def test_a_lower_limit_below_zero_is_left_out() -> None:
    assert _limits(200, 1800).minimum is None


def test_the_driver_and_what_halving_it_gains() -> None:
    """Production: σ 10, of which √0.75 by tape; halved, √(1 − 0.75·0.75) is left: 30 (1 − 0.6614) of 32."""
    found = _limits(1000 - 19.59964, 1000 + 19.59964)
    assert (found.driver, found.at_bench) == ("tape", False)
    assert found.gain == pytest.approx(30 * (1 - math.sqrt(1 - 0.75**2)) / 32, rel=1e-6)
    coarse = budget([("link", 20.0), ("meter", 5.0)])
    found = _limits(1000 - 19.59964, 1000 + 19.59964, meter=coarse)
    assert (found.driver, found.at_bench) == ("link", True)
    assert found.gain == pytest.approx(
        2 * (math.hypot(20, 5) - math.hypot(10, 5)) / (30 + 2 * math.hypot(20, 5)), rel=1e-6
    )


def test_what_is_promised_for_a_tighter_tolerance_is_what_comes() -> None:
    """The tolerance of AL halved in the design: the limits narrow by the stated gain, within 3 % of it."""
    tests = tuple(test for test in FLYBACK.tests if test.name == "L_P")
    (loose,) = plan(replace(FLYBACK, tests=tests))
    assert loose.proposed is not None
    assert loose.proposed.driver == "al"
    tight: Design = replace(FLYBACK, tests=tests, tolerances=replace(Spread(), al=0.0125))
    (narrow,) = plan(tight)
    assert narrow.proposed is not None
    gain = 1 - narrow.proposed.half_width / loose.proposed.half_width
    assert gain == pytest.approx(loose.proposed.gain, rel=0.05)


def test_a_polarity_has_ten_degrees() -> None:
    tests = tuple(test for test in FLYBACK.tests if test.name == "dot_S")
    (item,) = plan(replace(FLYBACK, tests=tests), builds=100)
    assert item.proposed is not None
    assert item.proposed.minimum == pytest.approx(math.radians(-10), rel=0.1)
    assert item.proposed.maximum == pytest.approx(math.radians(10), rel=0.1)
    assert item.proposed.driver == ""


def test_own_limits_do_not_warn() -> None:
    """A design with the proposed limits gives no warning about them, wherever the bench is good enough."""
    tests = tuple(test for test in FLYBACK.tests if test.name in ("L_P", "R_P"))
    sheet = plan(replace(FLYBACK, tests=tests), builds=500)
    limited = []
    for test, item in zip(tests, sheet, strict=True):
        assert item.proposed is not None
        limited.append(replace(test, minimum=item.proposed.minimum, maximum=item.proposed.maximum))
    for item in plan(replace(FLYBACK, tests=tuple(limited)), builds=500):
        assert not any("limit" in warning for warning in item.warnings)
