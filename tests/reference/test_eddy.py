"""Resistance and leakage of stacks of layers against eddy-current field solutions."""

from __future__ import annotations

import json
import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from aswound.predict import parse_design
from aswound.predict.field import planar_window
from aswound.predict.layout import lay_out
from aswound.predict.resistance import (
    alternating_excess,
    enclosed_share,
    local_fields,
    section_resistance,
)
from aswound.predict.turn_field import near_field

pytestmark = pytest.mark.reference
CASES = Path(__file__).parent / "cases"
MM = 1e-3


def layers_of(record: dict[str, Any]) -> list[dict[str, Any]]:
    """Conductors of one layer together: winding, kind, place across, extent along (mm), turns."""
    found: list[dict[str, Any]] = []
    for part in record["conductors"]:
        if part["kind"] == "foil":
            found.append({**part, "turns": 1, "overall": part["x1"] - part["x0"]})
            continue
        last = found[-1] if found else None
        if last and last["kind"] == "wire" and last["xc"] == part["xc"] and last["w"] == part["w"]:
            last["turns"] += 1
            last["last"] = part["yc"]
        else:
            found.append(
                {**part, "turns": 1, "first": part["yc"], "last": part["yc"], "overall": part["d"] * 1.05}
            )
    for layer in found:
        if layer["kind"] == "wire":
            pitch = (layer["last"] - layer["first"]) / (layer["turns"] - 1)
            layer["x0"], layer["x1"] = layer["xc"] - layer["overall"] / 2, layer["xc"] + layer["overall"] / 2
            layer["y0"], layer["y1"] = layer["first"] - pitch / 2, layer["last"] + pitch / 2
    return found


def design_text(record: dict[str, Any]) -> str:
    """A design whose layers lie where the record's do."""
    layers = layers_of(record)
    w, h = record["window"]["w"], record["window"]["h"]
    wires, steps, top = {}, [], 0.0
    for layer in layers:
        if layer["kind"] == "foil":
            wire = f'foil = "{layer["overall"]:.6f} mm", width = "{layer["y1"] - layer["y0"]:.6f} mm"'
        else:
            wire = f'diameter = "{layer["d"]:.6f} mm", overall = "{layer["overall"]:.6f} mm"'
        wires[layer["w"]] = wire
        if layer["x0"] - top > 1e-6 and steps:
            steps.append(f'{{ spacer = "{layer["x0"] - top:.6f} mm" }}')
        steps.append(
            f'{{ wind = "{layer["w"]}", turns = {layer["turns"]}, from_end = "{layer["y0"]:.6f} mm", '
            f'breadth = "{layer["y1"] - layer["y0"]:.6f} mm" }}'
        )
        top = layer["x1"]
    windings = "".join(f'[[winding]]\nname = "{name}"\nwire = {{ {wire} }}\n' for name, wire in wires.items())
    return f"""
[core]
mu_i = 2000
[core.dimensions]
form = "E"
leg_width = "5 m"
leg_depth = "5 m"
window_width = "{w} mm"
window_height = "{h} mm"
outer_leg = "5 m"
back = "5 m"
[bobbin]
wall = "{layers[0]["x0"]:.6f} mm"
flange = "0 mm"
{windings}
[build]
allowance = "0 %"
steps = [{", ".join(steps)}]
"""


def impedances(record: dict[str, Any]) -> list[tuple[float, float, float]]:
    """Frequency, and predicted over computed resistance and inductance less one."""
    design = parse_design(design_text(record))
    layout = lay_out(design)
    turns = {name: sum(part["w"] == name for part in record["conductors"]) for name in "PS"}
    flow = np.array(
        [
            count * (1.0 if section.winding == "P" else -turns["P"] / turns["S"])
            for section, count in zip(layout.sections, layout.turns[0], strict=True)
        ]
    )
    length = layout.turn_length[0]
    share = np.ones(1)
    inner, outer = enclosed_share(layout, share)
    fields = local_fields(design, layout, share)
    resistance = section_resistance(design, layout, 20.0)[0] / length
    direct = float(np.sum(resistance * (flow / layout.turns[0]) ** 2))
    w, h = record["window"]["w"] * MM, record["window"]["h"] * MM
    low = planar_window(w, h, layout.copper[0]) + near_field(design, layout, inside=1.0)[0] / length.mean()
    result = []
    for point in record["results"]:
        added = alternating_excess(design, layout, inner, outer, point["f"], 20.0, fields)[0] / length.mean()
        r = direct + float((flow @ added @ flow).real)
        inductance = float(flow @ low @ flow) + float((flow @ added @ flow).imag) / (2 * math.pi * point["f"])
        result.append((point["f"], r / point["R"] - 1, inductance / point["L"] - 1))
    return result


def records(name: str) -> list[dict[str, Any]]:
    return [json.loads(line) for line in (CASES / name).read_text().splitlines()]


@pytest.mark.parametrize("record", records("dev-eddy2d.jsonl"), ids=lambda record: record["id"])
def test_given_stacks(record: dict[str, Any]) -> None:
    """Bars: full-height foil 0.5 %; regular wire layers to 1 MHz R within 15 %, L within 5 %; less is
    asked."""
    bar_r, bar_l = (0.005, 0.005) if record["id"].startswith("foil") else (0.09, 0.03)
    for frequency, r, inductance in impedances(record):
        assert abs(r) < bar_r, (frequency, r)
        assert abs(inductance) < bar_l, (frequency, inductance)


@pytest.mark.parametrize("record", records("eddy-stacks.jsonl"), ids=lambda record: record["id"])
def test_partial_layers_and_unequal_breadths(record: dict[str, Any]) -> None:
    """Bars to 1 MHz: R within 20 %, L within 10 %. Asked of foils 7 % and 3.5 %, of wires 12.5 % and 8 %, to
    2 MHz."""
    bar_r, bar_l = (0.07, 0.035) if record["id"].startswith("foil") else (0.125, 0.08)
    for frequency, r, inductance in impedances(record):
        assert abs(r) < bar_r, (frequency, r)
        assert abs(inductance) < bar_l, (frequency, inductance)


@pytest.mark.parametrize("record", records("eddy-stacks.jsonl"), ids=lambda record: record["id"])
@pytest.mark.parametrize("frequency", [1e2, 1e4, 1e5, 1e6, 1e7])
def test_passive_reciprocal_and_nothing_at_low_frequency(record: dict[str, Any], frequency: float) -> None:
    """For any ampere-turns, balanced or not: losses are positive, leakage falls; excess vanishes at low
    frequency."""
    design = parse_design(design_text(record))
    layout = lay_out(design)
    share = np.full(1, 0.7)
    inner, outer = enclosed_share(layout, share)
    fields = local_fields(design, layout, share)
    added = alternating_excess(design, layout, inner, outer, frequency, 20.0, fields)[0]
    np.testing.assert_allclose(added, added.T, rtol=1e-12, atol=0)
    size = np.abs(added).max()
    assert np.linalg.eigvalsh(added.real).min() > -1e-9 * size
    assert np.linalg.eigvalsh(added.imag).max() < 1e-9 * size
    if frequency == 1e2:
        direct = section_resistance(design, layout, 20.0)[0] / layout.turns[0] ** 2
        assert size < 2e-3 * direct.max()
