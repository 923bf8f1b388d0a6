"""Capacitance of a build: the electrostatic energy of its layers at their potentials, as one matrix.

Which terminals a test ties together, and where the winding resonates, is worked out in ``circuit``.
"""

from .insulation_below import SolidInsulation, solid_insulation
from .potentials import BuildCapacitance, build_capacitance

__all__ = [
    "BuildCapacitance",
    "SolidInsulation",
    "build_capacitance",
    "solid_insulation",
]
