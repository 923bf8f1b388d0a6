"""Windings on sectors of a ring against finite elements by harmonics of the angle (``ring_harmonics.py``)."""

from __future__ import annotations

import json
import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from aswound.predict.cores.magnetizing import MU_0
from aswound.predict.design import ToroidDimensions
from aswound.predict.field.leakage_error import expected_error
from aswound.predict.field.ring_exterior import exterior_permeance
from aswound.predict.field.ring_leakage import sector_interaction, toroid_interaction

pytestmark = pytest.mark.reference

RECORDS = [
    json.loads(line)
    for line in (Path(__file__).parent / "cases" / "ring-sectors.jsonl").read_text("utf-8").splitlines()
]


def modelled(case: dict[str, Any]) -> float:
    """W (J) of a case by the model."""
    core, windings = case["core"], case["wind"]
    ring = ToroidDimensions(2e-3 * core["r2"], 2e-3 * core["r1"], 1e-3 * core["H"])
    offsets = 1e-3 * np.array([[[winding["i0"], winding["i1"]] for winding in windings]])
    arcs = [
        (
            math.radians(winding["centre"] - winding["al"]),
            None if winding["al"] == 180 else math.radians(2 * winding["al"]),
        )
        for winding in windings
    ]
    iron = MU_0 * core["mur"] * 1e-3 * core["H"] * math.log(core["r2"] / core["r1"]) / (2 * math.pi)
    coupling = toroid_interaction(ring, offsets) + sector_interaction(ring, offsets, arcs, iron)
    flow = np.array([winding["NI"] for winding in windings])
    return float(flow @ coupling[0] @ flow / 2)


@pytest.mark.parametrize("case", RECORDS, ids=lambda case: str(case["id"]))
def test_the_energy_of_sectors(case: dict[str, Any]) -> None:
    """Within 3 %, builds that fill half of the hole's radius within 8 %, and within the error that the model
    states of itself; the solutions change by at most 0.25 % on a mesh twice as coarse."""
    thick = case["wind"][0]["i1"] > 0.3 * case["core"]["r1"]
    deviation = abs(modelled(case) / case["W"] - 1)
    assert deviation < (0.08 if thick else 0.03)
    ring = ToroidDimensions(2e-3 * case["core"]["r2"], 2e-3 * case["core"]["r1"], 1e-3 * case["core"]["H"])
    copper = 1e-3 * np.array([[[winding["i0"], winding["i1"], 0.0, 0.0] for winding in case["wind"]]])
    assert deviation < expected_error(ring, copper, None, [1.0, 1.0])[0]
    assert abs(case["W_coarse"] / case["W"] - 1) < 0.003


CROWDED = [case for case in RECORDS if str(case["id"]).startswith("crowded")]


@pytest.mark.parametrize("case", CROWDED, ids=lambda case: str(case["id"]))
def test_the_inductance_of_a_crowded_winding(case: dict[str, Any]) -> None:
    """L = AL N² + 2 W at 1 A of turns that are crowded on an arc, permeability 10 to 125: within 1.5 % of
    finite elements."""
    core, (winding,) = case["core"], case["wind"]
    iron = MU_0 * core["mur"] * 1e-3 * core["H"] * math.log(core["r2"] / core["r1"]) / (2 * math.pi)
    core_alone = iron * winding["NI"] ** 2
    solved, found = core_alone + 2 * case["W"], core_alone + 2 * modelled(case)
    assert solved > 1.1 * core_alone
    assert found == pytest.approx(solved, rel=0.015)


def test_the_flux_outside_a_slender_ring_is_that_of_a_straight_wire() -> None:
    """Independent closed form: a round wire of radius a ≪ λ with the potential cos kz sends out 2πka K1(ka)/
    K0(ka) per metre (Bessel functions; textbook). A square section of side s acts as a = 0.59017 s, its
    logarithmic capacity (from memory). The ring's own curvature is of the order of (m s/R)²."""
    from scipy.special import k0, k1

    radius, side = 1.0, 0.02
    found = exterior_permeance(radius - side / 2, radius + side / 2, side)
    for m in (6, 8, 10):
        ka = m * 0.59017 * side / radius
        assert found[m - 1] == pytest.approx(2 * math.pi * ka * k1(ka) / k0(ka) * radius, rel=0.03)


def test_the_flux_outside_a_thick_ring() -> None:
    """Against one harmonic solved by finite elements on the spot: a sheet 10 µm thick on a core of very high
    permeability has the surface's potential."""
    pytest.importorskip("skfem")
    import importlib.util

    path = Path(__file__).parent / "ring_harmonics.py"
    spec = importlib.util.spec_from_file_location("ring_harmonics", path)
    assert spec is not None
    assert spec.loader is not None
    harmonics = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(harmonics)
    ring = {"r1": 9.5, "r2": 15.5, "H": 10.0, "mur": 1e7}
    solved = harmonics.Ring(ring, [[0.005, 0.015]], 1.0, 6.0)
    found = exterior_permeance(9.49e-3, 15.51e-3, 10.02e-3)
    for m in (1, 2, 5):
        assert found[m - 1] == pytest.approx(1e-3 * solved.form(m)[0, 0], rel=0.015)
