"""Faults as they are said: one that repeats from row to row is said once, with its rows."""

from __future__ import annotations

import re
from collections.abc import Sequence

from ...predict.errors import Fault

REPEATED = 3
"""Rows from which a fault that is the same in each is said once."""
_SHOWN = 3
_PLACE = re.compile(r"line (\d+)(.*)", re.DOTALL)


def said_once(faults: Sequence[Fault]) -> list[Fault]:
    """The faults in their order; those of ``REPEATED`` rows and more that differ by the row and by what was
    found alone become one, at the place of the first: "rows 2–23, reading"."""
    groups: dict[tuple[str, str, str, str], list[tuple[int, Fault]]] = {}
    result: list[tuple[str, str, str, str] | Fault] = []
    for fault in faults:
        matched = _PLACE.fullmatch(fault.place)
        if matched is None:
            result.append(fault)
            continue
        key = (fault.file, matched[2], fault.allowed, fault.hint)
        if key not in groups:
            result.append(key)
        groups.setdefault(key, []).append((int(matched[1]), fault))
    said: list[Fault] = []
    for item in result:
        if isinstance(item, Fault):
            said.append(item)
        elif len(groups[item]) < REPEATED:
            said += [fault for _, fault in groups[item]]
        else:
            said.append(_as_one(item, groups[item]))
    return said


def _as_one(key: tuple[str, str, str, str], group: Sequence[tuple[int, Fault]]) -> Fault:
    file, column, allowed, hint = key
    found = list(dict.fromkeys(fault.found for _, fault in group))
    more = f" and {len(found) - _SHOWN} more" if len(found) > _SHOWN else ""
    place = f"rows {_rows([line for line, _ in group])}{column}"
    return Fault(place, ", ".join(found[:_SHOWN]) + more, allowed, hint, file)


def _rows(lines: Sequence[int]) -> str:
    """Numbers of lines with their runs drawn together: "2–23", "2–5, 9"."""
    runs: list[list[int]] = []
    for line in sorted(set(lines)):
        if runs and line == runs[-1][1] + 1:
            runs[-1][1] = line
        else:
            runs.append([line, line])
    return ", ".join(str(first) if first == last else f"{first}\N{EN DASH}{last}" for first, last in runs)
