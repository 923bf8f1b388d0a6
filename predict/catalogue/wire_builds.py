"""Overall diameters of round wire by its covering: grades of enamel, bonding layers, triple insulation."""

from __future__ import annotations

from ..errors import CatalogueError, Fault
from .lookup import Catalogue, insulated_range
from .rows import BUILDS

TRIPLE_WALL = (0.090e-3, 0.110e-3)
"""Least and greatest wall (m) of triple-insulated wire: three layers of some 33 µm (makers' tables, whose
overall diameters are 0.20 mm above the bare one, from memory)."""
TRIPLE_SPAN = (0.2e-3, 1.0e-3)
"""Bare diameters (m) in which makers offer it (from memory)."""


def build_range(catalogue: Catalogue, diameter: float, build: int | str) -> tuple[float, float]:
    """Range of overall diameters of round wire, of a grade or of a build by name.

    "1B", "2B": enamel of grade 1 or 2 with a bonding layer. Their greatest overall diameters are those of the
    next grade, and the layer goes on top of the greatest enamel: from the greatest of grade n to the greatest
    of grade n + 1 (from memory; within a tenth of the build). "triple": ``TRIPLE_WALL`` on both sides.

    Parameters
    ----------
    catalogue : Catalogue
    diameter : float, bare diameter, m
    build : int or str, grade 1, 2 or 3 (index), or one of ``BUILDS``

    Returns
    -------
    tuple[float, float], least and greatest overall diameter, m

    Raises
    ------
    CatalogueError
        As ``insulated_range``; a diameter outside ``TRIPLE_SPAN``.

    References
    ----------
    IEC 60317-0-1, Tables 1 and 2; makers' tables (from memory).
    """
    if isinstance(build, int):
        return insulated_range(catalogue, diameter, build)
    if build == "triple":
        low, high = TRIPLE_SPAN
        if not low - 1e-9 <= diameter <= high + 1e-9:
            raise CatalogueError(
                Fault(
                    "wire.diameter",
                    f"{diameter * 1e3:g} mm",
                    f"{low * 1e3:g} mm to {high * 1e3:g} mm for triple-insulated wire",
                    "Or give the measured overall diameter: { diameter, overall, triple = true }.",
                )
            )
        return diameter + 2 * TRIPLE_WALL[0], diameter + 2 * TRIPLE_WALL[1]
    grade = BUILDS.index(build) + 1
    return insulated_range(catalogue, diameter, grade)[1], insulated_range(catalogue, diameter, grade + 1)[1]


def insulated_diameter(catalogue: Catalogue, diameter: float, grade: int | str) -> float:
    """Middle of the range of overall diameters, (minimum + maximum)/2 of ``build_range``.

    Parameters
    ----------
    catalogue : Catalogue, cores, wires and materials
    diameter : float, bare diameter, m
    grade : int or str, grade 1, 2 or 3 (index), or one of ``BUILDS``

    Returns
    -------
    float, overall diameter, m

    Raises
    ------
    CatalogueError
        As ``build_range``.

    References
    ----------
    IEC 60317-0-1.
    """
    minimum, maximum = build_range(catalogue, diameter, grade)
    return (minimum + maximum) / 2
