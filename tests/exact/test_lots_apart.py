"""What is left out of a lot, and two lots against each other. Labels: exact, property, published, cli."""

import json
import math
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from aswound.cli.main import main
from aswound.cli.views.comparison import comparison_sentence
from aswound.compare.lots import lot, two_lots
from aswound.compare.lots.left_out import decade_slips
from aswound.compare.lots.statistics import two_sided_factor
from aswound.compare.readings import Reading, readings_from_options
from aswound.compare.verdict import compare
from aswound.predict import load_design, readings

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
    from dataclasses import replace

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
    from dataclasses import replace

    narrow = replace(DESIGN.tests[0], minimum=590.8e-6, maximum=591.2e-6)
    design = replace(DESIGN, tests=(narrow, *DESIGN.tests[1:]))
    (sample,) = compare(design, readings_from_options(["L_P=591uH", "R_P=562mohm"], design))
    assert sample.tests[0].verdict == "undecided"
    assert not sample.tests[0].testable
    sentence = comparison_sentence(sample)
    assert "limits that this bench cannot test: L_P" in sentence
    assert "undecided" not in sentence
