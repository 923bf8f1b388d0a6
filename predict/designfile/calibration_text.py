"""The text of a design file with another ``[calibration]``: everything else stays as it was written."""

from __future__ import annotations

import re
import tomllib

from ..errors import DesignError, Fault

_HEADER = re.compile(r"\s*\[+\s*([^\]\s]+)\s*\]+\s*(#.*)?$")


def with_calibration(text: str, section: str, *, name: str = "") -> str:
    """``text`` with ``section`` (a table [calibration]) in place of the one it has, else at its end.

    Comments and order stay. The result is read again and must hold the same tables, apart from the
    calibration: DesignError where the section cannot be replaced so (written as dotted keys or an inline
    table, or such a line inside a text of several lines). name : the file's, for that message.
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
            # A comment behind the section belongs to what follows it.
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
