"""Default tolerances against the data sheets and standards that they are taken from."""

from __future__ import annotations

import math
from dataclasses import fields
from pathlib import Path

import pytest

from aswound.predict import parse_design
from aswound.predict.cores.magnetizing import MU_0
from aswound.predict.design import Core, EDimensions, Material, RoundDimensions, Spread, Wire
from aswound.predict.production.defaults import TABLE, al_deviation, bound_text, wire_deviation

pytestmark = pytest.mark.published

STEPS = (3, 5, 8, 10, 15, 25)
"""± bounds (%) in which data sheets state AL."""
MM = 1e-3
E42 = EDimensions(
    leg_width=11.95 * MM,
    leg_depth=14.9 * MM,
    window_width=9.125 * MM,
    window_height=30.2 * MM,
    outer_leg=5.975 * MM,
    back=5.9 * MM,
    outer_depth=14.9 * MM,
)
RM8 = RoundDimensions(
    leg_diameter=8.4 * MM,
    window_diameter=17.3 * MM,
    length=23 * MM,
    depth=11 * MM,
    window_height=11 * MM,
    back=2.7 * MM,
)


def ferrite_set(name: str, al: float, gap: float, ungapped: float) -> Core:
    """The sheet's set: its Ae, le and gap, the permeability from its own ungapped AL (nH)."""
    dimensions, area, length = (RM8, 63e-6, 38.4 * MM) if name == "RM 8" else (E42, 178e-6, 97 * MM)
    material = Material(name="ferrite", initial_permeability=ungapped * 1e-9 * length / area / MU_0)
    return Core(
        name=name,
        dimensions=dimensions,
        material=material,
        effective_area=area,
        effective_length=length,
        gap=gap * 1e-6,
        al=al * 1e-9,
        face_gap=0.0,
    )


@pytest.mark.parametrize(
    ("name", "ungapped", "al", "gap", "tolerance"),
    [
        ("E 42/21/15", 3950, 100, 3960, 5),
        ("E 42/21/15", 3950, 160, 2060, 5),
        ("E 42/21/15", 3950, 250, 1140, 5),
        ("E 42/21/15", 3950, 315, 850, 5),
        ("E 42/21/15", 3950, 400, 630, 8),
        ("E 42/21/15", 3950, 630, 360, 15),
        ("E 42/21/15", 3950, 3950, 0, 25),
        ("RM 8", 3300, 100, 1100, 3),
        ("RM 8", 3300, 160, 610, 3),
        ("RM 8", 3300, 250, 360, 3),
        ("RM 8", 3300, 315, 270, 3),
        ("RM 8", 3250, 400, 200, 3),
        ("RM 8", 3250, 630, 115, 5),
        ("RM 8", 3250, 1000, 65, 10),
        ("RM 8", 3300, 3300, 0, 25),
    ],
)
def test_al_tolerance_follows_the_gap_as_on_the_sheets(
    name: str, ungapped: float, al: float, gap: float, tolerance: int
) -> None:
    """Ferroxcube data sheets E42/21/15 and RM8/I, 1 Sep 2008: the rule's bound lies nearest to the sheet's
    step. Two constants and two floors are fitted to these fifteen rows."""
    bound = 200 * al_deviation(ferrite_set(name, al, gap, ungapped))
    assert min(STEPS, key=lambda step: abs(math.log(step / bound))) == tolerance


@pytest.mark.parametrize(
    ("diameter", "bound"),
    [
        *((0.1, 3), (0.125, 3), (0.16, 3), (0.2, 3), (0.25, 4), (0.315, 4), (0.355, 4), (0.4, 5)),
        *((0.5, 5), (0.56, 6), (0.63, 6), (0.71, 7), (0.8, 8), (1.0, 10), (2.0, 20)),
    ],
)
def test_bare_diameters_stray_as_the_standard_allows(diameter: float, bound: float) -> None:
    """IEC 60317-0-1, bare diameter (mm) and ± bound (µm), from memory: to half a micrometre."""
    wire = Wire(kind="round", diameter=diameter * MM, overall=1.1 * diameter * MM)
    assert 2 * wire_deviation(wire) * diameter * 1e3 == pytest.approx(bound, abs=0.51)


def markdown_table() -> str:
    """The table of all defaults for the guide, as ± bounds that hold 95 % of production (k = 2)."""
    lines = ["| `[spread]` | ± | what varies | source |", "| --- | --- | --- | --- |"]
    for entry in TABLE:
        lines.append(f"| `{entry.key}` | {bound_text(entry)} | {entry.varies} | {entry.source} |")
    return "\n".join(lines)


def test_the_table_for_users_is_the_one_in_the_code() -> None:
    page = (Path(__file__).parents[2] / "cli" / "guide" / "tolerances.md").read_text(encoding="utf-8")
    assert markdown_table() in page


def test_every_key_has_its_row() -> None:
    assert {entry.key for entry in TABLE} - {
        "model_leg_share",
        "model_together",
        "model_weak_curve",
        "model_weak_field",
    } == {item.name for item in fields(Spread)}


@pytest.mark.parametrize(
    ("material", "bound"),
    [("sendust 60", 8.0), ("iron powder 75", 10.0), ("MnZn 2300", 25.0), ("NiZn 125", 20.0)],
)
def test_an_ungapped_set_varies_as_its_grade(material: str, bound: float) -> None:
    """Makers state AL of a powder core to ±8 % (common practice), that of an ungapped ferrite set to ±25 %:
    what the permeability varies by. AL of a powder core without a tolerance was taken as ±25 %."""
    text = f"""
[core]
material = "{material}"
[core.dimensions]
form = "toroid"
outer_diameter = "22.9 mm"
inner_diameter = "14 mm"
height = "7.6 mm"
[[winding]]
name = "W"
wire = {{ diameter = "0.6 mm", grade = 1 }}
[build]
steps = [{{ wind = "W", turns = 24 }}]
"""
    core = parse_design(text).core
    assert 200 * al_deviation(core) == pytest.approx(bound)
