"""The ampere-turn function of a test: how much current each height of the build encloses.

One-dimensional, as drawn beside a cross-section; the leakage itself comes from two-dimensional fields.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..cores import centre_leg_share, core_share
from ..design import BenchTest, Design, FloatArray
from ..errors import DesignError, Fault, nearest
from ..winding import Layout
from .network import members_of
from .section_coupling import balanced_ampere_turns, sections_of

NO_DIAGRAM = ("capacitance", "resonance")
"""Measures that no driven current describes: they have no ampere-turn diagram."""


@dataclass(frozen=True)
class AmpereTurnFunction:
    """F (ampere-turns per ampere into the driven terminals) at ``places`` (m) along the axis on which layers
    stack, rising; linear between them, a jump where a place stands twice. ``opposed``: what is shorted (for
    open tests nothing) carries the opposing current. along_leg : the places are heights above the lower
    yoke, not distances from the leg (or from a ring's surface)."""

    test: BenchTest
    places: FloatArray
    values: FloatArray
    opposed: bool
    along_leg: bool


def diagram_test(design: Design, name: str | None = None) -> BenchTest | None:
    """The test whose ampere-turns are drawn: the one called ``name``; without a name the first with a short,
    else the first that has a diagram, else None. DesignError for an unknown name or a test without one."""
    fit = [test for test in design.tests if test.measure not in NO_DIAGRAM]
    if name is None:
        return next((test for test in fit if test.short), fit[0] if fit else None)
    for test in design.tests:
        if test.name == name:
            if test in fit:
                return test
            others = ": one of " + ", ".join(other.name for other in fit) if fit else "; this design has none"
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
    """F along the stacking axis, per ampere into the driven terminals of ``test``.

    Layers around the leg: F(x) = Σ_j NI_j (part of section j within x) − s ΣNI, s the centre leg's share of
    the core's ampere-turn drop. Flat layers, and windings side by side in chambers: F(y) = Σ_j NI_j (part of
    j below y) − ΣNI d(y), d the part of the core's drop below y: a jump at the gap and, for the material's
    share, linear. One-dimensional (Rogowski 1909; Dowell 1966, from memory). With a short the ampere-turns
    sum to zero (``balanced_ampere_turns``); in an open test only the driven windings carry current, sections
    in parallel sharing it evenly. Raises BuildError where a layout is outside the leakage model.
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
    places = np.unique(np.concatenate([[0.0, limit], begin, end]))
    places = np.sort(np.concatenate([places, [gap, gap]])) if along_leg else places
    span = np.maximum(end - begin, 1e-12)
    within = np.clip((places[:, None] - begin) / span, 0.0, 1.0) @ flow
    total = float(np.sum(flow))
    if along_leg:
        material = float(np.asarray(core_share(design.core)).flat[0])
        after = (places > gap) | (np.arange(len(places)) == np.searchsorted(places, gap) + 1)
        drop = material * places / limit + (1 - material) * after
        values = within - total * drop
    else:
        share = 1.0 if ring else float(np.asarray(centre_leg_share(design.core)).flat[0])
        values = within - share * total
    values = np.where(np.abs(values) < 1e-9 * max(float(np.sum(np.abs(flow))), 1e-300), 0.0, values)
    return AmpereTurnFunction(test, places, np.asarray(values), bool(test.short), along_leg)


def _driven_alone(design: Design, layout: Layout, signed: FloatArray, test: BenchTest) -> FloatArray:
    """(n,) ampere-turns of the sections with only the driven windings carrying current."""
    flow = np.zeros(len(layout.sections))
    for member in members_of(design, test.drive):
        own = np.array([section.winding == member.name for section in layout.sections])
        share = -1.0 if member.reversed else 1.0
        if design.winding(member.name).sections == "parallel":
            share /= max(sum(branch.winding == member.name for branch in layout.branches), 1)
        flow = flow + np.where(own, signed * share, 0.0)
    return flow
