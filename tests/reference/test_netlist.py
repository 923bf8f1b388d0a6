"""The netlist in a circuit simulator (ngspice, Debian's package) against the predicted readings.

The simulator is the independent computation: it reads the text of the file and knows nothing of the models.
"""

from __future__ import annotations

import functools
import itertools
import os
import re
import shutil
import subprocess
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from how_many import and_slow
from small_design import SMALL

from aswound.predict import load_design, parse_design, predict_bench
from aswound.predict.design import BenchTest, Design, Member
from aswound.predict.errors import BuildError
from aswound.predict.netlist.builds import leakage_frequency
from aswound.predict.netlist.elements import Range
from aswound.predict.netlist.file import NetlistFile, netlist_file

pytestmark = [
    pytest.mark.reference,
    pytest.mark.skipif(
        shutil.which("ngspice") is None and not os.environ.get("CI"), reason="ngspice is not installed"
    ),
]

SAMPLES = Path(__file__).parents[2] / "samples"
FOUR = """
title = "Four windings"
[core]
shape = "ETD 29/16/10"
material = "MnZn 2300"
gap = "0.3 mm"
[bobbin]
wall = "1.2 mm"
flange = "1.3 mm"
[[winding]]
name = "P"
wire = { diameter = "0.28 mm", grade = 2 }
lead_length = "60 mm"
[[winding]]
name = "S 1"
wire = { diameter = "0.40 mm", grade = 2, in_hand = 2 }
sections = "parallel"
[[winding]]
name = "S 2"
wire = { diameter = "0.40 mm", grade = 2 }
turning = "ccw"
[[winding]]
name = "p"
wire = { diameter = "0.20 mm", grade = 2 }
[build]
steps = [
  { wind = "S 1", turns = 7 },
  { tape = "0.06 mm", wraps = 2 },
  { wind = "P", turns = 48 },
  { tape = "0.06 mm", wraps = 2 },
  { shield = "0.05 mm", width = "16 mm", name = "E", tied = "core" },
  { tape = "0.06 mm", wraps = 2 },
  { wind = "S 1", turns = 7 },
  { tape = "0.06 mm", wraps = 2 },
  { wind = "S 2", turns = 12 },
  { tape = "0.06 mm", wraps = 2 },
  { wind = "p", turns = 9 },
]
"""
AIR = """
title = "Three coils in air"
[core.dimensions]
form = "air"
diameter = "30 mm"
length = "24 mm"
[bobbin]
wall = "1 mm"
flange = "1 mm"
[[winding]]
name = "P"
wire = { diameter = "0.5 mm", grade = 2 }
lead_length = "50 mm"
[[winding]]
name = "p"
wire = { diameter = "0.5 mm", grade = 2 }
[[winding]]
name = "S 1"
wire = { diameter = "0.2 mm", grade = 2 }
turning = "ccw"
[build]
steps = [
  { wind = "P", turns = 36 },
  { tape = "0.1 mm", wraps = 3 },
  { wind = "p", turns = 30 },
  { tape = "0.1 mm", wraps = 3 },
  { wind = "S 1", turns = 12 },
]
"""
"""Names that differ by their case alone, and one with a blank."""
SMALL_FIRST = AIR.replace('"P"', '"x"').replace('"p"', '"P"').replace('"x"', '"p"')
TAPE = '{ tape = "0.06 mm", wraps = 3 }'
SHIELD = '{ shield = "0.05 mm", width = "12 mm", name = "E", tied = "core" }'
SHIELDED = SMALL.replace(TAPE, f"{TAPE}, {SHIELD}, {TAPE}")
NARROW = ("shielded", "small first")
"""Designs whose elements and pins alone are looked at: of a narrow range."""
FREQUENCIES = [float(f) for f in np.geomspace(1e3, 1e6, 7)]


def _design(name: str) -> Design:
    own = {"four": FOUR, "air": AIR, "shielded": SHIELDED, "small first": SMALL_FIRST}
    return parse_design(own[name]) if name in own else load_design(SAMPLES / f"{name}.toml")


@functools.cache
def _netlist(name: str) -> NetlistFile:
    return netlist_file(_design(name), Range(10e3, 100e3) if name in NARROW else None)


def _simulated(
    text: str,
    title: str,
    pins: list[tuple[str, str, str]],
    cases: list[tuple[str, tuple[str, ...]]],
    folder: Path,
) -> dict[tuple[str, tuple[str, ...]], dict[str, np.ndarray]]:
    """Case (driven, shorted) → voltages (by winding) for one ampere into the driven one: one instance of the
    subcircuit per case, all in one run."""
    lines = ["* measurement", text]
    columns = []
    for number, (driven, shorted) in enumerate(cases):
        nodes = []
        for pin, name, end in pins:
            node = f"t{number}_{pin}"
            if end == "finish" and name == driven:
                node = "0"
            if end == "finish" and name in shorted:
                node = next(f"t{number}_{p}" for p, n, e in pins if n == name and e == "start")
            nodes.append(node)
        lines.append(f"X{number} {' '.join(nodes)} {title}")
        source = next(
            node for node, (_, name, end) in zip(nodes, pins, strict=True) if (name, end) == (driven, "start")
        )
        lines.append(f"I{number} 0 {source} dc 0 ac 1")
        for winding in dict.fromkeys(name for _, name, end in pins if end):
            plus, minus = (
                next(
                    node
                    for node, (_, name, e) in zip(nodes, pins, strict=True)
                    if (name, e) == (winding, end)
                )
                for end in ("start", "finish")
            )
            if winding not in shorted:
                columns.append(((driven, shorted), winding))
                lines.append(f"Eo{len(columns)} o{len(columns)} 0 {plus} {minus} 1")
    lines += [".control", "set wr_singlescale", "set numdgt=12", "ac dec 2 1k 1.0001meg"]
    vectors = " ".join(f"v(o{number})" for number in range(1, len(columns) + 1))
    lines += [f"wrdata {folder}/out {vectors}", "quit", ".endc", ".end"]
    deck = folder / "deck.cir"
    deck.write_text("\n".join(lines) + "\n")
    run = subprocess.run(
        ["ngspice", "-b", str(deck)], capture_output=True, text=True, timeout=120, cwd=folder, check=False
    )
    assert not re.search(r"(?i)error|warning|singular", run.stdout + run.stderr), run.stdout + run.stderr
    table = np.loadtxt(folder / "out")
    assert np.allclose(table[:, 0], FREQUENCIES, rtol=1e-3)
    result: dict[tuple[str, tuple[str, ...]], dict[str, np.ndarray]] = {}
    for number, (case, winding) in enumerate(columns):
        result.setdefault(case, {})[winding] = table[:, 1 + 2 * number] + 1j * table[:, 2 + 2 * number]
    return result


@pytest.mark.parametrize(
    "name",
    [
        "air",
        *and_slow("flyback-24w", "bridge-300w", "gate-drive", "four"),
    ],
)
def test_simulator_finds_the_predicted_readings(name: str, tmp_path: Path) -> None:
    """Open, shorted (every pair, and all others) and ratio from 1 kHz to 1 MHz, to 1 %
    in size and in the resistance in series."""
    design = _design(name)
    made = _netlist(name)
    names = [winding.name for winding in design.windings]
    cases: list[tuple[str, tuple[str, ...]]] = [(one, ()) for one in names]
    cases += [(one, (other,)) for one, other in itertools.permutations(names, 2)]
    if len(names) > 2:
        cases.append((names[0], tuple(names[1:])))
    found = _simulated(made.text, made.subcircuits[0], list(made.pins), cases, tmp_path)
    # Shorting one winding beside another of open parallel sections: those circulate in a field of their own.
    short_bound = 0.0125 if name == "four" else 0.01
    count, begin = len(FREQUENCIES), 0
    sensed_of = {case: [name for name in names if name != case[0] and not case[1]] for case in cases}
    tests = [
        test
        for (driven, shorted), sensed in sensed_of.items()
        for test in (
            *(_test("inductance", driven, shorted, "", f) for f in FREQUENCIES),
            *(_test("ratio", driven, (), other, f) for other in sensed for f in FREQUENCIES),
        )
    ]
    whole = predict_bench(replace(design, tests=tuple(tests)))
    for (driven, shorted), sensed in sensed_of.items():
        rows = slice(begin, begin := begin + (1 + len(sensed)) * count)
        predicted_impedance, predicted_values = whole.impedance[rows], whole.values[rows]
        impedance = found[driven, shorted][driven]
        error = np.abs(impedance) / np.abs(predicted_impedance[:count]) - 1
        where = f"{driven}, {shorted} shorted: {np.round(100 * error, 2)} %"
        assert np.max(np.abs(error)) <= (short_bound if shorted else 0.01), where
        resistance = impedance.real / predicted_impedance[:count].real - 1
        assert np.max(np.abs(resistance)) <= 0.01, where
        if shorted:
            inductive = np.abs(predicted_impedance[:count].imag / predicted_impedance[:count].real) > 0.2
            reactance = impedance.imag / predicted_impedance[:count].imag - 1
            assert np.max(np.abs(reactance[inductive])) <= short_bound, where
        for place, other in enumerate(sensed, 1):
            ratio = np.abs(impedance / found[driven, ()][other])
            wanted = predicted_values[place * count : (place + 1) * count]
            assert np.max(np.abs(ratio / wanted - 1)) <= 0.01, f"{driven} to {other}"


def _test(measure: str, driven: str, shorted: tuple[str, ...], sensed: str, frequency: float) -> BenchTest:
    sense = (Member(sensed),) if sensed else ()
    short = tuple(Member(one) for one in shorted)
    return BenchTest(
        name=measure,
        measure=measure,
        drive=(Member(driven),),
        short=short,
        sense=sense,
        frequency=frequency,
        level=1e-6,
        link=0.0,
        leads=0.0,
    )


@pytest.mark.parametrize("name", ["shielded", *and_slow("bridge-300w", "four")])
def test_no_element_is_negative_and_every_coupling_is_a_pair(name: str) -> None:
    """Passive by construction, read off the text: R, L, C ≥ 0, and every E that induces has the F that takes
    as much power, with the same ratio, in all three builds."""
    made = _netlist(name)
    parts = re.findall(r"(?ms)^\.subckt (\S+).*?^\.ends \1", made.text)
    assert parts == list(made.subcircuits)
    for block in re.findall(r"(?ms)^\.subckt .*?^\.ends", made.text):
        sources: dict[str, dict[str, float]] = {"E": {}, "F": {}}
        for line in block.splitlines():
            words = line.split()
            if words[0][0] in "RLC":
                assert float(words[-1]) > 0, line
            elif words[0][0] in "EF":
                sources[words[0][0]][words[0][1:]] = float(words[-1])
        assert sources["E"] == sources["F"]
        assert sources["E"]


@pytest.mark.slow
def test_low_and_high_builds_lie_on_either_side(tmp_path: Path) -> None:
    """Leakage, open inductance and resistance of the three subcircuits are in their order."""
    made = _netlist("flyback-24w")
    values = []
    for number, title in enumerate(made.subcircuits):
        folder = tmp_path / str(number)
        folder.mkdir()
        found = _simulated(made.text, title, list(made.pins), [("P", ()), ("P", ("S", "AUX"))], folder)
        values.append((abs(found["P", ()]["P"][2]), abs(found["P", ("S", "AUX")]["P"][4])))
    nominal, low, high = values
    assert low[0] < nominal[0] < high[0]
    assert low[1] < nominal[1] < high[1]
    factors = {part.name: dict(part.factors) for part in made.builds}
    assert low[1] / nominal[1] == pytest.approx(factors["low"]["leakage"], rel=0.01)
    assert high[0] / nominal[0] == pytest.approx(factors["high"]["open inductance"], rel=0.01)
    # the leakage of the ends is taken at the geometric mean of the range
    assert leakage_frequency(1e3, 1e6) == pytest.approx(31.6228e3, rel=1e-5)


def test_coils_in_air_have_no_core() -> None:
    """No pin and no element of a core; the ends have one factor of all inductances, 1.5 % either way (their
    geometry is all that varies); a level is refused."""
    made = _netlist("air")
    assert [name for _, name, _ in made.pins] == ["P", "P", "p", "p", "S 1", "S 1"]
    assert "core" not in made.text.split("* nominal")[1].replace("core and shields", "")
    for part in made.builds[1:]:
        factors = dict(part.factors)
        assert set(factors) == {"open inductance", "resistance", "capacitance"}
        assert 0.01 < abs(factors["open inductance"] - 1) < 0.03
    with pytest.raises(BuildError, match="a level for coils in air"):
        netlist_file(_design("air"), flux_density=0.1)


@pytest.mark.parametrize(
    ("name", "windings", "commons"),
    [("air", 3, ()), ("small first", 3, ()), *and_slow(("four", 4, ("core",)))],
)
def test_pins_are_told_apart_without_regard_to_case(
    name: str, windings: int, commons: tuple[str, ...]
) -> None:
    """Simulators do not know capital letters: windings P and p, and "S 1", get pins of their own."""
    pins = [pin for pin, _, _ in _netlist(name).pins]
    assert len({pin.lower() for pin in pins}) == len(pins)
    assert all(re.fullmatch(r"[A-Za-z0-9_]+", pin) for pin in pins)
    assert len(pins) == 2 * windings + len(commons)
    assert tuple(pins[2 * windings :]) == commons
