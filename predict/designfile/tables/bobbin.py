"""``[bobbin]`` of a design file → Bobbin."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ...design import Bobbin, Dimensions, Winding
from ...errors import Faults
from ..grammar import (
    Key,
    ParsedTable,
    Table,
    count,
    number_parser,
    parse_table,
    quantity_parser,
    value_error,
    value_text,
)


def chambers(value: object) -> int | tuple[float, ...]:
    """Number of equal chambers (count), or the breadth of each from the lower flange upwards, m."""
    if isinstance(value, list):
        if not value:
            raise value_error(value, "a count of equal chambers, or a list of their breadths")
        breadth = quantity_parser("length", positive=True)
        return tuple(breadth(item) for item in value)
    if isinstance(value, str):
        raise value_error(
            value, "a count of equal chambers, or a list of their breadths such as ['8 mm', '6 mm']"
        )
    result: int = count(1)(value)
    return result


BOBBIN_KEYS = {
    "wall": Key(quantity_parser("length", nonnegative=True), default=0.0),
    "flange": Key(quantity_parser("length", nonnegative=True), default=0.0),
    "permittivity": Key(number_parser(1.0), default=4.0),
    "chambers": Key(chambers, default=1),
    "partition": Key(quantity_parser("length", nonnegative=True), default=0.0),
    "partition_height": Key(quantity_parser("length", positive=True)),
    "pins": Key(count(1)),
}


def read_bobbin(table: Table, faults: Faults, dimensions: Dimensions | None = None) -> Bobbin | None:
    """Bobbin of the table ``[bobbin]``, SI; None if there are faults.

    Parameters
    ----------
    table : Table, the raw table of the file
    faults : Faults, receives every fault that is found
    dimensions : Dimensions or None, optional
        Dimensions of the core if they could be read: a toroid has no flange and no chambers.
    """
    before = len(faults.found)
    section = parse_table(table, BOBBIN_KEYS, "bobbin", faults)
    if dimensions is not None and dimensions.ring:
        if section["flange"]:
            section.fault(
                "flange",
                value_text(table["flange"]),
                "no flange on a toroid; wall is its coating on all faces",
            )
        for key in ("chambers", "partition", "partition_height"):
            if key in table and table[key] != 1:
                section.fault(
                    key, value_text(table[key]), "no chambers on a toroid; a step may cover a sector"
                )
    stated = section["chambers"]
    number = stated if isinstance(stated, int) else len(stated)
    for key in ("partition", "partition_height"):
        if key in table and number == 1 and "chambers" not in section.bad:
            section.fault(key, value_text(table[key]), "a partition only between two or more chambers")
    _check_partition(section, table, dimensions)
    if len(faults.found) > before:
        return None
    breadths = stated if isinstance(stated, tuple) else ()
    return section.made(Bobbin, chamber_count=number, chambers=breadths)


def _check_partition(section: ParsedTable, table: Table, dimensions: Dimensions | None) -> None:
    """A partition ends within the window: the creepage over its top is no longer than the window allows."""
    height = section["partition_height"]
    if height is None or dimensions is None or dimensions.ring or {"partition_height", "wall"} & section.bad:
        return
    room = dimensions.window[0] - float(section["wall"])
    if float(height) > room:
        section.fault(
            "partition_height",
            value_text(table["partition_height"]),
            f"at most {room * 1e3:.3g} mm, from the bobbin's wall to the end of the window",
        )


def check_pins(bobbin: Bobbin, windings: Sequence[Winding], faults: Faults) -> None:
    """Check that the windings name no more pins than the bobbin has.

    Parameters
    ----------
    bobbin : Bobbin, the bobbin
    windings : Sequence[Winding], the windings
    faults : Faults, receives every fault that is found
    """
    named = {pin for winding in windings for pin in (winding.start, winding.finish) if pin}
    if bobbin.pins is not None and len(named) > bobbin.pins:
        faults.add(
            "bobbin: pins",
            str(bobbin.pins),
            f"at least {len(named)}: the windings start and finish at {', '.join(sorted(named))}",
        )


def pin_cautions(windings: Sequence[Winding]) -> list[str]:
    """Pins that short a winding, or that join circuits which the file keeps apart.

    Parameters
    ----------
    windings : Sequence[Winding]
        The windings.
    """
    at: dict[str, list[Winding]] = {}
    for winding in windings:
        for pin in dict.fromkeys((winding.start, winding.finish)):
            if pin:
                at.setdefault(pin, []).append(winding)
    cautions = [
        f"{winding.name} starts and finishes at pin {winding.start}, which shorts it: one of them is a slip."
        for winding in windings
        if winding.start and winding.start == winding.finish
    ]
    for pin, there in at.items():
        if len({winding.circuit or winding.name for winding in there}) > 1:
            names = " and ".join(winding.name for winding in there)
            cautions.append(
                f"Pin {pin} joins {names}, which are circuits apart: one of these pins is a slip, or give "
                "the windings one circuit."
            )
    return cautions


def bobbin_cautions(table: Table, bobbin: Bobbin, dimensions: Dimensions) -> list[str]:
    """Assumptions about a bobbin that the file does not describe, and room that its chambers leave.

    Parameters
    ----------
    table : Table, the table ``[bobbin]``
    bobbin : Bobbin, the bobbin
    dimensions : Dimensions of the core
    """
    if dimensions is not None and dimensions.ring:
        needed = ["wall"]
    else:
        needed = ["wall", "flange"] + (["partition"] if bobbin.chamber_count > 1 else [])
    cautions = [f"bobbin.{key} is not given: taken as 0." for key in needed if key not in table]
    if bobbin.chambers and not dimensions.ring:
        _, height = dimensions.window
        walls = (len(bobbin.chambers) - 1) * float(np.asarray(bobbin.partition))
        left = height - 2 * float(np.asarray(bobbin.flange)) - walls - sum(bobbin.chambers)
        if left > 1e-6:
            cautions.append(
                f"bobbin.chambers: the chambers and partitions leave {left * 1e3:.3f} mm of the room between "
                "the flanges, above the last one."
            )
    return cautions
