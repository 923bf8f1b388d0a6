"""What a core may be made of instead: powder of another class, sheets of another grade, another ferrite."""

from __future__ import annotations

import math
from dataclasses import replace

from ...predict.catalogue import load_catalogue
from ...predict.cores import THINNEST_LAMINATION
from ...predict.design import Core, Design, Material, first_build
from .cause import Variant

MATERIAL_RATIOS = (0.5, 0.65, 0.8, 1.25, 1.4, 2.0)
"""Permeability of another lot or grade over that of the design (judged)."""
SAME_SET = 0.12
"""Logarithm of a ratio below which a set or a class is the same one (judged)."""
POWDER_CLASSES = (4, 6, 8.5, 10, 14, 20, 26, 35, 40, 55, 60, 75, 90, 100, 125, 147, 160, 200, 300)
FERRITE_CLASSES = (100, 125, 250, 400, 600, 850, 1200, 1500, 2000, 2300, 3000, 4300, 5000, 7000, 10000, 15000)
"""Permeability classes of the trade, pressed powder and ferrite (from memory, makers' tables of grades)."""
KEPT_CLASSES, SELDOM_KEPT = frozenset((14, 26, 60, 75, 90, 125)), 0.3
"""Classes of powder that most shops keep, and how likely another is beside them (judged)."""
POWDER_BELOW = 350.0
"""Initial permeability below which a core of unknown make is taken to be powder (judged; nickel-zinc ferrites
of that class come in the same steps)."""
SWAPPED_SHEETS, SWAPPED_NICKEL = 2.0, 0.1
"""Prior of sheets of another silicon steel, and of nickel iron or the other way round, relative to another
lot of the same (judged: boxes of sheets of one size look alike)."""


def with_core(design: Design, core: Core) -> Design:
    """The design on another core.

    Parameters
    ----------
    design : Design
    core : Core
    """
    return replace(design, core=core)


def with_permeability(design: Design, ratio: float) -> Design:
    """The design with its core's initial permeability scaled.

    Parameters
    ----------
    design : Design
    ratio : float, factor on the permeability, dimensionless
    """
    nominal = first_build(design.core.material.initial_permeability)
    material = replace(design.core.material, initial_permeability=nominal * ratio)
    return with_core(design, replace(design.core, material=material))


def is_powder(design: Design) -> bool:
    """Whether the core is of pressed powder: a grade with a bias curve, or a core of which no more than a
    permeability below ``POWDER_BELOW`` is known."""
    material = design.core.material
    nameless = material.name not in load_catalogue().materials and not of_sheets(design)
    low = 1 < first_build(material.initial_permeability) < POWDER_BELOW
    return material.bias_field > 0 or (nameless and low)


def as_powder(core: Core) -> Core:
    """A core of powder with a bias curve: its own, else that of the powder of the catalogue whose
    permeability is nearest.

    Parameters
    ----------
    core : Core
    """
    if core.material.bias_field > 0:
        return core
    drawn = math.log(first_build(core.material.initial_permeability))
    nearest = min(
        (grade for grade in load_catalogue().materials.values() if grade.bias_field > 0),
        key=lambda grade: abs(math.log(first_build(grade.initial_permeability)) - drawn),
    )
    curve = replace(core.material, bias_field=nearest.bias_field, bias_exponent=nearest.bias_exponent)
    return replace(core, material=curve)


def of_sheets(design: Design) -> bool:
    """Whether the core is a stack of laminations."""
    return design.core.material.sheet_thickness > THINNEST_LAMINATION


def other_grades(design: Design, location: str) -> list[Variant]:
    """What the core may be made of instead.

    Powder comes in classes of permeability and in nothing between. Sheets are of another grade of the
    catalogue, with its own curve and thickness, or of another lot. Ferrite has another permeability by ratio,
    or that of a class of the trade within a factor of ten.

    Parameters
    ----------
    design : Design
    location : str, the core

    Returns
    -------
    list[Variant], variants by rising ratio of the permeability, dimensionless
    """
    if is_powder(design):
        result = _other_classes(design)
    else:
        result = [*_by_ratio(design), *(_other_sheets(design) if of_sheets(design) else ())]
    return sorted(result, key=lambda variant: variant.amount or 0.0)


def _other_classes(design: Design) -> list[Variant]:
    """Classes of powder. The permeability that the AL asks for stands for the class nearest to it."""
    nominal = first_build(design.core.material.initial_permeability)
    nearest = min(POWDER_CLASSES, key=lambda step: abs(math.log(step / nominal)))
    drawn = nearest if abs(math.log(nearest / nominal)) <= SAME_SET else nominal
    return [
        Variant(
            step / drawn,
            1.0 if step in KEPT_CLASSES else SELDOM_KEPT,
            with_permeability(design, step / drawn),
            f"the core is of another permeability class: {step:g} instead of {drawn:.3g}",
        )
        for step in POWDER_CLASSES
        if 0.1 <= step / drawn <= 10.0 and abs(math.log(step / drawn)) > SAME_SET
    ]


def _other_sheets(design: Design) -> list[Variant]:
    """Every other grade of laminations in the catalogue."""
    core = design.core
    drawn = core.material
    result = []
    for grade in load_catalogue().materials.values():
        if grade.name == drawn.name or grade.sheet_thickness <= THINNEST_LAMINATION:
            continue
        ratio = grade.initial_permeability / first_build(drawn.initial_permeability)
        result.append(
            Variant(
                first_build(ratio),
                SWAPPED_SHEETS if _silicon(grade) and _silicon(drawn) else SWAPPED_NICKEL,
                with_core(design, replace(core, material=grade)),
                f"the sheets are of {grade.name} instead of {drawn.name or 'the grade drawn'}",
            )
        )
    return result


def _silicon(material: Material) -> bool:
    """Whether a grade is silicon steel; sheets whose name does not say are taken to be."""
    return "nickel" not in material.name


def _by_ratio(design: Design) -> list[Variant]:
    """Other lots and grades by ratio, and the permeability classes of the trade within a factor of ten; of
    sheets other lots alone."""
    nominal = first_build(design.core.material.initial_permeability)
    classes = () if of_sheets(design) else POWDER_CLASSES if nominal < POWDER_BELOW else FERRITE_CLASSES
    weights = {ratio: 1.0 if ratio in (0.5, 0.65, 1.4, 2.0) else 0.5 for ratio in MATERIAL_RATIOS}
    for ratio in (step / nominal for step in classes):
        if (
            0.1 <= ratio <= 10.0
            and min(abs(math.log(ratio / known_ratio)) for known_ratio in (1.0, *weights)) > SAME_SET
        ):
            weights[ratio] = 0.5 if 0.45 <= ratio <= 2.2 else 0.15
    return [
        Variant(
            ratio,
            weight,
            with_permeability(design, ratio),
            f"the material has ×{ratio:.2f} the permeability (μi about {float(f'{nominal * ratio:.3g}'):.0f} "
            f"instead of {nominal:.4g})",
        )
        for ratio, weight in weights.items()
    ]
