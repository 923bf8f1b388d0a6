"""The benchmark's simulator against three-dimensional fields and closed forms, and the diagnosis on a few of
its parts. The whole benchmark is ``tests/benchmarks/diagnosis.py``.
"""

from __future__ import annotations

import json
import math
from pathlib import Path

import numpy as np
import pytest
from judging import judge
from simulator.bench import display
from simulator.designs import part_of
from simulator.faults import CAUSES
from simulator.field import MU0, Source, box, interaction
from simulator.layers import Layer, Layout
from simulator.parts import Wire
from simulator.samples import FIVE, Sample, generator, nominal_part
from simulator.spreads import ModelError, metered, produced, uncertainty

from aswound.compare import explain
from aswound.compare.readings.file import Reading
from aswound.predict import load_design, readings

pytestmark = pytest.mark.reference

CASES = Path(__file__).parent / "cases"
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
            Reading(sample.name, test.name, float(v), uncertainty=uncertainty(part, test, float(v)) / 2)
            for test, v in zip(part.tests, values, strict=True)
            if test.name in names
        ]
    found = explain(load_design(path), rows, doubles=False)
    verdicts = [judge(one, other, 7, 0.0, True) for one, other in zip(samples, found, strict=True)]
    assert [verdict.label for verdict in verdicts if verdict.rank != 1] == []
