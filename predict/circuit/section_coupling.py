"""Everything about the sections of a design that its tests share, and what one distribution of current sees.

For a distribution of ampere-turns that sums to zero (what the test drives against what it shorts) the
interaction matrix K (H per turn²) of the sections comes from the fields of the window, scaled to the lengths
of that distribution, plus the near field of separate wires.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache, reduce

import numpy as np
from numpy.typing import NDArray

from ..alike import alike, taken
from ..copper import LayerCircuit, alternating_excess, enclosed_share, local_fields
from ..cores import MU_0, centre_leg_share, core_inductance_factor, gap_shares, permeance
from ..design import (
    BenchTest,
    ComplexArray,
    Design,
    FloatArray,
    IntArray,
    Member,
    Real,
    ToroidDimensions,
    Winding,
)
from ..errors import BuildError, Fault
from ..field import (
    BALANCED,
    RingGap,
    TwoLegFields,
    WindowFields,
    coaxial_interaction,
    current_blocks,
    interaction,
    leg_imbalance,
    near_field,
    one_leg_alone,
    sector_interaction,
    toroid_interaction,
    two_leg_fields,
    two_leg_interaction,
    window_fields,
    with_net_turns,
)
from ..remembered import by_value
from ..winding import ACROSS, Layout, Packed, laid_part, layout_of, packed
from .network import members_of, wire
from .nodal_analysis import solve

_STIFF_CORE = 1e-3
"""Permeance (H) of a core stiff enough to balance ampere-turns to about 1e-6 when a split of current is
calculated (measured on 26 designs: ten times more or less moves no reading by more than 2e-7)."""
_STIFF_LEGS = 1e-5
"""Permeance (H) of the path through the air between the yokes for the same purpose: softer than the core, so
that the balance of the core comes first, and stiff compared with leakage (measured on 26 designs: ten times
more or less moves no reading)."""


@dataclass(frozen=True, kw_only=True)
class Sections:
    """Layout and fields of one batch of B builds, with n sections: layers, or packs of many equal layers.

    Fields are computed when first needed: a direct current needs none.

    Attributes
    ----------
    design : Design of the builds
    layers : Layout, layout layer by layer
    layout : Layout with the sections
    packs : Packed or None, how the sections hold the layers; None: each section is a layer
    leg_share : (B,) array, share of the leg in the ampere-turn drop, dimensionless
    to_branch : (B, b, n) array
        Turns of each section in its branch, signed by the direction of the winding and negative where the
        section is connected the wrong way round, count.
    """

    design: Design
    layers: Layout
    layout: Layout
    packs: Packed | None
    leg_share: FloatArray
    to_branch: FloatArray

    @cached_property
    def fields(self) -> WindowFields | TwoLegFields | None:
        """The matrices of the window; None where there is none (rings, coils in air). Raises BuildError as
        ``window_fields``."""
        dimensions, cover = self.design.core.dimensions, self.design.core.cover
        if dimensions.ring or not dimensions.permeable:
            return None
        legs = [section.leg for section in self.layout.sections]
        if len(set(legs)) == 1:
            leg_flux_share = self.leg_share if legs[0] == 1 else 1.0 - self.leg_share
            return window_fields(dimensions, self.blocks, leg_flux_share, cover=cover)
        # both legs' parts of the drop, in parallel between the yokes
        apart = self.leg_share * (1 - self.leg_share) / np.abs(permeance(self.design.core))
        return two_leg_fields(dimensions, self.blocks, legs, self.leg_share, apart, cover=cover)

    @cached_property
    def ring(self) -> FloatArray | None:
        """(B, n, n) interaction of a toroid or of coils in air, H per turn²; None on other cores.

        It is the same for all distributions. Raises BuildError as ``added_by_sectors``.
        """
        dimensions = self.design.core.dimensions
        if not dimensions.permeable:
            radius = dimensions.leg_radius
            assert radius is not None
            same = alike(len(self.leg_share), self.blocks)
            if same is None:
                return coaxial_interaction(self.blocks, radius)
            rows, of_build = same
            return np.asarray(coaxial_interaction(self.blocks[rows], radius)[of_build])
        if not isinstance(dimensions, ToroidDimensions):
            return None
        ring = toroid_interaction(dimensions, self.blocks[..., ACROSS], self.leg_share)
        arcs = [(section.from_angle, section.sector) for section in self.layout.sections]
        return np.asarray(ring + added_by_sectors(self.design, dimensions, self.blocks, arcs))

    @cached_property
    def alone(self) -> FloatArray | None:
        """(B, n, n) interaction of what does not sum to zero on the one wound leg of a U core, H per turn²;
        None on other cores, and where a stated AL holds that flux."""
        core, fields = self.design.core, self.fields
        if core.dimensions.form != "U" or core.al is not None or not isinstance(fields, WindowFields):
            return None
        share = self.leg_share if self.layout.sections[0].leg == 1 else 1.0 - self.leg_share
        if core.gap_legs == "spacer" or not np.any(np.asarray(core.gap) > 0):  # both legs are alike
            share = np.full_like(share, 0.5)
        apart = share * (1 - share) / np.abs(permeance(core))
        return one_leg_alone(core.dimensions, self.blocks, fields, share, apart)

    @cached_property
    def near(self) -> FloatArray:
        """(B, n, n) near field of separate wires, H per turn²."""
        if self.packs is None:
            return near_field(self.design, self.layers)
        return _near_of_packs(self.design, self.layers, self.packs)

    @cached_property
    def enclosed(self) -> tuple[FloatArray, FloatArray]:
        """(B, n, n) ampere-turn function at the inner and outer face of every section, dimensionless."""
        return enclosed_share(self.layout, self.leg_share)

    @cached_property
    def layers_in_field(self) -> LayerCircuit | None:
        """The layers' circuit in the field (``local_fields``); None on a toroid."""
        return local_fields(self.design, self.layout, self.leg_share)

    @cached_property
    def blocks(self) -> FloatArray:
        """(B, n, 4) the block of uniform current density of every section (m)."""
        return _of_present(self.layout, current_blocks(self.design, self.layout))

    def excess(self, frequency: Real, temperature: Real) -> ComplexArray:
        """What alternating current adds; computed once for builds with equal conductors and fields.

        Parameters
        ----------
        frequency : float or (F,) array, frequency, Hz
        temperature : float or (B,) array; (F, 1) or (F, B) array for several frequencies, temperature, degC

        Returns
        -------
        (B, n, n) array of complex; (B, F, n, n) for several frequencies, added impedance, ohm per turn²
        """
        if self.layers_in_field is not None or self._conductors is None:
            enclosed = None if self.layers_in_field is not None else self.enclosed
            return alternating_excess(
                self.design, self.layout, enclosed, frequency, temperature, self.layers_in_field
            )
        few, rows, of_build = self._conductors
        warm = np.asarray(temperature)
        every = warm.ndim == 0 or warm.shape[-1] == 1
        return few.excess(frequency, temperature if every else warm[..., rows])[of_build]

    @cached_property
    def _conductors(self) -> tuple[Sections, IntArray, IntArray] | None:
        """Builds that represent all others in what alternating current adds, their indices, and the
        representative of each build; None where hardly any two are alike."""
        design, count = self.design, len(self.leg_share)
        gapped = bool(np.any(np.asarray(design.core.gap) > 0))
        gaps = (np.asarray(design.core.gap), *gap_shares(design.core)) if gapped else ()
        model = (design.model.resistivity, design.model.ac_resistance, design.bench.temperature_error)
        wires = (laid_part(design).windings, tuple(winding.metal for winding in design.windings))
        same = alike(count, self.layout, self.leg_share, gaps, *wires, model)  # whatever is in series
        if same is None:
            return None
        rows, of_build = same
        return taken(self, rows, count), rows, of_build


@by_value(16)
def sections_of(design: Design, layout: Layout | None = None) -> Sections:
    """The sections of a design: layers, packs of layers and branches.

    Their fields are solved once for all tests.

    Parameters
    ----------
    design : Design of one or B builds
    layout : Layout or None, layout to use; None: lay the design out
    """
    layers = layout_of(design) if layout is None else layout
    count = len(layers.top)
    toroid = design.core.dimensions.ring
    # strips: currents redistribute along each one separately, and a single strip is its own block
    strips = [winding.name for winding in design.windings if winding.wire.flat]
    packs = None if toroid else packed(layers, strips)
    layout = layers if packs is None else packs.layout
    known = 1.0 if toroid or not design.core.dimensions.permeable else centre_leg_share(design.core)
    share = np.broadcast_to(np.asarray(known + design.model.leg_share, float), (count,))
    to_branch = np.zeros((count, len(layout.branches), len(layout.sections)))
    signs = [_sign(design.winding(branch.winding), branch.ordinal) for branch in layout.branches]
    for index, section in enumerate(layout.sections):
        to_branch[:, section.branch, index] = signs[section.branch] * layout.turns[:, index]
    return Sections(
        design=design, layers=layers, layout=layout, packs=packs, leg_share=share, to_branch=to_branch
    )


def _sign(winding: Winding, ordinal: int) -> FloatArray:
    """Sign of the turns of a step of a winding, by its direction and how it is connected: 1 or −1."""
    reverse = np.asarray(winding.turning) == "ccw"
    return np.asarray((1.0 - 2.0 * reverse) * winding.polarity_of(ordinal), float)


def _near_of_packs(design: Design, layers: Layout, packs: Packed) -> FloatArray:
    """(B, G, G) near field of the turns of packs, plus what their blocks leave out between their layers."""
    near = near_field(design, layers)
    groups = np.array([section.group for section in layers.sections])
    together = (groups[:, None] == groups[None, :]).astype(float)
    root = np.sqrt(packs.ripple)
    near = near + MU_0 * root[:, :, None] * root[:, None, :] * together
    return np.asarray(np.swapaxes(packs.share, 1, 2) @ near @ packs.share)


def _of_present(layout: Layout, blocks: FloatArray) -> FloatArray:
    """``blocks`` (B, n, 4), with the blocks of layers that a build does not have moved to the place of a
    layer that it has: without turns they have no field of their own, and their edges cut no field at another
    place. If all layers on a leg are missing they stay."""
    result = blocks.copy()
    legs = [section.leg for section in layout.sections]
    for leg in sorted(set(legs)):
        on_leg = np.array([index for index, there in enumerate(legs) if there == leg])
        there = layout.turns[:, on_leg] > 0
        stand_in = blocks[np.arange(len(blocks)), on_leg[np.argmax(there, axis=1)]]
        missing = ~there & np.any(there, axis=1)[:, None]
        result[:, on_leg] = np.where(missing[..., None], stand_in[:, None], blocks[:, on_leg])
    return result


def added_by_sectors(
    design: Design,
    dimensions: ToroidDimensions,
    blocks: FloatArray,
    arcs: Sequence[tuple[float, float | None]],
) -> FloatArray:
    """What windings on sectors add to the interaction of a ring (``field.sector_interaction``).

    Parameters
    ----------
    design : Design of one or B builds
    dimensions : ToroidDimensions
    blocks : (B, n, 4) array, the block of uniform current density of every section, m
    arcs : sequence of (float, float or None)
        Where each section begins and how much it covers, rad; None: all round.

    Returns
    -------
    (B, n, n) array, H per turn²

    Raises
    ------
    BuildError
        Where the ring has a gap and nothing says where it lies.
    """
    core, gap = design.core, None
    if bool(np.any(np.asarray(core.gap) > 0)) and any(covered is not None for _, covered in arcs):
        if core.gap_angle is None:
            raise BuildError(
                Fault(
                    "core.gap_angle",
                    "nothing, with windings on sectors of a ring that has a gap",
                    "the angle at which the gap lies, counted as from_angle is",
                    "The leakage of a sector depends on where along the ring the gap lies: state gap_angle. "
                    "If the core has no ground gap, give its permeability (mu_i), from which al follows.",
                )
            )
        gap = RingGap(core.gap_angle, gap_shares(core)[0])
    return sector_interaction(dimensions, blocks[..., ACROSS], arcs, core_inductance_factor(core), gap)


def section_interaction(sections: Sections, ampere_turns: FloatArray) -> FloatArray:
    """Interaction of the sections for T distributions of ampere-turns, with the model factor applied.

    Parameters
    ----------
    sections : Sections, layout and fields
    ampere_turns : (B, T, n) array, ampere-turns of each section, A

    Returns
    -------
    (B, T, n, n) array, interaction, H per turn²
    """
    fields = sections.fields
    if isinstance(fields, TwoLegFields):
        field = two_leg_interaction(fields, ampere_turns)
    elif fields is not None:
        field = interaction(fields, ampere_turns)
        if sections.alone is not None:
            field = with_net_turns(field, sections.alone, ampere_turns)
    else:
        assert sections.ring is not None
        field = np.broadcast_to(sections.ring[:, None], (*ampere_turns.shape[:2], *sections.ring.shape[-2:]))
    factor = np.reshape(sections.design.model.leakage, (-1, 1, 1, 1))
    return np.asarray((field + sections.near[:, None]) * factor)


def balanced_ampere_turns(sections: Sections, tests: tuple[BenchTest, ...]) -> FloatArray:
    """Ampere-turns of every section for one ampere into the driven port of each test, summing to zero.

    The driven windings act against the shorted ones, in an open test against all others. Where the turns do
    not fix the split between several opposing windings, or between sections in parallel, the field does: one
    solution with a stiff core and no resistance.

    Parameters
    ----------
    sections : Sections, layout and fields
    tests : tuple of BenchTest, the T tests

    Returns
    -------
    (B, T, n) array, ampere-turns, A; all zero where there is nothing to oppose (one winding)
    """
    ports = [(test.drive, tuple(_opposing(sections.design, test)), test.short, test.tie) for test in tests]
    first = [ports.index(port) for port in ports]  # tests of one distribution, at several frequencies
    chosen = sorted(set(first))
    distinct = [tests[test_index] for test_index in chosen]
    result = _turns_split(sections, distinct)
    by_field = [_split_by_field(sections.design, test) for test in distinct]
    split = [row for row, builds_split in enumerate(by_field) if builds_split.any()]
    if split:
        found = _field_split(sections, [distinct[row] for row in split], result[:, split])
        for column, row in enumerate(split):
            result[:, row] = np.where(by_field[row].reshape(-1, 1), found[:, column], result[:, row])
    return np.asarray(result[:, [chosen.index(test_index) for test_index in first]])


def _balanced_on_each_leg(sections: Sections, flow: FloatArray) -> bool:
    """Whether ``flow`` (B, n) is one of a U core with both legs wound that sums to zero on each leg."""
    fields = sections.fields
    return isinstance(fields, TwoLegFields) and float(leg_imbalance(fields, flow).max()) <= BALANCED


def _opposing(design: Design, test: BenchTest) -> list[str]:
    driven = [member.name for member in members_of(design, test.drive)]
    shorted = [member.name for member in members_of(design, test.short) if member.name not in driven]
    others = [winding.name for winding in design.windings if winding.name not in driven]
    return list(dict.fromkeys(shorted or others))


def _split_by_field(design: Design, test: BenchTest) -> NDArray[np.bool_]:
    """() or (B,) whether the turns do not fix the split of the current of a test, in every build."""
    opposing = _opposing(design, test)
    if not opposing:
        return np.array(False)
    driven = (member.name for member in members_of(design, test.drive))
    windings = [design.winding(name) for name in (*driven, *opposing)]
    parallel = any(winding.sections == "parallel" for winding in windings)
    joined = any(not join.in_series for join in design.joins)
    by_field = np.array(parallel or joined or len(opposing) > 1)
    for polarity in (each for winding in windings for each in winding.polarity):
        by_field = by_field | (np.asarray(polarity) < 0)
    return by_field


def _balancing_test(design: Design, test: BenchTest) -> BenchTest:
    """The test with something shorted: as it is, or, if open, with every other winding shorted on its own."""
    return test if test.short else _shorted(test, tuple(_opposing(design, test)))


@lru_cache(256)
def _shorted(test: BenchTest, windings: tuple[str, ...]) -> BenchTest:
    return replace(test, short=tuple(map(Member, windings)), sense=())


def _turns_split(sections: Sections, tests: Sequence[BenchTest]) -> FloatArray:
    """(B, T, n) ampere-turns as the turns alone would split them, summing to zero: sections in parallel and
    several opposing windings share evenly."""
    design = sections.design
    ports = [(members_of(design, test.drive), _opposing(design, test)) for test in tests]
    names = {name for driven, opposing in ports for name in (*(member.name for member in driven), *opposing)}
    patterns = {name: _pattern(sections, name) for name in names}
    result = np.empty((len(sections.layout.top), len(tests), len(sections.layout.sections)))
    for column, (driven, opposing) in enumerate(ports):
        acting = [(-1.0 if member.reversed else 1.0) * patterns[member.name] for member in driven]
        result[:, column] = _balanced(acting, [patterns[name] for name in opposing])
    return result


def _pattern(sections: Sections, name: str) -> FloatArray:
    """(B, n) turns of the sections of a winding, with the part of its current that each carries."""
    of_winding = np.array([section.winding == name for section in sections.layout.sections])
    turns = np.where(of_winding, sections.to_branch.sum(axis=1), 0.0)
    if sections.design.winding(name).sections == "parallel":
        turns /= max(sum(branch.winding == name for branch in sections.layout.branches), 1)
    return turns


def _balanced(driven: Sequence[FloatArray], opposing: Sequence[FloatArray]) -> FloatArray:
    """(B, n) ampere-turns that act, (B, n) each, against even shares of those that oppose them: the first
    against the rest where nothing else opposes, and none where there is nothing at all."""
    if not opposing:
        if len(driven) == 1:
            return np.zeros_like(driven[0])
        driven, opposing = driven[:1], [reduce(np.add, driven[1:])]
    result = reduce(np.add, driven)
    total = result.sum(axis=-1, keepdims=True) / len(opposing)
    for part in opposing:
        size, weight = part.sum(axis=-1, keepdims=True), np.abs(part)
        nothing = np.abs(size) < 1e-9
        uniform = weight / weight.sum(axis=-1, keepdims=True)
        result = result - total * np.where(nothing, uniform, part / np.where(nothing, 1.0, size))
    return np.asarray(result)


def _field_split(sections: Sections, tests: Sequence[BenchTest], flows: FloatArray) -> FloatArray:
    """(B, T, n) ampere-turns as the field splits them that the turns split into ``flows`` (B, T, n)."""
    branches, (count, many, _) = sections.layout.branches, flows.shape
    to_branch = sections.to_branch[:, None]
    coupled = to_branch @ section_interaction(sections, flows) @ to_branch.swapaxes(-1, -2)
    whole, difference = _turns_round_the_core(sections)
    coupled += (_STIFF_CORE * whole[:, :, None] * whole[:, None, :])[:, None]
    currents = np.zeros((count, many, len(branches)))
    for column, test in enumerate(tests):
        of_test = coupled[:, column]
        if _balanced_on_each_leg(sections, flows[:, column]):
            # its coupling knows nothing of the air between the yokes
            of_test = of_test + _STIFF_LEGS * difference[:, :, None] * difference[:, None, :]
        wiring = wire(sections.design, branches, _balancing_test(sections.design, test))
        chosen = of_test[:, wiring.branches[:, None], wiring.branches]
        leads = np.zeros((count, len(wiring.lead_windings)), complex)
        answer = solve(wiring, 1j * chosen, leads, np.zeros(count, complex))
        currents[:, column, wiring.branches] = answer.currents.real
    found = currents @ sections.to_branch
    weight = np.abs(found)
    rest = found.sum(axis=-1, keepdims=True) / np.maximum(weight.sum(axis=-1, keepdims=True), 1e-300)
    return np.asarray(found - rest * weight)


def _turns_round_the_core(sections: Sections) -> tuple[FloatArray, FloatArray]:
    """(B, b) turns of every branch, and those on leg 1 less those on leg 2. Besides the core, a stiff path
    through the air makes opposing currents balance leg by leg wherever the circuit allows it."""
    first = np.array([1.0 if section.leg == 1 else -1.0 for section in sections.layout.sections])
    return sections.to_branch.sum(axis=-1), (sections.to_branch * first).sum(axis=-1)


def across_legs(sections: Sections) -> bool:
    """Whether a winding of a U core acts against others on the other leg: the field then closes outside."""
    fields = sections.fields
    if not isinstance(fields, TwoLegFields):
        return False
    tests = [
        BenchTest(name="", measure="inductance", drive=(Member(w.name),), frequency=1.0)
        for w in sections.design.windings
    ]
    return float(leg_imbalance(fields, _turns_split(sections, tests)).max()) > BALANCED
