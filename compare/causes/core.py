"""Causes in core, gap and material: what affects only the magnetizing inductance."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from functools import partial

import numpy as np

from ...predict.cores import (
    BUTTED,
    bias_point,
    calibrate_to_al,
    core_inductance_factor,
    remanent_ratio,
    residual_gap,
)
from ...predict.design import Core, Design, WindStep, first_build
from ...predict.errors import DesignError
from ...predict.remembered import by_value
from ...predict.winding import layout_of
from .cause import (
    COMMON,
    OCCASIONAL,
    RARE,
    Cause,
    Variant,
    equally,
    evenly,
    has_window,
    known_permeability,
    of_any_size,
    sized,
    the_core,
    winding_names,
)
from .grades import SAME_SET, as_powder, is_powder, of_sheets, other_grades, with_core, with_permeability

GAP_RATIOS = (0.64, 1.57)
FACE_GAPS = (4e-6, 60e-6)
CRACKS = (3e-6, 40e-6)
"""Least and greatest ratio of the gap, gap at each pair of faces (m) and crack (m). Gaps too long and too
short by the same factor are as likely; faces and cracks have any size alike (judged)."""
UNMET_FACES = WRONG_SET = 1.5 * COMMON
"""Dirt, flash and adhesive on the faces, and a set of another step from the same drawer, are met more often
than a wrong gap or a wrong grade (judged)."""
CRACK_LOSS = 0.5
"""Core loss that the widest crack adds (judged: quality 5 to 20 % lower, sometimes more)."""
BIAS_RATIOS = (0.4, 0.9)
BIAS_SUPPLY, BIASED_VISIBLY = 1.0, 0.97
"""Direct current (A) that a meter or its adapter sends if a test of the design has none of its own, and the
part of its permeability below which powder shows it (judged)."""
CORE_RATIOS, RING_RATIOS = (0.65, 0.8, 1.25, 1.5), (0.5, 2.0)
OTHER_RING = 0.2
"""Prior of a ring of another height relative to two stacked rings, or one of two (judged: few keep them)."""
AL_SERIES = (16, 25, 40, 63, 100, 125, 160, 200, 250, 315, 400, 500, 630, 800, 1000, 1250, 1600, 2000, 2500)
"""Inductance factors (nH) in which gapped sets are made: R5 with steps of R10 in between (from memory: the
preferred numbers of ISO 3, as catalogues of gapped ferrite sets use them)."""
AL_REACH = 8.0
"""Another set is at most this many times larger or smaller (judged)."""
THIN_GAP, THIN = 50e-6, 0.25
"""Ground gap (m) below which sets are hardly made, since a grinder holds ten micrometres, and how likely they
are relative to others (judged)."""
HALF_STEPS = frozenset((125, 200, 500, 800, 1250, 2000))
"""Steps that few makers keep: half as likely as the others (judged)."""
OTHER_LOT = (0.5, 0.65, 0.8, 1.25, 1.5, 2.0)
"""Permeability of one piece of a set over that of the other, if they are of different lots or grades
(judged)."""
MIXED_GAPS = (0.5, 2.0)
"""Gap of a set of two pieces that do not belong together: one ground piece instead of two, or two instead of
one (exact: one ground piece of a gap or two)."""


def _gapped(design: Design) -> tuple[str, ...]:
    return ("core",) if np.any(np.asarray(design.core.gap) > 0) else ()


def _gap_title(design: Design, location: str, ratio: float) -> str:
    nominal = first_build(design.core.gap)
    return f"the gap is ×{ratio:.2f} ({nominal * ratio * 1e3:.3g} mm instead of {nominal * 1e3:.3g} mm)"


def _gap(design: Design, location: str) -> list[Variant]:
    def changed(ratio: float) -> Design:
        return with_core(design, replace(design.core, gap=first_build(design.core.gap) * ratio))

    return sized(design, location, equally(evenly(*GAP_RATIOS, 9, logarithmic=True)), changed, _gap_title)


def _unseated_title(design: Design, location: str, extra: float) -> str:
    if not of_sheets(design):
        return f"the core halves are {extra * 1e6:.0f} µm further apart at each pair of faces"
    joint = ", as if stacked butt to butt" if extra >= BUTTED / 2 else ""
    return f"the sheets of the stack are {extra * 1e6:.0f} µm further apart at each pair of faces{joint}"


def _unseated(design: Design, location: str) -> list[Variant]:
    def changed(extra: float) -> Design:
        return with_core(design, replace(design.core, face_gap=first_build(design.core.face_gap) + extra))

    return sized(design, location, of_any_size(*FACE_GAPS, 9), changed, _unseated_title)


def _mixed_set(design: Design, location: str) -> list[Variant]:
    """One piece of the set is of another lot: half of the iron path has one permeability and half the other,

        2/μ = 1/μ₁ + 1/μ₂

    and the gap of a gapped set may be half or twice.
    """
    result = []
    if math.isfinite(first_build(design.core.material.initial_permeability)):
        for lot_ratio in OTHER_LOT:
            title = (
                f"one piece of the core set is of another lot or grade (×{lot_ratio:.2f} the permeability)"
            )
            result.append(
                Variant(None, 1.0, with_permeability(design, 2 * lot_ratio / (1 + lot_ratio)), title)
            )
    gap = first_build(design.core.gap)
    for ratio in MIXED_GAPS if gap > 0 else ():
        pieces = "two ground pieces" if ratio > 1 else "only one ground piece"
        title = f"the set is made of {pieces}: the gap is ×{ratio:g}"
        result.append(Variant(None, 1.0, with_core(design, replace(design.core, gap=gap * ratio)), title))
    return result


def _of_two_pieces(design: Design) -> tuple[str, ...]:
    """Sets of two pieces whose permeability or gap is known."""
    return ("core",) if has_window(design) and (known_permeability(design) or _gapped(design)) else ()


def _wrong_al(design: Design, location: str) -> list[Variant]:
    """Another gapped set of the same shape, in the steps of ``AL_SERIES`` that a gap in this core can give.

    Also a gapped set in place of one without a gap.
    """
    now = first_build(core_inductance_factor(replace(design.core, al_scale=1.0)))
    result = []
    for step, gap in _series_gaps(design.core):
        core = replace(design.core, gap=gap)
        ratio = first_build(core_inductance_factor(replace(core, al_scale=1.0))) / now
        title = f"the core set is another one of the series: AL {step} nH instead of {now * 1e9:.4g} nH"
        weight = (0.5 if step in HALF_STEPS else 1.0) * (THIN if gap < THIN_GAP else 1.0)
        result.append(Variant(ratio, weight, with_core(design, core), title))
    return result


@by_value(8)
def _series_gaps(core: Core) -> tuple[tuple[int, float], ...]:
    """Steps of ``AL_SERIES`` (nH) that are another set than this one, and the gap (m) that gives each."""
    now = first_build(core_inductance_factor(replace(core, al_scale=1.0)))
    result = []
    near = max(first_build(core.gap), 1e-4)  # any gap makes the solver seek a gap and not a permeability
    for step in AL_SERIES:
        ratio = step * 1e-9 / now
        if not 1 / AL_REACH <= ratio <= AL_REACH or abs(math.log(ratio)) <= SAME_SET:
            continue
        try:
            near = first_build(calibrate_to_al(replace(core, al=step * 1e-9, al_scale=1.0, gap=near)).gap)
        except DesignError:  # more than this core gives without a gap
            continue
        result.append((step, near))
    return tuple(result)


def _in_steps(design: Design) -> tuple[str, ...]:
    """Ferrite sets with a window, which are sold gapped by inductance factor: not rings, not laminations."""
    sheets = design.core.material.sheet_thickness > 0 or design.core.stacking_factor < 1
    possible = has_window(design) and not sheets
    return ("core",) if possible and _series_gaps(design.core) else ()


def _bought_by_al(design: Design) -> bool:
    """Whether the set is one of the series: its AL is stated, is a step, and its own legs hold the gap."""
    core = design.core
    if core.al is None or core.gap_legs == "spacer":
        return False
    stated = first_build(core.al) * 1e9
    return min(abs(math.log(step / stated)) for step in AL_SERIES) <= SAME_SET


def _gapped_in_steps(design: Design) -> tuple[str, ...]:
    return _in_steps(design) if _gapped(design) and _bought_by_al(design) else ()


def _gapped_to_measure(design: Design) -> tuple[str, ...]:
    return _in_steps(design) if _gapped(design) and not _bought_by_al(design) else ()


def _ungapped_in_steps(design: Design) -> tuple[str, ...]:
    return () if _gapped(design) else _in_steps(design)


def _gap_and_known(design: Design) -> tuple[str, ...]:
    return _gapped(design) if known_permeability(design) else ()


def _ungapped(design: Design, location: str) -> list[Variant]:
    """With core losses from two thirds to one and a half times the nominal: without a gap they alone
    determine the quality.

    The gap of the faces, which the ground gap included, then appears on its own.
    """
    core = design.core
    faces = max(first_build(core.face_gap), residual_gap(core.dimensions, core.material))
    without = with_core(design, replace(core, gap=0.0, face_gap=faces))
    return [
        Variant(
            None,
            weight,
            replace(without, model=replace(without.model, loss=without.model.loss * loss)),
            "the core set has no gap",
        )
        for loss, weight in ((0.65, 1.0), (1.0, 2.0), (1.5, 1.0))
    ]


def _brittle(design: Design) -> tuple[str, ...]:
    """The core, if it can crack: a stack of laminations does not."""
    return () if of_sheets(design) else ("core",)


def _cracked_title(design: Design, location: str, width: float) -> str:
    return f"the core is cracked: a gap of {width * 1e6:.0f} µm more in its path, and more loss"


def _cracked(design: Design, location: str) -> list[Variant]:
    """A gap in one place of the path (half of it at each of the two pairs of faces has the same effect), with
    loss that grows with it."""

    def changed(width: float) -> Design:
        faces = first_build(design.core.face_gap) + width / 2
        loss = design.model.loss * (1.0 + CRACK_LOSS * width / CRACKS[1])
        core = replace(design.core, face_gap=faces)
        return replace(with_core(design, core), model=replace(design.model, loss=loss))

    return sized(design, location, of_any_size(*CRACKS, 8), changed, _cracked_title)


def _remanent(design: Design) -> float:
    """Least part of the permeability that remanence alone leaves; 1 where unknown."""
    return first_build(remanent_ratio(design.core))


def _bias_title(design: Design, location: str, ratio: float) -> str:
    remanent = ratio >= _remanent(design) or _remanent(design) == 1
    what = "a bias or remanence" if remanent and not is_powder(design) else "a bias"
    return f"{what} in the core leaves ×{ratio:.2f} of its permeability"


def _bias(design: Design, location: str) -> list[Variant]:
    """Down to what the remanence of a known grade leaves, if that is less than ``BIAS_RATIOS``; of powder to
    what a meter's current leaves."""
    least, most = BIAS_RATIOS
    if is_powder(design):
        least = _biased_powder(design)
        most = (1.0 + least) / 2
    ratios = equally(evenly(min(least, _remanent(design)), most, 7))
    return sized(design, location, ratios, partial(with_permeability, design), _bias_title)


def _biased_powder(design: Design) -> float:
    """Part of a powder's permeability that the bench's current leaves, in the winding of most turns."""
    current = max([BIAS_SUPPLY, *(test.bias for test in design.tests)])
    wound = [step for step in design.build.steps if isinstance(step, WindStep)]
    most = max(
        sum(first_build(step.turns) for step in wound if name in step.windings)
        for name in winding_names(design)
    )
    return first_build(bias_point(as_powder(design.core), current * most).reversible)


def _may_be_biased(design: Design) -> Sequence[str]:
    """The core, if its permeability is known; powder holds next to no remanence, and takes thousands of
    amperes per metre."""
    seen = not is_powder(design) or _biased_powder(design) < BIASED_VISIBLY
    return known_permeability(design) if seen else ()


def _wrong_core(design: Design, location: str) -> list[Variant]:
    """Another stack or size: the area is scaled by the ratio, and every turn is longer by what the leg's
    section is longer around; of rings one of two stacked or two for one as well."""
    layout, dimensions = layout_of(design), design.core.dimensions
    turns, lengths = layout.turns[0], layout.turn_length[0]
    mean = float(turns @ lengths / turns.sum())
    result = []
    weights = dict.fromkeys(CORE_RATIOS, OTHER_RING if dimensions.ring else 1.0)
    for ratio, weight in (weights | dict.fromkeys(RING_RATIOS if dimensions.ring else (), 1.0)).items():
        core = replace(design.core, effective_area=first_build(design.core.effective_area) * ratio)
        more = (dimensions.perimeter_of(ratio) - dimensions.perimeter) / mean
        longer = first_build(design.build.mean_turn_scale) * (1.0 + more)
        changed = replace(with_core(design, core), build=replace(design.build, mean_turn_scale=longer))
        title = f"another core: about ×{ratio:.2f} of the area (stack height, size), turns longer or shorter"
        result.append(Variant(None, weight, changed, title))
    return result


_WRONG_AL = Cause(
    name="wrong-al",
    kind="core",
    weight=WRONG_SET,
    places=_gapped_in_steps,
    variants=_wrong_al,
    exact=("inductance",),
    confirm=(
        "Read the inductance factor on the core or its box; wind ten turns on a loose set of that box "
        "and read its inductance: AL = L/100."
    ),
    remedy="State AL with its tolerance on the sheet and have it read off the box when kitting.",
    neutral=1.0,
    confusable=("gap", "ungapped", "mixed-set", "al-basis"),
)
"""A set of another step for a gapped one, whose AL is given with its tolerance. Without a gap the
permeability varies, the inductance is no exact amount, and faces that do not meet are the commoner cause
(judged). A gap that is ground for the part, or made by spacers, has no neighbours in the same drawer: there
it is rare (judged)."""

_UNSEATED = Cause(
    name="unseated",
    kind="core",
    weight=UNMET_FACES,
    places=lambda design: ("core",) if has_window(design) and not of_sheets(design) else (),
    variants=_unseated,
    confirm=(
        "Press the halves together while reading: the inductance rises. Take them apart, "
        "clean the faces, read again."
    ),
    remedy=(
        "Clean the mating faces, keep adhesive off them, check clip or clamping force, look "
        "for flash on the bobbin."
    ),
    undone_by=(("clamped", 0.2),),
    confusable=("gap", "material"),
    continuous=True,
    title=_unseated_title,
)

_MATERIAL = Cause(
    name="material",
    kind="core",
    weight=COMMON,
    places=lambda design: () if of_sheets(design) else known_permeability(design),
    variants=other_grades,
    confirm=(
        "Wind a few turns on a loose core of the same box and read its AL; read the "
        "inductance at two temperatures."
    ),
    remedy=("Check the grade on the core's label against the sheet; keep lots of other grades apart."),
    confusable=("unseated", "gap", "mixed-set"),
)

_BIAS = Cause(
    name="bias",
    kind="core",
    weight=OCCASIONAL,
    places=_may_be_biased,
    variants=_bias,
    confirm=(
        "Demagnetise (a falling alternating voltage, slowly to zero) and read again; switch off the "
        "meter's bias and read at the opposite one."
    ),
    remedy="No change of the part. Demagnetise before the test, and test before any direct current.",
    undone_by=(("demagnetised", 0.05),),
    neutral=1.0,
    confusable=("material", "unseated", "stress", "cracked"),
    continuous=True,
    title=_bias_title,
)
CAUSES = (
    Cause(
        name="gap",
        kind="core",
        weight=COMMON,
        places=_gapped,
        variants=_gap,
        confirm=(
            "Measure the gap with a feeler gauge or optically; press the halves together: a "
            "wrong ground gap does not change."
        ),
        remedy=(
            "Order the core set by its AL with tolerance, not by the length of the gap; mark gapped halves."
        ),
        confusable=("unseated", "material", "wrong-al"),
        continuous=True,
        title=_gap_title,
    ),
    _UNSEATED,
    replace(
        _UNSEATED,
        places=lambda design: ("core",) if has_window(design) and of_sheets(design) else (),
        confirm=(
            "Look at the edge of the stack: interleaved sheets change direction one by one, butted ones lie "
            "in one block. Press the joints together while reading: the inductance rises."
        ),
        remedy=(
            "Interleave the sheets as the drawing says, deburr them, close the joints and clamp the stack "
            "before the test."
        ),
    ),
    _MATERIAL,
    replace(
        _MATERIAL,
        places=lambda design: known_permeability(design) if of_sheets(design) else (),
        confirm=(
            "Measure the thickness of a sheet with a micrometer and read the label of its box; read the open "
            "inductance at a tenth and at ten times the level: each grade has its own curve."
        ),
        remedy="Check grade and thickness of the sheets against the drawing; keep other grades apart.",
    ),
    Cause(
        name="mixed-set",
        kind="core",
        weight=RARE,
        places=_of_two_pieces,
        variants=_mixed_set,
        confirm=(
            "Read lot and grade on both pieces; look at the centre leg's pole faces and see which one is "
            "ground back."
        ),
        remedy="Keep the two pieces of a set together from the box to the part; do not pair leftovers.",
        confusable=("material", "gap", "wrong-al", "unseated"),
    ),
    _WRONG_AL,
    replace(_WRONG_AL, places=_gapped_to_measure, weight=RARE),
    replace(_WRONG_AL, places=_ungapped_in_steps, weight=OCCASIONAL, exact=()),
    Cause(
        name="ungapped",
        kind="core",
        weight=COMMON,
        places=_gap_and_known,
        variants=_ungapped,
        confirm="Take the halves apart and look at the centre leg: it must be shorter than the outer ones.",
        remedy="Mark gapped halves with colour; count them into the set before assembly.",
        confusable=("gap", "turns"),
    ),
    Cause(
        name="cracked",
        kind="core",
        weight=OCCASIONAL,
        places=_brittle,
        variants=_cracked,
        confirm=(
            "Look for cracks with dye or a magnifier; press the core at several points while reading: the "
            "inductance follows the finger. Clamping the halves does not bring it back."
        ),
        remedy="Handle cores singly, reduce the force of the clip, check the shrinkage of the potting.",
        undone_by=(("clamped", 0.85),),
        confusable=("unseated", "gap", "material", "stress"),
        continuous=True,
        title=_cracked_title,
    ),
    _BIAS,
    Cause(
        name="wrong-core",
        kind="core",
        weight=RARE,
        places=the_core,
        variants=_wrong_core,
        confirm="Measure the core with a caliper and weigh it; compare with its data sheet.",
        remedy="Check the core's size and stack height against the sheet when kitting.",
        confusable=("gap", "mean-turn", "al-basis"),
    ),
)
