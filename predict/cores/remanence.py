"""What a direct current or a switch-off leaves in a closed stack, and what the stack then answers.

After saturation the material lies on the falling branch of its loop. From remanence Br to coercivity Hc the
branch is taken as a hyperbola of squareness s, and the joints put the material on the load line H = −N B,

    B = Br (Hc − h)/(Hc − s h),   h = N B,   N = R_air Ae/le

with R_air the reluctance of faces and gaps: a joint of some micrometres shears the loop and lowers what
remains. An alternating level wipes out more of it, by exp(−``WIPED`` B̂/Br). With a grade's own Br and Hc it
is within 13 % of Br of the loops of five measured grades of non-oriented steel, with the level 8 %
(``tests/published/test_remanence.py``).

At remanence the material answers with its reversible permeability by Gans's law. That is the lower end: a
Preisach model says that remanence alone changes nothing (loops between the same fields are congruent). What a
meter reads lies between both; no published value holds it.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from ..design import Core, FloatArray, Real
from .direct_current import reversible_ratio
from .magnetizing import air_reluctance

SQUARENESS = 0.85
"""s of the falling branch: 1 would be a rectangle (fitted to the loops of four measured steels)."""
WIPED = 3.5
"""How fast an alternating flux density of peak B̂ wipes out remanence, in B̂/Br (judged:
fitted to the same loops)."""


def remanent_flux_density(core: Core, peak: Real = 0.0) -> FloatArray:
    """Flux density that remains in a core at most, at an alternating level. Equation: see the module.

    Parameters
    ----------
    core : Core of one or B builds
    peak : float or (...,) array, peak B̂ of the alternating flux density, T

    Returns
    -------
    (...,) array, flux density, T; 0 for grades of unknown remanence
    """
    left, coercive = core.material.remanence, core.material.coercivity
    if left <= 0 or coercive <= 0:
        return np.zeros(np.shape(peak))
    slope = air_reluctance(core) * np.asarray(core.effective_area) / core.effective_length
    middle = coercive + left * slope
    root = np.sqrt(middle**2 - 4 * slope * SQUARENESS * left * coercive)
    return np.asarray(2 * left * coercive / (middle + root) * np.exp(-WIPED * np.asarray(peak) / left))


def remanent_ratio(core: Core, peak: Real = 0.0) -> FloatArray:
    """Least permeability of a core that was magnetized, over that of the demagnetized one.

    Parameters
    ----------
    core : Core of one or B builds
    peak : float or (...,) array, peak B̂ of the alternating flux density, T

    Returns
    -------
    (...,) array, ratio, dimensionless; 1 for grades of unknown remanence
    """
    return reversible_ratio(core.material, remanent_flux_density(core, peak))


def remanent_core(core: Core, peak: float = 0.0) -> Core:
    """The core as it answers at most remanence: with the permeability that is left.

    Parameters
    ----------
    core : Core of one build
    peak : float, peak B̂ of the alternating flux density, T

    Returns
    -------
    Core, core; ``core`` itself for grades of unknown permeability or remanence
    """
    material = core.material
    initial = float(np.asarray(material.initial_permeability))
    if material.remanence <= 0 or not math.isfinite(initial):
        return core
    left = initial * float(remanent_ratio(core, peak))
    return replace(core, material=replace(material, initial_permeability=left))
