"""Numbers and counts of texts, pages and pictures, each against what follows from its data by hand. Label:
exact; what is said in which case, unit."""

from __future__ import annotations

import math
from dataclasses import replace
from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pytest
from small_design import SMALL, SMALL_READINGS

from aswound.cli.documents.record import as_data
from aswound.cli.interleave_options import aims_of
from aswound.cli.views import aims, catalogue, entry, faults_seen, interleave, lot, words
from aswound.cli.views.calibration import calibration_view
from aswound.cli.views.comparison import _change
from aswound.cli.views.diagnosis import _factor
from aswound.cli.views.diagnosis_data import cause_json
from aswound.cli.views.forecast import forecast
from aswound.cli.views.page import Grid, Paragraph
from aswound.cli.views.prediction import _beside, assumptions, core_line
from aswound.cli.views.report import _strips
from aswound.cli.views.report_input import ReportInput
from aswound.cli.views.report_samples import summary, verdicts
from aswound.cli.views.together import shared_view
from aswound.compare import compare, parse_readings
from aswound.compare.aims import Aim, AimedBuilds
from aswound.compare.causes import bench as bench_causes
from aswound.compare.causes import layers, process
from aswound.compare.diagnosis import RankedCause
from aswound.compare.lots import Learned, LearnedFactor, LearnedOwn, LotTest, Together, TwoLots
from aswound.compare.meter.budget import budget
from aswound.compare.plan import FurtherTest, bench_guide
from aswound.compare.plan.trade_offs import change_words
from aswound.compare.plan.warnings import level_warnings, limit_warnings
from aswound.compare.verdict import Evaluation, SampleComparison, StageChange
from aswound.compare.verdict.beyond_limits import _failed
from aswound.compare.verdict.scatter import Scatter
from aswound.predict import parse_design, readings
from aswound.predict.catalogue import load_catalogue
from aswound.predict.copper import ac_resistance_error
from aswound.predict.cores import core_inductance_factor, level_ratio
from aswound.predict.design import BenchTest, Member
from aswound.predict.interleave import Rules, find_arrangements
from aswound.predict.interleave.adjustment import multiples
from aswound.predict.interleave.divisible_parts import rearrangement_of
from aswound.predict.interleave.divisions import pins_needed
from aswound.predict.interleave.faces import faces_of
from aswound.predict.interleave.rules import Split
from aswound.predict.netlist.builds import EndOfProduction
from aswound.predict.netlist.check import Deviation
from aswound.predict.netlist.elements import Range
from aswound.predict.netlist.file import _cautions, _end_words
from aswound.predict.production import Factor, ProductionSpread, Tipping, calibrated, model_leakage_error
from aswound.predict.production.common_parts import shares_of

COPPER = 1e-6 / 58
"""Resistivity at 20 °C, ohm m (IEC 60028: 100 % IACS)."""


def test_a_winding_is_told_with_its_leads() -> None:
    """Leads of 0.3 m: so much longer, and ρ l/A more, with the 0.3 mm of P."""
    bare, led = (
        forecast(parse_design(SMALL.replace('name = "P"\nwire', f'name = "P"\n{leads}wire')), 100, 1).windings
        for leads in ("", 'lead_length = "0.3 m"\n')
    )
    assert led[0].length - bare[0].length == pytest.approx(0.3)
    more = COPPER * 0.3 / (math.pi / 4 * 0.3e-3**2)
    assert led[0].resistance - bare[0].resistance == pytest.approx(more, rel=1e-9)
    assert led[1] == bare[1]


def report(*samples: SampleComparison) -> ReportInput:
    """A report of these samples, without a diagnosis."""
    whole = SimpleNamespace(samples=samples, diagnoses=(), forecast=forecast(parse_design(SMALL), 100, 1))
    return cast(ReportInput, whole)


@pytest.fixture(scope="module")
def compared() -> tuple[SampleComparison, ...]:
    """A part as drawn, and one whose core is not."""
    design = parse_design(SMALL)
    return compare(design, parse_readings(SMALL_READINGS, design), builds=100)


def test_parts_that_deviate_are_counted(compared: tuple[SampleComparison, ...]) -> None:
    good, bad = compared
    assert summary(report(bad)) == "1 sample deviates from the design: A2."
    assert summary(report(good, bad, good)) == "1 of 3 samples deviate from the design: A2."
    assert summary(report(good)) == "1 sample read, none deviates from the design."


@pytest.mark.parametrize(
    ("changed", "badge"),
    [
        ({"verdict": "undecided"}, "undecided"),
        ({"verdict": "undecided", "minimum": 219.8e-6, "maximum": 220.3e-6}, "undecided"),
        ({"verdict": "undecided", "minimum": 219.9e-6, "maximum": 220.2e-6}, "agrees"),
        ({"agrees": False}, "near the edge"),
        ({"verdict": "fail"}, "fails a limit"),
    ],
)
def test_a_limit_that_no_reading_can_pass_leaves_nothing_open(
    compared: tuple[SampleComparison, ...], changed: dict[str, Any], badge: str
) -> None:
    """Two limits closer than four standard uncertainties are beyond the bench: nothing is open then."""
    good = compared[0]
    first = replace(good.tests[0], read_uncertainty=0.1e-6, agrees=True, score=0.5)
    part = replace(good, tests=(replace(first, **changed),), checks=())
    (row,) = verdicts(report(part))
    assert row.badge == badge


def test_the_bar_of_a_reading_is_its_expanded_uncertainty(compared: tuple[SampleComparison, ...]) -> None:
    """k = 2, as the page says."""
    strips = _strips(report(*compared))
    for strip, test in zip(strips, compared[0].tests, strict=True):
        assert test.read_uncertainty
        assert strip.marks[0].value == test.read
        assert strip.marks[0].expanded == pytest.approx(2 * test.read_uncertainty)


@pytest.mark.parametrize(
    ("measure", "change", "uncertainty", "told"),
    [
        ("inductance", -0.0312, 0.0021, "-3.12 % ± 0.42 %"),
        ("phase", math.radians(1.5), math.radians(0.25), "1.50° ± 0.5°"),
    ],
)
def test_a_change_from_stage_to_stage_has_its_expanded_uncertainty(
    measure: str, change: float, uncertainty: float, told: str
) -> None:
    """k = 2, as the page says."""
    moved = SimpleNamespace(measure=measure, change=change, change_uncertainty=uncertainty)
    assert _change(cast(StageChange, moved)) == told


def test_what_was_learned_is_known_to_twice_its_deviation() -> None:
    """k = 2, as the page says: of factors, and of pairs of windings."""
    design = parse_design(SMALL)
    factor = LearnedFactor(
        key="leakage", factor=1.02346, deviation=0.0123, prior=0.034, surprise=0.7, tests=("Lk_P",)
    )
    own = LearnedOwn("leakage P|S", 0.98765, 0.0111, 0.022, -0.4)
    parts = list(calibration_view(Learned((factor,), (own,), (), 2, design), (), "the file"))
    first, second = (part for part in parts if isinstance(part, Grid))
    assert first.rows == (("leakage", "× 1.0235", "±2.5 %", "±6.8 %", "Lk_P"),)
    assert second.rows == (("leakage of P and S, from both sides", "× 0.9877", "±2.2 %", "±4.4 %"),)


@pytest.mark.parametrize(
    ("ratio", "told"),
    [(1.5, "×1.5"), (4.04, "×4.0"), (9.94, "×9.9"), (14.6, "×15"), (999.0, "×999"), (1001.0, "beyond ×1000")],
)
def test_a_likelihood_ratio_is_told_as_such(ratio: float, told: str) -> None:
    """Of its logarithm: with a decimal below ten."""
    assert _factor(math.log(ratio)) == told


def test_the_range_of_an_amount_is_told_from_low_to_high() -> None:
    cause = RankedCause(
        cause="turns", kind="turns", where="P", title="P has 2 turns too many", amount=2.0, low=1.0, high=3.0,
        probability=0.8, marginal=0.85, also=None, confirm="", remedy="", confusable=(), caution="",
        readings=(),
    )  # fmt: skip
    told = as_data(cause_json(cause))
    assert [told[key] for key in ("amount_low", "amount", "amount_high")] == [1.0, 2.0, 3.0]
    assert (told["probability"], told["marginal"]) == (0.8, 0.85)


def test_a_further_test_is_told_with_its_gain() -> None:
    test = BenchTest(name="R_S", measure="resistance", drive=(Member("S"),))
    told = faults_seen._further(FurtherTest(test, 0.0264, (("wire", "S"),)))
    assert told == "R S: 2.6 % more of all faults noticed; it shows wire S."


def test_how_much_more_parts_differ_is_told_as_the_factor() -> None:
    diagnosis = SimpleNamespace(
        deviates=True, as_designed=0.1, unlisted=0.05, sample="all 5 samples", informed=True,
        failed_limits=(),
        causes=[SimpleNamespace(probability=0.7, title="a gap", confirm="c", remedy="r", kind="core")],
        families=[SimpleNamespace(probability=0.7, shares=(), title="a gap", remedy="r")],
    )  # fmt: skip
    shares = ((0.7, "a gap"), (0.06, "a material"), (0.04, "a core"), (0.05, "turns"), (0.3, "fifth"))
    together = SimpleNamespace(
        pooled=tuple("ABCDE"), samples=5, apart=(), scatter=(("L_P", 1.62), ("R_P", 2.06)),
        diagnosis=diagnosis,
        shared=[SimpleNamespace(probability=share, title=title) for share, title in shares],
    )  # fmt: skip
    told = [part.text for part in shared_view(cast(Together, together)) if isinstance(part, Paragraph)]
    assert "Or: a material (6 %); turns (5 %)." in told
    assert told[-1].endswith("allowed for: L_P ×1.6, R_P ×2.1.")


AIR = """[core]
[core.dimensions]
form = "air"
diameter = "20 mm"
length = "30 mm"
"""
LOT = {
    "name": "L_P", "measure": "inductance", "n": 20, "mean": 590.2e-6, "standard_deviation": 4.3e-6,
    "predicted": 590e-6, "predicted_uncertainty": 12e-6, "predicted_low": 566e-6, "predicted_high": 614e-6,
    "deviation": 0.0003, "minimum": 560e-6, "maximum": 600e-6, "cpk": 1.0, "cpk_lower": 0.8,
    "outside": 3, "fails": 1,
}  # fmt: skip


def test_a_lot_tells_the_parts_outside_their_limits() -> None:
    """Read outside, whether they fail by the rule or not; nothing where there is no limit."""
    row = lot._row(cast(LotTest, SimpleNamespace(**LOT)))
    assert row == ["L_P", "20", "590.2 µH", "4.3 µH", "590 ± 24 µH", "0.0 %", "1.00 (≥ 0.80)", "3"]
    free = SimpleNamespace(**(LOT | {"minimum": None, "maximum": None, "cpk": None}))
    assert lot._row(cast(LotTest, free))[-2:] == ["", "-"]


def test_two_lots_have_each_its_own_mean_and_scatter() -> None:
    first, second = (
        SimpleNamespace(**(LOT | {"mean": mean, "standard_deviation": deviation}))
        for mean, deviation in ((590e-6, 4.3e-6), (575e-6, 6.1e-6))
    )
    item = SimpleNamespace(
        name="L_P", measure="inductance", first=first, second=second, difference=-15e-6, relative=-0.0254,
        p=0.00321, differs=True,
    )  # fmt: skip
    lots = [SimpleNamespace(samples=20, left_out=()), SimpleNamespace(samples=18, left_out=())]
    both = SimpleNamespace(first=lots[0], second=lots[1], differences=(item,), cause=None)
    parts = list(lot.two_lots_view(parse_design(SMALL), cast(TwoLots, both), ("a.csv", "b.csv")))
    (grid,) = (part for part in parts if isinstance(part, Grid))
    assert grid.rows == (("*", "L_P", "590.0 µH", "4.3 µH", "575.0 µH", "6.1 µH", "-2.54 %", "0.0032"),)


def test_a_yield_of_ninety_per_cent_is_known_to_as_many_builds() -> None:
    """1.96 √(0.9 · 0.1/N): 1.3 % of 2000 builds, 5.9 % of 100."""
    for builds, told in ((2000, "1.3 %"), (100, "5.9 %")):
        result = SimpleNamespace(aims=(), tests=(), ranked=(), builds=builds, searched=7)
        parts = aims.aims_view(
            parse_design(SMALL), cast(AimedBuilds, result), cast(Any, SimpleNamespace(notes=()))
        )
        text = " ".join(part.text for part in parts if isinstance(part, Paragraph))
        assert f"{builds} random builds: a yield of 90 % is known to within {told}." in text


def test_an_aim_is_told_with_its_tolerance_in_per_cent() -> None:
    assert aims._aim_text(Aim("Lk_P", "=", 78e-6, 3.9e-6), "inductance") == "Lk_P = 78.00 µH ± 5 %"
    assert aims._aim_text(Aim("Lk_P", "<=", 6e-6, 0.0), "inductance") == "Lk_P ≤ 6.000 µH"


def test_a_ring_of_the_catalogue_is_told_by_its_hole() -> None:
    """R 25/15/10 has a hole of 15 mm; E 25/13/7 a window of 5.5 × 17.4 mm (makers' data books)."""
    cores = {row["name"]: row for row in catalogue.rows(load_catalogue(), "cores")}
    chosen = [cores["R 25/15/10"], cores["E 25/13/7"]]
    grid = next(part for part in catalogue.view("cores", chosen) if isinstance(part, Grid))
    assert grid.rows[0][3] == "hole 15"
    wide, high = (float(each) for each in grid.rows[1][3].split(" × "))
    assert (wide, high) == pytest.approx((5.5, 17.4), rel=0.05)


def test_a_change_is_told_over_the_original() -> None:
    """Half as many turns again: 2.25 times the inductance."""
    old, new = (
        forecast(parse_design(SMALL.replace("turns = 30", f"turns = {turns}")), 100, 1) for turns in (20, 30)
    )
    ratio = float(new.spread.nominal[0] / old.spread.nominal[0])
    assert ratio == pytest.approx(2.25, rel=0.01)
    assert _beside(old, new, "L_P")[-1] == f"+{100 * (ratio - 1):.1f} %"
    assert _beside(new, old, "L_P")[-1] == f"{100 * (1 / ratio - 1):.1f} %"


def test_coils_in_air_are_told_by_their_former() -> None:
    text = SMALL.partition("[core]")[0] + AIR + SMALL.partition('gap = "0.3 mm"')[2]
    assert core_line(parse_design(text)) == "No core: coils in air on a former of 20 mm, 30 mm long."


@pytest.mark.parametrize(
    ("across", "told"),
    [(None, ""), (0.992, ""), (0.988, " (988 mV across the part)"), (0.35, " (350 mV across the part)")],
)
def test_what_is_left_of_a_level_is_told_from_one_per_cent_on(across: float | None, told: str) -> None:
    assert words.level(1.0, across) == f"1.00 V RMS on the meter{told}"


def test_a_question_is_numbered_from_one() -> None:
    guide = bench_guide(parse_design(SMALL))
    told = [list(entry.question(guide, index, "A1"))[1] for index in (0, 1)]
    assert told == ["A1, 1 of 2: L_P, inductance", "A1, 2 of 2: n, ratio"]


# --- netlist, interleave ----------------------------------------------------------------------------


def test_a_netlist_says_how_far_it_strays() -> None:
    """From more than one per cent on, with its sign."""
    span = Range(1e3, 1e6)
    told = _cautions(
        span, (Deviation("ratio", "P to S", 1e5, -0.034), Deviation("open impedance", "P open", 1e3, 0.0099))
    )
    assert told[0] == (
        "The voltage ratio deviates from the predicted reading by up to -3.4 % (P to S at 100.0 kHz)."
    )
    assert len(told) == len(_cautions(span, ())) + 1


def test_an_end_of_production_is_told_against_nominal() -> None:
    factors = (("open inductance", 0.931), ("leakage", 1.042))
    end = EndOfProduction("low", parse_design(SMALL), factors)
    assert _end_words(end) == "low: against nominal open inductance -6.9 %, leakage +4.2 %"


def test_steps_of_a_change_end_with_the_largest() -> None:
    assert multiples(0.5e-3, 0.1e-3) == (0.1e-3, 0.2e-3, 0.3e-3, 0.4e-3, 0.5e-3)
    assert multiples(0.55e-3, 0.1e-3) == (0.1e-3, 0.2e-3, 0.3e-3, 0.4e-3, 0.5e-3)
    assert multiples(0.05e-3, 0.1e-3) == ()


@pytest.mark.parametrize(
    ("pins", "sections", "connection", "needed"),
    [
        ("", 1, "series", 4),
        ('start = "1"\nfinish = "2"\n', 1, "series", 4),
        ('start = "1"\n', 1, "series", 4),
        ("", 3, "series", 6),
        ("", 2, "parallel", 4),
    ],
)
def test_an_end_without_a_named_pin_takes_one(pins: str, sections: int, connection: str, needed: int) -> None:
    """Two windings have four ends; a joint of two sections in series takes a pin more, in parallel none."""
    design = parse_design(SMALL.replace('name = "P"\n', f'name = "P"\n{pins}'))
    space = rearrangement_of(design, Rules(), faces_of(design, Rules()))
    divided = Split(sections, cast(Any, connection))
    splits = tuple(divided if unit.name == "P" else unit.now for unit in space.units)
    assert pins_needed(space, splits) == needed


@pytest.mark.parametrize(
    ("after", "told"),
    [
        (0.5, "halves x"),
        (1 / 3, "cuts x to a third"),
        (1.85, "+85 % x"),
        (0.7, "−30 % x"),
        (12.3, "12 times the x"),
    ],
)
def test_a_change_of_a_figure_in_words(after: float, told: str) -> None:
    size, text = change_words("x", 1.0, after)
    assert text == told
    assert size == pytest.approx(math.log(after))


def test_how_far_a_level_lifts_an_inductance() -> None:
    """ΔL/L = (λ − 1) times the core's share of the reluctance: what AL is of that of the ungapped core,
    μ0 μi Ae/le."""
    design = parse_design(SMALL.replace('gap = "0.3 mm"', 'gap = "0.02 mm"'))
    core = design.core
    closed = 4e-7 * math.pi * float(np.asarray(core.material.initial_permeability))
    closed *= float(np.asarray(core.effective_area)) / core.effective_length
    share = float(core_inductance_factor(core)) / closed
    assert 0.4 < share < 0.8
    rise = (float(level_ratio(core.material, 0.15)) - 1) * share
    (told,) = level_warnings(design, design.tests[0], 0.15)
    assert told.startswith(
        f"This level makes 150 mT in the core and lifts the inductance by about {100 * rise:.0f} %"
    )


def test_sound_parts_beyond_a_limit_are_counted_among_all_builds() -> None:
    """Three of four builds have the layers as drawn and lie within; the fourth, of a layer more, does not."""
    production = SimpleNamespace(
        samples=np.array([[1.0], [1.0], [1.02], [2.0]]),
        as_designed=np.array([[1.0], [1.0], [1.02]]),
        low=np.array([1.0]),
        high=np.array([1.02]),
        apart_from=lambda _: (SimpleNamespace(low=np.array([1.9]), high=np.array([2.1])),),
    )
    test = BenchTest(name="C", measure="capacitance", drive=(Member("P"),), maximum=1.5)
    (told,) = limit_warnings(test, budget((("meter", 0.01),)), cast(ProductionSpread, production), 0)
    assert told == "The limit is tighter than production: about 25 % of sound parts fall outside."


def test_an_aim_without_a_tolerance_has_that_of_the_guide() -> None:
    """± 5 % of its value; a limit has none."""
    design = parse_design(SMALL)
    aimed = aims_of(["L_P = 200 uH", "n <= 3.4"], design)
    assert [(aim.value, aim.tolerance) for aim in aimed] == [pytest.approx((200e-6, 10e-6)), (3.4, 0.0)]
    (stated,) = aims_of(["L_P = 200 uH ± 3 uH"], design)
    assert stated.tolerance == pytest.approx(3e-6)


@pytest.mark.parametrize(("above", "read", "limits"), [(True, 7.4, (None, 6.0)), (False, 3.1, (4.0, None))])
def test_of_parts_beyond_a_limit_the_furthest_is_told(
    above: bool, read: float, limits: tuple[float | None, float | None]
) -> None:
    test = BenchTest(name="L", measure="inductance", drive=(Member("P"),), minimum=4.0, maximum=6.0)
    evaluation = SimpleNamespace(
        design=SimpleNamespace(tests=(test,)), prediction=SimpleNamespace(values=np.array([5.0]))
    )
    scatter = Scatter(np.array([0.3]), np.array([0.6]), np.array([0.4]))
    found = _failed(cast(Evaluation, evaluation), scatter, (0, above), (7.1, 7.4, 3.1, 3.9), 9)
    assert (found.read, found.minimum, found.maximum) == (read, *limits)
    assert (found.parts, found.looked_at) == (4, 9)
    assert found.tighter is not above, "95 % are from 5 − 1.96 · 0.6 = 3.8 to 5 + 1.96 · 0.4 = 5.8"


def test_faces_are_told_with_their_insulation_in_millimetres() -> None:
    """Three wraps of 0.06 mm; equal faces are counted."""
    (now,) = [item for item in find_arrangements(parse_design(SMALL)).arrangements if item.present]
    assert interleave._faces(now) == "P/S 0.18 mm"
    split = SMALL.replace(
        '{ wind = "S", turns = 9 }]',
        """{ wind = "S", turns = 9 },
    { tape = "0.06 mm", wraps = 1 }, { wind = "P", turns = 30 }, { wind = "S", turns = 9 }]""",
    )
    (now,) = [item for item in find_arrangements(parse_design(split)).arrangements if item.present]
    assert interleave._faces(now) == "P/S 0.18 mm, S/P 0.06 mm, P/S wire only"


def test_the_models_errors_are_told_at_twice_their_size() -> None:
    """k = 2, as the page says."""
    design = parse_design(SMALL)
    text = assumptions(design).text
    assert f"leakage ±{100 * 2 * model_leakage_error(design):.0f} %" in text
    assert f"Alternating-current resistance ±{100 * 2 * ac_resistance_error(design):.0f} %" in text


def test_a_part_that_is_warmer_reads_as_at_that_temperature() -> None:
    """Stated 25 °C and 10 K warmer than stated: as if 35 °C were stated."""
    warm = 'name = "L_P"\ntemperature = "{} degC"'
    stated, warmer = (parse_design(SMALL.replace('name = "L_P"', warm.format(at))) for at in (25, 35))
    off = replace(stated, bench=replace(stated.bench, temperature_error=10.0))
    one, other, plain = (float(readings(design)[0]) for design in (off, warmer, stated))
    assert one == pytest.approx(other, rel=1e-9)
    assert abs(one / plain - 1) > 1e-4


def test_what_a_known_good_sample_taught_leaves_the_rest_of_the_permittivity() -> None:
    """What all parts of a design have in common of the 10 % is known now; both parts make up the whole."""
    design = parse_design(SMALL)
    design = replace(design, tolerances=replace(design.tolerances, permittivity=0.1))
    rest = calibrated(design, [Factor("capacitance", 1.1, 0.02)]).tolerances.permittivity
    known = shares_of("permittivity").design
    assert 0 < known < 1
    assert float(cast("float", rest)) ** 2 + known * 0.1**2 == pytest.approx(0.1**2)


def test_causes_say_their_size_in_per_cent(monkeypatch: pytest.MonkeyPatch) -> None:
    """Layers at the limit with their share of builds; metal at the gap with what it takes."""
    design = parse_design(SMALL)
    tipping = Tipping(winding="S", step=2, designed=1, layers=2, share=0.034)
    monkeypatch.setattr(layers, "_tipped", lambda _: ((tipping, design),))
    (variant,) = layers._variants(design, "S")
    assert variant.title == "S has 2 layers instead of 1 in step 3, as 3.4 % of builds"
    plain = float(design.core.al_scale)
    for near in process._metal_near(design, ""):
        told = float(near.title.split("takes ")[1].split(" %")[0])
        assert float(near.design.core.al_scale) == pytest.approx(plain * (1 - told / 100), abs=0.005)


def test_more_warmth_is_less_likely_on_a_scale_of_thirty_kelvins() -> None:
    first, *others = bench_causes._temperature(parse_design(SMALL), "")
    for other in others:
        more = cast("float", other.amount) - cast("float", first.amount)
        assert other.weight / first.weight == pytest.approx(math.exp(-more / 30))
