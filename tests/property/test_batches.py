"""A reading of a design alone is its reading in any batch of designs."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from how_many import and_slow

from aswound.compare.causes import CATALOGUE
from aswound.compare.hypotheses.changed_designs import changed_readings
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


EVERY = list(enumerate(cases()))


@pytest.mark.parametrize(("turn", "name"), [*EVERY[::3], *and_slow(*(row for row in EVERY if row[0] % 3))])
def test_alone_or_together(name: str, turn: int) -> None:
    """Of every design a third of its neighbours by turns, all of them together."""
    designs = neighbours(cases()[name]())
    together = predict_many(designs, readings)
    for number in range(turn % 3, len(designs), 3):
        alone = np.asarray(readings(designs[number]))
        np.testing.assert_allclose(alone, together[number], rtol=1e-9, atol=1e-300, err_msg=str(number))


def changed(design: Design) -> list[Design]:
    """The design with windings in every other order, wound of another metal, reversed, with sections joined
    in other ways, and with tape too many and too few: hardly two of one structure."""
    found = [design]
    for cause in CATALOGUE:
        if cause.name in ("order", "conductor", "reversed", "misjoined", "insulation"):
            for place in cause.places(design):
                found += [variant.design for variant in cause.variants(design, place)]
    return found


@pytest.mark.parametrize("name", ["bridge-300w", "flyback-24w", "e38-planar", "p30-chambers", "u25-one-leg"])
def test_alone_or_in_a_common_order(name: str) -> None:
    """Of every design each seventh of its changed designs, all of them together."""
    designs = changed(cases()[name]())
    together = changed_readings(designs)
    assert together.shape == (len(designs), len(designs[0].tests))
    for number in range(0, len(designs), 7):
        alone = np.asarray(readings(designs[number]))
        np.testing.assert_allclose(alone, together[number], rtol=1e-9, atol=1e-300, err_msg=str(number))


JOINED = """
[core]
shape = "ETD 29/16/10"
material = "MnZn 2300"
[[winding]]
name = "A"
wire = { diameter = "0.3 mm", overall = "0.34 mm" }
[[winding]]
name = "S"
wire = { diameter = "0.4 mm", overall = "0.45 mm" }
[[winding]]
name = "B"
wire = { diameter = "0.3 mm", overall = "0.34 mm" }
[[join]]
name = "P"
series = ["A", "-B"]
[build]
steps = [
  { wind = "A", turns = 30 },
  { tape = "0.06 mm", wraps = 2 },
  { wind = "S", turns = 12 },
  { tape = "0.06 mm", wraps = 2 },
  { wind = "B", turns = 20 },
]
[[test]]
name = "L_P"
measure = "inductance"
drive = "P"
frequency = "10 kHz"
[[test]]
name = "Lk_S"
measure = "inductance"
drive = "S"
short = "P"
frequency = "100 kHz"
[[test]]
name = "n"
measure = "ratio"
drive = "P"
sense = "S"
frequency = "10 kHz"
[[test]]
name = "C"
measure = "capacitance"
drive = "P"
sense = "S"
frequency = "10 kHz"
[[test]]
name = "f_res"
measure = "resonance"
drive = "P"
"""


def test_a_section_connected_the_wrong_way_round() -> None:
    """It reads as two windings of which the second is joined in reverse."""
    joined = parse_design(JOINED)
    split = JOINED.replace('name = "A"', 'name = "P"', 1).replace('wind = "A"', 'wind = "P"')
    split = split.replace('wind = "B"', 'wind = "P"').replace(
        '[[join]]\nname = "P"\nseries = ["A", "-B"]\n', ""
    )
    begin, end = split.index('[[winding]]\nname = "B"'), split.index("[build]")
    plain = parse_design(split[:begin] + split[end:])
    first, second = plain.windings
    turned = replace(plain, windings=(replace(first, polarity=(1, -1)), second))
    wanted = np.asarray(readings(joined))
    np.testing.assert_allclose(readings(turned), wanted, rtol=1e-6)
    assert np.all(np.abs(np.asarray(readings(plain)) / wanted - 1)[[0, 2, 4]] > 0.1)
