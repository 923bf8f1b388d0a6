"""Sweeps against closed forms: resonance, the short's corner frequency, thick copper."""

import math
from collections.abc import Callable

import pytest

from aswound.compare.consistency.checks import part_checks
from aswound.compare.consistency.part import Check, PartReading, PartReadings
from aswound.predict.design import Bench, BenchTest, Member

pytestmark = pytest.mark.exact

READ = 0.002
"""Relative standard uncertainty of every reading here."""


def checks(
    model: Callable[[float], float], frequencies: list[float], *, shorted: bool = False
) -> dict[str, Check]:
    short = (Member("S"),) if shorted else ()
    items = tuple(
        PartReading(
            test=BenchTest(
                name=f"L at {f:g} Hz", measure="inductance", drive=(Member("P"),), short=short, frequency=f
            ),
            value=model(f),
            uncertainty=READ * model(f),
        )
        for f in frequencies
    )
    return {
        check.check: check
        for check in part_checks(PartReadings(items=items, bench=Bench(), turning={"P": 1, "S": 1}))
    }


def resonant(f: float) -> float:
    """600 µH with a resonance at 500 kHz: L/(1 − (f/f0)²)."""
    return 600e-6 / (1 - (f / 500e3) ** 2)


def test_a_rise_by_capacitance_holds_and_tells_the_resonance() -> None:
    found = checks(resonant, [10e3, 50e3, 100e3, 200e3])
    assert found["rise by one capacitance"].holds
    assert found["rise by one capacitance"].score == pytest.approx(0.0, abs=1e-9)
    assert "a resonance at 500 kHz" in found["rise by one capacitance"].detail
    assert found["open inductance over frequency"].holds


def test_a_slip_in_a_sweep_breaks_the_line() -> None:
    found = checks(lambda f: resonant(f) * (1.05 if f == 100e3 else 1.0), [10e3, 50e3, 100e3, 200e3])
    assert not found["rise by one capacitance"].holds
    assert "L at 100000 Hz" in found["rise by one capacitance"].detail


def test_a_shorted_turn_is_a_step_down_of_the_open_inductance() -> None:
    """Coupled secondary of one turn, k² = 0.8, corner at 5 kHz: L1 (1 − k² x²/(1 + x²))."""

    def stepped(f: float) -> float:
        x = f / 5e3
        return 600e-6 * (1 - 0.8 * x**2 / (1 + x**2))

    check = checks(stepped, [1e3, 10e3, 100e3])["open inductance over frequency"]
    assert not check.holds
    assert "shorted turn" in check.detail


@pytest.mark.parametrize(
    ("frequencies", "holds"),
    [([100.0, 1e3], False), ([1e3, 10e3], False), ([10e3, 100e3], True), ([100e3, 200e3], True)],
)
def test_plateau_of_a_shorted_inductance(frequencies: list[float], holds: bool) -> None:
    """Λ + M²/L2/(1 + x²), x = f/160 Hz: 1.08 µH behind 575 µH; at 1 kHz 14 µH and no leakage yet, from 10 kHz
    on within 15 %."""

    def shown(f: float) -> float:
        return 1.08e-6 + 574e-6 / (1 + (f / 160.0) ** 2)

    check = checks(shown, frequencies, shorted=True)["shorted inductance on its plateau"]
    assert check.holds is holds
    if not holds:
        assert "is not yet the leakage" in check.detail


def test_a_leakage_that_rises() -> None:
    check = checks(resonant, [50e3, 300e3], shorted=True)["shorted inductance on its plateau"]
    assert not check.holds
    assert "towards its resonance" in check.detail


def test_other_levels_and_single_frequencies_make_no_sweep() -> None:
    assert checks(resonant, [10e3]) == {}
    assert checks(resonant, [10e3, 10.05e3]) == {}


def test_a_worst_pair_is_named_with_its_change() -> None:
    found = checks(lambda f: 600e-6 * f**-0.02, [1e3, 10e3, 100e3])
    check = found["open inductance over frequency"]
    assert check.holds
    assert f"{100 * (10**-0.02 - 1):+.1f} %" in check.detail
    assert check.score is not None
    assert 0 < check.score < 1
    assert math.isfinite(check.score)


OPEN, SHORT, LINE = (
    "open inductance over frequency",
    "shorted inductance on its plateau",
    "rise by one capacitance",
)


@pytest.mark.parametrize(
    ("law", "values", "residual", "allowance"),
    [
        (OPEN, {1e3: 600e-6, 10e3: 480e-6}, math.log(1.25), 0.15),
        (OPEN, {1e3: 600e-6, 2e3: 480e-6}, math.log(1.25), 0.15),  # no less for less than a decade
        (OPEN, {1e3: 600e-6, 100e3: 480e-6}, math.log(1.25), 0.30),  # two decades
        (SHORT, {10e3: 6e-6, 100e3: 5e-6}, math.log(1.2), 0.08),
        (SHORT, {10e3: 6e-6, 1e6: 5e-6}, math.log(1.2), 0.16),
        (SHORT, {10e3: 5e-6, 100e3: 5.5e-6}, -math.log(1.1), 0.03),
    ],
)
def test_scores_of_sweeps_by_hand(
    law: str, values: dict[float, float], residual: float, allowance: float
) -> None:
    """Logarithm of the ratio over root of sum of squares: both readings' uncertainties and the documented
    allowance."""
    check = checks(values.__getitem__, list(values), shorted=law == SHORT)[law]
    assert check.score == pytest.approx(residual / math.hypot(READ, READ, allowance), rel=1e-6)


def test_the_score_of_a_point_off_the_line_by_hand() -> None:
    """In 1/L over f²: 100 kHz lies at share s between the ends, whose doubts count by their shares."""
    values = {10e3: resonant(10e3), 100e3: 1.05 * resonant(100e3), 200e3: resonant(200e3)}
    s = (100e3**2 - 10e3**2) / (200e3**2 - 10e3**2)
    ends = [(1 - s) / values[10e3], s / values[200e3]]
    doubt = math.hypot(*(READ * end / sum(ends) for end in ends), READ, 0.005)
    check = checks(values.__getitem__, list(values))["rise by one capacitance"]
    assert check.score == pytest.approx(math.log(1.05) / doubt, rel=1e-6)
