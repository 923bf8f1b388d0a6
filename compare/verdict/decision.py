"""Does a reading meet its specification: limits, guard bands, probability of conformity.

Three rules for a reading y with standard uncertainty u and U = 2u.

"three-zone", the default: passes       where  min + U ≤ y ≤ max − U   (guard band inwards: the supplier's
proof), fails        where  y < min − U  or  y > max + U   (guard band outwards: the customer's proof), is
undecided in between. "simple" acceptance: passes where min ≤ y ≤ max, else fails; a reading at the limit
conforms with 50 %. "guarded" acceptance: passes where min + U ≤ y ≤ max − U, else fails; a part that fails
may still be within limits.

Source: JCGM 106:2012 clauses 7 and 8 (simple acceptance, guarded acceptance and rejection),
ILAC-G8:09/2019, ISO 14253-1; clause contents from memory.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from ...predict.errors import DesignError, Fault, ReadingsError, nearest
from .normal import below_normal

GUARD_FACTOR = 2.0
"""Guard band ÷ standard uncertainty: U = 2u, at most 2.3 % risk of a wrong pass or fail at one limit (JCGM
106)."""

THREE_ZONE = "three-zone"
RULES = {
    "simple": "simple acceptance, no guard band",
    "guarded": "guarded acceptance, guard band U = 2u inwards",
    THREE_ZONE: "three zones, guard band U = 2u",
}
"""The decision rules in words, by name."""


@dataclass(frozen=True)
class Verdict:
    """Decision on one reading.

    Attributes
    ----------
    verdict : str, "pass", "fail", "undecided" or "no limit"
    conformity : float or None
        Probability that the true value meets the limits, dimensionless; None without a limit.
    """

    verdict: str
    conformity: float | None


def decide(
    value: float,
    standard_uncertainty: float,
    minimum: float | None,
    maximum: float | None,
    *,
    rule: str = THREE_ZONE,
) -> Verdict:
    """Judge one reading against its limits.

    The zones of the rule are in the module's docstring; p_c = Φ((max − y)/u) − Φ((min − y)/u), Φ the
    standard normal distribution (no knowledge beyond the reading). A value at a limit conforms. With u = 0
    the zones are pass and fail, and p_c is 1 or 0.

    Valid for a normally distributed error of the reading. A tolerance narrower than 2U can never be
    passed: "undecided" then speaks of the bench, not of the part.

    Parameters
    ----------
    value : float
        Reading y in the unit of the limits, SI.
    standard_uncertainty : float
        Standard uncertainty u ≥ 0 (k = 1), SI.
    minimum, maximum : float or None
        Lower and upper limit, SI; None without one.
    rule : str, optional
        A name of ``RULES``.

    Raises
    ------
    ReadingsError
        y or u is not finite, or u < 0.
    DesignError
        min > max, or an unknown rule.

    References
    ----------
    JCGM 106:2012, 7.2–7.5.
    """
    if not (math.isfinite(value) and math.isfinite(standard_uncertainty) and standard_uncertainty >= 0.0):
        raise ReadingsError(
            Fault(
                "reading against its limits",
                f"{value!r} with standard uncertainty {standard_uncertainty!r}",
                "a finite reading and a finite uncertainty of at least 0",
            )
        )
    if rule not in RULES:
        raise DesignError(Fault("rule", repr(rule), ", ".join(RULES), nearest(rule, RULES)))
    if minimum is None and maximum is None:
        return Verdict("no limit", None)
    low = -math.inf if minimum is None else minimum
    high = math.inf if maximum is None else maximum
    if not low <= high:
        raise DesignError(Fault("limits", f"min {low!r}, max {high!r}", "min not above max"))
    guard = 0.0 if rule == "simple" else GUARD_FACTOR * standard_uncertainty
    if low + guard <= value <= high - guard:
        verdict = "pass"
    elif rule != THREE_ZONE or value < low - guard or value > high + guard:
        verdict = "fail"
    else:
        verdict = "undecided"
    return Verdict(verdict, _conformance_probability(value, standard_uncertainty, low, high))


def _conformance_probability(value: float, uncertainty: float, low: float, high: float) -> float:
    """P(low ≤ Y ≤ high) for Y normal about ``value``.

    The interval is mirrored into the lower tail, where the difference of two small numbers keeps its
    digits.
    """
    if uncertainty == 0.0:
        return 1.0 if low <= value <= high else 0.0
    z_low, z_high = (low - value) / uncertainty, (high - value) / uncertainty
    if z_low > 0.0:
        z_low, z_high = -z_high, -z_low
    return float(below_normal(z_high) - below_normal(z_low))
