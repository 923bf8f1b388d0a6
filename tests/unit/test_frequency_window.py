"""Between which frequencies a reading holds, and what the sheet says outside."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import pytest

from aswound.compare.plan.bench_sheet import plan
from aswound.compare.plan.frequency_window import frequency_windows
from aswound.predict.circuit.bench import readings
from aswound.predict.design import BenchTest, Design, Member
from aswound.predict.designfile.reader import load_design
from aswound.predict.quantity import format_percent

FLYBACK = load_design(Path(__file__).parents[2] / "samples" / "flyback-24w.toml")
P, S = (Member("P"),), (Member("S"),)


def _with(*tests: BenchTest) -> Design:
    return replace(FLYBACK, tests=tests)


def _shorted(frequency: float) -> BenchTest:
    return BenchTest(name="Lk", measure="inductance", drive=P, short=S, frequency=frequency)


def test_the_lower_end_is_the_textbooks() -> None:
    """f = 10 √(L1/L_lk − 1) R2/(2π L2), R2 (copper, as good as that of direct current here) and L2
    with the link: what is left is (M²/L2)/(1 + x²) = 1 % of the leakage."""
    window = frequency_windows(_with(_shorted(100e3)))["Lk"]
    assert window.lowest is not None
    low = window.lowest
    own, leak, other, copper = readings(
        _with(
            BenchTest(name="L1", measure="inductance", drive=P, frequency=low),
            _shorted(low),
            BenchTest(name="L2", measure="inductance", drive=S, frequency=low),
            BenchTest(name="R2", measure="resistance", drive=S, temperature=23.0),
        )
    )
    link = FLYBACK.bench
    corner = (copper + link.short_resistance) / (2 * math.pi * (other + link.short_inductance))
    assert low == pytest.approx(10 * math.sqrt(own / leak - 1) * corner, rel=0.05)


def test_at_the_ends_the_reading_is_one_per_cent_off() -> None:
    """Upper end: against the same part without capacitance; both ends: 1 % at the test's own frequency."""
    window = frequency_windows(_with(_shorted(100e3)))["Lk"]
    assert window.lowest is not None
    assert window.highest is not None
    early, late = (frequency_windows(_with(_shorted(end)))["Lk"] for end in (window.lowest, window.highest))
    assert early.short_error == pytest.approx(0.01, rel=0.1)
    assert late.capacitance_error == pytest.approx(0.01, rel=0.1)


def test_an_open_reading_holds_up_to_a_tenth_of_its_resonance() -> None:
    opened = BenchTest(name="L", measure="inductance", drive=P, frequency=10e3)
    window = frequency_windows(_with(opened))["L"]
    (resonance,) = readings(_with(BenchTest(name="f0", measure="resonance", drive=P)))
    assert window.lowest is None
    assert window.highest == pytest.approx(float(resonance) / 10, rel=0.1)


def test_other_measures_have_no_window() -> None:
    assert frequency_windows(_with(BenchTest(name="R", measure="resistance", drive=P))) == {}


def test_the_sheet_warns_outside_the_window() -> None:
    (early,) = plan(_with(_shorted(3e3)), builds=100)
    (late,) = plan(_with(_shorted(8e6)), builds=100)
    (within,) = plan(_with(_shorted(100e3)), builds=100)
    assert any("the short is not effective yet" in text and "Test above" in text for text in early.warnings)
    assert any("Capacitance changes this reading" in text for text in late.warnings)
    assert not any(
        "the short is not effective yet" in text or "Capacitance" in text for text in within.warnings
    )


def test_the_better_side_is_the_one_with_less_uncertainty() -> None:
    """With an exactly known, short link and a meter of large floors, the many turns are better driven."""
    bench = replace(
        FLYBACK.bench,
        short_inductance=1e-9,
        short_inductance_tolerance=0.0,
        short_resistance_tolerance=0.0,
        floor_inductance=5e-9,
    )
    from_s = BenchTest(name="Lk_S", measure="inductance", drive=S, short=P, frequency=100e3)
    there, here = plan(replace(_with(from_s, _shorted(100e3)), bench=bench), builds=100)
    (note,) = there.notes
    good = format_percent(here.budget.expanded / here.expected)
    assert f"drive P, short S: good to {good} instead of" in note
    assert not here.notes
