"""A reading of a design alone is its reading in any batch of designs."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from aswound.predict import Design, load_design, parse_design
from aswound.predict.batch import predict_many
from aswound.predict.circuit.bench import readings
from aswound.predict.design import WindStep
from aswound.predict.production.tolerances import parameters

pytestmark = pytest.mark.property
ROOT = Path(__file__).parents[2]
FILES = sorted(
    [*(ROOT / "samples").glob("*.toml"), *(ROOT / "tests" / "benchmarks" / "designs").glob("*/*.toml")]
)
SECTORS = """
[core]
dimensions = { form = "toroid", outer_diameter = "25 mm", inner_diameter = "15 mm", height = "10 mm" }
mu_i = 2200
[[winding]]
name = "P"
wire = { diameter = "0.5 mm", overall = "0.56 mm" }
[[winding]]
name = "S"
wire = { diameter = "0.8 mm", overall = "0.88 mm" }
[build]
steps = [
  { wind = "P", turns = 34, sector = "150 deg" },
  { tape = "0.06 mm", wraps = 2 },
  { wind = "S", turns = 12, sector = "120 deg", from_angle = "180 deg" },
]
[[test]]
name = "L_P"
measure = "inductance"
drive = "P"
frequency = "10 kHz"
[[test]]
name = "Lk_P"
measure = "inductance"
drive = "P"
short = "S"
frequency = "100 kHz"
[[test]]
name = "Rac_P"
measure = "ac_resistance"
drive = "P"
short = "S"
frequency = "100 kHz"
[[test]]
name = "f_res"
measure = "resonance"
drive = "P"
"""


def more_turns(design: Design, ratio: float) -> Design:
    """Every winding with more turns or fewer: layers tip over."""
    steps = tuple(
        replace(step, turns=np.maximum(np.round(np.asarray(step.turns) * ratio), 1.0))
        if isinstance(step, WindStep)
        else step
        for step in design.build.steps
    )
    return replace(design, build=replace(design.build, steps=steps))


def neighbours(design: Design) -> list[Design]:
    """The design, two of its random builds, wires of 8 % more, turns of 30 % more and less, ten times the
    level."""
    random = np.random.default_rng(7)
    result = [design]
    for size in (1.0, 2.0):
        build = design
        for parameter in parameters(design):
            build = parameter.change(build, size * float(random.standard_normal()))
        result.append(build)
    wound = [parameter for parameter in parameters(design) if parameter.name.startswith("wire ")]
    thick = design
    for parameter in wound:
        thick = parameter.change(thick, 8.0)
    louder = replace(design, bench=replace(design.bench, level_scale=10.0))
    return [*result, thick, more_turns(design, 1.3), more_turns(design, 0.7), louder]


def cases() -> dict[str, Callable[[], Design]]:
    """Every sample and benchmark design, and a ring with sectors."""
    found: dict[str, Callable[[], Design]] = {
        path.stem: lambda path=path: load_design(path) for path in FILES
    }
    return {**found, "sectors": lambda: parse_design(SECTORS)}


@pytest.mark.parametrize(("name", "turn"), [(name, turn) for turn, name in enumerate(cases())])
def test_alone_or_together(name: str, turn: int) -> None:
    """Of every design a third of its neighbours by turns, all of them together."""
    designs = neighbours(cases()[name]())
    together = predict_many(designs, readings)
    for number in range(turn % 3, len(designs), 3):
        alone = np.asarray(readings(designs[number]))
        np.testing.assert_allclose(alone, together[number], rtol=1e-9, atol=1e-300, err_msg=str(number))
