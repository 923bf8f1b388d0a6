"""Text with a unit → SI number: the little of the design file's notation that the benchmark's designs use."""

from __future__ import annotations

import math
import re

PREFIXES = {"": 1.0, "p": 1e-12, "n": 1e-9, "u": 1e-6, "m": 1e-3, "k": 1e3, "M": 1e6}
UNITS = ("ohm", "Hz", "H", "F", "V", "A", "T", "m")
WHOLE = {
    "%": 0.01,
    "mm2": 1e-6,
    "mm3": 1e-9,
    "1/mm": 1e3,
    "1/K": 1.0,
    "1/T": 1.0,
    "deg": math.pi / 180,
    "degC": 1.0,
    "K": 1.0,
    "": 1.0,
}
PATTERN = re.compile(r"\s*([-+]?[0-9.]+(?:e[-+]?[0-9]+)?)\s*(\S*)\s*$")


def si(value: object) -> float:
    """A number, or text such as "0.35 mm", "5 %", "23 degC", in SI. Raises ValueError for anything else."""
    if isinstance(value, int | float):
        return float(value)
    found = PATTERN.match(str(value))
    if found is None:
        raise ValueError(f"not a quantity: {value!r}")
    number, unit = float(found[1]), found[2]
    if unit in WHOLE:
        return number * WHOLE[unit]
    for name in UNITS:
        prefix = unit.removesuffix(name)
        if unit.endswith(name) and prefix in PREFIXES:
            return number * PREFIXES[prefix]
    raise ValueError(f"no such unit: {value!r}")
