"""What follows from readings other than two inductances and a leakage. Labels: exact, property, cli."""

import json
import math
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from aswound.cli.main import main
from aswound.compare.consistency import UndrawnPart, check_part
from aswound.predict.design import Bench

HEADER = "sample,test,reading,frequency,measure,drive,short,sense\n"
NO_LINK = Bench(short_inductance=0.0)


def part_of(folder: Path, *rows: str, ratio: float | None = None) -> UndrawnPart:
    file = folder / "part.csv"
    file.write_text(HEADER + "".join(f"A,{row}\n" for row in rows), encoding="utf-8")
    (part,) = check_part(file, ratio=ratio, bench=NO_LINK)
    return part


def values(part: UndrawnPart) -> dict[str, float]:
    return {item.name: item.value for item in part.derived}


@settings(deadline=None)
@given(st.floats(1e-5, 1e-2), st.floats(0.05, 20), st.floats(0.3, 0.995))
def test_aiding_and_opposing_give_back_the_coupling(first: float, ratio: float, k: float) -> None:
    """Exact: L1, L2 and k chosen, La and Lo computed from them."""
    import tempfile

    second = first / ratio**2
    mutual = k * math.sqrt(first * second)
    rows = (
        f"aid,{first + second + 2 * mutual!r} H,10 kHz,inductance,P + S,,",
        f"opp,{first + second - 2 * mutual!r} H,10 kHz,inductance,P - S,,",
        f"L_P,{first!r} H,10 kHz,,,,",
    )
    with tempfile.TemporaryDirectory() as folder:
        found = values(part_of(Path(folder), *rows))
    assert found["M of P, S by aiding and opposing"] == pytest.approx(mutual, rel=1e-6)
    assert found["k of P, S by aiding and opposing"] == pytest.approx(k, rel=1e-6)


@pytest.mark.parametrize("stated", [False, True])
def test_one_leakage_one_inductance_and_the_ratio(stated: bool, tmp_path: Path) -> None:
    """Exact: L1 = 600 µH, N = 6, k = 0.98; by the voltage ratio N/k, or by the turns as stated."""
    k, L1 = 0.98, 600e-6
    L2 = L1 / 36
    rows = [f"L_P,{L1!r} H,10 kHz,,,,", f"Lk_P_S,{L1 * (1 - k**2)!r} H,100 kHz,,,,"]
    if not stated:
        rows.append(f"n_P_S,{6 / k!r},10 kHz,,,,")
    found = values(part_of(tmp_path, *rows, ratio=6.0 if stated else None))
    by = " by the stated turns" if stated else ""
    assert found["k of P, S"] == pytest.approx(k, rel=1e-9)
    assert found[f"open inductance of S{by}"] == pytest.approx(L2, rel=1e-9)
    assert found[f"M of P, S{by}"] == pytest.approx(k * math.sqrt(L1 * L2), rel=1e-9)


def test_two_frequencies_give_capacitance_and_resonance(tmp_path: Path) -> None:
    """Exact: L = 600 µH with 100 pF across it, read at 10 kHz and 200 kHz."""
    L, C = 600e-6, 100e-12

    def read(frequency: float) -> float:
        return L / (1 - (2 * math.pi * frequency) ** 2 * L * C)

    found = values(part_of(tmp_path, f"L_P,{read(1e4)!r} H,10 kHz,,,,", f"L_P,{read(2e5)!r} H,200 kHz,,,,"))
    assert found["capacitance across P"] == pytest.approx(C, rel=1e-6)
    assert found["resonance of P"] == pytest.approx(1 / (2 * math.pi * math.sqrt(L * C)), rel=1e-6)


def test_an_inductance_that_falls_tells_no_capacitance(tmp_path: Path) -> None:
    part = part_of(tmp_path, "L_P,600 uH,10 kHz,,,,", "L_P,590 uH,200 kHz,,,,")
    assert "capacitance across P" not in values(part)


def test_a_resonance_gives_the_capacitance(tmp_path: Path) -> None:
    part = part_of(tmp_path, "L_P,600 uH,10 kHz,,,,", "f_P,649.7473343614 kHz,,,,,")
    assert values(part)["capacitance across P"] == pytest.approx(100e-12, rel=1e-6)


@pytest.mark.parametrize(
    ("rows", "told"),
    [
        (["L_P,600 uH,10 kHz,,,,", "R_S,10 mohm,,,,,"], "k of P, S: the inductance of P with S shorted"),
        (["Lk_P_S,3.6 uH,100 kHz,,,,"], "k of P, S: the open inductance of P"),
        (
            ["R_P,1 ohm,,,,,", "R_S,10 mohm,,,,,"],
            "k of P, S: the open inductance of P, and that with S shorted",
        ),
        (["L_P,600 uH,10 kHz,,,,"], "capacitance across P: its open inductance once more"),
    ],
)
def test_the_missing_reading_is_named(rows: list[str], told: str, tmp_path: Path) -> None:
    assert any(text.startswith(told) for text in part_of(tmp_path, *rows).missing)


def test_nothing_is_missing_where_all_follows(tmp_path: Path) -> None:
    rows = ("L_P,600 uH,10 kHz,,,,", "L_S,16.7 uH,10 kHz,,,,", "Lk_P_S,3.6 uH,100 kHz,,,,")
    assert not [text for text in part_of(tmp_path, *rows).missing if text.startswith("k of")]


def test_missing_at_the_command_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "part.csv"
    file.write_text("sample,test,reading\nA,L_P,600 uH\nA,R_S,10 mohm\n", encoding="utf-8")
    assert main(["check", str(file), "--json"]) == 0
    (sample,) = json.loads(capsys.readouterr().out)["samples"]
    assert sample["missing"][0].startswith("k of P, S: ")
    assert main(["check", str(file)]) == 0
    assert "Missing: k of P, S: the inductance of P with S" in capsys.readouterr().out
