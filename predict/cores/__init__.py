"""Core shapes and materials: effective parameters, the gap with its fringing field, permeability, and the
permeance that one turn sees.

The flux that leaves the core between windings is handled in ``field``; named cores and grades come from
``catalogue``.
"""

from .direct_current import AT_REST, DirectState, incremental_ratio, reversible_ratio
from .effective_dimensions import effective_parameters
from .gap import AS_GROUND, BUTTED, LAPPED, LAPPED_FROM, MU_0, residual_gap, winding_length
from .magnetizing import (
    air_reluctance,
    al_contradiction,
    bias_point,
    calibrate_to_al,
    centre_leg_share,
    core_inductance_factor,
    core_share,
    gap_shares,
    inductance_factor,
    permeance,
)
from .normal_curve import REFERENCE_TEMPERATURE, THINNEST_LAMINATION, level_ratio, saturation
from .remanence import remanent_core, remanent_flux_density, remanent_ratio

__all__ = [
    "AS_GROUND",
    "AT_REST",
    "BUTTED",
    "LAPPED",
    "LAPPED_FROM",
    "MU_0",
    "REFERENCE_TEMPERATURE",
    "THINNEST_LAMINATION",
    "DirectState",
    "air_reluctance",
    "al_contradiction",
    "bias_point",
    "calibrate_to_al",
    "centre_leg_share",
    "core_inductance_factor",
    "core_share",
    "effective_parameters",
    "gap_shares",
    "incremental_ratio",
    "inductance_factor",
    "level_ratio",
    "permeance",
    "remanent_core",
    "remanent_flux_density",
    "remanent_ratio",
    "residual_gap",
    "reversible_ratio",
    "saturation",
    "winding_length",
]
