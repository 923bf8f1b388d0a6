"""What went unnoticed of mistakes drawn at random in files without a listed one. Label: unit; where a closed
form stands beside it, exact."""

from __future__ import annotations

import json
import math
import re
from pathlib import Path
from types import SimpleNamespace
from typing import cast

import numpy as np
import pytest
from scipy.stats import f_oneway
from small_design import SMALL

from aswound.cli.options import frequency_range
from aswound.cli.output import show_json
from aswound.cli.views import aims, calibration, drawing_legend, entry, keys, undrawn, words
from aswound.cli.views import lot as lot_view
from aswound.cli.views.buildsheet_pins import pins_svg
from aswound.cli.views.page import Grid, Paragraph
from aswound.compare.causes import CATALOGUE
from aswound.compare.causes.sheet import BREADTH_RATIOS, _effective_breadth
from aswound.compare.consistency import Derived
from aswound.compare.diagnosis import survivors
from aswound.compare.lots.left_out import decade_slips
from aswound.compare.lots.statistics import batch_variance
from aswound.compare.plan.instructions import sweep_range
from aswound.compare.readings import row_names
from aswound.predict import parse_design
from aswound.predict.circuit.resonance import HIGHEST
from aswound.predict.design import BenchTest, Member
from aswound.predict.designfile.key_table import key_lines
from aswound.predict.designfile.sources import input_file
from aswound.predict.errors import DesignError
from aswound.predict.forms.pot_core import PotDimensions
from aswound.predict.quantity import format_quantity


def coil(wire: str, chambers: str = "", step: str = "") -> str:
    return f"""
[core]
shape = "ETD 34/17/11"
material = "MnZn 2300"
gap = "0.5 mm"
[bobbin]
wall = "1.1 mm"
flange = "1 mm"
{chambers}
[[winding]]
name = "P"
wire = {wire}
[build]
steps = [{{ wind = "P", turns = 10{step} }}]
"""


def test_a_stated_lay_is_that_of_a_bundle_of_half_its_diameter() -> None:
    """Mean of √(1 + (2πr/lay)²) over a bundle of 1.1 mm: 2/(3 q²) ((1 + q²)^1.5 − 1), q = π 1.1/12."""
    litz = '{ litz_strands = 60, strand = "0.1 mm", overall = "1.1 mm", lay = "12 mm" }'
    q = math.pi * 1.1 / 12
    mean = 2 / (3 * q**2) * ((1 + q**2) ** 1.5 - 1)
    assert parse_design(coil(litz)).winding("P").wire.lay_factor == pytest.approx(mean, rel=1e-6)


def test_a_winding_in_chambers_says_in_which() -> None:
    chambers = 'chambers = 2\npartition = "1 mm"'
    with pytest.raises(DesignError, match="chamber: found nothing"):
        parse_design(coil('{ diameter = "0.5 mm", grade = 2 }', chambers))
    parse_design(coil('{ diameter = "0.5 mm", grade = 2 }', chambers, ", chamber = 2"))


def test_another_word_for_a_measure_is_told() -> None:
    test = '\n[[test]]\nname = "T"\nmeasure = "leakage"\ndrive = "P"\n'
    with pytest.raises(DesignError, match="That is measure = "):
        parse_design(coil('{ diameter = "0.5 mm", grade = 2 }') + test)


def test_another_breadth_weighs_the_same_at_each_severity_and_moves_the_flange() -> None:
    """Room between the flanges at ratio r: r of the room as drawn."""
    design = parse_design(SMALL)
    before = float(np.asarray(design.core.dimensions.window[1])) - 2 * float(np.asarray(design.bobbin.flange))
    variants = _effective_breadth(design, "core")
    assert {variant.amount for variant in variants} <= set(BREADTH_RATIOS)
    assert variants
    for variant in variants:
        flange = float(np.asarray(variant.design.bobbin.flange))
        room = float(np.asarray(design.core.dimensions.window[1])) - 2 * flange
        assert variant.weight == 1.0
        assert room == pytest.approx(cast(float, variant.amount) * before)


def test_the_wall_of_a_pot_core_is_a_ring_without_its_slots() -> None:
    core = load_core("P 18/11")
    wall = math.pi * ((core.outer_diameter / 2) ** 2 - (core.window_diameter / 2) ** 2)
    share = 1 - core.slots * core.slot_angle / (2 * math.pi)
    assert core.return_legs.area == pytest.approx(wall * share, rel=1e-9)
    assert core.return_legs.perimeter == pytest.approx(math.pi * core.window_diameter * share, rel=1e-9)


def load_core(shape: str) -> PotDimensions:
    design = parse_design(
        coil('{ diameter = "0.2 mm", grade = 2 }').replace("ETD 34/17/11", shape).replace("0.5 mm", "0.2 mm")
    )
    assert isinstance(design.core.dimensions, PotDimensions)
    return design.core.dimensions


@pytest.mark.parametrize("sizes", [(4, 4, 4), (3, 5, 7), (2, 9)])
def test_the_chance_of_batches_alike_is_that_of_the_f_test(sizes: tuple[int, ...]) -> None:
    dice = np.random.default_rng(len(sizes))
    groups = [dice.normal(0.3 * index, 1.0, size) for index, size in enumerate(sizes)]
    names = [str(index) for index, size in enumerate(sizes) for _ in range(size)]
    found = batch_variance(np.concatenate(groups), names)
    assert found is not None
    assert found.p == pytest.approx(f_oneway(*groups).pvalue, rel=1e-9)


def test_headings_of_one_winding_and_of_two() -> None:
    """S_1 is known by its own column, so that Lk_P_S_1 is the leakage of P with S_1 shorted."""
    found = row_names.tests_in_header(["sample", "L_P [uH]", "L_S_1", "Lk_P_S_1", "R_P"])
    assert list(found) == ["L_P", "L_S_1", "Lk_P_S_1", "R_P"]
    assert [member.name for member in found["Lk_P_S_1"].drive] == ["P"]
    assert [member.name for member in found["Lk_P_S_1"].short] == ["S_1"]


def test_where_derived_quantities_come_from_is_told_once() -> None:
    items = [
        Derived("star: branch of P", "H", 1e-6, 1e-8, ("L_P", "Lk_P")),
        Derived("star: branch of S", "H", 2e-6, 1e-8, ("L_P", "Lk_P")),
        Derived("k", "1", 0.9, 1e-3, ("L_P", "Lk_P")),
        Derived("ratio", "1", 0.9, 1e-3, ("n",)),
    ]
    (grid,) = undrawn.derived_view(items)
    assert isinstance(grid, Grid)
    text = [" ".join(" ".join(str(cell) for cell in row).split()) for row in grid.rows]
    assert text[0] == "star: L_P, Lk_P"
    assert [line.endswith("L_P, Lk_P") for line in text[1:4]] == [False, False, False]
    assert text[4].endswith(" n")


@pytest.mark.parametrize(("probability", "named"), [(0.6, True), (0.2, False)])
def test_a_doubted_sample_names_its_cause_if_it_beats_what_is_unlisted(
    probability: float, named: bool
) -> None:
    cause = SimpleNamespace(title="one turn too many", probability=probability)
    diagnosis = SimpleNamespace(deviates=True, causes=(cause,), unlisted=0.3, sample="A1", as_designed=0.1)
    (sentence,) = calibration.doubts(SimpleNamespace(suspicious=()), (), (diagnosis,))  # type: ignore[arg-type]
    assert ("most likely one turn too many" in sentence) == named


@pytest.mark.parametrize(("measure", "told"), [("resistance", True), ("inductance", False)])
def test_where_resistances_are_judged_is_said_where_there_are_any(measure: str, told: bool) -> None:
    frequency = "" if told else 'frequency = "10 kHz"\n'
    test = f'\n[[test]]\nname = "T"\nmeasure = "{measure}"\ndrive = "P"\n{frequency}'
    design = parse_design(coil('{ diameter = "0.5 mm", grade = 2 }') + test)
    parts = [getattr(part, "text", "") for part in words.readings_end(design, "one more")]
    assert (words.AT_TEMPERATURE in parts) == told
    assert parts[-2:] == ["one more", words.SAFETY_LINE]


# --- drawn on 29 November: seed 29 -------------------------------------------------------------------


@pytest.mark.parametrize(
    ("value", "text"), [(0.0, "0"), (-0.0, "0"), (1.0, "1"), (12.3456, "12.35"), (-12345.6, "-12346")]
)
def test_ampere_turns_beside_a_diagram(value: float, text: str) -> None:
    assert drawing_legend.ampere_turns_text(value) == text


def test_a_word_that_is_a_key_finds_that_key_alone() -> None:
    """ "gap" is part of other keys and of their meanings; part of a word finds all of them."""
    lines = key_lines()
    assert {line.key for line in keys.chosen(lines, "Gap ")} == {"gap"}
    assert {line.path for line in keys.chosen(lines, "core.gap")} == {"core.gap"}
    assert {"gap", "gap_at"} < {line.key for line in keys.chosen(lines, "ga")}


def test_half_of_production_is_half_or_more() -> None:
    best = SimpleNamespace(yielded=0.5, alone=(0.9,), nominal=(1.0,))
    result = SimpleNamespace(ranked=(best,), aims=(SimpleNamespace(test="L", value=1.0),), tests=(None,))
    assert aims._missed(result) == ""  # type: ignore[arg-type]
    best.yielded = 0.49
    assert aims._missed(result).startswith("No build here meets the aims in half of production")  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("low", "high", "told"),
    [
        (90e3, 120e3, "a sweep from 30 kHz to 360 kHz"),
        (3e6, HIGHEST / 2, f"a sweep from 1.0 MHz to {format_quantity(HIGHEST, 'Hz', 2)}"),
        (2 * HIGHEST, 3 * HIGHEST, f"a sweep up to {format_quantity(HIGHEST, 'Hz', 3)}"),
    ],
)
def test_a_sweep_for_a_resonance_is_three_times_wider_than_production(
    low: float, high: float, told: str
) -> None:
    assert sweep_range(BenchTest(name="f", measure="resonance", drive=(Member("P"),)), low, high) == told


@pytest.mark.parametrize(
    ("probability", "told"), [(0.2, "Read Lk again first: it is furthest off."), (0.4, "Turn it over.")]
)
def test_a_part_that_deviates_is_confirmed_or_read_again(probability: float, told: str) -> None:
    """Where no cause beats what is not listed, the reading that is furthest off is named."""
    diagnosis = SimpleNamespace(
        deviates=True,
        causes=(SimpleNamespace(probability=probability, confirm="Turn it over."),),
        unlisted=0.3,
        readings=(SimpleNamespace(name="L", score=4.0), SimpleNamespace(name="Lk", score=-7.0)),
        next_tests=(),
    )
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(entry, "verdict", lambda _: "A: deviates")
        parts = list(entry.sample_verdict(diagnosis))  # type: ignore[arg-type]
    assert [part.text for part in parts if isinstance(part, Paragraph)] == [told]


def test_what_is_not_finite_is_null_in_json(capsys: pytest.CaptureFixture[str]) -> None:
    show_json({"a": math.nan, "b": [math.inf, -math.inf, 1.5], "c": ({"d": np.nan},)})
    assert json.loads(capsys.readouterr().out) == {"a": None, "b": [None, None, 1.5], "c": [{"d": None}]}


@pytest.mark.parametrize(
    ("values", "slips"),
    [
        ((1.0, 1.02, 0.99, 1e-3), {3: 1e3}),
        ((1.0, 1.02, 1e-3), {}),  # of three readings none stands against two
        ((1.0, 1.02, 0.99, 2.9, 1.01), {}),  # less than three times the others: no slip of a decade
        ((1.0, 1.0, 1.0, 1.0, 10.19), {4: 0.1}),  # within 2 % of others that agree
        ((1.0, 1.0, 1.0, 1.0, 10.21), {}),
        ((1.0, 1.02, 0.98, 1.01, 0.99, 10.74), {5: 0.1}),  # within 5 · 1.4826 · 0.01 of others that scatter
        ((1.0, 1.02, 0.98, 1.01, 0.99, 10.75), {}),
        ((1.0, 1.3, 0.7, 1.2, 0.8, 11.4), {5: 0.1}),  # within 15 % at most
        ((1.0, 1.3, 0.7, 1.2, 0.8, 11.6), {}),
    ],
)
def test_slips_of_a_decade_in_a_lot(values: tuple[float, ...], slips: dict[int, float]) -> None:
    assert decade_slips(np.array(values)) == slips


def test_every_pin_is_within_its_drawing() -> None:
    """Five to a row; the seventh begins a new one."""
    text = coil('{ diameter = "0.5 mm", grade = 2 }').replace('flange = "1 mm"', 'flange = "1 mm"\npins = 7')
    text = text.replace('name = "P"', 'name = "P"\nstart = "1"\nfinish = "7"')
    drawn = pins_svg(parse_design(text))
    width, height = map(float, re.search(r'viewBox="0 0 ([\d.]+) ([\d.]+)"', drawn).groups())  # type: ignore[union-attr]
    rings = [
        tuple(map(float, ring)) for ring in re.findall(r'<circle cx="([\d.]+)" cy="([\d.]+)" r="3"', drawn)
    ]
    assert len(rings) == 7
    assert len({y for _, y in rings}) == 2
    assert max(x for x, _ in rings) + 3 < width < max(x for x, _ in rings) + 12
    assert max(y for _, y in rings) + 3 < height


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({}, []),
        ({"cpk": 1.4, "cpk_lower": 1.2}, ["Cpk of 1.33 is not shown by 20 parts: at least 1.20."]),
        ({"cpk": 1.2, "cpk_lower": 0.9}, []),
        ({"cpk": 1.0, "cpk_lower": 0.8}, []),
        ({"cpk": 0.99, "cpk_lower": 0.8}, ["Cpk below 1: some of such parts will fall outside the limits."]),
        ({"process_deviation": 0.49e-6}, ["most of the scatter is that of reading, not of the parts."]),
        (
            {"score": 3.1, "standard_deviation": 5.1e-6, "process_deviation": 5e-6},
            ["the mean is off by +3.1 standard uncertainties and scatters as well"],
        ),
        ({"score": -3.1}, ["the mean is off by -3.1 standard uncertainties and scatters little"]),
        ({"score": 2.9}, []),
        ({"normality": 0.009}, ["not normal (p = 0.009)"]),
        ({"normality": 0.011}, []),
    ],
)
def test_what_is_said_of_one_reading_of_a_lot(change: dict[str, float], told: list[str]) -> None:
    usual = {"name": "L", "measure": "inductance", "n": 20, "score": 0.0, "outliers": ()}
    usual |= dict.fromkeys(("cpk", "cpk_lower", "drift", "normality", "batches"))
    usual |= {"standard_deviation": 1e-6, "process_deviation": 1e-6, "predicted_uncertainty": 10e-6}
    lot = SimpleNamespace(left_out=(), ordered_by="file")
    said = list(lot_view._remarks(lot, SimpleNamespace(**{**usual, **change})))  # type: ignore[arg-type]
    assert len(said) == len(told)
    assert all(sentence.startswith(start) for sentence, start in zip(said, told, strict=True))


def test_one_or_two_wires_in_hand_do_not_conduct() -> None:
    """One is three times as likely as two; no more, and never all."""
    strand = next(cause for cause in CATALOGUE if cause.name == "strand")
    for in_hand, expected in ((5, [(1.0, 3.0), (2.0, 1.0)]), (2, [(1.0, 3.0)])):
        design = parse_design(coil(f'{{ diameter = "0.3 mm", grade = 2, in_hand = {in_hand} }}'))
        found = strand.variants(design, "P")
        assert [(variant.amount, variant.weight) for variant in found] == expected


def test_frequencies_to_compute_at_are_one_hertz_to_one_gigahertz() -> None:
    assert frequency_range("1 Hz", "1 GHz") == (1.0, 1e9)
    for low, high in (("0.99 Hz", "1 kHz"), ("1 kHz", "1.01 GHz"), ("2 kHz", "1 kHz"), ("0 Hz", "1 kHz")):
        with pytest.raises(DesignError):
            frequency_range(low, high)


def test_two_causes_together_move_what_both_move() -> None:
    """Shifts and doubts add up, the anchor of the design counts once, two reversals are none."""

    def cause(name: str, shift: float, anchor: float, flips: float, doubt: float) -> SimpleNamespace:
        parts = {"shift": shift, "anchor": anchor, "flips": flips, "doubt": doubt}
        return SimpleNamespace(
            cause=SimpleNamespace(name=name),
            location="P",
            title=lambda _, node: f"{name} {node}",
            **{key: np.array([[0.0], [value]]) for key, value in parts.items()},
        )

    first, second = cause("gap", 0.3, 5.0, 1.0, 0.04), cause("turns", -0.1, 7.0, 1.0, 0.01)
    scene = SimpleNamespace(
        hypotheses=(first, second), design=None, background=SimpleNamespace(anchor=np.array([2.0]))
    )
    pair = SimpleNamespace(first=0, second=1, nodes=(1, 1))
    found = survivors._together(scene, pair, 0.25)  # type: ignore[arg-type]
    assert (found.cause, found.title, found.probability) == ("gap + turns", "gap 1, and turns 1", 0.25)
    told = [float(part[0]) for part in (found.shift, found.anchor, found.flips, found.doubt)]
    assert told == pytest.approx([0.2, 10.0, 0.0, 0.05])


def test_a_file_that_cannot_be_read_says_why_without_a_number(tmp_path: Path) -> None:
    with pytest.raises(DesignError) as caught:
        input_file(tmp_path / "none.csv")
    assert caught.value.faults[0].found == "no such file or directory"


def test_loops_of_lead_outs_are_even_in_the_logarithm() -> None:
    loop = next(cause for cause in CATALOGUE if cause.name == "lead-out")
    found = loop.variants(parse_design(SMALL), "P")
    amounts = [cast(float, variant.amount) for variant in found]
    assert amounts == pytest.approx([20e-9 * 15 ** (k / 6) for k in range(7)])
    assert {variant.weight for variant in found} == {1.0}
    assert [variant.design.winding("P").loop_inductance for variant in found] == pytest.approx(amounts)
