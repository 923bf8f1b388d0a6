"""Window solutions against two-dimensional finite-element solutions (tests/reference/cases)."""

from __future__ import annotations

import json
import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from aswound.predict import parse_design
from aswound.predict.copper.alternating_current import alternating_excess, enclosed_share
from aswound.predict.copper.resistance import section_resistance
from aswound.predict.field import centroid_forms, outside, planar_window, round_window
from aswound.predict.winding.layout import lay_out

pytestmark = pytest.mark.reference

CASES = Path(__file__).parent / "cases"
MM = 1e-3


def records(name: str) -> list[dict[str, Any]]:
    return [
        json.loads(line) for line in (CASES / name).read_text(encoding="utf-8").splitlines() if line.strip()
    ]


def blocks_of(record: dict[str, Any], keys: tuple[str, str, str, str]) -> np.ndarray:
    return np.array([[block[key] for key in keys] for block in record["blocks"]]) * MM


def ampere_turns(record: dict[str, Any]) -> np.ndarray:
    return np.array([block["NI"] for block in record["blocks"]])


@pytest.mark.parametrize("record", records("dev-planar2d.jsonl"), ids=lambda record: record["id"])
def test_planar_window_energy(record: dict[str, Any]) -> None:
    """Within 0.3 % of the finite-element energy, the bar; 0.1 % is asked here."""
    window, flow = record["window"], ampere_turns(record)
    matrix = planar_window(window["w"] * MM, window["h"] * MM, blocks_of(record, ("x0", "x1", "y0", "y1")))
    assert flow @ matrix @ flow / 2 == pytest.approx(record["W_per_m"], rel=1e-3)


@pytest.mark.parametrize("record", records("dev-axisym2d.jsonl"), ids=lambda record: record["id"])
def test_round_window_energy(record: dict[str, Any]) -> None:
    """Within 0.5 % of the finite-element energy, the bar; 0.2 % is asked here."""
    window, flow = record["window"], ampere_turns(record)
    matrix = round_window(
        window["r_inner"] * MM,
        window["r_outer"] * MM,
        window["h"] * MM,
        blocks_of(record, ("r0", "r1", "z0", "z1")),
    )
    assert flow @ matrix @ flow / 2 == pytest.approx(record["W"], rel=2e-3)


def test_batched_windows_equal_single_ones() -> None:
    """All cases with as many blocks in one call."""
    chosen = [record for record in records("dev-planar2d.jsonl") if len(record["blocks"]) == 3]
    assert len(chosen) > 5
    width = np.array([record["window"]["w"] for record in chosen]) * MM
    height = np.array([record["window"]["h"] for record in chosen]) * MM
    blocks = np.stack([blocks_of(record, ("x0", "x1", "y0", "y1")) for record in chosen])
    together = planar_window(width, height, blocks, modes=128)
    for place in range(len(chosen)):
        alone = planar_window(width[place], height[place], blocks[place], modes=128)
        np.testing.assert_allclose(together[place], alone, rtol=1e-9, atol=1e-15)


def outside_energies(record: dict[str, Any]) -> tuple[float, float, float]:
    """Open space, mirror, and window without an outer leg, over the finite-element energy; a turn's length is
    that at the centroid of the energy."""
    radius, height = record["post"]["r"] * MM, record["post"]["h_window"] * MM
    blocks = blocks_of(record, ("r0", "r1", "z0", "z1")) - radius * np.array([1.0, 1.0, 0.0, 0.0])
    flow = ampere_turns(record)
    reach = float(blocks[:, 1].max())
    width = reach + 4 * max(reach, height)
    free, image = outside(blocks)
    energy, moment = centroid_forms(width, height, blocks)
    length = 2 * math.pi * (radius + (flow @ moment @ flow) / (flow @ energy @ flow))
    forms = (free, free + image, planar_window(width, height, blocks))
    low, mirror, yokes = (float(flow @ form @ flow / 2 * length / record["W"]) for form in forms)
    return low, mirror, yokes


@pytest.mark.parametrize("record", records("dev-axisym-outside.jsonl"), ids=lambda record: record["id"])
def test_beside_the_leg(record: dict[str, Any]) -> None:
    """A post and its yokes without an outer leg, in space.

    Where the yokes reach over the windings, the window without an outer leg holds (1 %). Where they end with
    the post, the mirror does (7 %: it goes on beyond the post's ends, and is plane); open space is too low.
    """
    low, mirror, yokes = outside_energies(record)
    outermost = max(block["r1"] for block in record["blocks"])
    if record["yoke"]["r"] > outermost:
        assert yokes == pytest.approx(1, rel=0.01)
        assert mirror < 0.95
    elif record["yoke"]["r"] == record["post"]["r"]:
        assert mirror == pytest.approx(1, rel=0.07)
        assert low < 1
        assert yokes > 1.02
    else:  # yokes over a part of the windings: between the two
        assert low < 1 < mirror < yokes


def foil_design(record: dict[str, Any]) -> str:
    """Two foils of P and two of S over the full height, around a leg so large that all turns are of one
    length."""
    foils = record["conductors"]
    step, between = foils[1]["x0"] - foils[0]["x1"], foils[2]["x0"] - foils[1]["x1"]
    assert [foil["w"] for foil in foils] == ["P", "P", "S", "S"]
    assert foils[3]["x0"] - foils[2]["x1"] == pytest.approx(step)
    thickness, breadth = foils[0]["x1"] - foils[0]["x0"], record["window"]["h"]
    wire = f'wire = {{ foil = "{thickness:.6f} mm", width = "{breadth} mm" }}'
    turns = f'turns = 2, interlayer = "{step:.6f} mm"'
    return f"""
[core]
mu_i = 2000
[core.dimensions]
form = "E"
leg_width = "10 m"
leg_depth = "10 m"
window_width = "{record["window"]["w"]} mm"
window_height = "{record["window"]["h"]} mm"
outer_leg = "5 m"
back = "5 m"
[bobbin]
wall = "{foils[0]["x0"]} mm"
flange = "0 mm"
[[winding]]
name = "P"
{wire}
[[winding]]
name = "S"
{wire}
[build]
steps = [{{ wind = "P", {turns} }}, {{ spacer = "{between:.6f} mm" }}, {{ wind = "S", {turns} }}]
"""


FOIL_STACK = next(record for record in records("dev-eddy2d.jsonl") if record["id"] == "foil-2p2s")


@pytest.mark.parametrize("point", FOIL_STACK["results"], ids=lambda point: f"{point['f']:g} Hz")
def test_full_height_foil_with_eddy_currents(point: dict[str, float]) -> None:
    """Resistance and leakage per metre from 100 Hz to 2 MHz; the bar is 0.5 %, 0.03 % is asked here."""
    design = parse_design(foil_design(FOIL_STACK))
    layout = lay_out(design, strict=True)
    places = blocks_of({"blocks": FOIL_STACK["conductors"]}, ("x0", "x1", "y0", "y1"))
    np.testing.assert_allclose(layout.copper[0], places, atol=1e-9)
    flow, length = np.array([1.0, 1.0, -1.0, -1.0]), float(layout.turn_length.mean())
    inner, outer = enclosed_share(layout, np.ones(1))
    added = (
        complex(flow @ alternating_excess(design, layout, (inner, outer), point["f"], 20.0)[0] @ flow)
        / length
    )
    direct = float(section_resistance(design, layout, 20.0).sum()) / length
    low = planar_window(FOIL_STACK["window"]["w"] * MM, FOIL_STACK["window"]["h"] * MM, layout.copper[0])
    assert direct + added.real == pytest.approx(point["R"], rel=3e-4)
    assert flow @ low @ flow + added.imag / (2 * math.pi * point["f"]) == pytest.approx(point["L"], rel=3e-4)
