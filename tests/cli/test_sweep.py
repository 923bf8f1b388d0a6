"""``aswound sweep`` as a user runs it: page, drawing, JSON, measured sweeps, statuses."""

from __future__ import annotations

import json
import xml.etree.ElementTree as ET
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from aswound.cli.main import main
from aswound.predict import load_design
from aswound.predict.circuit.bench import impedance_sweep
from aswound.predict.design import BenchTest, Member

FLYBACK = str(Path(__file__).parents[2] / "samples" / "flyback-24w.toml")
SMALL = ["--points", "40", "--builds", "100"]


def _written(path: Path, settings: list[tuple[str, str]], short: bool, rows: str) -> str:
    """A measured sweep of the design with ``settings``, as a file. rows: "Z", or "LR"."""
    design = load_design(FLYBACK, settings=settings)
    f = np.geomspace(1e3, 5e6, 15)
    test = BenchTest(
        name="x", measure="inductance", drive=(Member("P"),), short=(Member("S"),) if short else ()
    )
    lines = ["sample,test,frequency,reading"]
    for frequency, z in zip(f, impedance_sweep(design, test, f.tolist()), strict=True):
        at = f"{frequency:.6g} Hz"
        if rows == "Z":
            lines.append(f"M1,Z,{at},{z.real:.6g} {'-' if z.imag < 0 else '+'} {abs(z.imag):.6g}j ohm")
        else:
            lines.append(f"M1,L,{at},{z.imag / (2e-6 * np.pi * frequency):.6g} uH")
            lines.append(f"M1,R,{at},{z.real:.6g} ohm")
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return str(path)


@pytest.mark.parametrize(
    ("options", "columns"),
    [([], "80"), (["--short", "S,AUX"], "120"), (["--sense", "S"], "80"), (["--drive", "P,-S"], "120")],
)
def test_page(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, columns: str, options: list[str]
) -> None:
    monkeypatch.setenv("COLUMNS", columns)
    assert main(["sweep", FLYBACK, *options, *SMALL]) == 0
    shown = capsys.readouterr()
    assert shown.err == ""
    assert max(len(line) for line in shown.out.splitlines()) <= int(columns)
    assert "\u28c0" in shown.out or "\u2812" in shown.out or "⠒" in shown.out
    assert "qualified person" in shown.out
    assert "100 kHz" in shown.out
    if not options:
        assert "parallel, |Z| is largest" in shown.out


def test_both_sides_of_an_uneven_range_are_printed(capsys: pytest.CaptureFixture[str]) -> None:
    """Upwards first, then downwards, each relative to what is expected, as the JSON has the ends."""
    assert main(["sweep", FLYBACK, *SMALL, "--json"]) == 0
    swept = json.loads(capsys.readouterr().out)
    assert main(["sweep", FLYBACK, *SMALL]) == 0
    page = capsys.readouterr().out
    where = int(np.argmin(np.abs(np.log(np.array(swept["frequencies_Hz"]) / 100e3))))
    resistance = swept["quantities"]["resistance"]
    nominal, low, high = (resistance[end][where] for end in ("predicted", "low", "high"))
    up, down = high / nominal - 1, 1 - low / nominal
    assert up > 1.25 * down
    assert f"+{100 * up:.2g} % −{100 * down:.2g} %" in page


def test_drawing_is_the_same_every_time(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    texts = []
    for name in ("a.svg", "b.svg"):
        assert main(["sweep", FLYBACK, *SMALL, "-o", str(tmp_path / name)]) == 0
        texts.append((tmp_path / name).read_text(encoding="utf-8"))
    capsys.readouterr()
    assert texts[0] == texts[1]
    root = ET.fromstring(texts[0])
    assert root.tag.endswith("svg")
    words = " ".join(root.itertext())
    assert "inductance, series equivalent" in words
    assert "parallel 2." in words
    assert "Date" not in texts[0]


def _json(capsys: pytest.CaptureFixture[str], status: int, *arguments: str) -> Any:
    assert main(["sweep", FLYBACK, *SMALL, *arguments, "--json"]) == status
    shown = capsys.readouterr()
    assert shown.err == ""
    return json.loads(shown.out)


def test_sound_sweep_agrees(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    value = _json(capsys, 0, "--measured", _written(tmp_path / "m.csv", [], False, "Z"))
    (sample,) = value["samples"]
    assert not sample["deviates"]
    assert sample["findings"] == []
    assert len(sample["points"]) == 4 * 15
    assert max(abs(point["score"]) for point in sample["points"]) < 1.0
    assert len(value["frequencies_Hz"]) == len(value["quantities"]["phase"]["predicted"])


def test_moved_resonance_is_capacitance(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    settings = [("build.impregnation", "potted"), ("step2.wraps", "1")]
    value = _json(capsys, 1, "--measured", _written(tmp_path / "m.csv", settings, False, "Z"))
    text = " ".join(value["samples"][0]["findings"])
    assert "parallel resonance" in text
    assert "capacitance is 1." in text
    assert "plateau" not in text


@pytest.mark.slow
def test_moved_plateau_is_leakage(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    settings = [("step2.wraps", "9"), ("step4.wraps", "9")]
    value = _json(capsys, 1, "--short", "S", "--measured", _written(tmp_path / "m.csv", settings, True, "LR"))
    text = " ".join(value["samples"][0]["findings"])
    assert "From 1 kHz on the plateau is +" in text
    assert "leakage inductance" in text


@pytest.mark.slow
def test_thin_wire_is_resistance_from_the_start(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    settings = [("winding.P.wire.diameter", "0.25 mm")]
    value = _json(capsys, 1, "--short", "S", "--measured", _written(tmp_path / "m.csv", settings, True, "LR"))
    assert "already at the lowest frequency" in " ".join(value["samples"][0]["findings"])


@pytest.mark.parametrize(
    ("options", "found"),
    [
        (["--drive", "Q"], "option --drive"),
        (["--short", "P"], "driven as well"),
        (["--short", "S", "--sense", "S"], "which is shorted"),
        (["--test", "Lk"], "option --test"),
        (["--test", "R_P"], "a test of resistance"),
        (["--test", "n", "--drive", "P"], "--test together with"),
        (["--level", "0 V"], "option --level"),
        (["--quantity", "ratio"], "option --quantity"),
        (["-o", "x.png"], "ends in .svg"),
        (["--from", "2 GHz", "--to", "3 GHz"], "options --from and --to"),
    ],
)
def test_unusable_options_are_named(
    capsys: pytest.CaptureFixture[str], options: list[str], found: str
) -> None:
    assert main(["sweep", FLYBACK, *options]) == 2
    shown = capsys.readouterr()
    assert found in " ".join(shown.err.split())
    assert shown.out == ""


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("sample,test,reading\nA,L,600 uH\n", "line 2, frequency"),
        ("sample,test,reading\nA,R_S,10 mohm\n", "no reading of this connection"),
        ("sample,test,frequency,reading\nA,L,1 kHz,600 ohm\n", "600 ohm"),
    ],
)
def test_unusable_sweeps_are_named(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, text: str, found: str
) -> None:
    file = tmp_path / "m.csv"
    file.write_text(text, encoding="utf-8")
    assert main(["sweep", FLYBACK, "--measured", str(file)]) == 2
    assert found in " ".join(capsys.readouterr().err.split())
