"""What is asked of a design: the tests that were read and those worth reading next, all predicted at once.

The forward runs depend only on design, catalogue and bench. They are run once for the design with all
these tests (``forward`` remembers them), and every sample takes its columns.
"""

from __future__ import annotations

import functools
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from ...predict.batch import predict_many
from ...predict.circuit import predict_bench, readings
from ...predict.design import BenchTest, Design, FloatArray
from ...predict.errors import BuildError
from ..causes import Cause
from ..verdict import doubted, handled_uncertainty
from .candidates import candidates, nameless
from .forward_runs import Background, forward, phases, transform, wrapped
from .hypothesis import Hypothesis
from .interventions import INTERVENTIONS, Intervention, Staged, relieved


@dataclass(frozen=True, kw_only=True)
class Inquiry:
    """Forward runs of a design for R tests that were read (the first columns) and C candidates after them.

    Attributes
    ----------
    tests : tuple[BenchTest, ...]
        The R + C tests.
    read : int
        Tests that were read, R, count.
    efforts : (R + C,) array
        Effort of reading each, relative to one plain reading, dimensionless.
    staged : tuple[Staged or None, ...]
        What each is read after, or None.
    background : Background
        Prediction and its scatter, in these columns.
    hypotheses : tuple[Hypothesis, ...]
        Hypotheses, in these columns.
    response : (R + C,) array
        What the intervention does to any part (included in the background's nominal), dimensionless.
    meter : (R + C,) array
        Standard uncertainty of one reading by meter and handling, relative (rad for a phase).
    """

    tests: tuple[BenchTest, ...]
    read: int
    efforts: FloatArray
    staged: tuple[Staged | None, ...]
    background: Background
    hypotheses: tuple[Hypothesis, ...]
    response: FloatArray
    meter: FloatArray


@dataclass(frozen=True)
class _Asked:
    """A test to be read, its effort, and what it is read after."""

    test: BenchTest
    effort: float
    stage: Staged | None = None

    @property
    def key(self) -> tuple[BenchTest, str]:
        """What tells it from others."""
        return nameless(self.test), self.stage.intervention.name if self.stage else ""


def inquire(
    design: Design,
    read: Sequence[BenchTest],
    catalogue: Sequence[Cause],
    staged: Mapping[str, Staged] | None = None,
    *,
    ahead: bool = True,
) -> Inquiry:
    """Forward runs for tests that were read and for what may be read next.

    Causes on which none of the tests that were read bears are left out. There are no candidates if the
    models cannot predict them.

    Parameters
    ----------
    design : Design
        The transformer.
    read : Sequence[BenchTest]
        Tests that were read.
    catalogue : Sequence[Cause]
        Causes to be weighed.
    staged : Mapping[str, Staged] or None, optional
        By name, those of the tests that were read after an intervention.
    ahead : bool, optional
        Whether candidates are included.

    Raises
    ------
    BuildError
        The models cannot predict the tests that were read.
    """
    known = staged or {}
    design = doubted(design)
    plain = replace(design, tests=tuple(test for test in design.tests if test.name not in known))
    done = [_Asked(test, 1.0, known.get(test.name)) for test in read]
    if not ahead:
        return _inquired(plain, done, [], tuple(catalogue))
    offered = [_Asked(test, effort) for test, effort in candidates(plain)]
    for item in INTERVENTIONS:
        offered += [
            _Asked(item.set_up(plain, test), item.effort, Staged(nameless(test), item))
            for test in item.rereads(plain)
        ]
    try:
        return _inquired(plain, done, offered, tuple(catalogue))
    except BuildError:
        return _inquired(plain, done, [], tuple(catalogue))


def _inquired(
    design: Design, done: Sequence[_Asked], offered: Sequence[_Asked], catalogue: tuple[Cause, ...]
) -> Inquiry:
    column: dict[BenchTest, int] = {}
    for test in (*design.tests, *(item.test for item in offered), *(item.test for item in done)):
        column.setdefault(nameless(test), len(column))
    whole = replace(
        design, tests=tuple(replace(test, name=f"test {number}") for test, number in column.items())
    )
    background, hypotheses = forward(whole, catalogue)
    taken = {item.key for item in done}
    asked = [*done, *(item for item in offered if item.key not in taken)]
    columns = [column[nameless(item.test)] for item in asked]
    stages = tuple(item.stage for item in asked)
    here = applicable(replace(design, tests=tuple(item.test for item in done)), catalogue)
    response = np.zeros(len(asked))
    for number, stage in enumerate(stages):
        if stage is not None:
            response[number] = responses(whole, stage.intervention)[columns[number]]
    chosen = background.of(columns)
    return Inquiry(
        tests=tuple(item.test for item in asked),
        read=len(done),
        efforts=np.array([item.effort for item in asked]),
        staged=stages,
        background=replace(chosen, nominal=chosen.nominal + response),
        hypotheses=tuple(
            _after(_of_read(item, whole, columns[: len(done)]), columns, stages)
            for item in hypotheses
            if (item.cause.name, item.location) in here
        ),
        response=response,
        meter=bench_uncertainties(whole)[columns],
    )


def _of_read(item: Hypothesis, design: Design, read: Sequence[int]) -> Hypothesis:
    """A hypothesis without the severities that are mistakes in tests which nobody read.

    Of another winding shorted in one connection, those in connections of candidates alone, and those that are
    the same mistake in what was read. What is wrong with the part stays, whether the readings show it or not.
    """
    made = {_as_read(design, read)}
    keep = np.ones(len(item.origin), bool)
    for number, node in enumerate(item.origin):
        changed = item.variants[node].design
        if changed.tests != design.tests:
            keep[number] = (as_read := _as_read(changed, read)) not in made
            made.add(as_read)
    if keep.all() or not keep.any():
        return item
    return replace(
        item,
        weights=item.weights[keep] / item.weights[keep].sum(),
        shift=item.shift[keep],
        anchor=item.anchor[keep],
        flips=item.flips[keep],
        amounts=item.amounts[keep],
        origin=tuple(node for node, kept in zip(item.origin, keep.tolist(), strict=True) if kept),
    )


def _as_read(design: Design, read: Sequence[int]) -> Design:
    """A design with no other tests than those read."""
    return replace(design, tests=tuple(design.tests[column] for column in read))


def _after(item: Hypothesis, columns: Sequence[int], stages: Sequence[Staged | None]) -> Hypothesis:
    """A hypothesis in these columns, undone as far as the intervention of each undoes it."""
    result = item.of(columns)
    remaining = dict(item.cause.undone_by)
    shift = result.shift.copy()
    for name in remaining:
        staged_columns = [
            number for number, stage in enumerate(stages) if stage and stage.intervention.name == name
        ]
        if staged_columns:
            shift[:, staged_columns] = relieved(
                item.of([columns[number] for number in staged_columns]), remaining[name]
            )
    return replace(result, shift=shift)


@functools.lru_cache(maxsize=64)
def responses(design: Design, intervention: Intervention) -> FloatArray:
    """Change of every transformed reading of a part as designed by an intervention's response.

    Parameters
    ----------
    design : Design
    intervention : Intervention

    Returns
    -------
    (T,) array, change, dimensionless (rad for a phase)
    """
    changed = intervention.response(design)
    if changed == design:
        return np.zeros(len(design.tests))
    both = predict_many([design, changed], readings)
    plain, moved = transform(design.tests, both)
    return wrapped(design.tests, moved - plain)


@functools.lru_cache(maxsize=32)
def applicable(design: Design, catalogue: tuple[Cause, ...]) -> frozenset[tuple[str, str]]:
    """(cause, place) of everything that may be wrong with a design, as far as its tests bear on it.

    Parameters
    ----------
    design : Design
    catalogue : tuple[Cause, ...], causes to be weighed
    """
    return frozenset((cause.name, location) for cause in catalogue for location in cause.places(design))


@functools.lru_cache(maxsize=32)
def bench_uncertainties(design: Design) -> FloatArray:
    """Standard uncertainty of one reading of every test at its prediction, by meter and handling, (T,),
    relative (rad for a phase)."""
    plain = predict_bench(design)
    absolute = np.array(
        [
            float(handled_uncertainty(design, test, np.asarray(value), complex(impedance)))
            for test, value, impedance in zip(design.tests, plain.values, plain.impedance, strict=True)
        ]
    )
    return np.where(phases(design.tests), absolute, absolute / np.maximum(np.abs(plain.values), 1e-18))
