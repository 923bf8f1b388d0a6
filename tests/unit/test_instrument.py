"""Readings beyond an instrument's reach are named."""

from __future__ import annotations

from aswound.compare.meter.instrument import out_of_reach
from aswound.predict.design import BenchTest, Member


def test_named_where_the_resistance_exceeds_the_reactance() -> None:
    tests = [
        BenchTest(name=name, measure=measure, drive=(Member("P"),), frequency=120.0)  # type: ignore[arg-type]
        for name, measure in (("L", "inductance"), ("Lk", "inductance"), ("R", "ac_resistance"))
    ]
    (caution,) = out_of_reach(tests, [1 + 10j, 10 + 3j, 10 + 3j])
    assert "Lk (Q 0.3)" in caution
    assert "L (" not in caution
    assert "R (" not in caution
    assert out_of_reach(tests, [1 + 10j, 1 - 1.5j, 1 + 1j]) == ()
