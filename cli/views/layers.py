"""The table of layers as laid: where each lies, so that a misreading of the file shows."""

from __future__ import annotations

import math
from collections.abc import Iterator

from ...predict.design import Design, WindStep
from ...predict.winding import Layout
from . import words
from .drawing_legend import NO_LAYERS, one_body
from .page import Heading, Paragraph, Part


def layers_view(design: Design, layout: Layout, heading: str = "Layers as laid") -> Iterator[Part]:
    """The layers of one design. Columns of legs, chambers and angles only where there are several.

    Parameters
    ----------
    design : Design
    layout : Layout, the design as laid out
    heading : str, optional, what stands above the table
    """
    ring = design.core.dimensions.ring
    legs = any(section.leg == 2 for section in layout.sections)
    chambers = any(section.chamber is not None for section in layout.sections)
    sectors = any(section.sector is not None for section in layout.sections)
    columns = ["step", "winding", *["leg"] * legs, *["chamber"] * chambers, "layer", "turns", "height (mm)"]
    columns += (["angle"] if sectors else []) if ring else ["along (mm)", "manner"]
    rows = []
    for first, last in _rows(layout):
        section = layout.sections[first]
        low, high = layout.stacked(layout.extent)[0, first : last + 1, ..., :].reshape(-1, 2).T * 1e3
        low, high = low.min(), high.max()
        row = [
            str(section.step + 1),
            section.winding + (" (with)" if section.companion else ""),
            *[str(section.leg)] * legs,
            *[str(section.chamber or "")] * chambers,
            NO_LAYERS if section.scramble else str(section.layer + 1),
            f"{layout.turns[0, first : last + 1].sum():.0f}",
            f"{low:.2f} … {high:.2f}",
        ]
        if ring:
            row += [_angles(section.from_angle, section.sector)] * sectors
        else:
            start, end = layout.along(layout.extent)[0, first] * 1e3
            row += [f"{start:.2f} … {end:.2f}", _manner(design, layout, first)]
        rows.append(row)
    yield Heading(heading)
    numbers = {"step", "leg", "chamber", "layer", "turns"}
    yield words.table(
        columns, rows, right=[column_index for column_index, name in enumerate(columns) if name in numbers]
    )
    yield Paragraph(f"{_origin(design, layout, legs=legs)}. {_height(design, layout)}")


def _rows(layout: Layout) -> list[tuple[int, int]]:
    """First and last section of each row: turns without order are one body, whatever slices stand for it."""
    rows: list[tuple[int, int]] = []
    for index, section in enumerate(layout.sections):
        if rows and one_body(layout.sections[index - 1], section):
            rows[-1] = (rows[-1][0], index)
        else:
            rows.append((index, index))
    return rows


def _origin(design: Design, layout: Layout, *, legs: bool) -> str:
    if design.core.dimensions.ring:
        return "height: from the ring's surface"
    if not design.core.dimensions.permeable:
        return "height: from the former; along: from its lower end"
    leg = "its own leg" if legs else "the leg"
    if layout.flat:
        return f"height: above the lower yoke; along: from {leg}"
    return f"height: from {leg}; along: from the lower yoke"


def _height(design: Design, layout: Layout) -> str:
    top, share = float(layout.top[0]) * 1e3, float(layout.fill[0]) * 100
    if layout.flat:
        return f"The build ends at {top:.2f} mm and fills {share:.0f} % of the height between the flanges."
    if any(section.leg == 2 for section in layout.sections):
        return f"The higher build is {top:.2f} mm high; both legs together fill {share:.0f} % of the window."
    room = "window" if design.core.dimensions.permeable else "room"
    return f"The build is {top:.2f} mm high and fills {share:.0f} % of the {room}."


def _angles(start: float, sector: float | None) -> str:
    if sector is None:
        return "all round"
    first, last = (math.degrees(angle) % 360 for angle in (start, start + sector))
    return f"{first:.0f} … {last:.0f}°"


def _manner(design: Design, layout: Layout, index: int) -> str:
    """How a layer is wound, in one word."""
    section = layout.sections[index]
    step = design.build.steps[section.step]
    if section.block:
        return "block"
    if section.shield:
        return "shield"
    if design.winding(section.winding).wire.foil:
        return "foil"
    assert isinstance(step, WindStep)
    if section.scramble:
        return "no order"
    along = layout.along(layout.extent)[0]
    same = [
        section_index for section_index, wound in enumerate(layout.sections) if wound.step == section.step
    ]
    broadest = max(float(along[section_index, 1] - along[section_index, 0]) for section_index in same)
    tight = step.close or float(along[index, 1] - along[index, 0]) < 0.999 * broadest
    return "tight" if tight else "spread"
