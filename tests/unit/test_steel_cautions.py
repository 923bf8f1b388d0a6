"""What is said of steel under a direct current, and of the joints of its stack."""

from __future__ import annotations

from aswound.predict import Design, parse_design
from aswound.predict.circuit import core_cautions


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


def test_an_ohmmeter_leaves_the_core_magnetized() -> None:
    direct = '\n[[test]]\nname = "R"\nmeasure = "resistance"\ndrive = "P"'
    assert "R: the ohmmeter's direct current leaves the core magnetized" in said(choke("", direct))
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
