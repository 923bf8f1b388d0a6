"""Magnetic fields at low frequency: inside the window, outside it, on rings, and between separate turns; they
give the leakage interaction of sections.

Currents are given and uniform in each layer; the changes that alternating current makes are in ``copper``.
"""

from .air_coils import coaxial_interaction
from .centroid import centroid_forms
from .lead_outs import LEAD_INDUCTANCE_ERROR, lead_inductance
from .leakage_error import GUIDING, LEAST_PERMEABILITY, expected_error
from .leakage_field import TwoLegFields, WindowFields, interaction, two_leg_fields, window_fields
from .open_space import outside
from .planar import planar_window
from .ring_leakage import toroid_interaction
from .ring_sectors import sector_interaction
from .round_leg import round_window
from .turn_field import current_blocks, near_field
from .turn_lengths import EDGE_CAP

__all__ = [
    "EDGE_CAP",
    "GUIDING",
    "LEAD_INDUCTANCE_ERROR",
    "LEAST_PERMEABILITY",
    "TwoLegFields",
    "WindowFields",
    "centroid_forms",
    "coaxial_interaction",
    "current_blocks",
    "expected_error",
    "interaction",
    "lead_inductance",
    "near_field",
    "outside",
    "planar_window",
    "round_window",
    "sector_interaction",
    "toroid_interaction",
    "two_leg_fields",
    "window_fields",
]
