"""From core, gap and material to the permeance that one turn sees (the inductance factor AL).

The core is a series chain of reluctances (physics of IEC 60205: C1 = le/Ae)

    1/P = le/(μ0 μ Ae) + 2 δ/(μ0 Ae) + R_gap ,

with δ the residual gap of one pair of mating faces and R_gap the ground gap with its fringing (``gap``). A
winding on that core also links flux that crosses the window outside the core. The AL of a data sheet is
measured on a coil and includes both: AL = P + Λ_window. In a reading, P is the share of the core, and the
interaction of the sections is the share of the window. Every argument may be an array over builds; the
results broadcast.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from ..design import ComplexArray, Core, Design, FloatArray, Real
from ..errors import DesignError, Fault
from ..remembered import by_value
from .direct_current import AT_REST, DirectState, load_line
from .gap import MU_0, face_reluctance, gap_from_reluctance, ground_gap_reluctance, ground_gap_reluctances
from .normal_curve import REFERENCE_TEMPERATURE
from .permeability import permeability

UNGAPPED_FLOOR = 0.6
"""An AL below this share of the ungapped model's shows that the set is gapped although no gap is given; above
it, that the permeability differs (common practice, no source: ungapped AL is ±25…30 %)."""
COIL_FILL = (0.1, 0.9)
"""Where the coil of ``window_permeance`` begins and ends across the window, in widths of the window (common
practice, no source)."""


def core_reluctance(length: Real, area: Real, permeability: Real | ComplexArray) -> FloatArray:
    """Reluctance le/(μ0 μ Ae) of the iron.

    Parameters
    ----------
    length : float or (...,) array, effective length le, m
    area : float or (...,) array, effective area Ae, m²
    permeability : float or (...,) array
        Relative permeability μ, dimensionless; may be complex or infinite (then the result is 0).

    Returns
    -------
    (...,) array, 1/H
    """
    return np.asarray(length / (MU_0 * np.asarray(area)) / np.asarray(permeability))


def air_reluctance(core: Core) -> FloatArray:
    """Reluctance of everything that is not iron, () or (B,), in 1/H: ground gap with fringing, and two pairs
    of faces."""
    return np.asarray(face_reluctance(core) + ground_gap_reluctance(core))


def permeance(
    core: Core,
    frequency: Real = 0.0,
    temperature: Real = REFERENCE_TEMPERATURE,
    flux_density: Real = 0.0,
    direct: DirectState = AT_REST,
    *,
    doubt: tuple[Real, Real, Real] = (0.0, 0.0, 0.0),
    gap_reluctance: Real | None = None,
) -> ComplexArray:
    """Complex permeance P of the assembled core, without the flux that only crosses the window.

    −Im/Re = tan δ of the set (``core.loss`` where it is given); real at 0 Hz.

    Parameters
    ----------
    core : Core of one or B builds
    frequency : float or (T, 1) array, frequency, Hz; several are all above zero
    temperature : float, (B,) or (T, B) array, temperature, degC
    flux_density : float, (B,) or (T, B) array, peak flux density, T
    direct : DirectState, state under a direct current (``bias_point``)
    doubt : tuple of three floats or (B,) arrays
        Errors of the permeability in the logarithm, dimensionless (``permeability``).
    gap_reluctance : float or (B,) array or None, ``air_reluctance`` of the core if at hand, 1/H

    Returns
    -------
    (), (B,) or (T, B) array of complex, permeance, H per turn²
    """
    if not core.dimensions.permeable:
        return np.zeros(np.broadcast_shapes(np.shape(temperature), np.shape(flux_density)), complex)
    mu = permeability(core.material, frequency, temperature, flux_density, direct, doubt)
    if core.loss is not None:
        mu = np.asarray(mu.real, complex)
    with np.errstate(invalid="ignore"):
        iron = np.where(
            np.isinf(mu.real), 0.0, core_reluctance(core.effective_length, core.effective_area, mu)
        )
    total = iron + (air_reluctance(core) if gap_reluctance is None else gap_reluctance)
    result: ComplexArray = np.asarray(core.al_scale) / total + 0j
    return (
        result if core.loss is None or np.all(np.asarray(frequency) <= 0) else result * (1 - 1j * core.loss)
    )


def bias_point(
    core: Core,
    ampere_turns: Real,
    temperature: Real = REFERENCE_TEMPERATURE,
    *,
    gap_reluctance: Real | None = None,
) -> DirectState:
    """State of the core under direct ampere-turns, with the iron on the load line of the gap.

    Equation: ``direct_current.load_line``.

    Parameters
    ----------
    core : Core of one or B builds
    ampere_turns : float or (B,) array, direct ampere-turns, A
    temperature : float or (B,) array, temperature, degC
    gap_reluctance : float or (B,) array or None, ``air_reluctance`` of the core if at hand, 1/H

    Returns
    -------
    DirectState, flux density, T, and reversible over initial permeability, dimensionless
    """
    return load_line(
        core.material,
        core.effective_length,
        core.effective_area,
        air_reluctance(core) if gap_reluctance is None else gap_reluctance,
        ampere_turns,
        temperature,
    )


def _iron(core: Core) -> FloatArray:
    """Reluctance (1/H) of the iron at low level, 23 °C."""
    return core_reluctance(core.effective_length, core.effective_area, core.material.initial_permeability)


def core_share(core: Core) -> FloatArray:
    """φ: share of the material in the reluctance of the core, which dilutes every change of permeability; ()
    or (B,), 0 to 1, dimensionless."""
    iron = _iron(core)
    return np.asarray(iron / (iron + air_reluctance(core)))


@by_value(64)
def centre_leg_share(core: Core) -> FloatArray:
    """s: share of the centre leg in the ampere-turn drop of the core.

    It is 1 for a gap in the centre leg, about ½ for spacers and ungapped sets. Equation: (R_centre +
    R_rest/2)/R with the legs' own iron (height of the window over their areas), faces and gaps; the yokes and
    corners count half. It decides on which side of the winding the ampere-turns of an open test return, and
    so affects the voltage ratio.

    Parameters
    ----------
    core : Core of one or B builds

    Returns
    -------
    () or (B,) array, share, 0 to 1, dimensionless
    """
    inner, outer = core.dimensions.wound_leg, core.dimensions.return_legs
    centre_gap, outer_gap = ground_gap_reluctances(core)
    iron, faces = _iron(core), face_reluctance(core)
    first, second = inner.height / inner.area, outer.height / outer.area
    whole = np.maximum(core.effective_length / np.asarray(core.effective_area), first + second)
    drop = centre_gap + iron * (0.5 + (first - second) / (2 * whole))
    drop = drop + faces * outer.area / (inner.area + outer.area)
    total = iron + faces + centre_gap + outer_gap
    share = np.where(total > 0, drop / np.maximum(total, 1e-300), 0.5)
    return np.asarray(np.minimum(np.maximum(share, 0.0), 1.0))


def gap_shares(core: Core) -> tuple[FloatArray, FloatArray]:
    """Share of the ground gap in the ampere-turn drop of the core, R_gap/R at low level.

    The rest drops along the iron and across the faces.

    Parameters
    ----------
    core : Core of one or B builds

    Returns
    -------
    centre : () or (B,) array, share of the gap in the centre leg, dimensionless
    outer : () or (B,) array, share of the gaps in the outer legs, dimensionless
    """
    centre, outer = ground_gap_reluctances(core)
    total = np.maximum(_iron(core) + face_reluctance(core) + centre + outer, 1e-300)
    return np.asarray(centre / total), np.asarray(outer / total)


def window_permeance(core: Core) -> FloatArray:
    """Λ_window: flux that a coil links across the window, beside that of the core.

    Λ = (μ0/h) ∫ F(x)² l(x) dx over the window, with F the ampere-turn function of a coil that fills
    ``COIL_FILL`` of the width evenly, from s at the leg to s − 1 at the outer wall, and l(x) = perimeter of
    the leg + its turning × x; the whole turn counts as lying in the window. It is 1–2 % of the AL of usual
    gaps, 10 % for wide gaps in flat windows. The coil of a ring lies on its surface: 0.

    Parameters
    ----------
    core : Core of one or B builds

    Returns
    -------
    () or (B,) array, Λ_window, H per turn²
    """
    if core.dimensions.ring or not core.dimensions.permeable:
        return np.zeros(())
    leg = core.dimensions.wound_leg
    share = centre_leg_share(core)
    begin, end = (fill * leg.width for fill in COIL_FILL)
    nodes = np.array([-1.0, 1.0]) / math.sqrt(3)
    total = np.zeros_like(share)
    # The integrand is cubic in each of the three parts, so two Gauss points are exact.
    for low, high in ((0.0, begin), (begin, end), (end, leg.width)):
        for x in (low + high) / 2 + (high - low) / 2 * nodes:
            within = min(max((x - begin) / (end - begin), 0.0), 1.0)
            total = total + (high - low) / 2 * (share - within) ** 2 * (leg.perimeter + leg.turning * x)
    return np.asarray(MU_0 / leg.height * total)


def core_inductance_factor(core: Core) -> FloatArray:
    """AL = P + Λ_window at low level and low frequency, 23 °C, () or (B,), in H: what a coil that fills the
    window reads."""
    return np.asarray(permeance(core).real + window_permeance(core))


def inductance_factor(design: Design) -> FloatArray:
    """AL of the core of a design at low level and low frequency, 23 °C, with the factor of the model; () or
    (B,), in H."""
    return np.asarray(core_inductance_factor(design.core) * np.asarray(design.model.inductance))


# --- from AL back to gap or permeability -------------------------------------------------------------------


def calibrate_to_al(core: Core) -> Core:
    """The core whose model gives exactly ``core.al``.

    With a gap (given, or evident from an AL far below the ungapped one) the gap is solved for; an ungapped
    set keeps its gap of zero and the permeability is solved for.

    Parameters
    ----------
    core : Core of one build

    Returns
    -------
    Core with the solved gap or permeability; ``core`` itself if it has no ``al``

    Raises
    ------
    DesignError
        If no gap or permeability can give that AL.
    """
    if core.al is None:
        return core
    iron, faces = float(_iron(core)), float(face_reluctance(core))
    most = math.inf
    if iron + faces > 0:
        most = float(core_inductance_factor(replace(core, gap=0.0, al_scale=1.0)))
    gapped = bool(np.any(np.asarray(core.gap) > 0)) or iron == 0.0 or core.al < UNGAPPED_FLOOR * most
    if gapped and core.al >= most:
        raise DesignError(
            Fault(
                "core.al",
                f"{core.al * 1e9:.4g} nH",
                f"below {most * 1e9:.4g} nH, the al of the ungapped set with this material and face_gap",
                "Check al against the gap, the material and the shape.",
            )
        )
    # The flux across the window depends weakly on what is solved for: repeated substitution.
    solved = replace(core, gap=max(float(np.asarray(core.gap)), 1e-4)) if gapped else replace(core, gap=0.0)
    for _ in range(60):
        target = 1.0 / max(core.al - float(window_permeance(solved)), 1e-3 * core.al)
        rest = target - faces - (iron if gapped else 0.0)
        if rest <= 0 and not gapped:
            raise DesignError(
                Fault(
                    "core.al",
                    f"{core.al * 1e9:.4g} nH",
                    f"below {1e9 / faces:.4g} nH, the al that the face gap alone would give",
                    "Give a smaller face_gap, or check al.",
                )
            )
        before = solved
        if gapped:
            near = float(before.gap)
            solved = replace(core, gap=float(gap_from_reluctance(core, max(rest, 1e-12 * target), near)))
            done = abs(float(solved.gap) - float(before.gap)) <= 1e-12 * float(solved.gap)
        else:
            mu = core.effective_length / (MU_0 * float(np.asarray(core.effective_area)) * rest)
            solved = replace(core, material=replace(core.material, initial_permeability=mu))
            done = abs(mu / float(np.asarray(before.material.initial_permeability)) - 1) <= 1e-12
        if done:
            break
    return solved


def al_contradiction(stated: Core, solved: Core) -> str:
    """A caution if the stated gap and the gap that AL requires differ by more than 15 %.

    Parameters
    ----------
    stated : Core, core as written
    solved : Core, the same core after ``calibrate_to_al``

    Returns
    -------
    str, caution; "" if they agree
    """
    before, after = float(np.asarray(stated.gap)), float(np.asarray(solved.gap))
    if stated.al is None or before <= 0 or abs(after / before - 1) <= 0.15:
        return ""
    return (
        f"core.gap is {before * 1e3:.3g} mm, but al = {stated.al * 1e9:.4g} nH requires "
        f"{after * 1e3:.3g} mm in this core; "
        "the prediction follows al. Check both against the core's data sheet."
    )
