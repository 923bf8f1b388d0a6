"""The surface through a few forward runs, against a forward run of every build."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import ladder
import numpy as np
import pytest
from how_many import and_slow
from twin_design import TWIN

from aswound.predict import load_design, parse_design, spread
from aswound.predict.design import BenchTest, Design, Member
from aswound.predict.production import response_surface
from aswound.predict.production.parameter import Parameter
from aswound.predict.production.response_surface import acting_together, scattered
from aswound.predict.winding import thickest_over_mean

pytestmark = pytest.mark.exact

SAMPLES = Path(__file__).parents[2] / "samples"
BUILDS = 1000


def _design(name: str) -> Design:
    if name in ladder.RUNGS:
        return parse_design(ladder.RUNGS[name])
    return load_design(SAMPLES / f"{name}.toml")


@pytest.mark.parametrize(
    "name",
    ["flyback-24w", *and_slow("gate-drive", "3 layers")],
)
def test_the_surface_reads_as_a_forward_run_of_every_build(name: str) -> None:
    """Each build within 0.15 of the reading's deviation (root mean square), the ends of the range within 7 %
    of its width, as the module states."""
    design = _design(name)
    surface, full = spread(design, BUILDS), spread(design, BUILDS, exact=True)
    width = full.high - full.low
    for place, test in enumerate(design.tests):
        if width[place] < 4 * response_surface.RESOLVED * abs(full.nominal[place]):
            continue
        off = surface.samples[:, place] - full.samples[:, place]
        assert np.sqrt(np.mean(off**2)) <= 0.15 * full.samples[:, place].std(), test.name
        ends = max(abs(surface.low - full.low)[place], abs(surface.high - full.high)[place])
        assert ends <= 0.07 * width[place], test.name
        deviations = surface.samples[:, place].std(), full.samples[:, place].std()
        assert deviations[0] == pytest.approx(deviations[1], rel=0.05), test.name


def test_what_drives_a_reading_is_the_same() -> None:
    """Shares of the variance within 3 % of the whole, joint effects of places among them."""
    design = _design("flyback-24w")
    surface, full = spread(design, BUILDS), spread(design, BUILDS, exact=True)
    for mine, theirs in zip(surface.drivers, full.drivers, strict=True):
        share = {driver.parameter: driver.share for driver in mine}
        for driver in theirs:
            assert share.get(driver.parameter, 0.0) == pytest.approx(driver.share, abs=0.03)


def _scattered(formula, tests: int = 1, number: int = 2000, count: int = 4):  # type: ignore[no-untyped-def]
    """``scattered`` of readings that are a formula of the tolerances, of a design whose layers stay."""
    design = _design("flyback-24w")
    z = np.random.default_rng(3).standard_normal((number, count))
    parameters = [Parameter(f"centring {k}", "build", lambda d, _: d) for k in range(count)]
    asked: list[int] = []

    def read(some: np.ndarray, which: object) -> np.ndarray:
        asked.append(len(some))
        return np.stack([formula(some)[:, k] for k in which], axis=-1)  # type: ignore[attr-defined]

    named = [BenchTest(name=f"t{k}", measure="inductance", drive=(Member("P"),)) for k in range(tests)]
    return z, asked, scattered(parameters, z, lambda _: design, read, named)


def test_products_of_powers_and_joint_parabolas_are_exact() -> None:
    """ln y quadratic in the tolerances with every product of two: the surface is the function itself."""

    def formula(z: np.ndarray) -> np.ndarray:
        level = 0.1 * z[:, 0] - 0.05 * z[:, 1] ** 2 + 0.03 * (z[:, 2] - z[:, 3]) ** 2
        return np.stack([np.exp(level), -2 * np.exp(level)], axis=-1)

    z, asked, found = _scattered(formula, 2)
    assert found.samples == pytest.approx(formula(z), rel=1e-9)
    assert asked == [1 + 2 * 4 + 6 + response_surface.CHECKED]
    assert np.all(found.misses < 1e-9)


def test_a_reading_that_the_surface_misses_is_run_in_full() -> None:
    """A threshold in one of two readings: that one comes from a run of every build, the other from the
    surface."""

    def formula(z: np.ndarray) -> np.ndarray:
        return np.stack([np.exp(0.1 * z[:, 0]), 1.0 + 0.5 * (z[:, 1] * z[:, 2] > 0.3)], axis=-1)

    z, asked, found = _scattered(formula, 2)
    assert found.samples == pytest.approx(formula(z), rel=1e-9)
    assert asked[1:] == [len(z)]


def test_a_reading_that_some_build_does_not_have_is_run_in_full() -> None:
    """Infinite where a voltage vanishes."""

    def formula(z: np.ndarray) -> np.ndarray:
        return np.where(z[:, :1] > 1.2, np.inf, np.exp(z[:, :1]))

    z, asked, found = _scattered(formula)
    assert np.array_equal(found.samples, formula(z))
    assert asked[1:] == [len(z)]


def test_few_builds_are_run_in_full() -> None:
    """Fewer builds than the surface would take: each its own forward run."""
    design = _design("flyback-24w")
    assert np.array_equal(spread(design, 100).samples, spread(design, 100, exact=True).samples)


def test_places_and_parts_of_the_core_act_together() -> None:
    """Every two windings' places; the core's parts; the return of open tests' ampere-turns with the core."""
    names = ["mu_i", "face_gap", "wire P", "centring P", "centring S", "model_leg_share"]
    found = acting_together([Parameter(name, "build", lambda d, _: d) for name in names])
    assert {(names[a], names[b]) for a, b in found} == {
        ("mu_i", "face_gap"),
        ("centring P", "centring S"),
        ("centring P", "model_leg_share"),
        ("centring S", "model_leg_share"),
        ("mu_i", "model_leg_share"),
        ("face_gap", "model_leg_share"),
    }


@pytest.mark.slow
def test_builds_of_another_kind_have_their_own_level_and_slopes() -> None:
    """A score of ways in which its layers tip: mains transformer, resistance and capacitance."""
    design = _design("mains")
    chosen = replace(design, tests=tuple(test for test in design.tests if test.name in ("R_S", "C")))
    surface, full = spread(chosen, BUILDS // 2), spread(chosen, BUILDS // 2, exact=True)
    off = np.sqrt(np.mean((surface.samples - full.samples) ** 2, axis=0))
    assert np.all(off <= 0.08 * full.samples.std(axis=0))


TWINS = (
    TWIN
    + """[[test]]
name = "Lk"
measure = "inductance"
drive = "P"
short = ["S1", "S2"]
frequency = "100 kHz"
"""
)


@pytest.mark.slow
def test_the_thicker_of_two_wires_of_one_size_sets_the_height_of_their_layer() -> None:
    """A kink where neither is the thicker: a parabola alone misses the leakage by a quarter of its deviation,
    and had all builds run in full."""
    design = parse_design(TWINS)
    surface, full = spread(design, BUILDS), spread(design, BUILDS, exact=True)
    off = np.sqrt(np.mean((surface.samples - full.samples) ** 2, axis=0))
    assert np.all(off <= 0.08 * full.samples.std(axis=0))
    assert surface.samples.std() == pytest.approx(full.samples.std(), rel=0.02)


def test_the_kink_is_the_thicker_wire_over_the_mean_of_both() -> None:
    """0.90 and 1.00 mm: 0.05 mm; nothing where windings are wound alone."""
    assert thickest_over_mean(parse_design(TWINS)) == pytest.approx(0.0)
    assert thickest_over_mean(_design("flyback-24w")).shape == (1, 0)
    second = TWINS.rindex("0.90 mm")
    unlike = parse_design(TWINS[:second] + "1.00 mm" + TWINS[second + 7 :])
    assert thickest_over_mean(unlike) == pytest.approx(0.05e-3)
