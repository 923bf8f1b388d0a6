"""Capacitance of a build: the electrostatic energy of its layers at their real potentials.

Turns of one branch (what one step winds of one winding) share their flux, so the potential runs evenly with
the turns from the branch's start to its finish; along a layer it is linear from the turns that the layer
begins with to those that it ends with. Between two neighbouring faces with c farads per area and turns of
length l

    W = ½ c l ∫ [V_a(y) − V_b(y)]² dy

over the stretch along which they see each other: a layer hides what lies behind it only where it covers, and
a spaced one lets its neighbours face each other through its openings (``openings``).
With every potential a combination of the branches' end potentials V, W = ½ Vᵀ C V, and C is the matrix of
this module: symmetric, positive semidefinite, with rows that sum to zero (nothing is grounded). Core and
shields are conductors of one potential.

Faces: layer to layer, to leg and outer wall, to shields; ends of layers to yokes and to the neighbouring
chamber (as plates, ε0 × thickness/distance); turn to turn within a layer, which is nearly all between
windings wound together. What lies between is taken from the build steps: tape, spacers, interlayer, the
bobbin's walls; the rest is air or what impregnates the part. Range: layers along which neighbours are
closer than they are broad.

A turn of foil has one potential across its breadth, and neighbouring turns differ by one turn's voltage all
round: foils count as wound from the same side. In a layer wound without order any of its turns may lie
anywhere: at each place the mean potential of the layer, with the variance Δ²/12 of the potentials between
its two ends, independent of its neighbour's:

    E[(V_a − V_b)²] = (V̄_a − V̄_b)² + Δ_a²/12 + Δ_b²/12

so p such layers hold 7/6 of what same-side winding holds, back and forth 4/3. Its neighbouring turns count
as one turn apart, which is the least.

Source: electrostatics; the energy method for windings is textbook matter (E. C. Snelling, "Soft Ferrites",
1988, ch. 11, from memory); the statistics of wild winding is this project's own.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..design import Design, FloatArray
from ..winding import Layout
from .across import add_faces_across
from .along import add_faces_along, add_turn_to_turn
from .electrodes import electrode_space, units_of
from .energy import Energy
from .insulation_below import SolidInsulation


@dataclass(frozen=True)
class BuildCapacitance:
    """``labels`` of the m potentials: (branch, "start"), (branch, "finish"), and core and shields by name, as
    (−1, name). ``matrix`` (B, m, m): C (F)."""

    labels: tuple[tuple[int, str], ...]
    matrix: FloatArray


def build_capacitance(
    design: Design, layout: Layout, solid: SolidInsulation | None = None
) -> BuildCapacitance:
    """The capacitance matrix of all builds of ``design``; equations and range in the module's docstring.

    solid : the insulation between the steps where builds lay them in different orders; None: as the design's
    steps have it.
    """
    space = electrode_space(design, layout, solid)
    energy = Energy(space, units_of(space))
    add_faces_across(energy)
    add_faces_along(energy)
    add_turn_to_turn(energy)
    factor = np.reshape(np.asarray(design.model.capacitance, float), (-1, 1, 1))
    return BuildCapacitance(energy.labels, energy.matrix() * factor)
