"""Numbers of a design: one, or one per build; and how many builds a design holds."""

from __future__ import annotations

import dataclasses
import functools
import re
from collections.abc import Hashable, Iterable, Sequence
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

FloatArray: TypeAlias = NDArray[np.float64]
IntArray: TypeAlias = NDArray[np.int64]
ComplexArray: TypeAlias = NDArray[np.complexfloating[Any, Any]]
Real: TypeAlias = float | FloatArray
"""One number, or one per build (axis: builds)."""
Count: TypeAlias = int | IntArray
"""One whole number, or one per build."""
Word: TypeAlias = str | NDArray[np.str_]
"""One word of a few, or one per build."""


def first_build(value: Real | Count) -> float:
    """Number of the first build, or of the only one, in its unit."""
    return float(np.asarray(value, float).flat[0])


def builds(value: Any) -> int | None:
    """Builds that a design (or any part of one) holds, count: the length of its arrays, None for a single
    build. A dataclass remembers its own answer, as a cached property does."""
    if isinstance(value, np.ndarray):
        return len(value)
    if isinstance(value, tuple):
        if value and isinstance(value[0], _PLAIN):  # a table of plain numbers, a list of names
            return None
        return _builds_of(value)
    remembered = getattr(value, "__dict__", {})
    if _COUNTED not in remembered:
        remembered[_COUNTED] = _builds_of([getattr(value, name) for name in fields_of_numbers(type(value))])
    count: int | None = remembered[_COUNTED]
    return count


def _builds_of(parts: Iterable[Any]) -> int | None:
    """``builds`` of the first part that holds several."""
    for part in parts:
        if part is None or isinstance(part, _PLAIN):
            continue
        count = builds(part)
        if count is not None:
            return count
    return None


def columns_of(values: Sequence[Real], count: int) -> FloatArray:
    """Numbers side by side, one row per build.

    Parameters
    ----------
    values : sequence of float or (B,) array, the V numbers, SI
    count : int, builds B, count

    Returns
    -------
    (B, V) array, the numbers, SI
    """
    result = np.empty((count, len(values)))
    for number, value in enumerate(values):
        result[:, number] = value
    return result


_PLAIN = (float, int, str)
_COUNTED = "_builds"
"""Where a dataclass remembers the builds that it holds."""


_PLAIN_TYPES = frozenset(("str", "int", "float", "bool", "None", "tuple"))
"""Names in the type of a field that never holds one number per build."""


def field_names(kind: type) -> tuple[str, ...]:
    """Names of the fields of a dataclass in order; none for a type that is no dataclass."""
    return _field_names(kind)


@functools.cache
def _field_names(kind: Hashable) -> tuple[str, ...]:
    return tuple(item.name for item in dataclasses.fields(kind)) if dataclasses.is_dataclass(kind) else ()


def fields_of_numbers(kind: type) -> tuple[str, ...]:
    """Names of a dataclass's fields that may hold an array, or a part that does.

    Parameters
    ----------
    kind : type, the dataclass

    Returns
    -------
    tuple of str, names in order; none for a type that is no dataclass
    """
    return _fields_of_numbers(kind)


@functools.cache
def _fields_of_numbers(kind: Hashable) -> tuple[str, ...]:
    if not dataclasses.is_dataclass(kind):
        return ()
    return tuple(
        item.name
        for item in dataclasses.fields(kind)
        if not _PLAIN_TYPES.issuperset(re.findall(r"\w+", str(item.type)))
    )
