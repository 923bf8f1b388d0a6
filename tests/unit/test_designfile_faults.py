"""What a design file may not say: each fault names its place, what was found, what is allowed, the cure."""

from __future__ import annotations

from pathlib import Path

import pytest

from aswound.predict.designfile.reader import load_design, parse_design
from aswound.predict.errors import DesignError, Fault

SHORT = (Path(__file__).parent / "short.toml").read_text(encoding="utf-8")
WIRE_S = 'wire = { diameter = "0.60 mm", grade = 2, in_hand = 3 }'
STEP_1 = '{ wind = "P", turns = 18 }'
SHIELD = ',\n{ shield = "0.05 mm", width = "16 mm", name = "E" }'
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
    (
        ("wall =", "wal ="),
        "bobbin.wal",
        "an unknown key",
        "one of wall, flange, permittivity, chambers",
    ),
    (("wraps = 2", "wrap = 2, wraps = 2"), "step 6 (tape): wrap", "an unknown key", "Did you mean 'wraps'?"),
    (
        ("grade = 2 }", "grade = 2, inhand = 2 }"),
        "winding P: wire.inhand",
        "unknown",
        "Did you mean 'in_hand'?",
    ),
    (("drive = ", "drives = "), "test L_P: drives", "an unknown key", "Did you mean 'drive'?"),
    ((BOBBIN, "[spred]\n" + BOBBIN), "spred", "an unknown key", "Did you mean 'spread'?"),
    (("short_ind", "shot_ind"), "bench.shot_inductance", "unknown", "Did you mean 'short_inductance'?"),
    (
        ("steps = [", 'processes = [{ do = "Dip", tim = "1 h" }]\nsteps = ['),
        "build: processes, entry 1.tim",
        "unknown",
        "'time'",
    ),
    (("steps = [", 'processes = "dip"\nsteps = ['), "build.processes", "'dip'", "a list such as"),
    (("steps = [", 'tail = "-5 mm"\nsteps = ['), "build.tail", "'-5 mm'", "zero or above"),
    # values
    (('"0.25 mm"', '"0,25 mm"'), "core.gap", "'0,25 mm'", "0.25 with a point"),
    (('"0.25 mm"', "0.25"), "core.gap", "0.25", "A unit is never guessed"),
    (('"0.25 mm"', '"0.25"'), "core.gap", "'0.25'", "a length with its unit"),
    (('"0.25 mm"', '"-0.25 mm"'), "core.gap", "'-0.25 mm'", "zero or above"),
    (('"0.25 mm"', '"30 mm"'), "core.gap", "'30 mm'", "less than 24.2 mm"),
    (('"0.25 mm"', '"nan mm"'), "core.gap", "'nan mm'", "finite"),
    (('"480 nH"', '"480 NH"'), "core.al", "'480 NH'", "case sensitive"),
    (('"480 nH"', '"480 mm"'), "core.al", "'480 mm'", "a unit of length"),
    (('"480 nH"', '"0.001 nH"'), "core.al", "'0.001 nH'", "asks for less gap"),
    (("[bench]", '[spread]\ngap = "1 m"\n[bench]'), "spread.gap", "1000 mm", "at most 10 times the gap"),
    (('"480 nH"', '"90 uH"'), "core.al", "9e+04 nH", "the al of the ungapped set"),
    (('"10 kHz"', '"0 kHz"'), "test L_P: frequency", "'0 kHz'", "above zero"),
    (("wraps = 2", 'wraps = "2 wraps"'), "step 6 (tape): wraps", "'2 wraps'", "a whole number"),
    (("wraps = 2", "wraps = true"), "step 6 (tape): wraps", "True", "a whole number"),
    (("wraps = 2", "wraps = -1"), "step 6 (tape): wraps", "-1", "It must be at least 0"),
    (('"5 %"', '"5 mm"'), "core.al_tolerance", "'5 mm'", "a relative value"),
    (('"5 %"', '"500 %"'), "core.al_tolerance", "'500 %'", "0 % to 100 %"),
    (('"5 %"', '{ std = "5 %" }'), "core.al_tolerance", "std", "{ sd = … }"),
    (('title = "Isolated 24 V supply, 30 W, build B"', "title = 1.5"), "title", "1.5", "a text"),
    # core
    (("ETD 34/17/11", "ETD 34/17/12"), "core.shape", "'ETD 34/17/12'", "Nearest: ETD 34/17/11"),
    (("MnZn 2300", "MnZn 2030"), "core.material", "'MnZn 2030'", "Nearest: MnZn"),
    ((SHAPE, ""), "core.shape", "nothing", "core.dimensions"),
    (own_dimensions(), "core.shape", "shape and dimensions", "one of the two"),
    (("gap = ", "mu_i = 2000\ngap = "), "core.mu_i", "material and mu_i", "one of the two"),
    (('material = "MnZn 2300"', "mu_i = 0.5"), "core.mu_i", "0.5", "a plain number from 1"),
    (
        ('material = "MnZn 2300"', 'mu_i_tolerance = "20 %"'),
        "core.mu_i_tolerance",
        "without mu_i",
        "material or mu_i",
    ),
    (('al = "480 nH"', ""), "core.al_tolerance", "without al", "al, or no al_tolerance"),
    (("gap = ", 'gap_legs = "center"\ngap = '), "core.gap_legs", "'center'", "Did you mean 'centre'?"),
    (("gap = ", 'gap_at = "side"\ngap = '), "core.gap_at", "'side'", "'middle'"),
    (("gap = ", 'stacking_factor = "0 %"\ngap = '), "core.stacking_factor", "'0 %'", "from 1 % to 100 %"),
    # windings
    (('name = "S"', 'name = "S,T"'), "winding S,T: name", "'S,T'", "no comma"),
    (('name = "S"', 'name = "-S"'), "winding -S: name", "'-S'", "no leading '-'"),
    (('name = "S"', 'name = "P"'), "winding P: name", "a second time", "each name once"),
    (("grade = 2 }", "grade = 4 }"), "winding P: wire.grade", "4", "1, 2 or 3"),
    (("grade = 2 }", "grade = true }"), "winding P: wire.grade", "true", "1, 2 or 3"),
    (
        ('diameter = "0.40 mm"', 'diameter = "9 mm"'),
        "winding P: wire.diameter",
        "9 mm",
        "{ diameter, overall }",
    ),
    ((", grade = 2 }", " }"), "winding P: wire.grade", "neither grade nor overall", "one of the two"),
    (
        ("grade = 2 }", 'grade = 2, overall = "0.5 mm" }'),
        "winding P: wire.grade",
        "grade and overall",
        "one of",
    ),
    (("grade = 2 }", 'overall = "0.4 mm" }'), "winding P: wire.overall", "'0.4 mm'", "more than the bare"),
    ((WIRE_S, 'wire = "0.6 mm"'), "winding S: wire", "'0.6 mm'", "{ diameter, grade }"),
    ((WIRE_S, ""), "winding S: wire", "nothing", "required"),
    ((WIRE_S, "wire = { grade = 2 }"), "winding S: wire", "the keys grade", "{ awg, grade }"),
    (
        (WIRE_S, 'wire = { awg = 22, diameter = "0.6 mm", grade = 2 }'),
        "winding S: wire",
        "awg and diameter",
        "one of",
    ),
    ((WIRE_S, "wire = { awg = 57, grade = 2 }"), "winding S: wire.awg", "57", "0 to 56"),
    ((WIRE_S, 'wire = { foil = "0.1 mm" }'), "winding S: wire.width", "nothing", "required"),
    (
        (WIRE_S, 'wire = { trace = "70 um", width = "2 mm" }'),
        "winding S: wire.spacing",
        "nothing",
        "required",
    ),
    (
        (WIRE_S, 'wire = { trace = "70 um", width = "2 mm", spacing = "0.2 mm", foil = "1 mm" }'),
        "winding S: wire",
        "foil and trace",
        "{ trace, width, spacing }",
    ),
    (
        (
            WIRE_S,
            'wire = { trace = "70 um", width = "2 mm", spacing = "0.2 mm", in_hand = 2, twisted = true }',
        ),
        "winding S: wire.twisted",
        "twisted tracks",
        "no twisted",
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
    (("wall =", "chambers = 0\nwall ="), "bobbin.chambers", "0", "at least 1"),
    (("wall =", "chambers = []\nwall ="), "bobbin.chambers", "[]", "a list of their breadths"),
    (("wall =", 'chambers = "9 mm"\nwall ='), "bobbin.chambers", "'9 mm'", "a list of their breadths"),
    (("wall =", 'chambers = ["9 mm", 9]\nwall ='), "bobbin.chambers", "9", "A unit is never guessed"),
    (("wall =", 'partition = "1 mm"\nwall ='), "bobbin.partition", "'1 mm'", "two or more chambers"),
    # build
    ((STEP_1, '{ wind = "p", turns = 18 }'), "step 1 (wind p): wind", "'p'", "Did you mean 'P'?"),
    ((STEP_1, '{ wind = "P", turns = 18.5 }'), "step 1 (wind P): turns", "18.5", "only one outer leg"),
    (
        (STEP_1, '{ wind = "P", turns = "18 1/2" }'),
        "step 1 (wind P): turns",
        "'18 1/2'",
        "only one outer leg",
    ),
    ((STEP_1, '{ wind = "P", turns = 0 }'), "step 1 (wind P): turns", "0", "at least 1"),
    ((STEP_1, '{ wind = "P" }'), "step 1 (wind P): turns", "nothing", "required"),
    ((STEP_1, '{ wind = "P", turns = 18, chamber = 2 }'), "step 1 (wind P): chamber", "2", "to 1"),
    ((STEP_1, '{ wind = "P", turns = 18, leg = 2 }'), "step 1 (wind P): leg", "2", "only a U core"),
    (
        (STEP_1, '{ wind = "P", turns = 18, sector = "90 deg" }'),
        "step 1 (wind P): sector",
        "'90 deg'",
        "only on a toroid",
    ),
    (
        (STEP_1, '{ wind = "P", turns = 18, from_angle = "90 deg" }'),
        "step 1 (wind P): from_angle",
        "'90 deg'",
        "only on a toroid",
    ),
    (
        (STEP_1, '{ wind = "P", turns = 18, style = "scrambled" }'),
        "step 1 (wind P): style",
        "'scrambled'",
        "Did you mean 'scramble'?",
    ),
    (
        (STEP_1, '{ wind = "P", turns = 18, style = "scramble", close = true }'),
        "step 1 (wind P): close",
        "true",
        "no order",
    ),
    (
        (STEP_1, '{ wind = "P", turns = 18, thickness = "1 mm" }'),
        "step 1 (wind P): thickness",
        "without breadth",
        "both",
    ),
    (
        (STEP_1, '{ wind = "P", turns = 18, layers = 19 }'),
        "step 1 (wind P): layers",
        "19 layers",
        "one layer per",
    ),
    (
        (STEP_1, '{ wind = "P", turns = 18, beside = true }'),
        "step 1 (wind P): beside",
        "true",
        "right after a step",
    ),
    (
        (STEP_1, '{ wind = "P", turns = 18, with = ["P"] }'),
        "step 1 (wind P): with",
        "itself",
        "other windings",
    ),
    ((STEP_1, '{ wind = "P", turns = 18, with = ["T"] }'), "step 1 (wind P): with", "'T'", "P, S"),
    ((STEP_1, '{ wind = "P", turns = 18, with = "S" }'), "step 1 (wind P): with", "'S'", "a list of names"),
    (
        (STEP_1, '{ wind = "P", tape = "1 mm" }'),
        "step 1",
        "wind and tape",
        "one of wind, tape, spacer or",
    ),
    ((STEP_1, '{ wnd = "P", turns = 18 }'), "step 1", "the keys wnd, turns", "Did you mean 'wind'?"),
    ((STEP_1, "18"), "step 1", "18", "a table"),
    (
        (STEP_1, STEP_1 + ',\n{ shield = "0.05 mm", name = "E" }'),
        "step 2 (shield): width",
        "nothing",
        "required",
    ),
    ((STEP_1, STEP_1 + SHIELD.replace('"E"', '"P"')), "step 2 (shield): name", "'P' a second", "no winding"),
    ((STEP_1, STEP_1 + SHIELD.replace('"E"', '"core"')), "step 2 (shield): name", "'core'", "not the core"),
    ((STEP_1, STEP_1 + SHIELD + SHIELD), "step 3 (shield): name", "'E' a second time", "no other shield"),
    (
        (STEP_1, STEP_1 + SHIELD.replace(" }", ', tied = "P.begin" }')),
        "step 2 (shield): tied",
        "'P.begin'",
        "P.start, P.finish, S.start",
    ),
    (
        ("[build]", '[build]\ndirection = "upwards"'),
        "build.direction",
        "'upwards'",
        "'out', 'up'",
    ),
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
    (
        ("[bench]", '[[join]]\nname = "J"\n[bench]'),
        "join J: series",
        "neither series nor parallel",
        "one of the two",
    ),
    (("[bench]", '[[join]]\nname = "J"\nseries = ["P", "T"]\n[bench]'), "join J: series", "'T'", "P, S, J"),
    (
        ("[bench]", '[[join]]\nname = "S"\nseries = ["P"]\n[bench]'),
        "join S: name",
        "a second time",
        "no winding",
    ),
    (
        ("[bench]", '[[join]]\nname = "J"\nseries = ["P", "-P"]\n[bench]'),
        "join J: series",
        "more than once",
        "once",
    ),
    (
        ("[bench]", '[[join]]\nname = "J"\nseries = ["J"]\n[bench]'),
        "join J: series",
        "['J']",
        "contain themselves",
    ),
    (('name = "Lk_P"', 'name = "L_P"'), "test L_P: name", "a second time", "each name once"),
    (('short = ["S"]', 'short = ["s"]'), "test Lk_P: short", "'s'", "Did you mean 'S'?"),
    (('short = ["S"]', 'short = ["-P"]'), "test Lk_P: short", "P, which drive drives", "not driven"),
    (('short = ["S"]', "short = [1]"), "test Lk_P: short", "[1]", "a list of them"),
    (('sense = "S"', ""), "test n: sense", "nothing", "where the voltage is taken"),
    (('sense = "S"', 'sense = "P"'), "test n: sense", "'P'", "another winding"),
    (
        ('sense = "S"', 'sense = "S"\nshort = "S"'),
        "test n: sense",
        "S, which short shorts",
        "an open winding",
    ),
    (('short = ["S"]', 'sense = "S"'), "test Lk_P: sense", "'S'", "an impedance at drive"),
    (('frequency = "100 kHz"', ""), "test Lk_P: frequency", "nothing", "every measure but resistance"),
    (('"resistance"', '"resistance"\nlevel = "1 V"'), "test R_P: level", "'1 V'", "a direct-current test"),
    (('"ratio"', '"ratioo"'), "test n: measure", "'ratioo'", "Did you mean 'ratio'?"),
    (('"resistance"', '"capacitance"'), "test R_P: frequency", "nothing", "every measure but resistance and"),
    (('"resistance"', '"resonance"\nfrequency = "1 MHz"'), "test R_P: frequency", "'1 MHz'", "is sought"),
    (('"ratio"', '"capacitance"\nshort = ["P"]'), "test n: short", "P, which this test shorts", "or none"),
    (
        ('measure = "ratio"\ndrive = "P"', 'measure = "capacitance"\ndrive = "S"'),
        "test n: sense",
        "S",
        "another",
    ),
    (('min = "580 uH"', 'min = "680 uH"'), "test L_P: min", "'680 uH'", "at most max, 665 uH"),
    (('min = "580 uH"', 'min = "580 ohm"'), "test L_P: min", "'580 ohm'", "a unit of resistance"),
    (('min = "580 uH"', 'bias = "-1 A"'), "test L_P: bias", "'-1 A'", "a current"),
    (
        ('min = "580 uH"', 'tie = [["core", "P.begin"]]'),
        "test L_P: tie",
        "'P.begin'",
        "P.start, P.finish, S.start, S.finish, core",
    ),
    # bench, spread, calibration
    (
        ("short_ind", 'temperature = "23 K"\nshort_ind'),
        "bench.temperature",
        "'23 K'",
        "a temperature with its unit",
    ),
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
        ("[bench]", '[calibration]\ncapacitance = { factor = 1, uncertainty = "1 pF" }\n[bench]'),
        "calibration.capacitance.uncertainty",
        "1 pF",
        "",
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


# A name that cannot be used is missing where it was meant; a key that was misspelt and required is missing.
FOLLOWED = ("winding S,T: name", "winding -S: name", "winding P: name", "join 1: name", "test L_P: drives")
ALONE = [case for case in ONE_FAULT if case[1] not in FOLLOWED]


@pytest.mark.parametrize(("change", "place"), [case[:2] for case in ALONE], ids=[case[1] for case in ALONE])
def test_one_mistake_is_one_fault(change: tuple[str, str], place: str) -> None:
    assert [fault.place for fault in faults_of(SHORT.replace(*change, 1))] == [place]


def test_one_winding_in_single_brackets_is_one_fault() -> None:
    """Steps, joins and tests that name it are right."""
    text = """
[core]
shape = "E 25/13/7"
material = "MnZn 2300"
[bobbin]
wall = "1 mm"
flange = "1 mm"
[winding]
name = "P"
wire = { diameter = "0.5 mm", grade = 2 }
[build]
steps = [{ wind = "P", turns = 10 }]
[[test]]
name = "R"
measure = "resistance"
drive = "P"
"""
    assert [fault.place for fault in faults_of(text)] == ["winding"]


@pytest.mark.parametrize(
    "change",
    [
        ('"P"', '"LONG"'),
        ('drive = "P"', 'drive = "LONG"'),
        ("gap =", "LONG = 1\ngap ="),
        ("[bench]", "[LONG]"),
    ],
    ids=["name", "reference", "key", "table"],
)
def test_a_name_of_any_length_makes_a_message_that_can_be_read(change: tuple[str, str]) -> None:
    """It was repeated in whole, twice in each fault: 400 kB."""
    old, new = change
    assert old in SHORT
    faults = faults_of(SHORT.replace(old, new.replace("LONG", "L" * 100_000)))
    assert faults
    assert all(len(part) <= 1001 for fault in faults for part in vars(fault).values())


def test_all_faults_of_a_file_are_reported_at_once() -> None:
    text = SHORT
    for change in (
        ("title =", "titel ="),
        ('gap = "0.25 mm"', 'gap = "0,25 mm"'),
        ("MnZn 2300", "MnZn 23000"),
        ('wall = "1.1 mm"', "wall = 1.1"),
        ("grade = 2 }", "grade = 7 }"),
        ("turns = 18 }", "turns = 17.5 }"),
        ("wraps = 2 }", "wraps = 2, chamber = 0 }"),
        ('measure = "ratio"', 'measure = "resonanze"'),
        ('short = ["S"]', 'short = ["T"]'),
        ('short_inductance = "10 nH"', 'short_inductance = "10 mm"'),
    ):
        assert change[0] in text
        text = text.replace(*change, 1)
    text += '[spread]\nfoo = 1\n[operation]\nfrequency = "fast"\n[calibration]\nmean_turn = { factor = 0 }\n'
    assert sorted(fault.place for fault in faults_of(text)) == sorted(
        [
            "titel",
            "core.gap",
            "core.material",
            "bobbin.wall",
            "winding P: wire.grade",
            "step 1 (wind P): turns",
            "step 6 (tape): chamber",
            "test n: measure",
            "test Lk_P: short",
            "bench.short_inductance",
            "spread.foo",
            "operation.frequency",
            "calibration.mean_turn.factor",
            "calibration.mean_turn.uncertainty",
        ]
    )


@pytest.mark.parametrize("test", ["0", "{}", "false", "''"])
def test_tests_that_are_no_array_of_tables_are_not_replaced_by_the_usual_ones(test: str) -> None:
    without = SHORT[: SHORT.index("[[test]]")]
    assert len(parse_design("test = []\n" + without).tests) == 7
    (fault,) = faults_of(f"test = {test}\n" + without)
    assert (fault.place, fault.allowed) == ("test", "an array of tables, each written [[test]]")


def test_an_empty_file_lacks_core_windings_and_build() -> None:
    assert [fault.place for fault in faults_of("")] == ["core", "winding", "build"]


# --- dimensions ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("old", "new", "place", "rest"),
    [
        ('form = "E"', 'form = "e"', "core.dimensions.form", "Did you mean 'E'?"),
        ('form = "E"', 'form = "I"', "core.dimensions.form", "'U'"),
        ('form = "E"', "", "core.dimensions.form", "found nothing"),
        ('leg_width = "12 mm"', "", "core.dimensions.leg_width", "required"),
        ('leg_width = "12 mm"', 'leg_width = "0 mm"', "core.dimensions.leg_width", "above zero"),
        ('back = "6 mm"', 'bak = "6 mm"\nback = "6 mm"', "core.dimensions.bak", "Did you mean 'back'?"),
        ('back = "6 mm"', 'back = "6 mm"\nleg_corner = "7 mm"', "core.dimensions.leg_corner", "half"),
        ('back = "6 mm"', 'back = "6 mm"\neffective_area = "97 mm"', "core.dimensions.effective_area", "mm2"),
        ('back = "6 mm"', 'back = "6 mm"\ncover = 1.2', "core.dimensions.cover", "0 % to 100 %"),
        ('back = "6 mm"', 'back = "6 mm"\nheight = "1 mm"', "core.dimensions.height", "unknown key"),
    ],
)
def test_dimensions(old: str, new: str, place: str, rest: str) -> None:
    change = own_dimensions()
    text = SHORT.replace(*change, 1).replace(SHAPE, "", 1)
    parse_design(text)
    (fault,) = faults_of(text.replace(old, new, 1))
    assert fault.place == place
    assert rest in str(fault)


# --- toroids, foils, joins -------------------------------------------------------------------------

RING = (
    SHORT.replace("ETD 34/17/11", "R 36/23/15")
    .replace('gap = "0.25 mm"', "")
    .replace('flange = "1.0 mm"', "")
)
RING = RING.replace('al = "480 nH"', "").replace('al_tolerance = "5 %"', "")


@pytest.mark.parametrize(
    ("old", "new", "place", "rest"),
    [
        ("turns = 18 }", 'turns = 18, breadth = "9 mm" }', "step 1 (wind P): breadth", "not on a toroid"),
        ("turns = 18 }", "turns = 18, close = true }", "step 1 (wind P): close", "not on a toroid"),
        ("turns = 18 }", "turns = 18.5 }", "step 1 (wind P): turns", "through the hole a whole number"),
        ("[build]", '[build]\nmargin = "1 mm"', "build.margin", "no flanges"),
        ("wall =", 'flange = "1 mm"\nwall =', "bobbin.flange", "no flange on a toroid"),
        ("wall =", "chambers = 2\nwall =", "bobbin.chambers", "a step may cover a sector"),
        ("[build]", '[build]\ndirection = "up"', "build.direction", "layers go round the ring"),
        ("turns = 18 }", "turns = 18, chamber = 1 }", "step 1 (wind P): chamber", "a sector instead"),
        ("turns = 18 }", "turns = 18 }" + SHIELD, "step 2 (shield): shield", "around a leg only"),
        ("shape =", 'gap_legs = "spacer"\nshape =', "core.gap_legs", "a ring has no legs"),
        ("shape =", 'gap_at = "end"\nshape =', "core.gap_at", "a ring has no legs"),
        (
            WIRE_S,
            'wire = { foil = "0.1 mm", width = "9 mm" }\n',
            "step 3 (wind S): wind",
            "does not fan out",
        ),
        (
            "[bench]",
            '[spread]\nface_gap = "1 um"\n[bench]',
            "spread.face_gap",
            "only where there is a face_gap",
        ),
        ("shape =", 'gap_tolerance = "0.1 mm"\nshape =', "core.gap_tolerance", "only where there is a gap"),
    ],
)
def test_toroids(old: str, new: str, place: str, rest: str) -> None:
    parse_design(RING)
    matching = [fault for fault in faults_of(RING.replace(old, new, 1)) if fault.place == place]
    assert matching
    assert rest in str(matching[0])


def test_foils() -> None:
    foil = SHORT.replace(WIRE_S, 'wire = { foil = "0.1 mm", width = "18 mm" }', 1)
    parse_design(foil.replace("[build]", '[build]\ninterlayer = "0.05 mm"'))
    parse_design(foil.replace("turns = 6 }", 'turns = 6, interlayer = "0.05 mm" }'))
    parse_design(foil.replace("turns = 6 }", "turns = 1 }"))
    parse_design(foil.replace("turns = 6 }", 'turns = 6, thickness = "1 mm", breadth = "18 mm" }'))
    with_layers = foil.replace("turns = 6 }", 'turns = 6, layers = 2, interlayer = "0.05 mm" }')
    assert [fault.place for fault in faults_of(with_layers)] == ["step 3 (wind S): layers"]
    together = foil.replace("turns = 18 }", 'turns = 18, with = ["S"] }', 1).replace(
        "turns = 6 }", "turns = 1 }"
    )
    (fault,) = [fault for fault in faults_of(together) if fault.place == "step 1 (wind P): with"]
    assert "nothing fits beside it" in fault.hint


def test_tracks_stand_in_no_company_but_their_own() -> None:
    track = SHORT.replace(WIRE_S, 'wire = { trace = "70 um", width = "1 mm", spacing = "0.2 mm" }', 1)
    parse_design(track)
    together = track.replace("turns = 18 }", 'turns = 18, with = ["S"] }', 1)
    assert [fault.place for fault in faults_of(together)] == ["step 1 (wind P): with"]
    scrambled = track.replace("turns = 6 }", 'turns = 6, style = "scramble" }')
    assert [fault.place for fault in faults_of(scrambled)] == ["step 3 (wind S): style"]


def test_a_shield_has_no_name_of_a_join() -> None:
    text = SHORT.replace(STEP_1, STEP_1 + SHIELD, 1) + '[[join]]\nname = "E"\nseries = ["P", "S"]\n'
    assert [fault.place for fault in faults_of(text)] == ["step 2 (shield): name"]


def test_faults_of_bobbin_build_and_shields_come_together() -> None:
    text = SHORT.replace("[bobbin]", '[bobbin]\nchambers = 2\npartition = "1 mm"', 1)
    text = text.replace(STEP_1, STEP_1 + SHIELD.replace('"16 mm"', "16"), 1)
    text = text.replace("turns = 6 }", "turns = 6, chamber = 3 }")
    assert [fault.place for fault in faults_of(text)] == [
        "step 2 (shield): width",
        "step 1 (wind P): chamber",
        "step 4 (wind S): chamber",
        "step 6 (wind P): chamber",
    ]


def test_beside_belongs_right_after_a_step_that_winds() -> None:
    text = SHORT.replace("turns = 6 }", "turns = 6, beside = true }")
    assert [fault.place for fault in faults_of(text)] == ["step 3 (wind S): beside"]


def test_joins_in_a_circle() -> None:
    joins = '[[join]]\nname = "A"\nseries = ["P", "B"]\n[[join]]\nname = "B"\nparallel = ["A"]\n'
    above = '[[join]]\nname = "C"\nseries = ["S", "A"]\n'
    faults = faults_of(SHORT + joins + above)
    assert [fault.place for fault in faults] == ["join A: series", "join B: parallel"]


# --- settings, bench, catalogue, files -------------------------------------------------------------


@pytest.mark.parametrize(
    ("path", "value", "found", "rest"),
    [
        ("step9.wraps", "4", "step9", "step1 to step6"),
        ("step0.wraps", "4", "step0", "step1 to step6"),
        ("stp2.wraps", "4", "'stp2'", "Did you mean 'step2'?"),
        ("step2.wrap", "4", "an unknown key", "Did you mean 'wraps'?"),
        ("step2", "4", "'step2'", "a key path"),
        ("cor.gap", "0.3 mm", "'cor'", "Did you mean 'core'?"),
        ("core.gap", "0.3", "0.3", "a length with its unit"),
        ("core.gap.x", "1", "gap, which is '0.25 mm'", "a key inside a table"),
        ("core.", "1", "'core.'", "a key path"),
        ("winding.T.wire.diameter", "0.3 mm", "'T'", "P, S"),
        ("winding.P.wire.grad", "3", "an unknown key", "Did you mean 'grade'?"),
        ("test.LP.frequency", "1 kHz", "'LP'", "Did you mean 'L_P'?"),
        ("test.L_P.frequency", "1 mm", "'1 mm'", "a frequency"),
        ("spread.tap", "5 %", "an unknown key", "Did you mean 'tape'?"),
        ("core.dimension.form", "E", "an unknown key", "Did you mean 'dimensions'?"),
        ("bench.equivalent", "star", "'star'", "'series'"),
    ],
)
def test_settings(path: str, value: str, found: str, rest: str) -> None:
    (fault,) = faults_of(SHORT, settings=[(path, value)])
    assert fault.place == f"--set {path}"
    assert fault.file == ""
    assert found in fault.found
    assert rest in f"{fault.allowed}. {fault.hint}"


def test_a_setting_is_one_value() -> None:
    (fault,) = faults_of(SHORT, settings=[("step2.wraps", "4\nx = 1")])
    assert fault.place == "--set step2.wraps"


def test_a_faulty_bench_file_is_named() -> None:
    (fault,) = faults_of(SHORT, bench_text='short_inductanc = "3 nH"')
    assert (fault.file, fault.place) == ("bench", "bench.short_inductanc")
    (beside,) = faults_of(SHORT, bench_text='accuracy = "1 %"\n[bench]\nshort_inductance = "3 nH"')
    assert (beside.file, beside.place) == ("bench", "accuracy")
    (flat,) = faults_of(SHORT, bench_text="bench = 3")
    assert (flat.file, flat.found) == ("bench", "3")
    (toml,) = faults_of(SHORT, bench_text="short_inductance = 3 nH")
    assert (toml.file, toml.place) == ("bench", "line 1, column 22")


def test_faults_of_a_catalogue_come_with_those_of_the_design(tmp_path: Path) -> None:
    (tmp_path / "parts.toml").write_text('[[core]]\nname = "X"\n', encoding="utf-8")
    text = 'catalogue = ["parts.toml"]\n' + SHORT.replace('"0.25 mm"', "0.25", 1)
    found = {(fault.file, fault.place) for fault in faults_of(text, folder=tmp_path)}
    assert ("d.toml", "core.gap") in found
    assert any(file == "parts.toml" for file, _ in found)
    missing = faults_of('catalogue = ["none.toml"]\n' + SHORT, folder=tmp_path)
    assert [Path(fault.file).name for fault in missing] == ["none.toml"]


@pytest.mark.parametrize(
    ("old", "new", "place", "hint"),
    [
        ('gap = "0.25 mm"', "gap = 0.25 mm", "line 6, column 12", "in quotes"),
        ("[bobbin]", "[bobbin", "line 10, column 8", "Expected"),
        ('name = "P"', 'name = "P"\nname = "Q"', "line 16", "overwrite"),
        ("turns = 18 },", "turns = 18,\n },", "line 23", "on one line"),
        ("title = ", 'title = "', "line 1", ""),
    ],
)
def test_text_that_is_no_toml_is_reported_with_its_line(old: str, new: str, place: str, hint: str) -> None:
    (fault,) = faults_of(SHORT.replace(old, new, 1))
    assert fault.place.startswith(place), fault
    assert fault.allowed == "TOML"
    assert hint in fault.hint
    assert fault.file == "d.toml"


@pytest.mark.parametrize(
    "text", ["a = " + "[" * 20000, "a = 1" + "0" * 5000, 'title = "x\x00"', "a = 2024-13-01"]
)
def test_hostile_toml_is_a_design_error(text: str) -> None:
    faults_of(text)


@pytest.mark.parametrize("number", ["0x" + "f" * 5000, "1" + "0" * 400, "1e999", "nan", "1979-05-27"])
@pytest.mark.parametrize("key", ["turns = 18", "grade = 2", '"0.25 mm"', '"5 %"', '"480 nH"', "wraps = 3"])
def test_hostile_numbers_are_design_errors(key: str, number: str) -> None:
    name, _, value = key.rpartition(" = ")
    (fault, *_) = faults_of(SHORT.replace(key, f"{name} = {number}" if name else number, 1))
    assert len(fault.found) < 200, value


def test_files_that_cannot_be_read(tmp_path: Path) -> None:
    cases = {"none.toml": "no such file", ".": "directory", "latin.toml": "no UTF-8"}
    (tmp_path / "latin.toml").write_bytes('title = "Übertrager"'.encode("latin-1"))
    for name, found in cases.items():
        path = tmp_path / name
        with pytest.raises(DesignError) as caught:
            load_design(path)
        (fault,) = caught.value.faults
        assert fault.file == str(path)
        assert found in fault.found
    (tmp_path / "d.toml").write_text(SHORT, encoding="utf-8")
    with pytest.raises(DesignError, match="no such file") as caught:
        load_design(tmp_path / "d.toml", bench=tmp_path / "none.toml")
    assert caught.value.faults[0].file == str(tmp_path / "none.toml")


def test_windings_name_no_more_pins_than_the_bobbin_has() -> None:
    text = SHORT.replace(BOBBIN, f"{BOBBIN}\npins = 3")
    for name, ends in (("P", "12"), ("S", "34")):
        text = text.replace(
            f'name = "{name}"\nwire', f'name = "{name}"\nstart = "{ends[0]}"\nfinish = "{ends[1]}"\nwire'
        )
    (fault,) = faults_of(text)
    assert (fault.place, fault.found) == ("bobbin: pins", "3")
    assert fault.allowed == "at least 4: the windings start and finish at 1, 2, 3, 4"
    assert parse_design(text.replace("pins = 3", "pins = 4")).bobbin.pins == 4
