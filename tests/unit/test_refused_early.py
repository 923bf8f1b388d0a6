"""What a design or a readings file may not hold is refused before anything is computed, with its reason.

Each row was found by attack (mutated files and values): it took tens of seconds, gigabytes, a wrong number
without a word, or went through to pages and terminals.
"""

from __future__ import annotations

import os
import time
from pathlib import Path

import pytest

from aswound.compare.readings import load_readings, parse_readings
from aswound.predict.designfile import load_design
from aswound.predict.designfile.reader import parse_design
from aswound.predict.errors import AswoundError, DesignError, ReadingsError

SHORT = (Path(__file__).parent / "short.toml").read_text(encoding="utf-8")
TAPE = '{ tape = "0.06 mm", wraps = 3 }'
HEAD = "sample,test,reading\n"


def fault_of(text: str) -> str:
    began = time.process_time()
    with pytest.raises(AswoundError) as caught:
        parse_design(text)
    assert time.process_time() - began < 5.0
    return str(caught.value)


def changed(*pairs: tuple[str, str]) -> str:
    text = SHORT
    for before, after in pairs:
        assert before in text, before
        text = text.replace(before, after, 1)
    return text


@pytest.mark.parametrize("turns", [50_001, 100_000, 10**7, 10**9])
def test_too_many_turns(turns: int) -> None:
    text = fault_of(changed(("turns = 18", f"turns = {turns}")))
    assert f"step 1 (wind P): turns: found {turns}; allowed: a whole number from 1 to 50000" in text


def test_many_turns_that_do_not_fit_are_told_before_they_are_laid() -> None:
    assert "It does not fit" in fault_of(changed(("turns = 18", "turns = 50000")))


def test_too_many_steps() -> None:
    text = fault_of(changed((TAPE, ", ".join([TAPE] * 300))))
    assert "build.steps: found 305 steps; allowed: at most 80 steps" in text


def test_eighty_steps_are_read() -> None:
    thin = '{ tape = "0.001 mm", wraps = 1 }'
    count = SHORT.count("{ wind") + SHORT.count("{ tape")
    design = parse_design(changed((TAPE, ", ".join([TAPE] + [thin] * (80 - count)))))
    assert len(design.build.steps) == 80


SHIELD = "{ shield = '0.05 mm', width = '16 mm', name = 'E' }"
TURN = "{ wind = 'F', turns = 1 }"
BARE = [
    (TURN, SHIELD, "the shield E on foil F"),
    (SHIELD, TURN, "foil F on the shield E"),
    (TURN, TURN, "foil F on foil F"),
    (TURN, "{ wind = 'T', turns = 1 }", "tracks T on foil F"),
]


@pytest.mark.parametrize(("lower", "upper", "found"), BARE, ids=[row[2] for row in BARE])
@pytest.mark.parametrize("between", ["", "{ tape = '0.06 mm', wraps = 0 }, "])
def test_bare_conductors_that_touch(lower: str, upper: str, found: str, between: str) -> None:
    windings = ""
    if "'F'" in lower + upper:
        windings += "[[winding]]\nname = 'F'\nwire = { foil = '0.1 mm', width = '16 mm' }\n"
    if "'T'" in upper:
        windings += (
            "[[winding]]\nname = 'T'\nwire = { trace = '0.1 mm', width = '2 mm', spacing = '0.3 mm' }\n"
        )
    head = ("[build]", f"{windings}[build]")
    text = changed(head, ("steps = [", f"steps = [ {lower}, {between}{upper}, {TAPE}, "))
    assert f"found {found}, both bare" in fault_of(text)
    apart = changed(head, ("steps = [", f"steps = [ {lower}, {TAPE}, {upper}, {TAPE}, "))
    assert outcome(apart) == ""


def outcome(text: str) -> str:
    try:
        parse_design(text)
    except AswoundError as error:
        return str(error)
    return ""


def test_parallel_sections_of_a_foil_may_touch() -> None:
    winding = "[[winding]]\nname = 'F'\nsections = 'parallel'\nwire = { foil = '0.1 mm', width = '16 mm' }\n"
    step = "{ wind = 'F', turns = 1 }"
    text = changed(("[build]", f"{winding}[build]"), ("steps = [", f"steps = [ {step}, {step}, {TAPE}, "))
    assert outcome(text) == ""


@pytest.mark.parametrize(
    ("key", "found"),
    [
        ('temperature = "-101 degC"', "beyond what the models hold for"),
        ('temperature = "501 degC"', "beyond what the models hold for"),
        ('temperature = "-300 degC"', "below absolute zero"),
    ],
)
def test_temperatures(key: str, found: str) -> None:
    text = fault_of(changed(("[bench]", f"[bench]\n{key}")))
    assert found in text
    assert "from -100 to 500 degC" in text


def test_the_spread_of_the_temperature() -> None:
    assert "at most 50 K" in fault_of(SHORT + '\n[spread]\ntemperature = "51 K"\n')


def test_leads() -> None:
    text = fault_of(changed(('name = "P"\nwire', 'name = "P"\nlead_length = "90 m"\nwire')))
    assert "winding P: lead_length: found '90 m'; allowed: at most 10 m" in text


@pytest.mark.parametrize(("spread", "core"), [("al", "al_tolerance"), ("gap", "gap_tolerance")])
def test_a_tolerance_stated_twice(spread: str, core: str) -> None:
    text = changed(('al_tolerance = "5 %"', f'{core} = "5 %"'))
    assert f"core.{core} = '5 %'" in fault_of(f'{text}\n[spread]\n{spread} = "3 %"\n')
    assert outcome(f'{text}\n[spread]\n{spread} = "5 %"\n') == ""


def test_a_tie_that_shorts_what_is_driven() -> None:
    drive = 'measure = "inductance"\ndrive = "P"'
    tie = f'{drive}\ntie = [["P.start", "core"], ["core", "P.finish"]]'
    assert "found P shorted by the tie" in fault_of(changed((drive, tie)))
    series = 'measure = "inductance"\ndrive = ["P", "S"]\ntie = [["P.start", "S.finish"]]'
    assert "shorted by the tie" in fault_of(changed((drive, series)))
    opposed = series.replace('"S"]', '"-S"]').replace("S.finish", "S.start")
    assert "shorted by the tie" in fault_of(changed((drive, opposed)))
    assert outcome(changed((drive, f'{drive}\ntie = [["P.start", "S.start", "core"]]'))) == ""


def test_plates_that_are_wired_together() -> None:
    test = '[[test]]\nname = "C"\nmeasure = "capacitance"\ndrive = "P"\nsense = "S"\nfrequency = "10 kHz"\n'
    text = SHORT + "\n" + test
    assert outcome(text) == ""
    assert "drive and sense wired together" in fault_of(f'{text}tie = [["P.finish", "core", "S.start"]]\n')


def test_a_catalogue_is_a_plain_file_of_sane_size(tmp_path: Path) -> None:
    design = tmp_path / "d.toml"
    os.mkfifo(tmp_path / "pipe.toml")
    (tmp_path / "large.toml").write_bytes(b"#" * 2_000_001)
    (tmp_path / "latin.toml").write_bytes(b"# ok\n# 10 \xb5H\n")
    (tmp_path / "deep.toml").write_text("a = " + "[" * 5000, encoding="utf-8")
    for name, found in (
        ("/dev/zero", "a folder, a device or a pipe"),
        ("pipe.toml", "a folder, a device or a pipe"),
        (".", "a folder, a device or a pipe"),
        ("large.toml", "more than 2 MB"),
        ("latin.toml", "the byte B5 (hexadecimal) in line 2"),
        ("deep.toml", "TOML"),
    ):
        design.write_text(f'catalogue = ["{name}"]\n{SHORT}', encoding="utf-8")
        with pytest.raises(DesignError, match="catalogue") as caught:
            load_design(design)
        assert found in str(caught.value), name


def test_a_design_that_never_ends() -> None:
    with pytest.raises(DesignError, match="more than 2 MB"):
        load_design("/dev/zero")


def test_the_line_of_a_wrong_byte(tmp_path: Path) -> None:
    path = tmp_path / "d.toml"
    path.write_bytes(b'title = "a"\n# 10 \xb5H\n')
    with pytest.raises(DesignError, match="line 2: found the byte B5"):
        load_design(path)


@pytest.mark.parametrize(
    "sign", ["\\u001b[2J", "\\u202e", "\\u2066", "\\ufffe", "\\u0007", "\\u0085", "\\U0001ffff", "\\n"]
)
def test_titles_are_one_line_of_what_can_be_shown(sign: str) -> None:
    assert "title: found the character U+" in fault_of(changed(('title = "', f'title = "{sign}')))


@pytest.mark.parametrize("letters", ["Überträger 変圧器", "Ω µ × – “x” ½", "שנאי"])
def test_titles_in_any_script(letters: str) -> None:
    assert letters in parse_design(changed(('title = "', f'title = "{letters}'))).title


def test_notes_have_lines() -> None:
    text = changed(("[build]", '[build]\nnote = """one\n\ttwo"""'))
    assert parse_design(text).build.note == "one\n\ttwo"


def test_long_names_and_texts() -> None:
    assert "found 100000 characters" in fault_of(changed(('name = "L_P"', f'name = "{"L" * 100_000}"')))
    assert "characters in" in fault_of(changed(('title = "', f'title = "{"t" * 100_000}')))
    assert "characters" in fault_of(changed(("[build]", f'[build]\nnote = "{"t" * 10_001}"')))


@pytest.mark.parametrize(("names", "hint"), [("=cmd", "="), ("+cmd", "+"), ("@cmd", "@")])
def test_names_of_tests_that_a_spreadsheet_would_run(names: str, hint: str) -> None:
    text = fault_of(changed(('name = "L_P"', f'name = "{names}|x"')))
    assert f"no leading {hint!r}" in text


MESSAGES = [
    (("[[winding]]", "[winding]"), "Write every table [[winding]] in double brackets"),
    (('title = "', "title = “"), 'Write straight quotation marks (")'),
    (('name = "S"', 'name = "S'), "Close the quotation marks on the line where they open."),
    (('title = "', "title = "), "Text stands in quotation marks"),
    (('al_tolerance = "5 %"', "al_tolerance = 5"), 'did you mean "5 %"?'),
    (('measure = "inductance"', 'measure = "leakage"'), "That is measure = inductance, with short"),
]


@pytest.mark.parametrize(("pair", "hint"), MESSAGES, ids=[row[0][1] for row in MESSAGES])
def test_messages_say_what_is_meant(pair: tuple[str, str], hint: str) -> None:
    assert hint in fault_of(changed(pair))


def test_one_winding_in_single_brackets() -> None:
    text = '[core]\nshape = "ETD 34/17/11"\n[winding]\nname = "P"\n[build]\nsteps = []\n'
    assert "Write [[winding]] in double brackets" in fault_of(text)


# --- readings ----------------------------------------------------------------------------------------


DESIGN = parse_design(SHORT)


def readings_fault(text: str) -> str:
    began = time.process_time()
    with pytest.raises(ReadingsError) as caught:
        parse_readings(text, DESIGN)
    assert time.process_time() - began < 2.0
    return str(caught.value)


@pytest.mark.parametrize("letters", ["a" * 100_000, "x" + " " * 100_000 + "x", "[" * 100_000, "a [" * 33_000])
def test_long_headers(letters: str) -> None:
    assert "characters" in readings_fault(f"sample,test,reading,{letters}\nA1,L_P,614 uH,\n")


@pytest.mark.parametrize("column", ["sample", "reading", "stage", "batch", "unit", "temperature"])
def test_long_cells(column: str) -> None:
    heads = list(dict.fromkeys(["sample", "test", "reading", column]))
    cells = {"sample": "A1", "test": "L_P", "reading": "614 uH", "temperature": "23 degC"}
    cells[column] = "1" * 9_999
    row = ",".join(cells.get(head, "") for head in heads)
    assert f"line 2, {column}: found 9999 characters" in readings_fault(f"{','.join(heads)}\n{row}\n")


def test_cells_that_steer_a_terminal() -> None:
    text = readings_fault(HEAD + "A1\x1b[2J,L_P,614 uH\n")
    assert "line 2: found the character U+001B (escape)" in text
    assert "U+202E" in readings_fault(HEAD + "A\u202e1,L_P,614 uH\n")
    assert "U+FFFE" in readings_fault(HEAD + "A1\ufffe,L_P,614 uH\n")


def test_a_line_that_says_what_separates() -> None:
    for sign in ";,\t":
        text = f"sep={sign}\r\n" + HEAD.replace(",", sign) + f"A1{sign}L_P{sign}614 uH\n"
        (reading,) = parse_readings(text, DESIGN)
        assert (reading.sample, reading.value, reading.line) == ("A1", 614e-6, 3)


def test_names_of_samples_that_begin_like_a_comment() -> None:
    assert "line 3: found '#A2,L_P,1 uH', a row or a comment?" in readings_fault(
        HEAD + "A1,L_P,614 uH\n#A2,L_P,1 uH\n"
    )
    assert len(parse_readings(HEAD + "A1,L_P,614 uH\n# A2,L_P,1 uH\n#so far,so,good\n", DESIGN)) == 1


@pytest.mark.parametrize("slip", ["befor core", "before cor", "before croe", "beforee core", "Before kore"])
def test_a_stage_one_letter_off(slip: str) -> None:
    text = readings_fault(f"sample,test,reading,stage\nA1,R_P,0.24 ohm,{slip}\n")
    assert f"line 2, stage: found {slip!r}, one letter from 'before core'" in text


def test_stages_that_differ_by_a_letter() -> None:
    rows = "A1,L_P,614 uH,varnished\nA2,L_P,614 uH,varnished\nA1,R_P,0.24 ohm,varnishd\n"
    assert "'varnishd', one letter from 'varnished'" in readings_fault("sample,test,reading,stage\n" + rows)
    for one, other in (("step 1", "step 2"), ("assembled", "varnished"), ("Varnished", "varnished")):
        rows = f"A1,L_P,614 uH,{one}\nA1,L_P,615 uH,{other}\n"
        assert len(parse_readings("sample,test,reading,stage\n" + rows, DESIGN)) == 2


def test_readings_that_never_end() -> None:
    with pytest.raises(ReadingsError, match="more than 50 MB"):
        load_readings("/dev/zero", DESIGN)


def test_a_file_called_by_a_dash_is_told_what_to_write() -> None:
    for read in (load_design, lambda name: load_readings(name, DESIGN)):
        with pytest.raises(AswoundError, match="/dev/stdin"):
            read("-")


@pytest.mark.parametrize("above", ["", "a title\n"])
def test_a_table_of_more_columns_than_any_has(above: str) -> None:
    """It took 20 s to say so of 100 000."""
    began = time.process_time()
    text = readings_fault(f"{above}sample,test,reading{',x' * 1_000_000}\nA1,L_P,614 uH\n")
    assert time.process_time() - began < 5.0
    assert above or "found 1000003 columns; allowed: at most 10000 columns" in text


def test_numbers_of_a_catalogue_that_python_does_not_read(tmp_path: Path) -> None:
    """It was a fault of the tool (status 3); of a design the cure was to call a function of Python."""
    (tmp_path / "own.toml").write_text(f"[[core]]\nname = {'9' * 5000}\n", encoding="utf-8")
    (tmp_path / "d.toml").write_text('catalogue = ["own.toml"]\n' + SHORT, encoding="utf-8")
    with pytest.raises(AswoundError) as caught:
        load_design(tmp_path / "d.toml")
    (fault,) = caught.value.faults
    assert (fault.file, fault.found, fault.allowed) == (
        "own.toml",
        "a whole number of too many digits",
        "TOML",
    )
    assert "found a whole number of too many digits" in fault_of(f"x = {'9' * 5000}\n")


def test_a_catalogue_that_is_no_toml_shows_its_line(tmp_path: Path) -> None:
    (tmp_path / "own.toml").write_text("[[core]]\nname = E 25\n", encoding="utf-8")
    (tmp_path / "d.toml").write_text('catalogue = ["own.toml"]\n' + SHORT, encoding="utf-8")
    with pytest.raises(AswoundError) as caught:
        load_design(tmp_path / "d.toml")
    (fault,) = caught.value.faults
    assert fault.place.startswith("line 2, column ")
    assert fault.found == "'name = E 25'"


def test_a_file_that_was_cut_says_so() -> None:
    """A value whose text ends in its midst: the place is the end, and the cure asks for the rest."""
    with pytest.raises(DesignError) as caught:
        parse_design('title = "whole"\n[core]\nshape =')
    (fault,) = caught.value.faults
    assert fault.place == "end of document"
    assert fault.hint.endswith("is the file whole?")
