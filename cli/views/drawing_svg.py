"""The cross-section as an SVG page, to scale, with a legend and the ampere-turn diagram. Pure: data → text.

The page's unit is the millimetre on paper. What is drawn to scale stands in one group whose unit is the
millimetre of the part, x from the leg's surface, y upwards from the lower yoke.
"""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

from ...predict.circuit import AmpereTurnFunction
from ...predict.winding import CrossSection
from . import words
from .drawing_legend import NO_LAYERS, Entry, ampere_turns_text, entries, gap_text
from .page import visible
from .svg_axes import axes, callouts, legend
from .svg_diagram import STRETCHED, diagram_beside, diagram_under
from .svg_pieces import hatch_patterns, piece_shapes
from .svg_sheet import AXIS, DIAGRAM, EDGE, GAP, LINE, Sheet, fixed, label, svg_document


def drawing_svg(
    section: CrossSection, function: AmpereTurnFunction | None, *, landscape: bool = False
) -> str:
    """The page as an SVG document. The scale on paper is stated on it, and holds if it is printed at its own
    size.

    Parameters
    ----------
    section : CrossSection, what is drawn
    function : AmpereTurnFunction or None, ampere-turns along the layers, A
    landscape : bool, optional, whether the page is broader than high, with the ampere-turns under the legend
    """
    sheet = Sheet(section, landscape)
    beside = function if landscape and function is not None and not function.along_leg else None
    listed = entries(section, most=24)
    picture, right, bottom = pictured(section, sheet, listed, None if beside else function)
    body = [hatch_patterns(section, sheet), *picture]
    table, width, depth = legend(section, listed, right + GAP, sheet.top)
    body += table
    depth += sheet.top
    if beside is not None:
        body += diagram_under(sheet, beside, depth + GAP, apart=right + 2 * GAP)
        depth, width = depth + GAP + DIAGRAM + 6, max(width, GAP + STRETCHED)
    right += GAP + width
    bottom = max(bottom, depth) + 3
    notes = _notes(section, function, right - EDGE)
    body += [label(EDGE, bottom + LINE * index, note, size=2.6) for index, note in enumerate(notes, 1)]
    bottom += LINE * len(notes)
    title = section.design.title or "(no title)"
    body.append(label(EDGE, EDGE + 4, title, size=4.2, more=' font-weight="bold"'))
    body.append(label(EDGE, EDGE + 9, subtitle(section, sheet), size=2.9))
    size = max(right + EDGE, EDGE * 2 + len(title) * 2.3), bottom + EDGE
    body.insert(0, f'<rect width="{fixed(size[0])}" height="{fixed(size[1])}" fill="#fff"/>')
    return svg_document(size, f"{title}: cross-section", description(section, listed, function), body)


def pictured(
    section: CrossSection, sheet: Sheet, listed: Sequence[Entry], function: AmpereTurnFunction | None
) -> tuple[list[str], float, float]:
    """The drawn part with axes, numbers and ampere-turn diagram.

    Parameters
    ----------
    section : CrossSection, what is drawn
    sheet : Sheet, the page
    listed : Sequence[Entry], the legend
    function : AmpereTurnFunction or None, ampere-turns along the layers, A

    Returns
    -------
    list[str], the SVG elements
    float, right edge, mm of paper
    float, lower edge, mm of paper
    """
    body = [*piece_shapes(section, sheet), *axes(section, sheet), *callouts(section, sheet, listed)]
    right, bottom = sheet.right + (12.0 if section.flat else 3.0), sheet.foot + AXIS
    if function is not None and function.along_leg:
        body += diagram_beside(sheet, function, right + GAP)
        right += GAP + DIAGRAM + 4
    elif function is not None:
        body += diagram_under(sheet, function, bottom + 8)
        bottom += 8 + DIAGRAM + 8
    return body, right, bottom


STEPS_ROOM = (76.0, 90.0)
"""Width and height (mm on paper) into which the build sheet's drawing is scaled."""
STEPS_TYPE = 3.4
"""Height of its figures (mm on paper; 9 pt are 3.18 mm)."""


def steps_svg(section: CrossSection) -> str:
    """The cross-section alone, to be scaled into STEPS_ROOM, with the build steps' numbers at what they wind:
    for a page that lists the steps itself."""
    sheet = Sheet(section)
    by_step = {(entry.step, entry.leg): entry for entry in entries(section, most=0)}
    listed = list(by_step.values())
    size = STEPS_TYPE
    for _ in range(3):  # the figures' own room is part of what is scaled
        above = 1.0 if section.flat else 5.5 + size
        beside, under = (9.0 + 2 * size, 2.0) if section.flat else (3.0, 3.0)
        if sheet.chambered:
            under = 5.0 + size
        top, left = sheet.top - above, sheet.left - 2.0
        wide, deep = sheet.right + beside - left, sheet.foot + under - top
        size = STEPS_TYPE / min(STEPS_ROOM[0] / wide, STEPS_ROOM[1] / deep)
    body = [hatch_patterns(section, sheet), *piece_shapes(section, sheet)]
    body += callouts(section, sheet, listed, [entry.step for entry in listed], size=size)
    title = f"{section.design.title or '(no title)'}: cross-section"
    return svg_document((wide, deep), title, description(section, listed, None), body, corner=(left, top))


def subtitle(section: CrossSection, sheet: Sheet) -> str:
    """The core, what of it is drawn, its gap and the scale.

    Parameters
    ----------
    section : CrossSection, what is drawn
    sheet : Sheet, the page
    """
    scale = sheet.scale
    ratio = f"{fixed(scale)} : 1" if scale >= 1 else f"1 : {fixed(1 / scale)}"
    what = "ring unrolled along its hole" if section.ring else "half of the core, from the leg's middle"
    if section.design.core.dimensions.wound_legs > 1:
        what = "both legs"
    gap = gap_text(section)
    name = visible(section.design.core.name)
    core = name if "core" in name.lower() else f"Core {name}"
    return ", ".join([core, what, *([gap] if gap else []), f"scale {ratio}"])


def description(section: CrossSection, listed: Sequence[Entry], function: AmpereTurnFunction | None) -> str:
    """The drawing in words, for those who cannot see it.

    Parameters
    ----------
    section : CrossSection, what is drawn
    listed : Sequence[Entry], the legend
    function : AmpereTurnFunction or None, ampere-turns along the layers, A
    """
    axis = "y" if section.flat else "x"
    layers = "; ".join(
        f"{visible(entry.name)} step {entry.step}"
        + _layers_text(entry)
        + f", {axis} {entry.stack[0] * 1e3:.2f} to {entry.stack[1] * 1e3:.2f} mm"
        for entry in listed
    )
    text = f"Cross-section to scale. {layers}."
    if function is not None:
        text += " " + _function_text(function)
    return text


def _layers_text(entry: Entry) -> str:
    if not entry.layers:
        return ", shield"
    order = " without order" if entry.layers == NO_LAYERS else f" layer {entry.layers}"
    return f"{order}, {entry.turns} turns"


def _function_text(function: AmpereTurnFunction) -> str:
    low, high = float(function.values.min()), float(function.values.max())
    return (
        f"Ampere-turns per ampere driven in test {visible(function.test.name)} "
        f"({visible(words.how(function.test))}): from {ampere_turns_text(low)} to {ampere_turns_text(high)}."
    )


def _notes(section: CrossSection, function: AmpereTurnFunction | None, width: float) -> list[str]:
    notes = []
    if function is not None:
        opposed = "with a short" if function.opposed else "open: only what is driven carries current"
        notes.append(_function_text(function)[:-1] + f" ({opposed}; one-dimensional).")
    notes.append(
        "As laid by the rules of the design file, nominal dimensions; to scale when printed at 100 %."
    )
    if any(wound.leg == 2 for wound in section.layout.sections):
        notes.append("Lengths on leg 2 are from its own surface.")
    if any(wound.companion for wound in section.layout.sections):
        notes.append("Windings wound together turn by turn are drawn as strips of their layer.")
    if section.ring:
        notes.append("Height to the right, towards the hole's centre (broken line).")
    return [
        line
        for note in notes
        for line in textwrap.wrap(note, max(int(width / 1.35), 40), break_on_hyphens=False)
    ]
