"""What alternating current adds to the resistance and inductance of the sections.

The exact foil solution layer by layer (Dowell 1966) and the exact row of round wires are applied in the local
field of the layers, including the field of a ground gap. They are written as quadratic forms in the
ampere-turns of the sections, so they are passive and hold for any distribution of current.
"""

from __future__ import annotations

import math

import numpy as np

from ..cores import MU_0
from ..design import ComplexArray, Design, FloatArray, Real, ToroidDimensions, WindStep
from ..winding import X0, X1, Layout, Section
from .air_field import AirField, air_field
from .circuit_of_layers import LayerCircuit
from .foil_conductor import excess_functions
from .layers_in_field import excess_in_field
from .resistance import resistivity
from .round_conductor import lone_excess, row_excess

BESIDE_GAP_ERROR = 0.10
"""Standard relative error of AC resistance in the field of a gap (judged)."""


def enclosed_share(layout: Layout, leg_share: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Ampere-turn function at the inner and outer face of every section, per ampere-turn of every other.

    F_s = Σ_j f[s, j] NI_j, f = leg_share − (part of section j that lies within x). One-dimensional, across
    the layers: x, or y in a build that goes up along the leg. On sectors of a ring the parts count by the
    densities of the sections per angle, so that F/(2πr) is the field at the section itself; the field added
    by its ends and by the air around is left out.

    Parameters
    ----------
    layout : Layout, where the turns of its builds lie (``lay_out``)
    leg_share : (B,) array, share of the leg in the ampere-turn drop, dimensionless (``planar_window``)

    Returns
    -------
    inner : (B, n, n) array, f at the inner face, dimensionless
    outer : (B, n, n) array, f at the outer face, dimensionless
    """
    x0, x1 = np.moveaxis(layout.stacked(layout.copper), -1, 0)
    span = np.maximum(x1 - x0, 1e-12)

    def within(x: FloatArray) -> FloatArray:
        return np.asarray(np.clip((x[:, :, None] - x0[:, None, :]) / span[:, None, :], 0.0, 1.0))

    share = np.reshape(leg_share, (-1, 1, 1))
    density = _densities(layout)
    return share - within(x0) * density, share - within(x1) * density


def _arc(section: Section) -> float:
    """The angle (rad) that a section covers; 2π all round, and on cores with legs."""
    return math.tau if section.sector is None else section.sector


def _densities(layout: Layout) -> FloatArray:
    """(n, n) ampere-turns per angle of section j where section i lies (mean over i), relative to an even
    spread all round; 1 unless there are sectors."""
    result = np.ones((len(layout.sections), len(layout.sections)))
    if all(section.sector is None for section in layout.sections):
        return result
    for i, section in enumerate(layout.sections):
        for j, source in enumerate(layout.sections):
            here, there = _arc(section), _arc(source)
            ahead = (source.from_angle - section.from_angle) % math.tau
            shared = max(0.0, min(here, ahead + there) - ahead) + max(
                0.0, min(here, ahead + there - math.tau)
            )
            result[i, j] = math.tau * shared / (here * there)
    return result


def alternating_excess(
    design: Design,
    layout: Layout,
    enclosed: tuple[FloatArray, FloatArray] | None,
    frequency: Real,
    temperature: Real,
    fields: LayerCircuit | None = None,
) -> ComplexArray:
    """Impedance that alternating current adds to R_dc + jωL_low, per turn².

    With ``fields`` currents redistribute along the layers in the field of the window (module
    ``eddy_current``). Without it (rings) the one-dimensional field of the ``enclosed`` ampere-turns drives
    every layer. For a layer of foil of breadth b, turn length l, thickness t, conductivity σ and D = (1 + j)
    t/δ the exact solution gives

        ΔZ = l/(σtb) [ (F0² + F1²)(D coth D − 1 − D²/3) − 2 F0 F1 (D csch D − 1 + D²/6) ]

    (exact for full-height foil). Round wires: exact row of wires (``row_excess``) in the current of the layer
    and the local field, both components. Litz, twisted wires and blocks: every strand alone in the local mean
    square field; strands are taken to share the current evenly, as are wires in hand side by side, which lie
    in the same field. Tracks: foil of porosity N b_track/b.

    It vanishes at low frequency. The part of a turn outside the window is taken to lie in the field of the
    window. Range: see ``ac_resistance_error``.

    Parameters
    ----------
    design : Design of one or B builds
    layout : Layout, where the turns of its builds lie (``lay_out``)
    enclosed : pair of (B, n, n) arrays or None
        Ampere-turn function at the inner and outer faces (``enclosed_share``), dimensionless; None with
        ``fields``, which need none.
    frequency : float or (F,) array, frequency, Hz
    temperature : float or (B,) array; (F, 1) or (F, B) array for several frequencies, temperature, degC
    fields : LayerCircuit or None, circuit of the layers (``local_fields``); None on rings

    Returns
    -------
    (B, n, n) array of complex; (B, F, n, n) for several frequencies
        Added impedance, ohm per turn²; symmetric, its real part positive semidefinite.

    References
    ----------
    Dowell, Proc. IEE 113, 1966 (foil); Sullivan 2001 (strands); both from memory.
    """
    if np.ndim(frequency) == 0:
        warm = np.atleast_1d(np.asarray(temperature, float))
        each = np.array([frequency], float)
        return alternating_excess(design, layout, enclosed, each, warm[None], fields)[:, 0]
    several = np.asarray(frequency, float)
    if fields is not None:
        return excess_in_field(design, layout, fields, several, np.asarray(temperature))
    points = zip(several.tolist(), np.asarray(temperature), strict=True)
    assert enclosed is not None
    air = _air(design, layout)
    return np.stack([_one_dimensional(design, layout, enclosed, air, *point) for point in points], axis=1)


_FOIL_RINGS = 1000
"""Lines for which a turn of foil or track stands in the field at other layers: as many as rings are allowed
(bounds work)."""


def _air(design: Design, layout: Layout) -> AirField | None:
    """The field of the coils in air; None where there is a core."""
    if design.core.dimensions.permeable:
        return None
    radius = design.core.dimensions.leg_radius
    assert radius is not None
    kinds = [design.winding(section.winding).wire for section in layout.sections]
    wires = np.array([_FOIL_RINGS if wire.flat else wire.in_hand for wire in kinds])
    return air_field(layout, radius, np.maximum(np.max(layout.turns, axis=0), 1.0) * wires)


def _one_dimensional(
    design: Design,
    layout: Layout,
    enclosed: tuple[FloatArray, FloatArray],
    air: AirField | None,
    frequency: float,
    temperature: FloatArray,
) -> ComplexArray:
    """``alternating_excess`` (B, n, n) in the one-dimensional field of the ampere-turn function at the
    ``enclosed`` faces (``enclosed_share``), or in the field of coils in ``air``, at one frequency."""
    inner, outer = enclosed
    omega = 2 * math.pi * frequency
    count, n = layout.turns.shape
    total = np.zeros((count, n, n), complex)
    ring = design.core.dimensions.ring
    lengthwise, stacked = layout.along(layout.copper), layout.stacked(layout.copper)
    for index, section in enumerate(layout.sections):
        winding = design.winding(section.winding)
        wire = winding.wire
        turns = layout.turns[:, index]
        present = turns > 0
        safe = np.where(present, turns, 1.0)
        sigma = 1.0 / (resistivity(winding.metal, temperature) * np.asarray(design.model.resistivity))
        thickness = stacked[:, index, 1] - stacked[:, index, 0]
        breadth = (
            np.full(count, design.core.dimensions.wound_leg.height)
            if ring
            else lengthwise[:, index, 1] - lengthwise[:, index, 0]
        )
        part = _arc(section) / math.tau  # of a ring's circumference
        f0, f1 = inner[:, index], outer[:, index]
        if air is None or wire.flat:  # squared field along the layer at its middle
            effective = _ring_square(design, layout, index) if ring else breadth**-2
            along = _outer((f0 + f1) / 2, (f0 + f1) / 2) * effective[:, None, None]
        else:
            along = air.along[:, index]
        length = layout.turn_length[:, index]
        if wire.flat and not section.block:
            porosity = np.ones(count)
            if wire.track:
                porosity = np.clip(safe * wire.in_hand * np.asarray(wire.foil_width) / breadth, 1e-6, 1.0)
            root = (1 + 1j) * thickness * np.sqrt(omega * MU_0 * porosity * sigma / 2)
            gain_sum, gain_cross = excess_functions(root)
            factor = part * length / (porosity * sigma * np.maximum(thickness, 1e-9) * breadth)
            # F0, F1 are the field at the middle -+ half of the layer's own
            middle = _outer(f0 + f1, f0 + f1) / 4
            of_layer = _outer(f0 - f1, f0 - f1) / 4
            added = (factor * gain_sum)[:, None, None] * 2 * (middle + of_layer)
            added = added - (factor * gain_cross)[:, None, None] * 2 * (middle - of_layer)
        else:
            if wire.bundle or section.block:
                strand = np.asarray(wire.overall if wire.flat else wire.diameter)
                number = safe * wire.in_hand * wire.strands
                lone, driven = lone_excess(strand, sigma, omega)
                lone = lone * 0.0 if wire.flat else lone
                within = _outer(f0 - f1, f0 - f1) / (12 * breadth**2)[:, None, None]
                added = (length * number * driven)[:, None, None] * (along + within)
                if air is not None and not wire.flat:
                    beside = air.across[index]
                    square = np.einsum("bqj,bqk->bjk", beside, beside) / beside.shape[1]
                    added = added + (length * number * driven)[:, None, None] * square
            else:
                number = safe * wire.in_hand
                lone, tangential, crossing = row_excess(wire.diameter, part * breadth / number, sigma, omega)
                added = (length * number * tangential)[:, None, None] * along
                if air is not None:
                    left = air.turned_aside(index, crossing, omega)
                    added = added + (length * number * crossing)[:, None, None] * left
            added[:, index, index] += length * lone / number
        scale = np.reshape(np.asarray(design.model.ac_resistance), (-1, 1, 1))
        total += np.where(present[:, None, None], added.real * scale + 1j * added.imag, 0.0)
    return total


def _outer(a: FloatArray, b: FloatArray) -> FloatArray:
    """a bᵀ for each build: (B, n, n)."""
    return a[:, :, None] * b[:, None, :]


ACROSS_LEGS_ERROR = 0.25
"""The same for windings that oppose each other on both legs of a U core. The field of the window is taken all
around the turns; beside the window it also crosses the layers: 43 % low to 7 % high on field solutions
(``tests/reference/test_u_resistance.py``)."""
AIR_ERROR, AIR_FOIL_ERROR = 0.125, 0.25
"""Relative standard error in air: of round wires half of the worst deviation from Medhurst's table (+24 %,
wires nearly touching in a coil of a fifth of its diameter; 12 % elsewhere); of foil and
tracks, whose current crowds at the edges (judged)."""


def ac_resistance_error(design: Design) -> float:
    """Standard relative error of AC resistance, as the model itself states it.

    About half of the worst deviation up to 1 MHz from eddy-current field solutions of stacks of layers: foil
    0.03, round wires 0.05 (both with margins, partial layers and unequal breadths). Judged, no source: litz
    and twisted bundles (uneven sharing of current among strands), boards and rings 0.10, blocks 0.15. At
    least 0.10 in a design with a ground gap, whatever its tests: the field of the gap depends on the exact
    position of the layers next to it. ``ACROSS_LEGS_ERROR`` on both legs of a U core.

    Parameters
    ----------
    design : Design of one build

    Returns
    -------
    float, relative standard error, dimensionless
    """
    wound = _error_by_wires(design)
    beside_gap = float(np.max(np.asarray(design.core.gap))) > 0
    if beside_gap:
        wound = max(wound, BESIDE_GAP_ERROR)
    return max(wound, ACROSS_LEGS_ERROR) if _on_different_legs(design) else wound


def _on_different_legs(design: Design) -> bool:
    """Whether some winding lies on another leg, or on more legs, than another."""
    legs: dict[str, set[int]] = {}
    for step in design.build.steps:
        if isinstance(step, WindStep):
            for name in (step.winding, *step.companions):
                legs.setdefault(name, set()).add(step.leg)
    return len(set(map(frozenset, legs.values()))) > 1


def _error_by_wires(design: Design) -> float:
    kinds = {winding.wire.kind for winding in design.windings}
    if any(isinstance(step, WindStep) and step.thickness is not None for step in design.build.steps):
        return 0.15
    bundle = kinds & {"litz", "track"} or any(winding.wire.twisted for winding in design.windings)
    if not design.core.dimensions.permeable:
        return AIR_FOIL_ERROR if kinds & {"foil", "track"} else AIR_ERROR
    if bundle or design.core.dimensions.ring:
        return 0.10
    return 0.03 if kinds == {"foil"} else 0.05


def _ring_square(design: Design, layout: Layout, index: int) -> FloatArray:
    """Mean of 1/(2πr)² (1/m²) along a turn on a ring, which is denser in the hole than outside."""
    ring = design.core.dimensions
    assert isinstance(ring, ToroidDimensions)
    height = (layout.copper[:, index, X0] + layout.copper[:, index, X1]) / 2
    near = np.maximum(ring.inner_diameter / 2 - height, 1e-6)
    far, along = ring.outer_diameter / 2 + height, ring.height + 2 * height
    whole = 2 * along + 2 * (far - near)
    return np.asarray(
        (along / near**2 + along / far**2 + 2 * (far - near) / (near * far)) / whole / (4 * math.pi**2)
    )
