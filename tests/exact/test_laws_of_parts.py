"""Laws of halves, taps, resonances, repeats and slips on ideal readings, and what breaks them."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from aswound.compare.consistency.checks import part_checks, parts_of_joins
from aswound.compare.consistency.part import Check, PartReading, PartReadings
from aswound.predict import load_design
from aswound.predict.design import Bench, BenchTest, Member

pytestmark = pytest.mark.exact

L, LEAKAGE, C = 600e-6, 3e-6, 200e-12
"""An ideal part: L(open), Λ (S shorted), one capacitance that acts in both states."""


def item(
    measure: str, value: float, drive: str = "P", short: str = "", frequency: float = 1e4, **more: float
) -> PartReading:
    shorted = (Member(short),) if short else ()
    name = f"{measure} {drive} {short}".strip()
    test = BenchTest(name=name, measure=measure, drive=(Member(drive),), short=shorted, frequency=frequency)  # type: ignore[arg-type]
    return PartReading(test=test, value=value, uncertainty=1e-3 * abs(value), **more)  # type: ignore[arg-type]


def checks(*items: PartReading, **more: object) -> dict[str, Check]:
    readings = PartReadings(items=items, bench=Bench(), turning={"P": 1, "S": 1}, **more)  # type: ignore[arg-type]
    return {check.check: check for check in part_checks(readings)}


@pytest.mark.parametrize(("other", "holds"), [(0.10, True), (0.112, True), (0.15, False), (0.07, False)])
def test_halves_differ_by_their_length_only(other: float, holds: bool) -> None:
    found = checks(item("resistance", 0.10, "P1"), item("resistance", other, "P2"), halves=(("P1", "P2"),))
    assert found["halves alike"].holds is holds
    assert "halves alike" not in checks(item("resistance", 0.10, "P1"), item("resistance", 0.2, "P2"))


@pytest.mark.parametrize(("turns", "holds"), [(18.0, True), (17.0, False)])
def test_a_tap_reads_the_square_of_its_turns(turns: float, holds: bool) -> None:
    """Equal volts per turn: 0.5 V at the half, so that the permeability is the same."""
    half = item("inductance", L * (turns / 36) ** 2, "P1")
    half = PartReading(
        test=BenchTest(name="half", measure="inductance", drive=(Member("P1"),), frequency=1e4, level=0.5),
        value=half.value,
        uncertainty=half.uncertainty,
    )
    found = checks(half, item("inductance", L), taps=(("P1", "P", 0.5),))
    assert found["turns by inductance"].holds is holds
    doubt = math.hypot(1e-3, 1e-3, 0.003) / 2  # of both readings and at equal volts per turn; of a root half
    assert found["turns by inductance"].score == pytest.approx(math.log(turns / 18) / doubt, abs=1e-9)


@pytest.mark.parametrize(("acting", "holds"), [(1.0, True), (1.5, True), (5.0, False)])
def test_one_capacitance_in_both_states(acting: float, holds: bool) -> None:
    """f = 1/(2π √(LC)) open, with Λ and ``acting`` times C shorted."""
    found = checks(
        item("resonance", 1 / (2 * math.pi * math.sqrt(L * C))),
        item("resonance", 1 / (2 * math.pi * math.sqrt(LEAKAGE * C * acting)), short="S"),
        item("inductance", L),
        item("inductance", LEAKAGE, short="S"),
    )
    assert found["resonance pair"].holds is holds
    assert "200 pF acting" in found["resonance pair"].detail
    if acting == 1:
        assert found["resonance pair"].score == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize(("resistance", "holds"), [(1.0, True), (20.0, True), (60.0, False)])
def test_a_poor_quality_when_open(resistance: float, holds: bool) -> None:
    """ωL is 37.7 Ω."""
    found = checks(item("inductance", L), item("ac_resistance", resistance))
    assert found["quality of the open winding"].holds is holds
    assert (
        "quality of the open winding" in checks(item("inductance", L, short="S"), item("ac_resistance", 1.0))
    ) is False


def test_repeats_scatter_as_claimed_or_not() -> None:
    """Of χ² with ν degrees of freedom the score of the median is near 0; 3 times the claimed deviation, of
    ten readings, is beyond any chance."""
    usual = checks(item("inductance", L, repeats=10, scatter=1e-3 * L, claimed=1e-3 * L))["repeats"]
    assert usual.holds
    assert usual.score == pytest.approx(0.16, abs=0.05)  # s = u is the 56 % point of χ² with ν = 9
    wild = checks(item("inductance", L, repeats=10, scatter=3e-3 * L, claimed=1e-3 * L))["repeats"]
    assert not wild.holds
    assert checks(item("inductance", L, repeats=2, scatter=3e-3 * L, claimed=1e-3 * L))["repeats"].holds
    assert not checks(item("inductance", L, repeats=2, scatter=3.4e-3 * L, claimed=1e-3 * L))["repeats"].holds
    assert "repeats" not in checks(item("inductance", L, repeats=1, scatter=1.0, claimed=1e-3 * L))


def test_one_slip_that_mends_everything_is_named() -> None:
    sound = (
        item("inductance", 360e-6),
        item("inductance", 10e-6, "S"),
        item("inductance", 3.6e-6, short="S"),
        item("inductance", 0.1e-6, "S", short="P"),
    )
    assert "slip" not in checks(*sound)
    slipped = checks(*sound[:3], item("inductance", 0.1e-3, "S", short="P"))["slip"]
    assert not slipped.holds
    assert "inductance S P were a thousandth of the value in the file" in slipped.detail
    swapped = checks(item("inductance", 3.6e-6), sound[1], item("inductance", 360e-6, short="S"), sound[3])[
        "slip"
    ]
    assert "inductance P and inductance P S changed places" in swapped.detail


def test_contradictions_without_a_single_slip_are_not_explained_by_one() -> None:
    assert "slip" not in checks(item("resistance", -1.0, "P"), item("resistance", -1.0, "S"))


def test_halves_and_taps_follow_from_joins(tmp_path: Path) -> None:
    path = tmp_path / "halves.toml"
    path.write_text(
        """
[core]
shape = "ETD 34/17/11"
material = "MnZn 2300"
[bobbin]
wall = "1.1 mm"
flange = "1 mm"
[[winding]]
name = "P1"
wire = { diameter = "0.40 mm", grade = 2 }
[[winding]]
name = "S"
wire = { diameter = "0.60 mm", grade = 2 }
[[winding]]
name = "P2"
wire = { diameter = "0.40 mm", grade = 2 }
[[join]]
name = "P"
series = ["P1", "P2"]
[build]
steps = [
  { wind = "P1", turns = 18 },
  { tape = "0.06 mm", wraps = 3 },
  { wind = "S", turns = 6 },
  { tape = "0.06 mm", wraps = 3 },
  { wind = "P2", turns = 18 },
]
""",
        encoding="utf-8",
    )
    halves, taps = parts_of_joins(load_design(path))
    assert halves == (("P1", "P2"),)
    assert taps == (("P1", "P", 0.5), ("P2", "P", 0.5))
