"""Which readings of a lot do not belong to it: slips, and samples that differ from all the others.

A slip is a reading that is off by 10^±1, ±2, ±3 or ±6: it lies far from the others, and among them once it
is multiplied. A reading that the diagnosis calls bad is a slip too. A stranger is a sample with a cause of
its own (``shared_causes``). Neither says anything about the scatter of the process. If fewer than half of
the samples would be left, nothing is left out: they are not a lot then. Source: common practice, no
source.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from ...predict.design import FloatArray
from .shared_causes import Together

FACTORS = (10.0, 0.1, 100.0, 0.01, 1e3, 1e-3, 1e6, 1e-6)
APART = 3.0
"""A reading this many times the median of the others, or this many times less, is checked for a slip (judged:
below it lies what parts differ by, above it only slips of a decade)."""
LEAST = 4
"""Slips are sought only with at least this many readings of a test (judged: a median needs that many to stand
against one)."""
WITHIN, FLOOR, CEILING = 5.0, 0.02, 0.15
"""A slip, once multiplied, lies within so many robust deviations of the others' median, but within at least
and at most these fractions of it (judged; no data behind it)."""


@dataclass(frozen=True)
class LeftOut:
    """A reading left out of mean, interval and capability.

    Attributes
    ----------
    sample : str, name of the sample
    test : str, name of the test; "" for all readings of the sample
    why : str, the reason, in words
    """

    sample: str
    test: str
    why: str


def decade_slips(values: FloatArray) -> dict[int, float]:
    """Readings of one test ((N,), SI) that are slips by a decade or a unit prefix: index of the reading → the
    factor that mends it, dimensionless."""
    if len(values) < LEAST:
        return {}
    middle = float(np.median(values))
    if middle == 0:
        return {}
    far = np.abs(np.log(np.abs(np.where(values == 0, middle, values) / middle))) > np.log(APART)
    others = values[~far]
    if not np.any(far) or 2 * len(others) < len(values) or np.any(values * middle < 0):
        return {}
    centre = float(np.median(others))
    scatter = WITHIN * 1.4826 * float(np.median(np.abs(others - centre)))
    reach = min(max(scatter, FLOOR * abs(centre)), CEILING * abs(centre))
    slip_factors: dict[int, float] = {}
    for index in np.flatnonzero(far).tolist():
        fitting = [factor for factor in FACTORS if abs(float(values[index]) * factor - centre) <= reach]
        if fitting:
            slip_factors[index] = fitting[0]
    return slip_factors


def left_out(
    samples: Sequence[str], read: Mapping[str, tuple[Sequence[str], FloatArray]], together: Together | None
) -> tuple[LeftOut, ...]:
    """What is left out of a lot.

    Parameters
    ----------
    samples : Sequence[str], names of all samples
    read : Mapping[str, tuple[Sequence[str], FloatArray]] (N,)
        Names of the samples and their values by test, SI.
    together : Together or None, what the samples share, None if too few were read
    """
    omitted: dict[tuple[str, str], LeftOut] = {}
    strange = () if together is None else together.apart
    built = {item.sample for item in strange if item.causes and item.causes[0].kind != "reading"}
    for test, (names, values) in read.items():
        for part_index, factor in decade_slips(values).items():
            if names[part_index] not in built:
                words = f"a slip: {factor:g} times as much would fit"
                omitted[names[part_index], test] = LeftOut(names[part_index], test, words)
    for apart in strange:
        cause = apart.causes[0] if apart.causes else None
        if cause is not None and cause.kind == "reading":
            omitted.setdefault((apart.sample, cause.where), LeftOut(apart.sample, cause.where, cause.title))
        elif not any(sample == apart.sample for sample, _ in omitted):
            why = cause.title if cause is not None else "it differs from the others"
            omitted[apart.sample, ""] = LeftOut(apart.sample, "", why)
    strangers = {item.sample for item in omitted.values() if not item.test}
    if 2 * len(strangers) > len(samples) or len(samples) - len(strangers) < 2:
        return tuple(item for item in omitted.values() if item.test)
    return tuple(omitted.values())
