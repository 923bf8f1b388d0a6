"""Drawings of one sample as they were when somebody last looked at them.

To renew them after a wanted change: python tests/regression/test_drawings.py
"""

from __future__ import annotations

from pathlib import Path

import pytest

from aswound.cli.views.drawing_svg import drawing_svg
from aswound.cli.views.drawing_text import drawing_parts
from aswound.cli.views.page import render
from aswound.predict.ampere_turns import ampere_turn_function, diagram_test
from aswound.predict.cross_section import cross_section
from aswound.predict.designfile import load_design
from aswound.predict.layout import lay_out

HERE = Path(__file__).parent / "drawings"
SAMPLE = Path(__file__).parents[2] / "samples" / "bridge-300w.toml"
FILES = ("bridge-300w.ascii.txt", "bridge-300w.unicode.txt", "bridge-300w.svg")


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


if __name__ == "__main__":
    for name in FILES:
        (HERE / name).write_text(drawing(name), encoding="utf-8")
