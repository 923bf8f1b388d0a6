"""How far production strays where the design file does not say: one table, and the rules behind it.

A test compares the table of the guide (tolerances) with this one.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from ..cores import core_share
from ..design import Core, Wire


@dataclass(frozen=True, kw_only=True)
class Default:
    """One entry of the table.

    Attributes
    ----------
    key : str, of ``[spread]``
    case : str, "foil" or "track" where the entry is for one kind of conductor, else empty
    deviation : float, standard deviation, half of the ± bound; relative (dimensionless) or in ``unit``
    unit : str, "m", "K", "1" (absolute, dimensionless), or empty for a relative deviation
    varies : str, what varies, in words
    source : str, where the figure comes from
    bound : str, the ± bound in words where a rule replaces the number
    """

    key: str
    deviation: float
    varies: str
    source: str = "common practice, no source"
    case: str = ""
    unit: str = ""
    bound: str = ""


TABLE = (
    Default(
        key="al",
        deviation=0.125,
        varies="the core's permeance, where `al` is given without `al_tolerance`",
        source="data sheets E42/21/15 and RM8/I (2008)",
        bound="the grade's, else 25 %, ungapped; gapped by the rule below",
    ),
    Default(
        key="mu_i",
        deviation=0.125,
        varies="permeability, where `al` is not given",
        source="the material's, usually 25 %",
    ),
    Default(
        key="gap",
        deviation=0.025,
        varies="ground gap, where `al` is not given",
        source="sheets of E cores sold by their gap (from memory)",
        bound="20 µm to 0.25 mm, 50 µm from 0.5 mm on, at least 5 %",
    ),
    Default(key="face_gap", deviation=0.30, varies="residual gap of the mating faces"),
    Default(key="core_area", deviation=0.01, varies="Ae, where `al` is not given"),
    Default(key="loss", deviation=0.30, varies="tan δ of the core"),
    Default(
        key="wire",
        deviation=0.005,
        varies="bare diameter of the reel of each winding",
        source="IEC 60317-0-1 (from memory)",
        bound="1 %, at least 2 µm + 0.7 %",
    ),
    Default(
        key="enamel",
        deviation=0.10,
        varies="insulation build of that reel (litz: a quarter, on its overall diameter)",
        source="IEC 60317-0-1, range of grade 2 (from memory)",
    ),
    Default(
        key="thickness", case="foil", deviation=0.025, varies="thickness of foils, screens and stated blocks"
    ),
    Default(key="thickness", case="track", deviation=0.05, varies="copper of a board"),
    Default(
        key="width", case="foil", deviation=0.05e-3, unit="m", varies="breadth of foils and screens as slit"
    ),
    Default(
        key="width",
        case="track",
        deviation=0.015e-3,
        unit="m",
        varies="breadth of tracks as etched, their pitch kept",
    ),
    Default(key="tape", deviation=0.05, varies="thickness of each tape, spacer or board layer of one kind"),
    Default(key="interlayer", deviation=0.05, varies="thickness of each kind of interlayer insulation"),
    Default(key="margin", deviation=0.1e-3, unit="m", varies="width of each size of margin tape"),
    Default(
        key="margin",
        case="track",
        deviation=0.05e-3,
        unit="m",
        varies="from a board's edge, as cut, to its tracks, which keep their places on it",
    ),
    Default(
        key="bobbin", deviation=0.025, varies="thickness of wall and partitions (coating of a ring: 20 %)"
    ),
    Default(
        key="breadth", deviation=0.005, varies="room between the flanges, stated breadths (not of tracks)"
    ),
    Default(key="centring", deviation=0.1e-3, unit="m", varies="position of each winding along its layers"),
    Default(
        key="centring",
        case="track",
        deviation=0.05e-3,
        unit="m",
        varies="registration of the boards of a flat build",
    ),
    Default(key="mean_turn", deviation=0.01, varies="length of all turns, beyond what the rest explains"),
    Default(key="resistivity", deviation=0.005, varies="all copper"),
    Default(key="permittivity", deviation=0.10, varies="all insulation"),
    Default(
        key="temperature",
        deviation=0.5,
        unit="K",
        varies="the part on the bench against the stated temperature",
    ),
    Default(
        key="model_leakage",
        deviation=math.nan,
        varies="leakage",
        source="as the model states it",
        bound="by the layout",
    ),
    Default(
        key="model_inductance",
        deviation=0.03,
        varies="AL from gap and permeability (of legs lower than the yoke, EFD: half as much again)",
        source="published gap tables: 0.5 to 5 %, EFD up to 8.6 %",
    ),
    Default(
        key="model_ac_resistance",
        deviation=math.nan,
        varies="what alternating current adds",
        source="as the model states it",
        bound="by the windings",
    ),
    Default(key="model_capacitance", deviation=0.10, varies="capacitance", source="judged"),
    Default(
        key="model_together",
        deviation=0.40,
        unit="1",
        varies="level, direct current and temperature together: ln of mu, times how far they act; not a key",
        source="minor loops of four measured steels (Modelica Standard Library)",
    ),
    Default(
        key="model_weak_field",
        deviation=0.30,
        unit="1",
        varies="laminations up to 2 mT, fading to 50 mT: ln of mu, beside its tolerance; not a key",
        source="oriented steel at 2 mT: a factor of 1.9 (Bozorth, from memory)",
    ),
    Default(
        key="model_weak_curve",
        deviation=0.50,
        unit="1",
        varies="laminations up to 2 mT, fading to 50 mT: ln of the flux densities of their curve; not a key",
        source="judged: initial permeability and Rayleigh's constant each within a factor of two",
    ),
    Default(
        key="model_leg_share",
        deviation=0.15,
        unit="1",
        varies="where open tests' ampere-turns return; not a key",
        source="judged",
    ),
)
"""Every default of ``[spread]``, in the order of the guide's table; each with its source, or "judged"."""

DEFAULTS = {(entry.key, entry.case): entry.deviation for entry in TABLE}
"""(key, case) → standard deviation."""

RING_COATING = 0.10
"""Relative standard deviation of a ring's coating (common practice, no source)."""
GAP_TOLERANCE = {"by gap": 3.6e-3, "by AL": 0.48e-3}
"""± bound of a gap over √Ae, for sets ground to a gap (E cores and similar) and for sets ground until AL is
met (RM and pot cores): these turn the gaps and ungapped AL of two data sheets into their AL tolerances
(tests/published/test_tolerance_defaults.py)."""
GROUND_GAP = ((0.25e-3, 0.5e-3), (20e-6, 50e-6))
"""± bound (m) of a gap that is ordered by its length, against the gap (m): sheets of E cores sold by their
gap (from memory)."""
LEAST_AL_TOLERANCE = {"by gap": 0.05, "by AL": 0.03}
"""The tightest bound offered for such sets (tests/published/test_tolerance_defaults.py)."""


def deviation(key: str, case: str = "") -> float:
    """Default standard deviation of a key of ``[spread]``.

    Parameters
    ----------
    key : str, of ``[spread]``
    case : str, "foil" or "track" for entries of one kind of conductor, else empty

    Returns
    -------
    float
        Standard deviation: relative (dimensionless), or in the unit of the entry; nan if a rule takes its
        place.
    """
    return DEFAULTS.get((key, case), DEFAULTS.get((key, ""), math.nan))


def grinding(core: Core) -> str:
    """How the maker grinds a gap: "by AL" (RM and pot cores, ground until AL is met) or "by gap"."""
    precise = core.dimensions.ground_to_al or core.name.upper().startswith("RM")
    return "by AL" if precise else "by gap"


def al_deviation(core: Core) -> float:
    """Standard deviation of the inductance factor of a set without a stated tolerance.

    Bound: the tolerance T of the grade's permeability (25 % where no grade is known, and of most ferrites)
    times the iron's share φ of the reluctance, and the tolerance of the gap in quadrature,

        U² = (T φ)² + (τ √Ae/g)²,     φ = share of iron and faces

    with τ from ``GAP_TOLERANCE``, at least ``LEAST_AL_TOLERANCE``; ungapped ±T. It grows as the gap
    shrinks. Rounded to the steps of data sheets it gives every tolerance of E42/21/15 (AL 100 to 630 nH) and
    RM8/I (100 to 1000 nH); other shapes by analogy.

    Parameters
    ----------
    core : Core of one build

    Returns
    -------
    float, relative standard deviation, dimensionless
    """
    gap = float(np.max(np.asarray(core.gap)))
    known = bool(np.all(np.isfinite(np.asarray(core.material.initial_permeability))))
    ungapped = core.material.tolerance if known else 2 * deviation("al")
    if gap <= 0:
        return ungapped / 2
    kind = grinding(core)
    iron = float(np.max(core_share(core)))
    gap_part = GAP_TOLERANCE[kind] * math.sqrt(float(np.max(np.asarray(core.effective_area)))) / gap
    bound = math.hypot(ungapped * iron, gap_part)
    return min(max(bound, LEAST_AL_TOLERANCE[kind]), ungapped) / 2


def gap_deviation(core: Core) -> float:
    """Standard deviation of a ground gap g without a stated tolerance.

    ± 20 µm up to g = 0.25 mm, 50 µm from 0.5 mm, linear in between; at least 5 %, at most half of the gap (k
    = 2).

    Parameters
    ----------
    core : Core of one build, with a gap

    Returns
    -------
    float, relative standard deviation, dimensionless

    References
    ----------
    Data sheets of E cores sold by their gap (0.10 ± 0.02, 0.25 ± 0.02, 0.50 ± 0.05, 1.00 ± 0.05 mm), from
    memory.
    """
    gap = float(np.max(np.asarray(core.gap)))
    ground = float(np.interp(gap, *GROUND_GAP)) / gap
    return min(max(ground, 2 * deviation("gap")), 0.5) / 2


def wire_deviation(wire: Wire) -> float:
    """Standard deviation of a bare diameter d: ± the greater of 1 % d and 2 µm + 0.7 % d.

    Within 0.5 µm of the table of IEC 60317-0-1 from 0.1 to 1 mm: 3 µm up to 0.2 mm, 4 µm up to 0.355 mm, 5 µm
    up to 0.5 mm, then 1 %. Strands of litz likewise.

    Parameters
    ----------
    wire : Wire, round wire or litz

    Returns
    -------
    float, relative standard deviation, dimensionless

    References
    ----------
    IEC 60317-0-1 (from memory).
    """
    diameter = float(np.min(np.asarray(wire.diameter)))
    if diameter <= 0:
        return deviation("wire")
    return max(2 * deviation("wire"), 2e-6 / diameter + 0.007) / 2


def bound_text(entry: Default) -> str:
    """The ± bound of an entry as text: its words, or twice its deviation with the unit."""
    if entry.bound:
        return entry.bound
    if entry.unit == "m":
        return f"{entry.deviation * 2e3:g} mm"
    if entry.unit == "K":
        return f"{entry.deviation * 2:g} K"
    return f"{entry.deviation * 2:g}" if entry.unit == "1" else f"{entry.deviation * 200:g} %"
