"""The cross-section as characters: window, core, bobbin, layers, with a legend and the ampere-turn diagram.

Columns and rows are to scale as far as characters allow: every layer takes at least one cell, then every
tape and spacer, as long as there are cells. Pure: data and a width → lines.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

import numpy as np

from ...predict.circuit import AmpereTurnFunction
from ...predict.winding import CrossSection, Piece
from . import words
from .drawing_bars import BAR_COLUMNS, bar_labels, bars_along, bars_under
from .drawing_legend import Entry, along_text, ampere_turns_text, entries, gap_text, marks, piece_names, ticks
from .page import Figure, Heading, Part, visible
from .raster import Axis, fitted_axis, needed_cells

SIDE = 7
"""Columns left of the picture, for the axis that runs upwards."""
LEG, OUTER, YOKE = 3, 2, 1
"""Columns and rows of the core around the window, which is cut off there."""
WIDEST, TALLEST, TALLEST_FLAT, LOWEST, LOWEST_FLAT = 72, 22, 44, 9, 16
"""Cells of the window at most and at least."""
_SHADES = {
    "core": "█#",
    "bobbin": "▒%",
    "tape": "░:",
    "spacer": "·.",
    "margin": "▓/",
    "shield": "═=",
    "gap": "  ",
}
_ASCII = str.maketrans("█▒░·▓═▄▀▌▐─│┴├", "#%:./=.'##-|++")


@dataclass(frozen=True)
class _Frame:
    """Where the window's cells lie on the canvas: ``columns`` along x, ``rows`` along y, from below."""

    columns: Axis
    rows: Axis
    left: int
    right: int
    yoke: int

    def column(self, x: float) -> int:
        edges = self.columns.edges
        if x < edges[0] - 1e-12:
            return 0
        beyond = self.right if x > edges[-1] + 1e-12 else 0
        return self.left + self.columns.cell(x) + beyond

    def row(self, y: float) -> int:
        edges = self.rows.edges
        if y < edges[0] - 1e-12:
            return 0
        beyond = self.yoke if y > edges[-1] + 1e-12 else 0
        return self.yoke + self.rows.cell(y) + beyond


@dataclass
class _Canvas:
    """Cells, row 0 at the bottom."""

    width: int
    height: int
    cells: list[list[str]] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.cells = [[" "] * self.width for _ in range(self.height)]

    def fill(self, columns: range, rows: range, character: str) -> None:
        for row in rows:
            for column in columns:
                self.cells[row][column] = character

    def lines(self) -> list[str]:
        """From the top downwards."""
        return ["".join(row) for row in reversed(self.cells)]


def drawing_parts(
    section: CrossSection, function: AmpereTurnFunction | None, heading: str = "Cross-section"
) -> Iterator[Part]:
    """The drawing in characters.

    Parameters
    ----------
    section : CrossSection, what is drawn
    function : AmpereTurnFunction or None, ampere-turns along the layers, A
    heading : str, optional, what stands above it
    """
    yield Heading(heading)
    yield _orientation(section)
    shown = function if function is not None and np.any(function.values) else None
    yield Figure(lambda width, plain: _figure(section, shown, width, plain=plain))
    if function is not None:
        yield _diagram_text(section, function)


def _orientation(section: CrossSection) -> str:
    if section.ring:
        return (
            "The ring unrolled along its hole: height above its surface to the right, towards the hole's "
            "centre; the inner circumference upwards, in mm."
        )
    side = section.design.core.dimensions.facing_name
    stack = "Flat layers stack upwards" if section.flat else "Layers stack to the right"
    return (
        f"The window beside the leg, {section.width * 1e3:.4g} mm from the leg to {side}, "
        f"{section.height * 1e3:.4g} mm between the yokes. {stack}; axes in mm, from the leg's surface and "
        "from the lower yoke; the core is cut off."
    )


def _diagram_text(section: CrossSection, function: AmpereTurnFunction) -> str:
    low, high = float(function.values.min()), float(function.values.max())
    along = (
        "along the leg" if function.along_leg else "across the build" if section.ring else "across the window"
    )
    if low == high == 0:
        return (
            f"No ampere-turns {along} in test {function.test.name} ({words.how(function.test)}): the "
            "currents of windings side by side cancel in every layer."
        )
    current = (
        "what is shorted carries the opposing current"
        if function.opposed
        else "nothing is shorted, only the driven winding carries current"
    )
    return (
        f"Ampere-turns {along} in test {function.test.name} ({words.how(function.test)}), per ampere "
        f"driven: from {ampere_turns_text(low)} to {ampere_turns_text(high)}; {current}."
    )


def _figure(
    section: CrossSection, function: AmpereTurnFunction | None, width: int, *, plain: bool
) -> list[str]:
    """All lines of the picture, at most ``width`` columns (not less than 58)."""
    width = max(width, 58)
    mark = marks(section)
    listed = entries(section, most=26)
    text = _legend(section, listed, mark, full=False)
    beside = max(map(len, text)) + 2
    core = LEG + (0 if section.ring else OUTER)
    most = width - SIDE - core
    with_bars = function is not None and function.along_leg
    room = most - beside
    under = with_bars or room < min(_columns_needed(section), most) or room < 24
    if under:
        text = _legend(section, listed, mark, full=True)
        room = most - (BAR_COLUMNS + 4 if with_bars else 0)
    frame = _frame(section, min(room, WIDEST))
    canvas = _painted(section, frame, mark)
    lines = _with_side_axis(section, frame, canvas.lines())
    if with_bars and function is not None:
        bars = [""] * frame.yoke + bars_along(function, frame.rows) + [""] * frame.yoke
        lines = [line + "  " + bar for line, bar in zip(lines, bars, strict=True)]
    lines += _bottom_axis(section, frame, function if with_bars else None)
    if function is not None and not with_bars:
        lines += bars_under(function, frame.columns, SIDE, frame.left)
    if not under:
        lines = _side_by_side(lines, text, SIDE + frame.left + frame.columns.count + frame.right + 2)
    lines += _key(section, frame, width)
    if under:
        lines += ["", *text]
    lines = [line.rstrip() for line in lines]
    return [line.translate(_ASCII) for line in lines] if plain else lines


def _spans(section: CrossSection, kinds: Sequence[str], *, y: bool) -> list[tuple[float, float]]:
    chosen = [piece for piece in section.pieces if piece.kind in kinds]
    return [(piece.y0, piece.y1) if y else (piece.x0, piece.x1) for piece in chosen]


def _columns_needed(section: CrossSection) -> int:
    spans = _spans(section, ("winding", "shield"), y=False)
    return needed_cells(0.0, section.width, spans)


def _frame(section: CrossSection, columns: int) -> _Frame:
    layers, rest = ("winding", "shield"), ("tape", "spacer", "margin", "bobbin")
    across = fitted_axis(
        0.0,
        section.width,
        [_spans(section, layers, y=False), _spans(section, rest, y=False)],
        max(columns, 8),
    )
    square = section.height / section.width * across.count / 2
    up = [_spans(section, kinds, y=True) for kinds in (layers, ("gap",), rest)]
    needed = needed_cells(0.0, section.height, [span for tier in up for span in tier])
    most = TALLEST_FLAT if section.flat else TALLEST
    rows = min(max(round(square), LOWEST_FLAT if section.flat else LOWEST, needed), most)
    along = fitted_axis(0.0, section.height, up, rows)
    ring = section.ring
    return _Frame(across, along, LEG, 0 if ring else OUTER, 0 if ring else YOKE)


def _painted(section: CrossSection, frame: _Frame, mark: dict[str, str]) -> _Canvas:
    canvas = _Canvas(frame.left + frame.columns.count + frame.right, frame.rows.count + 2 * frame.yoke)
    companions = {wound.group for wound in section.layout.sections if wound.companion > 0}
    for piece in section.pieces:
        columns = range(frame.column(piece.x0), frame.column(piece.x1))
        rows = range(frame.row(piece.y0), frame.row(piece.y1))
        if piece.kind != "winding":
            canvas.fill(columns, rows, _SHADES[piece.kind][0])
            continue
        letter = _letter(section, piece, mark)
        wound = section.layout.sections[piece.section or 0]
        if wound.group in companions and wound.companion > 0:
            rows = range(rows.start + wound.companion, rows.stop, _group_size(section, wound.group))
        canvas.fill(columns, rows, letter)
    return canvas


def _group_size(section: CrossSection, group: int) -> int:
    return sum(wound.group == group for wound in section.layout.sections)


def _letter(section: CrossSection, piece: Piece, mark: dict[str, str]) -> str:
    """The winding's mark; small in every second layer, so that layers stand apart."""
    wound = section.layout.sections[piece.section or 0]
    letter = mark[wound.winding]
    return letter.lower() if wound.layer % 2 and not wound.scramble else letter


# --- axes -------------------------------------------------------------------------------------------------


def _label(value: float) -> str:
    return f"{value * 1e3:.4g}"


def _with_side_axis(section: CrossSection, frame: _Frame, lines: list[str]) -> list[str]:
    labels = [" " * SIDE] * len(lines)
    for value in ticks(0.0, section.height, max(frame.rows.count // 3, 2)):
        row = min(frame.row(value), frame.yoke + frame.rows.count - 1)
        labels[len(lines) - 1 - row] = f"{_label(value):>{SIDE - 1}} "
    return [label + line for label, line in zip(labels, lines, strict=True)]


def _bottom_axis(section: CrossSection, frame: _Frame, bars: AmpereTurnFunction | None) -> list[str]:
    start = SIDE + frame.left
    width = start + frame.columns.count + frame.right + 1
    rule, numbers = [" "] * width, [" "] * width
    rule[start : start + frame.columns.count + 1] = "─" * (frame.columns.count + 1)
    free = 0
    for value in ticks(0.0, section.width, max(frame.columns.count // 7, 2)):
        column = start + frame.columns.cell(value)
        rule[column] = "┴"
        text = _label(value)
        start_column = min(max(column - len(text) // 2, 0), width - len(text))
        if start_column >= free:
            numbers[start_column : start_column + len(text)] = text
            free = start_column + len(text) + 1
    first = "".join(rule).rstrip()
    second = "".join(numbers).rstrip()
    if bars is not None:
        picture = start + frame.columns.count + frame.right + 2
        marks_line = [" "] * (BAR_COLUMNS + 4)
        for text, column in bar_labels(bars):
            marks_line[column : column + len(text)] = text
        second = second.ljust(picture) + "".join(marks_line).rstrip()
    return [first, second]


# --- legend -----------------------------------------------------------------------------------------------


def _legend(section: CrossSection, listed: Sequence[Entry], mark: dict[str, str], *, full: bool) -> list[str]:
    """Lines of the legend; ``full``: also where the layers run."""
    axis = "y (mm)" if section.flat else "x (mm)"
    head = ["", "", "step", "layer", "turns", axis]
    legs = any(entry.leg == 2 for entry in listed)
    if full:
        head.append("angle" if section.ring else "x (mm)" if section.flat else "y (mm)")
    if legs:
        head.insert(2, "leg")
    rows = [head]
    for entry in listed:
        letter = mark.get(entry.name, _SHADES["shield"][0])
        row = [
            letter,
            _short(entry.name),
            str(entry.step),
            entry.layers,
            "shield" if entry.name not in mark else str(entry.turns),
            f"{entry.stack[0] * 1e3:.2f}-{entry.stack[1] * 1e3:.2f}",
        ]
        if full:
            row.append(along_text(section, entry))
        if legs:
            row.insert(2, str(entry.leg))
        rows.append(row)
    widths = [max(len(row[index]) for row in rows) for index in range(len(head))]
    lines = []
    for row in rows:
        cells = [
            text.ljust(wide) if index < 2 else text.rjust(wide)
            for index, (text, wide) in enumerate(zip(row, widths, strict=True))
        ]
        lines.append(cells[0] + " " + " ".join(cells[1:]))
    return lines


def _short(name: str) -> str:
    shown = visible(name)
    return shown if len(shown) <= 12 else shown[:11] + "~"


def _side_by_side(lines: list[str], text: list[str], column: int) -> list[str]:
    result = []
    for index in range(max(len(lines), len(text))):
        left = lines[index] if index < len(lines) else ""
        right = text[index] if index < len(text) else ""
        result.append(left.ljust(column) + right if right else left)
    return result


def _key(section: CrossSection, frame: _Frame, width: int) -> list[str]:
    """What the shades mean, and the scale; folded to the width."""
    items = [f"{_SHADES[kind][0]} {name}" for kind, name in piece_names(section).items()]
    if gap := gap_text(section):
        items.append(gap)
    if any(wound.layer % 2 and not wound.scramble for wound in section.layout.sections):
        items.append("small letters: every second layer")
    column = section.width / frame.columns.count * 1e3
    row = section.height / frame.rows.count * 1e3
    if any(wound.leg == 2 for wound in section.layout.sections):
        items.append("lengths of leg 2 from its own surface")
    items.append(f"a column is {column:.2g} mm, a row {row:.2g} mm on average")
    if not frame.columns.faithful or not frame.rows.faithful:
        items.append("parts thinner than a cell are left out")
    lines = [""]
    for item in items:
        candidate = f"{lines[-1]}; {item}" if lines[-1] else item
        if len(candidate) > width - 2 and lines[-1]:
            lines[-1] += ";"
            lines.append(item)
        else:
            lines[-1] = candidate
    return ["", *lines]
