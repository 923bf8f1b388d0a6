"""The part of a drawing that is to scale: every piece of a cross-section as a rectangle in mm of the part."""

from __future__ import annotations

from dataclasses import replace
from xml.sax.saxutils import escape, quoteattr

from ...predict.winding import CrossSection, Piece
from .drawing_legend import one_body, piece_names
from .page import visible
from .svg_sheet import INK, Sheet, fixed

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
    "spacer": "#edf1f5",
    "margin": "#e3d9a3",
    "shield": "#59616b",
    "gap": "#ffffff",
}


def hatch_patterns(section: CrossSection, sheet: Sheet) -> str:
    """One pattern for each winding, sized for paper.

    Parameters
    ----------
    section : CrossSection, what is drawn
    sheet : Sheet, the page
    """
    patterns = []
    for winding_index in range(len(section.design.windings)):
        ground, ink = TONES[winding_index % len(TONES)]
        shape, turn = (
            (winding_index + winding_index // len(TONES)) % len(HATCHES),
            TURNED[winding_index % len(TURNED)],
        )
        drawn = HATCHES[shape].format(s=f'stroke="{ink}"', f=f'fill="{ink}"')
        size = SIZES[shape]

        patterns.append(
            f'<pattern id="w{winding_index}" width="{size}" height="{size}" patternUnits="userSpaceOnUse" '
            f'patternTransform="scale({fixed(1 / sheet.scale)}) rotate({turn})">'
            f'<rect width="{size}" height="{size}" fill="{ground}"/>{drawn}</pattern>'
            f'<pattern id="v{winding_index}" href="#w{winding_index}" patternTransform="rotate({turn})"/>'
        )
    return "<defs>" + "".join(patterns) + "</defs>"


def piece_shapes(section: CrossSection, sheet: Sheet) -> list[str]:
    """Every piece as a rectangle, in millimetres of the part.

    Parameters
    ----------
    section : CrossSection, what is drawn
    sheet : Sheet, the page
    """
    thin = fixed(0.12 / sheet.scale)
    fine = fixed(0.2 / sheet.scale)
    origin, scale = f"{fixed(sheet.x(0.0))} {fixed(sheet.y(0.0))}", fixed(sheet.scale)
    transform = f"translate({origin}) scale({scale} -{scale})"
    lines = [f'<g transform="{transform}" stroke="{INK}" stroke-width="{thin}">']
    core = [piece for piece in section.pieces if piece.kind == "core"]
    outline = "".join(
        f"M{fixed(piece.x0 * 1e3)} {fixed(piece.y0 * 1e3)}H{fixed(piece.x1 * 1e3)}V{fixed(piece.y1 * 1e3)}"
        f"H{fixed(piece.x0 * 1e3)}Z"
        for piece in core
    )
    lines.append(f'<path d="{outline}" fill="{FILLS["core"]}" stroke="none"/>')
    lines += [_rectangle(section, piece) for piece in _bodies(section) if piece.kind != "core"]
    w, h = fixed(section.width * 1e3), fixed(section.height * 1e3)
    left = fixed(section.left * 1e3)
    edge = f'fill="none" stroke-width="{fine}"'
    if section.ring:
        lines.append(f'<path d="M-{left} 0H0V{h}H-{left}Z" {edge}/>')
        lines.append(f'<path d="M{w} 0V{h}" {edge} stroke-dasharray="{fixed(3 / sheet.scale)}"/>')
    else:
        below, above = fixed(section.below * 1e3), fixed((section.height + section.above) * 1e3)
        lines.append(f'<path d="M0 0H{w}V{h}H0Z" {edge}/>')
        outer = fixed((section.width + section.right) * 1e3)
        lines.append(f'<path d="M-{left} -{below}H{outer}V{above}H-{left}" {edge}/>')
        if section.design.core.dimensions.wound_legs > 1:
            lines.append(f'<path d="M-{left} -{below}V{above}" {edge}/>')
        else:
            dash = " ".join(fixed(part / sheet.scale) for part in (4, 1, 0.6, 1))
            lines.append(f'<path d="M-{left} -{below}V{above}" {edge} stroke-dasharray="{dash}"/>')
    lines.append("</g>")
    return lines


def _bodies(section: CrossSection) -> list[Piece]:
    """The pieces; slices of the same turns without order as one, but for windings wound together, whose
    strips must show."""
    wound = section.layout.sections
    together = {each.group for each in wound if each.companion}
    bodies: list[Piece] = []
    for piece in section.pieces:
        before = bodies[-1] if bodies else None
        if (
            before is None
            or not _slices(section, before, piece)
            or wound[piece.section or 0].group in together
        ):
            bodies.append(piece)
            continue
        x0, x1 = min(before.x0, piece.x0), max(before.x1, piece.x1)
        bodies[-1] = replace(before, x0=x0, x1=x1, y0=min(before.y0, piece.y0), y1=max(before.y1, piece.y1))
    return bodies


def _slices(section: CrossSection, before: Piece, piece: Piece) -> bool:
    wound = section.layout.sections
    windings = before.kind == piece.kind == "winding"
    return windings and one_body(wound[before.section or 0], wound[piece.section or 0])


def _rectangle(section: CrossSection, piece: Piece) -> str:
    fill, name, edge = FILLS.get(piece.kind, ""), piece_names(section).get(piece.kind, piece.kind), ""
    if piece.kind == "winding":
        wound = section.layout.sections[piece.section or 0]
        winding_index = next(
            index for index, each in enumerate(section.design.windings) if each.name == wound.winding
        )
        fill, name = (
            f"url(#w{winding_index})",
            f"{visible(wound.winding)}, step {wound.step + 1}, "
            + ("without order" if wound.scramble else f"layer {wound.layer + 1}"),
        )
        if wound.companion or any(
            companion.group == wound.group and companion.companion for companion in section.layout.sections
        ):
            edge, piece = "", _strip(section, piece)
    elif piece.kind == "gap":
        edge = ' stroke="none"'
    elif piece.kind == "shield":
        name = f"shield {visible(section.layout.sections[piece.section or 0].winding)}"
    elif piece.step is not None:
        name = f"{name}, step {piece.step + 1}"
    wide, high = (piece.x1 - piece.x0) * 1e3, (piece.y1 - piece.y0) * 1e3
    return (
        f'<rect x="{fixed(piece.x0 * 1e3)}" y="{fixed(piece.y0 * 1e3)}" width="{fixed(wide)}" '
        f'height="{fixed(high)}" fill={quoteattr(fill)}{edge}>'
        f"<title>{escape(name)}</title></rect>"
    )


def _strip(section: CrossSection, piece: Piece) -> Piece:
    """A winding's strip of a layer in which several are wound together turn by turn: the layer is shared out
    across its thickness, so that all of them show."""
    wound = section.layout.sections[piece.section or 0]
    count = sum(companion.group == wound.group for companion in section.layout.sections)
    if section.flat:
        step = (piece.y1 - piece.y0) / count
        low = piece.y0 + wound.companion * step
        return replace(piece, y0=low, y1=low + step)
    step = (piece.x1 - piece.x0) / count
    low = piece.x0 + wound.companion * step
    return replace(piece, x0=low, x1=low + step)
