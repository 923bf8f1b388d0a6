"""Core, gap and material: what acts on the magnetizing inductance alone."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from ...predict.design import Core, Design
from .cause import (
    COMMON,
    OCCASIONAL,
    RARE,
    Cause,
    Variant,
    evenly,
    has_window,
    known_permeability,
    number_of,
    the_core,
)

MATERIAL_RATIOS = (0.5, 0.65, 0.8, 1.25, 1.4, 2.0)
GAP_RATIOS = (0.64, 1.57)
FACE_GAPS = (4e-6, 60e-6)
CRACKS = (3e-6, 40e-6)
CRACK_LOSS = 0.5
"""Core loss that the widest crack adds (judged: quality 5 to 20 % lower, some more)."""
BIAS_RATIOS = (0.4, 0.9)
CORE_RATIOS = (0.65, 0.8, 1.25, 1.5)


def _with_core(design: Design, core: Core) -> Design:
    return replace(design, core=core)


def _gapped(design: Design) -> tuple[str, ...]:
    return ("core",) if np.any(np.asarray(design.core.gap) > 0) else ()


def _gap_title(design: Design, place: str, ratio: float) -> str:
    nominal = number_of(design.core.gap)
    return f"the gap is ×{ratio:.2f} ({nominal * ratio * 1e3:.3g} mm instead of {nominal * 1e3:.3g} mm)"


def _gap(design: Design, place: str) -> list[Variant]:
    return [
        Variant(
            ratio,
            1.0,
            _with_core(design, replace(design.core, gap=number_of(design.core.gap) * ratio)),
            _gap_title(design, place, ratio),
        )
        for ratio in evenly(*GAP_RATIOS, 9, logarithmic=True)
    ]


def _unseated_title(design: Design, place: str, extra: float) -> str:
    return f"the core halves stand {extra * 1e6:.0f} µm further apart at each pair of faces"


def _unseated(design: Design, place: str) -> list[Variant]:
    return [
        Variant(
            extra,
            1.0,
            _with_core(design, replace(design.core, face_gap=number_of(design.core.face_gap) + extra)),
            _unseated_title(design, place, extra),
        )
        for extra in evenly(*FACE_GAPS, 9, logarithmic=True)
    ]


def with_permeability(design: Design, ratio: float) -> Design:
    """The design with its core's initial permeability times ``ratio``."""
    nominal = number_of(design.core.material.initial_permeability)
    material = replace(design.core.material, initial_permeability=nominal * ratio)
    return _with_core(design, replace(design.core, material=material))


def _material(design: Design, place: str) -> list[Variant]:
    nominal = number_of(design.core.material.initial_permeability)
    return [
        Variant(
            ratio,
            1.0 if ratio in (0.5, 0.65, 1.4, 2.0) else 0.5,
            with_permeability(design, ratio),
            f"the material has ×{ratio:.2f} the permeability (μi about {nominal * ratio:.0f} "
            f"instead of {nominal:.0f})",
        )
        for ratio in MATERIAL_RATIOS
    ]


def _gap_and_known(design: Design) -> tuple[str, ...]:
    return _gapped(design) if known_permeability(design) else ()


def _ungapped(design: Design, place: str) -> list[Variant]:
    """With core losses from two thirds to half as much again: without a gap they alone rule the quality."""
    without = _with_core(design, replace(design.core, gap=0.0))
    return [
        Variant(
            None,
            weight,
            replace(without, model=replace(without.model, loss=without.model.loss * loss)),
            "the core set has no gap",
        )
        for loss, weight in ((0.65, 1.0), (1.0, 2.0), (1.5, 1.0))
    ]


def _cracked_title(design: Design, place: str, width: float) -> str:
    return f"the core is cracked: a gap of {width * 1e6:.0f} µm more in its path, and more loss"


def _cracked(design: Design, place: str) -> list[Variant]:
    """A gap in one place of the path (half of it at each of the two pairs of faces does the same), with loss
    that grows with it."""
    result = []
    for width in evenly(*CRACKS, 8, logarithmic=True):
        faces = number_of(design.core.face_gap) + width / 2
        changed = _with_core(design, replace(design.core, face_gap=faces))
        loss = changed.model.loss * (1.0 + CRACK_LOSS * width / CRACKS[1])
        changed = replace(changed, model=replace(changed.model, loss=loss))
        result.append(Variant(width, 1.0, changed, _cracked_title(design, place, width)))
    return result


def _bias_title(design: Design, place: str, ratio: float) -> str:
    return f"a bias or remanence in the core leaves ×{ratio:.2f} of its permeability"


def _bias(design: Design, place: str) -> list[Variant]:
    return [
        Variant(ratio, 1.0, with_permeability(design, ratio), _bias_title(design, place, ratio))
        for ratio in evenly(*BIAS_RATIOS, 7)
    ]


def _wrong_core(design: Design, place: str) -> list[Variant]:
    """Another stack or size: area times the ratio; of a turn, half of which lies along the leg's depth, a
    quarter of the change (judged: a square leg under a thin build)."""
    result = []
    for ratio in CORE_RATIOS:
        core = replace(design.core, effective_area=number_of(design.core.effective_area) * ratio)
        longer = number_of(design.build.mean_turn_scale) * (1.0 + (ratio - 1.0) / 4)
        changed = replace(_with_core(design, core), build=replace(design.build, mean_turn_scale=longer))
        title = f"another core: about ×{ratio:.2f} of the area (stack height, size), turns longer or shorter"
        result.append(Variant(None, 1.0, changed, title))
    return result


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
        confusable=("unseated", "material"),
        continuous=True,
        title=_gap_title,
    ),
    Cause(
        name="unseated",
        kind="core",
        weight=COMMON,
        places=lambda design: ("core",) if has_window(design) else (),
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
    ),
    Cause(
        name="material",
        kind="core",
        weight=OCCASIONAL,
        places=known_permeability,
        variants=_material,
        confirm=(
            "Wind a few turns on a loose core of the same box and read its AL; read the "
            "inductance at two temperatures."
        ),
        remedy=("Check the grade on the core's label against the sheet; keep lots of other grades apart."),
        confusable=("unseated", "gap"),
    ),
    Cause(
        name="ungapped",
        kind="core",
        weight=OCCASIONAL,
        places=_gap_and_known,
        variants=_ungapped,
        confirm="Take the halves apart and look at the centre leg: it must stand back from the outer ones.",
        remedy="Mark gapped halves with colour; count them into the set before assembly.",
        confusable=("gap", "turns"),
    ),
    Cause(
        name="cracked",
        kind="core",
        weight=OCCASIONAL,
        places=the_core,
        variants=_cracked,
        confirm=(
            "Look for cracks with dye or a glass; press the core at several points while reading: the "
            "inductance follows the finger, and does not return on clamping."
        ),
        remedy="Handle halves singly, lower the clip's force, look at the potting's shrinkage.",
        undone_by=(("clamped", 0.85),),
        confusable=("unseated", "gap", "material", "stress"),
        continuous=True,
        title=_cracked_title,
    ),
    Cause(
        name="bias",
        kind="core",
        weight=OCCASIONAL,
        places=known_permeability,
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
    ),
    Cause(
        name="wrong-core",
        kind="core",
        weight=RARE,
        places=the_core,
        variants=_wrong_core,
        confirm="Measure the core with a caliper, and weigh it, against its data sheet.",
        remedy="Check the core's size and stack height against the sheet when kitting.",
        confusable=("gap", "mean-turn", "al-basis"),
    ),
)
