"""The published JSON Schemas against the contract's keys, and what every command prints against them."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from how_many import and_slow
from jsonschema import Draft202012Validator
from small_design import SMALL, SMALL_READINGS

from aswound.cli.application import application
from aswound.cli.documents import DOCUMENTS
from aswound.cli.main import main
from aswound.cli.schema import schema_text
from aswound.compare.lots.statistics import CONFIDENCE, CONTENT
from aswound.compare.meter import COVERAGE
from aswound.compare.plan.frequency_window import WITHIN
from aswound.compare.plan.process_readings import SURE
from aswound.compare.verdict import DEVIATES
from aswound.compare.verdict.comparison import AGREEMENT
from aswound.compare.verdict.stages import MOVED
from aswound.predict.production import HIGH, LOW

SAMPLES = Path(__file__).parents[2] / "samples"
NAMES = ("flyback-24w", "bridge-300w", "gate-drive")
SCHEMAS = sorted(DOCUMENTS)

CONTRACT: dict[str, dict[str, set[str]]] = {
    "predict": {
        "": {"design", "version", "core", "windings", "layers", "fill", "tests", "cautions"},
        "core": {"effective_area_m2", "effective_length_m", "inductance_factor_H"},
        "windings": {"name", "turns", "dc_resistance_ohm", "wire_length_m"},
        "layers": {"winding", "turns", "inner_m", "outer_m", "from_m", "to_m"},
        "tests": {"name", "measure", "unit", "predicted", "low", "high", "standard_uncertainty", "drivers"},
        "tests.drivers": {"parameter", "share"},
    },
    "compare": {
        "": {"samples"},
        "samples": {"sample", "tests", "checks"},
        "samples.tests": {
            *("name", "unit", "predicted", "predicted_uncertainty", "read", "read_uncertainty", "deviation"),
            *("score", "agrees", "limits", "verdict", "conformity"),
        },
        "samples.tests.limits": {"min", "max"},
        "samples.checks": {"check", "holds", "score", "detail"},
    },
    "explain": {
        "": {"samples"},
        "samples": {"sample", "as_designed", "unlisted", "causes", "next_tests", "families"},
        "samples.families": {"name", "causes", "probability"},
        "samples.causes": {
            *("cause", "class", "where", "title", "amount", "probability", "marginal", "also", "confirm"),
            *("remedy", "readings"),
        },
        "samples.causes.also": {"cause", "where", "amount"},
        "samples.causes.readings": {"name", "expected", "read", "score"},
        "samples.next_tests": {"measure", "drive", "short", "sense", "frequency", "bits", "why"},
    },
    "lot": {
        "": {"samples", "tests", "shared_cause"},
        "tests": {
            *("name", "unit", "n", "mean", "standard_deviation", "predicted", "cpk", "cpk_lower", "outside"),
        },
    },
    "report": {"": {"file", "verdicts", "predict", "plan", "compare", "explain", "lot"}},
    "interleave": {
        "": {"arrangements"},
        "arrangements": {
            *("order", "steps", "leakage_H", "capacitance_F", "ac_resistance_ohm", "fill", "joints"),
            *("insulated_faces", "best"),
        },
    },
}
"""Required keys by path; arrays are looked through."""


def schema_of(command: str) -> dict[str, Any]:
    value: dict[str, Any] = json.loads(schema_text(command))
    return value


def resolved(node: dict[str, Any], root: dict[str, Any]) -> dict[str, Any]:
    """A schema with what it refers to, and its alternatives, merged in."""
    merged: dict[str, Any] = {"properties": {}, "required": []}
    parts = [node, *node.get("allOf", ()), *node.get("anyOf", ())]
    if "$ref" in node:
        parts.append(root["$defs"][node["$ref"].rsplit("/", 1)[-1]])
    for part in parts:
        if part is not node:
            part = resolved(part, root)
        merged["properties"] |= part.get("properties", {})
        merged["required"] = [*merged["required"], *part.get("required", ())]
        for key in ("items", "additionalProperties", "description"):
            if key in part:
                merged.setdefault(key, part[key])
    return merged


def at(path: str, root: dict[str, Any]) -> dict[str, Any]:
    node = resolved(root, root)
    for name in path.split(".") if path else ():
        node = resolved(node["properties"][name], root)
        if "items" in node:
            node = resolved(node["items"], root)
    return node


def undescribed(value: Any, node: dict[str, Any], root: dict[str, Any], path: str = "") -> Iterator[str]:
    """Keys of ``value`` that the schema does not name, and properties without a description."""
    node = resolved(node, root)
    if isinstance(value, dict):
        for key, part in value.items():
            inner = node["properties"].get(key, node.get("additionalProperties"))
            if not isinstance(inner, dict):
                yield f"{path}.{key}"
            else:
                if "description" not in resolved(inner, root) and key in node["properties"]:
                    yield f"{path}.{key}: no description"
                yield from undescribed(part, inner, root, f"{path}.{key}")
    elif isinstance(value, list):
        for part in value:
            yield from undescribed(part, node.get("items", {}), root, f"{path}[]")


def checked(command: str, arguments: list[str], capsys: pytest.CaptureFixture[str]) -> Any:
    """The JSON of a command, valid by its schema and with every key described there."""
    status = main([command, *arguments, "--json"])
    out, errors = capsys.readouterr()
    assert status in (0, 1), errors
    value = json.loads(out)
    schema = schema_of(command)
    Draft202012Validator(schema).validate(value)
    if command == "report":
        return value  # its parts have schemas of their own
    assert sorted(set(undescribed(value, schema, schema))) == []
    return value


@pytest.mark.parametrize("command", SCHEMAS)
def test_a_schema_is_valid_and_open(command: str) -> None:
    schema = schema_of(command)
    Draft202012Validator.check_schema(schema)
    assert schema["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    assert '"additionalProperties": false' not in schema_text(command)
    assert schema["$id"].startswith("urn:"), "nothing to fetch"


@pytest.mark.parametrize("command", [name for name in CONTRACT if name in SCHEMAS])
def test_every_key_of_the_contract_is_required(command: str) -> None:
    schema = schema_of(command)
    for path, keys in CONTRACT[command].items():
        assert keys <= set(at(path, schema)["required"]), path


def test_every_command_with_json_has_a_schema() -> None:
    import typer

    group = typer.main.get_command(application())
    commands: dict[str, Any] = group.commands  # type: ignore[attr-defined]
    with_json = {
        name
        for name, command in commands.items()
        if any("--json" in option.opts for option in command.params)
    }
    assert with_json == set(SCHEMAS)


ONE_OR_SLOW = ["flyback-24w", *and_slow(*NAMES[1:])]
"""One sample with every run; all of them with --slow and in .ci/run."""


@pytest.mark.parametrize("name", ONE_OR_SLOW)
@pytest.mark.parametrize("command", ["predict", "plan", "compare", "explain"])
def test_samples_in_eighty_columns(capsys: pytest.CaptureFixture[str], name: str, command: str) -> None:
    arguments = [command, str(SAMPLES / f"{name}.toml")]
    if command in ("compare", "explain"):
        arguments.append(str(SAMPLES / f"{name}.csv"))
    status = main(arguments)
    out, err = capsys.readouterr()
    assert status == (1 if command in ("compare", "explain") else 0)
    assert err == ""
    assert max(len(line) for line in out.splitlines()) <= 80
    assert "qualified person" in out


FOUND = {
    "flyback-24w": {
        "A1": None,
        "A2": ("turns", "S"),
        "A3": ("order", "P"),
        "A4": ("bunched", "S"),
        "A5": ("short-link", "bench"),
    },
    "bridge-300w": {
        "B1": None,
        "B2": ("unseated", "core"),
        "B3": ("strand", "S"),
        "B4": ("display", "bench"),
    },
    "gate-drive": {"C1": None, "C2": ("reversed", "G2"), "C3": ("temperature", "bench"), "C4": ("wire", "D")},
}
"""What is wrong with each sample, as the comments in the readings files say."""


@pytest.mark.parametrize("name", ONE_OR_SLOW)
def test_explain_finds_what_is_wrong(capsys: pytest.CaptureFixture[str], name: str) -> None:
    value = checked("explain", [str(SAMPLES / f"{name}{ending}") for ending in (".toml", ".csv")], capsys)
    for sample in value["samples"]:
        truth = FOUND[name][sample["sample"]]
        total = (
            sample["as_designed"]
            + sample["unlisted"]
            + sum(cause["probability"] for cause in sample["causes"])
        )
        assert total == pytest.approx(1.0, abs=1e-9)
        best = sample["causes"][0]
        if truth is None:
            assert sample["as_designed"] > max(0.4, 2.5 * best["probability"])
        else:
            assert (best["cause"], best["where"]) == truth
            like = [group["probability"] for group in sample["alike"]]  # causes that no reading tells apart
            assert max(best["probability"], *like, 0.0) > 0.5
        keys = {
            "cause",
            "class",
            "where",
            "title",
            "amount",
            "probability",
            "marginal",
            "also",
            "confirm",
            "remedy",
        }
        assert keys <= best.keys()
        assert {"name", "expected", "read", "score"} <= best["readings"][0].keys()
        assert isinstance(sample["next_tests"], list)


SHORTED = """
[[test]]
name = "Lk_P"
measure = "inductance"
drive = "P"
short = ["S"]
frequency = "100 kHz"
"""


@pytest.fixture(scope="module")
def files(tmp_path_factory: pytest.TempPathFactory) -> dict[str, tuple[str, str]]:
    """Design and readings of the samples, and of the small design."""
    folder = tmp_path_factory.mktemp("files")
    (folder / "small.toml").write_text(SMALL + SHORTED, encoding="utf-8")
    (folder / "small.csv").write_text(SMALL_READINGS, encoding="utf-8")
    places = dict.fromkeys(NAMES, SAMPLES) | {"small": folder}
    return {name: (str(place / f"{name}.toml"), str(place / f"{name}.csv")) for name, place in places.items()}


SMALL_OR_SLOW = ["small", *and_slow(*NAMES)]
"""The small design with every run; the samples with --slow and in .ci/run."""


@pytest.mark.parametrize("name", SMALL_OR_SLOW)
def test_commands_of_a_design(
    name: str, files: dict[str, tuple[str, str]], capsys: pytest.CaptureFixture[str]
) -> None:
    design, _ = files[name]
    checked("predict", [design, "--builds", "100", "--set", "core.face_gap=4 um"], capsys)
    checked("plan", [design, "--limits"], capsys)
    checked("interleave", [design, "--most-sections", "2", "--most", "40", "--builds", "0"], capsys)
    if name in ("small", "gate-drive"):  # the quickest of them
        aim = "Lk_G1 <= 1 uH" if name == "gate-drive" else "Lk_P <= 2 uH"
        checked(
            "interleave",
            [design, "--most-sections", "1", "--most", "2", "--builds", "0", "--aim", aim],
            capsys,
        )
    checked("sweep", [design, "--points", "20", "--builds", "100"], capsys)
    checked("netlist", [design, "--from", "10 kHz", "--to", "100 kHz"], capsys)


@pytest.mark.parametrize("name", SMALL_OR_SLOW)
def test_commands_of_readings(
    name: str, files: dict[str, tuple[str, str]], capsys: pytest.CaptureFixture[str]
) -> None:
    checked("compare", list(files[name]), capsys)
    checked("lot", list(files[name]), capsys)
    if name == "gate-drive":
        checked("compare", [*files[name], "--learn"], capsys)


def test_the_data_of_what_is_learned(
    files: dict[str, tuple[str, str]], capsys: pytest.CaptureFixture[str]
) -> None:
    checked("compare", [*files["small"], "--learn"], capsys)


def _alike(one: object, other: object) -> bool:
    """Equal, numbers to 1e-9: in a report the lot shares the forward runs of ``explain``, whose batches are
    longer, so that the last digit of a sum may differ."""
    if isinstance(one, dict) and isinstance(other, dict):
        return one.keys() == other.keys() and all(_alike(one[key], other[key]) for key in one)
    if isinstance(one, list) and isinstance(other, list):
        return len(one) == len(other) and all(map(_alike, one, other))
    if isinstance(one, float) and isinstance(other, float):
        return one == pytest.approx(other, rel=1e-9, abs=1e-30)
    return one == other


@pytest.mark.parametrize(
    ("name", "read"),
    [("small", True), *and_slow(("small", False), ("gate-drive", True))],
)
def test_the_report_is_its_commands_together(
    name: str,
    read: bool,
    files: dict[str, tuple[str, str]],
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """Valid by the bundled schema, and part by part what each command prints of the same inputs."""
    design, page, readings = files[name][0], tmp_path / "page.html", tmp_path / "lot.csv"
    head, *rows = Path(files[name][1]).read_text(encoding="utf-8").splitlines()
    first = rows[0].partition(",")[0] if name == "small" else "C1"
    again = [row.replace(first, f"Z{k}", 1) for k in range(3) for row in rows if row.startswith(f"{first},")]
    readings.write_text("\n".join([head, *rows, *again, ""]), encoding="utf-8")  # five and more: a lot
    given = [design, str(readings)] if read else [design]
    value = checked("report", [*given, "-o", str(page), "--builds", "100"], capsys)
    assert value["file"] == str(page)
    assert page.exists()
    assert value["predict"] == checked("predict", [design, "--builds", "100"], capsys)
    assert value["plan"] == checked("plan", [design], capsys)
    for command in ("compare", "explain", "lot"):
        assert _alike(value[command], checked(command, given, capsys) if read else None), command
    assert [row["sample"] for row in value["verdicts"]] == (
        [sample["sample"] for sample in value["compare"]["samples"]] if read else []
    )


def test_a_bundled_schema_looks_into_its_parts() -> None:
    """A wrong key deep in a part is refused: the references lead somewhere."""
    schema = Draft202012Validator(schema_of("report"))
    errors = {
        error.json_path for error in schema.iter_errors({"predict": {"tests": 3}, "lot": {"samples": 0}})
    }
    assert "$.predict.tests" in errors
    assert "$.lot" in errors


def test_stages_and_missing_readings(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    readings = tmp_path / "stages.csv"
    readings.write_text(
        "sample,test,reading,stage\nA,R_P,562 mohm,wound\nA,L_P,591 uH,assembled\nA,L_P,570 uH,varnished\n"
        "A,Lk_P,OL,assembled\n",
        encoding="utf-8",
    )
    value = checked("compare", [str(SAMPLES / "flyback-24w.toml"), str(readings)], capsys)
    assert value["stages"]


def test_readings_without_a_design(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    readings = tmp_path / "part.csv"
    readings.write_text(
        "sample,test,reading\nA,L_P,591 uH\nA,L_S,10.5 uH\nA,Lk_P_S,3.7 uH\nA,n_P_S,7.49\nA,R_P,0.56 ohm\n",
        encoding="utf-8",
    )
    value = checked("check", [str(readings), "--ratio", "7.5"], capsys)
    assert value["samples"][0]["checks"]
    assert value["samples"][0]["derived"]


@pytest.mark.parametrize("command", ["cores", "wires", "materials"])
def test_catalogues(command: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert checked(command, [], capsys)[command]


def test_a_schema_can_refuse() -> None:
    schema = Draft202012Validator(schema_of("lot"))
    assert not schema.is_valid({"samples": 3, "tests": []})
    assert not schema.is_valid({"samples": "3", "tests": [], "shared_cause": []})
    assert schema.is_valid({"samples": 3, "tests": [], "shared_cause": [], "more": True})


def test_the_command_prints_the_file(capsysbinary: pytest.CaptureFixture[bytes]) -> None:
    assert main(["schema", "predict"]) == 0
    assert capsysbinary.readouterr().out.decode() == schema_text("predict")


def test_an_unknown_schema_is_refused(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["schema", "predct"]) == 2
    assert "Did you mean 'predict'?" in capsys.readouterr().err


def test_without_a_name_all_are_listed(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["schema"]) == 0
    out = capsys.readouterr().out
    assert all(name in out for name in SCHEMAS)


@pytest.mark.slow
def test_explaining_together(capsys: pytest.CaptureFixture[str]) -> None:
    files = [str(SAMPLES / "gate-drive.toml"), str(SAMPLES / "gate-drive.csv")]
    assert "together" in checked("explain", [*files, "--together"], capsys)


def descriptions(node: Any, key: str = "") -> Iterator[tuple[str, str, bool]]:
    """(key, what is said of it, whether it has keys of its own) of everything in a schema."""
    if isinstance(node, dict):
        if isinstance(node.get("description"), str):
            yield key, node["description"], "properties" in node
        for name, part in node.items():
            for inner, each in part.items() if name == "properties" else ((key, part),):
                yield from descriptions(each, inner)
    elif isinstance(node, list):
        for part in node:
            yield from descriptions(part, key)


UNITS = {
    **{unit: unit for unit in ("m", "Hz", "H", "F", "V", "T", "kg", "ohm")},
    "m2": "m²",
    "ohm_m": "ohm m",
    "degC": "°C",
}
"""How a key ends that holds a quantity, and its unit in words."""


@pytest.mark.parametrize("command", SCHEMAS)
def test_words_have_the_unit_that_the_key_has(command: str) -> None:
    for key, text, whole in descriptions(schema_of(command)):
        ends = [unit for unit in UNITS if key.endswith(f"_{unit}")]
        if ends and not whole and "_per_" not in key:
            assert UNITS[max(ends, key=len)] in re.findall(r"\(([^;)]*)", text), f"{key}: {text}"


def test_words_say_the_bounds_and_probabilities_in_use() -> None:
    """Of the ranges, the coverage of uncertainties, and of verdicts, in all documents."""
    every = {(key, text) for name in SCHEMAS for key, text, _ in descriptions(schema_of(name))}
    points = [(key, text) for key, text in every if "% point" in text]
    assert len({key for key, _ in points}) == 4
    for key, text in points:
        point = LOW if key.endswith("low") else HIGH
        assert f"{100 * point:g} % point" in text, f"{key}: {text}"
    covered = [(key, text) for key, text in every if re.search(r"\(k = \d", text) and "uncertaint" in key]
    assert len(covered) > 5
    assert all("(k = 1)" in text for _, text in covered)
    told = {key: [text for other, text in every if other == key] for key, _ in every}
    for key, text in (
        ("agrees", f"|score| <= {AGREEMENT:g}."),
        ("moved", f"|score| > {MOVED:g}."),
        ("deviates", f"beyond {DEVIATES:g}."),
        ("guard_band", f"(k = {COVERAGE:g})"),
        ("cpk_lower", f"{100 * CONFIDENCE:g} % confidence bound"),
        ("tolerance_low", f"holds {100 * CONTENT:g} % of parts with {100 * CONFIDENCE:g} % confidence"),
        ("told", f"at least {100 * SURE:g} % of such parts"),
        ("window", f"within {100 * WITHIN:g} %"),
        ("amount_low", "90 % interval"),
        ("amount_high", "90 % interval"),
    ):
        assert any(text in each for each in told[key]), f"{key}: {told[key]}"
