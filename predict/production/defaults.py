"""How far production strays where the design file does not say: one table, and the rules behind it.

The table of the guide (tolerances) is ``markdown_table()``; a test holds the two together.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from ..cores import core_share
from ..design import Core, Wire


@dataclass(frozen=True)
class Default:
    """One entry. key : of ``[spread]``. deviation : standard deviation, half of the ± bound; relative, or in
    ``unit`` ("m", "K"). bound : the ± bound in words where a rule takes the place of one number."""

    key: str
    case: str
    deviation: float
    unit: str
    varies: str
    source: str
    bound: str = ""


_PRACTICE = "common practice, no source"

TABLE = (
    Default(
        "al",
        "",
        0.125,
        "",
        "the core's permeance, where `al` is given without `al_tolerance`",
        "data sheets E42/21/15 and RM8/I (2008)",
        "25 % ungapped; gapped by the rule below",
    ),
    Default("mu_i", "", 0.125, "", "permeability, where `al` is not given", "the material's, usually 25 %"),
    Default(
        "gap",
        "",
        0.025,
        "",
        "ground gap, where `al` is not given",
        "sheets of E cores sold by their gap (from memory)",
        "20 µm to 0.25 mm, 50 µm from 0.5 mm on, at least 5 %",
    ),
    Default("face_gap", "", 0.30, "", "residual gap of the mating faces", _PRACTICE),
    Default("core_area", "", 0.01, "", "Ae, where `al` is not given", _PRACTICE),
    Default("loss", "", 0.30, "", "tan δ of the core", _PRACTICE),
    Default(
        "wire",
        "",
        0.005,
        "",
        "bare diameter of the reel of each winding",
        "IEC 60317-0-1 (from memory)",
        "1 %, at least 2 µm + 0.7 %",
    ),
    Default(
        "enamel",
        "",
        0.10,
        "",
        "insulation build of that reel (litz: a quarter, on its overall diameter)",
        "IEC 60317-0-1, range of grade 2 (from memory)",
    ),
    Default("thickness", "foil", 0.025, "", "thickness of foils, screens and stated blocks", _PRACTICE),
    Default("thickness", "track", 0.05, "", "copper of a board", _PRACTICE),
    Default("width", "foil", 0.05e-3, "m", "breadth of foils and screens as slit", _PRACTICE),
    Default("width", "track", 0.015e-3, "m", "breadth of tracks as etched, their pitch kept", _PRACTICE),
    Default("tape", "", 0.05, "", "thickness of each tape, spacer or board layer of one kind", _PRACTICE),
    Default("interlayer", "", 0.05, "", "thickness of each kind of interlayer insulation", _PRACTICE),
    Default("margin", "", 0.1e-3, "m", "width of each size of margin tape", _PRACTICE),
    Default("bobbin", "", 0.025, "", "thickness of wall and partitions (coating of a ring: 20 %)", _PRACTICE),
    Default("breadth", "", 0.005, "", "room between the flanges, stated breadths (not of tracks)", _PRACTICE),
    Default("centring", "", 0.1e-3, "m", "place of each winding along its layers", _PRACTICE),
    Default("centring", "track", 0.05e-3, "m", "registration of the boards of a flat build", _PRACTICE),
    Default("mean_turn", "", 0.01, "", "length of all turns, beyond what the rest explains", _PRACTICE),
    Default("resistivity", "", 0.005, "", "all copper", _PRACTICE),
    Default("permittivity", "", 0.10, "", "all insulation", _PRACTICE),
    Default("temperature", "", 0.5, "K", "the part on the bench against the stated temperature", _PRACTICE),
    Default("model_leakage", "", math.nan, "", "leakage", "what the model says of itself", "by the layout"),
    Default(
        "model_inductance",
        "",
        0.03,
        "",
        "AL from gap and permeability (of legs lower than the yoke, EFD: half as much again)",
        "published gap tables: 0.5 to 5 %, EFD up to 8.6 %",
    ),
    Default(
        "model_ac_resistance",
        "",
        math.nan,
        "",
        "what alternating current adds",
        "what the model says of itself",
        "by the windings",
    ),
    Default("model_capacitance", "", 0.10, "", "capacitance", "judged"),
    Default("model_leg_share", "", 0.15, "1", "where open tests' ampere-turns return; not a key", "judged"),
)
"""Every default of ``[spread]``, in the order of the guide's table."""

DEFAULTS = {(entry.key, entry.case): entry.deviation for entry in TABLE}
"""(key, case) → standard deviation."""

RING_COATING = 0.10
"""Relative standard deviation of a ring's coating (common practice, no source)."""
GAP_TOLERANCE = {"by gap": 3.6e-3, "by AL": 0.48e-3}
"""± bound of a gap over √Ae, for sets ground to a gap (E cores and their kin) and sets ground until AL is met
(RM and pot cores): what turns the gaps and ungapped AL of two data sheets into their AL tolerances."""
GROUND_GAP = ((0.25e-3, 0.5e-3), (20e-6, 50e-6))
"""± bound (m) of a gap that is ordered by its length, against the gap (m)."""
LEAST_AL_TOLERANCE = {"by gap": 0.05, "by AL": 0.03}
"""The tightest bound that those sheets offer."""


def deviation(key: str, case: str = "") -> float:
    """Standard deviation that ``[spread]`` has by default for ``key`` (``case`` "foil" or "track")."""
    return DEFAULTS.get((key, case), DEFAULTS.get((key, ""), math.nan))


def grinding(core: Core) -> str:
    """ "by AL" for RM and pot cores, which makers grind until the inductance factor is met, else "by gap"."""
    precise = core.dimensions.ground_to_al or core.name.upper().startswith("RM")
    return "by AL" if precise else "by gap"


def al_deviation(core: Core) -> float:
    """Standard deviation of the inductance factor of a set (relative), without a stated tolerance.

    Bound: ±25 % of the iron's share φ of the reluctance, and the gap's own in quadrature,

        U² = (25 % φ)² + (τ √Ae/g)²,     φ = share of iron and faces

    with τ from ``GAP_TOLERANCE``, at least ``LEAST_AL_TOLERANCE``; ungapped ±25 %. It grows as the gap
    shrinks. Rounded to the steps of data sheets it gives every tolerance of E42/21/15 (AL 100 to 630 nH) and
    RM8/I (100 to 1000 nH); other shapes by analogy.
    """
    gap = float(np.max(np.asarray(core.gap)))
    ungapped = 2 * deviation("al")
    if gap <= 0:
        return ungapped / 2
    kind = grinding(core)
    iron = float(np.max(core_share(core)))
    own = GAP_TOLERANCE[kind] * math.sqrt(float(np.max(np.asarray(core.effective_area)))) / gap
    bound = math.hypot(ungapped * iron, own)
    return min(max(bound, LEAST_AL_TOLERANCE[kind]), ungapped) / 2


def gap_deviation(core: Core) -> float:
    """Standard deviation of a ground gap g (relative), without a stated tolerance: ± 20 µm to g = 0.25 mm,
    50 µm from 0.5 mm on, straight between; at least 5 %, at most half of the gap (k = 2).

    Source: data sheets of E cores sold by their gap (0.10 ± 0.02, 0.25 ± 0.02, 0.50 ± 0.05, 1.00 ± 0.05 mm),
    from memory.
    """
    gap = float(np.max(np.asarray(core.gap)))
    own = float(np.interp(gap, *GROUND_GAP)) / gap
    return min(max(own, 2 * deviation("gap")), 0.5) / 2


def wire_deviation(wire: Wire) -> float:
    """Standard deviation of a bare diameter d (relative): ± the greater of 1 % d and 2 µm + 0.7 % d.

    Within 0.5 µm of IEC 60317-0-1's table from 0.1 to 1 mm (from memory): 3 µm to 0.2 mm, 4 µm to 0.355 mm,
    5 µm to 0.5 mm, then 1 %. Strands of litz likewise.
    """
    diameter = float(np.min(np.asarray(wire.diameter)))
    if diameter <= 0:
        return deviation("wire")
    return max(2 * deviation("wire"), 2e-6 / diameter + 0.007) / 2


def wall_deviation(toroid: bool) -> float:
    """Standard deviation of the bobbin's wall (relative), or of a ring's coating."""
    return RING_COATING if toroid else deviation("bobbin")


def is_ring(core: Core) -> bool:
    """Whether the core is a toroid: it has no flanges, and nothing to centre."""
    return core.dimensions.ring


def bound_text(entry: Default) -> str:
    if entry.bound:
        return entry.bound
    if entry.unit == "m":
        return f"{entry.deviation * 2e3:g} mm"
    if entry.unit == "K":
        return f"{entry.deviation * 2:g} K"
    return f"{entry.deviation * 2:g}" if entry.unit == "1" else f"{entry.deviation * 200:g} %"


def markdown_table() -> str:
    """The table of all defaults, as ± bounds that hold 95 % of production (k = 2), for the guide."""
    lines = ["| `[spread]` | ± | what varies | source |", "| --- | --- | --- | --- |"]
    for entry in TABLE:
        lines.append(f"| `{entry.key}` | {bound_text(entry)} | {entry.varies} | {entry.source} |")
    return "\n".join(lines)
