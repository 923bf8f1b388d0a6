"""What is left out of a lot, and two lots against each other. Labels: exact, property, published, cli."""

import json
import math
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats
from small_design import SMALL

from aswound.cli.main import main
from aswound.cli.views.comparison import comparison_sentence
from aswound.compare.lots import LotTest, explain_together, lot, two_lots
from aswound.compare.lots.left_out import decade_slips
from aswound.compare.lots.lot_pair import _difference, _moved
from aswound.compare.lots.pooling import PooledLot, lot_of
from aswound.compare.lots.statistics import two_sided_factor
from aswound.compare.lots.strangers import Stranger, strangers
from aswound.compare.lots.summary import _Column, _Expected, _random_part, _test
from aswound.compare.readings import Reading, readings_from_options
from aswound.compare.verdict import ReadSample, compare
from aswound.predict import load_design, parse_design, readings
from aswound.predict.design import BenchTest, Member

SAMPLE = Path(__file__).parents[2] / "samples" / "flyback-24w.toml"
DESIGN = load_design(SAMPLE)
UNITS = {"inductance": "H", "resistance": "ohm", "ratio": ""}
NAMES = ("L_P", "Lk_P", "Lk_S", "n", "R_P", "R_S")


def made(seed: int, parts: int = 10, **factors: float) -> list[Reading]:
    """A lot with the design's means, each reading 0.2 % scattered, one part's core 1 %."""
    random = np.random.default_rng(seed)
    means = dict(zip((test.name for test in DESIGN.tests), readings(DESIGN), strict=True))
    found = []
    for part in range(1, parts + 1):
        core = 1 + 0.01 * random.standard_normal()
        for name in NAMES:
            own = 1 + (2e-3 if name != "n" else 2e-4) * random.standard_normal()
            value = float(means[name]) * own * factors.get(name, 1.0) * (core if name == "L_P" else 1.0)
            found.append(Reading(sample=f"N{part:02d}", test=name, value=value))
    return found


def with_value(items: list[Reading], sample: str, test: str, factor: float) -> list[Reading]:
    return [
        replace(item, value=item.value * factor) if (item.sample, item.test) == (sample, test) else item
        for item in items
        if item.value is not None
    ]


@pytest.mark.parametrize("factor", [10.0, 0.1, 1e3, 1e-3, 1e-6])
def test_a_slip_is_left_out_and_said(factor: float) -> None:
    """Exact: mean and deviation are those of the nine others."""
    sound = made(1)
    slipped = lot(DESIGN, with_value(sound, "N04", "L_P", factor))
    test = next(test for test in slipped.tests if test.name == "L_P")
    others = [item.value for item in sound if item.test == "L_P" and item.sample != "N04"]
    assert test.n == 9
    assert test.missing == 0
    assert test.mean == pytest.approx(np.mean(others), rel=1e-12)
    assert test.standard_deviation == pytest.approx(np.std(others, ddof=1), rel=1e-12)
    assert test.tolerance_low is not None
    assert test.tolerance_low > 0.8 * test.mean
    assert [(item.sample, item.test) for item in slipped.left_out] == [("N04", "L_P")]
    assert slipped.deviates


def test_no_interval_reaches_below_zero_where_no_part_does() -> None:
    """Two parts that differ by a third: m - k s is far below zero, which no resistance is. A phase may be."""
    plain = zip((test.name for test in DESIGN.tests), readings(DESIGN), strict=True)
    found = [
        Reading(sample=f"N{factor}", test=name, value=float(value) * factor)
        for name, value in plain
        for factor in (0.8, 1.1)
    ]
    ends = {test.name: test.tolerance_low for test in lot(DESIGN, found).tests}
    assert ends.pop("dot_S") == pytest.approx(
        float(readings(DESIGN)[-1]) * (0.95 - two_sided_factor(2) * 0.3 / math.sqrt(2)), rel=1e-9
    )
    assert {name: end for name, end in ends.items() if end is not None} == dict.fromkeys(
        ("L_P", "Lk_S", "n", "n_AUX", "R_P", "R_S"), 0.0
    )


def test_a_stranger_is_left_out_of_all_its_tests() -> None:
    items = made(2)
    for name, factor in (("L_P", (61 / 60) ** 2), ("Lk_P", (61 / 60) ** 2), ("n", 61 / 60), ("R_P", 61 / 60)):
        items = with_value(items, "N07", name, factor)
    found = lot(DESIGN, items)
    assert [(item.sample, item.test) for item in found.left_out] == [("N07", "")]
    assert {test.n for test in found.tests} == {9}


def test_a_sound_lot_keeps_all() -> None:
    found = lot(DESIGN, made(3))
    assert found.left_out == ()
    assert {test.n for test in found.tests} == {10}


@given(st.lists(st.floats(0.9, 1.1), min_size=5, max_size=20), st.sampled_from([10.0, 0.1, 1e3, 1e-3]))
def test_a_decade_is_found_wherever_it_stands(values: list[float], factor: float) -> None:
    """Property: of readings within 10 %, one multiplied by a decade is the slip, and the only one."""
    for place in (0, len(values) - 1):
        slipped = np.array(values)
        slipped[place] *= factor
        assert list(decade_slips(slipped)) in ([place], [])
    tight = np.full(8, 3.3)
    tight[5] *= factor
    assert decade_slips(tight) == {5: pytest.approx(1 / factor)}


def test_a_build_fault_by_a_factor_is_no_slip() -> None:
    assert decade_slips(np.array([1.0, 1.01, 0.99, 1.0, 5.7])) == {}
    assert decade_slips(np.array([1.0, 1.0, 10.0])) == {}  # too few to tell


# --- two lots ---------------------------------------------------------------------------------------


def test_two_lots_that_are_alike_do_not_differ() -> None:
    found = two_lots(DESIGN, made(4), made(5))
    assert not any(item.differs for item in found.differences)


def test_the_difference_is_welchs() -> None:
    """Published: Welch's t with its degrees of freedom, against scipy's own implementation."""
    first, second = made(6), made(7, parts=7, R_P=1.003)
    found = two_lots(DESIGN, first, second)
    (row,) = [item for item in found.differences if item.name == "R_P"]
    a = [item.value for item in first if item.test == "R_P"]
    b = [item.value for item in second if item.test == "R_P"]
    assert row.p == pytest.approx(stats.ttest_ind(b, a, equal_var=False).pvalue, rel=1e-9)
    assert row.relative == pytest.approx(np.mean(b) / np.mean(a) - 1, rel=1e-9)


def test_the_scatter_of_a_mean_goes_with_the_root_of_the_parts() -> None:
    """By hand, 103 read where 90 is expected: score = gap/√(e² + (u² − r²) + s²/n): 4 parts, s² = 20/3."""
    values = np.array([100.0, 102.0, 104.0, 106.0])
    column = _Column(values, np.full(4, 5.0), np.arange(4.0))
    parts = [SimpleNamespace(sample=name, batch="") for name in "ABCD"]
    test = BenchTest(name="L", measure="inductance", drive=(Member("P"),))
    found = _test(
        test, cast(list[ReadSample], parts), column, _Expected(90.0, 2.0, 86.0, 94.0), 3.0, "simple", ()
    )
    assert found.standard_deviation == pytest.approx(math.sqrt(20 / 3))
    assert found.process_deviation == 0.0  # less than one reading scatters by itself
    assert found.score == pytest.approx(13 / math.sqrt(2**2 + (5**2 - 3**2) + 20 / 3 / 4))


def test_the_random_part_is_that_of_a_mean_of_repeats() -> None:
    """By hand: variances 1 and 4 of three readings each pool to 2.5; a mean of three has a third of it."""
    repeats = [
        Reading(sample=sample, test="L_P", value=value)
        for sample, values in (("A", (1.0, 2.0, 3.0)), ("B", (2.0, 4.0, 6.0)))
        for value in values
    ]
    tests = [test for test in DESIGN.tests if test.name == "L_P"]
    (found,) = _random_part(DESIGN, tests, repeats, np.array([[2.0], [4.0]]))
    assert found == pytest.approx(math.sqrt(2.5 / 3))


def test_one_per_cent_by_chance_is_shared_among_the_tests() -> None:
    """p of 0.4 %: a difference of one test alone, none of one among six."""
    first, second = (
        SimpleNamespace(name="L", measure="inductance", unit="H", n=10, standard_deviation=1.0, mean=mean)
        for mean in (100.0, 101.46)
    )
    alone, one_of_six = (_difference(cast(LotTest, first), cast(LotTest, second), tests) for tests in (1, 6))
    p = float(stats.ttest_ind_from_stats(100.0, 1.0, 10, 101.46, 1.0, 10, equal_var=False).pvalue)
    assert 0.01 / 6 < p < 0.01
    assert alone.p == one_of_six.p == pytest.approx(p, rel=1e-9)
    assert (alone.differs, one_of_six.differs) == (True, False)


def test_a_second_lot_is_moved_as_the_first_onto_its_prediction() -> None:
    """By hand: A reads 612 where 600 is predicted, so B's 620 ± 5 becomes 607.8 ± 4.9; phases by their
    difference."""
    coil = SimpleNamespace(measure="inductance", predicted=600.0, mean=612.0)
    moved = _moved(Reading(sample="B1", test="L", value=620.0, uncertainty=5.0), cast(LotTest, coil))
    assert (moved.value, moved.uncertainty) == pytest.approx((620 * 600 / 612, 5 * 600 / 612))
    angle = SimpleNamespace(measure="phase", predicted=0.02, mean=0.05)
    moved = _moved(Reading(sample="B1", test="dot", value=0.06, uncertainty=0.01), cast(LotTest, angle))
    assert (moved.value, moved.uncertainty) == pytest.approx((0.03, 0.01))


@pytest.mark.parametrize(("parts", "bound"), [(4, 1e-3), (40, 1e-3), (200, 0.05 / 200)])
def test_a_part_is_examined_from_one_in_a_thousand_on_and_one_in_twenty_lots(
    parts: int, bound: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The smaller chance of both; three readings each."""

    def seen(chances: tuple[float, ...]) -> list[Stranger]:
        none = np.zeros(3)
        return [
            Stranger(row, np.arange(3), float(stats.chi2.isf(chance, 3)), none, np.eye(3))
            for row, chance in enumerate(chances)
        ]

    here = seen((2 * bound, 0.9 * bound, 0.5, 1.1 * bound))
    monkeypatch.setattr("aswound.compare.lots.strangers.seen_by_others", lambda *_: here)
    pooled = SimpleNamespace(signs=np.ones((parts, 3)), residual=np.zeros((parts, 3)))
    assert [item.row for item in strangers(cast(PooledLot, pooled), np.ones(parts, bool))] == [1]


def test_few_parts_have_to_differ_by_more(monkeypatch: pytest.MonkeyPatch) -> None:
    """Said from a factor of 1.2 + 3/√n on: 2.7 of four parts."""
    design = parse_design(SMALL)
    means = dict(zip((test.name for test in design.tests), readings(design), strict=True))
    parts = [
        Reading(sample=sample, test=name, value=float(means[name]) * factor)
        for sample, factor in (("A", 1.0), ("B", 1.001), ("C", 0.999), ("D", 1.0))
        for name in ("L_P", "n")
    ]

    def scattered(*given: Any) -> PooledLot:
        return replace(lot_of(*given), excess=np.array([2.69, 2.71]))

    monkeypatch.setattr("aswound.compare.lots.shared_causes.lot_of", scattered)
    assert explain_together(design, parts, doubles=False).scatter == (("n", 2.71),)


def test_what_both_lots_share_cancels_and_what_one_has_is_named() -> None:
    """Both are 4 % off in leakage (the model, the link); the second has primaries with a turn more."""
    shared = {"Lk_P": 1.04, "Lk_S": 1.04}
    turn = 61 / 60
    own = {"L_P": turn**2, "Lk_P": 1.04 * turn**2, "n": turn, "R_P": turn}
    found = two_lots(DESIGN, made(8, **shared), made(9, **{**shared, **own}))
    assert {item.name for item in found.differences if item.differs} >= {"L_P", "n", "R_P"}
    assert found.cause is not None
    assert (found.cause.shared[0].cause, found.cause.shared[0].where) == ("turns", "P")


def written(path: Path, items: list[Reading]) -> Path:
    unit = {test.name: UNITS[test.measure] for test in DESIGN.tests if test.name in NAMES}
    rows = [f"{item.sample},{item.test},{item.value!r} {unit[item.test]}".rstrip() for item in items]
    path.write_text("\n".join(["sample,test,reading", *rows, ""]), encoding="utf-8")
    return path


def test_two_files_at_the_command_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    files = [written(tmp_path / "old.csv", made(4)), written(tmp_path / "new.csv", made(5, R_P=1.02))]
    arguments = ["lot", str(SAMPLE), *map(str, files)]
    assert main(arguments) == 1
    shown = capsys.readouterr().out
    assert "they differ in R_P" in " ".join(shown.split())
    assert main([*arguments, "--json"]) == 1
    data = json.loads(capsys.readouterr().out)
    assert data["samples"] == 20
    assert [lot["samples"] for lot in data["lots"]] == [10, 10]
    assert [row["name"] for row in data["differences"] if row["differs"]] == ["R_P"]


# --- limits that cannot be tested -------------------------------------------------------------------


def test_a_limit_that_the_bench_cannot_test_leaves_the_part_decided() -> None:
    narrow = replace(DESIGN.tests[0], minimum=590.8e-6, maximum=591.2e-6)
    design = replace(DESIGN, tests=(narrow, *DESIGN.tests[1:]))
    (sample,) = compare(design, readings_from_options(["L_P=591uH", "R_P=562mohm"], design))
    assert sample.tests[0].verdict == "undecided"
    assert not sample.tests[0].testable
    sentence = comparison_sentence(sample)
    assert "limits that this bench cannot test: L_P" in sentence
    assert "undecided" not in sentence
