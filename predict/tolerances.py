"""Tolerances as changes of a design: every independent source of scatter, and what one unit of it does.

A ``Parameter`` is a change of the design for z standard deviations. The same parameters drive the spread, the
uncertainty of a prediction and the background against which causes are weighed.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from .design import (
    Core,
    Design,
    FloatArray,
    Real,
    Step,
    TapeStep,
    ToroidDimensions,
    WindStep,
)
from .section_coupling import leakage_model_error, sections_of

DEFAULTS = {
    "al_ungapped": 0.125,
    "al_gapped": 0.025,
    "gap": 0.03,
    "face_gap": 0.30,
    "core_area": 0.01,
    "wire": 0.005,
    "enamel": 0.08,
    "tape": 0.05,
    "interlayer": 0.05,
    "breadth": 0.005,
    "centring": 0.1e-3,
    "mean_turn": 0.01,
    "resistivity": 0.005,
    "temperature": 0.5,
    "model_inductance": 0.03,
    "model_ac_resistance": 0.10,
    "model_leg_share": 0.15,
}
"""Standard deviations where the design file names none; relative, but ``centring`` in m and ``temperature``
in K.

al_ungapped: ±25 %, al_gapped: ±5 % (core makers' data sheets, e.g. E42/21/15, RM8/I); wire: ±1 % of the
diameter (IEC 60317-0-1); enamel: the width of the standard's range of overall diameters; model_inductance:
the fringing factor's error on published gap tables (−0.5…−5 %); model_ac_resistance: the layer model
against field solutions; the rest: common practice, no source."""

Origin = Literal["build", "model", "setup"]


@dataclass(frozen=True)
class Parameter:
    """One independent source of scatter.

    name : as in the design file's [spread], with the winding or thickness it belongs to.
    origin : "build" (production), "model" (the prediction's own error) or "setup" (link and leads on the
    bench).
    change : (design, z) → design, with z in standard deviations, a number or an array over builds.
    """

    name: str
    origin: Origin
    change: Callable[[Design, Real], Design]


def _factor(sd: float, z: Real) -> FloatArray:
    """Log-normal factor with relative standard deviation ``sd``: positive however large."""
    return np.asarray(np.exp(math.sqrt(math.log1p(sd**2)) * np.asarray(z)))


def _or(value: float | None, default: float) -> float:
    return default if value is None else value


def parameters(design: Design) -> tuple[Parameter, ...]:
    """Every source of scatter of ``design``: production tolerances, model errors, link and leads."""
    return (
        *_core_parameters(design),
        *_winding_parameters(design),
        *_model_parameters(design),
        *_setup_parameters(design),
    )


def _core_change(edit: Callable[[Core, Real], Core]) -> Callable[[Design, Real], Design]:
    return lambda design, z: replace(design, core=edit(design.core, z))


def _core_parameters(design: Design) -> list[Parameter]:
    core, given = design.core, design.tolerances
    result: list[Parameter] = []
    if core.al is not None:
        gapped = bool(np.any(np.asarray(core.gap) > 0))
        default = DEFAULTS["al_gapped"] if gapped else DEFAULTS["al_ungapped"]
        if core.al_tolerance is not None:
            default = core.al_tolerance / 2
        sd = _or(given.al, default)
        result.append(
            Parameter(
                "al", "build", _core_change(lambda c, z: replace(c, al_scale=c.al_scale * _factor(sd, z)))
            )
        )
    else:
        mu_sd = _or(given.mu_i, core.material.tolerance / 2)

        def permeability(c: Core, z: Real) -> Core:
            return replace(
                c,
                material=replace(
                    c.material, initial_permeability=c.material.initial_permeability * _factor(mu_sd, z)
                ),
            )

        result.append(Parameter("mu_i", "build", _core_change(permeability)))
        if np.any(np.asarray(core.gap) > 0):
            default = core.gap_tolerance / 2 if core.gap_tolerance is not None else DEFAULTS["gap"]
            gap_sd = _or(given.gap, default)
            result.append(
                Parameter(
                    "gap", "build", _core_change(lambda c, z: replace(c, gap=c.gap * _factor(gap_sd, z)))
                )
            )
        if np.any(np.asarray(core.face_gap) > 0):
            face_sd = _or(given.face_gap, DEFAULTS["face_gap"])
            result.append(
                Parameter(
                    "face_gap",
                    "build",
                    _core_change(lambda c, z: replace(c, face_gap=c.face_gap * _factor(face_sd, z))),
                )
            )
        area_sd = _or(given.core_area, DEFAULTS["core_area"])
        result.append(
            Parameter(
                "core_area",
                "build",
                _core_change(lambda c, z: replace(c, effective_area=c.effective_area * _factor(area_sd, z))),
            )
        )
    return result


def edit_steps(design: Design, edit: Callable[[int, Step], Step]) -> Design:
    """The design with every build step passed through ``edit`` (its number from 0, the step)."""
    steps = tuple(edit(number, step) for number, step in enumerate(design.build.steps))
    return replace(design, build=replace(design.build, steps=steps))


def _winding_parameters(design: Design) -> list[Parameter]:
    given = design.tolerances
    result: list[Parameter] = []
    wire_sd, enamel_sd = _or(given.wire, DEFAULTS["wire"]), _or(given.enamel, DEFAULTS["enamel"])
    for winding in design.windings:
        name = winding.name
        if winding.wire.kind not in ("foil", "track"):
            result.append(Parameter(f"wire {name}", "build", _wire_change(name, wire_sd, 0.0)))
            result.append(Parameter(f"enamel {name}", "build", _wire_change(name, 0.0, enamel_sd)))
        if not isinstance(design.core.dimensions, ToroidDimensions):
            result.append(
                Parameter(
                    f"centring {name}", "build", _centring(name, _or(given.centring, DEFAULTS["centring"]))
                )
            )
    rolls: dict[float, set[int]] = {}
    for number, step in enumerate(design.build.steps):
        if isinstance(step, TapeStep):
            rolls.setdefault(float(np.asarray(step.thickness).flat[0]), set()).add(number)
    tape_sd = _or(given.tape, DEFAULTS["tape"])
    for roll, numbers in sorted(rolls.items()):
        label = "tape" if len(rolls) == 1 else f"tape {roll * 1e3:.3g} mm"
        result.append(Parameter(label, "build", _tape(frozenset(numbers), tape_sd)))
    if np.any(np.asarray(design.build.interlayer) > 0):
        sd = _or(given.interlayer, DEFAULTS["interlayer"])
        result.append(
            Parameter(
                "interlayer",
                "build",
                lambda d, z: replace(
                    d, build=replace(d.build, interlayer=d.build.interlayer * _factor(sd, z))
                ),
            )
        )
    if not isinstance(design.core.dimensions, ToroidDimensions):
        result.append(Parameter("breadth", "build", _breadth(_or(given.breadth, DEFAULTS["breadth"]))))
    turn_sd, rho_sd = (
        _or(given.mean_turn, DEFAULTS["mean_turn"]),
        _or(given.resistivity, DEFAULTS["resistivity"]),
    )
    warm_sd = _or(given.temperature, DEFAULTS["temperature"])
    result += [
        Parameter(
            "mean_turn",
            "build",
            lambda d, z: replace(
                d, build=replace(d.build, mean_turn_scale=d.build.mean_turn_scale * _factor(turn_sd, z))
            ),
        ),
        Parameter(
            "resistivity",
            "build",
            lambda d, z: replace(
                d, model=replace(d.model, resistivity=d.model.resistivity * _factor(rho_sd, z))
            ),
        ),
        Parameter(
            "temperature",
            "build",
            lambda d, z: replace(
                d,
                bench=replace(d.bench, temperature_error=d.bench.temperature_error + warm_sd * np.asarray(z)),
            ),
        ),
    ]
    return result


def _wire_change(name: str, diameter_sd: float, enamel_sd: float) -> Callable[[Design, Real], Design]:
    return lambda design, z: _scale_wire(design, name, diameter_sd, enamel_sd, z)


def _scale_wire(design: Design, name: str, diameter_sd: float, enamel_sd: float, z: Real) -> Design:
    """All wire of one winding comes from one reel: diameter and insulation build scale in all its turns."""

    def edit(diameter: Real, overall: Real) -> tuple[Real, Real]:
        scaled = diameter * _factor(diameter_sd, z) if diameter_sd else diameter
        insulation = (np.asarray(overall) - np.asarray(diameter)) * (
            _factor(enamel_sd, z) if enamel_sd else 1.0
        )
        return scaled, np.asarray(scaled) + insulation

    windings = []
    for winding in design.windings:
        if winding.name == name:
            wire = winding.wire
            if wire.kind == "litz":
                scaled: Real = wire.diameter * _factor(diameter_sd, z) if diameter_sd else wire.diameter
                over = wire.overall * (_factor(diameter_sd, z) if diameter_sd else _factor(enamel_sd / 4, z))
                winding = replace(winding, wire=replace(wire, diameter=scaled, overall=over))
            else:
                bare, overall = edit(wire.diameter, wire.overall)
                winding = replace(winding, wire=replace(wire, diameter=bare, overall=overall))
        windings.append(winding)
    return replace(design, windings=tuple(windings))


def _centring(name: str, sd: float) -> Callable[[Design, Real], Design]:
    def change(design: Design, z: Real) -> Design:
        def edit(_: int, step: Step) -> Step:
            if isinstance(step, WindStep) and step.winding == name:
                return replace(step, shift=np.asarray(step.shift) + sd * np.asarray(z))
            return step

        return edit_steps(design, edit)

    return change


def _tape(numbers: frozenset[int], sd: float) -> Callable[[Design, Real], Design]:
    """One roll of tape is in all the steps ``numbers``."""

    def change(design: Design, z: Real) -> Design:
        def edit(number: int, step: Step) -> Step:
            if number in numbers and isinstance(step, TapeStep):
                return replace(step, thickness=step.thickness * _factor(sd, z))
            return step

        return edit_steps(design, edit)

    return change


def _breadth(sd: float) -> Callable[[Design, Real], Design]:
    """The room between the flanges: both flanges move by half of the change."""

    def change(design: Design, z: Real) -> Design:
        height = design.core.dimensions.window_height  # type: ignore[union-attr]
        room = height - 2 * np.asarray(design.bobbin.flange)
        flange = np.maximum(np.asarray(design.bobbin.flange) - room * (_factor(sd, z) - 1) / 2, 0.0)
        chambers = design.bobbin.chamber_scale * _factor(sd, z)
        return replace(design, bobbin=replace(design.bobbin, flange=flange, chamber_scale=chambers))

    return change


def model_leakage_error(design: Design) -> float:
    """Standard relative error of the leakage model for this design: what [spread] or calibration says, else
    the model's own."""
    if design.tolerances.model_leakage is not None:
        return design.tolerances.model_leakage
    return float(np.max(leakage_model_error(sections_of(design))))


def _model_parameters(design: Design) -> list[Parameter]:
    given = design.tolerances
    leakage_sd = model_leakage_error(design)
    inductance_sd = _or(
        given.model_inductance, 0.0 if design.core.al is not None else DEFAULTS["model_inductance"]
    )
    ac_sd = _or(given.model_ac_resistance, DEFAULTS["model_ac_resistance"])
    result = []
    for name, label, sd in (
        ("leakage", "model_leakage", leakage_sd),
        ("inductance", "model_inductance", inductance_sd),
        ("ac_resistance", "model_ac_resistance", ac_sd),
    ):
        if sd > 0:

            def change(d: Design, z: Real, name: str = name, sd: float = sd) -> Design:
                return replace(d, model=replace(d.model, **{name: getattr(d.model, name) * _factor(sd, z)}))

            result.append(Parameter(label, "model", change))
    share_sd = DEFAULTS["model_leg_share"]
    result.append(
        Parameter(
            "model_leg_share",
            "model",
            lambda d, z: replace(
                d, model=replace(d.model, leg_share=np.add(d.model.leg_share, share_sd * np.asarray(z)))
            ),
        )
    )
    return result


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
                f"{part}_{quantity}": getattr(d.bench, f"{part}_{quantity}") * _factor(sd, z)
                for quantity, sd in zip(("inductance", "resistance"), sds, strict=True)
            }
            return replace(d, bench=replace(d.bench, **scaled))

        result.append(Parameter("shorting link" if part == "short" else "leads", "setup", change))
    return result
