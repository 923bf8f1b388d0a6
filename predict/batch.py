"""Many designs of one structure as one design whose numbers are arrays over builds.

Two designs have the same structure if they differ only in fields that may hold an array over builds
(``Real``, ``Count``, ``Word``): equally many steps of the same kinds, the same windings, joins and tests;
and both or neither have a gap.
"""

from __future__ import annotations

import dataclasses
import functools
from collections.abc import Callable, Hashable, Sequence
from operator import attrgetter
from typing import Any

import numpy as np

from .design import Design, FloatArray
from .telling import tell

_OR_NONE = {"gap"}
"""Fields whose zero is another structure: next to a gap, currents are resolved more finely in all builds of a
batch."""
CHUNK = 96
"""Builds predicted at a time; larger batches are no faster and cost memory (bounds work, not results)."""


FEW = 24
"""Designs of one structure that are too few for a batch of their own (bounds work, not results)."""


def _may_vary(item: dataclasses.Field[Any]) -> bool:
    return any(kind in str(item.type) for kind in ("Real", "Count", "Word"))


@functools.cache
def _fields(kind: Hashable) -> tuple[tuple[str, bool], ...]:
    """Name of each field of a dataclass, and whether it may vary between builds; none for anything else."""
    if not dataclasses.is_dataclass(kind):
        return ()
    return tuple((item.name, _may_vary(item)) for item in dataclasses.fields(kind))


_PLAIN = frozenset((str, bool, int, float, type(None)))
"""What is a part of a key as it is."""


def structure(value: Any, known: dict[int, Hashable] | None = None) -> Hashable:
    """A key that two designs share exactly if they can be stacked.

    Parameters
    ----------
    value : Any, a design or a part of one
    known : dict[int, Hashable] or None, optional
        Keys of parts by their ``id`` (index), filled on the way; valid only while all these parts are alive.
    """
    if type(value) in _PLAIN:
        return value  # type: ignore[no-any-return]
    if known is not None and id(value) in known:
        return known[id(value)]
    if isinstance(value, tuple):
        key: Hashable = tuple([structure(part, known) for part in value])
    elif fields := _fields(type(value)):  # type: ignore[arg-type]
        row: list[Hashable] = []
        for name, varies in fields:
            part = getattr(value, name)
            if part is None or not varies:
                row.append(part if type(part) in _PLAIN else structure(part, known))
            elif isinstance(part, tuple):
                row.append(len(part))
            else:
                row.append("none" if name in _OR_NONE and not np.any(np.asarray(part) > 0) else "number")
        key = (type(value).__name__, tuple(row))
    else:
        return value  # type: ignore[no-any-return]
    if known is not None:
        known[id(value)] = key
    return key


def stack(designs: Sequence[Design]) -> Design:
    """One design whose builds are the given designs, all of one ``structure``; a number stays a number if all
    agree."""
    merged: Design = _stack(list(designs))
    return merged


def _stack(values: list[Any]) -> Any:
    first = values[0]
    if len(set(map(id, values))) == 1:
        return first
    if isinstance(first, tuple):
        return tuple(_stack(list(parts)) for parts in zip(*values, strict=True))
    names = _fields(type(first))  # type: ignore[arg-type]
    if not names:
        return first
    merged = {}
    for name, varies in names:
        parts = list(map(attrgetter(name), values))
        new = _numbers(parts) if varies and parts[0] is not None else _stack(parts)
        if new is not parts[0]:
            merged[name] = new
    return dataclasses.replace(first, **merged) if merged else first


def _numbers(parts: list[Any]) -> Any:
    """The numbers of several designs as an array, or as the one number that they share; of rows of numbers
    (the breadths of chambers) one array for each place in the row."""
    if parts.count(parts[0]) == len(parts):
        return parts[0]
    if isinstance(parts[0], tuple):
        return tuple(np.array(column) for column in zip(*parts, strict=True))
    return np.array(parts)


def predict_many(
    designs: Sequence[Design],
    predict: Callable[[Design], FloatArray],
    few: Callable[[Sequence[Design]], FloatArray] | None = None,
) -> FloatArray:
    """Prediction of every design, with designs of one structure predicted together.

    Parameters
    ----------
    designs : sequence of D Design
    predict : Callable[[Design], FloatArray], takes a design of B builds and returns (B, T)
    few : callable or None
        Takes designs of several structures, of each fewer than ``FEW``, and returns their rows; None: these
        too are predicted structure by structure.

    Returns
    -------
    (D, T) array, result of ``predict`` for each design, in order, in its own units (SI)
    """
    groups: dict[Hashable, list[int]] = {}
    known: dict[int, Hashable] = {}
    for design_index, design in enumerate(designs):
        groups.setdefault(structure(design, known), []).append(design_index)
    rows: list[FloatArray | None] = [None] * len(designs)
    left: list[int] = []
    done = 0
    for group in groups.values():
        if few is not None and len(group) < FEW:
            left += group
            continue
        # those of one build next to each other: what depends on it is computed once in a batch (``alike``)
        parts = [
            (id(member.build), id(member.bobbin), id(member.windings))
            for member in map(designs.__getitem__, group)
        ]
        order = {part: number for number, part in enumerate(dict.fromkeys(parts))}
        indices = [
            design_index for _, design_index in sorted(zip(map(order.__getitem__, parts), group, strict=True))
        ]
        for begin in range(0, len(indices), CHUNK):
            chunk = indices[begin : begin + CHUNK]
            values = np.atleast_2d(predict(stack([designs[design_index] for design_index in chunk])))
            values = np.broadcast_to(values, (len(chunk), values.shape[-1]))
            for design_index, row in zip(chunk, values, strict=True):
                rows[design_index] = row
            done += len(chunk)
            tell("Changed designs", done, len(designs))
    if few is not None and left:
        for design_index, row in zip(left, few([designs[each] for each in left]), strict=True):
            rows[design_index] = row
        tell("Changed designs", len(designs), len(designs))
    return np.stack([row for row in rows if row is not None])
