"""Where text leaves the program: one console, plain where the terminal cannot do more."""

from __future__ import annotations

import io
import os
import shutil
import sys
from collections.abc import Iterable
from typing import TYPE_CHECKING, Any, TextIO

if TYPE_CHECKING:
    from rich.console import RenderableType

DEFAULT_WIDTH = 80
PLAIN = str.maketrans(
    {
        "µ": "u",
        "μ": "u",
        "Ω": "ohm",
        "±": "+-",
        "×": "x",
        "…": "...",
        "–": "-",
        "—": "-",
        "−": "-",
        "─": "-",
        "━": "-",
        "√": "sqrt",
        "²": "^2",
        "→": "->",
        "°": " deg",
        "ω": "w",
        "≤": "<=",
        "≥": ">=",
        "·": ".",
    }
)
"""What stands in for a character where the output's encoding lacks it."""


def encodes(stream: TextIO) -> bool:
    """Whether the stream can show all characters that our output uses."""
    try:
        "".join(map(chr, PLAIN)).encode(stream.encoding or "ascii")
    except (UnicodeEncodeError, LookupError):
        return False
    return True


def width_of(stream: TextIO) -> int:
    """Columns of the terminal; 80 where there is none."""
    return shutil.get_terminal_size((DEFAULT_WIDTH, 24)).columns if stream.isatty() else _columns()


def _columns() -> int:
    text = os.environ.get("COLUMNS", "")
    return int(text) if text.isdigit() and int(text) >= 40 else DEFAULT_WIDTH


def show(parts: Iterable[RenderableType], stream: TextIO | None = None) -> None:
    """Print renderables, markup off, bold only on a terminal and without NO_COLOR."""
    from rich.console import Console

    target = stream or sys.stdout
    buffer = io.StringIO()
    styled = target.isatty() and "NO_COLOR" not in os.environ and os.environ.get("TERM") != "dumb"
    console = Console(
        file=buffer,
        width=width_of(target),
        force_terminal=styled,
        color_system="standard" if styled else None,
        markup=False,
        highlight=False,
        emoji=False,
        legacy_windows=False,
    )
    for part in parts:
        console.print(part)
    text = "\n".join(line.rstrip() for line in buffer.getvalue().split("\n"))
    write(text, target)


def write(text: str, stream: TextIO | None = None) -> None:
    """Write text, with plain stand-ins where the stream's encoding needs them."""
    target = stream or sys.stdout
    if not encodes(target):
        text = text.translate(PLAIN)
        text = text.encode(target.encoding or "ascii", "replace").decode(target.encoding or "ascii")
    target.write(text)
    target.flush()


def show_json(value: Any) -> None:
    """Print JSON: SI numbers, null for what is missing or not finite."""
    import json

    write(json.dumps(_finite(value), indent=1, ensure_ascii=True) + "\n")


def _finite(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _finite(part) for key, part in value.items()}
    if isinstance(value, list | tuple):
        return [_finite(part) for part in value]
    if isinstance(value, float) and (value != value or value in (float("inf"), float("-inf"))):
        return None
    return value
