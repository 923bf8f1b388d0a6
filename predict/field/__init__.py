"""Magnetic fields at low frequency: inside the window, outside it, on rings, and between separate turns; they
give the leakage interaction of sections.

Currents are given and uniform in each layer; the changes that alternating current makes are in ``copper``.
"""

from .air_coils import coaxial_interaction, loop_field
from .centroid import centroid_forms
from .leakage_error import GUIDING, LEAST_PERMEABILITY, OPPOSED_ERROR, expected_error
from .leakage_field import WindowFields, interaction, window_fields
from .open_space import LEAD_INDUCTANCE_ERROR, lead_inductance, outside
from .planar import planar_window
from .ring_leakage import RingGap, sector_interaction, toroid_interaction
from .round_leg import round_window
from .turn_field import current_blocks, near_field
from .turn_lengths import EDGE_CAP
from .two_legs import (
    BALANCED,
    TwoLegFields,
    leg_imbalance,
    one_leg_alone,
    two_leg_fields,
    two_leg_interaction,
    with_net_turns,
)

__all__ = [
    "BALANCED",
    "EDGE_CAP",
    "GUIDING",
    "LEAD_INDUCTANCE_ERROR",
    "LEAST_PERMEABILITY",
    "OPPOSED_ERROR",
    "RingGap",
    "TwoLegFields",
    "WindowFields",
    "centroid_forms",
    "coaxial_interaction",
    "current_blocks",
    "expected_error",
    "interaction",
    "lead_inductance",
    "leg_imbalance",
    "loop_field",
    "near_field",
    "one_leg_alone",
    "outside",
    "planar_window",
    "round_window",
    "sector_interaction",
    "toroid_interaction",
    "two_leg_fields",
    "two_leg_interaction",
    "window_fields",
    "with_net_turns",
]
