"""Resistance of the conductors: direct-current resistance, and what eddy currents in the local field add to
resistance and take from inductance.

Layers and fields are given; how windings are connected is handled in ``circuit``.
"""

from .alternating_current import ac_resistance_error, alternating_excess, enclosed_share
from .circuit_of_layers import LayerCircuit
from .layers_in_field import local_fields
from .resistance import conductor_area, lay_factor, lead_resistance, section_resistance, temperature_factor

__all__ = [
    "LayerCircuit",
    "ac_resistance_error",
    "alternating_excess",
    "conductor_area",
    "enclosed_share",
    "lay_factor",
    "lead_resistance",
    "local_fields",
    "section_resistance",
    "temperature_factor",
]
