"""``aswound lot`` as a user runs it."""

from __future__ import annotations

import json
import re
from pathlib import Path

import numpy as np
import pytest
from how_many import and_slow

from aswound.cli.main import main
from aswound.predict import load_design, readings

SAMPLE = Path(__file__).parents[2] / "samples" / "flyback-24w.toml"


def write_lot(folder: Path, *, n: int = 12, shift: float = 0.0, wild: bool = False) -> Path:
    random = np.random.default_rng(7)
    design = load_design(SAMPLE)
    names = [test.name for test in design.tests]
    chosen = [
        (name, value) for name, value in zip(names, readings(design), strict=True) if name in ("L_P", "R_P")
    ]
    unit = {"L_P": "H", "R_P": "ohm"}
    lines = ["sample,test,reading,batch"]
    for part in range(1, n + 1):
        for name, value in chosen:
            factor = 1 + shift + 0.004 * random.standard_normal() + (0.3 if wild and part == 5 else 0.0)
            lines.append(
                f"N{part:03d},{name},{value * factor:.6g} {unit[name]},{'a' if part <= n // 2 else 'b'}"
            )
    path = folder / "lot.csv"
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return path


def test_a_sound_lot(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["lot", str(SAMPLE), str(write_lot(tmp_path)), "--json"]) == 0
    result = json.loads(capsys.readouterr().out)
    assert result["samples"] == 12
    assert result["ordered_by"] == "serial number"
    assert result["shared_cause"] == []
    (first, _) = result["tests"]
    assert set(first) >= {
        "name",
        "unit",
        "n",
        "mean",
        "standard_deviation",
        "predicted",
        "cpk",
        "cpk_lower",
        "outside",
    }
    assert first["n"] == 12
    assert first["mean"] == pytest.approx(first["predicted"], rel=0.01)
    assert first["cpk_lower"] < first["cpk"]
    assert first["outside"] == 0
    assert first["within_batches"] > 0


def test_a_shifted_lot_and_a_wild_part(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["lot", str(SAMPLE), str(write_lot(tmp_path, shift=-0.2, wild=True))]) == 1
    text = capsys.readouterr().out
    assert "limits failed in L_P" in text
    assert "Left out of mean, interval and Cpk: N005, all readings (it differs from the" in text
    assert "N005 outside what this lot scatters" not in text, "said already"
    assert "the lot as a whole deviates in L_P, R_P" in text


def test_one_sample_is_no_lot(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["lot", str(SAMPLE), str(write_lot(tmp_path, n=1))]) == 2
    assert "two samples or more" in capsys.readouterr().err


def test_parts_that_read_the_same_tell_no_capability(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "same.csv"
    path.write_text("sample,test,reading\n1,L_P,600 uH\n2,L_P,600 uH\n", encoding="utf-8")
    assert main(["lot", str(SAMPLE), str(path), "--json"]) == 0
    (test,) = json.loads(capsys.readouterr().out)["tests"]
    assert test["cpk"] is None
    assert test["cpk_lower"] is None
    assert main(["lot", str(SAMPLE), str(path)]) == 0
    out = capsys.readouterr().out
    assert "all 2 parts read the same" in out
    assert "∞" not in out


def test_a_shared_cause_is_named(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = str(write_lot(tmp_path, shift=0.25))
    assert main(["lot", str(SAMPLE), path, "--json"]) == 1
    result = json.loads(capsys.readouterr().out)
    best = result["shared_cause"][0]
    assert set(best) >= {"cause", "class", "where", "title", "amount", "probability"}
    listed = [item["probability"] for item in result["shared_cause"]]
    assert listed == sorted(listed, reverse=True)
    assert result["together"]["as_designed"] < 0.5
    assert main(["lot", str(SAMPLE), path]) == 1
    assert "What the parts share" in capsys.readouterr().out


def test_explain_together(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = str(write_lot(tmp_path, n=4, wild=True))
    assert main(["explain", str(SAMPLE), path, "--together"]) == 0
    assert "all 4 samples: consistent with the design" in capsys.readouterr().out
    assert main(["explain", str(SAMPLE), path, "--together", "--json"]) == 0
    result = json.loads(capsys.readouterr().out)
    assert len(result["samples"]) == 4
    assert result["together"]["pooled"] == ["N001", "N002", "N003", "N004"]


def test_explain_together_needs_two(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["explain", str(SAMPLE), "--read", "L_P=612uH", "--together"]) == 2
    assert "two samples or more" in capsys.readouterr().err


def test_a_lot_without_a_usable_reading(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "none.csv"
    path.write_text("sample,test,reading\n1,L_P,OL\n2,L_P,----\n", encoding="utf-8")
    assert main(["lot", str(SAMPLE), str(path)]) == 0
    assert "no verdict, since no reading is usable" in capsys.readouterr().out


def test_without_a_limit_nothing_is_called_within_limits(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "ratio.csv"
    path.write_text("sample,test,reading\n1,n,7.501\n2,n,7.502\n3,n,7.5015\n", encoding="utf-8")
    assert main(["lot", str(SAMPLE), str(path)]) == 0
    headline = capsys.readouterr().out.splitlines()[2]
    assert headline == "3 samples: as designed on average"


@pytest.mark.parametrize("zeros", [1, *and_slow(4)])
def test_a_zero_reading_says_nothing_of_the_others(
    zeros: int, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The meter's floor, relative to a zero, once made every probability of the lot "nan %", status 0."""
    path = write_lot(tmp_path, n=4)
    lines = path.read_text("utf-8").splitlines()
    for row in [at for at, line in enumerate(lines) if ",R_P," in line][:zeros]:
        name, test, _, batch = lines[row].split(",")
        lines[row] = f"{name},{test},0 ohm,{batch}"
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    for command in (["lot"], ["explain", "--together"]):
        assert main([*command, str(SAMPLE), str(path), "--json"]) == 1
        together = json.loads(capsys.readouterr().out)["together"]
        assert 0.0 <= together["as_designed"] <= 1.0
        main([*command, str(SAMPLE), str(path)])
        assert "nan" not in capsys.readouterr().out


def test_a_slip_counts_in_nothing(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A reading a thousand times too large is in no mean, no interval, and not in what reading scatters
    either: all that is said of the lot is what is said of it without that reading."""
    path = write_lot(tmp_path)
    lines = path.read_text(encoding="utf-8").splitlines()
    slipped = next(number for number, line in enumerate(lines) if line.startswith("N004,L_P,"))
    without = [line for number, line in enumerate(lines) if number != slipped]
    lines[slipped] = re.sub(r"L_P,(\S+) H", lambda told: f"L_P,{1e3 * float(told[1])} H", lines[slipped])
    shown = []
    for rows in (lines, without):
        path.write_text("\n".join(rows) + "\n", encoding="utf-8")
        main(["lot", str(SAMPLE), str(path), "--json"])
        shown.append(json.loads(capsys.readouterr().out)["tests"][0])
    slip, sound = shown
    assert [item["sample"] for item in slip["excluded"]] == ["N004"]
    for name in ("mean", "standard_deviation", "cpk", "cpk_lower", "tolerance_low", "tolerance_high"):
        assert slip[name] == pytest.approx(sound[name], rel=1e-9), name
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    main(["lot", str(SAMPLE), str(path)])
    text = capsys.readouterr().out
    assert "L_P: most of the scatter is that of reading" not in text
    path.write_text("\n".join(without) + "\n", encoding="utf-8")
    main(["lot", str(SAMPLE), str(path)])
    assert "L_P: most of the scatter is that of reading" not in capsys.readouterr().out


def test_intervals_have_the_digits_of_their_width(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    main(["lot", str(SAMPLE), str(write_lot(tmp_path)), "--json"])
    first = json.loads(capsys.readouterr().out)["tests"][0]
    main(["lot", str(SAMPLE), str(write_lot(tmp_path))])
    lines = capsys.readouterr().out.split("95 % of such parts")[1].splitlines()
    low, _, high, _ = next(line for line in lines if line.startswith("L_P ")).split()[1:5]
    width = first["tolerance_high"] - first["tolerance_low"]
    assert float(low) * 1e-6 == pytest.approx(first["tolerance_low"], abs=0.06 * width)
    assert float(high) * 1e-6 == pytest.approx(first["tolerance_high"], abs=0.06 * width)


def test_parts_that_all_read_the_same(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Six equal readings, whose mean is not exactly theirs in floating point: no scatter, four digits."""
    path = tmp_path / "same.csv"
    lines = [f"N{part},L_P,590.1 uH" for part in range(6)]
    path.write_text("\n".join(["sample,test,reading", *lines]) + "\n", encoding="utf-8")
    main(["lot", str(SAMPLE), str(path)])
    text = capsys.readouterr().out
    assert "590.1 µH" in text
    assert not re.search(r"\d\.\d{5}", text)


def test_both_sides_of_an_uneven_prediction(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The table of a lot shows the ends that its JSON has; where they lie evenly, one ±."""
    path = tmp_path / "leakage.csv"
    lines = [
        f"N{part},{test},{reading}"
        for part in range(4)
        for test, reading in (("Lk_P", f"{3.7 + 0.01 * part} uH"), ("L_P", f"{590 + part} uH"))
    ]
    path.write_text("\n".join(["sample,test,reading", *lines]) + "\n", encoding="utf-8")
    main(["lot", str(SAMPLE), str(path), "--json"])
    tests = {test["name"]: test for test in json.loads(capsys.readouterr().out)["tests"]}
    main(["lot", str(SAMPLE), str(path)])
    text = capsys.readouterr().out
    leakage = tests["Lk_P"]
    up, down = (1e6 * abs(leakage[end] - leakage["predicted"]) for end in ("predicted_high", "predicted_low"))
    assert up > 1.25 * down
    assert f"{1e6 * leakage['predicted']:.2f} +{up:.2f} −{down:.2f} µH" in text
    even = tests["L_P"]
    assert f"{1e6 * even['predicted']:.0f} ± {2e6 * even['predicted_uncertainty']:.0f} µH" in text
