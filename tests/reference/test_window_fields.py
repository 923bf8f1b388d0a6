"""Window solutions against two-dimensional finite-element solutions (tests/reference/cases)."""

from __future__ import annotations

import json
import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from aswound.predict.field import centroid_forms, outside, planar_window, round_window

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
    """Within 0.3 % of the finite-element energy, the bar; 0.03 % is what the series reaches."""
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
