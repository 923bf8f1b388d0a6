"""The same lead resistance in every direct-current reading: two wires where four were meant.

    equal offsets               R_i − R_i(drawn) = r for every winding, and not R_i ∝ R_i(drawn)
    resistances in series       Σ R_i − R(in series) = (k − 1) r for k windings read one by one and together

The first uses the drawn resistances of the design: if the windings' resistances differ, a common offset is
not a common factor (temperature, turn length). Three models are fitted to the differences d_i by weighted
least squares,

    χ²(M) = Σ ((d_i − M_i)/u_i)²,     M: nothing; r; s R_i(drawn);      u_i² = u_meter² + (COPPER R_i)²

The score is √(best of the others − χ²(r)), with the sign of r. The check is broken if r > 0, every d_i
lies within 3 u_i of r, the windings show it even without the most precise of them, and the score is above
3. A single winding that reads high is no sign of leads. The second check needs no design. Source: circuit
theory; the allowance is common practice.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from .part import BROKEN, Check, PartReading, PartReadings, check_of, rounded, single_name

COPPER = 0.02
"""Standard relative allowance of a winding's drawn resistance: wire, turn length (common practice)."""
UNLIKE = 1.5
"""Offset and factor can be told apart from this ratio of the largest to the smallest drawn resistance on
(judged; no data behind it)."""
BACKED = 2.0
"""The windings other than the most precise one must show the offset by at least this many standard
uncertainties (common practice: two standard uncertainties)."""
MEANING = (
    "the leads' own resistance is in every direct-current reading (two wires). Read on four wires, or zero "
    "the leads"
)


def equal_offsets(readings: PartReadings) -> Iterator[Check]:
    """At most one check, of direct-current readings of single windings whose drawn resistance is known."""
    items = [item for item in readings.of("resistance") if single_name(item.test.drive) in readings.drawn]
    if len({single_name(item.test.drive) for item in items}) < 2:
        return
    drawn = np.array([readings.drawn[single_name(item.test.drive)] for item in items])
    if drawn.min() <= 0 or drawn.max() < UNLIKE * drawn.min():
        return
    away = np.array([item.value for item in items]) - drawn
    doubt = np.hypot([item.uncertainty for item in items], COPPER * drawn)
    if np.any(doubt <= 0):
        return
    offset, of_offset = _fitted(away, np.ones_like(drawn), doubt)
    _, of_factor = _fitted(away, drawn, doubt)
    nothing = float(np.sum((away / doubt) ** 2))
    gain = max(min(nothing, of_factor) - of_offset, 0.0)
    score = math.copysign(math.sqrt(gain), offset)
    others = np.arange(len(doubt)) != int(np.argmin(doubt))
    backed, _ = _fitted(away[others], np.ones(int(others.sum())), doubt[others])
    backed *= math.sqrt(float(np.sum(doubt[others] ** -2.0)))
    fits = backed > BACKED and bool(np.all(np.abs(away - offset) <= BROKEN * doubt))
    holds = not (fits and score > BROKEN)
    told = ", ".join(
        f"{item} {1e3 * rounded(value, item.value):+.3g} mΩ" for item, value in zip(items, away, strict=True)
    )
    detail = f"read less drawn: {told}"
    if not holds:
        detail += f". About the same {1e3 * offset:.3g} mΩ in each: {MEANING}"
    yield Check("equal offsets", holds, score, detail)


def _fitted(away: np.ndarray, shape: np.ndarray, doubt: np.ndarray) -> tuple[float, float]:
    """Amount and χ² of the one-parameter model amount × shape."""
    amount = float(np.sum(away * shape / doubt**2) / np.sum((shape / doubt) ** 2))
    return amount, float(np.sum(((away - amount * shape) / doubt) ** 2))


def in_series(readings: PartReadings) -> Iterator[Check]:
    """Windings read one by one, against the same windings read in series."""
    direct: dict[str, PartReading] = {
        single_name(item.test.drive): item for item in readings.of("resistance")
    }
    for whole, parts in _chains(readings):
        parts_read = [direct[name] for name in parts if name in direct]
        if len(parts_read) < 2 or len(parts_read) != len(parts):
            continue
        together = sum(item.value for item in parts_read)
        excess = together - whole.value
        names = " + ".join(str(item) for item in parts_read)
        detail = f"{names} = {1e3 * together:.5g} mΩ, {whole} = {1e3 * whole.value:.5g} mΩ"
        doubt = math.hypot(whole.uncertainty, *(item.uncertainty for item in parts_read))
        each = 1e3 * excess / (len(parts_read) - 1)
        meaning = (
            f"{each:.3g} mΩ more in each single reading: {MEANING}"
            if excess > 0
            else "In series they read more than one by one: a poor joint or contact between them"
        )
        yield check_of("resistances in series", excess, doubt, detail, meaning)


def _chains(readings: PartReadings) -> Iterator[tuple[PartReading, tuple[str, ...]]]:
    """Readings of several windings in series, driven together or by a join, with the windings' names."""
    wholes: dict[str, list[str]] = {}
    shares: dict[str, float] = {}
    for part, whole, share in readings.taps:
        wholes.setdefault(whole, []).append(part)
        shares[whole] = shares.get(whole, 0.0) + share
    for item in readings.of("resistance"):
        name = single_name(item.test.drive)
        if len(item.test.drive) > 1:
            yield item, tuple(member.name for member in item.test.drive)
        elif name in wholes and abs(shares[name] - 1.0) < 1e-9:
            yield item, tuple(wholes[name])
