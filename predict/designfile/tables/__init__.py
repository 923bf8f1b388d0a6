"""One module for each table of a design file, from its raw TOML to its part of the Design.

How a key is looked up and a value parsed stands in ``designfile``, which also puts the parts together.
"""

from .bench import read_bench, read_calibration, read_operation, read_spread, spread_cautions
from .bench_tests import read_tests
from .bobbin import bobbin_cautions, check_pins, read_bobbin
from .build import check_shield_names, read_build
from .core import CORE_KEYS, read_core
from .joins import read_joins
from .steps import step_place
from .winding import read_windings

__all__ = [
    "CORE_KEYS",
    "bobbin_cautions",
    "check_pins",
    "check_shield_names",
    "read_bench",
    "read_bobbin",
    "read_build",
    "read_calibration",
    "read_core",
    "read_joins",
    "read_operation",
    "read_spread",
    "read_tests",
    "read_windings",
    "spread_cautions",
    "step_place",
]
