"""What a part takes: wire cut to length with its tails, and the bill of material, for one part and for a lot.

A piece of wire is the turns of its section, Σ turns × mean turn, with a reserve added (``build.reserve``,
else RESERVE) and a tail at either end. The start and the finish of a winding share ``lead_length`` where the
file gives it, else each has a tail (``build.tail``, else TAIL). A joint of two sections takes a tail on both
sides. Sections in series are cut one by one. Tape gets the same reserve. Masses are those of the metal, γ A
l, plus the insulation of a round wire, 1350 kg/m³ between bare and overall diameter (enamel, common
practice); for litz and bundles of any other kind the metal alone. Tape and margin tape are wound around the
leg; for a ring no length is given, as it depends on how the tape is laid.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from ..copper import conductor_area
from ..design import RESERVE, TAIL, Design, ShieldStep, SpacerStep, TapeStep, Winding, WindStep, first_build
from ..notation import millimetres
from ..winding import Layout, lay_out, place_of, winding_space

DENSITY = {"copper": 8890.0, "aluminium": 2703.0}
"""kg/m³ at 20 °C (IEC 60028, IEC 60889; from memory)."""
ENAMEL_DENSITY = 1350.0
"""Density of a wire's insulation, kg/m³ (common practice, no source)."""
OVERLAP = 5e-3
"""Length (m) by which the ends of a screen overlap (common practice, no source)."""


@dataclass(frozen=True, kw_only=True)
class Cut:
    """Wires to cut for one section.

    Attributes
    ----------
    winding : str, name of the winding
    section : int, of the winding, count from 1
    sections : int, of the winding, count
    pieces : int, pieces to cut, count
    length : float, of each piece, m
    wound : float, wound length of each piece, without the reserve, m
    tails : float, both tails of a piece together, m
    """

    winding: str
    section: int
    sections: int
    pieces: int
    length: float
    wound: float
    tails: float


@dataclass(frozen=True, kw_only=True)
class BillLine:
    """One line of the bill of material for one part.

    Attributes
    ----------
    kind : str
        "wire", "tape", "margin tape", "interlayer", "spacer", "screen", "core", "bobbin" or "tracks".
    what : str, description of the material
    used_for : str, where it is used
    pieces : int, pieces, count
    length : float or None, with the reserve, m; None where there is none or it is not known
    width : float or None, width, m; None where there is none or it is not known
    mass : float or None, with reserve and insulation, kg; None where there is none or it is not known
    """

    kind: str
    what: str
    used_for: str
    pieces: int
    length: float | None = None
    width: float | None = None
    mass: float | None = None


def tail_of(design: Design) -> float:
    """Wire left at one end for terminating, m."""
    return TAIL if design.build.tail is None else design.build.tail


def reserve_of(design: Design) -> float:
    """Wire and tape beyond the wound length, relative to it, dimensionless."""
    return RESERVE if design.build.reserve is None else design.build.reserve


def wire_cuts(design: Design) -> tuple[Cut, ...]:
    """The wires to cut for every winding except the tracks of a board, in winding order.

    Parameters
    ----------
    design : Design of one build

    Raises
    ------
    BuildError
        Where the build cannot be laid out.
    """
    layout = lay_out(design)
    cuts = []
    for branch in sorted(layout.branches, key=lambda branch: branch.step):
        winding = design.winding(branch.winding)
        if winding.wire.track or branch.winding not in {winding.name for winding in design.windings}:
            continue
        count = sum(each.winding == branch.winding for each in layout.branches)
        wound = sum(
            float(layout.turns[0, k] * layout.turn_length[0, k])
            for k, section in enumerate(layout.sections)
            if section.winding == branch.winding and section.step == branch.step
        )
        if winding.wire.twisted:  # its wires are cut one by one; litz comes as one wire
            wound *= first_build(winding.wire.lay_factor)
        tails = _tails(design, winding, branch.ordinal, count)
        cuts.append(
            Cut(
                winding=branch.winding,
                section=branch.ordinal + 1,
                sections=count,
                pieces=winding.wire.in_hand,
                length=wound * (1 + reserve_of(design)) + tails,
                wound=wound,
                tails=tails,
            )
        )
    return tuple(cuts)


def _tails(design: Design, winding: Winding, ordinal: int, count: int) -> float:
    """Both tails of one piece of a section (m)."""
    tail = tail_of(design)
    end = winding.lead_length / 2 if winding.lead_length > 0 else tail
    if winding.sections == "parallel":
        return 2 * end
    return (end if ordinal == 0 else tail) + (end if ordinal == count - 1 else tail)


def wire_mass(winding: Winding, length: float) -> float:
    """Mass of one wire with its insulation.

    Parameters
    ----------
    winding : Winding
    length : float, m

    Returns
    -------
    float, kg
    """
    wire = winding.wire
    metal = DENSITY[str(winding.metal)] * first_build(conductor_area(wire)) / wire.in_hand * length
    if wire.litz:  # its strands are longer than the wire
        metal *= first_build(wire.lay_factor)
    if wire.litz or wire.flat:
        return metal
    ring = math.pi / 4 * (first_build(wire.overall) ** 2 - first_build(wire.diameter) ** 2)
    return metal + ENAMEL_DENSITY * ring * length


def bill_of_material(design: Design) -> tuple[BillLine, ...]:
    """What one part takes.

    Parameters
    ----------
    design : Design of one build

    Raises
    ------
    BuildError
        Where the build cannot be laid out.
    """
    layout, reserve = lay_out(design), 1 + reserve_of(design)
    items = []
    if design.core.dimensions.permeable:
        items.append(
            BillLine(
                kind="core",
                what=f"{design.core.name}, {design.core.material.name}",
                used_for="core set",
                pieces=1,
            )
        )
    boards = _boards(design, layout)
    if not design.core.dimensions.ring and len(boards) < len(design.windings):
        pins = f", {design.bobbin.pins} pins" if design.bobbin.pins is not None else ""
        chambers = len(design.bobbin.chambers) or design.bobbin.chamber_count
        split = f", {chambers} chambers" if chambers > 1 else ""
        items.append(
            BillLine(
                kind="bobbin", what=f"bobbin for {design.core.name}{split}{pins}", used_for="former", pieces=1
            )
        )
    cuts = wire_cuts(design)
    for winding in design.windings:
        winding_cuts = [cut for cut in cuts if cut.winding == winding.name]
        if winding_cuts:
            length = sum(cut.pieces * cut.length for cut in winding_cuts)
            stated = winding.wire.label.split(", twisted")[0]
            stated = stated.removesuffix(f", {winding.wire.in_hand} in hand")
            pieces = sum(cut.pieces for cut in winding_cuts)
            mass = wire_mass(winding, length)
            items.append(
                BillLine(
                    kind="wire",
                    what=stated,
                    used_for=winding.name,
                    pieces=pieces,
                    length=length,
                    width=first_build(winding.wire.foil_width) if winding.wire.foil else None,
                    mass=mass,
                )
            )
    items += boards
    items += _tapes(design, layout, reserve)
    items += _margins(design, layout, reserve)
    items += _between_layers(design, layout, reserve)
    items += _spacers(design)
    for number, step in enumerate(design.build.steps, start=1):
        if isinstance(step, ShieldStep):
            around = _around(design, float(layout.step_tops[0, number - 1]) - first_build(step.thickness) / 2)
            wrapped = None if around is None else around + OVERLAP
            what = f"{step.metal} foil {millimetres(first_build(step.thickness))}"
            items.append(
                BillLine(
                    kind="screen",
                    what=what,
                    used_for=step.name,
                    pieces=1,
                    length=wrapped,
                    width=first_build(step.width),
                )
            )
    return tuple(items)


def _boards(design: Design, layout: Layout) -> list[BillLine]:
    """Etched layers of every winding that is tracks."""
    items = []
    for winding in design.windings:
        layers = [
            k
            for k, section in enumerate(layout.sections)
            if section.winding == winding.name and layout.turns[0, k] > 0
        ]
        if winding.wire.track:
            what = f"etched layer, {winding.wire.label or winding.wire.kind}"
            items.append(BillLine(kind="tracks", what=what, used_for=winding.name, pieces=len(layers)))
    return items


def _spacers(design: Design) -> list[BillLine]:
    """Spacers, those of one thickness in one line."""
    numbers_by_thickness: dict[str, list[int]] = {}
    for number, step in enumerate(design.build.steps, start=1):
        if isinstance(step, SpacerStep):
            numbers_by_thickness.setdefault(millimetres(first_build(step.thickness)), []).append(number)
    return [
        BillLine(
            kind="spacer",
            what=f"{thickness} spacer",
            used_for=f"step{'s' if len(numbers) > 1 else ''} {', '.join(map(str, numbers))}",
            pieces=len(numbers),
        )
        for thickness, numbers in numbers_by_thickness.items()
    ]


def _around(design: Design, height: float) -> float | None:
    """Length (m) of one wrap at a height above the leg; None on a ring and for flat layers."""
    space = winding_space(design)
    if space.ring or space.flat:
        return None
    return design.core.dimensions.perimeter + math.tau * height


def _tapes(design: Design, layout: Layout, reserve: float) -> list[BillLine]:
    space = winding_space(design)
    lengths_by_tape: dict[tuple[float, float | None], list[float | None]] = {}
    for number, step in enumerate(design.build.steps):
        if not isinstance(step, TapeStep) or int(np.asarray(step.wraps)) == 0:
            continue
        wraps, thickness = int(np.asarray(step.wraps)), first_build(step.thickness)
        around = _around(design, float(layout.step_tops[0, number]) - first_build(step.height) / 2)
        bay = space.bay(place_of(step))
        width = None if space.ring or space.flat else round(bay.breadth, 9)
        lengths_by_tape.setdefault((thickness, width), []).append(None if around is None else wraps * around)
    items = []
    for (thickness, width), lengths in lengths_by_tape.items():
        known = [length for length in lengths if length is not None]
        length = reserve * sum(known) if len(known) == len(lengths) else None
        items.append(
            BillLine(
                kind="tape",
                what=f"tape {millimetres(thickness)}",
                used_for="insulation",
                pieces=len(lengths),
                length=length,
                width=width,
            )
        )
    return items


def _margins(design: Design, layout: Layout, reserve: float) -> list[BillLine]:
    """Margin tape at both ends of every layer that has a margin, one wrap for each layer."""
    lengths_by_margin: dict[float, list[float]] = {}
    for k, section in enumerate(layout.sections):
        step = design.build.steps[section.step]
        if not isinstance(step, WindStep) or section.winding != step.winding:
            continue
        margin = first_build(design.build.margin if step.margin is None else step.margin)
        around = _around(design, float(np.mean(layout.stacked(layout.extent)[0, k])))
        if margin > 0 and around is not None:
            lengths_by_margin.setdefault(round(margin, 9), []).append(2 * around)
    return [
        BillLine(
            kind="margin tape",
            what="margin tape, built up to the layer",
            used_for="one wrap a layer",
            pieces=2 * len(each),
            length=reserve * sum(each),
            width=margin,
        )
        for margin, each in lengths_by_margin.items()
    ]


def _between_layers(design: Design, layout: Layout, reserve: float) -> list[BillLine]:
    """Insulation between the layers of one step."""
    space = winding_space(design)
    lengths_by_tape: dict[tuple[float, float], list[float]] = {}
    for number, step in enumerate(design.build.steps):
        if not isinstance(step, WindStep):
            continue
        thickness = first_build(design.build.interlayer if step.interlayer is None else step.interlayer)
        section_indices = [
            k
            for k in layout.of_step(number)
            if layout.sections[k].winding == step.winding and layout.turns[0, k] > 0
        ]
        if thickness <= 0 or len(section_indices) < 2 or space.ring or space.flat:
            continue
        bay = space.bay(place_of(step))
        width = round(bay.breadth, 9)
        for k in section_indices[:-1]:
            top = float(layout.stacked(layout.extent)[0, k, 1])
            around = _around(design, top + thickness / 2)
            assert around is not None
            lengths_by_tape.setdefault((round(thickness, 9), width), []).append(around)
    return [
        BillLine(
            kind="interlayer",
            what=f"insulation {millimetres(thickness)}",
            used_for="between layers",
            pieces=len(each),
            length=reserve * sum(each),
            width=width,
        )
        for (thickness, width), each in lengths_by_tape.items()
    ]
