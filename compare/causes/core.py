"""Core, gap and material: what acts on the magnetizing inductance alone."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from ...predict.design import Core, Design
from .cause import COMMON, OCCASIONAL, Cause, Variant, evenly, has_window, number_of

MATERIAL_RATIOS = (0.5, 0.65, 0.8, 1.25, 1.4, 2.0)
GAP_RATIOS = (0.64, 1.57)
FACE_GAPS = (4e-6, 60e-6)


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


def _known_material(design: Design) -> tuple[str, ...]:
    return ("core",) if math.isfinite(number_of(design.core.material.initial_permeability)) else ()


def _material(design: Design, place: str) -> list[Variant]:
    material = design.core.material
    nominal = number_of(material.initial_permeability)
    return [
        Variant(
            ratio,
            1.0 if ratio in (0.5, 0.65, 1.4, 2.0) else 0.5,
            _with_core(
                design, replace(design.core, material=replace(material, initial_permeability=nominal * ratio))
            ),
            f"the material has ×{ratio:.2f} the permeability (μi about {nominal * ratio:.0f} "
            f"instead of {nominal:.0f})",
        )
        for ratio in MATERIAL_RATIOS
    ]


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
        confusable=("gap", "material"),
        continuous=True,
        title=_unseated_title,
    ),
    Cause(
        name="material",
        kind="core",
        weight=OCCASIONAL,
        places=_known_material,
        variants=_material,
        confirm=(
            "Wind a few turns on a loose core of the same box and read its AL; read the "
            "inductance at two temperatures."
        ),
        remedy=("Check the grade on the core's label against the sheet; keep lots of other grades apart."),
        confusable=("unseated", "gap"),
    ),
)
