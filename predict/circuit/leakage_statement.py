"""What the leakage model states for one design: which form it takes, its expected error, and what to mind;
and the names of the errors of pairs of windings and of single readings.

An arc on a ring is set by hand and eye, and its turns do not end at a line. With the interaction I of the
sections, their ampere-turns F and each winding's arc narrower by one standard deviation,

    e² = Σ over windings ((F·I'·F − F·I·F)/F·I·F)²

A winding that is alone has no leakage; there F are its own ampere-turns and e is of all that it links beside
the core. A measured case (no source known), 14 turns on an iron-powder ring T50-2: 1.60 µH where
they are crowded on "about 120°", at which the model says 1.78 µH; it gives 1.60 µH at 145°.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from ..design import BenchTest, Design, FloatArray, Member, Port, ToroidDimensions
from ..field import (
    BALANCED,
    EDGE_CAP,
    GUIDING,
    LEAD_INDUCTANCE_ERROR,
    OPPOSED_ERROR,
    TwoLegFields,
    expected_error,
    lead_inductance,
    leg_imbalance,
)
from ..remembered import by_value
from .network import members_of
from .section_coupling import (
    Sections,
    across_legs,
    added_by_sectors,
    balanced_ampere_turns,
    section_interaction,
    sections_of,
)

NEAR_FIELD_ERROR = 0.10
"""Standard relative error of the near field of separate wires: rows end, neighbours are rows too. Finite
differences of every conductor ask for 8 % (``tests/reference/error_sizes.py``), few turns on a ring for 10
(``tests/exact/test_few_turns.py``)."""
PAIRS_IN_LAYERS_ERROR = 0.15
"""The same where windings wound together lie in several layers: −15 … +2 % against turn-by-turn solutions;
and for windings without order (as large as the worst that was measured)."""
ARC = math.radians(12.0)
"""Standard deviation (rad) of an arc that is set by hand (judged on the measured case above, whose arc is
stated to the nearest 30°)."""


@dataclass(frozen=True)
class LeakageModel:
    """The leakage model of one design.

    Attributes
    ----------
    name : str, the model in one line
    expected_error : float
        Standard relative error of the leakage between the first winding and the others, dimensionless.
    cautions : tuple of str, sentences for the user, possibly none
    """

    name: str
    expected_error: float
    cautions: tuple[str, ...]


def leakage_model(design: Design) -> LeakageModel:
    """The leakage model used for a design, its expected error and its cautions.

    Source of the error: ``leakage_error``, ``section_coupling``.

    Parameters
    ----------
    design : Design
        Design of one build.

    Returns
    -------
    LeakageModel
        Name, error and cautions.

    Raises
    ------
    BuildError
        Where the layout is outside the models.

    Examples
    --------
    >>> from aswound.predict import leakage_model, load_design
    >>> model = leakage_model(load_design("samples/flyback-24w.toml"))
    >>> model.name
    'axisymmetric window under the core, open space or yokes beside it'
    >>> 0.01 < model.expected_error < 0.05, model.cautions
    (True, ())
    """
    sections = sections_of(design)
    error = float(np.max(_leakage_model_error(sections)))
    return LeakageModel(_name(sections), error, tuple(_cautions(sections)))


def _name(sections: Sections) -> str:
    if _on_sectors(sections):
        return "harmonics of the ampere-turns around the ring, in the build and the air outside it"
    if isinstance(sections.fields, TwoLegFields):
        if across_legs(sections):
            return "surface of the core against open space, both legs' windings as thick as they are"
        return "one planar window with both legs' windings, open space beside each leg"
    return sections.design.core.dimensions.leakage_model


def _on_sectors(sections: Sections) -> bool:
    return any(section.sector is not None for section in sections.layout.sections)


def _cautions(sections: Sections) -> list[str]:
    design = sections.design
    dimensions = design.core.dimensions
    cautions = []
    initial = float(np.max(np.asarray(design.core.material.initial_permeability)))
    legs = dimensions.permeable and not dimensions.ring
    if legs and initial < GUIDING and len(design.windings) > 1:
        cautions.append(
            f"The core's permeability is {initial:.3g}, and the leakage model takes it as infinite: leakage "
            f"is up to {200 / initial:.2g} % lower than predicted where windings lie on each other, up to "
            f"{min(1000 / initial, 60):.2g} % where they lie side by side."
        )
    if across_legs(sections):
        cautions.append(
            "Windings on different legs of the U core: their leakage field closes through the air around "
            "the core. Metal or another part near the core changes it: measure it with the part lying free. "
            "Alternating-current resistance takes the field of the window all around the turns, "
            "which makes it rather too high."
        )
    if _on_sectors(sections) and bool(np.any(np.asarray(design.core.gap) > 0)):
        cautions.append(
            "A gap and windings on a part of the ring: inductance and leakage depend on how far they lie "
            "from the gap. gap_angle and from_angle are counted from the same mark on the ring."
        )
    if _on_sectors(sections):
        cautions.append(
            "Windings on a part of the ring: their leakage field closes through the air around the core. It "
            "depends on where the sectors really begin and end, and metal or another part near the ring "
            "changes it: measure it with the ring lying free. Alternating-current resistance includes "
            "the field of the windings only where they lie, and may be higher."
        )
    if not dimensions.ring:
        width, height = dimensions.window
        if height > EDGE_CAP * width or width > 4 * height:
            cautions.append(
                f"A window {width * 1e3:.3g} mm wide and {height * 1e3:.3g} mm high is longer and "
                f"narrower than those on which the leakage model was checked: its error may be twice "
                f"the stated one."
            )
    if dimensions.ovality > 0:
        cautions.append(
            "The leakage model of an oval leg lies between those of a rectangular and a round one; it was "
            "not checked against a field solution of its own, so the stated error is wider."
        )
    return cautions


def _port_name(design: Design, port: Port) -> str:
    """The windings of a port in alphabetical order, joined by spaces; series opposing ones with a sign."""
    members = members_of(design, port)
    return " ".join(sorted(("-" if member.reversed else "") + member.name for member in members))


OPPOSED_TURNS = 0.05
"""Net turns of windings in series opposition, over all of them, up to which what they read is leakage and no
magnetizing inductance (judged: one turn of twenty is still within it)."""


def is_leakage(design: Design, test: BenchTest) -> bool:
    """Whether a test reads a leakage inductance.

    That is an inductance with other windings shorted, or of windings in series opposition whose turns cancel
    (module constant ``OPPOSED_TURNS``).

    Parameters
    ----------
    design : Design of one or B builds
    test : BenchTest, of the design
    """
    return test.measure == "inductance" and (bool(test.short) or _cancels(design, test))


def _cancels(design: Design, test: BenchTest) -> bool:
    """Whether the driven windings are in series opposition and their turns cancel."""
    members = members_of(design, test.drive)
    turns = [design.turns_of(member.name) for member in members]
    net = sum(-count if member.reversed else count for member, count in zip(members, turns, strict=True))
    return len(members) > 1 and abs(net) <= OPPOSED_TURNS * sum(turns)


def own_names(design: Design, test: BenchTest) -> tuple[str, ...]:
    """Names of the models' own errors in a reading, independent of its test's name and frequency.

    "leakage P|S" of the pair, the same from both sides, and "leakage P>S" of this side ("leakage P>-S" of
    both in series opposition); "capacitance P|S", "resonance P", "ac_resistance P>S", "quality P",
    "ratio P>S"; for a winding driven alone "split P".

    Parameters
    ----------
    design : Design of one or B builds
    test : BenchTest, of the design

    Returns
    -------
    tuple of str, names; the name of a pair comes first
    """
    first, second = _port_name(design, test.drive), _port_name(design, test.short or test.sense)
    if not test.short and is_leakage(design, test):
        one_sense, other_sense = (" ".join(names) for names in _opposed_names(design, test))
        signed = "-" + other_sense.replace(" ", " -")
        return (f"leakage {one_sense}|{other_sense}", f"leakage {one_sense}>{signed}")
    pair, side = "|".join(sorted((first, second or "core"))), f"{first}>{second}" if second else first
    split = (f"split {first}",) if len(members_of(design, test.drive)) == 1 else ()
    if is_leakage(design, test):
        return (f"leakage {pair}", f"leakage {side}", *split)
    if test.measure == "capacitance":
        return (f"capacitance {pair}",)
    if test.measure in ("resonance", "ac_resistance", "quality"):
        return (f"{test.measure} {side}",)
    if test.measure == "ratio":
        return (f"ratio {side}", *split)
    return split if test.measure == "inductance" else ()


def _opposed_names(design: Design, test: BenchTest) -> tuple[list[str], list[str]]:
    """Windings in series opposition, those of one sense and those of the other, in alphabetical order."""
    members = members_of(design, test.drive)
    plain = sorted(member.name for member in members if not member.reversed)
    signed = sorted(member.name for member in members if member.reversed)
    return (plain, signed) if plain < signed else (signed, plain)


def own_factors(design: Design) -> FloatArray:
    """Factors of ``design.model.own`` on every displayed reading: truth over model, (T,) array,
    dimensionless."""
    known = {item.of: item.factor for item in design.model.own}
    return np.array(
        [np.prod([known.get(name, 1.0) for name in own_names(design, test)]) for test in design.tests]
    )


def arc_errors(sections: Sections, flow: FloatArray) -> FloatArray:
    """Relative standard error of a leakage by the windings' arcs on a ring.

    Parameters
    ----------
    sections : Sections
    flow : (B, T, n) array, ampere-turns of every section for each test, A

    Returns
    -------
    (B, T) array, relative standard error, dimensionless; zero where no winding is on a sector
    """
    ring = sections.ring
    narrower = _narrower_arcs(sections)
    if ring is None or not narrower:
        return np.zeros(flow.shape[:2])
    wound = np.broadcast_to(np.sum(sections.to_branch, axis=1)[:, None], flow.shape)
    used = np.where(np.any(flow != 0, axis=-1, keepdims=True), flow, wound)
    whole = np.einsum("bti,bij,btj->bt", used, ring, used)
    safe = np.where(whole > 0, whole, 1.0)
    moved = [
        np.where(whole > 0, np.einsum("bti,bij,btj->bt", used, change, used), 0.0) / safe
        for change in narrower.values()
    ]
    return np.asarray(np.sqrt(np.sum(np.square(moved), axis=0)))


def own_arc_errors(design: Design, inductance: FloatArray) -> dict[str, float]:
    """Relative standard error of each winding's own inductance by its arc on a ring.

    Where much of the flux closes through the air (powder rings), an arc that is narrower by one standard
    deviation raises the inductance by one or two per cent, in closed rings of ferrite by a few hundredths.

    Parameters
    ----------
    design : Design of one build
    inductance : (N,) array, of each winding alone, H

    Returns
    -------
    dict of str to float, by winding, dimensionless; empty where no winding is on a sector
    """
    sections = sections_of(design)
    numbers = {winding.name: number for number, winding in enumerate(design.windings)}
    laid = np.array([numbers.get(section.winding, -1) for section in sections.layout.sections])  # −1: shields
    turns = np.sum(sections.to_branch[0], axis=0)
    result = {}
    for name, change in _narrower_arcs(sections).items():
        wound = turns * (laid == numbers[name])
        result[name] = abs(float(wound @ change[0] @ wound)) / float(inductance[numbers[name]])
    return result


def _narrower_arcs(sections: Sections) -> dict[str, FloatArray]:
    """Change of the sections' interaction (B, n, n) in H where the arc of one winding is narrower by one
    standard deviation, by winding; empty where none is on a sector."""
    layout, dimensions = sections.layout, sections.design.core.dimensions
    names = {section.winding for section in layout.sections if section.sector is not None}
    if sections.ring is None or not isinstance(dimensions, ToroidDimensions):
        return {}

    def field(narrowed: str) -> FloatArray:
        arcs = []
        for section in layout.sections:
            begin, wide = section.from_angle, section.sector
            if wide is not None and section.winding == narrowed:
                less = min(ARC, wide / 2)
                begin, wide = begin + less / 2, wide - less
            arcs.append((begin, wide))
        return added_by_sectors(sections.design, dimensions, sections.blocks, arcs)

    drawn = field("") if names else np.zeros(0)
    return {name: field(name) - drawn for name in sorted(names)}


def _leakage_model_error(sections: Sections) -> FloatArray:
    """Standard relative error of the leakage model between the first winding and all others, (B,),
    dimensionless."""
    test = BenchTest(
        name="", measure="inductance", drive=(Member(sections.design.windings[0].name),), frequency=1.0
    )
    return np.asarray(leakage_errors(sections, (test,))[0][:, 0])


@by_value(16)
def shared_leakage_error(design: Design) -> float:
    """Standard relative error that all leakages of a design share: the least of any pair of windings.

    What a pair errs beyond that (windings wound together, whose leakage is near field) is its own and says
    nothing about the others.

    Parameters
    ----------
    design : Design of one build

    Returns
    -------
    float, relative standard error, dimensionless

    Raises
    ------
    BuildError
        Where the layout is outside the models.
    """
    sections = sections_of(design)
    names = [winding.name for winding in design.windings]
    pairs = tuple(
        BenchTest(
            name="", measure="inductance", drive=(Member(first),), short=(Member(second),), frequency=1.0
        )
        for first, second in combinations(names, 2)
    )
    together = _leakage_model_error(sections)
    if not pairs:
        return float(np.max(together))
    return float(min(np.max(together), np.min(leakage_errors(sections, pairs)[0])))


def leakage_errors(
    sections: Sections, tests: tuple[BenchTest, ...]
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Error of the leakage that each test sees (open tests: against all other windings).

    The error is that of the field model and of a ring's arcs, with those of the near field and of the
    lead-outs in proportion to their parts.

    Parameters
    ----------
    sections : Sections, layout and fields
    tests : tuple of BenchTest, the T tests

    Returns
    -------
    error : (B, T) array, relative standard error, dimensionless
    near : (B, T) array, part of the leakage from the near field, dimensionless
    own : (B, T) array, part of the reading, with leads and link, that is leakage, dimensionless
    """
    design = sections.design
    legs = tuple(section.leg for section in sections.layout.sections)
    arcs = [section.sector for section in sections.layout.sections]
    initial = design.core.material.initial_permeability
    field = expected_error(design.core.dimensions, sections.layout.copper, legs, arcs, initial)[:, None]
    flow = balanced_ampere_turns(sections, tests)
    if isinstance(sections.fields, TwoLegFields):
        apart = leg_imbalance(sections.fields, flow) > BALANCED
        field = np.where(apart, np.maximum(field, OPPOSED_ERROR), field)
    whole = np.einsum("bti,btij,btj->bt", flow, section_interaction(sections, flow), flow)
    separate = np.einsum("bti,bij,btj->bt", flow, sections.near, flow)
    part = np.where(whole > 0, np.abs(separate) / np.where(whole > 0, whole, 1.0), 0.0)
    loose = any(
        (section.companion > 0 and section.layer > 0) or section.scramble
        for section in sections.layout.sections
    )
    near = PAIRS_IN_LAYERS_ERROR if loose else NEAR_FIELD_ERROR
    turns = np.abs(np.sum(sections.to_branch, axis=1))[:, None]
    currents = {
        winding.name: np.max(
            np.abs(flow)
            * [section.winding == winding.name for section in sections.layout.sections]
            / np.maximum(turns, 1e-300),
            axis=-1,
        )
        for winding in design.windings
    }
    leads = sum(lead_inductance(design, name) * current**2 for name, current in currents.items())
    link_inductance = np.zeros_like(whole)
    for index, test in enumerate(tests):
        for member in members_of(design, test.short):
            inductance = np.asarray(design.bench.short_inductance)
            link_inductance[:, index] += inductance * currents[member.name][:, index] ** 2
    lead_part = np.where(whole > 0, leads / np.where(whole > 0, whole + leads, 1.0), 0.0)
    ends = arc_errors(sections, flow)
    error = np.sqrt(field**2 + ends**2 + (near * part) ** 2 + (LEAD_INDUCTANCE_ERROR * lead_part) ** 2)
    leakage_share = np.where(
        whole > 0, (whole + leads) / np.where(whole > 0, whole + leads + link_inductance, 1.0), 0.0
    )
    return np.asarray(error), part, leakage_share
