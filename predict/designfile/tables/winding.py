"""``[[winding]]`` of a design file → Winding, Wire."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any

from ...catalogue import GRADES, Catalogue, awg_diameter, insulated_diameter
from ...copper import lay_factor
from ...design import Winding, Wire
from ...errors import Faults
from ...winding import bundle_factor
from ..grammar import (
    MOST_STEPS,
    MOST_STRANDS,
    MOST_TURNS,
    Key,
    ParsedTable,
    Table,
    count,
    entry_place,
    flag,
    key_place,
    name,
    number_parser,
    one_of,
    parse_table,
    quantity_parser,
    text,
    value_error,
    value_text,
)

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


def grade_number(value: object) -> int:
    """Grade of insulation of IEC 60317: 1, 2 or 3 (index)."""
    if isinstance(value, bool) or not isinstance(value, int) or value not in GRADES:
        raise value_error(value, "1, 2 or 3 (grades of IEC 60317)")
    return value


_LENGTH = quantity_parser("length", positive=True)
_IN_HAND = {"in_hand": Key(count(1), default=1), "twisted": Key(flag, default=False)}
_LAY = {"lay": Key(_LENGTH), "lay_factor": Key(number_parser(1.0, 1.5))}
LITZ_LAY, TWISTED_LAY = 1.05, 1.02
"""Lay factor of litz (bunched and cabled), and of wires in hand twisted into one bundle, if the file does not
state one (common practice, no source: strands of litz are 2 to 8 % longer than the wire)."""

WIRE_FORMS: dict[str, dict[str, Key]] = {
    "litz_strands": {
        "litz_strands": Key(count(1, MOST_STRANDS), required=True),
        "strand": Key(_LENGTH, required=True),
        "overall": Key(_LENGTH, required=True),
        **_IN_HAND,
        **_LAY,
    },
    "foil": {"foil": Key(_LENGTH, required=True), "width": Key(_LENGTH, required=True), **_IN_HAND},
    "trace": {
        "trace": Key(_LENGTH, required=True),
        "width": Key(_LENGTH, required=True),
        "spacing": Key(_LENGTH, required=True),
        **_IN_HAND,
    },
    "awg": {
        "awg": Key(count(0), required=True),
        "grade": Key(grade_number, required=True),
        **_IN_HAND,
        **_LAY,
    },
    "diameter": {
        "diameter": Key(_LENGTH, required=True),
        "grade": Key(grade_number),
        "overall": Key(_LENGTH),
        **_IN_HAND,
        **_LAY,
    },
}
"""Keys of each form of wire, by the key that identifies the form."""

FORMS_TEXT = (
    "{ diameter, grade }, { awg, grade }, { diameter, overall }, "
    "{ litz_strands, strand, overall }, { foil, width } or { trace, width, spacing }"
)


def read_windings(
    tables: Sequence[Table], catalogue: Catalogue | None, faults: Faults
) -> list[Winding | None]:
    """Windings of the file, in order. Names must be unique.

    Parameters
    ----------
    tables : Sequence[Table]
        The raw tables of the file.
    catalogue : Catalogue or None
        Cores, wires and materials.
    faults : Faults
        Receives every fault that is found.

    Returns
    -------
    list[Winding or None]
        One winding per table, SI; None for one with faults.
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
        wire = _wire(section, catalogue) if "wire" in section else None
        result.append(None if wire is None or len(faults.found) > before else _winding(section, wire))
    return result


def _winding(section: ParsedTable, wire: Wire) -> Winding:
    return Winding(
        name=section["name"],
        wire=wire,
        sections=section["sections"],
        total_turns=section["total_turns"],
        circuit=section["circuit"] if section["circuit"] else section["name"],
        start=section["start"],
        finish=section["finish"],
        turning=section["turning"],
        lead_length=section["lead_length"],
        metal=section["metal"],
        sleeving=section["sleeving"],
        note=section["note"],
    )


# --- wire ------------------------------------------------------------------------------------------


def _wire(section: ParsedTable, catalogue: Catalogue | None) -> Wire | None:
    """Wire of the key ``wire``, in the form that its keys identify."""
    faults, place, table = section.faults, key_place(section.place, "wire"), section["wire"]
    if not isinstance(table, dict):
        section.fault("wire", value_text(table), f"a table: {FORMS_TEXT}")
        return None
    told = [form for form in WIRE_FORMS if form in table]
    if len(told) != 1:
        section.fault(
            "wire",
            " and ".join(told) if told else f"the keys {', '.join(table) or 'of no form'}",
            f"one of {FORMS_TEXT}",
        )
        return None
    before = len(faults.found)
    wire = parse_table(table, WIRE_FORMS[told[0]], place, faults)
    if wire["twisted"] and wire["in_hand"] == 1 and "in_hand" not in wire.bad:
        wire.fault("twisted", "a bundle of one wire", "twisted only with in_hand of 2 or more")
    builders: dict[str, Callable[[ParsedTable, Catalogue | None], Wire | None]] = {
        "litz_strands": _litz,
        "foil": _foil,
        "trace": _track,
        "awg": _graded,
        "diameter": _solid,
    }
    built = builders[told[0]](wire, catalogue) if len(faults.found) == before else None
    if built is not None and built.kind not in ("foil", "track"):
        built = _laid(wire, built)
    return built if len(faults.found) == before else None


def _laid(section: ParsedTable, wire: Wire) -> Wire:
    """The wire with its lay factor: as stated, that of a helix of the stated lay, or the usual one."""
    told = [key for key in ("lay", "lay_factor") if section[key] is not None]
    if told and not wire.bundle:
        section.fault(told[0], f"{told[0]} of wires that are not twisted", "litz, or twisted = true")
    if len(told) == 2:
        section.fault("lay", "lay and lay_factor", "one of the two")
    if section["lay_factor"] is not None:
        return replace(wire, lay_factor=section["lay_factor"])
    if section["lay"] is not None:
        bundle = float(wire.overall) * (bundle_factor(wire.in_hand) if wire.twisted else 1.0)
        return replace(wire, lay_factor=float(lay_factor(bundle / 2, section["lay"])))
    usual = (LITZ_LAY if wire.litz else 1.0) * (TWISTED_LAY if wire.twisted else 1.0)
    return replace(wire, lay_factor=usual, lay_known=usual == 1.0)


def _common(wire: ParsedTable, stated: str) -> dict[str, Any]:
    """The fields that all forms share; the label as the user wrote it."""
    in_hand, twisted = wire["in_hand"], wire["twisted"]
    label = stated + (f", {in_hand} in hand" if in_hand > 1 else "") + (", twisted" if twisted else "")
    return {"in_hand": in_hand, "twisted": twisted, "label": label}


def _litz(wire: ParsedTable, _: Catalogue | None) -> Wire | None:
    strands, strand, overall = wire["litz_strands"], wire["strand"], wire["overall"]
    if strands * strand**2 > overall**2:
        least = strands**0.5 * strand
        wire.fault(
            "overall",
            value_text(wire.given["overall"]),
            f"more than {least * 1e3:.3g} mm, a circle of the copper area of {strands} strands",
        )
        return None
    given = wire.given
    label = f"litz {strands} × {given['strand']}, {given['overall']} overall"
    return Wire(kind="litz", diameter=strand, overall=overall, strands=strands, **_common(wire, label))


def _foil(wire: ParsedTable, _: Catalogue | None) -> Wire | None:
    if wire["twisted"]:
        wire.fault("twisted", "a twisted foil", "no twisted with foil")
        return None
    label = f"foil {wire.given['foil']} × {wire.given['width']}"
    return Wire(
        kind="foil", diameter=0.0, overall=wire["foil"], foil_width=wire["width"], **_common(wire, label)
    )


def _track(wire: ParsedTable, _: Catalogue | None) -> Wire | None:
    if wire["twisted"]:
        wire.fault("twisted", "twisted tracks", "no twisted with a board's tracks")
        return None
    given = wire.given
    label = f"track {given['trace']} × {given['width']}, {given['spacing']} apart"
    return Wire(
        kind="track",
        diameter=0.0,
        overall=wire["trace"],
        foil_width=wire["width"],
        spacing=wire["spacing"],
        **_common(wire, label),
    )


def _graded(wire: ParsedTable, catalogue: Catalogue | None) -> Wire | None:
    with wire.faults.collect(wire.place.partition(":")[0]):
        diameter = awg_diameter(wire["awg"])
        if catalogue is None:
            return None
        overall = insulated_diameter(catalogue, diameter, wire["grade"])
        return Wire(
            kind="round",
            diameter=diameter,
            overall=overall,
            **_common(wire, f"AWG {wire['awg']}, grade {wire['grade']}"),
        )
    return None


def _solid(wire: ParsedTable, catalogue: Catalogue | None) -> Wire | None:
    diameter, overall, grade = wire["diameter"], wire["overall"], wire["grade"]
    if (overall is None) == (grade is None):
        found = "grade and overall" if overall is not None else "neither grade nor overall"
        wire.fault(
            "grade", found, "one of the two: grade (1, 2 or 3 of IEC 60317) or the measured overall diameter"
        )
        return None
    stated = wire.given["diameter"]
    if overall is not None:
        if overall <= diameter:
            wire.fault("overall", value_text(wire.given["overall"]), f"more than the bare diameter, {stated}")
            return None
        return Wire(
            kind="round",
            diameter=diameter,
            overall=overall,
            **_common(wire, f"{stated}, {wire.given['overall']} overall"),
        )
    if catalogue is None:
        return None
    with wire.faults.collect(wire.place.partition(":")[0]):
        return Wire(
            kind="round",
            diameter=diameter,
            overall=insulated_diameter(catalogue, diameter, grade),
            **_common(wire, f"{stated}, grade {grade}"),
        )
    return None
