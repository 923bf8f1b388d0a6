"""Numbers on which the diagnosis rests, each by itself and by hand: penalties, slips, intervals, words."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pytest
from small_design import SMALL, SMALL_READINGS

from aswound.cli.views.diagnosis import verdict
from aswound.compare.causes.cause import Variant
from aswound.compare.diagnosis import (
    Diagnosis,
    Family,
    RankedCause,
    ReadingUnderCause,
    entries,
    evidence,
    explain,
    pairs,
    weighing,
)
from aswound.compare.diagnosis.probabilities import shares
from aswound.compare.diagnosis.prospects import prospect_of
from aswound.compare.hypotheses.hypothesis import Hypothesis, with_counts
from aswound.compare.hypotheses.interventions import INTERVENTIONS
from aswound.compare.readings import Reading, parse_readings
from aswound.compare.verdict.evaluation import limits_elsewhere
from aswound.predict import load_design, parse_design, readings
from aswound.predict.circuit import stated_temperature

pytestmark = pytest.mark.exact
SAMPLES = Path(__file__).parents[2] / "samples"
SD = np.array([0.1, 0.2])


def case(residual: tuple[float, float], signs: tuple[float, float] = (0.0, 0.0)) -> Any:
    """Two independent readings, 0.1 and 0.2 the standard deviations of their logarithms."""
    frame = SimpleNamespace(
        phase=np.array([False, False]), same=np.eye(2), base=np.diag(SD**2), nominal=np.zeros(2)
    )
    return SimpleNamespace(
        frame=frame,
        tests=(SimpleNamespace(measure="inductance"),) * 2,
        residual=np.array(residual),
        y=np.array(residual),
        base=frame.base,
        signs=np.array(signs),
        meter=np.zeros(2),
    )


def normal(residual: float, sd: float) -> float:
    """ln of the normal density, written out."""
    return -0.5 * (residual / sd) ** 2 - math.log(sd) - 0.5 * math.log(2 * math.pi)


def test_as_designed_is_the_product_of_the_densities() -> None:
    assert weighing.log_as_designed(case((0.1, -0.3))) == pytest.approx(
        normal(0.1, 0.1) + normal(-0.3, 0.2), rel=1e-12
    )


def test_a_reading_of_the_wrong_sign_costs_twelve() -> None:
    """e⁻¹²: six in a million (judged; a sign is never read wrong by chance). Whoever explains the sign does
    not pay, and whoever expects another one does."""
    there, one, two = (case((0.1, 0.0), signs) for signs in ((0.0, 0.0), (1.0, 0.0), (1.0, 1.0)))
    best = weighing.log_as_designed(there)
    assert weighing.log_as_designed(one) == pytest.approx(best - 12.0, rel=1e-12)
    assert weighing.log_as_designed(two) == pytest.approx(best - 24.0, rel=1e-12)


@pytest.mark.parametrize(
    ("factor", "share"),
    [(10, 0.2), (0.1, 0.2), (1e3, 0.2), (1e-3, 0.2), (100, 0.05), (0.01, 0.05), (1e6, 0.05), (1e-6, 0.05)],
)
def test_a_slip_is_weighed_by_its_share(factor: float, share: float) -> None:
    """What is off by a slip exactly is believed by the share of that slip, times the density of the rest."""
    read = weighing.log_bad(case((math.log(factor), 0.0)), 0)
    assert read == pytest.approx(math.log(share) + normal(0.0, 0.1) + normal(0.0, 0.2), abs=1e-9)


def test_all_slips_together_are_one() -> None:
    assert sum(weighing.SLIPS.values()) == pytest.approx(1.0)


def test_a_reading_that_stands_alone() -> None:
    """Its own variance and 0.6² in the logarithm; the other as designed."""
    found = weighing.log_alone(case((0.5, 0.1)), 0)
    assert found == pytest.approx(normal(0.5, math.hypot(0.1, 0.6)) + normal(0.1, 0.2), rel=1e-12)


def test_what_nobody_listed() -> None:
    """0.7 of it lets all readings go, by 0.25 or 0.8 in the logarithm, alike likely; 0.3 one of them."""

    def wide(width: float) -> float:
        return math.exp(normal(0.5, math.hypot(0.1, width)) + normal(-0.4, math.hypot(0.2, width)))

    def alone(first: float, second: float) -> float:
        return math.exp(normal(0.5, math.hypot(0.1, first)) + normal(-0.4, math.hypot(0.2, second)))

    by_hand = 0.35 * wide(0.25) + 0.35 * wide(0.8) + 0.15 * alone(0.6, 0.0) + 0.15 * alone(0.0, 0.6)
    assert weighing.log_unlisted(case((0.5, -0.4))) == pytest.approx(math.log(by_hand), rel=1e-12)


def test_rows_exchanged_are_a_fifth_of_bad_readings() -> None:
    """Two readings of one measure in each other's row: 2 × 0.2/2 of it, beside 0.8 for slips, which do not
    fit here."""
    read = case((2.0, -2.0))
    read.y = np.array([2.0, 0.0])
    found = weighing.log_bad_or_exchanged(read, 0)
    assert found == pytest.approx(math.log(0.2) + normal(0.0, 0.1) + normal(0.0, 0.2), abs=1e-6)


def test_the_interval_of_an_amount_holds_nine_tenths(monkeypatch: pytest.MonkeyPatch) -> None:
    """Amounts 0 … 100, all alike likely: from 5 to 95."""
    monkeypatch.setattr(entries, "under", lambda *_: ())
    amounts = np.arange(101.0)
    hypothesis = SimpleNamespace(
        weights=np.full(101, 1 / 101),
        amounts=amounts,
        amount=lambda node: float(amounts[node]),
        told=lambda posterior: int(np.searchsorted(np.cumsum(posterior), 0.5)),
        title=lambda *_: "longer",
        cause=SimpleNamespace(
            name="longer", kind="copper", confirm="", remedy="", confusable=(), caution="mind"
        ),
        location="P",
        shift=np.zeros((101, 2)),
        anchor=np.zeros((101, 2)),
        doubt=np.zeros((101, 2)),
    )
    scene = SimpleNamespace(hypotheses=[hypothesis], design=None)
    entry = entries.single_entry(scene, 0, np.zeros(101), 0.5, 0.6)  # type: ignore[arg-type]
    assert (entry.low, entry.high) == (5.0, 95.0)
    assert (entry.probability, entry.marginal) == (0.5, 0.6)


def test_warmed_means_by_25_kelvins() -> None:
    design = load_design(SAMPLES / "flyback-24w.toml")
    test = next(test for test in design.tests if test.measure == "inductance")
    warm = next(item for item in INTERVENTIONS if item.name == "warmed")
    assert "by 25 K" in warm.instruction
    assert warm.set_up is not None
    assert warm.set_up(design, test).temperature == stated_temperature(design, test) + 25.0


def test_limits_judge_within_five_per_cent_of_their_frequency() -> None:
    design = load_design(SAMPLES / "flyback-24w.toml")
    place, test = next(
        (place, test)
        for place, test in enumerate(design.tests)
        if test.frequency and (test.minimum is not None or test.maximum is not None)
    )
    assert test.frequency is not None
    for factor, judged in ((0.96, True), (1.04, True), (0.94, False), (1.06, False)):
        reading = replace(READ, test=design.tests[place].name, frequency=factor * test.frequency)
        assert (not limits_elsewhere(design, [reading])) == judged, factor


READ = Reading(sample="A", test="", value=1.0)


# --- the verdict's sentence ------------------------------------------------------------------------------


def cause(probability: float) -> RankedCause:
    return RankedCause(
        cause="turns",
        kind="turns",
        where="P",
        title="P has 1 turn too many",
        amount=1.0,
        low=1.0,
        high=1.0,
        probability=probability,
        marginal=probability,
        also=None,
        confirm="",
        remedy="",
        confusable=(),
        caution="",
        readings=(),
    )


def diagnosis(as_designed: float, single: float, family: float) -> Diagnosis:
    score = ReadingUnderCause("L", "inductance", 1.0, 1.1, 5.0)
    return Diagnosis(
        sample="A",
        as_designed=as_designed,
        unlisted=1 - as_designed - family,
        causes=(cause(single),),
        readings=(score,),
        next_tests=(),
        notes=(),
        families=(
            Family(
                name="turns",
                title="turns of P are wrong",
                causes=(("turns", "P"),),
                probability=family,
                shares=(),
                remedy="",
            ),
        ),
    )


@pytest.mark.parametrize(
    ("made", "sentence"),
    [
        (diagnosis(0.1, 0.80, 0.85), "A: P has 1 turn too many (80 %)"),
        (diagnosis(0.1, 0.51, 0.55), "A: P has 1 turn too many (51 %)"),
        (diagnosis(0.1, 0.40, 0.60), "A: turns of P are wrong (60 %)"),
        (diagnosis(0.2, 0.45, 0.49), "A: not sure; the best guess is that P has 1 turn too many (45 %)"),
        (diagnosis(0.91, 0.05, 0.06), "A: as designed, 91 %"),
        (diagnosis(0.89, 0.05, 0.06), "A: not sure; as designed is the most likely (89 %)"),
    ],
)
def test_what_is_stated_and_what_is_a_guess(made: Diagnosis, sentence: str) -> None:
    """A cause, or its family, is stated from one half on; as designed in per cent from nine tenths on."""
    assert verdict(made) == sentence


@pytest.mark.parametrize(
    ("factor", "words"), [(0.01, "two decades"), (0.1, "a decade"), (1e-3, "a unit prefix")]
)
def test_a_slip_is_told_by_its_size(factor: float, words: str) -> None:
    """A sound part of the sample, one reading off by powers of ten: nothing else explains it."""
    design = load_design(SAMPLES / "flyback-24w.toml")
    values = dict(zip([test.name for test in design.tests], readings(design).tolist(), strict=True))
    lines = [f"A1,{name},{factor * values[name] * 1e6:.4f} uH" for name in ("L_P",)]
    lines += [f"A1,Lk_P,{values['Lk_P'] * 1e6:.4f} uH", f"A1,n,{values['n']:.4f}"]
    rows = parse_readings("sample,test,reading\n" + "\n".join(lines) + "\n", design)
    (diagnosis,) = explain(design, rows)
    assert diagnosis.causes[0].title.endswith(f"(a slip of {words})")


def test_a_cause_at_several_places_shares_its_prior_by_the_root_of_their_number() -> None:
    """Of two causes of weight 0.3 one has four places, each half as likely as the other's only one: 2 : 1,
    so that its places together weigh twice as much. What has room in half its severities counts half."""
    many, one = SimpleNamespace(name="many"), SimpleNamespace(name="one")
    hypotheses: Any = [SimpleNamespace(cause=cause, possible=1.0) for cause in (many, many, many, many, one)]
    found = shares(hypotheses, lambda _: 0.3, 0.9)
    assert found == pytest.approx([0.15, 0.15, 0.15, 0.15, 0.3])
    hypotheses[4].possible = 0.5
    assert shares(hypotheses, lambda _: 0.3, 0.9) == pytest.approx([0.18] * 5)


def test_a_part_of_a_range_reaches_as_far_as_a_uniform_distribution() -> None:
    """Eleven equal severities moving a reading from 0 to 10: parts of 5, standard deviation 5/√12."""
    hypothesis: Any = SimpleNamespace(
        cause=SimpleNamespace(continuous=True),
        weights=np.full(11, 1 / 11),
        shift=np.arange(11.0)[:, None],
    )
    found = pairs._few(hypothesis, 2, np.zeros(11))
    assert [share for _, share, _ in found] == [0.5, 0.5]
    assert [float(reach[0]) for _, _, reach in found] == pytest.approx([5 / math.sqrt(12)] * 2)


def test_a_count_between_shares_the_prior_of_the_farther_one_by_its_size() -> None:
    """One turn is missing (0.6) or four are (0.4): two and three take their part of the 0.4 as 1/2 : 1/3 :
    1/4, that is 6, 4 and 3 of 13."""
    variants = tuple(Variant(amount, 1.0, cast("Any", None), "") for amount in (-1.0, -4.0))
    none = np.zeros((2, 1))
    computed = Hypothesis(
        cause=cast("Any", None),
        location="P",
        variants=variants,
        weights=np.array([0.6, 0.4]),
        shift=none,
        anchor=none,
        flips=none,
        amounts=np.array([-1.0, -4.0]),
        origin=(0, 1),
        unsure=np.ones(1),
    )
    counts: Any = SimpleNamespace(drawn=lambda *_: 100, title=lambda *_: "")
    found = with_counts(computed, counts, cast("Any", None))
    by_amount = dict(zip(found.amounts.tolist(), found.weights.tolist(), strict=True))
    expected = {-1.0: 0.6, -2.0: 0.4 * 6 / 13, -3.0: 0.4 * 4 / 13, -4.0: 0.4 * 3 / 13}
    assert by_amount == pytest.approx(expected)


def test_what_is_unknown_of_a_reading_is_the_mean_over_causes_by_their_probability(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """The covariance under all survivors against that under each alone, weighed by its probability."""
    seen: list[Any] = []
    monkeypatch.setattr(evidence, "next_tests", lambda *given: (seen.extend(given), ((), ()))[1])
    design = parse_design(SMALL)
    explain(design, parse_readings(SMALL_READINGS, design))
    inquiry, case_read, survivors = seen[-3:]
    ahead = [column for column in range(len(inquiry.staged)) if column not in case_read.test_indices]
    together = prospect_of(inquiry, case_read, ahead, survivors)
    alone = [prospect_of(inquiry, case_read, ahead, [survivor]).spread for survivor in survivors]
    by_probability = np.array([survivor.probability for survivor in survivors])
    expected = np.average(alone, axis=0, weights=by_probability)
    assert together.spread == pytest.approx(expected, rel=1e-6, abs=1e-15)
    assert not np.allclose(np.mean(alone, axis=0), expected, rtol=0.01, atol=0)
