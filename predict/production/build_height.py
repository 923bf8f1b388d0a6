"""How many builds of an honest production are higher than the room in the window.

The same random builds stand behind it wherever it is shown, so that all screens say one number. Builds whose
plain one leaves more than MARGIN of the room are not tried: heights of production stray by a few per cent.
"""

from __future__ import annotations

import numpy as np

from ..design import Design
from ..winding import lay_out
from .monte_carlo import BUILDS, normal_draws, random_builds
from .tolerances import parameters

WORTH_SAYING = 0.005
"""Part of the builds that do not go into the window from which that is worth a caution."""
MARGIN = 0.2
"""Part of the room that is left beside a plain build that is sure to fit."""


def too_high(design: Design) -> float:
    """Part of 2000 random builds (seed 1) of ``design`` that are higher than the room in the window. Raises
    nothing for a design that fits."""
    if float(lay_out(design).fill[0]) < 1 - MARGIN:
        return 0.0
    chosen = tuple(parameter for parameter in parameters(design) if parameter.origin == "build")
    z = normal_draws([item.name for item in chosen], BUILDS, 1)
    return float(np.mean(lay_out(random_builds(design, chosen, z)).fill > 1.0))


def height_cautions(design: Design) -> tuple[str, ...]:
    """The caution about builds that are too high, or none."""
    part = too_high(design)
    if part <= WORTH_SAYING:
        return ()
    return (
        f"In {100 * part:.2g} % of builds the finished build is higher than the room in the window, and has "
        "to be pressed in: measure its height before coring.",
    )
