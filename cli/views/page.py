"""What a view is made of, and how it becomes text: lines, paragraphs, headings, grids.

Views yield parts and know no terminal. ``render`` lays them out for a width and a character set, so that
columns stay aligned where Ω has to be written as ohm.
"""

from __future__ import annotations

import io
import re
import textwrap
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

LONGEST_LINE = 98
"""Columns of a paragraph on a broad terminal; beyond, lines are hard to follow."""

NARROWEST_GRID = 80
"""Columns below which a grid is not squeezed: numbers are never folded or cut."""

_GREEK = (
    *("alpha", "beta", "gamma", "delta", "epsilon", "eta", "theta", "kappa", "lambda", "rho", "sigma"),
    *("Sigma", "tau", "phi", "chi", "Delta", "Lambda", "Phi"),
)
PLAIN = str.maketrans(
    {
        "µ": "u",
        "μ": "u",
        "Ω": "ohm",
        "±": "+/-",
        "∞": "inf",
        "×": "x",
        "…": "...",
        "–": "-",
        "—": "-",
        "−": "-",
        "─": "-",
        "━": "-",
        "√": "sqrt",
        "π": "pi",
        "²": "^2",
        "→": "->",
        "°": " deg",
        "ω": "w",
        "≤": "<=",
        "≥": ">=",
        "·": ".",
        "≈": "~",
        "½": "1/2",
        "³": "^3",
        **dict(zip("αβγδεηθκλρσΣτφχΔΛΦ", _GREEK, strict=True)),
    }
)
"""What stands in for a character where the output's encoding lacks it."""

_GLUE = "\ue000"
"""Stands for a space at which no line may break (private use, one column wide)."""
_GLUED = re.compile(
    r"(?<=\d) (?=(?:[yzafpnuµmkMG]?(?:Hz|H|m|Ω|ohm|V|A|F|K|T)|%|°C?|deg)(?!\w))"  # 10 kHz
    r"|(?<=[±≤≥×]) | (?=[±×])"  # 7.50 ± 0.01
)
_RANGE = re.compile(r"(?<=\d) (?=… \d)|(?<=\d …) (?=\d)")
"""A range of numbers stays in one line of a paragraph."""
_CONTROL = re.compile(
    r"[\x00-\x08\x0b-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069\ufeff\ufffe\uffff]"
)


@dataclass(frozen=True)
class Paragraph:
    """Text folded to the page.

    Attributes
    ----------
    text : str
    indent : str, what is before every line but the first
    first : str, what is before the first line
    """

    text: str
    indent: str = ""
    first: str = ""


@dataclass(frozen=True)
class Heading:
    """A heading with a line under it.

    Attributes
    ----------
    text : str
    """

    text: str


@dataclass(frozen=True)
class Grid:
    """A table with a line under its heads.

    Attributes
    ----------
    columns : tuple[str, ...], the heads
    rows : tuple[tuple[str, ...], ...], the cells, row by row
    right : tuple[int, ...], columns set to the right, index
    """

    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    right: tuple[int, ...] = ()


@dataclass(frozen=True)
class Figure:
    """Lines that a picture lays out by itself.

    Attributes
    ----------
    lines : Callable[[int, bool], Sequence[str]], (width in columns, whether only ASCII may be used) → lines
    """

    lines: Callable[[int, bool], Sequence[str]]


Part = str | Paragraph | Heading | Grid | Figure
"""A str is a paragraph without indent."""


def visible(text: str) -> str:
    r"""The text with control characters, and those that turn the direction of writing, written out (``\x1b``,
    ``\u202e``), so that no file's name or text can steer the terminal."""
    return _CONTROL.sub(
        lambda match: f"\\x{ord(match[0]):02x}" if ord(match[0]) < 256 else f"\\u{ord(match[0]):04x}", text
    )


def unbroken(text: str, space: str = "\N{NO-BREAK SPACE}") -> str:
    """A text that no line break can part between a number and its unit, or around ± and ×.

    Parameters
    ----------
    text : str
    space : str, optional, what replaces the space there
    """
    return _GLUED.sub(space, text)


def plainly(text: str) -> str:
    """The text with our own characters beyond ASCII written out: "20 °C" → "20 degC"."""
    return re.sub(rf"([ {_GLUE}]) +deg", r"\1deg", text.replace("°C", " degC").translate(PLAIN))


def render(parts: Iterable[Part], width: int, *, plain: bool = False, bold: bool = False) -> str:
    """The parts as text, each part ending its line.

    Parameters
    ----------
    parts : Iterable[Part], parts of the page
    width : int, columns at most (grids: 80 if that is more), count
    plain : bool, optional, whether what our views write is ASCII only; a user's own letters stay
    bold : bool, optional, whether heads of grids are bold (ANSI)
    """
    return "".join(_laid(part, width, plain, bold).replace(_GLUE, " ") + "\n" for part in parts)


def _laid(part: Part, width: int, plain: bool, bold: bool) -> str:
    if isinstance(part, Grid):
        return _grid(part, width, plain, bold)
    if isinstance(part, Figure):
        return "\n".join(part.lines(width, plain))
    if isinstance(part, Heading):
        lines = textwrap.wrap(_ready(" ".join(part.text.split()), plain), max(width, 20))
        rule = "-" if plain else "─"
        return "\n".join(["", *lines, rule * max((len(line) for line in lines), default=0)])
    if isinstance(part, str):
        part = Paragraph(part)
    return textwrap.fill(
        _ready(_RANGE.sub(_GLUE, part.text), plain),
        max(min(width, LONGEST_LINE), 20) - 2,
        initial_indent=part.first,
        subsequent_indent=part.indent,
        break_on_hyphens=False,
    )


def _ready(text: str, plain: bool) -> str:
    glued = unbroken(visible(text), _GLUE)
    return plainly(glued) if plain else glued


def _grid(part: Grid, width: int, plain: bool, bold: bool) -> str:
    from rich.box import SIMPLE_HEAD, Box
    from rich.console import Console
    from rich.table import Table
    from rich.text import Text

    blank = "    \n"
    frame = Box(blank * 2 + " -- \n" + blank * 5, ascii=True) if plain else SIMPLE_HEAD
    table = Table(box=frame, pad_edge=False, padding=(0, 1, 0, 0), show_edge=False)
    for index, column in enumerate(part.columns):
        table.add_column(
            Text(_ready(column, plain)),
            justify="right" if index in part.right else "left",
            overflow="fold",
            no_wrap=index in part.right,
        )
    for row in part.rows:
        table.add_row(*(Text(_ready(cell, plain)) for cell in row))
    buffer = io.StringIO()
    console = Console(
        file=buffer,
        width=max(width, NARROWEST_GRID),
        force_terminal=bold,
        color_system="standard" if bold else None,
        legacy_windows=False,
    )
    console.print(table)
    return "\n".join(line.rstrip() for line in buffer.getvalue().rstrip("\n").split("\n"))
