"""The material of ``[core]``: a grade of the catalogue, or a permeability."""

from __future__ import annotations

import math
from dataclasses import replace

from ...catalogue import Catalogue, find_material
from ...design import Material
from ..grammar import ParsedTable


def read_material(section: ParsedTable, catalogue: Catalogue | None) -> Material | None:
    """Material of ``material`` or ``mu_i`` (and ``mu_i_tolerance``) of ``[core]``.

    With neither of them, but with ``al``: a material of infinite permeability, so that the gap has all the
    reluctance.

    Parameters
    ----------
    section : ParsedTable
    catalogue : Catalogue or None

    Returns
    -------
    Material or None, material, SI; None if there are faults
    """
    spread = section["mu_i_tolerance"]
    if "material" in section and "mu_i" in section:
        section.fault("mu_i", "material and mu_i", "one of the two")
        return None
    if "material" in section:
        if section["material"] is None or catalogue is None:
            return None
        with section.faults.collect():
            grade = find_material(catalogue, section["material"])
            return grade if spread is None else replace(grade, tolerance=spread)
        return None
    if "mu_i" not in section:
        if "mu_i_tolerance" in section:
            section.fault("mu_i_tolerance", "a tolerance of mu_i without mu_i", "material or mu_i with it")
        if "al" not in section:
            section.fault("material", "nothing", "the name of a material of the catalogue, or mu_i, or al")
            return None
        return Material(name="unknown", initial_permeability=math.inf)
    if section["mu_i"] is None:
        return None
    material = Material(
        name=f"mu_i {section['mu_i']:g}",
        initial_permeability=section["mu_i"],
        source="stated in the design file",
    )
    return material if spread is None else replace(material, tolerance=spread)
