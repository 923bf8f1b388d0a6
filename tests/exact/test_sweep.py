"""Sweeps against single readings, circuits with known resonances, and limits."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from aswound.predict import load_design, predict_bench
from aswound.predict.circuit.bench import impedance_sweep
from aswound.predict.design import BenchTest, Member
from aswound.predict.production import normal_draws
from aswound.predict.production.frequency_sweep import _band, crossings, frequencies_between, sweep

pytestmark = pytest.mark.exact

SAMPLES = Path(__file__).parents[2] / "samples"
FREQUENCIES = [1e3, 2e4, 1e5, 1e6, 5e6]


@pytest.mark.parametrize("name", ["flyback-24w", "bridge-300w", "gate-drive"])
@pytest.mark.parametrize("kind", ["open", "short", "ratio"])
def test_a_sweep_is_the_readings_at_its_frequencies(name: str, kind: str) -> None:
    """The sweep shares layout, fields and charges between frequencies, and must change nothing by that."""
    design = load_design(SAMPLES / f"{name}.toml")
    one, other = (Member(winding.name) for winding in design.windings[:2])
    test = BenchTest(
        name="x",
        measure="ratio" if kind == "ratio" else "inductance",
        drive=(one,),
        short=(other,) if kind == "short" else (),
        sense=(other,) if kind == "ratio" else (),
    )
    swept = impedance_sweep(design, test, FREQUENCIES)
    single = replace(design, tests=tuple(replace(test, frequency=f) for f in FREQUENCIES))
    found = predict_bench(single)
    if kind == "ratio":
        assert np.abs(swept) == pytest.approx(found.values, rel=1e-9)
        turned = replace(
            design, tests=tuple(replace(test, measure="phase", frequency=f) for f in FREQUENCIES)
        )
        assert np.angle(1 / swept) == pytest.approx(predict_bench(turned).values, abs=1e-9)
    else:
        assert swept == pytest.approx(found.impedance, rel=1e-9)
        between = impedance_sweep(design, test, FREQUENCIES, exact=False)
        assert np.max(np.abs(between / swept - 1)) < 0.006


def test_resonances_of_a_circuit_are_found_where_they_are() -> None:
    """L and C in parallel, in series with another C: a parallel resonance at 1/(2π√LC), a series one
    below it at 1/(2π√(L(C + C2)))."""
    inductance, capacitance, outer = 1e-3, 1e-10, 1e-9
    f = np.geomspace(1e4, 1e7, 400)
    s = 2j * math.pi * f
    impedance = 1 / (1 / (s * inductance + 1.0) + s * capacitance) + 1 / (s * outer)
    found = crossings(f, impedance)
    series = 1 / (2 * math.pi * math.sqrt(inductance * (capacitance + outer)))
    parallel = 1 / (2 * math.pi * math.sqrt(inductance * capacitance))
    assert [each.kind for each in found] == ["series", "parallel"]
    assert found[0].frequency == pytest.approx(series, rel=0.001)
    assert found[1].frequency == pytest.approx(parallel, rel=0.001)


def test_the_resonance_is_that_of_its_own_test() -> None:
    """To 1 %: the search for a resonance stops earlier than this where the core's permeability falls."""
    design = load_design(SAMPLES / "flyback-24w.toml")
    drive = (Member("P"),)
    swept = sweep(
        design,
        BenchTest(name="x", measure="inductance", drive=drive),
        frequencies_between(1e5, 1e7, 200),
        100,
    )
    alone = predict_bench(
        replace(design, tests=(BenchTest(name="r", measure="resonance", drive=drive),))
    ).values[0]
    assert [each.kind for each in swept.resonances[:1]] == ["parallel"]
    assert swept.resonances[0].frequency == pytest.approx(alone, rel=0.01)


def test_range_holds_the_nominal_build_and_shows_every_quantity() -> None:
    design = load_design(SAMPLES / "flyback-24w.toml")
    swept = sweep(
        design,
        BenchTest(name="x", measure="inductance", drive=(Member("P"),), short=(Member("S"),)),
        [1e4, 1e5, 1e6],
        200,
    )
    assert list(swept.bands) == ["impedance", "phase", "inductance", "resistance"]
    for band in swept.bands.values():
        assert np.all((band.low < band.nominal) & (band.nominal < band.high))
    z = (
        swept.bands["resistance"].nominal
        + 2j * math.pi * swept.frequencies * swept.bands["inductance"].nominal
    )
    assert z == pytest.approx(swept.impedance)


def test_frequencies_hold_the_round_ones_once() -> None:
    f = frequencies_between(1e3, 1e6, 31)
    assert f[0] == 1e3
    assert f[-1] == pytest.approx(1e6)
    assert np.all(np.diff(np.log(f)) > 1e-9)
    assert {2e3, 5e4, 1e5} <= set(f.tolist())


def test_a_crossing_lies_between_its_neighbours_in_the_logarithm() -> None:
    """From −1 to 3 ohm of reactance over two decades: a quarter of them, 10 kHz · √10. A susceptance that
    changes its sign halfway: 100 kHz."""
    frequencies = np.array([1e4, 1e6])
    (series,) = crossings(frequencies, np.array([0.5 - 1j, 0.5 + 3j]))
    (parallel,) = crossings(frequencies, np.array([0.5 + 3j, 0.5 - 3j]))
    assert (series.kind, parallel.kind) == ("series", "parallel")
    assert series.frequency == pytest.approx(1e4 * math.sqrt(10))
    assert parallel.frequency == pytest.approx(1e5)


def test_the_deviation_of_a_band_is_that_of_a_normal_reading() -> None:
    """Readings of 10 ohm ± 0.5 ohm (one standard deviation), normal: the range holds 95 % of them."""
    z = normal_draws(["x"], 2000, 1)
    band = _band("resistance", np.array([10.0]), 10 + 0.5 * z, z, np.ones(2000, bool))
    assert band.deviation == pytest.approx([0.5], rel=0.01)
    assert [float(band.low[0]), float(band.high[0])] == pytest.approx([9.02, 10.98], abs=0.02)
