"""The design as a whole: core, bobbin, windings, build, tests, bench and tolerances in one value."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from ..notation import format_quantity
from .bench_tests import Bench, BenchTest, Join
from .build_steps import Build, ShieldStep, WindStep
from .core import Core
from .hashed_once import HashedOnce
from .variation import ModelFactors, Spread
from .windings import Bobbin, Winding, Wire


@dataclass(frozen=True, kw_only=True)
class Design(HashedOnce):
    """Everything that is known about a transformer and its tests before it is wound.

    Attributes
    ----------
    title : str
    core : Core, the core
    bobbin : Bobbin, the bobbin
    windings : tuple[Winding, ...], the windings
    build : Build, the build
    tests : tuple[BenchTest, ...], the tests
    joins : tuple[Join, ...], the joins
    bench : Bench, the bench
    tolerances : Spread, tolerances and model errors
    working_frequency : float or None, working frequency, Hz; None if not stated
    model : ModelFactors, factors on the models
    cautions : tuple[str, ...], what a reader of a prediction has to know
    """

    title: str
    core: Core
    bobbin: Bobbin
    windings: tuple[Winding, ...]
    build: Build
    tests: tuple[BenchTest, ...]
    joins: tuple[Join, ...] = ()
    bench: Bench = field(default=Bench())
    tolerances: Spread = field(default=Spread())
    working_frequency: float | None = None
    model: ModelFactors = field(default=ModelFactors())
    cautions: tuple[str, ...] = field(default=())

    def __str__(self) -> str:
        """Title, core, windings with their turns, build and tests in a few lines."""
        core = self.core
        gap = np.atleast_1d(np.asarray(core.gap, float))
        gap_text = f"gap {format_quantity(float(gap[0]), 'm', 3)}" if gap[0] > 0 else "no ground gap"
        many = f" ({len(gap)} builds, the first is shown)" if len(gap) > 1 else ""
        windings = ", ".join(
            f"{winding.name} {self.turns_of(winding.name)} turns" for winding in self.windings
        )
        order = " ".join(
            step.winding if isinstance(step, WindStep) else step.name
            for step in self.build.steps
            if isinstance(step, WindStep | ShieldStep)
        )
        return "\n".join(
            [
                f"{self.title or '(no title)'}{many}",
                f"core      {core.name}, {core.material.name}, {gap_text}",
                f"windings  {windings}",
                f"build     {order} in {len(self.build.steps)} steps",
                f"tests     {', '.join(test.name for test in self.tests)}",
            ]
        )

    __hash__ = HashedOnce.__hash__

    def __repr__(self) -> str:
        parts = f"{len(self.windings)} windings, {len(self.tests)} tests"
        return f"<Design {self.title!r}: {self.core.name}, {parts}>"

    def winding(self, name: str) -> Winding:
        """The winding of a name, or the shield of that name as one turn of foil. KeyError if there is
        neither."""
        for winding in self.windings:
            if winding.name == name:
                return winding
        for shield in self.shields:
            if shield.name == name:
                wire = Wire(
                    kind="foil",
                    diameter=0.0,
                    overall=shield.thickness,
                    foil_width=shield.width,
                    label="shield",
                )
                return Winding(name=name, wire=wire, circuit=name, metal=shield.metal)
        raise KeyError(name)

    def turns_of(self, name: str) -> int:
        """Turns of a winding at its terminals, count: of all its steps, or of one if they are parallel."""
        section_turns = [
            int(np.asarray(step.turns).flat[0])
            for step in self.build.steps
            if isinstance(step, WindStep) and name in step.windings
        ]
        return section_turns[0] if self.winding(name).sections == "parallel" else sum(section_turns)

    @cached_property
    def etched(self) -> bool:
        """Whether everything that is wound is tracks of a board."""
        names = {name for step in self.build.steps for name in step.windings}
        return bool(names) and all(self.winding(name).wire.track for name in names)

    @cached_property
    def shields(self) -> tuple[ShieldStep, ...]:
        """The shields among the build steps, in order."""
        return tuple(step for step in self.build.steps if isinstance(step, ShieldStep))
