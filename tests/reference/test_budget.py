"""The budget of a reading: a worked one, and the law of propagation against Monte Carlo (JCGM 101)."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from aswound.compare.meter.accuracy import (
    ACCURACY,
    OPEN_CAPACITANCE,
    PHASE,
    SHORT_INDUCTANCE,
    SHORT_RESISTANCE,
    impedance_terms,
    meter_components,
)
from aswound.compare.meter.budget import HANDLING, budget, handled_components, reading_budgets
from aswound.predict.circuit.bench import predict_bench
from aswound.predict.circuit.displayed_number import display
from aswound.predict.design import Bench, Design
from aswound.predict.designfile.reader import load_design
from aswound.predict.production.monte_carlo import spread

pytestmark = pytest.mark.reference

FLYBACK = load_design(Path(__file__).parents[2] / "samples" / "flyback-24w.toml")
RECTANGULAR = 2.0 / math.sqrt(3.0)
"""A rectangular bound b has the standard uncertainty b/√3: written as a k = 2 term it is 2b/√3."""
F, L = 100e3, 0.5e-6
OMEGA = 2 * math.pi * F


def _one(name: str, bench: Bench = FLYBACK.bench) -> Design:
    return replace(FLYBACK, bench=bench, tests=tuple(t for t in FLYBACK.tests if t.name == name))


def test_worked_budget_of_half_a_microhenry() -> None:
    """The project's bench notes, B.10: 0.5 µH at 100 kHz, Q = 3; basic 0.06 %, residual 2 mΩ 0.37 %, short
    standard 5 nH 0.58 %, fixture 5 nH 0.58 %, re-connection 0.5 %, link 2 nH × 25 rectangular 5.8 %.
    Combined without the link about 1.1 %, with it about 6 %."""
    bench = Bench(
        accuracy=0.001 * RECTANGULAR,
        floor_resistance=2e-3 * RECTANGULAR,
        floor_inductance=5e-9 * RECTANGULAR,
        floor_capacitance=0.0,
    )
    lossy = OMEGA * L * (1 / 3 + 1j)
    meter = {name: float(u) for name, u in meter_components(bench, "inductance", L, lossy, F).items()}
    assert meter[ACCURACY] / L == pytest.approx(0.0006, abs=5e-5)
    assert math.hypot(meter[ACCURACY], meter[PHASE]) / meter[ACCURACY] == pytest.approx(1.05, abs=5e-3)
    assert meter[SHORT_RESISTANCE] / L == pytest.approx(0.0037, abs=5e-5)
    assert meter[SHORT_INDUCTANCE] / L == pytest.approx(0.0058, abs=5e-5)
    bench_alone = [*meter.items(), ("fixture", 5e-9 / math.sqrt(3)), (HANDLING, 0.005 * L)]
    without = budget(bench_alone)
    assert without.combined / L == pytest.approx(0.011, abs=1e-3)
    whole = budget([*bench_alone, ("link", 25 * 2e-9 / math.sqrt(3))])
    assert whole.components[0].name == "link"
    assert whole.components[0].standard_uncertainty / L == pytest.approx(0.058, abs=5e-4)
    assert whole.combined / L == pytest.approx(0.06, abs=2e-3)
    assert whole.without("link").combined == pytest.approx(without.combined, rel=1e-12)
    assert sum(map(whole.share, whole.components)) == pytest.approx(1.0, rel=1e-12)


@pytest.mark.parametrize("circuit", ["series", "parallel"])
@pytest.mark.parametrize("measure", ["inductance", "ac_resistance", "quality", "phase"])
def test_the_meters_components_add_up_as_random_errors_of_the_impedance_do(
    measure: str, circuit: str
) -> None:
    """JCGM 101: each term of the impedance drawn by itself, normal, on both axes, through the display."""
    bench = Bench(accuracy=2e-4, floor_resistance=1e-4, floor_inductance=1e-10, floor_capacitance=0.5e-12)
    impedance = 4.0 + 9.0j
    random = np.random.default_rng(7)
    drawn = np.full(40_000, impedance)
    for width in impedance_terms(bench, abs(impedance), F).values():
        errors = random.standard_normal((2, len(drawn))) * float(width) / 2
        drawn = drawn + errors[0] + 1j * errors[1]
    shown = display(measure, drawn, OMEGA, circuit)
    value = float(display(measure, impedance, OMEGA, circuit))
    parts = meter_components(bench, measure, value, impedance, F, equivalent=circuit)
    combined = budget((name, float(u)) for name, u in parts.items()).combined
    assert combined == pytest.approx(float(np.std(shown)), rel=0.02)
    assert float(parts[OPEN_CAPACITANCE]) > 0


def test_what_the_leads_leave_in_a_capacitance_by_hand() -> None:
    """100 nF at 100 kHz are 15.9 ohm; 10 nH in series (k = 2) are 6.28 mohm, 0.0395 % of them: 39.5 pF,
    half of it as a standard uncertainty. 16 mohm move it by 0.1005 %: 50.3 pF."""
    bench = Bench(accuracy=0.0, floor_resistance=16e-3, floor_inductance=10e-9, floor_capacitance=0.0)
    parts = meter_components(bench, "capacitance", 100e-9, None, F)
    assert float(parts[SHORT_INDUCTANCE]) == pytest.approx(39.48e-12 / 2, rel=1e-3)
    assert float(parts[SHORT_RESISTANCE]) == pytest.approx(100.5e-12 / 2, rel=1e-3)


def test_the_set_ups_components_against_random_links_and_leads() -> None:
    """Link and leads varied at random through the whole prediction: the law of propagation gives their
    standard deviation within 8 % (the sample's own error is 2.5 %)."""
    bench = replace(FLYBACK.bench, lead_inductance=40e-9, lead_resistance=20e-3)
    design = _one("Lk_P", bench)
    (own,) = reading_budgets(design)
    parts = {part.name: part.standard_uncertainty for part in own.components}
    samples = spread(design, 800, 3, origins=("setup",)).samples[:, 0]
    combined = math.hypot(parts["shorting link"], parts["leads"])
    assert combined == pytest.approx(float(np.std(samples)), rel=0.08)


def test_a_shorting_link_counts_by_the_square_of_the_turns_ratio() -> None:
    """n² k² u(L_s) with n k = 7.5 of 60 : 8 turns, u = 8 nH × 25 %."""
    (own,) = reading_budgets(_one("Lk_P"))
    link = next(part for part in own.components if part.name == "shorting link")
    assert link.standard_uncertainty == pytest.approx(7.5**2 * 2e-9, rel=0.02)


def test_temperature_of_copper() -> None:
    """0.5 K of copper at 20 °C: 0.393 %/K (IEC 60028, from memory)."""
    (own,) = reading_budgets(_one("R_P"))
    value = float(predict_bench(_one("R_P")).values[0])
    part = next(part for part in own.components if part.name == "temperature")
    assert part.standard_uncertainty / value == pytest.approx(0.5 * 0.00393, rel=0.01)


def test_the_budget_of_a_prediction_contains_what_a_reading_is_given() -> None:
    """The same meter and handling as for readings that state no uncertainty."""
    design = _one("Lk_P")
    prediction = predict_bench(design)
    (own,) = reading_budgets(design)
    parts = {part.name: part.standard_uncertainty for part in own.components}
    given = handled_components(
        design, design.tests[0], prediction.values[:1], complex(prediction.impedance[0])
    )
    for name, size in given.items():
        assert parts.get(name, 0.0) == pytest.approx(float(size[0]), rel=1e-12, abs=0.0)
