"""Where text leaves the program: one console, plain where the terminal cannot do more."""

from __future__ import annotations

import os
import shutil
import sys
from collections.abc import Iterable
from typing import Any, TextIO

from .progress import clear_bar
from .views.page import PLAIN, Part, plainly, render

DEFAULT_WIDTH = 80


def encodes(stream: TextIO) -> bool:
    """Whether the stream can show all characters that our output uses."""
    try:
        "".join(map(chr, PLAIN)).encode(stream.encoding or "ascii")
    except (UnicodeEncodeError, LookupError):
        return False
    return True


def width_of(stream: TextIO) -> int:
    """Columns of the terminal, count; 80 if the stream is none."""
    return shutil.get_terminal_size((DEFAULT_WIDTH, 24)).columns if stream.isatty() else _columns()


def _columns() -> int:
    text = os.environ.get("COLUMNS", "")
    stated = int(text) if text.isdecimal() and len(text) < 10 else 0
    return stated if stated >= 40 else DEFAULT_WIDTH


def print_parts(parts: Iterable[Part], stream: TextIO | None = None) -> None:
    """Print the parts of a view; bold only on a terminal and without NO_COLOR.

    Parameters
    ----------
    parts : Iterable[Part], parts of the page
    stream : TextIO or None, optional, where to print; None: standard output
    """
    target = stream or sys.stdout
    bold = target.isatty() and not os.environ.get("NO_COLOR") and os.environ.get("TERM") != "dumb"
    write(render(parts, width_of(target), plain=not encodes(target), bold=bold), target)


def write_data(text: str) -> None:
    """Write a file's text to standard output as it would stand in the file: UTF-8, whatever the terminal."""
    clear_bar()
    buffer = getattr(sys.stdout, "buffer", None)
    if buffer is None:
        write(text)
        return
    sys.stdout.flush()
    try:
        buffer.write(text.encode(errors="backslashreplace"))
        buffer.flush()
    except BrokenPipeError:
        drop_output(sys.stdout)
    except OSError as error:
        drop_output(sys.stdout)
        raise OSError(error.errno, error.strerror, "standard output") from error


def write(text: str, stream: TextIO | None = None) -> None:
    """Write text, with plain stand-ins for characters that the stream's encoding lacks.

    A reader that has gone (``| head``) is no fault: the rest is dropped, and the command goes on to its
    verdict.

    Parameters
    ----------
    text : str
    stream : TextIO or None, optional, where to write; None: standard output
    """
    clear_bar()
    target = stream or sys.stdout
    if not encodes(target):
        encoding = target.encoding or "ascii"
        text = plainly(text).encode(encoding, "replace").decode(encoding)
    try:
        try:
            target.write(text)
        except UnicodeEncodeError:  # the name of a file holds bytes that are no text
            encoding = target.encoding or "ascii"
            target.write(text.encode(encoding, "backslashreplace").decode(encoding))
        target.flush()
    except BrokenPipeError:
        drop_output(target)
    except OSError as error:
        drop_output(target)
        if target is not sys.stderr:  # a full error stream changes no status
            raise OSError(error.errno, error.strerror, "standard output") from error


def drop_output(stream: TextIO) -> None:
    """Point the stream at the null device: the interpreter flushes it once more at its end."""
    sink = os.open(os.devnull, os.O_WRONLY)
    os.dup2(sink, stream.fileno())
    os.close(sink)


def show_json(value: Any) -> None:
    """Print JSON: SI numbers, null for what is missing or not finite; records as their objects."""
    import json

    from .documents.record import as_data

    write(json.dumps(_finite(as_data(value)), indent=1, ensure_ascii=True) + "\n")


def _finite(value: Any) -> Any:
    if value is None or isinstance(value, str):
        return value
    if isinstance(value, dict):
        return {key: _finite(part) for key, part in value.items()}
    if isinstance(value, list | tuple):
        return [_finite(part) for part in value]
    if isinstance(value, float) and (value != value or value in (float("inf"), float("-inf"))):
        return None
    return value
