"""Level, flux density and direct current of a test: hand-computed on a ring and on a gapped core."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from aswound.predict import parse_design
from aswound.predict.circuit.bench import predict_bench, readings
from aswound.predict.circuit.core_state import core_cautions
from aswound.predict.cores.magnetizing import MU_0, air_reluctance, bias_point, core_inductance_factor
from aswound.predict.cores.normal_curve import level_ratio
from aswound.predict.design import Design

pytestmark = pytest.mark.exact

RING = """
[core]
material = "MnZn 5000"
[core.dimensions]
form = "toroid"
outer_diameter = "25 mm"
inner_diameter = "15 mm"
height = "10 mm"
[[winding]]
name = "P"
wire = { diameter = "0.3 mm", grade = 1 }
[build]
steps = [{ wind = "P", turns = 20 }]
[[test]]
name = "L"
measure = "inductance"
drive = "P"
frequency = "10 kHz"
level = "1 V"
[bench]
lead_resistance = "0 ohm"
"""
GAPPED = """
[core]
shape = "ETD 34/17/11"
material = "MnZn 2300"
gap = "0.5 mm"
[bobbin]
wall = "1 mm"
flange = "1 mm"
[[winding]]
name = "P"
wire = { diameter = "0.4 mm", grade = 1 }
[[winding]]
name = "S"
wire = { diameter = "0.4 mm", grade = 1 }
sections = "parallel"
[build]
steps = [
  { wind = "P", turns = 30 },
  { tape = "0.1 mm", wraps = 1 },
  { wind = "S", turns = 30 },
  { wind = "S", turns = 30 },
]
[[test]]
name = "L"
measure = "inductance"
drive = "P"
frequency = "10 kHz"
"""


def _with(text: str, bench: dict[str, float] | None = None, **test: object) -> Design:
    design = parse_design(text)
    tests = tuple(replace(one, **test) for one in design.tests)  # type: ignore[arg-type]
    return replace(design, tests=tests, bench=replace(design.bench, **(bench or {})))  # type: ignore[arg-type]


def test_flux_density_of_a_held_level() -> None:
    """Without source resistance B = √2 V/(ω N Ae), but for the winding's resistance and stray flux (1 %)."""
    prediction = predict_bench(_with(RING, {"source_resistance": 0.0}))
    area = float(np.asarray(parse_design(RING).core.effective_area))
    assert float(prediction.level[0]) == pytest.approx(1.0)
    assert float(prediction.flux_density[0]) == pytest.approx(
        math.sqrt(2) / (2 * math.pi * 1e4 * 20 * area), rel=0.01
    )


def test_the_source_resistance_divides_the_level() -> None:
    """V = level |Z|/|Z + R|, and the flux density in proportion to V."""
    for resistance in (10.0, 100.0, 1000.0):
        prediction = predict_bench(_with(RING, {"source_resistance": resistance}))
        impedance = complex(prediction.impedance[0])
        level = abs(impedance) / abs(impedance + resistance)
        assert float(prediction.level[0]) == pytest.approx(level)
        held = predict_bench(_with(RING, {"source_resistance": 0.0}, level=level))
        assert float(held.flux_density[0]) == pytest.approx(float(prediction.flux_density[0]), rel=1e-3)
        assert float(held.values[0]) == pytest.approx(float(prediction.values[0]), rel=1e-4)


@pytest.mark.parametrize("level", [0.01, 1.0, 5.0, 12.0])
def test_permeability_and_flux_density_agree(level: float) -> None:
    """The ring's inductance over that at no level is μa(B)/μi at the flux density that is reported."""
    quiet = float(readings(_with(RING, {"source_resistance": 0.0}, level=1e-9))[0])
    prediction = predict_bench(_with(RING, {"source_resistance": 0.0}, level=level))
    ratio = float(level_ratio(parse_design(RING).core.material, float(prediction.flux_density[0])))
    assert float(prediction.values[0]) / quiet == pytest.approx(ratio, rel=2e-3)


def test_direct_current_far_from_saturation_and_in_it() -> None:
    """B = NI/(R Ae) in a gapped core; the reading falls where the core saturates (about 0.48 T)."""
    core = parse_design(GAPPED).core
    iron = core.effective_length / (MU_0 * 2300 * float(np.asarray(core.effective_area)))
    total = iron + float(air_reluctance(core))
    plain, little, much = (predict_bench(_with(GAPPED, bias=current)) for current in (0.0, 0.5, 8.0))
    expected = 30 * 0.5 / total / float(np.asarray(core.effective_area))
    assert float(plain.bias_flux_density[0]) == 0.0
    assert float(little.bias_flux_density[0]) == pytest.approx(expected, rel=5e-3)
    assert float(little.values[0]) == pytest.approx(float(plain.values[0]), rel=5e-3)
    assert 0.4 < float(much.bias_flux_density[0]) < 0.48
    assert float(much.values[0]) < 0.8 * float(plain.values[0])


def test_direct_current_divides_between_sections_in_parallel() -> None:
    """Half of the current in each of two equal sections of 30 turns: as many ampere-turns as 30 turns."""
    series = predict_bench(_with(GAPPED, bias=1.0)).bias_flux_density[0]
    both = parse_design(
        GAPPED.replace('drive = "P"', 'drive = "S"').replace("[[test]]", '[[test]]\nbias = "1 A"')
    )
    assert float(predict_bench(both).bias_flux_density[0]) == pytest.approx(float(series), rel=1e-6)
    opposing = parse_design(GAPPED.replace('drive = "P"', 'drive = ["P", "-S"]\nbias = "1 A"'))
    assert abs(float(predict_bench(opposing).bias_flux_density[0])) < 1e-9


def test_a_powder_ring_under_bias() -> None:
    """H = NI/le in a closed core: the inductance over that without bias is 1/(1 + (H/H½)^n)."""
    text = RING.replace("MnZn 5000", "sendust 60")
    core = parse_design(text).core
    plain, biased = (float(readings(_with(text, bias=current))[0]) for current in (0.0, 20.0))
    ratio = 1 / (1 + (20 * 20.0 / core.effective_length / 7600) ** 1.85)
    assert float(bias_point(core, 400.0)[1]) == pytest.approx(ratio)
    air = 1 - float(core_inductance_factor(core)) * 400 / plain
    assert biased / plain == pytest.approx(air + (1 - air) * ratio, rel=2e-3)


def test_one_winding_alone_links_its_window() -> None:
    """A coil that nothing opposes reads the core's permeance and the field between leg and coil: AL within 2
    %."""
    text = GAPPED.replace('  { tape = "0.1 mm", wraps = 1 },\n', "").replace(
        '  { wind = "S", turns = 30 },\n', ""
    )
    text = text[: text.index('[[winding]]\nname = "S"')] + text[text.index("[build]") :]
    design = parse_design(text)
    value = float(readings(design)[0]) / 900
    assert value == pytest.approx(float(core_inductance_factor(design.core)), rel=0.02)


@pytest.mark.parametrize(
    ("design", "words"),
    [
        (_with(RING, level=3.0), ("L (+", "half to twice", "Set the level exactly")),
        (
            _with(GAPPED, bias=8.0),
            ("L: the core reaches", "from the direct current", "saturates at about 480 mT"),
        ),
        (
            _with(GAPPED.replace('material = "MnZn 2300"', "mu_i = 2300"), bias=0.1),
            ("direct current on the permeability is not predicted", "mu_i 2300"),
        ),
        (_with(RING, frequency=5e6), ("above 2400 kHz", "MnZn 5000 ends")),
    ],
    ids=["level", "saturation", "unknown saturation", "frequency"],
)
def test_cautions(design: Design, words: tuple[str, ...]) -> None:
    text = " ".join(core_cautions(design))
    for word in words:
        assert word in text


def test_nothing_to_say_of_a_gapped_core_at_a_low_level() -> None:
    assert core_cautions(_with(GAPPED)) == ()
