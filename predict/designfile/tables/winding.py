"""``[[winding]]`` of a design file → Winding."""

from __future__ import annotations

from collections.abc import Sequence

from ...catalogue import Catalogue
from ...design import Winding
from ...errors import Faults
from ..grammar import (
    MOST_STEPS,
    MOST_TURNS,
    Key,
    Table,
    count,
    entry_place,
    name,
    one_of,
    parse_table,
    quantity_parser,
    text,
    value_error,
)
from .wire import read_wire

LONGEST_LEADS = 10.0
"""Longest length of both lead-outs of a winding together (m); more is a slip (judged)."""


def _lead_length(value: object) -> float:
    """A length of at most ``LONGEST_LEADS``."""
    length: float = quantity_parser("length", nonnegative=True)(value)
    if length > LONGEST_LEADS:
        raise value_error(value, f"at most {LONGEST_LEADS:g} m, both lead-outs together")
    return length


WINDING_KEYS = {
    "name": Key(name, required=True),
    "wire": Key(lambda value: value, required=True),
    "sections": Key(one_of("series", "parallel"), default="series"),
    "total_turns": Key(count(1, MOST_STEPS * MOST_TURNS)),
    "circuit": Key(text),
    "start": Key(text, default=""),
    "finish": Key(text, default=""),
    "turning": Key(one_of("cw", "ccw"), default="cw"),
    "lead_length": Key(_lead_length, default=0.0),
    "metal": Key(one_of("copper", "aluminium"), default="copper"),
    "sleeving": Key(text, default=""),
    "note": Key(text, default=""),
}


def read_windings(
    tables: Sequence[Table], catalogue: Catalogue | None, faults: Faults
) -> list[Winding | None]:
    """Windings of the file, in order. Names must be unique.

    Parameters
    ----------
    tables : Sequence[Table], the raw tables of the file
    catalogue : Catalogue or None, cores, wires and materials
    faults : Faults, receives every fault that is found

    Returns
    -------
    list[Winding or None], one winding per table, SI; None for one with faults
    """
    seen: set[str] = set()
    result: list[Winding | None] = []
    for ordinal, table in enumerate(tables, start=1):
        before = len(faults.found)
        section = parse_table(table, WINDING_KEYS, entry_place("winding", table, ordinal), faults)
        stated = section["name"]
        if stated is not None and stated in seen:
            section.fault("name", f"{stated!r} a second time", "each name once")
        seen.add(stated)
        if section["sections"] == "parallel" and "total_turns" in section:
            section.fault(
                "total_turns", "total_turns of sections in parallel", "a checksum of sections in series only"
            )
        wire = read_wire(section, catalogue) if "wire" in section else None
        circuit = section["circuit"] or stated
        bad = wire is None or len(faults.found) > before
        result.append(None if bad else section.made(Winding, wire=wire, circuit=circuit))
    return result
