"""Numbers in tables and sentences that the stored pages hold in their form alone, each by hand. Label:
exact; what is said in which case, unit."""

from __future__ import annotations

import math
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from scipy.stats import t as student
from small_design import SMALL

from aswound.cli import sweep
from aswound.cli.sweep import _connection
from aswound.cli.views import (
    budgets,
    catalogue,
    comparison,
    diagnosis,
    drawing_text,
    layers,
    proposed_limits,
    words,
)
from aswound.cli.views.drawing_bars import bars_under
from aswound.cli.views.page import Grid, Paragraph
from aswound.cli.views.raster import Axis
from aswound.cli.views.sheet import window_line
from aswound.cli.views.sweep import _sides
from aswound.cli.views.sweep_chart import ROWS, _labels
from aswound.compare.consistency.derived import link_of
from aswound.compare.lots.statistics import outliers
from aswound.compare.meter.budget import budget
from aswound.compare.plan.finished_checks import _pointed_at
from aswound.compare.plan.limits import _driver
from aswound.compare.plan.trade_offs import trade_off
from aswound.compare.verdict.scatter import Scatter
from aswound.predict import parse_design
from aswound.predict.catalogue import load_catalogue
from aswound.predict.quantity import format_quantity, parse_quantity
from aswound.predict.winding import lay_out

pytestmark = pytest.mark.exact


def test_a_component_is_told_at_two_standard_uncertainties() -> None:
    """3 µH and 4 µH of 50 µH: 12 % and 16 %, 36 % and 64 % of the variance of 10 µH together."""
    (grid,) = budgets.budget_table(budget((("link", 3e-6), ("meter", 4e-6))), 50e-6, "inductance")
    assert isinstance(grid, Grid)
    rows = {row[0]: row[1:] for row in grid.rows}
    assert rows["meter"] == ("8.0 µH", "16 %", "64 %")
    assert rows["link"] == ("6.0 µH", "12 %", "36 %")
    assert rows["together"][:2] == ("10 µH", "20 %")


def test_components_are_named_from_a_fifth_of_all_together() -> None:
    """Of 10 µH: 2.5 µH is named, 1.5 µH is not."""
    parts = (("meter", math.sqrt(100 - 2.5**2 - 1.5**2) * 1e-6), ("link", 2.5e-6), ("leads", 1.5e-6))
    line = budgets.budget_line(budget(parts), 1e-3, "inductance")
    assert "link" in line
    assert "leads" not in line


def test_half_of_a_range_is_told() -> None:
    assert _sides(100.0, 90.0, 110.0) == "10 %"
    assert _sides(100.0, 90.0, 140.0) == "+40 % −10 %"


def test_materials_are_told_with_their_tolerance() -> None:
    rows = {row["name"]: row for row in catalogue.rows(load_catalogue(), "materials")}
    (name, row), *_ = rows.items()
    grid = next(part for part in catalogue.view("materials", [row]) if isinstance(part, Grid))
    (material,) = (item for item in load_catalogue().materials.values() if item.name == name)
    assert grid.rows[0][2] == f"±{round(100 * material.tolerance)} %"


@pytest.mark.parametrize(
    ("probability", "told"),
    [(0.004, "< 1 %"), (0.006, "1 %"), (0.03, "3 %"), (0.99, "99 %"), (0.996, "> 99 %")],
)
def test_a_probability_is_rounded_to_a_per_cent(probability: float, told: str) -> None:
    assert words.per_cent(probability) == told


def test_turns_of_all_layers_are_the_turns_of_the_winding() -> None:
    design = parse_design(SMALL)
    grid = next(part for part in layers.layers_view(design, lay_out(design)) if isinstance(part, Grid))
    of, turns = (grid.columns.index(name) for name in ("winding", "turns"))
    for name, wound in (("P", 30), ("S", 9)):
        assert sum(int(row[turns]) for row in grid.rows if row[of] == name) == wound


def test_the_gain_of_a_limit_is_a_part() -> None:
    limits = SimpleNamespace(minimum=None, maximum=None, driver="gap", gain=0.1234, at_bench=False)
    test: Any = SimpleNamespace(name="L", proposed=limits, measure="inductance")
    assert proposed_limits.limits_csv([test]).splitlines()[1].endswith(",gap,0.123")


def test_a_reading_holds_from_the_lower_to_the_higher_frequency() -> None:
    test: Any = SimpleNamespace(window=SimpleNamespace(lowest=20e3, highest=700e3, empty=False))
    assert window_line(test) == "Holds within 1 % from 20 kHz (short effective) to 700 kHz (capacitance)."


def test_the_temperature_at_which_a_resistance_was_typed() -> None:
    test = SimpleNamespace(label="", name="R_P", as_typed=1.234, typed_at=23.5)
    sample: Any = SimpleNamespace(tests=[test])
    (told,) = comparison._as_typed(sample)
    assert isinstance(told, Paragraph)
    assert "at 23.5 °C" in told.text


def test_what_is_left_of_the_probability_is_told_from_half_a_per_cent_on() -> None:
    """Of 96 + 2 % two per cent are left; of 96 + 3.7 % nothing that is worth a row."""
    for second, left in ((0.02, ["2 %"]), (0.037, [])):
        causes = [
            SimpleNamespace(probability=size, cause=f"c{size}", where="P", title=f"t{size}", also=None)
            for size in (0.96, second)
        ]
        found: Any = SimpleNamespace(causes=causes, unlisted=0.0, as_designed=0.0)
        grid, _ = diagnosis._ranking(found, 9)
        assert isinstance(grid, Grid)
        assert [row[0] for row in grid.rows if row[2] == "all others together"] == left


def test_a_range_has_its_own_scatter_at_each_end() -> None:
    """Two above and one below: 10 − 1.96 to 10 + 3.92."""
    fields = {"above": np.array([2.0]), "below": np.array([1.0])}
    low, high = Scatter.range_around(SimpleNamespace(**fields), 0, 10.0)  # type: ignore[arg-type]
    assert (low, high) == pytest.approx((10 - 1.96, 10 + 3.92), abs=1e-3)


@pytest.mark.parametrize(("part", "found"), [(0.97, 0), (1.03, 1)])
def test_an_outlier_lies_beyond_what_one_lot_in_a_hundred_shows(part: float, found: int) -> None:
    """Nine readings, median 0, half of them within 1: scale 1.4826, Student's t of 8 degrees of freedom at
    0.01/18 on each side, and a third more for nine readings."""
    limit = 1.4826 * float(student.ppf(1 - 0.01 / 18, 8)) * (1 + 1 / 3)
    values = np.array([-2.0, -1.5, -1.0, -0.5, 0.0, 0.5, 1.0, 1.5, part * limit])
    assert float(np.median(np.abs(values))) == 1.0
    assert len(outliers(values)) == found


def test_the_largest_gain_is_told_first() -> None:
    told = trade_off([(-0.2, "leakage"), (-0.7, "copper"), (0.1, "joint"), (0.5, "height")])
    places = [told.index(text) for text in ("copper", "leakage", "height", "joint")]
    assert places == sorted(places)


def test_half_of_the_largest_scatter_narrows_a_limit_by_its_share_of_the_variance() -> None:
    """Four fifths of the variance, halved: √(0.2 + 0.8/4) = 0.632 of the scatter of 3 × 2, in a half width of
    10: 22 % less."""
    production: Any = SimpleNamespace(
        standard_uncertainty=np.array([2.0]), drivers=[[SimpleNamespace(parameter="gap", share=0.8)]]
    )
    name, at_bench, gain = _driver(production, 0, budget(()), 3.0, 10.0)
    assert (name, at_bench) == ("gap", False)
    assert gain == pytest.approx(0.6 * (1 - math.sqrt(0.4)))


def test_the_link_is_known_to_half_of_its_tolerance() -> None:
    """8 nH ± 25 % (k = 2): 1 nH."""
    bench = SimpleNamespace(short_inductance=8e-9, short_inductance_tolerance=0.25)
    readings: Any = SimpleNamespace(bench=bench)
    assert link_of(readings) == pytest.approx((8e-9, 1e-9))


def test_bars_are_as_high_as_their_ampere_turns() -> None:
    """6 A and −2 A share eight rows: six above the line, two below it."""
    function: Any = SimpleNamespace(
        positions=np.array([0.0, 1.0, 1.0, 2.0]), values=np.array([6.0, 6.0, -2.0, -2.0])
    )
    lines = bars_under(function, Axis((0.0, 2.0), (0, 4), True), 8, 0)
    assert [line[8:].rstrip() for line in lines] == ["", *["██"] * 6, "────", *["  ██"] * 2]


def test_the_middle_of_a_logarithmic_axis_is_the_geometric_mean() -> None:
    """Of 1 ohm and 10 kohm 100 ohm, within the half row between the row's middle and the axis'."""
    at = sorted(_labels(1.0, 1e4, True, "ohm").items())
    assert [at[0][1], at[2][1]] == [format_quantity(1e4, "ohm", 3), format_quantity(1.0, "ohm", 3)]
    middle = parse_quantity(at[1][1], "resistance")
    assert 100 / 1e4 ** (0.6 / ROWS) < middle < 100 * 1e4 ** (0.6 / ROWS)


def test_a_connection_is_swept_at_one_volt() -> None:
    assert _connection(parse_design(SMALL), "P", None, None, None, None).level == 1.0
    assert _connection(parse_design(SMALL), "P", None, None, None, "0.5 V").level == 0.5


def test_random_builds_of_a_sweep_are_those_of_the_stated_seed(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    path = tmp_path / "small.toml"
    path.write_text(SMALL)
    seen: list[Any] = []

    def computed(*given: Any) -> Any:
        seen.extend(given[2:])
        raise KeyboardInterrupt

    monkeypatch.setattr(sweep, "_computed", computed)
    with pytest.raises(KeyboardInterrupt):
        sweep.sweep_command(path, drive="P", low="2 kHz", high="3 MHz", points=50, builds=200, seed=7)
    assert seen == [(2e3, 3e6, 50), 200, 7, None]


def test_a_drawing_of_letters_states_its_scale(monkeypatch: pytest.MonkeyPatch) -> None:
    """20 mm in 40 columns, 30 mm in 15 rows."""
    monkeypatch.setattr(drawing_text, "piece_names", lambda _: {})
    monkeypatch.setattr(drawing_text, "gap_text", lambda _: "")
    section: Any = SimpleNamespace(width=20e-3, height=30e-3, layout=SimpleNamespace(sections=()))
    columns, rows = (SimpleNamespace(count=count, faithful=True) for count in (40, 15))
    frame: Any = SimpleNamespace(columns=columns, rows=rows)
    assert "a column is 0.5 mm, a row 2 mm on average" in drawing_text._key(section, frame, 90)


def test_a_limit_points_to_the_likeliest_first() -> None:
    """Two causes that lift a reading alike, one nine times as likely as the other; one that lowers it."""
    design = parse_design(SMALL)
    background: Any = SimpleNamespace(nominal=np.zeros(1), covariance=np.eye(1) * 1e-4, anchor=np.zeros(1))
    planned: Any = SimpleNamespace(measure="inductance", expected=1.0, measurement_uncertainty=0.01)

    def cause(title: str, shift: float) -> Any:
        return SimpleNamespace(
            shift=np.array([[shift]]), weights=np.ones(1), location="P", title=lambda *_: title
        )

    weighed = [(cause("rare", 0.5), 0.1), (cause("common", 0.5), 0.9), (cause("lower", -0.5), 0.9)]
    assert _pointed_at(design, planned, 0, background, weighed, 1.2, 1) == ("common", "rare")
