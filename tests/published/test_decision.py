"""Probability of conformity against printed examples and tables."""

import pytest

from aswound.compare.verdict.decision import decide

pytestmark = pytest.mark.published


@pytest.mark.parametrize(
    ("value", "uncertainty", "minimum", "maximum", "printed"),
    [
        # JCGM 106:2012, 7.4, breakdown voltage of a Zener diode, upper limit -5.40 V (from memory)
        (-5.47, 0.05, None, -5.40, 0.92),
        # JCGM 106:2012, 7.5, kinematic viscosity of a motor oil, 12.5 to 16.3 mm²/s (from memory)
        (13.6, 1.8, 12.5, 16.3, 0.66),
    ],
)
def test_worked_examples(
    value: float, uncertainty: float, minimum: float | None, maximum: float | None, printed: float
) -> None:
    conformity = decide(value, uncertainty, minimum, maximum).conformity
    assert conformity == pytest.approx(printed, abs=0.006)


@pytest.mark.parametrize(
    ("z", "printed"),
    # JCGM 106:2012, Table 1, one-sided intervals: z against conformance probability (from memory)
    [(0.84, 0.80), (1.28, 0.90), (1.64, 0.95), (2.33, 0.99), (3.09, 0.999)],
)
def test_one_sided_table(z: float, printed: float) -> None:
    upper = decide(10.0, 0.5, None, 10.0 + z * 0.5).conformity
    lower = decide(10.0, 0.5, 10.0 - z * 0.5, None).conformity
    assert upper == pytest.approx(printed, abs=6e-4)
    assert lower == pytest.approx(printed, abs=6e-4)


def test_risk_of_a_pass_at_the_edge_of_the_guard_band() -> None:
    """ILAC-G8:09/2019, guarded acceptance with w = U: specific risk below 2.5 % (from memory)."""
    verdict = decide(9.0, 0.5, None, 10.0)
    assert verdict.verdict == "pass"
    assert verdict.conformity is not None
    assert 0.975 < verdict.conformity < 0.978
