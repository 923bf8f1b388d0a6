"""Spread and batches: variance shares, repeatability, tipping, many builds against one by one."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from aswound.predict import load_design, readings, spread
from aswound.predict.batch import predict_many, stack, structure
from aswound.predict.design import Design, Spread
from aswound.predict.tolerances import parameters

pytestmark = pytest.mark.exact

SAMPLES = Path(__file__).parents[2] / "samples"
NAMES = ("flyback-24w", "bridge-300w", "gate-drive")


def sample(name: str) -> Design:
    return load_design(SAMPLES / f"{name}.toml")


@pytest.mark.parametrize("name", NAMES)
def test_shares_sum_to_one_and_are_sorted(name: str) -> None:
    result = spread(sample(name), 300)
    for drivers in result.drivers:
        shares = [driver.share for driver in drivers]
        assert sum(shares) == pytest.approx(1.0, abs=1e-12)
        assert shares == sorted(shares, reverse=True)


def test_resistance_scatters_as_its_parts() -> None:
    """ln R = ln ρ + ln l − 2 ln d: relative variances add, four times that of the diameter."""
    tolerances = Spread(
        wire=0.01, mean_turn=0.02, resistivity=0.015, temperature=0.0, breadth=0.0, enamel=0.0
    )
    design = replace(sample("gate-drive"), tolerances=tolerances)
    result = spread(design, 20_000)
    place = [test.name for test in design.tests].index("R_D")
    expected = math.sqrt(4 * 0.01**2 + 0.02**2 + 0.015**2)
    relative = np.std(np.log(result.samples[:, place]))
    assert relative == pytest.approx(expected, rel=0.02)
    shares = {driver.parameter: driver.share for driver in result.drivers[place]}
    assert shares["wire D"] == pytest.approx(4 * 0.01**2 / expected**2, abs=0.03)
    assert shares["mean_turn"] == pytest.approx(0.02**2 / expected**2, abs=0.03)


def test_the_interval_holds_95_per_cent_of_other_builds() -> None:
    design = sample("flyback-24w")
    one, other = spread(design, 2000, 1), spread(design, 2000, 2)
    inside = np.mean((other.samples >= one.low) & (other.samples <= one.high), axis=0)
    assert np.all(np.abs(inside - 0.95) < 0.02)


def test_range_converges() -> None:
    """Percentiles of 500 and 8000 builds agree within the scatter of percentiles."""
    design = sample("gate-drive")
    few, many = spread(design, 500, 3), spread(design, 8000, 4)
    scale = many.standard_uncertainty
    assert np.all(np.abs(few.low - many.low) < 0.5 * scale)
    assert np.all(np.abs(few.high - many.high) < 0.5 * scale)


@pytest.mark.parametrize("name", NAMES)
def test_a_parameter_at_zero_changes_nothing_and_else_something(name: str) -> None:
    design = sample(name)
    plain = readings(design)
    for parameter in parameters(design):
        np.testing.assert_allclose(
            readings(parameter.change(design, 0.0)), plain, rtol=1e-9, err_msg=parameter.name
        )
        moved = readings(parameter.change(design, 2.0))
        if not parameter.name.startswith(
            ("enamel", "wire AUX", "wire B")
        ):  # may stand outside every read field
            assert np.any(np.abs(moved / plain - 1) > 1e-9), parameter.name


@pytest.mark.parametrize("name", NAMES)
def test_many_builds_are_their_builds_one_by_one(name: str) -> None:
    """Stacked designs of one structure, layers tipping included, against single predictions."""
    design = sample(name)
    changed = [design]
    for parameter in parameters(design):
        changed += [parameter.change(design, 3.0), parameter.change(design, -3.0)]
    assert len({structure(one) for one in changed}) == 1
    together = readings(stack(changed))
    alone = np.stack([readings(one) for one in changed])
    np.testing.assert_allclose(together, alone, rtol=1e-7)
    np.testing.assert_allclose(predict_many(changed, readings), alone, rtol=1e-7)
