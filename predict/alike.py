"""Builds of a batch that are equal in everything a computation uses: computed once, by value.

Most designs behind a diagnosis differ only in the core, the bench or a test from others with the same
layers. What depends on part of a design (fields on the layers, capacitance on the layers and the
insulation) is computed for the builds whose part differs, and reused for those whose part is equal to the
last digit.
"""

from __future__ import annotations

import dataclasses
from typing import Any, TypeVar

import numpy as np

from .design import FloatArray, IntArray, field_names

Part = TypeVar("Part")


def _varying(value: Any, count: int) -> list[FloatArray]:
    """Every array over builds (so many, count) in a part of a design: (B, k) arrays, in the units of their
    fields (SI)."""
    if isinstance(value, np.ndarray):
        alike = value.ndim > 0 and len(value) == count
        if alike and value.dtype.kind == "U":
            value = np.unique(value, return_inverse=True)[1]
        return [np.asarray(value.reshape(count, -1), float)] if alike else []
    if not isinstance(value, tuple):
        value = [getattr(value, name) for name in field_names(type(value))]
    parts = [part for part in value if part is not None and not isinstance(part, _PLAIN)]
    return [array for part in parts for array in _varying(part, count)]


_PLAIN = (float, int, str)
"""What holds no array: most of a design."""


def alike(count: int, *parts: Any) -> tuple[IntArray, IntArray] | None:
    """Builds that represent all others, looking only at some parts.

    Parameters
    ----------
    count : int, builds B, count
    *parts : Any

    Returns
    -------
    ((n,) int array, (B,) int array) or None
        Rows of the representative builds (index), and for each build the index of its representative; None if
        hardly any two are equal.
    """
    if count < 2:
        return None
    arrays = [array for part in parts for array in _varying(part, count)]
    if not arrays:
        return np.zeros(1, np.int64), np.zeros(count, np.int64)
    table = np.ascontiguousarray(np.concatenate(arrays, axis=1) + 0.0)  # no negative zero
    keys = table.view([("", np.void, table.itemsize * table.shape[1])])[:, 0]
    _, rows, of_build = np.unique(keys, return_index=True, return_inverse=True)
    if len(rows) > 0.8 * count:
        return None
    return np.asarray(rows, np.int64), np.asarray(of_build.reshape(-1), np.int64)


def taken(value: Part, rows: IntArray, count: int) -> Part:
    """Selected builds of a part of a design: arrays over builds by rows, everything else as it is.

    Parameters
    ----------
    value : Part
    rows : IntArray (n,), index
    count : int, builds that the part holds, count
    """
    part_of_value: Any = value
    if isinstance(part_of_value, np.ndarray):
        return part_of_value[rows] if part_of_value.ndim > 0 and len(part_of_value) == count else value  # type: ignore[return-value]
    if isinstance(part_of_value, tuple):
        if all(part is None or isinstance(part, _PLAIN) for part in part_of_value):
            return value
        parts = tuple(taken(part, rows, count) for part in part_of_value)
        same = all(new is old for new, old in zip(parts, part_of_value, strict=True))
        return value if same else parts  # type: ignore[return-value]
    changes = {}
    for name in field_names(type(part_of_value)):
        part = getattr(part_of_value, name)
        if part is None or isinstance(part, _PLAIN):
            continue
        new = taken(part, rows, count)
        if new is not part:
            changes[name] = new
    return dataclasses.replace(part_of_value, **changes) if changes else value
