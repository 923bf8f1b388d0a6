"""Turns without order are one body: nobody counts its layers, and none tips over."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from aswound.cli.main import main
from aswound.compare.causes import CATALOGUE
from aswound.predict import Design, parse_design, spread
from aswound.predict.errors import BuildError
from aswound.predict.winding import check_fit


def transformer(style: str) -> Design:
    """A primary of some fifteen layers that fill their breadth to the last turn."""
    return parse_design(text(style))


def text(style: str) -> str:
    return f"""
[core]
shape = "EI 48"
material = "silicon steel NO 0.50"
face_gap = "3 um"
[bobbin]
wall = "1 mm"
flange = "1 mm"
chambers = 2
partition = "1.2 mm"
[[winding]]
name = "P"
wire = {{ diameter = "0.20 mm", grade = 2 }}
[[winding]]
name = "S"
wire = {{ diameter = "0.45 mm", grade = 1 }}
[build]
style = "{style}"
steps = [{{ wind = "P", turns = 640, chamber = 1 }}, {{ wind = "S", turns = 60, chamber = 2 }}]
[[test]]
name = "R_P"
measure = "resistance"
drive = "P"
"""


@pytest.mark.parametrize(("style", "tips"), [("scramble", False), ("back_and_forth", True)])
def test_a_body_has_no_layer_too_many(style: str, tips: bool) -> None:
    """Of a winding in layers some builds need one more, which is another kind of part and a cause by itself;
    the same turns at random fill the same body a little higher."""
    design = transformer(style)
    scatter = spread(design, 200)
    assert bool(scatter.tipped) is tips
    assert (scatter.designed is None or bool(scatter.designed.all())) is not tips
    (layer,) = (cause for cause in CATALOGUE if cause.name == "layer")
    assert ("P" in layer.places(design)) is tips


def test_the_table_of_layers_shows_a_body_as_one(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "body.toml"
    path.write_text(text("scramble"))
    assert main(["predict", str(path), "--builds", "100"]) == 0
    page = capsys.readouterr().out
    assert re.search(r"1  P +1 +- +640  1\.00 … ", page)
    assert "layers instead of" not in page


def test_what_is_too_high_names_chamber_and_step() -> None:
    with pytest.raises(BuildError) as told:
        check_fit(parse_design(text("back_and_forth").replace("turns = 60", "turns = 360")))
    message = str(told.value)
    assert "in chamber 2" in message
    assert "Most is taken by step 2 (S): " in message
