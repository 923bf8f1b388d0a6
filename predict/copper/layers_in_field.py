"""The layers of a build in the window's own field: what of them is alike at every frequency, and what is not.

Layers of one winding and one pitch (or thickness) answer the field along them by one response per wire and
metre, so their field products are summed before any frequency is known (``circuit_of_layers.LayerCircuit``).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from ..alike import alike, taken
from ..cores import MU_0, gap_shares
from ..design import ComplexArray, Design, FloatArray, IntArray, Wire
from ..winding import ACROSS, X1, Y0, Y1, Layout, Section, laid_part
from .circuit_of_layers import Conductors, LayerCircuit, layer_circuit
from .eddy_current import LayerResponse, condensed, returned
from .foil_conductor import excess_functions
from .local_field import GapSheets, layer_fields, returns
from .resistance import resistivity
from .round_conductor import lone_excess, row_excess

_SHEET = 1e-5
"""Depth (m) of the sheet of current that stands for a gap (measured on 26 designs: half and twice move no
reading by more than 2.3e-6)."""
_ALIKE = 1e-12
"""Relative difference of pitches or thicknesses up to which they are the same: rounding (measured on 26
designs: 1e-9 moves no reading)."""
STRIP, BUNDLE, ROW = "strip", "bundle", "row"


def local_fields(design: Design, layout: Layout, leg_share: FloatArray) -> LayerCircuit | None:
    """The circuit of all layers in the field of the window (``layer_fields``), as far as it is the same at
    every frequency, computed once for builds with equal layers.

    Where a build goes up along the leg the axes change places, and ampere-turns that do not sum to zero are
    anchored half at either yoke. x of the sections on a second leg is counted from the first leg.

    Parameters
    ----------
    design : Design of one or B builds
    layout : Layout, where the turns of its builds lie (``lay_out``)
    leg_share : (B,) array, share of the leg in the ampere-turn drop, dimensionless

    Returns
    -------
    LayerCircuit or None, circuit of the layers; None on rings and in air, whose field is one-dimensional
    """
    if design.core.dimensions.ring or not design.core.dimensions.permeable:
        return None
    count, up = len(layout.top), design.build.direction == "up"
    gaps = _gap_sheets(design, count)
    share = None if gaps is None else _gap_share(design, gaps)
    even = np.full_like(leg_share, 0.5) if up else leg_share
    shared = returns(even, share, even=up)
    same = alike(count, layout, laid_part(design).windings, gaps)
    rows, of_build = same or (np.arange(count), np.arange(count))
    if same is not None:
        windings, layout, gaps = taken((design.windings, layout, gaps), rows, count)
        design = replace(design, windings=windings)
    width, height = design.core.dimensions.window
    blocks = layout.copper.copy()
    for index, section in enumerate(layout.sections):
        if section.leg == 2:
            blocks[:, index, ACROSS] = width - layout.copper[:, index, X1::-1]
    if up:
        width, height = height, width
        blocks = blocks[..., [2, 3, 0, 1]]
    wires = [
        0.0
        if design.winding(section.winding).wire.flat and not section.block
        else design.winding(section.winding).wire.in_hand
        for section in layout.sections
    ]
    number = np.maximum(layout.turns / _layers(layout), 1.0) * np.maximum(np.array(wires), 1.0)
    ends = np.where(np.array(wires) > 0, (blocks[..., Y1] - blocks[..., Y0]) / number, 0.0)
    aside = None
    if layout.layers is not None:
        low, high = layout.stacked(layout.copper).transpose(2, 0, 1)
        # the places that have the mean and the variance of the layers' middles
        aside = (high - low) / layout.layers * np.sqrt((layout.layers**2 - 1) / 12)
    fields = layer_fields(width, height, blocks, ends, gaps, aside=aside)
    made = _conductors(design, layout)
    of_class = tuple(design.winding(layout.sections[index].winding).wire for index in made.first)
    return layer_circuit(fields, layout.turn_length, made, of_class, (of_build, shared))


def _layers(layout: Layout) -> FloatArray:
    """(B, n) how many layers each section holds."""
    return np.ones_like(layout.turns) if layout.layers is None else layout.layers


def _gap_sheets(design: Design, count: int) -> GapSheets | None:
    """The ground gaps along the window's legs; None without any.

    Shorted tests see nothing of them, but are read with the same resolution whatever other tests the design
    has: one number in all commands."""
    core = design.core
    if not np.any(np.asarray(core.gap) > 0):
        return None
    width, height = core.dimensions.window
    spacer = core.gap_legs == "spacer"
    length = np.minimum(np.asarray(core.gap) / (2 if spacer else 1), height) * np.ones(count)
    low = np.zeros(count) if core.gap_at == "end" else (height - length) / 2
    none, deep = np.zeros(count), np.full(count, _SHEET)
    boxes = [np.stack([none, deep, low, low + length], axis=-1)]
    if spacer:
        boxes.append(np.stack([width - deep, none + width, low, low + length], axis=-1))
    blocks = np.stack(boxes, axis=1)
    if design.build.direction == "up":
        return GapSheets(blocks[..., [2, 3, 0, 1]], True)
    return GapSheets(blocks, False)


def _gap_share(design: Design, gaps: GapSheets) -> FloatArray:
    """(B, g) part of all ampere-turns that drops across each gap."""
    count, number = gaps.blocks.shape[:2]
    return np.stack([part * np.ones(count) for part in gap_shares(design.core)], axis=-1)[:, :number]


def _kind(section: Section, wire: Wire) -> str:
    """What a section's conductors do in a field: foil and tracks as sheets, strands each alone, or a row of
    round wires."""
    if wire.flat and not section.block:
        return STRIP
    if wire.bundle or section.block or wire.twisted:
        return BUNDLE
    return ROW


def _conductors(design: Design, layout: Layout) -> Conductors:
    """The layers' conductors, sorted into classes that answer a field alike."""
    several = _layers(layout)
    along, stacked = layout.along(layout.copper), layout.stacked(layout.copper)
    breadth = np.maximum(along[..., 1] - along[..., 0], 1e-9)
    sheet = stacked[..., 1] - stacked[..., 0] if layout.sheet is None else layout.sheet
    thickness = np.maximum(sheet, 1e-9)
    present = layout.turns
    turns = np.where(present > 0, present, 1.0)
    wires = [design.winding(section.winding).wire for section in layout.sections]
    kinds = tuple(_kind(section, wire) for section, wire in zip(layout.sections, wires, strict=True))
    number = turns * [
        wire.in_hand * (wire.strands if kind == BUNDLE else 1)
        for wire, kind in zip(wires, kinds, strict=True)
    ]
    porosity = np.ones_like(turns)
    for index, wire in enumerate(wires):
        if kinds[index] == STRIP and wire.track:
            width = np.asarray(wire.foil_width)
            porosity[:, index] = np.clip(number[:, index] * width / breadth[:, index], 1e-6, 1.0)
    strip = np.array([kind == STRIP for kind in kinds])
    row = np.array([kind == ROW for kind in kinds])
    pitch = np.where(row, breadth * several / number, 1.0)
    size = np.where(strip, thickness, pitch)
    of_section, first = _classes(layout.sections, kinds, np.stack([size, porosity], axis=-1))
    # several tracks side by side carry the same current: nothing redistributes among them
    single = strip & (number <= several)
    return Conductors(
        kinds=kinds,
        of_section=of_section,
        first=first,
        breadth=breadth,
        layers=several,
        number=number,
        size=size,
        porosity=porosity,
        present=present > 0,
        single=single,
        weight=np.where(strip, several * breadth, number),
        across=np.broadcast_to(~strip, present.shape),
    )


def _classes(
    sections: Sequence[Section], kinds: Sequence[str], sizes: FloatArray
) -> tuple[IntArray, tuple[int, ...]]:
    """(n,) the class of every section, and a section of each class: of one winding and kind, with ``sizes``
    (B, n, k) that are the same in all builds."""
    class_of_layer: list[int] = []
    first: list[int] = []
    for index, section in enumerate(sections):
        for number, member in enumerate(first):
            same = kinds[index] == kinds[member] and section.winding == sections[member].winding
            if same and np.all(np.abs(sizes[:, index] / sizes[:, member] - 1) < _ALIKE):
                class_of_layer.append(number)
                break
        else:
            class_of_layer.append(len(first))
            first.append(index)
    return np.array(class_of_layer, np.int64), tuple(first)


def excess_in_field(
    design: Design, layout: Layout, circuit: LayerCircuit, frequencies: FloatArray, temperatures: FloatArray
) -> ComplexArray:
    """Impedance that alternating current adds to layers in the field of the window, per turn².

    Parameters
    ----------
    design : Design of one or B builds
    layout : Layout
    circuit : LayerCircuit
    frequencies : (F,) array, Hz
    temperatures : (F, 1) or (F, B) array, temperature at each frequency, degC

    Returns
    -------
    (B, F, n, n) array of complex, added impedance, ohm per turn²
    """
    omega = 2 * math.pi * frequencies
    made = circuit.conductors
    count = len(layout.top)
    conductivity = []
    for index in made.first:
        metal = design.winding(layout.sections[index].winding).metal
        rho = resistivity(metal, temperatures) * np.asarray(design.model.resistivity)
        conductivity.append(np.broadcast_to(1.0 / rho, (len(omega), count)))
    sigma = np.stack(conductivity, axis=-1)
    of_build = np.arange(count)
    same = alike(count, circuit.of_build[:, None], sigma.swapaxes(0, 1))
    rows, of_build = same or (of_build, of_build)
    few = circuit.of_builds(circuit.of_build[rows])
    added = condensed(few, _responses(few, sigma[:, rows], omega[:, None]), omega)
    added = returned(added[of_build], circuit.returns, made.present[circuit.of_build])
    scale = np.reshape(np.asarray(design.model.ac_resistance), (-1, 1, 1, 1))
    return np.asarray(added.real * scale + 1j * added.imag)


def _responses(circuit: LayerCircuit, sigma: FloatArray, omega: FloatArray) -> LayerResponse:
    """What every layer does at ω (F, 1), from what a wire or sheet of its class does. sigma : (F, B, C)
    S/m."""
    made, wires = circuit.conductors, circuit.wires
    shape = (len(sigma), *made.breadth.shape)
    even, jump, across = (np.zeros(shape, complex) for _ in range(3))
    uneven, mean = np.zeros(shape), np.zeros(sigma.shape, complex)
    rows = [number for number, index in enumerate(made.first) if made.kinds[index] == ROW]
    lone, along, crossing = (np.zeros(sigma.shape, complex) for _ in range(3))
    if rows:
        diameter = np.stack([np.broadcast_to(wires[k].diameter, shape[1:2]) for k in rows], axis=-1)
        pitch = made.size[:, [made.first[k] for k in rows]]
        found = row_excess(diameter, pitch, sigma[..., rows], omega[..., None])
        lone[..., rows], along[..., rows], crossing[..., rows] = found
    for number, index in enumerate(made.first):
        here = np.flatnonzero(made.of_section == number)
        wire, b, m, many = wires[number], made.breadth[:, here], made.layers[:, here], made.number[:, here]
        if made.kinds[index] == STRIP:
            through = made.porosity[:, index] * sigma[..., number]
            t = made.size[:, index]
            gain_sum, gain_cross = excess_functions((1 + 1j) * t * np.sqrt(omega * MU_0 * through / 2))
            sheet = 1 / (through * t)
            both = (sheet * (gain_sum + gain_cross) / 2)[..., None]
            alone = made.single[:, here]
            uneven[..., here] = np.where(alone, sheet[..., None] / b, 0.0) / m
            even[..., here] = np.where(alone, 0.0, both / b) / m
            jump[..., here] = both / m
            mean[..., number] = 2 * sheet * (gain_sum - gain_cross)
            continue
        if made.kinds[index] == BUNDLE:
            strand = np.asarray(wire.overall if wire.flat else wire.diameter)
            skin, driven = lone_excess(strand, sigma[..., number], omega)
            skin = skin * (0.0 if wire.flat else 1.0)
            within = many * driven[..., None] / (12 * (m * b) ** 2)
            even[..., here] = skin[..., None] / many + within
            mean[..., number] = driven
            across[..., here] = many * driven[..., None] / b
            continue
        even[..., here] = lone[..., number, None] / many
        mean[..., number] = along[..., number]
        across[..., here] = many * crossing[..., number, None] / b
    return LayerResponse(even=even, uneven=uneven, jump=jump, across=across, mean=mean)
