"""Builds that are alike in a part are computed once: the same readings, by fewer solutions."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

import aswound.predict.alike as alike
from aswound.predict import load_design, readings
from aswound.predict.circuit import bench, section_coupling
from aswound.predict.design import Design

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
    original = section_coupling.alternating_excess

    def counted(few: Design, *arguments: object) -> np.ndarray:
        found = original(few, *arguments)  # type: ignore[arg-type]
        solved.append(len(found))
        return found

    monkeypatch.setattr(section_coupling, "alternating_excess", counted)
    together = np.asarray(readings(design))
    assert set(solved) == {2}
    for room in (bench, section_coupling):
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
