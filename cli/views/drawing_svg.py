"""The cross-section as an SVG page, to scale, with a legend and the ampere-turn diagram. Pure: data → text.

The page's unit is the millimetre on paper. What is drawn to scale stands in one group whose unit is the
millimetre of the part, x from the leg's surface, y upwards from the lower yoke.
"""

from __future__ import annotations

import math
import textwrap
from collections.abc import Sequence
from xml.sax.saxutils import escape, quoteattr

from ...predict.cross_section import AmpereTurnFunction, CrossSection, Piece
from . import words
from .drawing_legend import Entry, along_text, entries, gap_text, kind_names, marks, ticks
from .page import visible

SCALES = (50.0, 20.0, 10.0, 8.0, 5.0, 4.0, 2.5, 2.0, 1.0, 0.5, 0.2, 0.1, 0.05, 0.02)
WIDEST, TALLEST = 92.0, 165.0
"""Millimetres on paper that the drawn part may take."""
EDGE, AXIS, GAP = 8.0, 11.0, 9.0
"""The page's border; room for the labels of an axis; between the parts of the page (mm)."""
DIAGRAM = 36.0
"""Depth of the ampere-turn diagram (mm)."""
CALLOUT = 3.6
"""Least distance of two numbers beside the layers (mm)."""
LINE = 4.3
"""From one line of the legend to the next (mm)."""

INK, PALE = "#20262e", "#8a929c"
TONES = (
    ("#f3d5bf", "#a4471b"),
    ("#c9dcef", "#1f5a92"),
    ("#d3e6cb", "#3b7529"),
    ("#e6d3ea", "#75398a"),
    ("#f2e5ae", "#7d6608"),
    ("#cce6e4", "#12716b"),
    ("#f0cdd6", "#9b2447"),
    ("#dadcd2", "#4d5440"),
)
"""Ground and hatch of each winding; hatches differ too, so that colour is not needed."""
HATCHES = (
    '<path d="M0 .7H1.4" stroke-width=".26" {s}/>',
    '<path d="M0 .45H.9" stroke-width=".16" {s}/><path d="M.45 0V.9" stroke-width=".16" {s}/>',
    '<circle cx=".5" cy=".5" r=".24" {f}/>',
    '<path d="M0 .5H.6" stroke-width=".34" {s}/>',
)
TURNED = (45, 45, 0, 90, -45, 0, 30, -30)
SIZES = (1.4, 0.9, 1.0, 1.0)
FILLS = {
    "core": "#c3c8ce",
    "bobbin": "#ebe6d9",
    "tape": "#fff6c2",
    "spacer": "#ffffff",
    "margin": "#e3d9a3",
    "shield": "#59616b",
    "gap": "#ffffff",
}


def _n(value: float) -> str:
    """A coordinate: four decimals, no more than needed."""
    text = f"{value:.4f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def _text(x: float, y: float, text: str, *, anchor: str = "start", size: float = 2.7, more: str = "") -> str:
    where = "" if anchor == "start" else f' text-anchor="{anchor}"'
    return f'<text x="{_n(x)}" y="{_n(y)}" font-size="{_n(size)}"{where}{more}>{escape(visible(text))}</text>'


def _line(x0: float, y0: float, x1: float, y1: float, more: str = "") -> str:
    return f'<path d="M{_n(x0)} {_n(y0)}L{_n(x1)} {_n(y1)}"{more}/>'


class _Sheet:
    """Where things stand on the page (mm of paper): the drawn part's corner and scale."""

    def __init__(self, section: CrossSection) -> None:
        self.section = section
        self.across = (section.left + section.width + section.right) * 1e3
        self.up = (section.below + section.height + section.above) * 1e3
        self.scale = next(
            (scale for scale in SCALES if self.across * scale <= WIDEST and self.up * scale <= TALLEST),
            SCALES[-1],
        )
        self.left = EDGE + AXIS
        self.top = EDGE + 13.0 + (0.0 if section.flat else 7.0)
        self.right = self.left + self.across * self.scale
        self.bottom = self.top + self.up * self.scale

    def x(self, metres: float) -> float:
        return self.left + (self.section.left + metres) * 1e3 * self.scale

    def y(self, metres: float) -> float:
        return self.bottom - (self.section.below + metres) * 1e3 * self.scale


def drawing_svg(section: CrossSection, function: AmpereTurnFunction | None) -> str:
    """The page as an SVG document. The scale on paper is stated on it, and holds when it is printed at its
    own size."""
    sheet = _Sheet(section)
    listed = entries(section, most=24)
    body = [_defs(section, sheet), *_drawn(section, sheet)]
    body += _axes(section, sheet)
    body += _callouts(section, sheet, listed)
    right = sheet.right + (3.0 if not section.flat else 12.0)
    bottom = sheet.bottom + AXIS
    if function is not None and section.flat:
        body += _diagram_beside(sheet, function, right + GAP)
        right += GAP + DIAGRAM + 4
    elif function is not None:
        body += _diagram_under(sheet, function, bottom + 8)
        bottom += 8 + DIAGRAM + 4
    legend, width, depth = _legend(section, listed, right + GAP, sheet.top)
    body += legend
    right += GAP + width
    bottom = max(bottom, sheet.top + depth) + 3
    notes = _notes(section, function, right - EDGE)
    body += [_text(EDGE, bottom + LINE * place, note, size=2.6) for place, note in enumerate(notes, 1)]
    bottom += LINE * len(notes)
    title = section.design.title or "(no title)"
    body.append(_text(EDGE, EDGE + 4, title, size=4.2, more=' font-weight="bold"'))
    body.append(_text(EDGE, EDGE + 9, _subtitle(section, sheet), size=2.9))
    wide, deep = _n(max(right + EDGE, EDGE * 2 + len(title) * 2.3)), _n(bottom + EDGE)
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide}mm" height="{deep}mm" '
        f'viewBox="0 0 {wide} {deep}" role="img" aria-labelledby="title desc" '
        f'font-family="Helvetica, Arial, sans-serif" fill="{INK}">'
    )
    return "\n".join(
        [
            head,
            f'<title id="title">{escape(visible(title))}: cross-section</title>',
            f'<desc id="desc">{escape(_description(section, listed, function))}</desc>',
            f'<rect width="{wide}" height="{deep}" fill="#fff"/>',
            *body,
            "</svg>",
            "",
        ]
    )


def _subtitle(section: CrossSection, sheet: _Sheet) -> str:
    scale = sheet.scale
    ratio = f"{_n(scale)} : 1" if scale >= 1 else f"1 : {_n(1 / scale)}"
    what = "ring unrolled along its hole" if section.ring else "half of the core, from the leg's middle"
    if section.design.core.dimensions.__class__.__name__.startswith("U"):
        what = "both legs"
    gap = gap_text(section)
    parts = [f"Core {visible(section.design.core.name)}, {what}", *([gap] if gap else []), f"scale {ratio}"]
    return ", ".join(parts)


def _description(section: CrossSection, listed: Sequence[Entry], function: AmpereTurnFunction | None) -> str:
    axis = "y" if section.flat else "x"
    layers = "; ".join(
        f"{visible(entry.name)} step {entry.step}"
        + (f" layer {entry.layers}, {entry.turns} turns" if entry.layers else ", shield")
        + f", {axis} {entry.stack[0] * 1e3:.2f} to {entry.stack[1] * 1e3:.2f} mm"
        for entry in listed
    )
    text = f"Cross-section to scale. {layers}."
    if function is not None:
        text += " " + _function_text(function)
    return text


def _function_text(function: AmpereTurnFunction) -> str:
    low, high = float(function.values.min()), float(function.values.max())
    return (
        f"Ampere-turns per ampere driven in test {visible(function.test.name)} "
        f"({visible(words.how(function.test))}): from {low:.4g} to {high:.4g}."
    )


# --- what is drawn to scale -------------------------------------------------------------------------------


def _defs(section: CrossSection, sheet: _Sheet) -> str:
    """One pattern a winding, sized for paper."""
    patterns = []
    for place in range(len(section.design.windings)):
        ground, ink = TONES[place % len(TONES)]
        shape, turn = (place + place // len(TONES)) % len(HATCHES), TURNED[place % len(TURNED)]
        drawn = HATCHES[shape].format(s=f'stroke="{ink}"', f=f'fill="{ink}"')
        size = SIZES[shape]

        patterns.append(
            f'<pattern id="w{place}" width="{size}" height="{size}" patternUnits="userSpaceOnUse" '
            f'patternTransform="scale({_n(1 / sheet.scale)}) rotate({turn})">'
            f'<rect width="{size}" height="{size}" fill="{ground}"/>{drawn}</pattern>'
            f'<pattern id="v{place}" href="#w{place}" patternTransform="rotate({turn})"/>'
        )
    return "<defs>" + "".join(patterns) + "</defs>"


def _drawn(section: CrossSection, sheet: _Sheet) -> list[str]:
    """Every piece as a rectangle in millimetres of the part."""
    thin = _n(0.12 / sheet.scale)
    fine = _n(0.2 / sheet.scale)
    place = f"translate({_n(sheet.x(0.0))} {_n(sheet.y(0.0))}) scale({_n(sheet.scale)} {_n(-sheet.scale)})"
    lines = [f'<g transform="{place}" stroke="{INK}" stroke-width="{thin}">']
    core = [piece for piece in section.pieces if piece.kind == "core"]
    outline = "".join(
        f"M{_n(piece.x0 * 1e3)} {_n(piece.y0 * 1e3)}H{_n(piece.x1 * 1e3)}V{_n(piece.y1 * 1e3)}"
        f"H{_n(piece.x0 * 1e3)}Z"
        for piece in core
    )
    lines.append(f'<path d="{outline}" fill="{FILLS["core"]}" stroke="none"/>')
    for piece in section.pieces:
        if piece.kind == "core":
            continue
        lines.append(_rectangle(section, piece))
    w, h = _n(section.width * 1e3), _n(section.height * 1e3)
    left = _n(section.left * 1e3)
    edge = f'fill="none" stroke-width="{fine}"'
    if section.ring:
        lines.append(f'<path d="M-{left} 0H0V{h}H-{left}Z" {edge}/>')
        lines.append(f'<path d="M{w} 0V{h}" {edge} stroke-dasharray="{_n(3 / sheet.scale)}"/>')
    else:
        below, above = _n(section.below * 1e3), _n((section.height + section.above) * 1e3)
        lines.append(f'<path d="M0 0H{w}V{h}H0Z" {edge}/>')
        outer = _n((section.width + section.right) * 1e3)
        lines.append(f'<path d="M-{left} -{below}H{outer}V{above}H-{left}" {edge}/>')
        if section.design.core.dimensions.__class__.__name__.startswith("U"):
            lines.append(f'<path d="M-{left} -{below}V{above}" {edge}/>')
        else:
            dash = " ".join(_n(part / sheet.scale) for part in (4, 1, 0.6, 1))
            lines.append(f'<path d="M-{left} -{below}V{above}" {edge} stroke-dasharray="{dash}"/>')
    lines.append("</g>")
    return lines


def _rectangle(section: CrossSection, piece: Piece) -> str:
    fill, name, edge = FILLS.get(piece.kind, ""), kind_names(section).get(piece.kind, piece.kind), ""
    if piece.kind == "winding":
        one = section.layout.sections[piece.section or 0]
        place = next(index for index, each in enumerate(section.design.windings) if each.name == one.winding)
        fill, name = f"url(#w{place})", f"{visible(one.winding)}, step {one.step + 1}, layer {one.layer + 1}"
        if one.companion or any(
            other.group == one.group and other.companion for other in section.layout.sections
        ):
            edge, piece = "", _strip(section, piece)
    elif piece.kind == "gap":
        edge = ' stroke="none"'
    elif piece.kind == "shield":
        name = f"shield {visible(section.layout.sections[piece.section or 0].winding)}"
    elif piece.step is not None:
        name = f"{name}, step {piece.step + 1}"
    return (
        f'<rect x="{_n(piece.x0 * 1e3)}" y="{_n(piece.y0 * 1e3)}" width="{_n((piece.x1 - piece.x0) * 1e3)}" '
        f'height="{_n((piece.y1 - piece.y0) * 1e3)}" fill={quoteattr(fill)}{edge}>'
        f"<title>{escape(name)}</title></rect>"
    )


def _strip(section: CrossSection, piece: Piece) -> Piece:
    """A winding's strip of a layer in which several are wound together turn by turn: the layer is shared out
    across its thickness, so that all of them show."""
    one = section.layout.sections[piece.section or 0]
    count = sum(other.group == one.group for other in section.layout.sections)
    if section.flat:
        step = (piece.y1 - piece.y0) / count
        low = piece.y0 + one.companion * step
        return Piece(piece.kind, piece.x0, piece.x1, low, low + step, piece.step, piece.section)
    step = (piece.x1 - piece.x0) / count
    low = piece.x0 + one.companion * step
    return Piece(piece.kind, low, low + step, piece.y0, piece.y1, piece.step, piece.section)


# --- axes, numbers, legend --------------------------------------------------------------------------------


def _axes(section: CrossSection, sheet: _Sheet) -> list[str]:
    rule = f' stroke="{INK}" stroke-width=".18" fill="none"'
    y = sheet.bottom + 2.5
    lines = [_line(sheet.x(0), y, sheet.x(section.width), y, rule)]
    for value in ticks(0.0, section.width, max(int((sheet.x(section.width) - sheet.x(0)) / 6), 2)):
        lines.append(_line(sheet.x(value), y, sheet.x(value), y + 1.2, rule))
        lines.append(_text(sheet.x(value), y + 4.2, f"{value * 1e3:.4g}", anchor="middle", size=2.5))
    name = "mm from the ring's surface" if section.ring else "mm from the leg's surface"
    lines.append(_text((sheet.x(0) + sheet.x(section.width)) / 2, y + 7.8, name, anchor="middle", size=2.5))
    x = sheet.left - 2.5
    lines.append(_line(x, sheet.y(0), x, sheet.y(section.height), rule))
    for value in ticks(0.0, section.height, max(int((sheet.y(0) - sheet.y(section.height)) / 8), 2)):
        lines.append(_line(x, sheet.y(value), x - 1.2, sheet.y(value), rule))
        lines.append(_text(x - 1.8, sheet.y(value) + 0.9, f"{value * 1e3:.4g}", anchor="end", size=2.5))
    name = "mm along the inner circumference" if section.ring else "mm above the lower yoke"
    middle = (sheet.y(0) + sheet.y(section.height)) / 2
    turned = f' transform="rotate(-90 {_n(x - 8)} {_n(middle)})"'
    lines.append(_text(x - 8, middle, name, anchor="middle", size=2.5, more=turned))
    return lines


def _apart(wanted: Sequence[float], least: float) -> list[float]:
    """Places near ``wanted`` (rising) that are at least ``least`` apart: blocks around their mean."""
    blocks: list[list[float]] = []
    for value in wanted:
        blocks.append([value])
        while len(blocks) > 1 and _start(blocks[-2], least) + len(blocks[-2]) * least > _start(
            blocks[-1], least
        ):
            last = blocks.pop()
            blocks[-1] += last
    return [_start(block, least) + place * least for block in blocks for place in range(len(block))]


def _start(block: Sequence[float], least: float) -> float:
    return sum(block) / len(block) - (len(block) - 1) * least / 2


def _callouts(section: CrossSection, sheet: _Sheet, listed: Sequence[Entry]) -> list[str]:
    """The legend's numbers at their layers: above the core, of flat builds to the right of it."""
    width = section.width
    middles = []
    for number, entry in enumerate(listed, 1):
        middle = (entry.stack[0] + entry.stack[1]) / 2
        if entry.leg == 2 and not section.flat:
            middle = width - middle
        end = entry.along[1]
        if section.flat and entry.leg == 2:
            end = width - entry.along[0]
        if section.ring:
            end = section.height
            if entry.angles is not None:
                end = min(entry.angles[1] / math.tau * section.height, section.height)
        middles.append((middle, end, number))
    lines = []
    rule = f' stroke="{INK}" stroke-width=".12" fill="none"'
    if section.flat:
        middles.sort(key=lambda item: -item[0])
        places = _apart([sheet.y(item[0]) for item in middles], CALLOUT)
        for (middle, end, number), place in zip(middles, places, strict=True):
            y = sheet.y(middle)
            lines.append(
                f'<path d="M{_n(sheet.x(end))} {_n(y)}H{_n(sheet.right + 2)}'
                f'L{_n(sheet.right + 7)} {_n(place)}"{rule}/>'
            )
            lines.append(_text(sheet.right + 8, place + 0.9, str(number)))
        return lines
    middles.sort()
    places = _apart([sheet.x(item[0]) for item in middles], CALLOUT)
    for (middle, end, number), place in zip(middles, places, strict=True):
        x = sheet.x(middle)
        lines.append(
            f'<path d="M{_n(x)} {_n(sheet.y(end))}V{_n(sheet.top - 1)}'
            f'L{_n(place)} {_n(sheet.top - 4)}"{rule}/>'
        )
        lines.append(_text(place, sheet.top - 4.8, str(number), anchor="middle"))
    return lines


def _legend(
    section: CrossSection, listed: Sequence[Entry], left: float, top: float
) -> tuple[list[str], float, float]:
    """The table of layers and the other fills: text, width and depth (mm)."""
    first, second = ("y (mm)", "x (mm)") if section.flat else ("x (mm)", "y (mm)")
    head = ["", "", "winding", "step", "layer", "turns", first, "angle" if section.ring else second]
    mark = marks(section)
    rows = []
    for number, entry in enumerate(listed, 1):
        name = visible(entry.name) + (", leg 2" if entry.leg == 2 else "")
        turns = str(entry.turns) if entry.name in mark else "shield"
        span = f"{entry.stack[0] * 1e3:.2f}-{entry.stack[1] * 1e3:.2f}"
        rows.append(
            [str(number), "", name, str(entry.step), entry.layers, turns, span, along_text(section, entry)]
        )
    glyph = 1.5
    widths = [
        max(len(row[place]) for row in [head, *rows]) * glyph + 3.0 if place != 1 else 7.0
        for place in range(len(head))
    ]
    ends = [left + sum(widths[: place + 1]) for place in range(len(head))]
    lines = []
    order = {winding.name: place for place, winding in enumerate(section.design.windings)}

    def cells(row: Sequence[str], y: float, more: str = "") -> None:
        for place, cell in enumerate(row):
            if not cell:
                continue
            if place in (0, 2):
                lines.append(_text(ends[place] - widths[place], y, cell, more=more))
            else:
                lines.append(_text(ends[place] - 3, y, cell, anchor="end", more=more))

    y = top + 2.5
    cells(head, y, f' fill="{PALE}"')
    lines.append(_line(left, y + 1.3, ends[-1] - 3, y + 1.3, f' stroke="{PALE}" stroke-width=".18"'))
    for row, entry in zip(rows, listed, strict=True):
        y += LINE
        fill = f"url(#v{order[entry.name]})" if entry.name in order else FILLS["shield"]
        lines.append(_swatch(ends[0], y, fill))
        cells(row, y)
    y += LINE * 0.6
    for kind, name in kind_names(section).items():
        if kind != "shield":
            y += LINE
            lines.append(_swatch(ends[0], y, FILLS[kind]))
            lines.append(_text(ends[1], y, name))
    return lines, ends[-1] - left, y - top + LINE


def _swatch(x: float, y: float, fill: str) -> str:
    return (
        f'<rect x="{_n(x)}" y="{_n(y - 2.5)}" width="5" height="3" fill="{fill}" stroke="{INK}" '
        'stroke-width=".12"/>'
    )


# --- the ampere-turn diagram ------------------------------------------------------------------------------


def _range(function: AmpereTurnFunction) -> tuple[float, float]:
    low, high = min(float(function.values.min()), 0.0), max(float(function.values.max()), 0.0)
    return (low, high) if high > low else (-1.0, 1.0)


def _path(points: Sequence[tuple[float, float]], zero: Sequence[tuple[float, float]]) -> str:
    """The function as a line over a pale area down to zero."""
    line = "L".join(f"{_n(x)} {_n(y)}" for x, y in points)
    (x0, y0), (x1, y1) = zero
    return (
        f'<path d="M{_n(x0)} {_n(y0)}L{line}L{_n(x1)} {_n(y1)}Z" fill="{TONES[1][0]}" fill-opacity=".7"/>'
        f'<path d="M{line}" fill="none" stroke="{TONES[1][1]}" stroke-width=".4"/>'
    )


def _bands(sheet: _Sheet, start: float) -> list[str]:
    """Where layers lie, as bands behind the diagram that begins at ``start`` (mm)."""
    section = sheet.section
    spans = sorted(
        {
            (piece.y0, piece.y1) if section.flat else (piece.x0, piece.x1)
            for piece in section.pieces
            if piece.kind in ("winding", "shield")
        }
    )
    path = ""
    for low, high in spans:
        if section.flat:
            path += f"M{_n(start)} {_n(sheet.y(low))}h{_n(DIAGRAM)}V{_n(sheet.y(high))}h-{_n(DIAGRAM)}Z"
        else:
            path += f"M{_n(sheet.x(low))} {_n(start)}v{_n(DIAGRAM)}H{_n(sheet.x(high))}v-{_n(DIAGRAM)}Z"
    return [f'<path d="{path}" fill="{PALE}" fill-opacity=".22"/>']


def _diagram_under(sheet: _Sheet, function: AmpereTurnFunction, top: float) -> list[str]:
    """F(x) under the drawing, on its x axis."""
    low, high = _range(function)
    left, right = sheet.x(0.0), sheet.x(sheet.section.width)

    def y(value: float) -> float:
        return top + (high - value) / (high - low) * DIAGRAM

    points = [
        (sheet.x(float(place)), y(float(value)))
        for place, value in zip(function.places, function.values, strict=True)
    ]
    rule = f' stroke="{INK}" stroke-width=".18"'
    lines = _bands(sheet, top)
    lines.append(_path(points, [(left, y(0.0)), (right, y(0.0))]))
    lines.append(_line(left, y(0.0), right, y(0.0), rule))
    lines.append(_line(left - 2.5, top, left - 2.5, top + DIAGRAM, rule))
    for value in _values(low, high):
        lines.append(_line(left - 2.5, y(value), left - 3.7, y(value), rule))
        lines.append(_text(left - 4.3, y(value) + 0.9, f"{value:.4g}", anchor="end", size=2.5))
    lines.append(_text(left, top - 2.5, "Ampere-turns per ampere driven", size=2.7))
    return lines


def _diagram_beside(sheet: _Sheet, function: AmpereTurnFunction, left: float) -> list[str]:
    """F(y) beside the drawing, on its y axis."""
    low, high = _range(function)
    bottom, top = sheet.y(0.0), sheet.y(sheet.section.height)

    def x(value: float) -> float:
        return left + (value - low) / (high - low) * DIAGRAM

    points = [
        (x(float(value)), sheet.y(float(place)))
        for place, value in zip(function.places, function.values, strict=True)
    ]
    rule = f' stroke="{INK}" stroke-width=".18"'
    lines = _bands(sheet, left)
    lines.append(_path(points, [(x(0.0), bottom), (x(0.0), top)]))
    lines.append(_line(x(0.0), bottom, x(0.0), top, rule))
    under = sheet.bottom + 2.5
    lines.append(_line(left, under, left + DIAGRAM, under, rule))
    for value in _values(low, high):
        lines.append(_line(x(value), under, x(value), under + 1.2, rule))
        lines.append(_text(x(value), under + 4.2, f"{value:.4g}", anchor="middle", size=2.5))
    lines.append(_text(left + DIAGRAM / 2, under + 7.8, "ampere-turns per ampere", anchor="middle", size=2.5))
    return lines


def _values(low: float, high: float) -> list[float]:
    """Labels: both extremes and zero."""
    return sorted({low, 0.0, high})


def _notes(section: CrossSection, function: AmpereTurnFunction | None, width: float) -> list[str]:
    notes = []
    if function is not None:
        opposed = "with a short" if function.opposed else "open: only what is driven carries current"
        notes.append(_function_text(function)[:-1] + f" ({opposed}; one-dimensional).")
    notes.append(
        "As laid by the rules of the design file, nominal dimensions; the scale holds when printed at its "
        "own size."
    )
    if section.ring:
        notes.append("Height to the right, towards the hole's centre (broken line).")
    return [
        line
        for note in notes
        for line in textwrap.wrap(note, max(int(width / 1.35), 40), break_on_hyphens=False)
    ]
