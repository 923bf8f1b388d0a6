"""The text of a design file with a new ``[calibration]``; everything else stays as it was written."""

from __future__ import annotations

import re
import tomllib

from ..errors import DesignError, Fault

_HEADER = re.compile(r"\s*\[+\s*([^\]\s]+)\s*\]+\s*(#.*)?$")


def with_calibration(text: str, section: str, *, name: str = "") -> str:
    """Text of a design file with ``section`` in place of its [calibration], or at its end if it has none.

    Comments and order stay. The result is read again and must hold the same tables, apart from the
    calibration.

    Parameters
    ----------
    text : str
        Text of the design file.
    section : str
        Text of the table [calibration].
    name : str, optional
        Name of the file, for messages.

    Raises
    ------
    DesignError
        The section cannot be replaced in this way: it is written as dotted keys or as an inline table, or a
        line inside a multi-line string looks like a header.
    """
    ending = "\r\n" if "\r\n" in text else "\n"
    kept, inside = [], False
    for line in text.splitlines():
        header = _HEADER.match(line)
        if header:
            inside = header[1].split(".")[0].strip("\"'") == "calibration"
        if not inside:
            kept.append(line)
        elif line.lstrip().startswith("#"):
            # A comment after the section belongs to what follows it.
            kept.append(line)
    while kept and not kept[-1].strip():
        kept.pop()
    result = ending.join([*kept, "", *section.rstrip("\n").splitlines(), ""])
    if not _same(text, result, section):
        raise DesignError(
            Fault(
                "calibration",
                "a section that cannot be replaced in the text without touching the rest",
                "a table of its own, headed [calibration]",
                "Take it out by hand, then run this again.",
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
