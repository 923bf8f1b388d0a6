"""Builds that are alike in a part are computed once: the same readings, by fewer solutions."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

import aswound.predict.alike as alike
from aswound.predict import load_design, readings
from aswound.predict.capacitance import build_capacitance, potentials
from aswound.predict.circuit import section_coupling
from aswound.predict.copper import layers_in_field, local_field
from aswound.predict.design import Design
from aswound.predict.field import leakage_field
from aswound.predict.field.planar import planar_window
from aswound.predict.field.round_leg import round_window
from aswound.predict.winding import laid_part, lay_out, layout_of

pytestmark = pytest.mark.exact

SAMPLES = Path(__file__).parents[2] / "samples"


def _batch() -> Design:
    """Eight builds: the bench's link, the model of leakage and the permittivity vary, the windings do not,
    but for one thinner wire."""
    design = load_design(SAMPLES / "flyback-24w.toml")
    number = np.arange(8.0)
    wire = design.windings[0].wire
    thinner = replace(wire, diameter=np.where(number == 7, 0.9, 1.0) * wire.diameter)
    first = replace(design.windings[0], wire=thinner)
    return replace(
        design,
        windings=(first, *design.windings[1:]),
        bench=replace(design.bench, short_inductance=1e-9 * (1 + number)),
        model=replace(
            design.model, leakage=1 + number / 100, permittivity=np.where(number > 3, 1.1, 1.0) * np.ones(8)
        ),
    )


def test_alike_builds_read_as_if_each_were_computed(monkeypatch: pytest.MonkeyPatch) -> None:
    """To rounding; and eddy currents are solved for two builds of eight."""
    design = _batch()
    solved = []
    original = layers_in_field.condensed

    def counted(*arguments: object) -> np.ndarray:
        found = original(*arguments)  # type: ignore[arg-type]
        solved.append(len(found))
        return found

    monkeypatch.setattr(layers_in_field, "condensed", counted)
    together = np.asarray(readings(design))
    assert set(solved) == {2}
    for room in (potentials, section_coupling, layers_in_field):
        monkeypatch.setattr(room, "alike", lambda *_: None)
    solved.clear()
    assert np.asarray(readings(design)) == pytest.approx(together, rel=1e-12)
    assert set(solved) == {8}
    assert len({float(value) for value in together[:, 1]}) == 8  # leakage with the link and the model


def test_what_stands_for_what() -> None:
    """Rows that stand for all, and the row that stands for each."""
    part = (np.array([1.0, 2.0, 1.0, 1.0, 2.0]), 3.0, "name", (np.array([0.0, 0.0, -0.0, 1.0, 0.0]),))
    found = alike.alike(5, part)
    assert found is not None
    rows, of_build = found
    assert len(rows) == 3
    assert np.array_equal(rows[of_build][[0, 2]], [0, 0])
    for build in range(5):
        assert part[0][rows[of_build[build]]] == part[0][build]  # type: ignore[index]
        assert part[3][0][rows[of_build[build]]] == part[3][0][build]  # type: ignore[index]


def test_builds_that_all_differ_are_left_alone() -> None:
    """Nothing to share; and where no part varies one build stands for all."""
    assert alike.alike(3, (np.array([1.0, 2.0, 3.0]),)) is None
    found = alike.alike(3, (1.0, "x"))
    assert found is not None
    assert found[0].tolist() == [0]
    assert found[1].tolist() == [0, 0, 0]


def test_taken_builds_are_those_rows() -> None:
    """Arrays over builds by their rows, all else the same object."""
    design = _batch()
    few = alike.taken(design, np.array([7, 0]), 8)
    assert np.asarray(few.bench.short_inductance).tolist() == pytest.approx([8e-9, 1e-9])
    assert few.build is design.build
    assert few.tests is design.tests


@pytest.mark.parametrize("name", ["flyback-24w", "bridge-300w"])
def test_a_leg_share_costs_no_field(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Builds that differ in the core alone share the fields of the window and of the layers; each reads as if
    it were computed by itself (round legs, with and without a gap)."""
    design = load_design(SAMPLES / f"{name}.toml")
    wall = replace(design.bobbin, wall=design.bobbin.wall + 1.23e-7)  # not remembered from another test
    design = replace(design, bobbin=wall)
    number = np.arange(8.0)
    share, faces = (number - 4) / 20, 1e-6 * (1 + number)
    several = replace(
        design,
        model=replace(design.model, leg_share=share),
        core=replace(design.core, face_gap=faces),
        windings=(replace(design.windings[0], joint_resistance=1e-3 * number), *design.windings[1:]),
    )
    solved: dict[str, set[int]] = {"round_window": set(), "planar_window": set(), "_layer_fields": set()}

    def counting(room: object, called: str, position: int) -> None:
        original = getattr(room, called)

        def counted(*given: object, **named: object) -> object:
            solved[called].add(len(given[position]))  # type: ignore[arg-type]
            return original(*given, **named)

        monkeypatch.setattr(room, called, counted)

    counting(leakage_field, "round_window", 3)
    counting(leakage_field, "planar_window", 2)
    counting(local_field, "_layer_fields", 1)
    together = np.asarray(readings(several))
    assert solved["planar_window"] == solved["_layer_fields"] == {1}
    assert solved["round_window"] <= {1}
    for row in range(8):
        alone = replace(
            design,
            model=replace(design.model, leg_share=float(share[row])),
            core=replace(design.core, face_gap=float(faces[row])),
            windings=(replace(design.windings[0], joint_resistance=1e-3 * row), *design.windings[1:]),
        )
        assert np.asarray(readings(alone)) == pytest.approx(together[row], rel=1e-9)
    assert len({float(value) for value in together[:, 0]}) == 8


@pytest.mark.parametrize("radius", [None, 4e-3])
@pytest.mark.parametrize("share", [0.0, 0.3, 0.5, 1.0])
def test_the_leg_share_is_in_the_plain_term_alone(radius: float | None, share: float) -> None:
    """The fields of a window with any leg share, against the window solved with it."""
    core = load_design(SAMPLES / ("bridge-300w.toml" if radius else "flyback-24w.toml")).core.dimensions
    width, height = core.window
    blocks = np.array([[[0.1, 0.2, 0.1, 0.8], [0.3, 0.35, 0.2, 0.9], [0.3, 0.7, 0.1, 0.5]]])
    blocks = blocks * np.array([width, width, height, height])
    fields = leakage_field.window_fields(core, np.repeat(blocks, 2, axis=0), np.array([share, 0.8]))
    expected = planar_window(width, height, blocks[0], leg_share=share)
    assert fields.inside[0] == pytest.approx(expected, rel=1e-11)
    leg = core.leg_radius
    if leg is not None:
        assert fields.axisymmetric is not None
        rings = blocks[0] + leg * np.array([1.0, 1.0, 0.0, 0.0])
        expected = round_window(leg, leg + width, height, rings, leg_share=share)
        assert fields.axisymmetric[0] == pytest.approx(expected, rel=1e-11)
        assert fields.yoke is not None
        wide = width + 4 * max(width, height)
        expected = planar_window(wide, height, blocks[0], leg_share=share, modes=64)
        assert fields.yoke[0] == pytest.approx(expected, rel=1e-11)


@pytest.mark.parametrize("name", ["flyback-24w", "bridge-300w", "gate-drive"])
def test_layout_and_capacitance_depend_on_a_part_of_the_design(name: str) -> None:
    """What is changed in the core, the bench, the metal, the joints and the tests leaves both as they are,
    to the last digit; a wall or a wire does not."""
    design = load_design(SAMPLES / f"{name}.toml")
    first, *others = design.windings
    plain = lay_out(design)
    capacitance = build_capacitance(design, plain).matrix
    kept = (
        replace(design, core=replace(design.core, gap=0.3e-3, face_gap=9e-6, al=None, loss=0.02)),
        replace(design, windings=(replace(first, metal="aluminium", joint_resistance=0.3), *others)),
        replace(design, tests=design.tests[:1], title="", bench=replace(design.bench, lead_resistance=0.1)),
        replace(design, model=replace(design.model, leakage=1.2, leg_share=np.array([0.1, 0.2, 0.3]))),
    )
    for changed in kept:
        part = laid_part(changed)
        assert part == laid_part(design)
        layout, number = layout_of(changed), 3 if changed is kept[-1] else 1
        for quantity in ("copper", "turns", "turn_length", "top", "fill", "step_tops", "extent"):
            expected = np.repeat(getattr(plain, quantity), number, axis=0)
            assert np.array_equal(getattr(layout, quantity), expected), quantity
        assert np.array_equal(build_capacitance(changed, lay_out(changed)).matrix[:1], capacitance)
        assert np.array_equal(build_capacitance(part, layout_of(part)).matrix, capacitance)
    wider = replace(design, bobbin=replace(design.bobbin, wall=2e-3))
    thicker = replace(first, wire=replace(first.wire, overall=1.1 * float(np.asarray(first.wire.overall))))
    for changed in (wider, replace(design, windings=(thicker, *others))):
        assert laid_part(changed) != laid_part(design)
