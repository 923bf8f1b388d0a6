"""The sentence that opens each sample of ``compare``: it says what the table below it shows, and no more."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from aswound.cli.main import main

FLYBACK = str(Path(__file__).parents[2] / "samples" / "flyback-24w.toml")
"""Limits of L_P: 560 to 660 uH; the ratio n is about 7.50, without limits."""


@pytest.mark.parametrize(
    ("readings", "sentence", "status"),
    [
        (["L_P=612uH"], "bench: agrees with the design", 0),
        (["L_P=OL", "n=OL"], "bench: no verdict, since no reading is usable", 0),
        (["L_P=612uH", "n=OL"], "bench: agrees with the design; not read: n", 0),
        (["L_P=628uH"], "bench: near the edge of the design in L_P", 0),
        (["L_P=659uH"], "bench: 1 of 1 readings deviates: L_P (+11.5 %); undecided: L_P", 1),
        (["L_P=300uH"], "bench: 1 of 1 readings deviates: L_P (-49.2 %); limit failed: L_P", 1),
        (["L_P=612uH", "n=5.99"], "bench: 1 of 2 readings deviates: n (-20.2 %)", 1),
        (
            ["L_P=300uH", "n=5.99"],
            "bench: 2 of 2 readings deviate, most of all n (-20.2 %); limit failed: L_P",
            1,
        ),
    ],
)
def test_the_verdict_in_one_sentence(
    capsys: pytest.CaptureFixture[str], readings: list[str], sentence: str, status: int
) -> None:
    arguments = [part for reading in readings for part in ("--read", reading)]
    assert main(["compare", FLYBACK, *arguments]) == status
    lines = capsys.readouterr().out.splitlines()
    rule = next(place for place, line in enumerate(lines) if line.startswith("──"))
    start = next(place for place, line in enumerate(lines) if line.startswith("bench:"))
    assert " ".join(lines[start:rule]) == sentence


def test_limits_judge_at_their_own_frequency(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """L_P's limits are stated at 10 kHz: 700 uH at 300 kHz fails none of them, at 10.2 kHz it does."""
    path = tmp_path / "readings.csv"
    text = "sample,test,reading,frequency\nA,L_P,600 uH,10 kHz\nA,L_P,700 uH,300 kHz\n"
    path.write_text(text, encoding="utf-8")
    main(["compare", FLYBACK, str(path), "--json"])
    own, far = json.loads(capsys.readouterr().out)["samples"][0]["tests"]
    assert own["verdict"] == "pass"
    assert far["verdict"] == "no limit"
    assert far["limits"] == {"min": None, "max": None}
    main(["compare", FLYBACK, str(path)])
    assert "they do not apply to what was read at 300 kHz" in " ".join(capsys.readouterr().out.split())
    path.write_text(text.replace("300 kHz", "10.2 kHz"), encoding="utf-8")
    assert main(["compare", FLYBACK, str(path), "--json"]) == 1
    assert json.loads(capsys.readouterr().out)["samples"][0]["tests"][1]["verdict"] == "fail"


def test_expected_shows_both_sides_of_an_uneven_range(capsys: pytest.CaptureFixture[str]) -> None:
    """The cell holds the ends of the JSON (within their digits); an even range has one ±."""
    arguments = ["compare", FLYBACK, "--read", "Lk_P=3.7uH", "--read", "L_P=600uH"]
    main([*arguments, "--json"])
    tests = json.loads(capsys.readouterr().out)["samples"][0]["tests"]
    leakage, open_inductance = (
        next(test for test in tests if test["name"] == name) for name in ("Lk_P", "L_P")
    )
    main(arguments)
    text = capsys.readouterr().out
    up, down = (1e6 * abs(leakage[end] - leakage["predicted"]) for end in ("predicted_high", "predicted_low"))
    assert up > 1.25 * down
    assert f"{1e6 * leakage['predicted']:.2f} +{up:.2f} −{down:.2f} µH" in text
    half = 2e6 * open_inductance["predicted_uncertainty"]
    assert f"{1e6 * open_inductance['predicted']:.0f} ± {half:.0f} µH" in text
    assert max(len(line) for line in text.splitlines()) <= 80
