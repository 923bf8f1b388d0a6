"""``wire`` of a winding → Wire: its forms, each with its keys."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

from ...catalogue import BUILDS, GRADES, Catalogue, awg_diameter, insulated_diameter
from ...copper import lay_factor
from ...design import Wire
from ...winding import bundle_diameter
from ..grammar import (
    MOST_STRANDS,
    Key,
    ParsedTable,
    count,
    flag,
    key_place,
    number_parser,
    parse_table,
    quantity_parser,
    value_error,
    value_text,
)


def grade_number(value: object) -> int:
    """Grade of insulation of IEC 60317: 1, 2 or 3 (index)."""
    if isinstance(value, bool) or not isinstance(value, int) or value not in GRADES:
        raise value_error(value, "1, 2 or 3 (grades of IEC 60317)")
    return value


def grade_or_build(value: object) -> int | str:
    """Grade of insulation of IEC 60317 (index), or a build by name: "1B", "2B" (bonding layer), "triple"."""
    if isinstance(value, str) and (
        known := {name.lower(): name for name in BUILDS}.get(value.strip().lower())
    ):
        return known
    if isinstance(value, bool) or not isinstance(value, int) or value not in GRADES:
        raise value_error(
            value,
            '1, 2 or 3 (grades of IEC 60317), "1B" or "2B" (with a bonding layer), or "triple" (insulated)',
        )
    return value


_LENGTH = quantity_parser("length", positive=True)
_IN_HAND = {"in_hand": Key(count(1), default=1), "twisted": Key(flag, default=False)}
_SERVING = {"serving": Key(_LENGTH)}
_LAY = {"lay": Key(_LENGTH), "lay_factor": Key(number_parser(1.0, 1.5))}
LITZ_LAY, TWISTED_LAY = 1.05, 1.02
"""Lay factor of litz (bunched and cabled), and of wires in hand twisted into one bundle, if the file does not
state one (common practice, no source: strands of litz are 2 to 8 % longer than the wire)."""

MEANT = {
    "strands": "Strands of a litz are litz_strands; wires wound together as one turn are in_hand.",
    "strand_diameter": "The bare diameter of a litz's strands is strand.",
    "parallel": "Wires wound together as one turn are in_hand.",
    "gauge": "Did you mean 'awg'?",
    "outer": "The diameter over the insulation is overall.",
    "od": "The diameter over the insulation is overall.",
}
"""Keys that people write for others (common practice)."""

WIRE_FORMS: dict[str, dict[str, Key]] = {
    "litz_strands": {
        "litz_strands": Key(count(1, MOST_STRANDS), required=True),
        "strand": Key(_LENGTH, required=True),
        "overall": Key(_LENGTH),
        "strand_grade": Key(grade_number),
        **_SERVING,
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
        "grade": Key(grade_or_build, required=True),
        **_SERVING,
        **_IN_HAND,
        **_LAY,
    },
    "diameter": {
        "diameter": Key(_LENGTH, required=True),
        "grade": Key(grade_or_build),
        "overall": Key(_LENGTH),
        "triple": Key(flag, default=False),
        **_SERVING,
        **_IN_HAND,
        **_LAY,
    },
}
"""Keys of each form of wire, by the key that identifies the form."""

FORMS_TEXT = (
    "{ diameter, grade }, { awg, grade }, { diameter, overall }, "
    "{ litz_strands, strand, overall }, { litz_strands, strand, strand_grade }, { foil, width } "
    "or { trace, width, spacing }"
)


def read_wire(section: ParsedTable, catalogue: Catalogue | None) -> Wire | None:
    """Wire of the key ``wire`` of a winding, in the form that its keys identify.

    Parameters
    ----------
    section : ParsedTable
    catalogue : Catalogue or None

    Returns
    -------
    Wire or None, the wire, SI; None where it has faults
    """
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
            next((MEANT[key] for key in table if key in MEANT), ""),
        )
        return None
    before = len(faults.found)
    wire = parse_table(table, WIRE_FORMS[told[0]], place, faults, MEANT)
    if wire["twisted"] and wire["in_hand"] == 1 and "in_hand" not in wire.bad:
        wire.fault("twisted", "a bundle of one wire", "twisted only with in_hand of 2 or more")
    if "serving" in wire and not (told[0] == "litz_strands" or wire["twisted"]):
        wire.fault("serving", "a serving on wires that are no bundle", "litz, or twisted = true")
    if told == ["diameter"] and wire["triple"] and wire["overall"] is None:
        wire.fault("triple", "triple without overall", 'triple with a measured overall, or grade = "triple"')
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
    """The wire with its lay factor: as stated, of a helix of the stated lay, else usual."""
    told = [key for key in ("lay", "lay_factor") if section[key] is not None]
    if told and not wire.bundle:
        section.fault(told[0], f"{told[0]} of wires that are not twisted", "litz, or twisted = true")
    if len(told) == 2:
        section.fault("lay", "lay and lay_factor", "one of the two")
    if section["lay_factor"] is not None:
        return replace(wire, lay_factor=section["lay_factor"])
    if section["lay"] is not None:
        bare = replace(wire, serving=0.0)
        bundle = float(bundle_diameter(bare)) if wire.twisted else float(wire.overall)
        return replace(wire, lay_factor=float(lay_factor(bundle / 2, section["lay"])))
    usual = (LITZ_LAY if wire.litz else 1.0) * (TWISTED_LAY if wire.twisted else 1.0)
    return replace(wire, lay_factor=usual, lay_known=usual == 1.0)


def _common(wire: ParsedTable, stated: str) -> dict[str, Any]:
    """The fields that all forms share; the label as the user wrote it."""
    in_hand, twisted = wire["in_hand"], wire["twisted"]
    label = stated + (f", {in_hand} in hand" if in_hand > 1 else "") + (", twisted" if twisted else "")
    serving = 0.0
    if twisted and wire["serving"] is not None:
        serving, label = wire["serving"], f"{label}, served {wire.given['serving']}"
    return {"in_hand": in_hand, "twisted": twisted, "label": label, "serving": serving}


def _grade_text(grade: int | str) -> str:
    return "triple insulated" if grade == "triple" else f"grade {grade}"


LITZ_PACKING = 1.155
"""Diameter of litz without serving over √n strands' overall diameter: three quarters of the circle are
strands (makers' tables of bunched litz, from memory)."""


def _litz(wire: ParsedTable, catalogue: Catalogue | None) -> Wire | None:
    strands, strand, overall = wire["litz_strands"], wire["strand"], wire["overall"]
    measured = overall is not None
    if measured and (told := [key for key in ("strand_grade", "serving") if wire[key] is not None]):
        wire.fault(told[0], f"{told[0]} with overall", "one of the two: overall is measured over the serving")
        return None
    if not measured:
        if wire["strand_grade"] is None:
            wire.fault("overall", "nothing", "the measured overall diameter, or strand_grade (and serving)")
            return None
        if catalogue is None:
            return None
        with wire.faults.collect(wire.place.partition(":")[0]):
            strand_diameter = insulated_diameter(catalogue, strand, wire["strand_grade"])
            overall = float(LITZ_PACKING * strands**0.5 * strand_diameter + 2 * (wire["serving"] or 0.0))
        if overall is None:
            return None
    if strands * strand**2 > overall**2:
        least = strands**0.5 * strand
        wire.fault(
            "overall",
            value_text(wire.given.get("overall", overall)),
            f"more than {least * 1e3:.3g} mm, a circle of the copper area of {strands} strands",
        )
        return None
    given = wire.given
    covered = f", served {given['serving']}" if wire["serving"] is not None else ""
    size = f"{given['overall']} overall" if measured else f"grade {given['strand_grade']}{covered}"
    label = f"litz {strands} × {given['strand']}, {size}"
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
            triple=wire["grade"] == "triple",
            **_common(wire, f"AWG {wire['awg']}, {_grade_text(wire['grade'])}"),
        )
    return None


def _solid(wire: ParsedTable, catalogue: Catalogue | None) -> Wire | None:
    diameter, overall, grade = wire["diameter"], wire["overall"], wire["grade"]
    if (overall is None) == (grade is None):
        found = "grade and overall" if overall is not None else "neither grade nor overall"
        wire.fault(
            "grade",
            found,
            "one of the two: grade (1, 2 or 3 of IEC 60317, or a build) or the measured overall diameter",
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
            triple=wire["triple"],
            **_common(
                wire,
                f"{stated}, {wire.given['overall']} overall"
                + (", triple insulated" if wire["triple"] else ""),
            ),
        )
    if catalogue is None:
        return None
    with wire.faults.collect(wire.place.partition(":")[0]):
        return Wire(
            kind="round",
            diameter=diameter,
            overall=insulated_diameter(catalogue, diameter, grade),
            triple=grade == "triple",
            **_common(wire, f"{stated}, {_grade_text(grade)}"),
        )
    return None
