"""One test as read on one sample, names for tests that were read at several frequencies, and checks of the
batches and stages in a file."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

from ...predict.design import BenchTest
from ...predict.errors import Fault, Faults, ReadingsError, nearest
from ...predict.notation import hertz
from .cells import Reading

CORELESS = ("before core", "before coring", "without core", "wound")
"""Beginnings of the names of stages before the core is fitted."""

MOST_LISTED = 30
"""Samples named in a fault, at most (judged by what a reader can take in)."""


@dataclass(frozen=True, kw_only=True)
class ReadTest:
    """One test as read on one sample.

    Attributes
    ----------
    test_index : int
        Index of the test in the design's tests.
    value : float or None
        Mean of the repeats, SI (rad for a phase); None if missing.
    uncertainty : float or None
        Standard uncertainty of ``value``, SI; None if missing.
    repeats : int
        Readings taken, count.
    scatter : float or None
        Part of the uncertainty that the repeats show (standard, of the mean), SI; None without repeats.
    temperature_told : bool
        Whether every repeat came with its own temperature.
    as_typed : float or None
        Mean resistance before it was brought to another temperature, ohm; else None.
    typed_at : float or None
        Temperature of that reading (mean of the repeats), degC; else None.
    """

    test_index: int
    value: float | None
    uncertainty: float | None
    repeats: int
    scatter: float | None = None
    temperature_told: bool = False
    as_typed: float | None = None
    typed_at: float | None = None


def told_apart(tests: Sequence[BenchTest]) -> tuple[BenchTest, ...]:
    """The tests with distinct names: those of a sweep are called "Lk_P at 50 kHz"."""
    names = [test.name for test in tests]
    return tuple(
        replace(test, name=f"{test.name} at {hertz(test.frequency)}")
        if names.count(test.name) > 1 and test.frequency is not None
        else test
        for test in tests
    )


def check_parts(readings: Sequence[Reading | None], faults: Faults) -> None:
    """Report samples that stand in two batches, and names of stages that differ by one slip.

    Parameters
    ----------
    readings : Sequence[Reading or None], readings of a file in its order; None for a row with faults
    faults : Faults, receives every fault that is found
    """
    present = [reading for reading in readings if reading is not None]
    _check_batches(present, faults)
    _check_stages(present, faults)


def only_samples(readings: Sequence[Reading], names: Sequence[str]) -> tuple[Reading, ...]:
    """The readings of some samples of a file.

    Parameters
    ----------
    readings : Sequence[Reading]
        Readings of a file.
    names : Sequence[str]
        Names of the samples wanted.

    Raises
    ------
    ReadingsError
        For every name that no sample of the file has; says which there are.
    """
    known = tuple(dict.fromkeys(reading.sample for reading in readings))
    faults = [
        Fault(
            f"option --sample {name}",
            repr(name),
            f"a sample of the file: {_listed(known)}",
            nearest(name, known),
        )
        for name in names
        if name not in known
    ]
    if faults:
        raise ReadingsError(faults)
    return tuple(reading for reading in readings if reading.sample in names)


def _listed(names: Sequence[str]) -> str:
    """Names with commas; of very many the first."""
    more = len(names) - MOST_LISTED
    return "; ".join(names[:MOST_LISTED]) + (f" and {more} more" if more > 0 else "")


def _check_batches(readings: Sequence[Reading], faults: Faults) -> None:
    """Two parts under one name would count as repeats of one part."""
    first: dict[str, Reading] = {}
    told: set[str] = set()
    for reading in readings:
        if not reading.batch or reading.sample in told:
            continue
        earlier = first.setdefault(reading.sample, reading)
        if earlier.batch != reading.batch:
            told.add(reading.sample)
            faults.add(
                f"line {reading.line}, batch",
                f"{reading.batch!r} for {reading.sample}, of batch {earlier.batch!r} in line {earlier.line}",
                "one batch for each sample",
                "Give two parts names of their own; rows of one name count as repeats of one part.",
            )


def _check_stages(readings: Sequence[Reading], faults: Faults) -> None:
    """A misspelt "before core" would count as a finished part; any other misspelt stage would split its
    readings."""
    lines: dict[str, list[int]] = {}
    for reading in readings:
        if reading.stage:
            lines.setdefault(reading.stage, []).append(reading.line)
    known = sorted(lines, key=lambda stage: (-len(lines[stage]), lines[stage][0]))
    for at, stage in enumerate(known):
        folded = stage.casefold()
        begins = [word for word in CORELESS if not folded.startswith(word)]
        meant = next((word for word in begins if _one_slip(folded[: len(word) + 1], word)), "")
        meant = meant or next((word for word in begins if _one_slip(folded, word)), "")
        meant = meant or next(
            (earlier for earlier in known[:at] if _one_slip(folded, earlier.casefold())), ""
        )
        if meant:
            found = f"{stage!r}, one letter from {meant!r}"
            hint = f"Did you mean {meant!r}? Write one stage in one way, or choose names further apart."
            faults.add(f"line {lines[stage][0]}, stage", found, "one name for each stage", hint)


def _one_slip(first: str, second: str) -> bool:
    """Whether two names differ by one letter that is wrong, missing, added, or swapped with its neighbour.

    Names that differ by a digit, or have fewer than four letters, are two names.
    """
    if first == second or min(len(first), len(second)) < 4 or abs(len(first) - len(second)) > 1:
        return False
    if re.sub(r"\D", "", first) != re.sub(r"\D", "", second):
        return False
    begin = next(
        (at for at, (a, b) in enumerate(zip(first, second, strict=False)) if a != b),
        min(len(first), len(second)),
    )
    rest, others = first[begin:], second[begin:]
    swapped = rest[:2] == others[:2][::-1] and rest[2:] == others[2:]
    return swapped or rest[1:] == others[1:] or rest[1:] == others or rest == others[1:]
