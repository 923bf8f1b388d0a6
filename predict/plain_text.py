"""What a file may hold: its size, and the characters and lengths of a text or a name in it.

A text is shown on terminals and in pages, netlists and tables of other programs. Characters that control
those instead of being displayed (escapes, marks that change the direction of writing) are refused when
they are read.
"""

from __future__ import annotations

import os
import re
import stat
import tomllib
import unicodedata
from pathlib import Path

from .errors import Fault

LONGEST_NAME = 100
"""Most characters of a name (winding, test, sample) or of a column heading (judged by what fits a page)."""
LONGEST_TEXT = 10_000
"""Most characters of a note (judged by what fits a page)."""
LARGEST_FILE = 2_000_000
"""Most bytes of a design, bench or catalogue file (bounds work, not results)."""
LARGEST_READINGS = 50_000_000
"""Most bytes of a readings file (bounds work, not results)."""

STDIN_HINT = "Standard input is /dev/stdin."
"""Cure where a file is given as "-"."""

_PLANES = "".join(f"\\U{plane:04x}fffe\\U{plane:04x}ffff" for plane in range(1, 17))
_STEERING = (
    r"\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f"  # controls
    r"\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069\ufeff"  # direction, separators of lines, byte-order mark
    r"\ud800-\udfff\ufdd0-\ufdef\ufffe\uffff" + _PLANES  # halves of pairs, and what is no character
)
_WRONG = re.compile(f"[{_STEERING}]")
_WRONG_IN_A_LINE = re.compile(rf"[\t\r\n{_STEERING}]")


def unfit(text: str, longest: int = LONGEST_TEXT, *, lines: bool = False) -> str:
    """What is wrong with a text, for a message: "1234 characters", "the character U+202E (right-to-left
    override)".

    Refused are control characters, code points that are no characters (U+FFFE), surrogates (U+D800 to
    U+DFFF), and characters that change the direction of writing.

    Parameters
    ----------
    text : str
    longest : int, optional, most characters that it may have, count
    lines : bool, optional, whether it may hold line breaks and tabs

    Returns
    -------
    str, the fault in words; "" if there is none

    References
    ----------
    The Unicode Standard, chapters 9 and 23 (from memory).
    """
    if len(text) > longest:
        return f"{len(text)} characters"
    match = (_WRONG if lines else _WRONG_IN_A_LINE).search(text)
    if match is None:
        return ""
    named = "escape" if match[0] == "\x1b" else unicodedata.name(match[0], "").lower()
    return f"the character U+{ord(match[0]):04X}" + (f" ({named})" if named else "")


FORMULA = ("=", "+", "-", "@")
"""Signs at the start of a cell that make a spreadsheet take it for a formula and run it."""


def shortened(text: str) -> str:
    """A text as Python writes it, cut to 60 characters."""
    return repr(text if len(text) <= 60 else f"{text[:57]}...")


def file_bytes(path: Path, largest: int, *, ordinary: bool = False) -> bytes:
    """The bytes of a file.

    Parameters
    ----------
    path : Path
    largest : int, most bytes that it may have, count
    ordinary : bool, optional, whether devices and pipes are refused

    Raises
    ------
    OSError
        As ``open``.
    ValueError
        The file is too large, is not ordinary, or has a name that no file can have.
    """
    if ordinary and not stat.S_ISREG(path.stat().st_mode):
        raise ValueError("a folder, a device or a pipe")
    with path.open("rb") as stream:
        data = stream.read(largest + 1)
    if len(data) > largest:
        raise ValueError(f"more than {largest / 1e6:g} MB")
    return data


def toml_fault(error: ValueError | RecursionError, content: str, file: str, *, place: str = "file") -> Fault:
    """What is wrong with a text that is not TOML, with the line where it is and what to do.

    Parameters
    ----------
    error : ValueError or RecursionError
        What reading it raised.
    content : str
        The text.
    file : str
        Name of the file, for the message.
    place : str, optional
        Place where no line is known.

    Returns
    -------
    Fault
        The fault.
    """
    message = str(error)
    if isinstance(error, RecursionError):
        message = "tables nested too deeply"
    elif not isinstance(error, tomllib.TOMLDecodeError):  # of Python's int(), which names no line
        message = "a whole number of too many digits"
    where = re.search(r" ?\(at (line (\d+), column \d+|end of document)\)", message)
    reason = message if where is None else message[: where.start()]
    line = content.split("\n")[int(where[2]) - 1].strip() if where is not None and where[2] else ""
    hint = f"{reason}."
    if re.match(r"[\w.-]{1,60}\s*=\s*[+-]?[\d.,]+\s*[a-zA-Zµμ%Ω°]", line):
        hint += " Put a value with a unit in quotes."
    elif re.match(r"[\w.-]{1,60}\s*=\s*(?!(true|false|inf|nan)\b)[A-Za-z]", line):
        hint += ' Text stands in quotation marks: name = "P".'
    elif table := re.fullmatch(r"\[\[?\s*(winding|join|test)\s*\]\]?", line):
        hint += f" Write every table [[{table[1]}]] in double brackets."
    elif re.search("[“”„‟″‘’]", line):
        hint += ' Write straight quotation marks ("), not typographic ones.'
    elif "'\\n'" in reason:
        hint += " Close the quotation marks on the line where they open."
    elif line.startswith("{") and not line.rstrip(",").endswith("}"):
        hint += " Write a table { … } on one line."
    elif where is not None and not where[2]:
        hint += " The text ends before what it began: is the file whole?"
    if where is None:
        return Fault(place, reason, "TOML", "", file)
    return Fault(where[1], repr(line[:80]) if line else reason, "TOML", hint, file)


def shown_name(path: Path) -> str:
    r"""Name of a file without its suffix, as a title: characters that no text may hold, and bytes that are no
    UTF-8, are written out (``\xff``).

    Parameters
    ----------
    path : Path
        The file.

    Returns
    -------
    str
        The name.
    """
    text = os.fsencode(path.stem).decode("utf-8", "backslashreplace")
    return _WRONG_IN_A_LINE.sub(lambda match: match[0].encode("unicode_escape").decode(), text)
