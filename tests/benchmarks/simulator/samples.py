"""Samples with known causes: sound parts, single and double faults, novel faults, slips of data."""

from __future__ import annotations

import math
import zlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np

from .bench import display
from .core import solve_gap
from .designs import read_part
from .faults import Done, Fault, applicable, pairs
from .layers import Array
from .parts import Part
from .spreads import ModelError, metered, model_error, produced, reading_errors

Random = np.random.Generator
FIVE = ("L_P", "Lk_P", "n", "R_P", "R_S")


@dataclass(frozen=True)
class Sample:
    """One part on the bench. kind : sound, single, further, double, novel, data. label : of the fault.
    done : what was done to it. values : (T,) what the meter showed."""

    design: str
    number: int
    kind: str
    label: str
    done: tuple[Done, ...]
    values: Array
    part: Part = field(repr=False)

    @property
    def name(self) -> str:
        """Unique within its design."""
        return f"{self.kind} {self.label} {self.number}"


def nominal_part(path: Path) -> Part:
    """The design as drawn, with the gap that its inductance factor asks for."""
    part = read_part(path)
    solve_gap(part)
    return part


def generator(seed: int, *words: str) -> Random:
    """A generator of its own for every design and purpose."""
    return np.random.default_rng([seed, *(zlib.crc32(word.encode()) for word in words)])


def make(
    path: Path,
    seed: int,
    parts: int,
    *,
    error: ModelError | None = None,
    sound: int | None = None,
    errors: float = 0.0,
) -> Iterator[Sample]:
    """Samples of one design: ``parts`` of each reported cause, a third of the further ones, sound parts (four
    times ``parts``: one in six), doubles, novel ones and slips of data. error : of the models, for all; None:
    each sample has its own. errors : scale of the models' errors in single readings (``reading_errors``), 0:
    none; every sample has its own, with the same production as without."""
    nominal = nominal_part(path)
    name = path.stem
    for sample in _made_of(nominal, name, seed, parts, error, sound):
        if errors > 0:
            rng = generator(seed, name, sample.name, "errors")
            yield displaced(sample, reading_errors(nominal, errors, rng))
        else:
            yield sample


def displaced(sample: Sample, away: dict[str, float]) -> Sample:
    """The sample as read where the models are off by ``away`` in each reading."""
    values = np.array(sample.values)
    for number, test in enumerate(sample.part.tests):
        by = away[test.name]
        values[number] = values[number] + by if test.measure == "phase" else values[number] * math.exp(by)
    return replace(sample, values=values)


def _made_of(
    nominal: Part, name: str, seed: int, parts: int, error: ModelError | None, sound: int | None
) -> Iterator[Sample]:
    rng = generator(seed, name, "sound")
    for number in range(4 * parts if sound is None else sound):
        yield _sample(nominal, name, number, "sound", "sound", (), error, rng)
    for reported, kind, count in ((True, "single", parts), (False, "further", max(parts // 3, 1))):
        for fault in applicable(nominal, reported=reported):
            rng = generator(seed, name, fault.label)
            for number in range(count):
                yield _sample(nominal, name, number, kind, fault.label, (fault,), error, rng)
    rng = generator(seed, name, "double")
    for number, pair in enumerate(pairs(nominal, rng, 4 * parts)):
        label = f"{pair[0].label} + {pair[1].label}"
        yield _sample(nominal, name, number, "double", label, pair, error, rng)
    for label in ("closed band", "everything thicker", "half the core"):
        rng = generator(seed, name, label)
        if label == "closed band" and nominal.core.form == "toroid":
            continue
        for number in range(parts):
            yield _novel(nominal, name, number, label, error, rng)
    for label in ("unit slip", "decade slip", "swapped rows"):
        rng = generator(seed, name, label)
        for number in range(parts):
            yield _slip(nominal, name, number, label, error, rng)


def golden(path: Path, number: int, error: ModelError, rng: Random) -> Sample:
    """A sound part of a shop, read by all tests of the design."""
    nominal = nominal_part(path)
    return _sample(nominal, path.stem, number, "sound", "known good", (), error, rng)


def _made(nominal: Part, error: ModelError | None, rng: Random) -> Part:
    return produced(nominal, model_error(rng) if error is None else error, rng)


def _sample(
    nominal: Part,
    design: str,
    number: int,
    kind: str,
    label: str,
    faults: Sequence[Fault],
    error: ModelError | None,
    rng: Random,
) -> Sample:
    part = _made(nominal, error, rng)
    done = tuple(fault.apply(part, rng) for fault in faults)
    values = metered(part, part.tests, display(part), rng)
    return Sample(design, number, kind, label, done, values, part)


def _novel(
    nominal: Part, design: str, number: int, label: str, error: ModelError | None, rng: Random
) -> Sample:
    """What no cause of the catalogue is: a closed band of metal around the windings (electrically near to
    shorted turns), a bobbin of twice the wall with all tapes thicker, a core half of another, smaller set."""
    part = _made(nominal, error, rng)
    if label == "closed band":
        part.truth.band = float(np.exp(rng.uniform(np.log(0.3e-3), np.log(5e-3))))
    elif label == "everything thicker":
        scale = float(rng.uniform(1.3, 1.7))
        part.wall *= scale
        for step in part.steps:
            if step.kind != "wind":
                step.thickness *= scale
    else:
        ratio = float(rng.uniform(0.5, 0.75))
        part.core.area *= ratio
        part.core.face_gap += float(rng.uniform(5e-6, 30e-6))
        part.truth.loss *= float(rng.uniform(1.3, 2.5))
    values = metered(part, part.tests, display(part), rng)
    return Sample(design, number, "novel", label, (Done(label, ""),), values, part)


def _slip(
    nominal: Part, design: str, number: int, label: str, error: ModelError | None, rng: Random
) -> Sample:
    """A sound part whose readings were written down wrong: a unit prefix or a decade, or two rows of like
    measure exchanged. Among the five usual readings, so that both sets see it."""
    part = _made(nominal, error, rng)
    values = metered(part, part.tests, display(part), rng)
    names = [test.name for test in part.tests]
    if label == "swapped rows":
        choices = [("R_P", "R_S"), ("L_P", "Lk_P")]
        one, two = choices[int(rng.integers(len(choices)))]
        a, b = names.index(one), names.index(two)
        values[[a, b]] = values[[b, a]]
        where = f"{one}/{two}"
    else:
        where = FIVE[int(rng.integers(len(FIVE)))]
        power = 3 if label == "unit slip" else 1
        values[names.index(where)] *= 10.0 ** (power * int(rng.choice([-1, 1])))
    return Sample(design, number, "data", label, (Done("bad-reading", where),), values, part)
