"""Effective parameters of a closed core from its dimensions, by IEC 60205.

The flux path is cut into sections of length l and area A in series. The sums

    C1 = Σ l/A   (1/m),      C2 = Σ l/A²   (1/m³)

give the effective area Ae = C1/C2, length le = C1²/C2 and volume Ve = C1³/C2² of the ideal ring that has
the same reluctance and the same hysteresis. All lengths are in m, of the assembled set, at mid-tolerance.

Source: IEC 60205, "Calculation of the effective parameters of magnetic piece parts" (procedures from memory,
held against published data sheets in tests/published).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass

import numpy as np

from ..design import (
    Dimensions,
    EDimensions,
    PotDimensions,
    RoundDimensions,
    ToroidDimensions,
    UDimensions,
)
from ..errors import DesignError, Fault
from .round_outline import notched_angle, outer_leg_angle, outer_leg_area

Section = tuple[float, float]
"""One section's share of (C1, C2): (l/A in 1/m, l/A² in 1/m³)."""


@dataclass(frozen=True)
class EffectiveParameters:
    """The ideal ring that replaces a core (IEC 60205).

    core_constant : C1 = Σ l/A = le/Ae (1/m).
    effective_area : Ae (m²).
    effective_length : le (m).
    effective_volume : Ve = le Ae (m³).
    """

    core_constant: float
    effective_area: float
    effective_length: float
    effective_volume: float


def effective_parameters(dimensions: Dimensions) -> EffectiveParameters:
    """C1, Ae, le, Ve of a core set from its dimensions (m).

    Equation: C1 = Σ l/A, C2 = Σ l/A², Ae = C1/C2, le = C1²/C2, Ve = C1³/C2². Sections by form:

    - E: two legs, two yokes, corners of mean length π/8 × (sum of the widths that meet) and mean area.
    - round (ETD, EER, PQ, RM, EP): round post, plate that widens from the post to the outer legs, integrated
      over the radius; outer legs by ``round_outline.outer_leg_area``.
    - pot: the same with a whole disc and a round wall that the slots cut open; the plate is taken unslotted.
    - U: two legs, two yokes, four corners.
    - toroid: exact, of rectangular section: C1 = 2π/(h ln(D/d)), C2 = 4π (1/d − 1/D)/(h² ln³(D/d)).

    Returns EffectiveParameters, SI. Raises DesignError if the dimensions enclose no core (a length that is
    not positive, a window that cuts through a leg). Validity: homogeneous material, no gap. Against published
    data E, planar E, U and toroid within 1 %, EFD, ETD, EER, PQ, RM, EP and pot within 4 % (tests/published);
    of PQ 32, 35 and 40 C1 alone, whose makers state an le that is longer than the path. Source: IEC 60205.
    """
    faults = [Fault(f"core.dimensions.{key}", found, allowed) for key, found, allowed in _faults(dimensions)]
    if faults:
        raise DesignError(faults)
    if isinstance(dimensions, ToroidDimensions):
        return _ring(dimensions)
    if isinstance(dimensions, EDimensions):
        return _from_sections(_e_sections(dimensions))
    if isinstance(dimensions, RoundDimensions):
        return _from_sections(_round_sections(dimensions))
    if isinstance(dimensions, PotDimensions):
        return _from_sections(_pot_sections(dimensions))
    return _from_sections(_u_sections(dimensions))


# --- sections of the forms ---------------------------------------------------------------------------------


def _straight(length: float, area: float) -> Section:
    """(l/A, l/A²) of a section of constant area."""
    return length / area, length / area**2


def _corner(width_in: float, width_out: float, area_in: float, area_out: float) -> Section:
    """A right-angled corner: mean length π/8 (sum of the widths), mean area (IEC 60205)."""
    return _straight(math.pi / 8 * (width_in + width_out), (area_in + area_out) / 2)


def _radial(inner: float, outer: float, area: Callable[[float], float]) -> Section:
    """(∫ dr/A, ∫ dr/A²) from ``inner`` to ``outer`` radius (m), plate of section ``area(r)`` (m²): Gauss."""
    nodes, weights = np.polynomial.legendre.leggauss(24)
    radii = (inner + outer) / 2 + (outer - inner) / 2 * nodes
    areas = np.array([area(float(radius)) for radius in radii])
    scale = (outer - inner) / 2
    return float(scale * np.sum(weights / areas)), float(scale * np.sum(weights / areas**2))


def _e_sections(core: EDimensions) -> list[Section]:
    """E set: centre leg, two yokes, two outer legs (in parallel: double area), four corners."""
    corner_loss = (4 - math.pi) * core.leg_corner**2
    centre = core.leg_width * core.leg_depth - corner_loss
    outer = 2 * (core.outer_leg * core.outer_depth - (4 - math.pi) * core.outer_corner**2)
    # The yoke is as deep as the outer legs, also where the centre leg is shallower (EFD).
    yoke = 2 * core.back * core.outer_depth
    inner_corner = _corner(core.leg_width / 2, core.back, centre, yoke)
    outer_corner = _corner(core.outer_leg, core.back, outer, yoke)
    return [
        _straight(core.window_height, centre),
        _straight(core.window_height, outer),
        _straight(2 * core.window_width, yoke),
        *[inner_corner, outer_corner] * 2,
    ]


def _post_corner(radius: float, hole: float, back: float, leg: float, yoke: float) -> Section:
    """From a round post (with a hole) into a plate of section ``yoke`` there: the flux line that halves the
    post's area lies s = r − √((r² + r_hole²)/2) below its surface; length π/8 (2s + back), mean area."""
    depth = radius - math.sqrt((radius**2 + hole**2) / 2)
    return _straight(math.pi / 8 * (2 * depth + back), (leg + yoke) / 2)


def _round_sections(core: RoundDimensions) -> list[Section]:
    """Round post, outer legs, two yoke plates and their corners. A plate is integrated over the radius, with
    the breadth of ``_plate``."""
    post, window = core.leg_diameter / 2, core.window_diameter / 2
    centre = math.pi * (post**2 - (core.hole_diameter / 2) ** 2)
    outer = 2 * outer_leg_area(core)
    yoke, rim_in, rim_out = _plate(core)
    # Where the wall follows the window (EP, RM) its thickness is area over arc; straight legs are as deep.
    breadth = 4 * outer_leg_angle(core) * window if core.flats or core.front else 2 * core.depth
    inner_corner = _post_corner(post, core.hole_diameter / 2, core.back, centre, rim_in)
    outer_corner = _corner(outer / breadth, core.back, outer, rim_out)
    return [
        _straight(core.window_height, centre),
        _straight(core.window_height, outer),
        *[yoke, inner_corner, outer_corner] * 2,
    ]


def _plate(core: RoundDimensions) -> tuple[Section, float, float]:
    """One yoke plate: its share of (C1, C2), its sections at the post and at the window's rim (m²).

    ETD, EER, EQ, PQ: towards each outer leg the plate carries flux over the wedge from the post's axis to the
    leg's edges, but not less than the post's own width: 2 max(r_post, r sin φ0) × back at radius r, φ0 half
    the angle that the leg takes.
    PQ (``notch`` given): the arcs that the notches leave, 4 r φ(r) × back.
    RM (``waist`` given): a ring filled to the part D = plate ÷ ring of areas, and lengthened by f, the mean
    of the shortest and the longest way from post to leg over the shortest (IEC 60205).
    EP (``front`` given): whole circles as far as the front, beyond it the arc that the front leaves.
    """
    post, window, back = core.leg_diameter / 2, core.window_diameter / 2, core.back
    angle = outer_leg_angle(core)
    if core.front:

        def arc(radius: float) -> float:
            return radius * (
                2 * math.pi if radius <= core.front else math.pi + 2 * math.asin(core.front / radius)
            )

        bend = min(max(post, core.front), window)
        pieces = [
            _radial(start, end, lambda radius: back * arc(radius))
            for start, end in ((post, bend), (bend, window))
            if end > start
        ]
        yoke = (sum(piece[0] for piece in pieces), sum(piece[1] for piece in pieces))
        return yoke, back * arc(post), back * arc(window)
    tip = (window * math.cos(angle), window * math.sin(angle))
    if core.waist:
        ring = math.pi / 4 * (window**2 - post**2)
        plate = angle * window**2 / 2 + tip[0] * core.waist / 4 - math.pi / 4 * post**2
        filled = back * plate / ring
        stretch = (1 + math.hypot(tip[0], tip[1] - post) / (window - post)) / 2
        whole = _radial(post, window, lambda radius: 2 * math.pi * radius * filled)
        yoke = (stretch * whole[0], stretch * whole[1])
        return yoke, 2 * math.pi * post * back, 4 * angle * window * back
    if core.notch:

        def left(radius: float) -> float:
            return 4 * radius * back * notched_angle(core, radius)

        return _radial(post, window, left), left(post), left(window)
    width = min(post, tip[1])

    def wedge(radius: float) -> float:
        return 4 * back * max(width, radius * math.sin(angle))

    bend = min(max(post, width / math.sin(angle)), window)
    parts = [_radial(start, end, wedge) for start, end in ((post, bend), (bend, window)) if end > start]
    yoke = (sum(part[0] for part in parts), sum(part[1] for part in parts))
    return yoke, wedge(post), wedge(window)


def _pot_sections(core: PotDimensions) -> list[Section]:
    """Closed round wall: whole discs, a wall that ``slots`` openings of ``slot_angle`` (rad) interrupt."""
    post, hole, window = core.leg_diameter / 2, core.hole_diameter / 2, core.window_diameter / 2
    outside = core.outer_diameter / 2
    left = 1 - core.slots * core.slot_angle / (2 * math.pi)
    centre = math.pi * (post**2 - hole**2)
    wall = math.pi * (outside**2 - window**2) * left
    rim = 2 * math.pi * window * core.back * left
    yoke = _radial(post, window, lambda radius: 2 * math.pi * radius * core.back)
    inner_corner = _post_corner(post, hole, core.back, centre, 2 * math.pi * post * core.back)
    depth = math.sqrt((outside**2 + window**2) / 2) - window
    outer_corner = _straight(math.pi / 8 * (2 * depth + core.back), (wall + rim) / 2)
    return [
        _straight(core.window_height, centre),
        _straight(core.window_height, wall),
        *[yoke, inner_corner, outer_corner] * 2,
    ]


def _u_sections(core: UDimensions) -> list[Section]:
    """Two equal legs, two yokes of the legs' depth, four corners."""
    leg, yoke = core.leg_width * core.leg_depth, core.back * core.leg_depth
    corner = _corner(core.leg_width, core.back, leg, yoke)
    return [_straight(2 * core.window_height, leg), _straight(2 * core.window_width, yoke), *[corner] * 4]


def _ring(core: ToroidDimensions) -> EffectiveParameters:
    """Ring of rectangular section, exact."""
    log = math.log(core.outer_diameter / core.inner_diameter)
    c1 = 2 * math.pi / (core.height * log)
    c2 = 4 * math.pi * (1 / core.inner_diameter - 1 / core.outer_diameter) / (core.height**2 * log**3)
    return _from_sections([(c1, c2)])


def _from_sections(sections: Iterable[Section]) -> EffectiveParameters:
    """C1, C2 → the ideal ring."""
    shares = list(sections)
    c1, c2 = sum(share[0] for share in shares), sum(share[1] for share in shares)
    return EffectiveParameters(c1, c1 / c2, c1**2 / c2, c1**3 / c2**2)


# --- what encloses a core ----------------------------------------------------------------------------------


def _faults(core: Dimensions) -> list[tuple[str, str, str]]:
    """(key, found, allowed) of every dimension with which the form cannot exist."""
    may_vanish = {
        "leg_corner",
        "outer_corner",
        "slots",
        "slot_angle",
        "hole_diameter",
        "opening",
        "notch",
        "flats",
        "waist",
        "front",
    }
    found = [
        (key, f"{value:g}", "a positive length" if key not in may_vanish else "zero or more")
        for key, value in vars(core).items()
        if not (math.isfinite(value) and (value > 0 or (value == 0 and key in may_vanish)))
    ]
    if found:
        return found

    def smaller(key: str, than: str) -> None:
        inner, outer = getattr(core, key), getattr(core, than)
        if inner >= outer:
            found.append((key, f"{inner * 1e3:g} mm", f"less than {than}, {outer * 1e3:g} mm"))

    if isinstance(core, ToroidDimensions):
        smaller("inner_diameter", "outer_diameter")
    elif isinstance(core, RoundDimensions):
        smaller("hole_diameter", "leg_diameter")
        smaller("leg_diameter", "window_diameter")
        smaller("opening", "window_diameter")
        smaller("front", "depth")
        found += _outline_faults(core) if not found else []
    elif isinstance(core, PotDimensions):
        smaller("hole_diameter", "leg_diameter")
        smaller("leg_diameter", "window_diameter")
        smaller("window_diameter", "outer_diameter")
        if core.slots * core.slot_angle >= 2 * math.pi:
            found.append(("slot_angle", f"{core.slot_angle:g} rad", "slots that leave a wall"))
    elif isinstance(core, EDimensions):
        legs = {
            "leg_corner": min(core.leg_width, core.leg_depth),
            "outer_corner": min(core.outer_leg, core.outer_depth),
        }
        for key, across in legs.items():
            radius = getattr(core, key)
            if 2 * radius > across * (1 + 1e-9):
                found.append((key, f"{radius * 1e3:g} mm", "at most half the leg's width and depth"))
    return found


def _outline_faults(core: RoundDimensions) -> list[tuple[str, str, str]]:
    """Keys of outlines that exclude each other, or leave no outer leg."""
    given = [key for key in ("opening", "flats", "front") if getattr(core, key)]
    if len(given) > 1:
        return [(given[1], f"given beside {given[0]}", "one of opening (PQ), flats (RM), front (EP)")]
    if core.notch and not core.notch < min(core.opening, core.leg_diameter):
        return [("notch", f"{core.notch * 1e3:g} mm", "less than opening (PQ) and than leg_diameter")]
    if core.waist and not core.flats:
        return [("waist", "given without flats", "waist together with flats (RM)")]
    if outer_leg_area(core) > 0:
        return []
    if core.flats:
        return [("flats", f"{core.flats * 1e3:g} mm", "a square that leaves outer legs outside the window")]
    least = max(core.window_diameter, math.sqrt(max(0.0, core.window_diameter**2 - core.depth**2)))
    return (
        [
            (
                "window_diameter",
                f"{core.window_diameter * 1e3:g} mm",
                f"less than length, {core.length * 1e3:g} mm",
            )
        ]
        if core.length <= least
        else [("depth", f"{core.depth * 1e3:g} mm", "a depth that leaves outer legs")]
    )
