"""Builds of the same sections in different orders as builds of one batch.

Builds with the same sections in another order differ only in where each section lies, as far as fields,
resistance and network are concerned; capacitance also depends on the insulation between neighbours. Their
layouts are kept in one common order of the sections.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Hashable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from ..batch import stack, structure
from ..design import Design, FloatArray, Step, Winding, WindStep
from ..winding import Branch, Layout
from .insulation_below import SolidInsulation, solid_insulation


@dataclass(frozen=True)
class Batch:
    """B builds of the same sections.

    Attributes
    ----------
    design : Design
        Its build steps are what is laid, in the common order (spacers among them have no height); without
        an array over builds.
    layout : Layout of the B builds
    solid : SolidInsulation, insulation between the steps
    key : Hashable, batches with the same key can be predicted together
    """

    design: Design
    layout: Layout
    solid: SolidInsulation
    key: tuple[Hashable, ...]

    def taken(self, rows: Sequence[int]) -> Batch:
        """Some of its builds.

        Parameters
        ----------
        rows : sequence of int, builds to take, index
        """
        chosen = list(rows)
        solid = self.solid
        return replace(
            self,
            layout=_joined([self.layout], chosen),
            solid=replace(solid, below=solid.below[chosen], whole=solid.whole[chosen]),
        )

    def of(self, design: Design) -> Batch:
        """The batch of another design with the same build, bobbin, windings and shape of core.

        Parameters
        ----------
        design : Design of one build
        """
        moved = replace(design, build=self.design.build, windings=self.design.windings, tests=())
        return replace(self, design=moved, key=(*self.key[:-1], structure(moved)))


def _joined(layouts: Sequence[Layout], rows: list[int] | slice) -> Layout:
    """Builds from layouts of the same sections in one layout, or some of them."""

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
    """Builds with a common key as builds of one design, batch by batch.

    Parameters
    ----------
    parts : sequence of (Batch, int), batch and row of each build, index

    Returns
    -------
    design : Design with arrays over builds where the batches differ
    layout : Layout of all builds
    solid : SolidInsulation, insulation of all builds
    """
    rows: dict[int, list[int]] = {}
    batches = {id(batch): batch for batch, _ in parts}
    for batch, row in parts:
        rows.setdefault(id(batch), []).append(row)
    each = [batches[key].taken(chosen) for key, chosen in rows.items()]
    layout = _joined([part.layout for part in each], slice(None))
    design = each[0].design
    if any(part.design != design for part in each):
        design = stack([part.design for part in each for _ in part.layout.top])
    return design, layout, _of_all_materials([part.solid for part in each])


def _of_all_materials(parts: Sequence[SolidInsulation]) -> SolidInsulation:
    """The insulation of all builds of several batches, each of which knows the materials of its own."""
    materials = tuple(sorted({material for part in parts for material in part.materials}))

    def spread(part: SolidInsulation, thickness: FloatArray) -> FloatArray:
        result = np.zeros((*thickness.shape[:-1], len(materials)))
        result[..., [materials.index(material) for material in part.materials]] = thickness
        return result

    return SolidInsulation(
        parts[0].bays,
        materials,
        np.concatenate([spread(part, part.below) for part in parts]),
        np.concatenate([spread(part, part.whole) for part in parts]),
    )


def design_as_batch(design: Design, layout: Layout) -> Batch:
    """One build in the common order: windings as in the design, sections of a winding as in the build.

    What only the layout depends on is left out of its design, so that designs that differ in no more than
    that have one key.

    Parameters
    ----------
    design : Design of one build
    layout : Layout, its layout
    """
    names = [*(w.name for w in design.windings), *(s.name for s in design.shields)]
    rank = {name: k for k, name in enumerate(names)}
    steps = design.build.steps
    wound = [k for k, step in enumerate(steps) if step.conducts]

    def of(k: int) -> str:
        step = steps[k]
        return step.winding if isinstance(step, WindStep) else step.name  # type: ignore[union-attr]

    in_order = sorted(wound, key=lambda k: (rank[of(k)], k))
    new_step = {old: new for new, old in enumerate(in_order)}
    build = replace(design.build, steps=tuple(_laid(steps[k]) for k in in_order), allowance=0.0)
    moved = replace(design, build=build, windings=_with_polarity(design, layout), tests=())
    laid = _reordered(layout, new_step)
    solid = solid_insulation([steps], [[new_step.get(k, 0) for k in range(len(steps))]], 1)
    key = (laid.sections, laid.branches, laid.flat, solid.bays, structure(moved))
    return Batch(moved, laid, solid, key)


def _laid(step: Step) -> Step:
    """A step without what only the layout depends on."""
    return replace(step, miscount=()) if isinstance(step, WindStep) and step.miscount else step


def _with_polarity(design: Design, layout: Layout) -> tuple[Winding, ...]:
    """The windings, with the polarity of every section stated."""
    number = Counter(branch.winding for branch in layout.branches)
    return tuple(
        winding if winding.polarity else replace(winding, polarity=(1,) * number[winding.name])
        for winding in design.windings
    )


def _reordered(layout: Layout, new_step: dict[int, int]) -> Layout:
    """The layout with its sections and branches in the order of the new numbers of the steps."""
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
    reordered = tuple(
        Branch(layout.branches[b].winding, new_step[layout.branches[b].step], layout.branches[b].ordinal)
        for b in branches
    )
    return replace(
        layout,
        sections=sections,
        branches=reordered,
        extent=layout.extent[:, rows],
        copper=layout.copper[:, rows],
        turns=layout.turns[:, rows],
        turn_length=layout.turn_length[:, rows],
    )
