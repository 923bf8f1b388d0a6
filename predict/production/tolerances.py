"""Tolerances as changes of a design: every independent source of scatter, and what one unit of it does.

A ``Parameter`` changes the design by z standard deviations. The same parameters drive the spread, the
uncertainty of a prediction and the background against which causes are weighed. What several places have in
common varies together: the copper of all windings, one core, one bobbin, the temperature of one part. The
conductors and insulation are in ``winding_tolerances``; sizes are in ``defaults``.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from ..circuit import shared_leakage_error, stated_temperature
from ..copper import ac_resistance_error
from ..cores import REFERENCE_TEMPERATURE, THINNEST_LAMINATION
from ..design import BenchTest, Core, Design, Real
from ..remembered import by_value
from .defaults import al_deviation, deviation, gap_deviation
from .parameter import Parameter, log_normal_factor, scaled, shifted, some, stated_or
from .winding_tolerances import winding_parameters

LOW_LEG, FLAT_LEG_ERROR = 0.8, 1.5
"""A centre leg lower than this part of the yoke's depth belongs to an EFD core; the factor on the error of AL
then: 9 % for 6 %, because printed AL of EFD sets stray by 8.6 % (tests/published/test_ungapped_sets.py)."""

LONG_GAP, LONG_GAP_ERROR = 0.1, 2.0
"""A gap of a U core longer than this part of its window's height doubles that error: 9.8 % high with a gap of
a tenth in each leg, 3.8 % with half of it (tests/reference/test_u_alone.py)."""


def parameters(design: Design) -> tuple[Parameter, ...]:
    """Every source of scatter of a design: production tolerances, model errors, link and leads.

    A tolerance of zero, or of something that the design does not have, is no parameter.

    Parameters
    ----------
    design : Design of one build
    """
    return (*build_parameters(design), *_model_parameters(design), *_setup_parameters(design))


def build_parameters(design: Design) -> tuple[Parameter, ...]:
    """The production tolerances of a design of one build alone: independent parameters of origin "build"."""
    return (*_core_parameters(design), *winding_parameters(design), *_common_parameters(design))


def _core_parameters(design: Design) -> list[Parameter]:
    core, given = design.core, design.tolerances
    if not core.dimensions.permeable:
        return []
    if core.al is not None:
        stated = al_deviation(core) if core.al_tolerance is None else core.al_tolerance / 2
        sd = stated_or(given.al, stated)
        return some(("al", sd, scaled("core", "al_scale", sd)))
    mu_sd = stated_or(given.mu_i, core.material.tolerance / 2)
    area_sd = stated_or(given.core_area, deviation("core_area"))
    gap_sd = face_sd = 0.0
    if np.any(np.asarray(core.gap) > 0):
        stated = gap_deviation(core) if core.gap_tolerance is None else core.gap_tolerance / 2
        gap_sd = stated_or(given.gap, stated)
    if np.any(np.asarray(core.face_gap) > 0):
        face_sd = stated_or(given.face_gap, deviation("face_gap"))

    def permeable(d: Design, z: Real) -> Design:
        initial = d.core.material.initial_permeability * log_normal_factor(mu_sd, z)
        return replace(
            d, core=replace(d.core, material=replace(d.core.material, initial_permeability=initial))
        )

    return some(
        ("mu_i", mu_sd, permeable),
        ("gap", gap_sd, scaled("core", "gap", gap_sd)),
        ("face_gap", face_sd, scaled("core", "face_gap", face_sd)),
        ("core_area", area_sd, scaled("core", "effective_area", area_sd)),
    )


def _common_parameters(design: Design) -> list[Parameter]:
    """What all windings of a part share: turn length, copper, temperature, core loss, insulation."""
    sds = {
        name: stated_or(getattr(design.tolerances, name), deviation(name))
        for name in ("mean_turn", "resistivity", "temperature", "loss", "permittivity")
    }
    return some(
        ("mean_turn", sds["mean_turn"], scaled("build", "mean_turn_scale", sds["mean_turn"])),
        ("resistivity", sds["resistivity"], scaled("model", "resistivity", sds["resistivity"])),
        ("temperature", sds["temperature"], shifted("bench", "temperature_error", sds["temperature"])),
        ("loss", sds["loss"], scaled("model", "loss", sds["loss"])),
        ("permittivity", sds["permittivity"], scaled("model", "permittivity", sds["permittivity"])),
    )


@by_value(16)
def model_leakage_error(design: Design) -> float:
    """Standard relative error of the leakage model that all leakages of a design share.

    It is what [spread] or the calibration states, else what the model states (``shared_leakage_error``).

    Parameters
    ----------
    design : Design of one build

    Returns
    -------
    float, relative standard error, dimensionless
    """
    if design.tolerances.model_leakage is not None:
        return design.tolerances.model_leakage
    return shared_leakage_error(design)


def _al_error(core: Core) -> float:
    """Standard relative error of AL from gap and permeability. Printed tables of sets whose centre leg is
    lower than the yoke (EFD) stray more: the rounded edges of their legs, which data sheets do not
    mention, take up to a tenth of the leg (the field itself is known better,
    ``tests/reference/test_flat_legs.py``)."""
    dimensions = core.dimensions
    factor = FLAT_LEG_ERROR if dimensions.leg_over_yoke < LOW_LEG else 1.0
    if dimensions.form == "U" and float(np.max(np.asarray(core.gap))) > LONG_GAP * dimensions.window[1]:
        factor = max(factor, LONG_GAP_ERROR)
    return deviation("model_inductance") * factor


def _model_parameters(design: Design) -> list[Parameter]:
    given = design.tolerances
    core = design.core
    exact_al = 0.0 if core.al is not None or not core.dimensions.permeable else _al_error(design.core)
    sizes = {
        "leakage": model_leakage_error(design),
        "inductance": stated_or(given.model_inductance, exact_al),
        "ac_resistance": stated_or(given.model_ac_resistance, ac_resistance_error(design)),
        "capacitance": stated_or(given.model_capacitance, deviation("model_capacitance")),
    }
    result = [
        Parameter(f"model_{name}", "model", scaled("model", name, sd)) for name, sd in sizes.items() if sd > 0
    ]
    moved = ["together"] if _acts_together(design) else []
    if core.material.sheet_thickness > THINNEST_LAMINATION and _fielded(design):
        moved += ["weak_field", "weak_curve"]
    return result + [
        Parameter(f"model_{name}", "model", shifted("model", name, deviation(f"model_{name}")))
        for name in (*moved, "leg_share")
    ]


AWAY = 10.0
"""Kelvin from 23 °C above which the temperature of a test counts together with its level (judged; no
other value was compared)."""


def _acts_together(design: Design) -> bool:
    """Whether a test has a direct current, or a temperature that moves the permeability, in a material with
    known data."""
    if not design.core.dimensions.permeable:
        return False
    known = bool(np.all(np.isfinite(np.asarray(design.core.material.initial_permeability))))
    return known and any(
        test.bias > 0 or abs(stated_temperature(design, test) - REFERENCE_TEMPERATURE) > AWAY
        for test in _fielded(design)
    )


def _fielded(design: Design) -> list[BenchTest]:
    """The tests that magnetize the core."""
    return [test for test in design.tests if test.measure != "resistance"]


def _setup_parameters(design: Design) -> list[Parameter]:
    """Link and leads: each ± bound holds 95 % (k = 2); inductance and resistance vary together with the
    length."""
    bench = design.bench
    result = []
    for part in ("short", "lead"):
        inductance_sd = getattr(bench, f"{part}_inductance_tolerance") / 2
        resistance_sd = getattr(bench, f"{part}_resistance_tolerance") / 2
        present = np.any(np.asarray(getattr(bench, f"{part}_inductance")) > 0) or np.any(
            np.asarray(getattr(bench, f"{part}_resistance")) > 0
        )
        if not present or (inductance_sd == 0 and resistance_sd == 0):
            continue

        def change(
            d: Design, z: Real, part: str = part, sds: tuple[float, float] = (inductance_sd, resistance_sd)
        ) -> Design:
            scaled = {
                f"{part}_{quantity}": getattr(d.bench, f"{part}_{quantity}") * log_normal_factor(sd, z)
                for quantity, sd in zip(("inductance", "resistance"), sds, strict=True)
            }
            return replace(d, bench=replace(d.bench, **scaled))

        result.append(Parameter("shorting link" if part == "short" else "leads", "setup", change))
    return result
