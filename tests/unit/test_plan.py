"""The bench sheet: what it says of each test, and when it warns."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from aswound.compare.meter.accuracy import meter_uncertainty
from aswound.compare.plan.bench_sheet import PlannedTest, plan
from aswound.compare.plan.instructions import connections
from aswound.predict.circuit.bench import predict_bench, readings
from aswound.predict.design import Bench, BenchTest, Design, Member
from aswound.predict.designfile import design_like
from aswound.predict.designfile.reader import load_design, parse_design
from aswound.predict.production.monte_carlo import spread

SAMPLES = Path(__file__).parents[2] / "samples"
FLYBACK = load_design(SAMPLES / "flyback-24w.toml")
RING = load_design(SAMPLES / "gate-drive.toml")
P, S = (Member("P"),), (Member("S"),)
BUILDS = 100


def _test(name: str, design: Design = FLYBACK) -> BenchTest:
    return next(test for test in design.tests if test.name == name)


def _planned(*tests: BenchTest, bench: Bench | None = None, design: Design = FLYBACK) -> list[PlannedTest]:
    changed = replace(design, tests=tests, bench=bench or design.bench)
    return list(plan(changed, builds=BUILDS))


def _warned(planned: PlannedTest, words: str) -> bool:
    return any(words in warning for warning in planned.warnings)


def test_it_lists_every_test_with_what_was_predicted() -> None:
    sheet = plan(FLYBACK, builds=BUILDS)
    assert [item.name for item in sheet] == [test.name for test in FLYBACK.tests]
    scatter = spread(FLYBACK, BUILDS)
    np.testing.assert_allclose([item.expected for item in sheet], readings(FLYBACK))
    np.testing.assert_allclose([item.low for item in sheet], scatter.low)
    np.testing.assert_allclose([item.high for item in sheet], scatter.high)
    for item, test in zip(sheet, FLYBACK.tests, strict=True):
        assert (item.minimum, item.maximum, item.measure) == (test.minimum, test.maximum, test.measure)
        assert item.measurement_uncertainty > 0


def test_a_design_without_tests_has_an_empty_sheet() -> None:
    assert plan(replace(FLYBACK, tests=())) == ()


def test_settings_of_the_meter() -> None:
    coil, ratio, copper = _planned(_test("Lk_P"), _test("n"), _test("R_P"))
    assert (coil.frequency, coil.level, coil.equivalent, coil.temperature) == (100e3, 1.0, "series", 23.0)
    assert (ratio.frequency, ratio.equivalent) == (10e3, None)
    assert (copper.frequency, copper.level, copper.equivalent, copper.temperature) == (None, None, None, 20.0)
    own = replace(_test("Lk_P"), equivalent="parallel", temperature=40.0)
    (coil,) = _planned(own)
    assert (coil.equivalent, coil.temperature) == ("parallel", 40.0)


@pytest.mark.parametrize(
    ("name", "sentence"),
    [
        ("L_P", "Drive P (pins 1–3); leave the rest open."),
        (
            "Lk_P",
            "Drive P (pins 1–3); short S (pins 7–9), with its own link, as short as possible, soldered at "
            "the pins; leave the rest open.",
        ),
        ("n", "Drive P (pins 1–3); read the voltage on S (pins 7–9), unloaded; leave the rest open."),
        ("R_P", "Connect P (pins 1–3) with four wires, the sense wires inside; leave the rest open."),
    ],
)
def test_connections_in_words(name: str, sentence: str) -> None:
    assert connections(FLYBACK, _test(name)) == sentence


def test_connections_of_series_several_shorts_and_windings_without_pins() -> None:
    drive = (Member("P"), Member("S", True))
    test = BenchTest(
        name="x", measure="inductance", drive=drive, short=(Member("AUX"), Member("both")), frequency=1e4
    )
    windings = tuple(
        replace(winding, start="") if winding.name == "P" else winding for winding in FLYBACK.windings
    )
    text = connections(replace(FLYBACK, windings=windings), test)
    assert text.startswith(
        "Drive P in series with reversed S (pins 7–9); short AUX (pins 4–5) and both, each "
    )
    assert "with its own link" in text


def test_corrections_belong_to_the_kind_of_test() -> None:
    opened, shorted, ratio, copper = _planned(_test("L_P"), _test("Lk_P"), _test("n"), _test("R_P"))
    assert opened.corrections == ("Open and short correction at 10.0 kHz with the fixture as used.",)
    assert shorted.corrections[0] == "Open and short correction at 100 kHz with the fixture as used."
    assert "stays in the reading" in shorted.corrections[1]
    assert not any("correction" in text for text in (*ratio.corrections, *copper.corrections))
    assert "temperature" in copper.corrections[0]


def test_milliohms_are_read_both_ways() -> None:
    """The reversal is asked for below 10 mΩ: S has 12 mΩ with three wires in hand, 6 mΩ with six."""
    more = tuple(
        replace(winding, wire=replace(winding.wire, diameter=winding.wire.diameter * 1.2))
        if winding.name == "S"
        else winding
        for winding in FLYBACK.windings
    )
    (thin,) = _planned(_test("R_S"))
    (thick,) = _planned(_test("R_S"), design=replace(FLYBACK, windings=more))
    assert thin.expected > 10e-3 > thick.expected
    assert not any("reverse the current" in text for text in thin.corrections)
    assert any("reverse the current" in text for text in thick.corrections)


def test_uncertainty_is_meter_handling_and_link() -> None:
    """With an exactly known link only meter and handling (0.2 %) are left; a loose link adds n² u(L)."""
    exact = replace(
        FLYBACK.bench,
        short_inductance_tolerance=0.0,
        short_resistance_tolerance=0.0,
    )
    (known,) = _planned(_test("Lk_P"), bench=exact)
    prediction = predict_bench(replace(FLYBACK, tests=(_test("Lk_P"),), bench=exact))
    impedance = complex(prediction.impedance[0])
    meter = float(meter_uncertainty(exact, "inductance", known.expected, impedance, 100e3))
    assert known.measurement_uncertainty == pytest.approx(math.hypot(meter, 0.002 * known.expected))
    loose = replace(exact, short_inductance_tolerance=0.5)
    (unknown,) = plan(replace(FLYBACK, tests=(_test("Lk_P"),), bench=loose), builds=2000)
    link = math.sqrt(unknown.measurement_uncertainty**2 - known.measurement_uncertainty**2)
    assert link == pytest.approx((60 / 8) ** 2 * 8e-9 * 0.25, rel=0.05)


@pytest.mark.slow
def test_limits_that_the_bench_cannot_test() -> None:
    test = _test("L_P")
    (wide,) = _planned(replace(test, minimum=500e-6, maximum=720e-6))
    reach = 3 * 2 * wide.measurement_uncertainty
    around = {"minimum": wide.expected - 0.98 * reach, "maximum": wide.expected + 0.98 * reach}
    (narrow,) = _planned(replace(test, **around))
    (coarse,) = _planned(
        replace(test, minimum=wide.expected - 1.02 * reach, maximum=wide.expected + 1.02 * reach)
    )
    assert not wide.warnings
    assert _warned(narrow, "cannot be tested on this bench: tolerance to expanded uncertainty is 2.9 : 1")
    assert not _warned(coarse, "cannot be tested")


@pytest.mark.slow
def test_limits_that_production_does_not_keep() -> None:
    test = _test("L_P")
    (free,) = _planned(test)
    outward, inward = 1.001 * free.high, 0.985 * free.high
    (kept,) = _planned(replace(test, minimum=None, maximum=outward))
    (missed,) = _planned(replace(test, minimum=None, maximum=inward))
    assert not _warned(kept, "tighter than production")
    assert _warned(missed, "tighter than production")
    samples = spread(replace(FLYBACK, tests=(test,)), BUILDS).samples[:, 0]
    share = 100 * float(np.mean(samples > inward))
    assert share > 2.5
    assert _warned(missed, f"about {share:.0f} % of sound parts")
    (below,) = _planned(replace(test, minimum=free.expected, maximum=None))
    assert _warned(below, "tighter than production")


def test_a_link_that_matters_is_sized_and_the_better_side_named() -> None:
    (from_p, from_s) = _planned(_test("Lk_P"), _test("Lk_S"))
    ideal = replace(FLYBACK.bench, short_inductance=0.0, short_resistance=0.0)
    alone = float(readings(replace(FLYBACK, tests=(_test("Lk_P"),), bench=ideal))[0])
    share = 100 * (1 - alone / from_p.expected)
    assert share > 10
    assert _warned(from_p, f"link makes up {share:.0f} % of this reading")
    assert _warned(from_p, "drive S and short P")
    assert not _warned(from_s, "link makes up")


@pytest.mark.parametrize(("level", "said"), [(1.0, False), (20.0, False), (120.0, True)])
def test_a_level_that_no_meter_sets_asks_for_a_source(level: float, *, said: bool) -> None:
    opened, direct = _planned(replace(_test("L_P"), level=level), replace(_test("R_P"), level=level))
    assert _warned(opened, "120 V is beyond LCR meters") == said
    assert not _warned(direct, "beyond LCR meters")


@pytest.mark.parametrize("measure", ["inductance", "ac_resistance"])
def test_the_link_is_entered_by_what_it_adds(measure: str) -> None:
    """Its inductance adds to an inductance, its resistance to a resistance."""
    bench = replace(FLYBACK.bench, short_inductance=200e-9, short_resistance=0.2)
    (planned,) = _planned(replace(_test("Lk_P"), measure=measure), bench=bench)
    of_link = measure.removeprefix("ac_")
    assert _warned(planned, f"Use a shorter link and enter its {of_link} in [bench]")


def test_no_other_side_is_recommended_where_it_does_not_help() -> None:
    """1 : 1 on the ring: the link weighs the same from both sides; with two shorts there is no other side."""
    bench = replace(RING.bench, short_inductance=200e-9)
    equal, both = _planned(
        _test("Lk_G1", RING),
        replace(_test("Lk_G1", RING), name="all", short=(Member("G1"), Member("G2"))),
        bench=bench,
        design=RING,
    )
    for item in (equal, both):
        assert _warned(item, "shorting link makes up")
        assert not _warned(item, "or drive")


def test_low_quality_asks_for_the_mode() -> None:
    opened, shorted, ratio = _planned(_test("L_P"), _test("Lk_P"), _test("n"))
    impedance = complex(predict_bench(replace(FLYBACK, tests=(_test("Lk_P"),))).impedance[0])
    apart = 100 * (impedance.real / impedance.imag) ** 2
    assert _warned(shorted, f"differ by {apart:.0f} %; set the meter to series")
    assert not _warned(opened, "differ by")
    assert not _warned(ratio, "differ by")


def test_a_level_that_lifts_the_permeability() -> None:
    """On the ungapped ring 1 V at 10 kHz counts, 0.1 V does not; in the gapped core the gap rules."""
    test = _test("L_D", RING)
    low, high, ratio = _planned(
        test, replace(test, level=2.0), replace(_test("n_1", RING), level=2.0), design=RING
    )
    assert not _warned(low, "mT in the core")
    assert _warned(high, "lifts the inductance by about")
    assert not _warned(ratio, "mT in the core")
    (gapped,) = _planned(replace(_test("L_P"), level=20.0))
    flux = predict_bench(replace(FLYBACK, tests=(replace(_test("L_P"), level=20.0),))).flux_density[0]
    assert flux > 0.02
    assert not _warned(gapped, "mT in the core")


def test_a_reading_that_depends_on_its_level_holds_at_its_own_frequency_only() -> None:
    """At one voltage the flux falls as the frequency rises, and laminations lose permeability with it."""
    mains = parse_design(design_like("mains"))
    (weak,) = [test for test in mains.tests if test.name == "L_P"]
    strong = replace(weak, frequency=50.0, level=10.0)
    (item,) = plan(replace(mains, tests=(strong,)))
    assert any("set the level exactly" in warning for warning in item.warnings)
    assert item.window is None
    (item,) = plan(replace(mains, tests=(weak,)))
    assert item.window is not None
    low, high = readings(replace(mains, tests=(strong, replace(strong, name="L_4", frequency=200.0))))
    assert abs(float(high) / float(low) - 1) > 0.05


def test_a_bench_without_link_and_leads_has_only_the_meter() -> None:
    (item,) = _planned(
        _test("Lk_P"), bench=replace(FLYBACK.bench, short_inductance=0.0, short_resistance=0.0)
    )
    assert 0 < item.measurement_uncertainty < 0.005 * item.expected
    assert not _warned(item, "shorting link")


def test_the_sheet_is_the_same_every_time() -> None:
    assert plan(FLYBACK, builds=BUILDS, seed=3) == plan(FLYBACK, builds=BUILDS, seed=3)


def test_one_limit_is_testable_by_its_distance_from_the_middle_of_production() -> None:
    """Just under and over three expanded uncertainties above, and as far below."""
    test = _test("L_P")
    (free,) = _planned(test)
    middle = float(np.median(spread(replace(FLYBACK, tests=(test,)), BUILDS).samples[:, 0]))
    reach = 3 * 2 * free.measurement_uncertainty
    for factor, testable in ((0.98, False), (1.02, True)):
        upper, lower = _planned(
            replace(test, minimum=None, maximum=middle + factor * reach),
            replace(test, minimum=middle - factor * reach, maximum=None),
        )
        assert _warned(upper, "cannot be tested") is not testable
        assert _warned(lower, "cannot be tested") is not testable


def test_the_rise_with_the_level_is_what_the_model_predicts() -> None:
    """At 5 V on the ring: the announced rise against the readings at 5 V and at 1 mV."""
    tests = tuple(replace(_test("L_D", RING), name=f"{volts}", level=volts) for volts in (1e-3, 5.0))
    low, high = _planned(*tests, design=RING)
    rise = 100 * (high.expected / low.expected - 1)
    assert rise > 2
    flux = 1e3 * float(predict_bench(replace(RING, tests=tests)).flux_density[1])
    assert _warned(high, f"makes {flux:.0f} mT in the core and lifts the inductance by about {rise:.0f} %")


def test_the_phase_of_an_impedance_needs_the_corrections_of_one() -> None:
    alone, across = _planned(
        replace(_test("Lk_P"), name="angle", measure="phase"),
        replace(_test("n"), name="dot", measure="phase"),
    )
    assert "Open and short correction at 100 kHz" in alone.corrections[0]
    assert across.corrections == ("Keep the wires to the sensed winding away from the driving ones.",)


def test_the_side_on_which_the_link_weighs_less_stays() -> None:
    """The link on Lk_S (8 : 60) weighs (60/8)² less than on Lk_P; driving P instead is never the advice."""
    bench = replace(FLYBACK.bench, short_inductance=2e-6)
    (from_s,) = _planned(_test("Lk_S"), bench=bench)
    assert _warned(from_s, "link makes up")
    assert not _warned(from_s, "or drive")


def test_a_limit_that_cannot_be_tested_names_what_is_to_blame() -> None:
    (item,) = _planned(replace(_test("Lk_P"), minimum=3.4e-6, maximum=3.8e-6))
    assert _warned(item, "Most of the uncertainty: shorting link.")


def test_connections_of_ties_the_core_and_a_bias() -> None:
    between = BenchTest(
        name="C", measure="capacitance", drive=P, sense=S, frequency=1e4, tie=(("core", "P.start"),)
    )
    assert connections(FLYBACK, between) == (
        "Short P (pins 1–3) on itself, and S (pins 7–9) on itself; tie core to P.start; measure between the "
        "two; leave the rest open."
    )
    to_core = BenchTest(name="C", measure="capacitance", drive=P, sense=(Member("core"),), frequency=1e4)
    assert connections(FLYBACK, to_core) == (
        "Short P (pins 1–3) on itself; measure between it and the core; leave the rest open."
    )
    biased = BenchTest(name="L", measure="inductance", drive=P, frequency=1e4, bias=0.5)
    assert "send 500 mA of direct current through what is driven; leave" in connections(FLYBACK, biased)


def test_a_reading_that_the_bench_blurs_more_than_parts_vary_is_named() -> None:
    """12 mΩ on an offset of 4 mΩ: ±33 %, while the wire varies by some per cent. With limits, they speak."""
    resistance = replace(_test("R_S"), minimum=None, maximum=None)
    assert _warned(*_planned(resistance, bench=replace(FLYBACK.bench, floor_resistance=4e-3)), "tells little")
    assert not _warned(*_planned(resistance), "tells little")
    limited = replace(resistance, maximum=20e-3)
    coarse = replace(FLYBACK.bench, floor_resistance=4e-3)
    assert not _warned(*_planned(limited, bench=coarse), "tells little")
