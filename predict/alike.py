"""Builds of one batch that are alike in what a computation looks at: computed once, by value.

Of the designs behind a diagnosis most differ in the core, the bench or a test from others of the same
layers: what hangs on a part of a design (fields on the layers, capacitance on the layers and the insulation)
is computed for the builds whose part differs, and taken over by those that are alike in it to the last digit.
"""

from __future__ import annotations

import dataclasses
from typing import Any, TypeVar

import numpy as np

from .design import FloatArray, IntArray

Part = TypeVar("Part")


def varying(value: Any, count: int) -> list[FloatArray]:
    """Every array over ``count`` builds in a part of a design, as (B, k) each."""
    if isinstance(value, np.ndarray):
        alike = value.ndim > 0 and len(value) == count
        return [np.asarray(value.reshape(count, -1), float)] if alike else []
    if isinstance(value, tuple):
        return [found for part in value for found in varying(part, count)]
    if not dataclasses.is_dataclass(value):
        return []
    fields = dataclasses.fields(value)
    return [found for field in fields for found in varying(getattr(value, field.name), count)]


def alike(count: int, *parts: Any) -> tuple[IntArray, IntArray] | None:
    """(rows, of_build): builds that stand for all, and which of them stands for each build, looking at
    ``parts``; None where hardly any two are alike."""
    arrays = [found for part in parts for found in varying(part, count)]
    if count < 2:
        return None
    if not arrays:
        return np.zeros(1, np.int64), np.zeros(count, np.int64)
    table = np.ascontiguousarray(np.concatenate(arrays, axis=1) + 0.0)  # no negative zero
    keys = table.view([("", np.void, table.itemsize * table.shape[1])])[:, 0]
    _, rows, of_build = np.unique(keys, return_index=True, return_inverse=True)
    if len(rows) > 0.8 * count:
        return None
    return np.asarray(rows, np.int64), np.asarray(of_build.reshape(-1), np.int64)


def taken(value: Part, rows: IntArray, count: int) -> Part:
    """The builds ``rows`` of a part of a design that holds ``count`` of them: arrays over builds by their
    rows, all else as it is."""
    found: Any = value
    if isinstance(found, np.ndarray):
        return found[rows] if found.ndim > 0 and len(found) == count else value  # type: ignore[return-value]
    if isinstance(found, tuple):
        parts = tuple(taken(part, rows, count) for part in found)
        same = all(new is old for new, old in zip(parts, found, strict=True))
        return value if same else parts  # type: ignore[return-value]
    if not dataclasses.is_dataclass(found) or isinstance(found, type):
        return value
    changes = {}
    for field in dataclasses.fields(found):
        part = getattr(found, field.name)
        new = taken(part, rows, count)
        if new is not part:
            changes[field.name] = new
    return dataclasses.replace(found, **changes) if changes else value  # type: ignore[return-value]
