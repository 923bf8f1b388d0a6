"""Zones and probability of conformity against closed forms and numerical integration."""

import math

import numpy as np
import pytest
from scipy.integrate import quad

from aswound.compare.verdict.decision import decide
from aswound.predict.errors import DesignError, ReadingsError

pytestmark = pytest.mark.exact


def integrated(value: float, uncertainty: float, low: float, high: float) -> float:
    """The normal density integrated from limit to limit."""

    def density(x: float) -> float:
        return math.exp(-0.5 * ((x - value) / uncertainty) ** 2) / (uncertainty * math.sqrt(2.0 * math.pi))

    edges = np.clip([value - 40.0 * uncertainty, value + 40.0 * uncertainty], low, high)
    return float(quad(density, *edges, epsabs=0.0, epsrel=1e-12, points=None, limit=400)[0])


@pytest.mark.parametrize(
    ("value", "uncertainty", "low", "high"),
    [
        (614e-6, 1.2e-6, 580e-6, 665e-6),
        (578e-6, 1.2e-6, 580e-6, 665e-6),
        (666e-6, 4e-6, 580e-6, 665e-6),
        (622e-6, 60e-6, 580e-6, 665e-6),
        (-5.47, 0.05, -5.60, -5.40),
        (0.0, 1.0, 5.0, 6.0),  # far out: the tail keeps its digits
        (0.0, 1.0, -6.0, -5.0),
    ],
)
def test_conformity_is_the_integral_of_the_density(
    value: float, uncertainty: float, low: float, high: float
) -> None:
    conformity = decide(value, uncertainty, low, high).conformity
    assert conformity == pytest.approx(integrated(value, uncertainty, low, high), rel=1e-9)


def test_conformity_one_sided_is_the_limit_of_a_distant_other_side() -> None:
    assert decide(1.0, 0.1, None, 1.05).conformity == decide(1.0, 0.1, -1e9, 1.05).conformity
    assert decide(1.0, 0.1, 0.95, None).conformity == decide(1.0, 0.1, 0.95, 1e9).conformity


def test_a_reading_on_the_limit_is_as_likely_to_conform_as_not() -> None:
    assert decide(3.0, 0.25, None, 3.0).conformity == 0.5
    assert decide(3.0, 0.25, 3.0, None).conformity == 0.5


def test_far_tail_does_not_cancel() -> None:
    """Φ(−8) − Φ(−9) from either side: 6.2198e-16 (mirror images agree to the last digits)."""
    above = decide(0.0, 1.0, 8.0, 9.0).conformity
    below = decide(0.0, 1.0, -9.0, -8.0).conformity
    assert above == below
    assert above == pytest.approx(
        0.5 * math.erfc(8 / math.sqrt(2)) - 0.5 * math.erfc(9 / math.sqrt(2)), rel=1e-12
    )
    assert above is not None
    assert above > 0.0


@pytest.mark.parametrize(
    ("value", "verdict"),
    [
        # limits 8 … 16, u = 0.25, U = 0.5: all edges are exact in binary
        (7.0, "fail"),
        (7.49, "fail"),
        (7.5, "undecided"),
        (8.0, "undecided"),
        (8.49, "undecided"),
        (8.5, "pass"),
        (12.0, "pass"),
        (15.5, "pass"),
        (15.51, "undecided"),
        (16.5, "undecided"),
        (16.51, "fail"),
    ],
)
def test_three_zones_and_their_edges(value: float, verdict: str) -> None:
    assert decide(value, 0.25, 8.0, 16.0).verdict == verdict


def test_one_limit_guards_one_side_only() -> None:
    assert decide(1e-9, 0.1, None, 16.0).verdict == "pass"
    assert decide(1e9, 0.1, 8.0, None).verdict == "pass"
    assert decide(-20.0, 0.1, None, -16.0).verdict == "pass"
    assert decide(-12.0, 0.1, None, -16.0).verdict == "fail"


@pytest.mark.parametrize(
    ("value", "verdict", "conformity"),
    [(8.0, "pass", 1.0), (16.0, "pass", 1.0), (np.nextafter(16.0, 17.0), "fail", 0.0), (7.999, "fail", 0.0)],
)
def test_without_uncertainty_the_limits_themselves_decide(
    value: float, verdict: str, conformity: float
) -> None:
    judged = decide(float(value), 0.0, 8.0, 16.0)
    assert (judged.verdict, judged.conformity) == (verdict, conformity)


def test_a_tolerance_narrower_than_the_uncertainty_is_never_passed() -> None:
    readings = np.linspace(0.0, 2.0, 201)
    verdicts = {decide(float(y), 0.1, 0.9, 1.1).verdict for y in readings}
    assert verdicts == {"fail", "undecided"}


def test_without_limits_there_is_no_verdict_and_no_probability() -> None:
    judged = decide(1.0, 0.1, None, None)
    assert (judged.verdict, judged.conformity) == ("no limit", None)


@pytest.mark.parametrize(
    ("value", "uncertainty"), [(math.nan, 0.1), (math.inf, 0.1), (1.0, -0.1), (1.0, math.nan)]
)
def test_what_is_no_reading_is_refused(value: float, uncertainty: float) -> None:
    with pytest.raises(ReadingsError, match="finite"):
        decide(value, uncertainty, 0.0, 2.0)


def test_crossed_limits_are_refused() -> None:
    with pytest.raises(DesignError, match="min"):
        decide(1.0, 0.1, 2.0, 0.0)


@pytest.mark.parametrize(
    ("rule", "value", "verdict"),
    [
        # limits 8 … 16, u = 0.25, U = 0.5
        ("simple", 7.99, "fail"),
        ("simple", 8.0, "pass"),
        ("simple", 16.0, "pass"),
        ("simple", 16.01, "fail"),
        ("guarded", 8.49, "fail"),
        ("guarded", 8.5, "pass"),
        ("guarded", 15.5, "pass"),
        ("guarded", 15.51, "fail"),
        ("three-zone", 8.49, "undecided"),
    ],
)
def test_edges_of_the_other_rules(rule: str, value: float, verdict: str) -> None:
    judged = decide(value, 0.25, 8.0, 16.0, rule=rule)
    assert judged.verdict == verdict
    assert judged.conformity == decide(value, 0.25, 8.0, 16.0).conformity  # the rule changes no probability


def test_an_unknown_rule_is_refused() -> None:
    with pytest.raises(DesignError, match="Did you mean 'guarded'"):
        decide(1.0, 0.1, 0.0, 2.0, rule="gaurded")


@pytest.mark.parametrize("rule", ["simple", "guarded", "three-zone"])
def test_global_risks_by_two_integrations(rule: str) -> None:
    """Global risks (JCGM 106, clause 9): parts normal about 10 with u0 = 0.6, readings with u = 0.2, limits 9
    and 11. Once with the verdict of every pair of true value and reading on a grid, once with the conformity
    of the reading's posterior as the tool states it: p(y) = N(10, u0² + u²), posterior by Bayes."""
    u0, u, low, high = 0.6, 0.2, 9.0, 11.0
    truth, readings = np.arange(6, 14, 0.005) + 0.0025, np.arange(6, 14, 0.005) + 0.0025
    dt, dy = truth[1] - truth[0], readings[1] - readings[0]
    passed = np.array([decide(float(y), u, low, high, rule=rule).verdict == "pass" for y in readings])
    prior = np.exp(-0.5 * ((truth - 10) / u0) ** 2) / (u0 * math.sqrt(2 * math.pi))
    scatter = np.exp(-0.5 * ((readings[:, None] - truth) / u) ** 2) / (u * math.sqrt(2 * math.pi))
    joint = scatter * prior * dt * dy
    conforms = (truth >= low) & (truth <= high)
    consumer = float(joint[passed][:, ~conforms].sum())
    producer = float(joint[~passed][:, conforms].sum())

    shrink, spread = u0**2 / (u0**2 + u**2), math.hypot(u0, u)
    density = np.exp(-0.5 * ((readings - 10) / spread) ** 2) / (spread * math.sqrt(2 * math.pi)) * dy
    posterior = np.array(
        [decide(10 + shrink * float(y - 10), u * math.sqrt(shrink), low, high).conformity for y in readings]
    )
    assert consumer == pytest.approx(float((density * (1 - posterior))[passed].sum()), rel=0.02)
    assert producer == pytest.approx(float((density * posterior)[~passed].sum()), rel=0.02)
    if rule == "simple":
        assert consumer > 0.01  # about one passed part in fifty lies outside
    else:
        assert consumer < 1e-3  # the guard band makes it rare, and the producer pays
        assert producer > 0.1
