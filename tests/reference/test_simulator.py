"""The benchmark's simulator against three-dimensional fields and closed forms, and the diagnosis on a few of
its parts. The whole benchmark is ``tests/benchmarks/diagnosis.py``.
"""

from __future__ import annotations

import json
import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from judging import judge
from simulator.bench import display
from simulator.designs import part_of
from simulator.faults import CAUSES
from simulator.field import MU0, Source, box, interaction
from simulator.layers import Layer, Layout
from simulator.parts import Wire
from simulator.ring_arcs import linked, occupied
from simulator.samples import FIVE, Sample, generator, nominal_part
from simulator.spreads import ModelError, metered, produced, uncertainty

from aswound.compare import explain
from aswound.compare.readings.file import Reading
from aswound.predict import load_design, readings

pytestmark = pytest.mark.reference

CASES = Path(__file__).parent / "cases"
RINGS = [json.loads(line) for line in (CASES / "ring-sectors.jsonl").read_text("utf-8").splitlines()]
DESIGNS = Path(__file__).parents[1] / "benchmarks" / "designs"
DESIGN = DESIGNS / "tuning" / "etd34-interleaved.toml"
PLAIN = ("turns 1", "turns 2", "short-link", "strand", "misjoined")


def test_sheets_of_current_between_walls() -> None:
    """Two full-height blocks are a problem of one dimension: L = μ0/h (d + (a + b)/3) per metre."""
    height, a, d, b = 20e-3, 1.2e-3, 0.5e-3, 0.8e-3
    middle = np.array([height / 2])
    blocks = [
        Source(1e-3, 1e-3 + a, middle, height),
        Source(1e-3 + a + d, 1e-3 + a + d + b, middle, height),
    ]
    K = box(blocks, 6e-3, height, 0.5, 0.0, 64)
    flow = np.array([1.0, -1.0])
    assert flow @ K @ flow == pytest.approx(MU0 / height * (d + (a + b) / 3), rel=1e-9)


def test_ring_of_revolution() -> None:
    """The same around a leg: 2π ∫ F² r dr, by hand for a thin gap between two thin blocks."""
    height, radius = 20e-3, 6e-3
    middle = np.array([height / 2])
    blocks = [Source(1e-3, 1.001e-3, middle, height), Source(2e-3, 2.001e-3, middle, height)]
    flow = np.array([1.0, -1.0])
    value = 2 * math.pi * flow @ box(blocks, 4e-3, height, 1.0, radius, 64) @ flow
    inner, outer = radius + 1.0005e-3, radius + 2.0005e-3
    assert value == pytest.approx(MU0 * math.pi / height * (outer**2 - inner**2), rel=1e-3)


@pytest.mark.parametrize("record", RINGS, ids=lambda record: str(record["id"]))
def test_arcs_of_a_ring_against_finite_elements(record: dict[str, Any]) -> None:
    """Inductance of a crowded winding within 8 %; leakage of two windings on arcs 0 to 35 % high, where the
    build fills half of the hole's radius 50 %."""
    core, windings = record["core"], record["wind"]
    inner, outer, height = 1e-3 * core["r1"], 1e-3 * core["r2"], 1e-3 * core["H"]
    iron = MU0 * core["mur"] * height * math.log(outer / inner) / (2 * math.pi)
    top = max(one["i1"] for one in windings)
    t = 1e-3 * np.linspace(0, top, 4001)
    within = [1 - np.clip((1e3 * t - one["i0"]) / (one["i1"] - one["i0"]), 0, 1) for one in windings]
    weight = (
        (height + 2 * t) * (1 / (inner - t) + 1 / (outer + t)) / 2 + np.log((outer + t) / (inner - t))
    ) / math.pi
    even = MU0 * np.array([[np.trapezoid(a * b * weight, t) for a in within] for b in within])
    below = MU0 * np.array([np.trapezoid(a * weight, t) for a in [*within, np.ones_like(t)]])
    share = occupied([(one["centre"] / 360, one["al"] / 180) for one in windings])
    matrix = linked((inner, outer, height), iron, share, even, below)
    flow = np.array([one["NI"] for one in windings])
    if len(windings) == 1:
        alone = iron * flow[0] ** 2
        assert alone + float(flow @ matrix @ flow) == pytest.approx(alone + 2 * record["W"], rel=0.08)
    else:
        ratio = float(flow @ matrix @ flow) / 2 / record["W"]
        assert 1.0 < ratio < (1.5 if top > 0.3 * core["r1"] else 1.35)


@pytest.mark.parametrize(("name", "within"), [("dev-3d-e42-ps", 0.02), ("dev-3d-rnd21-etd-margin", 0.02)])
def test_leakage_against_three_dimensional_solution(name: str, within: float) -> None:
    record = json.loads((CASES / f"{name}.json").read_text(encoding="utf-8"))
    core, half = record["core"], record["core"]["h"] / 2
    if core["leg"] == "rect":
        size = (
            f'form = "E"\nleg_width = "{2 * core["a"]} mm"\nleg_depth = "{2 * core["b"]} mm"\n'
            f'window_width = "{core["xo"] - core["a"]} mm"\nouter_leg = "{core["wo"]} mm"\n'
        )
    else:
        size = (
            f'form = "round"\nleg_diameter = "{2 * core["rc"]} mm"\nwindow_diameter = "{2 * core["ro"]} mm"\n'
            f'length = "{2 * core["X"]} mm"\ndepth = "{2 * core["by"]} mm"\n'
        )
    size += f'window_height = "{core["h"]} mm"\nback = "{core["ty"]} mm"\n'
    part = part_of(
        f"[core]\nmu_i = 2000\n[core.dimensions]\n{size}\n[build]\nsteps = []\n[[winding]]\n"
        'name = "P"\nwire = { diameter = "0.2 mm", overall = "0.23 mm" }\n'
    )
    wire = Wire("round", 0.2e-3, 0.23e-3)
    layers, flow = [], []
    for number, block in enumerate(record["blocks"]):
        d0, d1, z0, z1 = (1e-3 * block[key] for key in ("d0", "d1", "z0", "z1"))
        low, high = z0 + 1e-3 * half, z1 + 1e-3 * half
        middle = np.array([(low + high) / 2])
        layers.append(
            Layer(
                "P",
                0,
                number,
                1.0,
                d0,
                d1,
                d1 - d0,
                low,
                high,
                middle,
                high - low,
                0.0,
                1.0,
                False,
                1e-7,
                wire,
            )
        )
        flow.append(block["NI"])
    width = core["xo"] - core["a"] if core["leg"] == "rect" else core["ro"] - core["rc"]
    layout = Layout(tuple(layers), (), (), 1e-3 * width, 1e-3 * core["h"])
    current = np.array(flow)
    assert current @ interaction(part, layout) @ current == pytest.approx(record["L_leak_P"], rel=within)


def test_nominal_readings_beside_the_prediction() -> None:
    """Two independent models of one design: inductance, ratio and resistance within a few per cent."""
    bars = {"inductance": 0.06, "ratio": 0.002, "resistance": 0.015, "ac_resistance": 0.15, "resonance": 0.2}
    part = nominal_part(DESIGN)
    predicted = np.ravel(readings(load_design(DESIGN)))
    part.bench.temperature = 20.0
    shown = display(part)
    for test, one, other in zip(part.tests, predicted, shown, strict=True):
        if test.measure in bars:
            assert other == pytest.approx(one, rel=bars[test.measure]), test.name


def test_plain_faults_are_found() -> None:
    """Five plain faults of one design, each in its middle severity or as drawn, lead their diagnoses."""
    path = DESIGN
    nominal, names = nominal_part(path), set(FIVE) | {"Lk_S", "Rac_P"}
    samples, rows = [], []
    for label in PLAIN:
        fault = next(fault for fault in CAUSES if fault.label == label)
        rng = generator(7, label)
        part = produced(nominal, ModelError(), rng)
        done = fault.apply(part, rng)
        values = metered(part, part.tests, display(part), rng)
        sample = Sample(path.stem, 0, "single", label, (done,), values, part)
        samples.append(sample)
        rows += [
            Reading(
                sample=sample.name,
                test=test.name,
                value=float(v),
                uncertainty=uncertainty(part, test, float(v)) / 2,
            )
            for test, v in zip(part.tests, values, strict=True)
            if test.name in names
        ]
    found = explain(load_design(path), rows, doubles=False)
    verdicts = [judge(one, other, 7, 0.0, True) for one, other in zip(samples, found, strict=True)]
    assert [verdict.label for verdict in verdicts if verdict.rank != 1] == []


@pytest.mark.parametrize(
    ("file", "label", "moved", "kept"),
    [
        ("tuning/etd34-interleaved", "two-wire", ("R_P", "R_S"), ("L_P", "Lk_P", "n")),
        ("tuning/etd34-interleaved", "wrong-al", ("L_P", "L_S"), ("R_P", "R_S", "C_PS")),
        ("tuning/r25-ring", "crowded", ("Lk_P", "Lk_S"), ("R_P", "R_S", "n")),
        ("tuning/rm8-signal", "offset", ("Lk_P",), ("R_P", "R_S")),
    ],
)
def test_what_the_everyday_faults_move(
    file: str, label: str, moved: tuple[str, ...], kept: tuple[str, ...]
) -> None:
    nominal = nominal_part(DESIGNS / f"{file}.toml")
    (fault,) = [fault for fault in CAUSES if fault.label == label]
    part = nominal.copy()
    done = fault.apply(part, generator(3, label))
    names = [test.name for test in nominal.tests]
    before = dict(zip(names, display(nominal), strict=True))
    after = dict(zip(names, display(part), strict=True))
    assert fault.applies(nominal)
    assert all(abs(after[name] / before[name] - 1) > 0.005 for name in moved)
    assert all(abs(after[name] / before[name] - 1) < 0.005 for name in kept)
    if label == "two-wire":
        assert after["R_P"] - before["R_P"] == pytest.approx(after["R_S"] - before["R_S"])
        assert after["R_P"] - before["R_P"] == pytest.approx(done.amount)
    if label == "wrong-al":
        assert after["L_P"] / before["L_P"] == pytest.approx(done.amount, rel=0.02)
