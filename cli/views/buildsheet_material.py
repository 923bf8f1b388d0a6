"""The build sheet's wire to cut and its material: words, table rows and CSV."""

from __future__ import annotations

import csv
import io
import math

from ...predict.design import Design
from ...predict.shop import BillLine, Cut, bill_of_material, reserve_of, tail_of, wire_cuts

COLUMNS = (
    "kind",
    "item",
    "used_for",
    "pieces",
    "length_m",
    "width_mm",
    "mass_g",
    "lot",
    "lot_pieces",
    "lot_length_m",
    "lot_mass_kg",
)
"""Columns of the bill as CSV, for one part and for the lot."""


FROM_THE_REEL = 20.0
"""Wire longer than this (m) is not cut beforehand but wound from its reel (judged; words, no number)."""
MASSES = (
    "Lengths include tails and reserve. Masses include the metal and the insulation of round wire; for "
    "litz the metal only."
)


def cut_text(cut: Cut) -> str:
    """ "P, section 1 of 2: cut 3 pieces of 1.32 m (3.95 m)"; lengths rounded up to the centimetre."""
    part = f", section {cut.section} of {cut.sections}" if cut.sections > 1 else ""
    each = f"{_up(cut.length):.2f} m"
    if cut.length > FROM_THE_REEL:
        several = f"{cut.pieces} reels of " if cut.pieces > 1 else ""
        hand = " each, wound in hand" if cut.pieces > 1 else ""
        return f"{cut.winding}{part}: from {several or 'the reel, '}{each}{hand}"
    if cut.pieces == 1:
        return f"{cut.winding}{part}: cut 1 piece of {each}"
    return f"{cut.winding}{part}: cut {cut.pieces} pieces of {each}, wound in hand"


def _up(metres: float) -> float:
    """Rounded up to the next centimetre."""
    return math.ceil(metres * 100 - 1e-9) / 100


def cutting_note(design: Design) -> str:
    """What is in the lengths: reserve, tails, leads; and what is not in the file."""
    if not wire_cuts(design):
        return "None: all windings are tracks."
    stated = "" if design.build.tail is not None else " (none in the file: common practice)"
    text = (
        f"In each length: {100 * reserve_of(design):.3g} % of reserve on the turns and a tail of "
        f"{tail_of(design) * 1e3:.4g} mm at each end{stated}."
    )
    leads = [w for w in design.windings if w.lead_length > 0]
    if leads:
        told = ", ".join(f"{w.name} {w.lead_length * 1e3:.4g} mm" for w in leads)
        text += f" In place of the tails at start and finish, both together: {told}."
    if any(cut.sections > 1 for cut in wire_cuts(design)):
        text += " Sections are cut one by one and joined."
    return text


def material_heads(lot: int) -> list[str]:
    """Heads of the table of material."""
    return ["what", "for", "one part", *([f"{lot} parts"] if lot > 1 else [])]


def material_rows(design: Design, lot: int) -> list[list[str]]:
    """The bill of material in words, one row for each item.

    Parameters
    ----------
    design : Design
    lot : int, parts to count material for, count
    """
    rows = []
    for item in bill_of_material(design):
        width = "" if item.width is None else f", {item.width * 1e3:.4g} mm wide"
        width = "" if item.kind == "wire" else width  # a foil's own name has its width
        row = [f"{item.what}{width}", item.used_for, _amount(item, 1)]
        rows.append([*row, _amount(item, lot)] if lot > 1 else row)
    return rows


def _amount(item: BillLine, parts: int) -> str:
    if item.kind in ("core", "bobbin", "spacer", "tracks"):
        return str(parts * item.pieces)
    if item.length is None:
        return "as laid"
    length = f"{_up(parts * item.length):.2f} m"
    if item.mass is None:
        return length
    grams = parts * item.mass * 1e3
    return f"{length}, {grams:.3g} g" if grams < 1000 else f"{length}, {grams / 1e3:.3g} kg"


def material_csv(design: Design, lot: int) -> str:
    """The bill of material as CSV: one line for each item, for one part and for the lot; empty where nothing
    is known.

    Parameters
    ----------
    design : Design
    lot : int, parts to count material for, count
    """

    def number(value: float | None, scale: float = 1.0) -> str:
        return "" if value is None else f"{value * scale:.6g}"

    text = io.StringIO()
    out = csv.writer(text, lineterminator="\n")
    out.writerow(COLUMNS)
    for item in bill_of_material(design):
        lots = None if item.length is None else lot * item.length
        mass = None if item.mass is None else lot * item.mass
        out.writerow(
            [
                *(item.kind, item.what, item.used_for, item.pieces, number(item.length)),
                *(number(item.width, 1e3), number(item.mass, 1e3), lot, lot * item.pieces),
                *(number(lots), number(mass)),
            ]
        )
    return text.getvalue()
