"""Capacitance of a build: the electrostatic energy of its layers at their potentials, as one matrix.

Which terminals a test ties together, and where the winding resonates, is worked out in ``circuit``.
"""

from .common_order import Batch, design_as_batch, together
from .insulation_below import SolidInsulation
from .potentials import BuildCapacitance, build_capacitance, shared_capacitance

__all__ = [
    "Batch",
    "BuildCapacitance",
    "SolidInsulation",
    "build_capacitance",
    "design_as_batch",
    "shared_capacitance",
    "together",
]
