"""Resistance and leakage of stacks of layers against eddy-current field solutions."""

from __future__ import annotations

import json
import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from aswound.predict import parse_design
from aswound.predict.copper import alternating_excess, enclosed_share, local_fields
from aswound.predict.copper.resistance import section_resistance
from aswound.predict.field import planar_window
from aswound.predict.field.turn_field import near_field
from aswound.predict.winding.layout import lay_out

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
        added = (
            alternating_excess(design, layout, (inner, outer), point["f"], 20.0, fields)[0] / length.mean()
        )
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


GAP_BARS = {"gap-wire-1layer": 0.10, "gap-wire-2layers": 0.11, "gap-wire-near": 0.16}
"""Deviation of R to 1 MHz, other windings 0.05; within 0.07 to 100 kHz."""


@pytest.mark.parametrize("record", records("eddy-gaps.jsonl"), ids=lambda record: record["id"])
def test_windings_beside_a_gap(record: dict[str, Any]) -> None:
    """Nothing but the gap answers the winding: up to 67 times the direct-current resistance. The worst has
    its wires less than half a gap's length from the leg."""
    length = record["gap"][1] - record["gap"][0]
    core = f'mu_i = 1e7\nface_gap = "0 um"\ngap = "{length} mm"'
    text = design_text(record).replace("mu_i = 2000", core)
    text += '[[test]]\nname = "L"\nmeasure = "inductance"\ndrive = "P"\nfrequency = "10 kHz"\n'
    design = parse_design(text)
    layout = lay_out(design)
    own = np.array([section.winding == "P" for section in layout.sections])
    flow = np.where(own, layout.turns[0], 0.0)
    share = np.ones(1)
    inner, outer = enclosed_share(layout, share)
    fields = local_fields(design, layout, share)
    length = layout.turn_length[0]
    resistance = section_resistance(design, layout, 20.0)[0] / length
    direct = float(np.sum(resistance * own))
    for point in record["results"]:
        added = (
            alternating_excess(design, layout, (inner, outer), point["f"], 20.0, fields)[0] / length.mean()
        )
        deviation = (direct + float((flow @ added @ flow).real)) / point["R"] - 1
        bar = 0.07 if point["f"] <= 1e5 else GAP_BARS.get(record["id"], 0.05)
        assert abs(deviation) < bar, (point["f"], deviation)
        np.testing.assert_allclose(added, added.T, rtol=1e-12, atol=0)
        assert np.linalg.eigvalsh(added.real).min() > -1e-9 * np.abs(added).max()


@pytest.mark.parametrize("direction", ["out", "up"])
@pytest.mark.parametrize("legs", ["centre", "spacer"])
def test_a_gap_is_nothing_to_balanced_ampere_turns(direction: str, legs: str) -> None:
    """What windings of equal and opposite ampere-turns meet does not know of the gap (an identity); one
    winding alone does."""
    record = next(r for r in records("eddy-stacks.jsonl") if r["id"] == "foil-unequal")
    text = design_text(record) if direction == "out" else UP
    text += '[[test]]\nname = "L"\nmeasure = "inductance"\ndrive = "P"\nfrequency = "10 kHz"\n'
    found = []
    for gap in (0.02, 0.5):
        core = f'mu_i = 2000\ngap = "{gap} mm"\ngap_legs = "{legs}"'
        design = parse_design(text.replace("mu_i = 2000", core))
        layout = lay_out(design)
        share = np.full(1, 0.7)
        inner, outer = enclosed_share(layout, share)
        fields = local_fields(design, layout, share)
        found.append(alternating_excess(design, layout, (inner, outer), 1e5, 20.0, fields)[0])
    n = len(found[0])
    balanced = np.array([1.0] * (n // 2) + [-1.0] * (n - n // 2))
    balanced[n // 2 :] *= (n // 2) / (n - n // 2)
    alone = np.where(balanced > 0, 1.0, 0.0)
    wide, narrow = ((flow @ found[1] @ flow, flow @ found[0] @ flow) for flow in (balanced, alone))
    assert wide[0] == pytest.approx(wide[1], rel=1e-6)
    assert abs(narrow[0] / narrow[1] - 1) > 0.01


UP = """
[core]
mu_i = 2000
[core.dimensions]
form = "E"
leg_width = "12 mm"
leg_depth = "15 mm"
window_width = "9 mm"
window_height = "6 mm"
outer_leg = "6 mm"
back = "6 mm"
[bobbin]
wall = "0.5 mm"
flange = "0.5 mm"
[[winding]]
name = "P"
wire = { trace = "0.07 mm", width = "1 mm", spacing = "0.2 mm" }
[[winding]]
name = "S"
wire = { trace = "0.1 mm", width = "3 mm", spacing = "0.2 mm" }
[build]
direction = "up"
steps = [{ wind = "P", turns = 6 }, { spacer = "1 mm" }, { wind = "S", turns = 2 }]
"""


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
    added = alternating_excess(design, layout, (inner, outer), frequency, 20.0, fields)[0]
    np.testing.assert_allclose(added, added.T, rtol=1e-12, atol=0)
    size = np.abs(added).max()
    assert np.linalg.eigvalsh(added.real).min() > -1e-9 * size
    assert np.linalg.eigvalsh(added.imag).max() < 1e-9 * size
    if frequency == 1e2:
        direct = section_resistance(design, layout, 20.0)[0] / layout.turns[0] ** 2
        assert size < 2e-3 * direct.max()
