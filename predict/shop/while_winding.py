"""What can be read while a part is wound: the direct-current resistance of each winding, step by step.

This is a change of the design: every winding of every build step becomes a winding of its own at the same
place, so that it can be read alone or in series with the sections before it. Layout, wire and copper stay as
they are. The leads go with the section that has the end: half of ``lead_length`` with the first section of a
series winding, half with its last. Sections in parallel are read at their own ends, without leads; once
joined they are the winding of the design.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import partial
from typing import Literal

from ..design import BenchTest, Design, Member, Port, ShieldStep, Step, Winding, WindStep

Extent = Literal["section", "series", "parallel"]


@dataclass(frozen=True, kw_only=True)
class SectionReading:
    """One resistance to read while the part is wound.

    Attributes
    ----------
    step : int, build step after which it is read, index from 0
    winding : str, name of the winding
    extent : Extent
        "section": the turns of this step alone; "series": those of all steps of the winding so far;
        "parallel": all sections once joined.
    ordinal : int, section of the winding that this step winds, count from 1
    count : int, sections of the winding, count
    whole : bool, whether it is the resistance of the finished winding
    temperature : float, temperature to which the reading is converted, degC
    """

    step: int
    winding: str
    extent: Extent
    ordinal: int
    count: int
    whole: bool
    temperature: float


def section_readings(design: Design) -> tuple[SectionReading, ...]:
    """Every resistance that can be read, in winding order: stated at 20 °C, unless the design has a test of
    the whole winding with a temperature of its own."""
    readings = []
    seen: dict[str, int] = {}
    for number, step in enumerate(design.build.steps):
        for name in step.windings:
            count = _section_count(design, name)
            ordinal = seen[name] = seen.get(name, 0) + 1
            test = resistance_test(design, name)
            degrees = 20.0 if test is None or test.temperature is None else test.temperature
            parallel, last = design.winding(name).sections == "parallel", ordinal == count
            reading = partial(
                SectionReading, step=number, winding=name, ordinal=ordinal, count=count, temperature=degrees
            )
            readings.append(reading(extent="section", whole=count == 1))
            if ordinal > 1 and (last or not parallel):
                readings.append(reading(extent="parallel" if parallel else "series", whole=last))
    return tuple(readings)


def resistance_test(design: Design, name: str) -> BenchTest | None:
    """The first direct-current resistance test of a winding on its own.

    Parameters
    ----------
    design : Design of one or B builds
    name : str, of the winding

    Returns
    -------
    BenchTest or None, the test; None if there is none
    """
    for test in design.tests:
        alone = len(test.drive) == 1 and test.drive[0].name == name
        if test.measure == "resistance" and alone and not test.short and not test.tie:
            return test
    return None


def _section_count(design: Design, name: str) -> int:
    """Number of build steps in which a winding is wound, count."""
    return sum(name in step.windings for step in design.build.steps)


def wound_apart(asked: tuple[SectionReading, ...], design: Design) -> Design:
    """The design with every section a winding of its own, and the readings as its tests.

    Readings are at direct current, so ties of shields are left out.

    Parameters
    ----------
    asked : tuple of SectionReading, readings of extent "section" or "series"
    design : Design, design to change

    Returns
    -------
    Design, changed design, with its tests in the order of ``asked``
    """
    counts: dict[str, int] = {}
    windings: list[Winding] = []
    steps: list[Step] = []
    for step in design.build.steps:
        parts = []
        for name in step.windings:
            counts[name] = counts.get(name, 0) + 1
            parts.append(_section(design, name, counts[name]))
        windings += parts
        if isinstance(step, WindStep):
            step = replace(step, winding=parts[0].name, companions=tuple(part.name for part in parts[1:]))
        elif isinstance(step, ShieldStep):
            step = replace(step, tied="")
        steps.append(step)
    tests = []
    for reading in asked:
        names = [_piece(reading.winding, index) for index in range(1, reading.ordinal + 1)]
        driven = names[-1:] if reading.extent == "section" else names
        tests.append(_test(reading, tuple(map(Member, driven))))
    build = replace(design.build, steps=tuple(steps))
    return replace(design, windings=tuple(windings), build=build, joins=(), tests=tuple(tests))


def joined(asked: tuple[SectionReading, ...], design: Design) -> Design:
    """The design with readings of whole windings at their pins as its tests.

    Parameters
    ----------
    asked : tuple of SectionReading, readings, each of a whole winding
    design : Design, design to change

    Returns
    -------
    Design, changed design, with its tests in the order of ``asked``
    """
    return replace(design, tests=tuple(_test(reading, (Member(reading.winding),)) for reading in asked))


def _test(reading: SectionReading, drive: Port) -> BenchTest:
    name = f"{reading.winding} {reading.extent} {reading.ordinal}"
    return BenchTest(name=name, measure="resistance", drive=drive, temperature=reading.temperature)


def _section(design: Design, name: str, ordinal: int) -> Winding:
    """One section of a winding as a winding, with its part of the leads and of the resistance of a bad
    joint."""
    winding, count = design.winding(name), _section_count(design, name)
    share = ((ordinal == 1) + (ordinal == count)) / 2
    if winding.sections == "parallel" and count > 1:
        share = 0.0
    return replace(
        winding,
        name=_piece(name, ordinal),
        sections="series",
        total_turns=None,
        lead_length=share * winding.lead_length,
        joint_resistance=share * winding.joint_resistance,
        polarity=(),
    )


def _piece(name: str, ordinal: int) -> str:
    return f"{name} section {ordinal}"
