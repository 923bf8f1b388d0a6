"""What known-good samples have taught about a design: factors on the models, and how well they are known.

    leakage      the leakage inductance by the field model
    inductance   the permeance of the core
    capacitance  all capacitances
    mean_turn    the length of all turns, and with it resistance and leakage

For pairs of windings and single readings (``OwnFactor``) there is the remaining error as well.

Truth = factor × model. The learned uncertainty replaces the error of the model itself: ``model_leakage``,
``model_inductance``, ``model_capacitance`` and ``mean_turn`` of [spread]. With ``capacitance`` the part of
``permittivity`` that belongs to the design goes too, as the sample has shown it. Production tolerances stay:
one sample fixes the model, not the spread of the parts to come.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from ..design import Design, OwnFactor
from .common_parts import shares_of
from .defaults import deviation
from .parameter import stated_or

REPLACES = {
    "leakage": "model_leakage",
    "inductance": "model_inductance",
    "capacitance": "model_capacitance",
    "mean_turn": "mean_turn",
}
"""Key of [calibration] → the tolerance that it replaces."""


@dataclass(frozen=True)
class Factor:
    """A factor on one of the models, learned from samples.

    Attributes
    ----------
    key : str, of [calibration]
    factor : float, truth over model, dimensionless
    deviation : float, its standard uncertainty, relative, dimensionless
    """

    key: str
    factor: float
    deviation: float


def calibrated(design: Design, factors: Sequence[Factor], own_factors: Sequence[OwnFactor] = ()) -> Design:
    """The design with learned factors applied.

    Their uncertainties replace the errors of the models, and a caution says so.

    Parameters
    ----------
    design : Design of one or B builds
    factors : sequence of Factor, factors on the models
    own_factors : sequence of OwnFactor, factors of pairs of windings and of single readings

    Returns
    -------
    Design, calibrated design; the design itself where there are no factors
    """
    if not factors and not own_factors:
        return design
    model, build, spread = design.model, design.build, design.tolerances
    cautions = []
    for item in factors:
        key = REPLACES[item.key]
        if getattr(spread, key) is not None:
            cautions.append(
                f"calibration.{item.key} replaces spread.{key}: the uncertainty left by the sample applies."
            )
        if item.key == "mean_turn":
            build = replace(build, mean_turn_scale=build.mean_turn_scale * item.factor)
        else:
            model = replace(model, **{item.key: getattr(model, item.key) * item.factor})
        spread = replace(spread, **{key: item.deviation})
        if item.key == "capacitance":
            whole = stated_or(spread.permittivity, deviation("permittivity"))
            spread = replace(spread, permittivity=whole * math.sqrt(1 - shares_of("permittivity").design))
    told = ", ".join(f"{item.key} × {item.factor:.4g} ± {200 * item.deviation:.2g} %" for item in factors)
    if own_factors:
        told += f"{', ' if told else ''}{len(own_factors)} pairs and readings of their own"
    text = f"Calibrated by a known-good sample: {told} (k = 2)."
    return replace(
        design,
        model=replace(model, own=tuple(own_factors)),
        build=build,
        tolerances=spread,
        cautions=(*design.cautions, text, *cautions),
    )
