"""One module for each table of a design file, from its raw TOML to its part of the Design.

How a key is looked up and a value parsed is in ``grammar``; ``reader`` puts the parts together.
"""

from .bench import (
    BENCH_KEYS,
    CALIBRATION_KEYS,
    OPERATION_KEYS,
    SPREAD_KEYS,
    read_bench,
    read_calibration,
    read_operation,
    read_own,
    read_spread,
    spread_cautions,
)
from .bench_tests import TEST_KEYS, read_tests
from .bobbin import BOBBIN_KEYS, bobbin_cautions, check_pins, pin_cautions, read_bobbin
from .build import BUILD_KEYS, PROCESS_KEYS, check_shield_names, read_build
from .core import CORE_KEYS, dimension_keys, read_core
from .joins import JOIN_KEYS, read_joins
from .steps import STEP_KINDS, step_place
from .winding import WINDING_KEYS, read_windings
from .wire import WIRE_FORMS

__all__ = [
    "BENCH_KEYS",
    "BOBBIN_KEYS",
    "BUILD_KEYS",
    "CALIBRATION_KEYS",
    "CORE_KEYS",
    "JOIN_KEYS",
    "OPERATION_KEYS",
    "PROCESS_KEYS",
    "SPREAD_KEYS",
    "STEP_KINDS",
    "TEST_KEYS",
    "WINDING_KEYS",
    "WIRE_FORMS",
    "bobbin_cautions",
    "check_pins",
    "check_shield_names",
    "dimension_keys",
    "pin_cautions",
    "read_bench",
    "read_bobbin",
    "read_build",
    "read_calibration",
    "read_core",
    "read_joins",
    "read_operation",
    "read_own",
    "read_spread",
    "read_tests",
    "read_windings",
    "spread_cautions",
    "step_place",
]
