"""What is remembered by value: computed once, locked, and not at all for designs that hold many builds."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import pytest

from aswound.predict import load_design, readings
from aswound.predict.circuit import predict_bench, sections_of
from aswound.predict.design import FloatArray
from aswound.predict.production import spread
from aswound.predict.remembered import by_value

SAMPLE = Path(__file__).parents[2] / "samples" / "gate-drive.toml"


@dataclass(frozen=True)
class Found:
    values: FloatArray


def test_equal_arguments_are_computed_once() -> None:
    calls = []

    @by_value(2)
    def found(name: str, *, size: int = 1) -> Found:
        calls.append(name)
        return Found(np.ones(size))

    first = found("a", size=3)
    assert found("a", size=3) is first
    assert found("b") is not first
    assert calls == ["a", "b"]
    with pytest.raises(ValueError, match="read-only"):
        first.values[0] = 2.0
    found("c"), found("d")
    assert found("a", size=3) is not first  # the last two are kept


def test_arrays_among_the_arguments_are_computed_each_time() -> None:
    @by_value(2)
    def doubled(values: FloatArray) -> FloatArray:
        return 2 * values

    result = doubled(np.ones(2))
    result[0] = 5.0
    assert doubled(np.ones(2)).tolist() == [2.0, 2.0]


def test_an_equal_design_costs_nothing_again_and_another_is_another() -> None:
    one, other = load_design(SAMPLE), load_design(SAMPLE)
    assert one is not other
    assert sections_of(one) is sections_of(other)
    assert predict_bench(one) is predict_bench(other)
    assert spread(one, 50, 7) is spread(other, 50, 7)
    assert spread(one, 50, 7) is not spread(one, 50, 8)
    warm = replace(one, bench=replace(one.bench, temperature=one.bench.temperature + 40))
    assert predict_bench(warm).values.tolist() != predict_bench(one).values.tolist()


def test_readings_may_be_written_to() -> None:
    """They are the caller's own."""
    design = load_design(SAMPLE)
    plain = readings(design).tolist()
    readings(design)[:] = 0.0
    assert readings(design).tolist() == plain
