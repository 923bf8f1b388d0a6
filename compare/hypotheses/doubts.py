"""How far a diagnosis doubts the models where nobody has said how good they are.

What a model says of itself holds for a part that is wound as it is drawn. A part on the bench never quite is:
leads are dressed, layers bulge, varnish went somewhere. A diagnosis that took the models at their word would
accuse sound parts of what the models left out. So where neither ``[spread]`` nor ``[calibration]`` states a
model's error, at least that of ``LEAST`` is taken; a known-good sample removes the doubt.
"""

from __future__ import annotations

from dataclasses import replace

from ...predict.copper import ac_resistance_error
from ...predict.design import Design
from ...predict.production import deviation, model_leakage_error

LEAST = {"model_leakage": 0.04, "model_capacitance": 0.18, "model_ac_resistance": 0.15}
"""Relative standard errors (judged)."""


def doubted(design: Design) -> Design:
    """The design with at least the model errors of ``LEAST`` where none are stated.

    Raises BuildError where the design's layout is outside the models.
    """
    given = design.tolerances
    own = {
        "model_leakage": lambda: model_leakage_error(design),
        "model_capacitance": lambda: deviation("model_capacitance"),
        "model_ac_resistance": lambda: ac_resistance_error(design),
    }
    unstated = {key: max(own[key](), least) for key, least in LEAST.items() if getattr(given, key) is None}
    return replace(design, tolerances=replace(given, **unstated)) if unstated else design
