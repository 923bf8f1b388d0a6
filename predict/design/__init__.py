"""The design as a value: what is to be wound, how it is tested, on which bench, with which tolerances.

Everything is SI (metre, henry, ohm, hertz, kelvin for differences, degrees Celsius for temperatures) and
frozen. A *change* is a pure function that returns a new ``Design`` (``dataclasses.replace``). Reading and
writing a design, and everything that follows from one, is left to the rooms below.

One build or many: a field annotated ``Real`` (``Count``, ``Word``) holds one value, or an array whose
single axis counts *builds*. All arrays in one design have the same length. Layout, field, network and
readings carry that axis through as their leading axis, so one code path serves a single build, the severities
of a cause and ten thousand random builds.
"""

from ..forms import (
    FORMS,
    Dimensions,
    EDimensions,
    PotDimensions,
    RoundDimensions,
    ToroidDimensions,
    UDimensions,
)
from .bench_tests import Bench, BenchTest, Equivalent, Join, Member, Port
from .build_steps import (
    RESERVE,
    TAIL,
    Build,
    Process,
    ShieldStep,
    SpacerStep,
    Step,
    Style,
    TapeStep,
    WindStep,
)
from .core import CORE, Core, Material
from .numbers_of_builds import (
    ComplexArray,
    Count,
    FloatArray,
    IntArray,
    Real,
    Word,
    builds,
    columns_of,
    field_names,
    fields_of_numbers,
    first_build,
)
from .variation import ModelFactors, OwnFactor, Spread
from .whole_design import Design
from .windings import Bobbin, Winding, Wire

__all__ = [
    "CORE",
    "FORMS",
    "RESERVE",
    "TAIL",
    "Bench",
    "BenchTest",
    "Bobbin",
    "Build",
    "ComplexArray",
    "Core",
    "Count",
    "Design",
    "Dimensions",
    "EDimensions",
    "Equivalent",
    "FloatArray",
    "IntArray",
    "Join",
    "Material",
    "Member",
    "ModelFactors",
    "OwnFactor",
    "Port",
    "PotDimensions",
    "Process",
    "Real",
    "RoundDimensions",
    "ShieldStep",
    "SpacerStep",
    "Spread",
    "Step",
    "Style",
    "TapeStep",
    "ToroidDimensions",
    "UDimensions",
    "WindStep",
    "Winding",
    "Wire",
    "Word",
    "builds",
    "columns_of",
    "field_names",
    "fields_of_numbers",
    "first_build",
]
