"""Drawings of samples as they were when somebody last looked at them.

To renew them after a wanted change: python tests/regression/test_drawings.py
"""

from __future__ import annotations

import functools
from pathlib import Path

import pytest

from aswound.cli.views.drawing_svg import drawing_svg
from aswound.cli.views.drawing_text import drawing_parts
from aswound.cli.views.interleave_drawing import drawings, drawings_svg
from aswound.cli.views.page import render
from aswound.compare.plan.interleaving import Comparison, Detail, comparison
from aswound.predict.circuit.ampere_turns import ampere_turn_function, diagram_test
from aswound.predict.designfile.reader import load_design
from aswound.predict.interleave.many_readings import questions_of
from aswound.predict.interleave.rules import Rules
from aswound.predict.winding.layout import lay_out
from aswound.predict.winding.rectangles import cross_section

HERE = Path(__file__).parent / "drawings"
SAMPLE = Path(__file__).parents[2] / "samples" / "bridge-300w.toml"
FILES = ("bridge-300w.ascii.txt", "bridge-300w.unicode.txt", "bridge-300w.svg")
TOGETHER = ("arrangements.80.txt", "arrangements.120.txt", "arrangements.svg")


def drawing(name: str) -> str:
    design = load_design(SAMPLE)
    section = cross_section(design, lay_out(design))
    test = diagram_test(design)
    assert test is not None
    function = ampere_turn_function(design, test)
    if name.endswith(".svg"):
        return drawing_svg(section, function)
    return render(drawing_parts(section, function), 80, plain="ascii" in name)


@pytest.mark.regression
@pytest.mark.parametrize("name", FILES)
def test_drawing_is_as_it_was(name: str) -> None:
    assert drawing(name) == (HERE / name).read_text(encoding="utf-8")


@functools.cache
def arrangements() -> Comparison:
    """Few arrangements of a sample with three windings."""
    design = load_design(SAMPLE.parent / "flyback-24w.toml")
    rules = Rules(most_sections=2, most=12)
    return comparison(design, rules, questions_of(design), Detail(rows=4, every=False, builds=0))


def arrangements_drawn(name: str) -> str:
    if name.endswith(".svg"):
        return drawings_svg(arrangements(), (1, 2, 5, 8))
    return render(drawings(arrangements(), (1, 5)), int(name.split(".")[1]), plain=False)


@pytest.mark.regression
@pytest.mark.parametrize("name", TOGETHER)
def test_arrangements_side_by_side_are_as_they_were(name: str) -> None:
    assert arrangements_drawn(name) == (HERE / name).read_text(encoding="utf-8")


if __name__ == "__main__":
    for name in FILES:
        (HERE / name).write_text(drawing(name), encoding="utf-8")
    for name in TOGETHER:
        (HERE / name).write_text(arrangements_drawn(name), encoding="utf-8")
