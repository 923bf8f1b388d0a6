"""What a design file means: values in SI, defaults, tolerances, settings, the usual tests."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from small_design import SMALL

from aswound.predict.catalogue.lookup import find_material, load_catalogue
from aswound.predict.catalogue.wire_builds import insulated_diameter
from aswound.predict.cores.effective_dimensions import effective_parameters
from aswound.predict.cores.magnetizing import inductance_factor
from aswound.predict.design import (
    Bench,
    Design,
    EDimensions,
    Member,
    ShieldStep,
    SpacerStep,
    TapeStep,
    ToroidDimensions,
    WindStep,
)
from aswound.predict.designfile.reader import load_design, parse_design
from aswound.predict.errors import DesignError

SHORT = (Path(__file__).parent / "short.toml").read_text(encoding="utf-8")

E_CORE = """
[core.dimensions]
form = "E"
leg_width = "12 mm"
leg_depth = "15 mm"
window_width = "9 mm"
window_height = "30 mm"
outer_leg = "6 mm"
back = "6 mm"
"""
WOUND = """
[[winding]]
name = "P"
wire = { diameter = "0.40 mm", grade = 2 }
[build]
steps = [{ wind = "P", turns = 20 }]
"""
RING = '[core]\nshape = "R 36/23/15"\nmaterial = "MnZn 2300"\n' + WOUND


def edited(*changes: tuple[str, str], text: str = SHORT) -> str:
    """The text with each old part, which must be there, replaced by the new one."""
    for old, new in changes:
        assert old in text
        text = text.replace(old, new, 1)
    return text


def parsed(*changes: tuple[str, str], text: str = SHORT) -> Design:
    return parse_design(edited(*changes, text=text))


def test_the_short_design_is_read_in_si() -> None:
    design = parse_design(SHORT, name="short.toml")
    assert design.title == "Isolated 24 V supply, 30 W, build B"
    assert design.core.name == "ETD 34/17/11"
    assert design.core.al == pytest.approx(480e-9)
    assert design.core.al_tolerance == 0.05
    assert (design.bobbin.wall, design.bobbin.flange) == (0.0011, 0.001)
    assert [winding.name for winding in design.windings] == ["P", "S"]
    assert design.winding("S").wire.in_hand == 3
    assert [type(step) for step in design.build.steps] == [WindStep, TapeStep] * 3
    assert design.build.steps[1] == TapeStep(60e-6, 3)
    leakage = design.tests[1]
    assert (leakage.drive, leakage.short) == ((Member("P"),), (Member("S"),))
    assert (leakage.frequency, leakage.minimum, leakage.maximum) == (100e3, None, pytest.approx(1.8e-6))
    assert design.tests[3].frequency is None
    assert design.bench == Bench()
    assert design.cautions == ()


def test_al_rules_the_inductance_factor() -> None:
    design = parse_design(SHORT)
    assert float(inductance_factor(design)) == pytest.approx(480e-9, rel=1e-6)
    assert 0.2e-3 < float(design.core.gap) < 0.3e-3


def test_a_gap_far_from_what_al_asks_for_is_a_caution() -> None:
    (caution,) = parsed(('gap = "0.25 mm"', 'gap = "0.5 mm"')).cautions
    assert "core.gap is 0.5 mm" in caution


def test_published_effective_parameters_go_before_computed_ones() -> None:
    core = parse_design(SHORT).core
    assert core.effective_area == pytest.approx(97.1e-6)
    assert core.effective_area != effective_parameters(core.dimensions).effective_area


def test_dimensions_give_the_core_and_stacking_multiplies_the_area_once() -> None:
    text = "[core]\nmu_i = 4000\nstacking_factor = 0.95\n" + E_CORE + WOUND
    core = parse_design(text).core
    computed = effective_parameters(
        EDimensions(
            leg_width=12e-3,
            leg_depth=15e-3,
            window_width=9e-3,
            window_height=30e-3,
            outer_leg=6e-3,
            back=6e-3,
            outer_depth=15e-3,
        )
    )
    assert core.dimensions == EDimensions(
        leg_width=12e-3,
        leg_depth=15e-3,
        window_width=9e-3,
        window_height=30e-3,
        outer_leg=6e-3,
        back=6e-3,
        outer_depth=15e-3,
    )
    assert core.effective_area == pytest.approx(0.95 * computed.effective_area)
    assert core.effective_length == computed.effective_length
    stated = parse_design(
        text.replace("[core.dimensions]", '[core.dimensions]\neffective_area = "150 mm2"\ncover = "40 %"')
    )
    assert stated.core.effective_area == pytest.approx(150e-6)
    assert stated.core.cover == 0.4
    assert any("stacking_factor is not applied" in caution for caution in stated.cautions)


@pytest.mark.parametrize(("written", "square_metres"), [("1.5 cm^2", 1.5e-4), ("97.1 mm²", 97.1e-6)])
def test_areas(written: str, square_metres: float) -> None:
    text = "[core]\nmu_i = 4000\n" + E_CORE + f'effective_area = "{written}"\n' + WOUND
    assert parse_design(text).core.effective_area == pytest.approx(square_metres)


def test_permeability_by_itself_takes_the_documented_defaults() -> None:
    core = parsed(('material = "MnZn 2300"', "mu_i = 2300")).core
    assert core.material.initial_permeability == 2300
    assert core.material.tolerance == 0.25
    assert core.material.temperature_coefficient == 0.004
    assert core.material.level_coefficient == 1.2
    assert core.loss == 0.01


def test_a_grade_keeps_its_own_loss_and_its_tolerance_can_be_overridden() -> None:
    grade = find_material(load_catalogue(), "MnZn 2300")
    core = parsed(('material = "MnZn 2300"', 'material = "mnzn2300"\nmu_i_tolerance = "20 %"')).core
    assert core.loss is None
    assert core.material.loss_tangent == grade.loss_tangent
    assert core.material.tolerance == pytest.approx(0.2)
    assert parsed(('gap = "0.25 mm"', "loss = 0.02")).core.loss == 0.02


def test_al_alone_leaves_the_permeability_open_and_says_so() -> None:
    design = parsed(('material = "MnZn 2300"', ""))
    assert math.isinf(float(design.core.material.initial_permeability))
    assert float(inductance_factor(design)) == pytest.approx(480e-9, rel=1e-6)
    assert any("level, temperature and material" in caution for caution in design.cautions)


def test_a_toroid_has_no_face_gap_and_may_be_sawn() -> None:
    core = parse_design(RING).core
    assert isinstance(core.dimensions, ToroidDimensions)
    assert (core.face_gap, core.gap) == (0.0, 0.0)
    assert parse_design(RING.replace("[core]", '[core]\ngap = "0.5 mm"')).core.gap == pytest.approx(0.5e-3)


def test_gap_tolerances_become_relative_bounds() -> None:
    no_al = edited(('al = "480 nH"', ""), ('al_tolerance = "5 %"', ""))
    for written, bound in [('"0.02 mm"', 0.08), ('"8 %"', 0.08), ('{ sd = "0.01 mm" }', 0.08)]:
        core = parse_design(no_al.replace("[bobbin]", f"gap_tolerance = {written}\n[bobbin]")).core
        assert core.gap_tolerance == pytest.approx(bound)


def test_tolerances_in_spread_become_standard_deviations() -> None:
    text = (
        SHORT.replace("[bobbin]", 'face_gap = "3 um"\n[bobbin]')
        + """
[spread]
tape = "5 %"
wire = { sd = "0.4 %" }
centring = "0.2 mm"
margin = "0.3 mm"
width = "0.1 mm"
temperature = "2 K"
face_gap = "1 um"
model_leakage = 0.02
"""
    )
    spread = parse_design(text).tolerances
    assert spread.tape == pytest.approx(0.025)
    assert spread.wire == pytest.approx(0.004)
    assert spread.centring == pytest.approx(0.1e-3)
    assert spread.temperature == 1.0
    assert (spread.margin, spread.width) == (pytest.approx(0.15e-3), pytest.approx(0.05e-3))
    assert spread.face_gap == pytest.approx(1 / 3 / 2)
    assert spread.model_leakage == 0.01
    assert spread.al is None


def test_a_gap_holds_the_faces_and_says_so_where_their_tolerance_is_stated() -> None:
    design = parse_design(SHORT + '[spread]\nface_gap = "1 um"\n')
    assert (design.core.face_gap, design.tolerances.face_gap) == (0.0, None)
    assert any("spread.face_gap has no effect" in caution for caution in design.cautions)


def test_calibration_sets_factors_and_halves_expanded_uncertainties() -> None:
    text = (
        SHORT
        + """
[calibration]
leakage = { factor = 1.03, uncertainty = "1 %" }
mean_turn = { factor = 0.98, uncertainty = "0.5 %" }
capacitance = { factor = 1.1, uncertainty = "8 %" }
[spread]
mean_turn = "3 %"
"""
    )
    design = parse_design(text)
    model = design.model
    assert (model.leakage, model.inductance, model.capacitance) == (1.03, 1.0, 1.1)
    assert design.build.mean_turn_scale == 0.98
    assert design.tolerances.model_leakage == pytest.approx(0.005)
    assert design.tolerances.mean_turn == pytest.approx(0.0025)
    assert design.tolerances.model_capacitance == pytest.approx(0.04)
    assert design.tolerances.permittivity == pytest.approx(0.10 * math.sqrt(0.5))
    assert any("replaces spread.mean_turn" in caution for caution in design.cautions)
    assert any("leakage × 1.03 ± 1 %" in caution for caution in design.cautions)


def test_every_form_of_wire() -> None:
    forms = {
        '{ diameter = "0.40 mm", grade = 1 }': ("round", 0.4e-3, None, 1),
        "{ awg = 26, grade = 2 }": ("round", 0.4049e-3, None, 1),
        '{ diameter = "0.5 mm", overall = "0.7 mm" }': ("round", 0.5e-3, 0.7e-3, 1),
        '{ litz_strands = 60, strand = "0.1 mm", overall = "1.1 mm" }': ("litz", 0.1e-3, 1.1e-3, 60),
        '{ foil = "0.1 mm", width = "18 mm" }': ("foil", 0.0, 0.1e-3, 1),
    }
    catalogue = load_catalogue()
    for written, (kind, diameter, overall, strands) in forms.items():
        text = edited(
            ('{ diameter = "0.60 mm", grade = 2, in_hand = 3 }', written), ("turns = 6", "turns = 1")
        )
        wire = parse_design(text).winding("S").wire
        assert (wire.kind, wire.strands) == (kind, strands)
        assert wire.diameter == pytest.approx(diameter, rel=1e-3)
        if overall is None:
            grade = 1 if "grade = 1" in written else 2
            assert wire.overall == insulated_diameter(catalogue, float(wire.diameter), grade)
        else:
            assert wire.overall == pytest.approx(overall)
    assert wire.foil_width == pytest.approx(18e-3)


def test_wires_in_hand_and_the_label_as_written() -> None:
    wire = parsed(("in_hand = 3", "in_hand = 3, twisted = true")).winding("S").wire
    assert (wire.in_hand, wire.twisted) == (3, True)
    assert wire.label == "0.60 mm, grade 2, 3 in hand, twisted"


def test_every_key_of_a_winding_arrives() -> None:
    more = (
        'total_turns = 36\ncircuit = "mains"\nstart = 1\nfinish = "3"\nturning = "ccw"\nlead_length = "60 mm"'
        '\nmetal = "aluminium"\nsleeving = "clear"\nnote = "by hand"\n[[winding]]\nname = "S"'
    )
    winding = parsed(('[[winding]]\nname = "S"', more)).winding("P")
    assert (winding.total_turns, winding.circuit, winding.start, winding.finish) == (36, "mains", "1", "3")
    assert (winding.turning, winding.lead_length, winding.metal) == ("ccw", 0.06, "aluminium")
    assert (winding.sleeving, winding.note) == ("clear", "by hand")
    assert parse_design(SHORT).winding("S").circuit == "S"


def test_every_key_of_build_and_steps_arrives() -> None:
    build = """[build]
direction = "out"
margin = "2 mm"
allowance = "3 %"
interlayer = "0.05 mm"
style = "same_side"
impregnation = "dipped"
drawing = 4711
revision = "C"
note = "n"
steps = [
  { wind = "P", turns = 36, STEP },
  { wind = "S", turns = 6, thickness = "2 mm", breadth = "8 mm", beside = true },
  { spacer = "1.5 mm", permittivity = 2.2 },
  { tape = "0.06 mm", wraps = 0, permittivity = 3.0 },
]
"""
    step = 'layers = 2, breadth = "9 mm", from_end = "1 mm", margin = "0 mm", interlayer = "0.1 mm"'
    build = build.replace("STEP", step + ', style = "back_and_forth", close = true')
    text = SHORT[: SHORT.index("[build]")] + build + SHORT[SHORT.index("[[test]]") :]
    read = parse_design(text).build
    assert (read.margin, read.allowance, read.interlayer) == (2e-3, 0.03, pytest.approx(50e-6))
    assert (read.style, read.impregnation) == ("same_side", "dipped")
    assert (read.drawing, read.revision, read.note) == ("4711", "C", "n")
    assert read.steps == (
        WindStep(
            winding="P",
            turns=36,
            layers=2,
            breadth=9e-3,
            from_end=1e-3,
            thickness=None,
            margin=0.0,
            interlayer=0.1e-3,
            style="back_and_forth",
            close=True,
        ),
        WindStep(winding="S", turns=6, breadth=8e-3, thickness=2e-3, beside=True),
        SpacerStep(1.5e-3, 2.2),
        TapeStep(60e-6, 0, 3.0),
    )


def test_chambers_arrive_as_a_count_or_as_breadths() -> None:
    steps = ("{ wind = ", "{ chamber = 1, wind = ")
    text = SHORT.replace(*steps)
    equal = parsed(("[bobbin]", '[bobbin]\nchambers = 2\npartition = "1 mm"'), text=text).bobbin
    assert (equal.chamber_count, equal.chambers, equal.partition) == (2, (), pytest.approx(1e-3))
    listed = parsed(("[bobbin]", '[bobbin]\nchambers = ["12 mm", "6 mm"]'), text=text)
    assert listed.bobbin.chamber_count == 2
    assert listed.bobbin.chambers == pytest.approx((12e-3, 6e-3))
    assert "bobbin.partition is not given: taken as 0." in listed.cautions
    one = parsed(("[bobbin]", "[bobbin]\nchambers = 1")).bobbin
    assert (one.chamber_count, one.chambers) == (1, ())
    wound = listed.build.steps[0]
    assert isinstance(wound, WindStep)
    assert wound.chamber == 1


def test_a_track_arrives() -> None:
    written = '{ trace = "70 um", width = "1 mm", spacing = "0.2 mm", in_hand = 2 }'
    wire = parsed(('{ diameter = "0.60 mm", grade = 2, in_hand = 3 }', written)).winding("S").wire
    assert (wire.kind, wire.in_hand, wire.diameter) == ("track", 2, 0.0)
    assert (wire.overall, wire.foil_width, wire.spacing) == pytest.approx((70e-6, 1e-3, 0.2e-3))
    assert wire.label == "track 70 um × 1 mm, 0.2 mm apart, 2 in hand"


def test_a_shield_arrives_and_is_one_turn_of_foil() -> None:
    shield = '{ shield = "0.05 mm", width = "16 mm", name = "E", tied = "P.start" }'
    design = parsed(('  { wind = "S"', f'  {shield},\n  {{ wind = "S"'))
    assert design.build.steps[2] == ShieldStep(
        name="E", thickness=pytest.approx(50e-6), width=16e-3, tied="P.start"
    )
    assert design.shields == (design.build.steps[2],)
    assert design.winding("E").wire.foil_width == pytest.approx(16e-3)
    assert design.cautions == ()
    shut = shield.replace(" }", ", closed = true }")
    closed = parsed(('  { wind = "S"', f'  {shut},\n  {{ wind = "S"'))
    assert any("step 3 (shield E): it is closed on itself" in caution for caution in closed.cautions)


def test_a_flat_build_without_order_and_a_sector_arrive() -> None:
    flat = parsed(("[build]", '[build]\ndirection = "up"\nstyle = "scramble"')).build
    assert (flat.direction, flat.style) == ("up", "scramble")
    ring = parsed(("turns = 20", 'turns = 20, sector = "120 deg", from_angle = "30 deg"'), text=RING)
    (step,) = ring.build.steps
    assert isinstance(step, WindStep)
    assert (step.sector, step.from_angle) == pytest.approx((math.tau / 3, math.pi / 6))


def test_a_companion_needs_no_step_of_its_own() -> None:
    text = "[core]\nmu_i = 2000\n" + E_CORE + WOUND.replace("turns = 20", 'turns = 20, with = ["B"]')
    text = text.replace(
        "[build]", '[[winding]]\nname = "B"\nwire = { diameter = "0.3 mm", grade = 1 }\n[build]'
    )
    (step,) = parse_design(text).build.steps
    assert isinstance(step, WindStep)
    assert step.companions == ("B",)


def test_parallel_sections_of_unequal_turns_are_a_caution() -> None:
    text = edited(('[[winding]]\nname = "S"', 'sections = "parallel"\n[[winding]]\nname = "S"'))
    assert parse_design(text).cautions == ()
    unequal = text[::-1].replace("81 = snrut", "71 = snrut", 1)[::-1]
    (caution,) = parse_design(unequal).cautions
    assert "18, 17 turns" in caution


def test_joins_come_after_their_members_whatever_the_order_in_the_file() -> None:
    text = (
        SHORT
        + """
[[join]]
name = "all"
series = ["both", "-S"]
[[join]]
name = "both"
parallel = ["P"]
[[test]]
name = "opposing"
measure = "mutual"
drive = ["-both"]
sense = "S"
frequency = "10 kHz"
[[test]]
name = "angle"
measure = "phase"
drive = "all"
frequency = "10 kHz"
min = "-5 deg"
max = "90 deg"
level = "100 mV"
temperature = "30 degC"
"""
    )
    design = parse_design(text)
    assert [join.name for join in design.joins] == ["both", "all"]
    assert design.joins[1].members == (Member("both"), Member("S", reversed=True))
    opposing, angle = design.tests[-2:]
    assert opposing.drive == (Member("both", reversed=True),)
    assert (angle.minimum, angle.maximum) == (pytest.approx(-math.pi / 36), pytest.approx(math.pi / 2))
    assert (angle.level, angle.temperature) == (0.1, 30.0)


def test_a_design_without_tests_gets_the_usual_ones() -> None:
    third = '[[winding]]\nname = "A"\nwire = { diameter = "0.2 mm", grade = 1 }\n[build]'
    text = edited(("[build]", third), ("[bench]", ""), ('short_inductance = "10 nH"', ""))
    steps_end = text.index("\n]\n")
    text = text[:steps_end] + '\n  { wind = "A", turns = 4 },' + text[steps_end : text.index("[[test]]")]
    design = parse_design(text)
    frequencies = {test.name: test.frequency for test in design.tests}
    assert frequencies == {
        "L_P": 10e3,
        "R_P": None,
        "L_S": 10e3,
        "R_S": None,
        "L_A": 10e3,
        "R_A": None,
        "Lk_P": 100e3,
        "Lk_P_S": 100e3,
        "Lk_P_A": 100e3,
        "Lk_S_A": 100e3,
        "n_P_S": 10e3,
        "n_P_A": 10e3,
        "C_P_S": 100e3,
    }
    by_name = {test.name: test for test in design.tests}
    assert by_name["Lk_P"].short == (Member("S"), Member("A"))
    assert by_name["n_P_A"].sense == (Member("A"),)
    assert by_name["C_P_S"].measure == "capacitance"
    assert by_name["C_P_S"].sense == (Member("S"),)
    changed = parse_design(text, settings=[("test.L_P.frequency", "1 kHz")])
    assert {test.name: test.frequency for test in changed.tests}["L_P"] == 1e3


def test_laminated_cores_are_tested_at_low_frequency() -> None:
    text = "[core]\nmu_i = 4000\nstacking_factor = 0.95\n" + E_CORE + WOUND
    text = text.replace(
        "[build]", '[[winding]]\nname = "S"\nwire = { diameter = "0.3 mm", grade = 1 }\n[build]'
    )
    text = text.replace("turns = 20 }", 'turns = 20 }, { wind = "S", turns = 5 }')
    frequencies = {test.name: test.frequency for test in parse_design(text).tests}
    assert (frequencies["L_P"], frequencies["Lk_P"], frequencies["n_P_S"]) == (120.0, 1e3, 120.0)


def test_a_missing_bobbin_is_a_caution() -> None:
    cautions = parse_design("[core]\nmu_i = 4000\n" + E_CORE + WOUND).cautions
    assert [caution.split()[0] for caution in cautions] == ["bobbin.wall", "bobbin.flange"]


# --- settings and bench ----------------------------------------------------------------------------


def test_settings_change_what_they_name() -> None:
    design = parse_design(
        SHORT,
        settings=[
            ("step2.wraps", "4"),
            ("core.al", '"400 nH"'),
            ("winding.P.wire.diameter", "0.45 mm"),
            ("bench.short_inductance", "5 nH"),
            ("test.L_P.frequency", "1 kHz"),
            ("test.Lk_P.short", '["S"]'),
            ("spread.tape", "5 %"),
            ("step3.close", "true"),
            ("operation.frequency", "120 kHz"),
        ],
    )
    assert design.build.steps[1] == TapeStep(60e-6, 4)
    assert design.core.al == pytest.approx(400e-9)
    assert design.winding("P").wire.diameter == pytest.approx(0.45e-3)
    assert design.bench.short_inductance == pytest.approx(5e-9)
    assert design.tests[0].frequency == 1e3
    assert design.tolerances.tape == pytest.approx(0.025)
    third = design.build.steps[2]
    assert isinstance(third, WindStep)
    assert third.close
    assert design.working_frequency == 120e3


def test_a_changed_gap_takes_al_with_it() -> None:
    before = parse_design(SHORT)
    after = parse_design(SHORT, settings=[("core.gap", "0.3 mm")])
    assert float(after.core.gap) / float(before.core.gap) == pytest.approx(0.30 / 0.25)
    assert float(inductance_factor(after)) == pytest.approx(after.core.al)
    assert 0.80 < float(inductance_factor(after)) / 480e-9 < 0.90
    assert any("al follows the gap" in caution for caution in after.cautions)
    both = parse_design(SHORT, settings=[("core.gap", "0.3 mm"), ("core.al", "480 nH")])
    assert both.core.al == pytest.approx(480e-9)


@pytest.mark.parametrize("text", ['short_inductance = "3 nH"', '[bench]\nshort_inductance = "3 nH"'])
def test_a_bench_file_replaces_the_keys_that_it_names(text: str) -> None:
    own = edited(('short_inductance = "10 nH"', 'short_inductance = "10 nH"\nlead_inductance = "4 nH"'))
    bench = parse_design(own, bench_text=text).bench
    assert (bench.short_inductance, bench.lead_inductance) == (pytest.approx(3e-9), pytest.approx(4e-9))
    assert parse_design(
        own, bench_text=text, settings=[("bench.short_inductance", "7 nH")]
    ).bench.short_inductance == (pytest.approx(7e-9))


# --- files -----------------------------------------------------------------------------------------


def test_files_with_a_catalogue_beside_them_and_a_byte_order_mark(tmp_path: Path) -> None:
    (tmp_path / "parts.toml").write_text(
        '[[material]]\nname = "House 1"\ninitial_permeability = 1500\nfrequencies = ["10 kHz"]\n'
        'real_ratio = [1.0]\nloss_tangent = [0.005]\nsource = "measured here"\n',
        encoding="utf-8",
    )
    text = 'catalogue = ["parts.toml"]\n' + edited(("MnZn 2300", "House 1"))
    (tmp_path / "d.toml").write_text(text, encoding="utf-8-sig")
    (tmp_path / "bench.toml").write_text('accuracy = "0.2 %"', encoding="utf-8")
    design = load_design(tmp_path / "d.toml", bench=tmp_path / "bench.toml")
    assert design.core.material.initial_permeability == pytest.approx(1500)
    assert design.bench.accuracy == pytest.approx(0.002)
    (tmp_path / "untitled.toml").write_text(edited(("title =", "# title =")), encoding="utf-8")
    assert load_design(str(tmp_path / "untitled.toml")).title == "untitled"


def test_a_catalogue_without_a_folder_is_refused() -> None:
    with pytest.raises(DesignError, match="a relative path in a design without a folder"):
        parse_design('catalogue = ["parts.toml"]\n' + SHORT)


def test_strands_of_twisted_bundles_are_longer_by_both_twists() -> None:
    """5 % of the litz times 2 % of the wires in hand, where the file states no lay."""
    litz = '{ litz_strands = 20, strand = "0.1 mm", strand_grade = 1, in_hand = 2, twisted = true }'
    design = parsed(('{ diameter = "0.40 mm", grade = 2 }', litz), text=RING)
    assert design.winding("P").wire.lay_factor == pytest.approx(1.05 * 1.02)


def test_stacking_counts_for_an_area_from_dimensions_alone() -> None:
    """Legs of 12 mm by 15 mm of which 90 % is iron; an area that is stated is that of the iron."""
    core = '[core]\nmaterial = "MnZn 2300"\n'
    stacked = core + "stacking_factor = 0.9\n"
    stated = 'effective_area = "170 mm2"\neffective_length = "90 mm"\n'
    texts = (core + E_CORE, stacked + E_CORE, stacked + E_CORE + stated)
    whole, thin, told = (parse_design(text + WOUND).core for text in texts)
    assert thin.effective_area == pytest.approx(0.9 * float(whole.effective_area))
    assert told.effective_area == pytest.approx(170e-6)


def test_the_uncertainty_of_a_factor_is_two_standard_deviations() -> None:
    own = '[[calibration.own]]\nof = "leakage P|S"\nfactor = 1.03\nuncertainty = "4 %"\n'
    (factor,) = parse_design(SHORT + own).model.own
    assert (factor.factor, factor.deviation) == (1.03, pytest.approx(0.02))


@pytest.mark.parametrize(
    ("pins", "circuit", "told"),
    [
        ((1, 2, 3, 4), "", []),
        ((1, 2, 2, 4), "", ["Pin 2 joins P and S, which are circuits apart"]),
        ((1, 2, 2, 4), "P", []),
        ((1, 1, 3, 4), "", ["P starts and finishes at pin 1, which shorts it"]),
        ((5, 5, 5, 4), "P", ["P starts and finishes at pin 5, which shorts it"]),
    ],
)
def test_pins_that_join_what_is_apart_are_said(pins: tuple[int, ...], circuit: str, told: list[str]) -> None:
    """Two windings of one circuit may share a pin, as halves with a tap do."""
    starts = [f'start = "{pins[2 * k]}"\nfinish = "{pins[2 * k + 1]}"' for k in (0, 1)]
    design = parse_design(f"""
[core]
shape = "ETD 29/16/10"
material = "MnZn 2300"
[bobbin]
wall = "1.2 mm"
flange = "1.3 mm"
[[winding]]
name = "P"
wire = {{ diameter = "0.35 mm", grade = 2 }}
{starts[0]}
[[winding]]
name = "S"
wire = {{ diameter = "0.35 mm", grade = 2 }}
{starts[1]}
{f'circuit = "{circuit}"' if circuit else ""}
[build]
steps = [{{ wind = "P", turns = 30 }}, {{ tape = "0.06 mm", wraps = 3 }}, {{ wind = "S", turns = 8 }}]
""")
    assert [caution.partition(":")[0] for caution in design.cautions] == told


def test_what_a_file_leaves_out_is_common_practice() -> None:
    """A moulded bobbin of relative permittivity 4, and layers wound 2 % looser than turn beside turn (common
    practice, no source)."""
    stated = SMALL.replace('flange = "0.8 mm"', 'flange = "0.8 mm"\npermittivity = 4').replace(
        "[build]", '[build]\nallowance = "2 %"'
    )
    assert stated.count("permittivity") == stated.count("allowance") == 1
    assert parse_design(stated) == parse_design(SMALL)
