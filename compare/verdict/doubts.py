"""How far readings may stray from the models if nobody has stated how good the models are.

A model's own error estimate holds for a part that is wound as drawn. A part on the bench never quite is:
leads are dressed, layers bulge, varnish went somewhere. A verdict that took the models at their word would
accuse good parts of what the models left out. So if neither ``[spread]`` nor ``[calibration]`` states a
model's error, at least that of ``LEAST`` is used; a known-good sample removes the doubt.
"""

from __future__ import annotations

from dataclasses import replace

from ...predict.copper import ac_resistance_error
from ...predict.design import Design
from ...predict.production import deviation, model_leakage_error

LEAST = {"model_leakage": 0.04, "model_capacitance": 0.18, "model_ac_resistance": 0.15}
"""Relative standard errors (judged)."""


RESIDUAL = {
    "inductance": 0.003,
    "ac_resistance": 0.04,
    "quality": 0.08,
    "resistance": 0.002,
    "ratio": 0.0006,
    "mutual": 0.003,
    "phase": 0.02,
    "capacitance": 0.04,
    "resonance": 0.05,
}
"""Standard deviation of what neither tolerances nor meter explain, by measure (relative; phase in rad).

Quality: what remains besides the spread of core loss, which is a tolerance of its own. Capacitance: how
the wires of neighbouring layers lie (in register or crossing changes a pair by 1 to 5 %,
``capacitance.facing_layers``) and how far the varnish went, in addition to the model's error, which all
capacitances of a part share. Resonance: half of that, because the frequency goes with the root of the
capacitance. Common practice, no source.
"""


def doubted(design: Design) -> Design:
    """The design with at least the model errors of ``LEAST`` where none are stated.

    Parameters
    ----------
    design : Design
        The transformer.

    Raises
    ------
    BuildError
        The layout is outside the models.
    """
    given = design.tolerances
    own_factors = {
        "model_leakage": lambda: model_leakage_error(design),
        "model_capacitance": lambda: deviation("model_capacitance"),
        "model_ac_resistance": lambda: ac_resistance_error(design),
    }
    unstated = {
        key: max(own_factors[key](), least) for key, least in LEAST.items() if getattr(given, key) is None
    }
    return replace(design, tolerances=replace(given, **unstated)) if unstated else design
