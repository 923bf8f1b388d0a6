"""What a design file may not say: each fault names its place, what was found, what is allowed, and the cure."""

from __future__ import annotations

from pathlib import Path

import pytest

from aswound.predict.designfile import load_design, parse_design
from aswound.predict.errors import DesignError, Fault

SHORT = (Path(__file__).parent / "short.toml").read_text(encoding="utf-8")
WIRE_S = 'wire = { diameter = "0.60 mm", grade = 2, in_hand = 3 }'
STEP_1 = '{ wind = "P", turns = 18 }'
SHAPE = 'shape = "ETD 34/17/11"'
OWN = '[core.dimensions]\nform = "E"\nleg_width = "12 mm"\nleg_depth = "15 mm"\nwindow_width = "9 mm"\n'
BOBBIN = "[bobbin]"


def faults_of(text: str, **options: object) -> tuple[Fault, ...]:
    with pytest.raises(DesignError) as caught:
        parse_design(text, name="d.toml", **options)  # type: ignore[arg-type]
    return caught.value.faults


def own_dimensions(*lines: str) -> tuple[str, str]:
    """The change that gives the short design a core to dimensions, with more lines."""
    rest = 'window_height = "30 mm"\nouter_leg = "6 mm"\nback = "6 mm"\n'
    return (BOBBIN, OWN + rest + "\n".join(lines) + "\n" + BOBBIN)


# (old, new) in the short design; place; part of what was found; part of what is allowed or of the hint
ONE_FAULT = [
    # keys
    (("title =", "titel ="), "titel", "an unknown key", "Did you mean 'title'?"),
    (("gap =", "gapp ="), "core.gapp", "an unknown key", "Did you mean 'gap'?"),
    (("wall =", "wal ="), "bobbin.wal", "an unknown key", "one of wall, flange, permittivity."),
    (("wraps = 2", "wrap = 2, wraps = 2"), "step 6 (tape): wrap", "an unknown key", "Did you mean 'wraps'?"),
    (("grade = 2 }", "grade = 2, inhand = 2 }"), "winding P: wire.inhand", "unknown", "Did you mean 'in_hand'?"),
    (("max = ", "maks = "), "test L_P: maks", "an unknown key", "Did you mean 'max'?"),
    ((BOBBIN, "[spred]\n" + BOBBIN), "spred", "an unknown key", "Did you mean 'spread'?"),
    (("short_ind", "shot_ind"), "bench.shot_inductance", "unknown", "Did you mean 'short_inductance'?"),
    # values
    (('"0.25 mm"', '"0,25 mm"'), "core.gap", "'0,25 mm'", "0.25 with a point"),
    (('"0.25 mm"', "0.25"), "core.gap", "0.25", "A unit is never guessed"),
    (('"0.25 mm"', '"0.25"'), "core.gap", "'0.25'", "a length with its unit"),
    (('"0.25 mm"', '"-0.25 mm"'), "core.gap", "'-0.25 mm'", "zero or above"),
    (('"0.25 mm"', '"30 mm"'), "core.gap", "'30 mm'", "less than 24.2 mm"),
    (('"0.25 mm"', '"nan mm"'), "core.gap", "'nan mm'", "finite"),
    (('"480 nH"', '"480 NH"'), "core.al", "'480 NH'", "case sensitive"),
    (('"480 nH"', '"480 mm"'), "core.al", "'480 mm'", "a unit of length"),
    (('"480 nH"', '"90 uH"'), "core.al", "9e+04 nH", "what the ungapped set"),
    (('"10 kHz"', '"0 kHz"'), "test L_P: frequency", "'0 kHz'", "above zero"),
    (("wraps = 2", 'wraps = "2 wraps"'), "step 6 (tape): wraps", "'2 wraps'", "a whole number"),
    (("wraps = 2", "wraps = true"), "step 6 (tape): wraps", "True", "a whole number"),
    (("wraps = 2", "wraps = -1"), "step 6 (tape): wraps", "-1", "It must be at least 0"),
    (('"5 %"', '"5 mm"'), "core.al_tolerance", "'5 mm'", "a relative value"),
    (('"5 %"', '"500 %"'), "core.al_tolerance", "'500 %'", "0 % to 100 %"),
    (('"5 %"', '{ std = "5 %" }'), "core.al_tolerance", "std", "{ sd = … }"),
    (('title = "Isolated 24 V supply, 30 W, build B"', "title = 1.5"), "title", "1.5", "a text"),
    # core
    (("ETD 34/17/11", "ETD 34/17/12"), "core.shape", "'ETD 34/17/12'", "Did you mean 'ETD 34/17/11'?"),
    (("MnZn 2300", "MnZn 2030"), "core.material", "'MnZn 2030'", "Did you mean 'MnZn"),
    ((SHAPE, ""), "core.shape", "nothing", "core.dimensions"),
    (own_dimensions(), "core.shape", "shape and dimensions", "one of the two"),
    (("gap = ", "mu_i = 2000\ngap = "), "core.mu_i", "material and mu_i", "one of the two"),
    (('material = "MnZn 2300"', "mu_i = 0.5"), "core.mu_i", "0.5", "a plain number from 1"),
    (('material = "MnZn 2300"', 'mu_i_tolerance = "20 %"'), "core.mu_i_tolerance", "without mu_i", "material or mu_i"),
    (('al = "480 nH"', ""), "core.al_tolerance", "without al", "al, or no al_tolerance"),
    (("gap = ", 'gap_legs = "center"\ngap = '), "core.gap_legs", "'center'", "Did you mean 'centre'?"),
    (("gap = ", 'gap_at = "end"\ngap = '), "core.gap_at", "not supported yet", "'middle'"),
    (("gap = ", 'stacking_factor = "0 %"\ngap = '), "core.stacking_factor", "'0 %'", "from 1 % to 100 %"),
    # windings
    (('name = "S"', 'name = "S,T"'), "winding S,T: name", "'S,T'", "no comma"),
    (('name = "S"', 'name = "-S"'), "winding -S: name", "'-S'", "no leading '-'"),
    (('name = "S"', 'name = "P"'), "winding P: name", "a second time", "each name once"),
    (("grade = 2 }", "grade = 4 }"), "winding P: wire.grade", "4", "1, 2 or 3"),
    (("grade = 2 }", "grade = true }"), "winding P: wire.grade", "true", "1, 2 or 3"),
    (('diameter = "0.40 mm"', 'diameter = "9 mm"'), "winding P: wire.diameter", "9 mm", "{ diameter, overall }"),
    ((", grade = 2 }", " }"), "winding P: wire.grade", "neither grade nor overall", "one of the two"),
    (("grade = 2 }", 'grade = 2, overall = "0.5 mm" }'), "winding P: wire.grade", "grade and overall", "one of"),
    (("grade = 2 }", 'overall = "0.4 mm" }'), "winding P: wire.overall", "'0.4 mm'", "more than the bare"),
    ((WIRE_S, 'wire = "0.6 mm"'), "winding S: wire", "'0.6 mm'", "{ diameter, grade }"),
    ((WIRE_S, ""), "winding S: wire", "nothing", "required"),
    ((WIRE_S, "wire = { grade = 2 }"), "winding S: wire", "the keys grade", "{ awg, grade }"),
    ((WIRE_S, 'wire = { awg = 22, diameter = "0.6 mm", grade = 2 }'), "winding S: wire", "awg and diameter", "one of"),
    ((WIRE_S, "wire = { awg = 57, grade = 2 }"), "winding S: wire.awg", "57", "0 to 56"),
    ((WIRE_S, 'wire = { foil = "0.1 mm" }'), "winding S: wire.width", "nothing", "required"),
    (
        (WIRE_S, 'wire = { trace = "70 um", width = "2 mm", spacing = "0.2 mm" }'),
        "winding S: wire",
        "a trace, which is not supported yet",
        "{ foil, width }",
    ),
    (
        (WIRE_S, 'wire = { litz_strands = 100, strand = "0.1 mm", overall = "0.9 mm" }'),
        "winding S: wire.overall",
        "'0.9 mm'",
        "more than 1 mm",
    ),
    (("in_hand = 3", "in_hand = 0"), "winding S: wire.in_hand", "0", "at least 1"),
    (("in_hand = 3", "twisted = true"), "winding S: wire.twisted", "a bundle of one", "in_hand of 2 or more"),
    ((WIRE_S, WIRE_S + '\nmetal = "silver"'), "winding S: metal", "'silver'", "'copper', 'aluminium'"),
    ((WIRE_S, WIRE_S + "\ntotal_turns = 7"), "winding S: total_turns", "7", "6, the sum of its steps (6)"),
    (
        (WIRE_S, WIRE_S + '\ntotal_turns = 6\nsections = "parallel"'),
        "winding S: total_turns",
        "sections in parallel",
        "sections in series only",
    ),
    (("wall =", "chambers = 2\nwall ="), "bobbin.chambers", "not supported yet", "one chamber"),
    (("wall =", 'partition = "1 mm"\nwall ='), "bobbin.partition", "not supported yet", "one chamber"),
    # build
    ((STEP_1, '{ wind = "p", turns = 18 }'), "step 1 (wind p): wind", "'p'", "Did you mean 'P'?"),
    ((STEP_1, '{ wind = "P", turns = 18.5 }'), "step 1 (wind P): turns", "18.5", "only one outer leg"),
    ((STEP_1, '{ wind = "P", turns = "18 1/2" }'), "step 1 (wind P): turns", "'18 1/2'", "only one outer leg"),
    ((STEP_1, '{ wind = "P", turns = 0 }'), "step 1 (wind P): turns", "0", "at least 1"),
    ((STEP_1, '{ wind = "P" }'), "step 1 (wind P): turns", "nothing", "required"),
    ((STEP_1, '{ wind = "P", turns = 18, chamber = 1 }'), "step 1 (wind P): chamber", "not supported yet", "one"),
    ((STEP_1, '{ wind = "P", turns = 18, leg = 2 }'), "step 1 (wind P): leg", "not supported yet", "centre leg"),
    ((STEP_1, '{ wind = "P", turns = 18, sector = "90 deg" }'), "step 1 (wind P): sector", "not supported yet", ""),
    (
        (STEP_1, '{ wind = "P", turns = 18, from_angle = "90 deg" }'),
        "step 1 (wind P): from_angle",
        "not supported yet",
        "whole circumference",
    ),
    (
        (STEP_1, '{ wind = "P", turns = 18, style = "scramble" }'),
        "step 1 (wind P): style",
        "'scramble', which is not supported yet",
        "'back_and_forth', 'same_side'",
    ),
    (
        (STEP_1, '{ wind = "P", turns = 18, thickness = "1 mm" }'),
        "step 1 (wind P): thickness",
        "without breadth",
        "both",
    ),
    ((STEP_1, '{ wind = "P", turns = 18, layers = 19 }'), "step 1 (wind P): layers", "19 layers", "one layer per"),
    ((STEP_1, '{ wind = "P", turns = 18, beside = true }'), "step 1 (wind P): beside", "true", "right after a step"),
    ((STEP_1, '{ wind = "P", turns = 18, with = ["P"] }'), "step 1 (wind P): with", "itself", "other windings"),
    ((STEP_1, '{ wind = "P", turns = 18, with = ["T"] }'), "step 1 (wind P): with", "'T'", "P, S"),
    ((STEP_1, '{ wind = "P", turns = 18, with = "S" }'), "step 1 (wind P): with", "'S'", "a list of names"),
    ((STEP_1, '{ wind = "P", tape = "1 mm" }'), "step 1", "wind and tape", "one of wind, tape or spacer"),
    ((STEP_1, '{ wnd = "P", turns = 18 }'), "step 1", "the keys wnd, turns", "Did you mean 'wind'?"),
    ((STEP_1, "18"), "step 1", "18", "a table"),
    (
        (STEP_1, '{ shield = "0.05 mm", width = "16 mm", name = "E" }'),
        "step 1 (shield): shield",
        "not supported yet",
        "one of wind, tape or spacer",
    ),
    (("[build]", '[build]\ndirection = "up"'), "build.direction", "'up', which is not supported yet", "'out'"),
    (
        ("[build]", '[[winding]]\nname = "T"\nwire = { awg = 30, grade = 1 }\n[build]'),
        "winding T",
        "no step that winds it",
        "wind = 'T'",
    ),
    (
        (WIRE_S, 'wire = { foil = "0.1 mm", width = "20 mm" }'),
        "step 3 (wind S): interlayer",
        "6 turns of foil without insulation",
        "would touch",
    ),
    # joins and tests
    (("[bench]", '[[join]]\nname = "J"\n[bench]'), "join J: series", "neither series nor parallel", "one of the two"),
    (("[bench]", '[[join]]\nname = "J"\nseries = ["P", "T"]\n[bench]'), "join J: series", "'T'", "P, S, J"),
    (("[bench]", '[[join]]\nname = "S"\nseries = ["P"]\n[bench]'), "join S: name", "a second time", "no winding"),
    (("[bench]", '[[join]]\nname = "J"\nseries = ["P", "-P"]\n[bench]'), "join J: series", "more than once", "once"),
    (("[bench]", '[[join]]\nname = "J"\nseries = ["J"]\n[bench]'), "join J: series", "['J']", "contain themselves"),
    (('name = "Lk_P"', 'name = "L_P"'), "test L_P: name", "a second time", "each name once"),
    (('short = ["S"]', 'short = ["s"]'), "test Lk_P: short", "'s'", "Did you mean 'S'?"),
    (('short = ["S"]', 'short = ["-P"]'), "test Lk_P: short", "P, which drive drives", "not driven"),
    (('short = ["S"]', "short = [1]"), "test Lk_P: short", "[1]", "a list of them"),
    (('sense = "S"', ""), "test n: sense", "nothing", "where the voltage is taken"),
    (('sense = "S"', 'sense = "P"'), "test n: sense", "'P'", "another winding"),
    (('sense = "S"', 'sense = "S"\nshort = "S"'), "test n: sense", "S, which short shorts", "an open winding"),
    (('short = ["S"]', 'sense = "S"'), "test Lk_P: sense", "'S'", "an impedance at drive"),
    (('frequency = "100 kHz"', ""), "test Lk_P: frequency", "nothing", "every measure but resistance"),
    (('"resistance"', '"resistance"\nlevel = "1 V"'), "test R_P: level", "'1 V'", "a direct-current test"),
    (('"ratio"', '"ratioo"'), "test n: measure", "'ratioo'", "Did you mean 'ratio'?"),
    (('"resistance"', '"resonance"'), "test R_P: measure", "not supported yet", "one of 'inductance'"),
    (('"resistance"', '"capacitance"'), "test R_P: measure", "not supported yet", "one of 'inductance'"),
    (('min = "580 uH"', 'min = "680 uH"'), "test L_P: min", "'680 uH'", "at most max, 665 uH"),
    (('min = "580 uH"', 'min = "580 ohm"'), "test L_P: min", "'580 ohm'", "a unit of resistance"),
    (('min = "580 uH"', 'bias = "1 A"'), "test L_P: bias", "not supported yet", "no direct current"),
    (('min = "580 uH"', 'tie = [["core", "P.start"]]'), "test L_P: tie", "not supported yet", "floating core"),
    # bench, spread, calibration
    (("short_ind", 'temperature = "23 K"\nshort_ind'), "bench.temperature", "'23 K'", "a temperature with its unit"),
    (("[bench]", '[spread]\ntape = "5 mm"\n[bench]'), "spread.tape", "'5 mm'", "a relative value"),
    (("[bench]", '[spread]\ncentring = "5 %"\n[bench]'), "spread.centring", "'5 %'", "a length"),
    (("[bench]", "[calibration]\nleakage = 1.03\n[bench]"), "calibration.leakage", "1.03", "a table"),
    (
        ("[bench]", "[calibration]\nleakage = { factor = 1.03 }\n[bench]"),
        "calibration.leakage.uncertainty",
        "nothing",
        "required",
    ),
    (
        ("[bench]", '[calibration]\ncapacitance = { factor = 1, uncertainty = "1 %" }\n[bench]'),
        "calibration.capacitance",
        "not supported yet",
        "leakage, inductance or mean_turn",
    ),
    # shape of the file
    (("[bobbin]", "[[bobbin]]"), "bobbin", "[a table]", "a table, written [bobbin]"),
    (('[bench]\nshort_inductance = "10 nH"', "[[join]]\n[bench]"), "join 1: name", "nothing", "required"),
    (("title =", 'catalogue = "parts.toml"\ntitle ='), "catalogue", "'parts.toml'", "a list of file names"),
]


@pytest.mark.parametrize(("change", "place", "found", "rest"), ONE_FAULT, ids=[case[1] for case in ONE_FAULT])
def test_a_fault_says_where_what_and_what_instead(
    change: tuple[str, str], place: str, found: str, rest: str
) -> None:
    old, new = change
    assert old in SHORT
    faults = faults_of(SHORT.replace(old, new, 1))
    matching = [fault for fault in faults if fault.place == place]
    assert matching, [str(fault) for fault in faults]
    fault = matching[0]
    assert found in fault.found
    assert rest in f"{fault.allowed}. {fault.hint}"
    assert fault.file == "d.toml"


SINGLE = [case for case in ONE_FAULT if case[1] not in ("join 1: name",)]


@pytest.mark.parametrize(("change", "place"), [case[:2] for case in SINGLE], ids=[case[1] for case in SINGLE])
def test_one_mistake_is_not_reported_as_many(change: tuple[str, str], place: str) -> None:
    follow = {  # a wrong or missing name is also missing where it was meant
        "winding S,T: name", "winding -S: name", "step 1 (wind p): wind", "winding P: name", "titel"
    }
    if place in follow:
        pytest.importorskip("aswound")
    faults = faults_of(SHORT.replace(*change, 1))
    assert len(faults) <= (8 if place in follow else 2), [str(fault) for fault in faults]
