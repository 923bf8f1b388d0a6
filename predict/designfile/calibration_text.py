"""The text of a design file with a new ``[calibration]``; everything else stays as it was written."""

from __future__ import annotations

import tomllib

from ..errors import DesignError, Fault
from .toml_edits import line_ending, without_table


def with_calibration(text: str, section: str, *, name: str = "") -> str:
    """Text of a design file with ``section`` in place of its [calibration], or at its end if it has none.

    Comments and order stay. The result is read again and must hold the same tables, apart from the
    calibration.

    Parameters
    ----------
    text : str, of the design file
    section : str, text of the table [calibration]
    name : str, optional, of the file, for messages

    Raises
    ------
    DesignError
        The text is no TOML.
    """
    ending = line_ending(text)
    try:
        kept = without_table(text, "calibration").split("\n")
    except ValueError:
        kept = text.split("\n")
    while kept and not kept[-1].strip():
        kept.pop()
    result = ending.join(
        [*(line.removesuffix("\r") for line in kept), "", *section.rstrip("\n").splitlines(), ""]
    )
    if not _same(text, result, section):
        raise DesignError(
            Fault(
                "calibration",
                "a text that cannot be changed without touching the rest",
                "a design file (TOML)",
                "Take the section out by hand, then run this again.",
                name,
            )
        )
    return result


def _same(before: str, after: str, section: str) -> bool:
    try:
        old, new = tomllib.loads(before), tomllib.loads(after)
    except tomllib.TOMLDecodeError:
        return False
    old.pop("calibration", None)
    return new.pop("calibration", None) == tomllib.loads(section)["calibration"] and old == new
