"""Every command as a user runs it: output, streams, exit status, JSON keys."""

from __future__ import annotations

import inspect
import json
from pathlib import Path
from typing import Any

import pytest

from aswound.cli.explain import explain_command
from aswound.cli.main import main
from aswound.cli.options import share_of
from aswound.compare.diagnosis.evidence import PRIOR_AS_DESIGNED

SAMPLES = Path(__file__).parents[2] / "samples"
FLYBACK = str(SAMPLES / "flyback-24w.toml")
READINGS = str(SAMPLES / "flyback-24w.csv")


def run(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, str, str]:
    status = main(list(arguments))
    shown = capsys.readouterr()
    return status, shown.out, shown.err


def run_json(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, Any]:
    status, out, err = run(capsys, *arguments, "--json")
    assert err == ""
    return status, json.loads(out)


def test_predict_json(capsys: pytest.CaptureFixture[str]) -> None:
    status, value = run_json(capsys, "predict", FLYBACK, "--builds", "200")
    assert status == 0
    assert {"design", "version", "core", "windings", "layers", "fill", "tests", "cautions"} <= value.keys()
    assert {"effective_area_m2", "effective_length_m", "inductance_factor_H"} <= value["core"].keys()
    assert {"name", "turns", "dc_resistance_ohm", "wire_length_m"} <= value["windings"][0].keys()
    assert value["leakage_model"].keys() == {"name", "standard_error"}
    assert 0 < value["leakage_model"]["standard_error"] < 0.1
    assert {"winding", "turns", "inner_m", "outer_m", "from_m", "to_m"} <= value["layers"][0].keys()
    for test in value["tests"]:
        assert {"name", "measure", "unit", "predicted", "low", "high", "standard_uncertainty"} <= test.keys()
        assert sum(driver["share"] for driver in test["drivers"]) == pytest.approx(1.0)
        assert test["low"] < test["high"]


def test_ring_has_no_place_along_a_leg(capsys: pytest.CaptureFixture[str]) -> None:
    _, value = run_json(capsys, "predict", str(SAMPLES / "gate-drive.toml"), "--builds", "200")
    assert all(layer["from_m"] is None and layer["to_m"] is None for layer in value["layers"])


def test_a_change_is_shown_beside(capsys: pytest.CaptureFixture[str]) -> None:
    _, value = run_json(capsys, "predict", FLYBACK, "--builds", "200", "--set", "step2.wraps=6")
    before, after = (
        {test["name"]: test["predicted"] for test in side["tests"]} for side in (value, value["changed"])
    )
    assert after["Lk_P"] > 1.05 * before["Lk_P"]
    assert after["L_P"] == pytest.approx(before["L_P"], rel=0.01)
    status, out, _ = run(capsys, "predict", FLYBACK, "--builds", "200", "--set", "step2.wraps=6")
    assert status == 0
    assert "Changed: step2.wraps=6" in out
    status, out, _ = run(capsys, "predict", FLYBACK, "--builds", "200", "--against", FLYBACK)
    assert status == 0
    assert "0.0 %" in out


def test_compare_json(capsys: pytest.CaptureFixture[str]) -> None:
    status, value = run_json(capsys, "compare", FLYBACK, READINGS)
    assert status == 1
    assert [sample["sample"] for sample in value["samples"]] == ["A1", "A2", "A3", "A4", "A5"]
    keys = {"name", "unit", "predicted", "predicted_uncertainty", "read", "read_uncertainty", "deviation"}
    keys |= {"score", "agrees", "limits", "verdict", "conformity"}
    for sample in value["samples"]:
        for test in sample["tests"]:
            assert keys <= test.keys()
            assert test["verdict"] in ("pass", "fail", "undecided", "no limit")
        assert all({"check", "holds", "score", "detail"} <= check.keys() for check in sample["checks"])


def test_a_sound_part_ends_with_zero(capsys: pytest.CaptureFixture[str]) -> None:
    lines = Path(READINGS).read_text(encoding="utf-8").splitlines()
    options = []
    for line in lines:
        if line.startswith("A1,"):
            _, test, reading = line.split(",")
            options += ["--read", f"{test}={reading}"]
    for command in ("compare", "explain"):
        status, out, _ = run(capsys, command, FLYBACK, *options)
        assert status == 0
        assert "bench:" in out


def test_plan_csv_can_be_read_again(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    status, out, _ = run(capsys, "plan", FLYBACK, "--csv", "--samples", "A1,A2")
    assert status == 0
    path = tmp_path / "empty.csv"
    path.write_text(out, encoding="utf-8")
    status, value = run_json(capsys, "compare", FLYBACK, str(path))
    assert status == 0
    assert [sample["sample"] for sample in value["samples"]] == ["A1", "A2"]
    assert all(test["read"] is None and test["verdict"] is None for test in value["samples"][0]["tests"])


def test_new_writes_a_design_that_predicts(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    path = tmp_path / "my.toml"
    assert run(capsys, "new", str(path), "--core", "E 25/13/7")[0] == 0
    status, out, _ = run(capsys, "predict", str(path), "--builds", "200")
    assert status == 0
    assert "E 25/13/7" in out
    before = path.read_bytes()
    status, _, err = run(capsys, "new", str(path), "--core", "E 25/13/7")
    assert status == 2
    assert "exists" in err
    assert path.read_bytes() == before
    other = tmp_path / "other.toml"
    assert run(capsys, "new", str(other), "--core", "E 25/13/8")[0] == 2
    assert sorted(item.name for item in tmp_path.iterdir()) == ["my.toml"]


@pytest.mark.parametrize(("kind", "word"), [("cores", "ETD"), ("wires", "AWG"), ("materials", "MnZn")])
def test_catalogues(capsys: pytest.CaptureFixture[str], kind: str, word: str) -> None:
    status, out, _ = run(capsys, kind, word)
    assert status == 0
    assert word in out
    status, value = run_json(capsys, kind, word)
    assert status == 0
    assert all(row["source"] and word in row["name"] for row in value[kind])


def test_cores_are_found_by_family_and_listed_by_size(capsys: pytest.CaptureFixture[str]) -> None:
    names = {
        word: [row["name"] for row in run_json(capsys, "cores", word)[1]["cores"]]
        for word in ("planar", "rm")
    }
    assert names["planar"][:2] == ["E 18/4/10", "E 18/4/10 + PLT"]
    assert names["rm"] == sorted(names["rm"], key=lambda name: int(name.split()[1]))
    status, _, said = run(capsys, "cores", "zzz")
    assert status == 2
    assert "family" in said


def test_the_seed_makes_it_repeatable(capsys: pytest.CaptureFixture[str]) -> None:
    values = [
        run_json(capsys, "predict", FLYBACK, "--builds", "200", "--seed", seed)[1] for seed in ("3", "3", "4")
    ]
    assert values[0] == values[1]
    assert values[0]["tests"][0]["low"] != values[2]["tests"][0]["low"]


def test_nothing_read_keeps_what_was_believed_before(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    path = tmp_path / "empty.csv"
    path.write_text(run(capsys, "plan", FLYBACK, "--csv")[1], encoding="utf-8")
    status, value = run_json(capsys, "explain", FLYBACK, str(path))
    (sample,) = value["samples"]
    total = (
        sample["as_designed"] + sample["unlisted"] + sum(cause["probability"] for cause in sample["causes"])
    )
    assert total == pytest.approx(1.0, abs=1e-9)
    assert status == 0
    assert "no verdict, since no reading is usable" in run(capsys, "explain", FLYBACK, str(path))[1]


def test_what_the_bench_adds_stands_beside_the_spread(capsys: pytest.CaptureFixture[str]) -> None:
    """In ``predict`` as text and data, and the same numbers as on the bench sheet, there whole on request."""
    design = str(SAMPLES / "flyback-24w.toml")
    assert main(["predict", design, "--builds", "100"]) == 0
    out = capsys.readouterr().out
    table = out[out.index("What this bench adds to one reading") :]
    assert next(line for line in table.splitlines() if line.startswith("Lk_P")).split()[1] == "6.18"
    assert main(["predict", design, "--builds", "100", "--json"]) == 0
    predicted = {test["name"]: test for test in json.loads(capsys.readouterr().out)["tests"]}
    assert main(["plan", design, "--json"]) == 0
    for planned in json.loads(capsys.readouterr().out)["tests"]:
        test = predicted[planned["name"]]
        assert test["bench_uncertainty"] == pytest.approx(planned["measurement_uncertainty"])
        assert [part["component"] for part in test["bench_budget"]] == [
            part["component"] for part in planned["budget"]
        ]
    assert main(["plan", design, "--budget"]) == 0
    out = capsys.readouterr().out
    assert "component of the bench's ±" in out
    assert max(map(len, out.splitlines())) <= 80
    assert main(["plan", design, "--budget", "--csv"]) == 2
    assert "--budget with --csv" in capsys.readouterr().err


def test_what_is_expected_lies_in_its_range_as_printed(capsys: pytest.CaptureFixture[str]) -> None:
    """A ratio that strays by parts in 10 000 is printed with the digits that tell it from its ends."""
    _, out, _ = run(capsys, "predict", str(SAMPLES / "bridge-300w.toml"), "--builds", "200")
    table = out[out.index("What the bench should read") :]
    cells = next(line for line in table.splitlines() if line.startswith("n ")).split()
    expected, low, high = float(cells[-4]), float(cells[-3]), float(cells[-1])
    assert low <= expected <= high


def test_explain_believes_beforehand_what_the_library_does() -> None:
    default = inspect.signature(explain_command).parameters["sound"].default
    assert share_of("--sound", default) == PRIOR_AS_DESIGNED
