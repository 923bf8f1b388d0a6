"""Capacitance of a build: the electrostatic energy of its layers at their real potentials.

The turns of one branch (the part of one winding that one step winds) share their flux. The potential
therefore rises evenly, turn by turn, from the start of the branch to its finish, and is linear along a layer
from its first turn to its last. Between two neighbouring faces with the capacitance c per area and turns of
length l

    W = ½ c l ∫ [V_a(y) − V_b(y)]² dy

over the stretch along which they see each other. A layer hides only what lies behind the part it covers, and
a spaced layer lets its neighbours face each other through its openings (``openings``). With every potential a
combination of the branches' end potentials V, W = ½ Vᵀ C V, and C is the matrix of this module: symmetric,
positive semidefinite, with rows that sum to zero (nothing is grounded). Core and shields are conductors of
one potential.

Faces: layer to layer, to leg and outer wall, to shields; ends of layers to yokes and to the neighbouring
chamber (as plates, ε0 × thickness/distance); turn to turn within a layer, which makes up nearly all of the
capacitance between windings wound together. What lies between comes from the build steps: tape, spacers,
interlayer, the bobbin's walls; the rest is air or the impregnation. Range: neighbouring layers that are
closer to each other than they are broad.

A turn of foil has one potential across its breadth, and neighbouring turns differ by the voltage of one turn
all round: foils count as wound from the same side. In a layer wound at random any turn may lie anywhere. At
each place it therefore has the mean potential of the layer, with the variance Δ²/12 of the potentials between
its two ends, independent of its neighbours:

    E[(V_a − V_b)²] = (V̄_a − V̄_b)² + Δ_a²/12 + Δ_b²/12

so p such layers hold 7/6 of the energy of same-side winding; winding back and forth holds 4/3. Neighbouring
turns of such a layer count as one turn apart, which is the lower limit.

Source: electrostatics; the energy method for windings is in textbooks (E. C. Snelling, "Soft Ferrites", 1988,
ch. 11, from memory); the statistics of random winding are this project's own.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from ..alike import alike, taken
from ..design import Design, FloatArray, Real, builds, columns_of
from ..remembered import by_value
from ..winding import Branch, Layout, laid_part, layout_of
from .across import add_faces_across
from .along import add_faces_along, add_turn_to_turn
from .electrodes import electrode_space, units_of
from .energy import Energy
from .insulation_below import SolidInsulation
from .through_air import add_field_through_air


@dataclass(frozen=True)
class BuildCapacitance:
    """Capacitance matrix of B builds over m potentials.

    Attributes
    ----------
    labels : tuple of (int, str)
        Names of the m potentials: (branch index, "start"), (branch index, "finish"), and core and shields as
        (−1, name).
    matrix : (B, m, m) array, capacitance matrix C, F
    """

    labels: tuple[tuple[int, str], ...]
    matrix: FloatArray

    def connected(self, design: Design, branches: Sequence[Branch]) -> BuildCapacitance:
        """The same with the ends of sections exchanged that a design connects the wrong way round.

        Parameters
        ----------
        design : Design of the builds
        branches : sequence of Branch, of their layout
        """
        count, size, _ = self.matrix.shape
        signs = [design.winding(branch.winding).polarity_of(branch.ordinal) for branch in branches]
        polarity: list[Real] = [np.asarray(each, float) for each in signs]
        turned = columns_of(polarity, count) < 0
        if not np.any(turned):
            return self
        order = np.tile(np.arange(size), (count, 1))
        for number in np.flatnonzero(np.any(turned, axis=0)).tolist():
            start, finish = (self.labels.index((number, end)) for end in ("start", "finish"))
            order[turned[:, number], start] = finish
            order[turned[:, number], finish] = start
        build = np.arange(count)[:, None, None]
        return replace(self, matrix=self.matrix[build, order[:, :, None], order[:, None, :]])


def build_capacitance(
    design: Design, layout: Layout, solid: SolidInsulation | None = None
) -> BuildCapacitance:
    """The capacitance matrix of all builds of a design.

    Equations and range: see the module.

    Parameters
    ----------
    design : Design of one or B builds
    layout : Layout, where the turns of its builds lie (``lay_out``)
    solid : SolidInsulation or None
        Insulation between the steps, where builds lay them in different orders; None takes it from the steps
        of the design.

    Returns
    -------
    BuildCapacitance, matrix C, F, with the names of its potentials
    """
    space = electrode_space(design, layout, solid)
    energy = Energy(space, units_of(space))
    add_faces_across(energy)
    add_faces_along(energy)
    add_turn_to_turn(energy)
    add_field_through_air(energy)
    factor = np.reshape(np.asarray(design.model.capacitance, float), (-1, 1, 1))
    alone = BuildCapacitance(energy.labels, energy.matrix() * factor)
    return alone.connected(design, layout.branches)


def shared_capacitance(
    design: Design, layout: Layout, solid: SolidInsulation | None = None
) -> BuildCapacitance:
    """``build_capacitance``, computed once for builds with equal layers and insulation.

    Parameters
    ----------
    design : Design of one or B builds
    layout : Layout, where the turns of its builds lie (``lay_out``)
    solid : SolidInsulation or None, as in ``build_capacitance``

    Returns
    -------
    BuildCapacitance, matrix C, F, with the names of its potentials
    """
    part, count = laid_part(design), len(layout.top)
    if builds(part) is None and solid is None:
        few, of_build = _of_one_build(part), np.zeros(count, np.int64)
    else:
        every = np.arange(count)
        insulated = (part.build, part.bobbin, part.windings, *((solid,) if solid else ()))
        rows, of_build = alike(count, layout, insulated, part.model) or (every, every)
        of_rows = None if solid is None else taken(solid, rows, count)
        few = build_capacitance(taken(part, rows, count), taken(layout, rows, count), of_rows)
    return replace(few, matrix=few.matrix[of_build]).connected(design, layout.branches)


@by_value(64)
def _of_one_build(part: Design) -> BuildCapacitance:
    """The capacitance of one build, for the part of a design that it depends on (``laid_part``)."""
    return build_capacitance(part, layout_of(part))
