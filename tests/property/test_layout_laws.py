"""Laws of every layout: turns are kept, sections lie in the window and apart, a batch is its builds one
by one."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from how_many import examples
from hypothesis import given, settings
from hypothesis import strategies as st

from aswound.predict.batch import stack
from aswound.predict.design import (
    Bobbin,
    Build,
    Core,
    Design,
    EDimensions,
    Material,
    ShieldStep,
    SpacerStep,
    Step,
    TapeStep,
    Winding,
    WindStep,
    Wire,
)
from aswound.predict.errors import BuildError
from aswound.predict.winding.layout import Layout, lay_out

pytestmark = pytest.mark.property

MM = 1e-3
CORE = Core(
    name="E",
    dimensions=EDimensions(
        leg_width=10 * MM,
        leg_depth=12 * MM,
        window_width=9 * MM,
        window_height=24 * MM,
        outer_leg=5 * MM,
        back=5 * MM,
        outer_depth=12 * MM,
    ),
    material=Material(name="m", initial_permeability=2000.0),
    effective_area=120e-6,
    effective_length=70e-3,
)


@st.composite
def designs(draw: st.DrawFn) -> Design:
    """Random builds of two windings with tape, spacers and shields, in one to three chambers, around the leg
    or flat."""
    flat = draw(st.booleans())
    chambers = draw(st.integers(1, 3))

    def chamber(needed: bool) -> int | None:
        if chambers == 1:
            return None
        return draw(st.integers(1, chambers)) if needed or draw(st.booleans()) else None

    wires = []
    for name in ("P", "S"):
        overall = draw(st.floats(0.2, 1.2)) * MM
        track = flat and draw(st.booleans())
        kind = (
            Wire(kind="track", diameter=0.0, overall=70e-6, foil_width=overall, spacing=0.2 * MM)
            if track
            else None
        )
        wires.append(
            Winding(
                name=name,
                wire=kind
                or Wire(
                    kind="round", diameter=overall * 0.9, overall=overall, in_hand=draw(st.integers(1, 2))
                ),
            )
        )
    steps: list[Step] = []
    for place in range(draw(st.integers(1, 6))):
        kind = draw(st.sampled_from(["wind", "wind", "tape", "spacer", "shield"]))
        if kind == "wind":
            step = WindStep(
                winding=draw(st.sampled_from(["P", "S"])),
                turns=draw(st.integers(1, 40)),
                interlayer=draw(st.sampled_from([0.05 * MM, 0.1 * MM])),
                style=draw(st.sampled_from(["back_and_forth", "same_side", "scramble"])),
                chamber=chamber(True),
            )
            steps.append(step)
        elif kind == "tape":
            steps.append(TapeStep(0.1 * MM, draw(st.integers(0, 3)), chamber=chamber(flat)))
        elif kind == "spacer":
            steps.append(SpacerStep(0.3 * MM, chamber=chamber(flat)))
        else:
            steps.append(
                ShieldStep(name=f"E{place}", thickness=0.05 * MM, width=3 * MM, chamber=chamber(flat))
            )
    steps.append(WindStep(winding="P", turns=3, chamber=chamber(True)))
    bobbin = Bobbin(
        wall=1 * MM, flange=1 * MM, chamber_count=chambers, partition=0.5 * MM if chambers > 1 else 0.0
    )
    build = Build(steps=tuple(steps), margin=0.2 * MM, direction="up" if flat else "out")
    return Design(title="", core=CORE, bobbin=bobbin, windings=tuple(wires), build=build, tests=())


def laid(design: Design) -> Layout | None:
    """The layout if it fits."""
    try:
        return lay_out(design, strict=True)
    except BuildError:
        return None


@given(designs())
@settings(max_examples=examples(60), deadline=None)
def test_turns_are_kept_whether_or_not_the_build_fits(design: Design) -> None:
    layout = lay_out(design)
    for number, step in enumerate(design.build.steps):
        own = [place for place, section in enumerate(layout.sections) if section.step == number]
        asked = step.turns if isinstance(step, WindStep) else 1 if isinstance(step, ShieldStep) else 0
        assert layout.turns[0, own].sum() == asked


@given(designs())
@settings(max_examples=examples(60), deadline=None)
def test_sections_lie_between_flanges_and_apart_from_each_other(design: Design) -> None:
    layout = laid(design)
    if layout is None:
        return
    x0, x1, y0, y1 = np.moveaxis(layout.extent[0], -1, 0) / MM
    assert np.all((x0 >= 1 - 1e-6) & (x1 <= 9 + 1e-6))
    assert np.all((y0 >= 1 - 1e-6) & (y1 <= 23 + 1e-6))
    apart_x = np.minimum(x1[:, None], x1) - np.maximum(x0[:, None], x0)
    apart_y = np.minimum(y1[:, None], y1) - np.maximum(y0[:, None], y0)
    overlap = (apart_x > 1e-6) & (apart_y > 1e-6)
    np.fill_diagonal(overlap, False)
    assert not np.any(overlap)
    inside = layout.copper - layout.extent
    assert np.all(inside[..., (0, 2)] >= -1e-12)
    assert np.all(inside[..., (1, 3)] <= 1e-12)
    assert 0 < layout.fill[0] <= 1 + 1e-9


@given(designs(), st.floats(0.9, 1.1), st.floats(0.8, 1.3))
@settings(max_examples=examples(40), deadline=None)
def test_a_batch_is_its_builds_one_by_one(design: Design, wall: float, insulation: float) -> None:
    """Up to layers that a build does not have; the too high ones are pressed alike."""
    other = replace(
        design,
        bobbin=replace(design.bobbin, wall=design.bobbin.wall * wall),
        build=replace(design.build, margin=design.build.margin * insulation),
    )
    both = lay_out(stack([design, other]))
    for build, one in enumerate((design, other)):
        single = lay_out(one)
        present = both.turns[build] > 0
        there = single.turns[0] > 0
        np.testing.assert_allclose(both.turns[build, present], single.turns[0, there])
        for name in ("extent", "copper"):
            found, expected = getattr(both, name)[build, present], getattr(single, name)[0, there]
            np.testing.assert_allclose(found, expected, atol=1e-12)
        np.testing.assert_allclose(both.top[build], single.top[0])
        np.testing.assert_allclose(both.fill[build], single.fill[0])
