"""What happens to a wound part, or near it: moisture, varnish, screens, stress, metal."""

from __future__ import annotations

from dataclasses import replace
from functools import partial

import numpy as np

from ...predict.design import Design, ShieldStep
from .cause import (
    COMMON,
    RARE,
    Cause,
    Variant,
    equally,
    evenly,
    known_permeability,
    of_any_size,
    sized,
    the_core,
    with_step,
)
from .grades import is_powder, with_permeability

PERMITTIVITY = (1.25, 2.2)
STRESS = (0.5, 0.95)
NEAR_METAL = ((0.99, 1.1), (0.97, 1.3), (0.95, 1.6))
"""Inductance and core loss with metal near an open gap (ratios; judged from −1 … −5 % of inductance)."""
SAFETY = (
    "A missing or unconnected screen may be part of the protection: stop, and have the part's insulation and "
    "its protective connection tested under the applicable safety standard by a qualified person."
)


def _dielectric_title(design: Design, location: str, ratio: float) -> str:
    return f"the insulation has ×{ratio:.2f} the permittivity (moisture, varnish, another tape)"


def _dielectric(design: Design, location: str) -> list[Variant]:
    def changed(ratio: float) -> Design:
        permittivity = design.model.permittivity * ratio
        return replace(design, model=replace(design.model, permittivity=permittivity))

    return sized(design, location, of_any_size(*PERMITTIVITY, 6), changed, _dielectric_title)


def _shields(design: Design) -> tuple[str, ...]:
    return tuple(
        f"step {number + 1}"
        for number, step in enumerate(design.build.steps)
        if isinstance(step, ShieldStep) and not step.closed
    )


def _shield(design: Design, step_name: str) -> list[Variant]:
    """Closed on itself; left out, or not connected if a test or a tie needs its name."""
    number = int(step_name.removeprefix("step ")) - 1
    step = design.build.steps[number]
    assert isinstance(step, ShieldStep)
    result = [Variant(None, 1.0, with_step(design, number, closed=True), f"{step_name} is closed on itself")]
    if step.tied:
        loose = with_step(design, number, tied="")
        result.append(Variant(None, 1.0, loose, f"{step_name} is not connected to {step.tied}"))
    named = {
        member.name
        for test in design.tests
        for port in (test.drive, test.short, test.sense)
        for member in port
    }
    named |= {end.partition(".")[0] for test in design.tests for group in test.tie for end in group}
    if step.name not in named:
        steps = design.build.steps[:number] + design.build.steps[number + 1 :]
        without = replace(design, build=replace(design.build, steps=steps))
        result.append(Variant(None, 2.0, without, f"{step_name} (shield {step.name}) is missing"))
    return result


def _stress_title(design: Design, location: str, ratio: float) -> str:
    return f"stress (varnish, potting, clip) leaves ×{ratio:.2f} of the core's permeability"


def _stress(design: Design, location: str) -> list[Variant]:
    ratios = equally(evenly(*STRESS, 6))
    return sized(design, location, ratios, partial(with_permeability, design), _stress_title)


def _metal_near(design: Design, location: str) -> list[Variant]:
    result = []
    for scale, loss in NEAR_METAL:
        core = replace(design.core, al_scale=design.core.al_scale * scale)
        model = replace(design.model, loss=design.model.loss * loss)
        title = f"metal near the gap takes {100 * (1 - scale):.0f} % of the inductance"
        result.append(Variant(None, 1.0, replace(design, core=core, model=model), title))
    return result


CAUSES = (
    Cause(
        name="dielectric",
        kind="process",
        weight=COMMON,
        places=the_core,
        variants=_dielectric,
        confirm=(
            "Dry the part at 105 °C for some hours (if its materials allow), let it cool and read the "
            "capacitance again; read its loss factor."
        ),
        remedy="Name tape and varnish on the sheet; store and cure dry.",
        undone_by=(("dried", 0.3),),
        neutral=1.0,
        confusable=("insulation", "order"),
        continuous=True,
        title=_dielectric_title,
    ),
    Cause(
        name="shield",
        kind="process",
        weight=RARE,
        places=_shields,
        variants=_shield,
        confirm=(
            "Read the capacitance from the pin of the shield ({where}) to both neighbours, and the "
            "inductance at a tenth of the frequency: a ring shorted on itself collapses it less there."
        ),
        remedy="Have the shield of {where} signed for: laid, its overlap insulated, its end soldered.",
        confusable=("shorted-turn", "dielectric"),
        caution=SAFETY,
    ),
    Cause(
        name="stress",
        kind="process",
        weight=RARE,
        places=lambda design: () if is_powder(design) else known_permeability(design),
        variants=_stress,
        confirm=(
            "Compare with the reading before varnish or potting; warm the part and let it cool again: stress "
            "relaxes in part."
        ),
        remedy="Use a soft potting or a buffer on the core; do not tighten the clip beyond its force.",
        neutral=1.0,
        confusable=("material", "unseated", "bias", "cracked"),
        continuous=True,
        title=_stress_title,
    ),
    Cause(
        name="metal-near",
        kind="process",
        weight=RARE,
        places=lambda design: ("core",) if np.any(np.asarray(design.core.gap) > 0) else (),
        variants=_metal_near,
        confirm="Lift the part off the bench, away from clips and plates, and read the inductance again.",
        remedy="Keep metal a gap's length and more away from the gap; break loops of clips with insulation.",
        undone_by=(("moved clear", 0.0),),
        confusable=("gap", "unseated"),
    ),
)
