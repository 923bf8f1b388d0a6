"""What alternating current adds to the resistance and inductance of the sections.

The exact foil solution layer by layer (Dowell 1966) and the exact row of round wires are applied in the local
field of the layers, including the field of a ground gap. They are written as quadratic forms in the
ampere-turns of the sections, so they are passive and hold for any distribution of current.
"""

from __future__ import annotations

import math

import numpy as np

from ..cores import MU_0, gap_shares
from ..design import ComplexArray, Design, FloatArray, Real, ToroidDimensions, WindStep
from ..winding import ACROSS, X0, X1, Y0, Y1, Layout, Section
from .eddy_current import LayerResponse, condensed
from .local_field import GapSheets, LayerFields, layer_fields
from .resistance import FLAT, resistivity
from .round_conductor import lone_excess, row_excess

BESIDE_GAP_ERROR = 0.10
"""Standard relative error of AC resistance in the field of a gap (judged)."""
_SHEET = 1e-5
"""Depth (m) of the sheet of current that represents a gap."""


def enclosed_share(layout: Layout, leg_share: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Ampere-turn function at the inner and outer face of every section, per ampere-turn of every other.

    F_s = Σ_j f[s, j] NI_j, f = leg_share − (part of section j that lies within x). One-dimensional, across
    the layers: x, or y in a build that goes up along the leg. On sectors of a ring the parts count by the
    densities of the sections per angle, so that F/(2πr) is the field at the section itself; the field added
    by its ends and by the air around is left out.

    Parameters
    ----------
    layout : Layout
        Where the turns of its builds lie (``lay_out``).
    leg_share : (B,) array
        Share of the leg in the ampere-turn drop, dimensionless (``planar_window``).

    Returns
    -------
    inner : (B, n, n) array
        f at the inner face, dimensionless.
    outer : (B, n, n) array
        f at the outer face, dimensionless.
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
    for i, one in enumerate(layout.sections):
        for j, other in enumerate(layout.sections):
            here, there = _arc(one), _arc(other)
            ahead = (other.from_angle - one.from_angle) % math.tau
            shared = max(0.0, min(here, ahead + there) - ahead) + max(
                0.0, min(here, ahead + there - math.tau)
            )
            result[i, j] = math.tau * shared / (here * there)
    return result


def local_fields(design: Design, layout: Layout, leg_share: FloatArray) -> LayerFields | None:
    """The field of the window at every layer, see ``layer_fields``.

    Where a build goes up along the leg the axes change places, and ampere-turns that do not sum to zero are
    anchored half at either yoke. x of the sections on a second leg is counted from the first leg.

    Parameters
    ----------
    design : Design
        Design, with one build or B builds.
    layout : Layout
        Where the turns of its builds lie (``lay_out``).
    leg_share : (B,) array
        Share of the leg in the ampere-turn drop, dimensionless.

    Returns
    -------
    LayerFields or None
        Fields at the layers; None on rings, whose field is one-dimensional.
    """
    if design.core.dimensions.ring:
        return None
    width, height = design.core.dimensions.window
    blocks = layout.copper.copy()
    for index, section in enumerate(layout.sections):
        if section.leg == 2:
            blocks[:, index, ACROSS] = width - layout.copper[:, index, X1::-1]
    if design.build.direction == "up":
        width, height = height, width
        blocks, leg_share = blocks[..., [2, 3, 0, 1]], np.full_like(leg_share, 0.5)
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
        low, high = np.moveaxis(layout.stacked(layout.copper), -1, 0)
        # two positions with the mean and the variance of the layers' middles
        aside = (high - low) / layout.layers * np.sqrt((layout.layers**2 - 1) / 12)
    return layer_fields(width, height, blocks, leg_share, ends, _gap_sheets(design, len(blocks)), aside=aside)


def _layers(layout: Layout) -> FloatArray:
    """(B, n) number of layers in each section."""
    return np.ones_like(layout.turns) if layout.layers is None else layout.layers


def _gap_sheets(design: Design, count: int) -> GapSheets | None:
    """The ground gaps along the legs of the window; None if there are none, or if no alternating test leaves
    the other windings open."""
    core = design.core
    if not (_open_tests(design) and np.any(np.asarray(core.gap) > 0)):
        return None
    width, height = core.dimensions.window
    spacer = core.gap_legs == "spacer"
    length = np.minimum(np.asarray(core.gap) / (2 if spacer else 1), height) * np.ones(count)
    low = np.zeros(count) if core.gap_at == "end" else (height - length) / 2
    none, deep = np.zeros(count), np.full(count, _SHEET)
    places = [np.stack([none, deep, low, low + length], axis=-1)]
    if spacer:
        places.append(np.stack([width - deep, none + width, low, low + length], axis=-1))
    share = np.stack([part * np.ones(count) for part in gap_shares(core)], axis=-1)[:, : len(places)]
    blocks = np.stack(places, axis=1)
    if design.build.direction == "up":
        return GapSheets(blocks[..., [2, 3, 0, 1]], share, True)
    return GapSheets(blocks, share, False)


def alternating_excess(
    design: Design,
    layout: Layout,
    inner: FloatArray,
    outer: FloatArray,
    frequency: float,
    temperature: Real,
    fields: LayerFields | None = None,
) -> ComplexArray:
    """Impedance that alternating current adds to R_dc + jωL_low, per turn².

    With ``fields`` currents redistribute along the layers in the field of the window (module
    ``eddy_current``). Without it (rings) the one-dimensional field of ``inner`` and ``outer`` drives every
    layer. For a layer of foil of breadth b, turn length l, thickness t, conductivity σ and D = (1 + j) t/δ
    the exact solution gives

        ΔZ = l/(σtb) [ (F0² + F1²)(D coth D − 1 − D²/3) − 2 F0 F1 (D csch D − 1 + D²/6) ]

    (exact for full-height foil). Round wires: exact row of wires (``row_excess``) in the current of the layer
    and the local field, both components. Litz, twisted wires and blocks: every strand alone in the local mean
    square field; strands are taken to share the current evenly, as are wires in hand side by side, which lie
    in the same field. Tracks: foil of porosity N b_track/b.

    It vanishes at low frequency. The part of a turn outside the window is taken to lie in the field of the
    window. Range: see ``ac_resistance_error``.

    Parameters
    ----------
    design : Design
        Design, with one build or B builds.
    layout : Layout
        Where the turns of its builds lie (``lay_out``).
    inner : (B, n, n) array
        Ampere-turn function at the inner faces (``enclosed_share``), dimensionless.
    outer : (B, n, n) array
        Ampere-turn function at the outer faces, dimensionless.
    frequency : float
        Frequency, Hz.
    temperature : float or (B,) array
        Temperature, degC.
    fields : LayerFields or None
        Fields at the layers (``local_fields``); None on rings.

    Returns
    -------
    (B, n, n) array of complex
        Added impedance, ohm per turn²; symmetric, its real part positive semidefinite.

    References
    ----------
    Dowell, Proc. IEE 113, 1966 (foil); Sullivan 2001 (strands); both from memory.
    """
    if fields is not None:
        return _in_local_field(design, layout, fields, frequency, temperature)
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
        breadth = _ring_breadth(design, count) if ring else lengthwise[:, index, 1] - lengthwise[:, index, 0]
        part = _arc(section) / math.tau  # of a ring's circumference
        f0, f1 = inner[:, index], outer[:, index]
        length = layout.turn_length[:, index]
        if wire.flat and not section.block:
            porosity = np.ones(count)
            if wire.track:
                porosity = np.clip(safe * wire.in_hand * np.asarray(wire.foil_width) / breadth, 1e-6, 1.0)
            root = (1 + 1j) * thickness * np.sqrt(omega * MU_0 * porosity * sigma / 2)
            gain_sum, gain_cross = _excess_functions(root)
            factor = part * length / (porosity * sigma * np.maximum(thickness, 1e-9) * breadth)
            added = (factor * gain_sum)[:, None, None] * (_outer(f0, f0) + _outer(f1, f1))
            added = added - (factor * gain_cross)[:, None, None] * (_outer(f0, f1) + _outer(f1, f0))
        else:
            # squared field along the layer at its middle
            middle = (f0 + f1) / 2
            effective = _ring_square(design, layout, index) if ring else breadth**-2
            along = _outer(middle, middle) * effective[:, None, None]
            if wire.bundle or section.block:
                strand = np.asarray(wire.overall if wire.flat else wire.diameter)
                number = safe * wire.in_hand * wire.strands
                own, driven = lone_excess(strand, sigma, omega)
                own = own * 0.0 if wire.flat else own
                within = _outer(f0 - f1, f0 - f1) / (12 * breadth**2)[:, None, None]
                added = (length * number * driven)[:, None, None] * (along + within)
            else:
                number = safe * wire.in_hand
                own, tangential, _ = row_excess(wire.diameter, part * breadth / number, sigma, omega)
                added = (length * number * tangential)[:, None, None] * along
            added[:, index, index] += length * own / number
        scale = np.reshape(np.asarray(design.model.ac_resistance), (-1, 1, 1))
        total += np.where(present[:, None, None], added.real * scale + 1j * added.imag, 0.0)
    return total


def _in_local_field(
    design: Design, layout: Layout, fields: LayerFields, frequency: float, temperature: Real
) -> ComplexArray:
    """``alternating_excess`` with currents that redistribute in the field of the window."""
    omega = 2 * math.pi * frequency
    count = len(layout.top)
    along, stacked = layout.along(layout.copper), layout.stacked(layout.copper)
    breadth = np.maximum(along[..., 1] - along[..., 0], 1e-9)
    sheet = stacked[..., 1] - stacked[..., 0] if layout.sheet is None else layout.sheet
    thickness, several = np.maximum(sheet, 1e-9), _layers(layout)
    layers = []
    conductivity = {
        winding.name: np.broadcast_to(
            1.0 / (resistivity(winding.metal, temperature) * np.asarray(design.model.resistivity)), (count,)
        )
        for winding in map(design.winding, {section.winding for section in layout.sections})
    }
    rows = _rows(design, layout, breadth, conductivity, omega)
    for index, section in enumerate(layout.sections):
        winding = design.winding(section.winding)
        wire = winding.wire
        sigma = conductivity[winding.name]
        present, m = layout.turns[:, index], several[:, index]
        turns = np.where(present > 0, present, 1.0)
        b, t = breadth[:, index], thickness[:, index]
        none = np.zeros(count)
        if wire.flat and not section.block:
            porosity = np.ones(count)
            if wire.track:
                porosity = np.clip(turns * wire.in_hand * np.asarray(wire.foil_width) / b, 1e-6, 1.0)
            gain_sum, gain_cross = _excess_functions(
                (1 + 1j) * t * np.sqrt(omega * MU_0 * porosity * sigma / 2)
            )
            sheet = 1 / (porosity * sigma * t)
            # several tracks side by side carry the same current, so nothing redistributes among them
            uneven = np.where(turns * wire.in_hand > m, 0.0, sheet / b)
            even = np.where(uneven > 0, 0.0, sheet / b * (gain_sum + gain_cross) / 2)
            jump, mean = sheet * (gain_sum + gain_cross) / 2, 2 * sheet * (gain_sum - gain_cross)
            alone = even / m + 0j
            layers.append(
                LayerResponse(
                    even=alone,
                    uneven=uneven / m,
                    jump=jump / m,
                    mean=mean * m,
                    across=none + 0j,
                    present=present,
                )
            )
            continue
        if wire.bundle or section.block:
            number = turns * wire.in_hand * wire.strands
            strand = np.asarray(wire.overall if wire.flat else wire.diameter)
            own, driven = lone_excess(strand, sigma, omega)
            own = own * (0.0 if wire.flat else 1.0) / number + number * driven / (12 * (m * b) ** 2)
            tangential = normal = driven
        else:
            number = turns * wire.in_hand
            own, tangential, normal = (part[:, index] for part in rows)
            own = own / number
        mean, across = number * tangential / b, number * normal / b
        layers.append(
            LayerResponse(even=own, uneven=none, jump=none + 0j, mean=mean, across=across, present=present)
        )
    added = condensed(fields, breadth, layout.turn_length, layers, omega)
    scale = np.reshape(np.asarray(design.model.ac_resistance), (-1, 1, 1))
    return np.asarray(added.real * scale + 1j * added.imag)


def _rows(
    design: Design,
    layout: Layout,
    breadth: FloatArray,
    conductivity: dict[str, FloatArray],
    omega: float,
) -> tuple[ComplexArray, ComplexArray, ComplexArray]:
    """``row_excess`` for all layers of round wires in one call, (B, n) each; 0 for other layers."""
    count, n = breadth.shape
    indices = [
        index
        for index, section in enumerate(layout.sections)
        if not section.block
        and (wire := design.winding(section.winding).wire).kind not in {*FLAT, "litz"}
        and not wire.twisted
    ]
    own, along, across = (np.zeros((count, n), complex) for _ in range(3))
    if not indices:
        return own, along, across
    windings = [design.winding(layout.sections[index].winding) for index in indices]
    diameter = np.stack([np.broadcast_to(w.wire.diameter, (count,)) for w in windings], axis=-1)
    sigma = np.stack([conductivity[w.name] for w in windings], axis=-1)
    present = layout.turns[:, indices]
    number = np.where(present > 0, present, 1.0) * [w.wire.in_hand for w in windings]
    number = number / _layers(layout)[:, indices]
    own[:, indices], along[:, indices], across[:, indices] = row_excess(
        diameter, breadth[:, indices] / number, sigma, omega
    )
    return own, along, across


def _outer(a: FloatArray, b: FloatArray) -> FloatArray:
    """a bᵀ for each build: (B, n, n)."""
    return a[:, :, None] * b[:, None, :]


def ac_resistance_error(design: Design) -> float:
    """Standard relative error of AC resistance, as the model itself states it.

    About half of the worst deviation up to 1 MHz from eddy-current field solutions of stacks of layers: foil
    0.03, round wires 0.05 (both with margins, partial layers and unequal breadths). Judged, no source: litz
    and twisted bundles (uneven sharing of current among strands), boards and rings 0.10, blocks 0.15. At
    least 0.10 beside a ground gap where a test leaves all other windings open: the field of the gap there
    depends on the exact position of the layers next to it.

    Parameters
    ----------
    design : Design
        Design of one build.

    Returns
    -------
    float
        Relative standard error, dimensionless.
    """
    wound = _error_by_wires(design)
    beside_gap = float(np.max(np.asarray(design.core.gap))) > 0
    if beside_gap and _open_tests(design):
        return max(wound, BESIDE_GAP_ERROR)
    return wound


def _open_tests(design: Design) -> bool:
    """Whether the ampere-turns of some test return only through the core."""
    return any(test.measure == "resonance" or (test.frequency and not test.short) for test in design.tests)


def _error_by_wires(design: Design) -> float:
    kinds = {winding.wire.kind for winding in design.windings}
    if any(isinstance(step, WindStep) and step.thickness is not None for step in design.build.steps):
        return 0.15
    bundle = kinds & {"litz", "track"} or any(winding.wire.twisted for winding in design.windings)
    if bundle or design.core.dimensions.ring:
        return 0.10
    return 0.03 if kinds == {"foil"} else 0.05


def transverse_loss(diameter: Real, conductivity: Real, angular_frequency: float) -> FloatArray:
    """Loss of a lone round wire in a uniform transverse alternating field: the real part of ``lone_excess``.

    Parameters
    ----------
    diameter : float or (B,) array
        Diameter of the wire, m.
    conductivity : float or (B,) array
        Conductivity, S/m.
    angular_frequency : float
        Angular frequency, rad/s.

    Returns
    -------
    () or (B,) array
        Loss, W/m per (A/m)² RMS.
    """
    return np.asarray(lone_excess(diameter, conductivity, angular_frequency)[1].real)


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


def _excess_functions(root: ComplexArray) -> tuple[ComplexArray, ComplexArray]:
    """D coth D − 1 − D²/3 and D csch D − 1 + D²/6, by series where |D| is small."""
    small = np.abs(root) < 0.05
    safe = np.where(small, 1.0, root)
    decay = np.exp(-2 * safe)
    coth = (1 + decay) / (1 - decay)
    csch = 2 * np.exp(-safe) / (1 - decay)
    square = root**2
    sum_function = np.where(small, -(square**2) / 45 + 2 * square**3 / 945, safe * coth - 1 - square / 3)
    cross_function = np.where(
        small, 7 * square**2 / 360 - 31 * square**3 / 15120, safe * csch - 1 + square / 6
    )
    return sum_function, cross_function


def _ring_breadth(design: Design, count: int) -> FloatArray:
    dimensions = design.core.dimensions
    return np.full(count, dimensions.wound_leg.height)
