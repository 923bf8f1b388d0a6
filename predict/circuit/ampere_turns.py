"""The ampere-turn function of a test: how much current each height of the build encloses.

It is one-dimensional, as drawn beside a cross-section; the leakage itself comes from two-dimensional fields.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..cores import centre_leg_share, core_share
from ..design import BenchTest, Design, FloatArray, first_build
from ..errors import DesignError, Fault, nearest
from ..winding import Layout
from .network import members_of
from .section_coupling import balanced_ampere_turns, sections_of

NO_DIAGRAM = ("capacitance", "resonance")
"""Measures without a driven current, which have no ampere-turn diagram."""


@dataclass(frozen=True)
class AmpereTurnFunction:
    """The ampere-turns F along the axis on which layers stack, at P places.

    Attributes
    ----------
    test : BenchTest, that drives the current
    positions : (P,) array, places along the axis, m, rising; a jump has two equal places
    values : (P,) array, F per ampere into the driven terminals, A, linear between the places
    opposed : bool, whether shorted windings carry the opposing current (in open tests nothing opposes)
    along_leg : bool
        Whether the places are heights above the lower yoke rather than distances from the leg (or from the
        surface of a ring).
    """

    test: BenchTest
    positions: FloatArray
    values: FloatArray
    opposed: bool
    along_leg: bool


def diagram_test(design: Design, name: str | None = None) -> BenchTest | None:
    """The test whose ampere-turns are drawn.

    Parameters
    ----------
    design : Design of one or B builds
    name : str or None
        Name of the test; None: the first test with a short, else the first that has a diagram.

    Returns
    -------
    BenchTest or None, the test; None if no test has a diagram

    Raises
    ------
    DesignError
        For an unknown name, or a test without a diagram.
    """
    fit = [test for test in design.tests if test.measure not in NO_DIAGRAM]
    if name is None:
        return next((test for test in fit if test.short), fit[0] if fit else None)
    for test in design.tests:
        if test.name == name:
            if test in fit:
                return test
            others = (
                ": one of " + ", ".join(fitting.name for fitting in fit) if fit else "; this design has none"
            )
            raise DesignError(
                Fault(
                    "option --draw-test",
                    f"{name!r}, a test of {test.measure}",
                    f"a test that drives a current{others}",
                )
            )
    names = [test.name for test in fit]
    raise DesignError(
        Fault("option --draw-test", repr(name), "one of " + ", ".join(names), nearest(name, names))
    )


def ampere_turn_function(design: Design, test: BenchTest) -> AmpereTurnFunction:
    """F along the stacking axis, per ampere into the driven terminals of a test.

    Layers around the leg: F(x) = Σ_j NI_j (part of section j within x) − s ΣNI, with s the share of the
    centre leg in the ampere-turn drop of the core. Flat layers, and windings side by side in chambers: F(y) =
    Σ_j NI_j (part of j below y) − ΣNI d(y), with d the part of the core's drop below y: a jump at the gap
    and, for the share of the material, linear. With a short the ampere-turns sum to zero
    (``balanced_ampere_turns``). In an open test only the driven windings carry current, and sections in
    parallel share it evenly.

    Parameters
    ----------
    design : Design of one or B builds
    test : BenchTest, that drives the current

    Returns
    -------
    AmpereTurnFunction, ampere-turn function of the first build

    Raises
    ------
    BuildError
        Where the layout is outside the leakage model.

    References
    ----------
    Rogowski 1909; Dowell 1966 (one-dimensional field; from memory).
    """
    sections = sections_of(design)
    layout = sections.layout
    width, height = design.core.dimensions.window
    ring = design.core.dimensions.ring
    chambers = len(design.bobbin.chambers) or design.bobbin.chamber_count
    along_leg = design.build.direction == "up" or chambers > 1
    if test.short:
        flow = balanced_ampere_turns(sections, (test,))[0, 0]
    else:
        flow = _driven_alone(design, layout, np.sum(sections.to_branch[0], axis=0), test)
    low, high = (2, 3) if along_leg else (0, 1)
    begin, end = layout.copper[0, :, low].copy(), layout.copper[0, :, high].copy()
    second = np.array([section.leg == 2 for section in layout.sections])
    if not along_leg and second.any():
        begin, end = np.where(second, width - end, begin), np.where(second, width - begin, end)
    limit = height if along_leg else width
    gap = height if design.core.gap_at == "end" else height / 2
    positions = np.unique(np.concatenate([[0.0, limit], begin, end]))
    positions = np.sort(np.concatenate([positions, [gap, gap]])) if along_leg else positions
    span = np.maximum(end - begin, 1e-12)
    within = np.clip((positions[:, None] - begin) / span, 0.0, 1.0) @ flow
    total = float(np.sum(flow))
    if along_leg:
        material = first_build(core_share(design.core))
        after = (positions > gap) | (np.arange(len(positions)) == np.searchsorted(positions, gap) + 1)
        drop = material * positions / limit + (1 - material) * after
        values = within - total * drop
    else:
        share = 1.0 if ring else first_build(centre_leg_share(design.core))
        values = within - share * total
    values = np.where(np.abs(values) < 1e-9 * max(float(np.sum(np.abs(flow))), 1e-300), 0.0, values)
    return AmpereTurnFunction(test, positions, np.asarray(values), bool(test.short), along_leg)


def _driven_alone(design: Design, layout: Layout, signed: FloatArray, test: BenchTest) -> FloatArray:
    """(n,) ampere-turns of the sections when only the driven windings carry current."""
    flow = np.zeros(len(layout.sections))
    for member in members_of(design, test.drive):
        of_winding = np.array([section.winding == member.name for section in layout.sections])
        share = -1.0 if member.reversed else 1.0
        if design.winding(member.name).sections == "parallel":
            share /= max(sum(branch.winding == member.name for branch in layout.branches), 1)
        flow = flow + np.where(of_winding, signed * share, 0.0)
    return flow
