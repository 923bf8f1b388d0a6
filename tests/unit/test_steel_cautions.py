"""What is said of steel under a direct current, and of the joints of its stack."""

from __future__ import annotations

import re

import pytest

from aswound.compare.causes import CATALOGUE
from aswound.predict import Design, parse_design
from aswound.predict.circuit import core_cautions
from aswound.predict.cores import remanent_ratio


def choke(core: str, test: str) -> Design:
    return parse_design(f"""
[core]
shape = "EI 66"
material = "silicon steel GO 0.30"
{core}
[bobbin]
wall = "1.5 mm"
flange = "1.5 mm"
[[winding]]
name = "P"
wire = {{ diameter = "0.12 mm", grade = 2 }}
[build]
steps = [{{ wind = "P", turns = 2400 }}]
[[test]]
name = "L"
measure = "inductance"
drive = "P"
frequency = "120 Hz"
{test}
""")


def said(design: Design) -> str:
    return " ".join((*design.cautions, *core_cautions(design)))


def test_level_and_direct_current_together_were_never_measured() -> None:
    both = said(choke("", 'level = "5 V"\nbias = "3 mA"'))
    assert "the direct current alone takes the permeability to ×" in both
    assert "has not been measured for any grade" in both
    assert "has not been measured for any grade" not in said(choke("", 'level = "5 V"'))
    assert "has not been measured for any grade" not in said(choke("", 'level = "1 mV"\nbias = "3 mA"'))


def test_closed_steel_remembers() -> None:
    assert "remanence" in said(choke("", 'bias = "3 mA"'))
    assert "remanence" not in said(choke('gap = "0.2 mm"', 'bias = "3 mA"'))
    assert "remanence" not in said(choke("", ""))


def test_joints_decide_how_much_it_remembers() -> None:
    """3 µm a joint shear the loop of oriented steel from 1.3 T to 0.2 T, a stack without joints keeps all of
    it, butted joints next to nothing."""
    bias = 'bias = "3 mA"'
    assert "up to 0.2 T in this core (1.3 T without its joints)" in said(choke("", bias))
    assert "up to 1.3 T in this core." in said(choke('face_gap = "0 um"', bias))
    assert "up to 0.02 T in this core (1.3 T without its joints)" in said(choke('face_gap = "30 um"', bias))


def magnetized(design: Design) -> tuple[float, float]:
    """(remanent, demagnetized) reading of L (H) as the caution says it."""
    found = re.search(r"L down to ([\d.]+) (m?)H instead of ([\d.]+) (m?)H", said(design))
    assert found is not None
    low, milli, high, also = found.groups()
    return float(low) * (1e-3 if milli else 1), float(high) * (1e-3 if also else 1)


def test_the_range_from_remanent_to_demagnetized() -> None:
    """Without joints the reading falls as Gans's law says of 1.3 of 2.0 T (in weak fields nearly in
    proportion to the permeability); with 3 µm a joint by less than 2 %, and nothing is said."""
    weak = 'level = "20 mV"'
    low, high = magnetized(choke('face_gap = "0 um"', weak))
    ratio = float(remanent_ratio(choke('face_gap = "0 um"', weak).core))
    assert 0.30 < ratio < 0.34
    assert low / high == pytest.approx(ratio, rel=0.03)
    assert "switch-off" in said(choke('face_gap = "0 um"', weak))
    assert "switch-off" not in said(choke("", weak))
    assert "switch-off" not in said(choke('face_gap = "0 um"', 'level = "400 V"'))  # wiped out by the test


def test_known_causes_reach_as_far_as_remanence() -> None:
    """The cause reaches down to what remanence leaves; below that only a bias is named."""
    cause = next(cause for cause in CATALOGUE if cause.name == "bias")
    deep = cause.variants(choke('face_gap = "0 um"', ""), "core")
    assert deep[0].amount == pytest.approx(float(remanent_ratio(choke('face_gap = "0 um"', "").core)))
    assert "a bias or remanence" in deep[0].title
    jointed = cause.variants(choke("", ""), "core")
    assert jointed[0].amount == pytest.approx(0.4)
    assert all("remanence" not in variant.title for variant in jointed)


def test_an_ohmmeter_leaves_the_core_magnetized() -> None:
    direct = '\n[[test]]\nname = "R"\nmeasure = "resistance"\ndrive = "P"'
    assert "R: the ohmmeter's direct current leaves the core magnetized" in said(choke("", direct))
    assert "windings may then read less, by no more than 2 % here" in said(choke("", direct))
    assert "L down to" in said(choke('face_gap = "0 um"', direct))
    for core, test in (('gap = "0.2 mm"', direct), ("", "")):
        assert "ohmmeter" not in said(choke(core, test))


def test_the_range_of_a_reading_under_both_holds_a_factor() -> None:
    """Level and direct current together: the range is much wider than that of the level alone."""
    from aswound.predict import spread

    design = choke("", 'level = "5 V"\nbias = "3 mA"')
    alone = choke("", 'level = "5 V"')
    wide, narrow = (
        float(found.high[0] / found.low[0]) for found in (spread(design, 200), spread(alone, 200))
    )
    assert wide > 1.5 * narrow


def test_joints_of_a_stack_are_asked_for() -> None:
    assert "sheets stacked crosswise" in said(choke("", ""))
    assert "With butted joints (30 µm)" in said(choke("", ""))
    for stated in ('face_gap = "20 um"', 'gap = "0.2 mm"', 'al = "6 uH"'):
        assert "joints" not in said(choke(stated, ""))


def test_two_drivers_at_once_are_named_in_words() -> None:
    from aswound.cli.views.prediction import driver_in_words

    assert (
        driver_in_words("face_gap with model_together")
        == "face gap with model of level with direct current or heat"
    )
    assert driver_in_words("mu_i with face_gap") == "permeability with face gap"


SHEETS = '[core]\nshape = "EI 66"\nmaterial = "silicon steel NO 0.50"\n'
TAPE = """[core]
material = "nanocrystalline 30000"
{stated}
[core.dimensions]
form = "toroid"
outer_diameter = "20 mm"
inner_diameter = "12.5 mm"
height = "8 mm"
"""


@pytest.mark.parametrize(
    ("core", "told"),
    [
        (SHEETS, "laminations fill some 95 %"),
        (SHEETS + "stacking_factor = 0.95", ""),
        (SHEETS + "stacking_factor = 1.0", ""),
        (SHEETS + 'al = "4 uH"', ""),
        (TAPE.format(stated=""), "wound tape fills 75 to 85 %"),
        (TAPE.format(stated="stacking_factor = 0.8"), ""),
        (TAPE.format(stated="") + 'effective_area = "24 mm2"\neffective_length = "51 mm"', ""),
        (TAPE.format(stated="").replace("nanocrystalline 30000", "MnZn 5000"), ""),
    ],
)
def test_sheets_and_tape_do_not_fill_their_section(core: str, told: str) -> None:
    """Where the area is that of the dimensions, what is not iron has to be stated; a ferrite is solid."""
    text = f"""
{core}
[bobbin]
wall = "1 mm"
[[winding]]
name = "P"
wire = {{ diameter = "0.25 mm", grade = 2 }}
[build]
steps = [{{ wind = "P", turns = 20 }}]
"""
    cautions = " ".join(parse_design(text).cautions)
    assert ("core.stacking_factor is not given" in cautions) == bool(told)
    assert told in cautions
