"""The keys of the design file: every one has its line; limits about a nominal value; kinds of designs; names
of the catalogue. Labels: unit, exact, cli."""

import json
import math
from contextlib import suppress
from dataclasses import replace
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator

from aswound.cli.main import main
from aswound.cli.schema import schema_text
from aswound.predict.catalogue.lookup import find_core, like, load_catalogue, nearest_rows
from aswound.predict.circuit.bench import readings
from aswound.predict.design import FORMS
from aswound.predict.designfile import key_words as words
from aswound.predict.designfile.key_table import key_lines
from aswound.predict.designfile.new_design import KINDS, design_like
from aswound.predict.designfile.reader import TOP_KEYS, load_design, parse_design
from aswound.predict.designfile.tables.bench import BENCH_KEYS, SPREAD_KEYS
from aswound.predict.designfile.tables.bench_tests import TEST_KEYS
from aswound.predict.designfile.tables.core import CORE_KEYS, dimension_keys
from aswound.predict.designfile.tables.steps import STEP_KINDS
from aswound.predict.errors import BuildError, CatalogueError, DesignError

FLYBACK = Path("samples/flyback-24w.toml").read_text(encoding="utf-8")
LINES = key_lines()

# --- keys -------------------------------------------------------------------------------------------


def test_every_key_of_the_reader_has_its_line_and_every_line_its_key() -> None:
    assert [line.path for line in LINES if not line.meaning or "…" in line.example] == []
    told = {
        "at the top": (words.TOP, TOP_KEYS),
        "[core]": (words.CORE, CORE_KEYS),
        "[bench]": (words.BENCH, BENCH_KEYS),
        "[spread]": (words.SPREAD_EXAMPLES, SPREAD_KEYS),
        "[[test]]": (words.TEST, TEST_KEYS),
        "step { wind }": (words.WIND, STEP_KINDS["wind"]),
        "[core.dimensions]": (words.DIMENSIONS, {key for form in FORMS for key in dimension_keys(form)}),
    }
    for section, (own, keys) in told.items():
        assert set(own) == set(keys) == {line.key for line in LINES if line.section == section}, section
    assert len({(line.section, line.key) for line in LINES}) == len(LINES) > 140


def test_a_dimension_of_some_forms_says_of_which() -> None:
    lines = [line for line in LINES if line.section == "[core.dimensions]" and line.key != "form"]
    assert any(line.only for line in lines)
    for line in lines:
        owners = [form for form in FORMS if line.key in dimension_keys(form)]
        assert line.only == ("" if len(owners) == len(FORMS) else ", ".join(owners)), line.key


@pytest.mark.parametrize(
    "section", ["[bobbin]", "[build]", "[bench]", "[spread]", "[operation]", "[calibration]"]
)
def test_the_examples_are_read(section: str) -> None:
    """Every example of a section, put into a design, is taken by the reader."""
    head = section.strip("[]")
    skipped = {"steps", "chambers", "partition", "partition_height", "pins"}
    for line in LINES:
        if line.section == section and line.key not in skipped:
            value = line.example.partition(" = ")[2]
            with suppress(BuildError):  # read, but more than this window holds
                parse_design(FLYBACK, name="x.toml", settings=[(f"{head}.{line.key}", value)])


def test_a_default_is_that_of_the_reader() -> None:
    found = {line.path: line.default for line in LINES}
    assert found["bench.short_inductance"] == "10 nH"
    assert found["bench.accuracy"] == "0.1 %"
    assert found["test.level"] == "1 V"
    assert found["build.allowance"] == "2 %"
    assert found["step.tape.permittivity"] == "3.3"
    assert found["spread.tape"] == "10 %"
    assert next(line for line in LINES if line.path == "winding.name").required


def test_keys_at_the_command_line(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    assert main(["keys", "short_inductance"]) == 0
    shown = capsys.readouterr().out
    assert 'short_inductance = "10 nH"' in shown
    assert "[bench]" in shown
    assert main(["keys", "--json"]) == 0
    assert len(json.loads(capsys.readouterr().out)["keys"]) == len(LINES)
    page = tmp_path / "keys.md"
    assert main(["keys", "-o", str(page)]) == 0
    assert page.read_text(encoding="utf-8").count("\n| `") == len(LINES)
    assert main(["keys", "wrops"]) == 2
    assert "wraps" in capsys.readouterr().err


def test_keys_as_data_are_as_their_schema_says(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["keys", "--json"]) == 0
    value = json.loads(capsys.readouterr().out)
    Draft202012Validator(json.loads(schema_text("keys"))).validate(value)


# --- nominal and tolerance --------------------------------------------------------------------------


def limits(*lines: str) -> tuple[float | None, float | None]:
    old = 'min = "560 uH"\nmax = "660 uH"\n'
    assert old in FLYBACK
    test = parse_design(FLYBACK.replace(old, "\n".join(lines) + "\n"), name="x.toml").tests[0]
    return test.minimum, test.maximum


@pytest.mark.parametrize(
    ("tolerance", "low", "high"),
    [
        ('"10 %"', 540e-6, 660e-6),
        ("0.1", 540e-6, 660e-6),
        ('"30 uH"', 570e-6, 630e-6),
        ('["-5 %", "+10 %"]', 570e-6, 660e-6),
        ('["20 uH", "5 %"]', 580e-6, 630e-6),
    ],
)
def test_limits_about_a_nominal_value(tolerance: str, low: float, high: float) -> None:
    """Exact: nominal times one minus, and one plus, the tolerance."""
    assert limits('nominal = "600 uH"', f"tolerance = {tolerance}") == pytest.approx((low, high), rel=1e-12)


@pytest.mark.parametrize(
    ("lines", "place"),
    [
        (['nominal = "600 uH"'], "nominal"),
        (['tolerance = "5 %"'], "tolerance"),
        (['nominal = "600 uH"', 'tolerance = "5 %"', 'min = "1 uH"'], "min"),
        (['nominal = "600 uH"', 'tolerance = ["+5 %", "-5 %"]'], "tolerance"),
        (['nominal = "600 uH"', 'tolerance = ["5 %"]'], "tolerance"),
        (['nominal = "600 ohm"', 'tolerance = "5 %"'], "nominal"),
        (['nominal = "600 uH"', 'tolerance = "-5 %"'], "tolerance"),
    ],
)
def test_limits_that_cannot_be_read_name_their_key(lines: list[str], place: str) -> None:
    with pytest.raises(DesignError) as caught:
        limits(*lines)
    assert [fault.place for fault in caught.value.faults] == [f"test L_P: {place}"]


# --- kinds of designs -------------------------------------------------------------------------------


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_predicts_at_once_and_is_commented(
    kind: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / f"{kind}.toml"
    assert main(["new", str(path), "--like", kind]) == 0
    design = load_design(path)
    assert all(math.isfinite(value) for value in readings(design))
    text = path.read_text(encoding="utf-8")
    assert text == design_like(kind)
    assert "safety standard" in text
    assert text.count("#") > 8
    assert f"of the kind '{kind}'" in " ".join(capsys.readouterr().err.split())


def test_a_kind_that_is_none_and_both_options_are_refused(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["new", str(tmp_path / "x.toml"), "--like", "flyback2"]) == 2
    assert "flyback" in capsys.readouterr().err
    assert main(["new", str(tmp_path / "x.toml"), "--like", "flyback", "--core", "RM 8"]) == 2
    assert main(["new", str(tmp_path / "x.toml")]) == 2
    assert list(tmp_path.iterdir()) == []


# --- the catalogue ----------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["ETD 34/17/11", "etd34/17/11", "ETD-34 17 11", "etd 34 x 17 x 11"])
def test_a_cores_name_with_any_spacing(name: str) -> None:
    assert find_core(load_catalogue(), name).name == "ETD 34/17/11"


def test_a_lamination_in_a_stack_of_ones_own() -> None:
    """Exact: the area of the leg goes with the height of the stack."""
    catalogue = load_catalogue()
    for name in ("EI 66/40", "EI66x40", "ei 66 stack 40 mm"):
        core = find_core(catalogue, name)
        assert core.name == "EI 66/40"
        assert core.dimensions.leg_depth == core.dimensions.outer_depth == pytest.approx(40e-3)
    with pytest.raises(CatalogueError, match="a stack from"):
        find_core(catalogue, "EI 66/400")
    text = FLYBACK.replace('shape = "ETD 29/16/10"', 'shape = "EI 66/40"\nstacking_factor = 0.95')
    core = parse_design(text, name="x.toml").core
    assert core.effective_area == pytest.approx(0.95 * 22e-3 * 40e-3, rel=1e-6)


def test_unknown_names_point_to_the_nearest_rows(capsys: pytest.CaptureFixture[str]) -> None:
    catalogue = load_catalogue()
    with pytest.raises(DesignError) as caught:
        parse_design(FLYBACK.replace("MnZn 2300", "MnZn 2500"), name="x.toml")
    assert "Nearest: MnZn 2300" in caught.value.faults[0].hint
    assert "'aswound materials'" in caught.value.faults[0].hint
    assert nearest_rows("ETD 40", catalogue.cores)[0] == "ETD 39/20/13"
    assert nearest_rows("T 25/15/10", catalogue.cores)[0] == "R 25/15/10"
    with pytest.raises(DesignError) as caught:
        parse_design(FLYBACK.replace('diameter = "0.20 mm"', 'diameter = "4.5 mm"'), name="x.toml")
    assert "'aswound wires'" in caught.value.faults[0].hint
    assert main(["cores", "zz 34"]) == 2
    assert "Nearest: " in capsys.readouterr().err


def test_the_catalogue_by_words_of_the_trade(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["cores", "ring", "--json"]) == 0
    rows = json.loads(capsys.readouterr().out)["cores"]
    assert {row["family"] for row in rows} == {"toroid"}
    assert main(["cores", "EI 66/40", "--json"]) == 0
    (row,) = json.loads(capsys.readouterr().out)["cores"]
    assert row["name"] == "EI 66/40"
    assert main(["materials", "power ferrite", "--json"]) == 0
    rows = json.loads(capsys.readouterr().out)["materials"]
    assert {row["name"] for row in rows} == {"MnZn 2000", "MnZn 2300", "MnZn 3000"}
    assert main(["materials", "100 °C", "--json"]) == 0
    rows = json.loads(capsys.readouterr().out)["materials"]
    assert {row["name"] for row in rows} == {"MnZn 2300", "MnZn 3000"}
    assert all(like(material) for material in load_catalogue().materials.values())


def test_a_resonant_part_is_explained_whatever_chamber_it_is_in() -> None:
    """Exact: layers that touch leave no room between them, and rounding leaves none below zero either."""
    design = parse_design(design_like("resonant"), name="x.toml")
    steps = tuple(
        replace(step, chamber=2) if getattr(step, "winding", "") == "P" else step
        for step in design.build.steps
    )
    other = replace(design, build=replace(design.build, steps=steps))
    assert all(math.isfinite(value) for value in readings(other))
