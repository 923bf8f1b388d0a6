"""What part of normal production is higher than the room in the window.

Every screen uses the same random builds, so all of them give the same number. Designs whose nominal build
leaves more than MARGIN of the room free are not tried: heights in production stray by a few per cent only.
"""

from __future__ import annotations

import numpy as np

from ..design import Design
from ..winding import lay_out
from .monte_carlo import BUILDS, normal_draws, random_builds
from .tolerances import build_parameters

WORTH_SAYING = 0.005
"""Part of the builds that do not fit the window above which a caution is given (judged; a caution,
no verdict)."""
MARGIN = 0.2
"""Part of the room left free by a nominal build that is sure to fit (follows from the tolerances: heights
stray by a few per cent)."""


def too_high(design: Design) -> float:
    """Part of 2000 random builds (seed 1) of a design of one build that are higher than the room in the
    window, 0 to 1, dimensionless. A design that fits raises nothing."""
    if float(lay_out(design).fill[0]) < 1 - MARGIN:
        return 0.0
    chosen = build_parameters(design)
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
