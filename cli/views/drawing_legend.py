"""What both drawings say beside the picture: a mark for every winding, a line for every layer."""

from __future__ import annotations

import math
import string
from collections.abc import Sequence
from dataclasses import dataclass

from ...predict.winding import X0, X1, Y0, Y1, CrossSection, Section

KINDS = {
    "core": "core",
    "bobbin": "bobbin",
    "tape": "tape",
    "spacer": "spacer",
    "margin": "margin tape",
    "shield": "shield",
}
"""What a piece that is no winding is called."""


NO_LAYERS = "-"
"""What stands in place of a layer's number for turns without order."""


@dataclass(frozen=True, kw_only=True)
class Entry:
    """One line of the legend: a layer, all layers of a step, or turns without order.

    Attributes
    ----------
    name : str, name of the winding or shield
    step : int, build step, index from 1
    layers : str, numbers of its layers, as text
    turns : int, turns, count
    stack : tuple[float, float] (2,), from where to where on the axis on which layers stack, m
    along : tuple[float, float] (2,), from where to where along the layer, m
    angles : tuple[float, float] (2,) or None, from where to where on a ring, rad; None: all round
    leg : int, leg of a U core, 1 or 2, index
    """

    name: str
    step: int
    layers: str
    turns: int
    stack: tuple[float, float]
    along: tuple[float, float]
    angles: tuple[float, float] | None
    leg: int


def piece_names(section: CrossSection) -> dict[str, str]:
    """What the kinds of piece that the drawing holds are called, windings left out."""
    found = {piece.kind for piece in section.pieces}
    names = KINDS | ({"core": "ring", "bobbin": "coating"} if section.ring else {})
    if section.flat:
        names["margin"] = "margin"
    return {kind: name for kind, name in names.items() if kind in found}


def marks(section: CrossSection) -> dict[str, str]:
    """A capital letter or a digit for every winding: its name's first, else a digit of it, where free."""
    result: dict[str, str] = {}
    spare = [*string.ascii_uppercase, *string.digits]
    for winding in section.design.windings:
        letters = [letter for letter in winding.name.upper() if letter in spare]
        letters = [*letters[:1], *(letter for letter in letters if letter.isdigit()), *letters[1:]]
        free = [letter for letter in [*letters, *spare] if letter not in result.values()]
        result[winding.name] = free[0] if free else "?"
    return result


def entries(section: CrossSection, *, most: int) -> list[Entry]:
    """The legend: one line for each layer, or, if these are too many, for each step and winding.

    Parameters
    ----------
    section : CrossSection, what is drawn
    most : int, lines that have room, count
    """
    layout = section.layout
    present = [index for index in range(len(layout.sections)) if layout.turns[0, index] > 0]
    rows: list[list[int]] = []
    for index in present:
        if rows and one_body(layout.sections[rows[-1][-1]], layout.sections[index]):
            rows[-1].append(index)
        else:
            rows.append([index])
    if len(rows) <= most:
        return [_entry(section, members) for members in rows]
    groups: dict[tuple[int, str], list[int]] = {}
    for index in present:
        wound = layout.sections[index]
        groups.setdefault((wound.step, wound.winding), []).append(index)
    return [_entry(section, members) for members in groups.values()]


def one_body(before: Section, wound: Section) -> bool:
    """Whether two neighbours are slices of the same turns without order, which have no layers.

    Parameters
    ----------
    before : Section, the first
    wound : Section, the next one
    """
    return wound.scramble and (before.step, before.winding) == (wound.step, wound.winding)


def _entry(section: CrossSection, members: Sequence[int]) -> Entry:
    layout = section.layout
    first, last = layout.sections[members[0]], layout.sections[members[-1]]
    boxes = layout.extent[0, list(members)]
    across = (float(boxes[:, X0].min()), float(boxes[:, X1].max()))
    along = (float(boxes[:, Y0].min()), float(boxes[:, Y1].max()))
    angles = None
    if section.ring and first.sector is not None:
        angles = (first.from_angle, first.from_angle + first.sector)
    layers = str(first.layer + 1) if len(members) == 1 else f"{first.layer + 1}-{last.layer + 1}"
    if first.scramble:
        layers = NO_LAYERS
    return Entry(
        name=first.winding,
        step=first.step + 1,
        layers="" if first.shield else layers,
        turns=int(sum(layout.turns[0, index] for index in members)),
        stack=along if section.flat else across,
        along=across if section.flat else along,
        angles=angles,
        leg=first.leg,
    )


def along_text(section: CrossSection, entry: Entry) -> str:
    """Where a layer runs: millimetres along it, degrees on a ring.

    Parameters
    ----------
    section : CrossSection, what is drawn
    entry : Entry, line of the legend
    """
    if not section.ring:
        return f"{entry.along[0] * 1e3:.2f}-{entry.along[1] * 1e3:.2f}"
    if entry.angles is None:
        return "all round"
    start, end = (math.degrees(angle) % 360 for angle in entry.angles)
    return f"{start:.0f}-{end:.0f} deg"


def ampere_turns_text(value: float) -> str:
    """Ampere-turns with four digits; large ones whole, not as a power of ten."""
    if value == 0:
        return "0"
    return f"{value:.0f}" if abs(value) >= 1000 else f"{value:.4g}"


def ticks(low: float, high: float, most: int) -> list[float]:
    """Round values (1, 2, 5 times a power of ten) between two limits.

    Parameters
    ----------
    low : float, lower limit, in any unit
    high : float, upper limit, in the same unit
    most : int, about so many at most, count

    Returns
    -------
    list[float], the values, in that unit, rising
    """
    span = high - low
    if span <= 0:
        return [low]
    raw = span / max(most, 1)
    power = 10.0 ** math.floor(math.log10(raw))
    step = next(factor * power for factor in (1, 2, 5, 10) if factor * power >= raw * (1 - 1e-9))
    first = math.ceil(low / step - 1e-9)
    return [index * step for index in range(first, math.floor(high / step + 1e-9) + 1)]


def gap_text(section: CrossSection) -> str:
    """The gap in words, or ""."""
    core = section.design.core
    gap = float(core.gap) if isinstance(core.gap, int | float) else float(core.gap[0])
    if gap <= 0:
        return ""
    where = ", half in each leg" if core.gap_legs == "spacer" else f", at the leg's {core.gap_at}"
    if section.ring:
        where = "" if core.gap_angle is None else f", at {math.degrees(core.gap_angle):.0f}°"
    return f"gap {gap * 1e3:.3g} mm in total{where}"
