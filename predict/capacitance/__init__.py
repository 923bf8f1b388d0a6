"""Capacitance of a build: the electrostatic energy of its layers at their potentials, as one matrix.

It does not know which terminals a test ties together; that, and resonance, are the business of ``circuit``.
"""

from .insulation_below import SolidInsulation, solid_insulation
from .potentials import BuildCapacitance, build_capacitance

__all__ = [
    "BuildCapacitance",
    "SolidInsulation",
    "build_capacitance",
    "solid_insulation",
]
