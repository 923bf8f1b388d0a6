"""The measurements that may be worth making next, each with its effort."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

from ...predict.circuit import is_leakage
from ...predict.design import BenchTest, Design, Member, Port

EFFORT = {"resistance": 1.0, "capacitance": 1.3, "resonance": 1.8}
"""Effort of an extra test relative to a test of the design (1); others 1.2 (judged)."""


def candidates(design: Design) -> list[tuple[BenchTest, float]]:
    """Everything worth reading: the tests of the design, then extra ones.

    Repeats with another set-up are included: from the other side, at another frequency or level. A
    resonance is included only if the design asks for it, because finding one takes much time.

    Parameters
    ----------
    design : Design

    Returns
    -------
    list of (BenchTest, float), test and its effort relative to one plain reading, dimensionless
    """
    offered: list[tuple[BenchTest, float]] = []
    seen: set[BenchTest] = set()

    def offer(test: BenchTest, effort: float | None) -> None:
        bare = nameless(test)
        if bare not in seen:
            seen.add(bare)
            cost = EFFORT.get(test.measure, 1.2) if effort is None else effort
            offered.append((test if effort == 1.0 else bare, cost))

    for test in design.tests:
        offer(test, 1.0)
    ports: list[Port] = [(Member(winding.name),) for winding in design.windings]
    opened = [test for test in design.tests if test.measure == "inductance" and not is_leakage(design, test)]
    shorted = [test for test in design.tests if test.measure == "inductance" and test.short]
    low = opened[0].frequency if opened else 10e3
    level = opened[0].level if opened else 1.0
    for port in ports:
        offer(BenchTest(name="", measure="resistance", drive=port), None)
        offer(BenchTest(name="", measure="inductance", drive=port, frequency=low, level=level), None)
    for test in shorted[:2]:
        if len(test.short) == 1:
            offer(replace(test, drive=test.short, short=test.drive), None)
        if test.frequency is not None:
            offer(replace(test, frequency=test.frequency / 10), None)
    for test in opened[:1]:
        offer(replace(test, level=test.level / 10), None)
        if test.frequency is not None:
            offer(replace(test, frequency=test.frequency / 10), None)
        offer(replace(test, measure="quality"), None)
    high = shorted[0].frequency if shorted else 100e3
    for first, second in pairwise(ports[:3]):
        offer(BenchTest(name="", measure="capacitance", drive=first, sense=second, frequency=high), None)
        offer(
            BenchTest(name="", measure="ratio", drive=first, sense=second, frequency=low, level=level), None
        )
    if len(ports) > 1:
        offer(
            BenchTest(name="", measure="inductance", drive=ports[0] + ports[1], frequency=low, level=level),
            None,
        )
    return offered


def nameless(test: BenchTest) -> BenchTest:
    """What is measured, without the test's name and limits."""
    return replace(test, name="", minimum=None, maximum=None)
