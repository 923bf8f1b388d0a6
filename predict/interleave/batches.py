"""Arrangements of the same sections as builds of one batch.

Arrangements whose sections are the same, laid in another order, differ in where each section lies and in
nothing else that fields, resistance and network ask for; capacitance asks as well for the insulation between
neighbours. Their layouts are kept in one order of the sections that all share.
"""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from ..batch import stack, structure
from ..capacitance import SolidInsulation, solid_insulation
from ..design import Design, FloatArray, ShieldStep, WindStep
from ..winding import Branch, Layout


@dataclass(frozen=True)
class Batch:
    """B arrangements. ``design``: its build steps are what is laid, in the order that all share (spacers
    among them hold no place); without an array over builds. ``layout``: B builds of it. ``solid``: the
    insulation between the steps. ``key``: batches of one key can be predicted together."""

    design: Design
    layout: Layout
    solid: SolidInsulation
    key: Hashable

    def taken(self, rows: Sequence[int]) -> Batch:
        """Some of its arrangements."""
        chosen = list(rows)
        solid = self.solid
        return replace(
            self,
            layout=_joined([self.layout], chosen),
            solid=replace(solid, below=solid.below[chosen], whole=solid.whole[chosen]),
        )


def _joined(layouts: Sequence[Layout], rows: list[int] | slice) -> Layout:
    """Builds of layouts of the same sections in one, or some of them."""

    def joined(name: str) -> FloatArray:
        parts = [getattr(layout, name) for layout in layouts]
        return np.asarray((parts[0] if len(parts) == 1 else np.concatenate(parts))[rows])

    return replace(
        layouts[0],
        extent=joined("extent"),
        copper=joined("copper"),
        turns=joined("turns"),
        turn_length=joined("turn_length"),
        top=joined("top"),
        fill=joined("fill"),
    )


def together(parts: Sequence[tuple[Batch, int]]) -> tuple[Design, Layout, SolidInsulation]:
    """Arrangements (batch, row in it) that share a key as builds of one design, batch by batch."""
    rows: dict[int, list[int]] = {}
    batches = {id(batch): batch for batch, _ in parts}
    for batch, row in parts:
        rows.setdefault(id(batch), []).append(row)
    each = [batches[key].taken(chosen) for key, chosen in rows.items()]
    layout = _joined([one.layout for one in each], slice(None))
    solid = replace(
        each[0].solid,
        below=np.concatenate([one.solid.below for one in each]),
        whole=np.concatenate([one.solid.whole for one in each]),
    )
    design = each[0].design
    if any(one.design != design for one in each):
        design = stack([one.design for one in each for _ in one.layout.top])
    return design, layout, solid


def design_as_batch(design: Design, layout: Layout) -> Batch:
    """One arrangement, in this order: windings as in the design, sections of a winding as in the build."""
    names = [*(w.name for w in design.windings), *(s.name for s in design.shields)]
    rank = {name: k for k, name in enumerate(names)}
    steps = design.build.steps
    wound = [k for k, step in enumerate(steps) if isinstance(step, WindStep | ShieldStep)]

    def of(k: int) -> str:
        step = steps[k]
        return step.winding if isinstance(step, WindStep) else step.name  # type: ignore[union-attr]

    in_order = sorted(wound, key=lambda k: (rank[of(k)], k))
    new_step = {old: new for new, old in enumerate(in_order)}
    build = replace(design.build, steps=tuple(steps[k] for k in in_order))
    moved, laid = replace(design, build=build, tests=()), _reordered(layout, new_step)
    solid = solid_insulation([steps], [[new_step.get(k, 0) for k in range(len(steps))]], 1)
    key = (laid.sections, laid.branches, laid.flat, solid.bays, solid.materials, structure(moved))
    return Batch(moved, laid, solid, key)


def _reordered(layout: Layout, new_step: dict[int, int]) -> Layout:
    """The layout with its sections and branches in the order of the steps' new numbers."""
    branches = sorted(range(len(layout.branches)), key=lambda b: (new_step[layout.branches[b].step], b))
    new_branch = {old: new for new, old in enumerate(branches)}
    rows = sorted(range(len(layout.sections)), key=lambda i: (new_step[layout.sections[i].step], i))
    new_row = {old: new for new, old in enumerate(rows)}
    sections = tuple(
        replace(
            layout.sections[i],
            step=new_step[layout.sections[i].step],
            branch=new_branch[layout.sections[i].branch],
            group=new_row[layout.sections[i].group],
        )
        for i in rows
    )
    own = tuple(
        Branch(layout.branches[b].winding, new_step[layout.branches[b].step], layout.branches[b].ordinal)
        for b in branches
    )
    return replace(
        layout,
        sections=sections,
        branches=own,
        extent=layout.extent[:, rows],
        copper=layout.copper[:, rows],
        turns=layout.turns[:, rows],
        turn_length=layout.turn_length[:, rows],
    )


def wire_lengths(batch: Batch) -> FloatArray:
    """(B, W) length of one wire of each winding, leads left out (m)."""
    lengths = batch.layout.turns * batch.layout.turn_length
    names = np.array([section.winding for section in batch.layout.sections])
    own = [np.sum(lengths[:, names == winding.name], axis=1) for winding in batch.design.windings]
    return np.stack(own, axis=1)
