"""A part as the simulator knows it: read from a design file, then changed by faults and spread.

Everything is a plain number in SI; a part is copied before it is changed. ``Truth`` holds what no drawing
says: how far the models are off, and what the bench does to the readings. Core dimensions, wire sizes and the
curves of materials come from the public rows of ``predict/data``.
"""

from __future__ import annotations

import copy
from dataclasses import dataclass, field


@dataclass
class Core:
    """The set. ``size``: dimensions by name (m). ``loss_tangent`` and ``real_ratio`` over ``frequencies``;
    ``level_ratio`` over ``flux_densities``; ``warm_ratio`` over ``temperatures``."""

    form: str
    size: dict[str, float]
    area: float
    length: float
    permeability: float
    gap: float
    gap_legs: str
    gap_at: str
    face_gap: float
    inductance_factor: float | None
    gapless_scale: float = 1.0
    frequencies: tuple[float, ...] = (1e3,)
    real_ratio: tuple[float, ...] = (1.0,)
    loss_tangent: tuple[float, ...] = (0.01,)
    flux_densities: tuple[float, ...] = (0.0, 0.5)
    level_ratio: tuple[float, ...] = (1.0, 1.6)
    temperatures: tuple[float, ...] = (0.0, 23.0, 100.0)
    warm_ratio: tuple[float, ...] = (0.908, 1.0, 1.308)
    sheet: float = 0.0
    sheet_resistivity: float = 0.0


@dataclass
class Wire:
    """``kind``: round, litz, foil, track. ``copper``: bare diameter of the wire or of one strand, thickness
    of foil. ``lay``: length of litz strands over that of the wire."""

    kind: str
    copper: float
    overall: float
    in_hand: int = 1
    strands: int = 1
    width: float = 0.0
    spacing: float = 0.0
    open_strands: int = 0
    lay: float = 1.0


@dataclass
class Winding:
    """``sense``: −1 if start and finish are exchanged. ``opposed``: own sections that are turned round."""

    name: str
    wire: Wire
    parallel: bool = False
    sense: int = 1
    opposed: tuple[int, ...] = ()
    metal: str = "copper"
    joint: float = 0.0
    loop: float = 0.0


@dataclass
class Step:
    """One build step. ``kind``: wind, tape, spacer. ``covered``, ``shift``, ``scrambled`` (0 … 1) and
    ``arc`` (part of a ring's circumference) are faults."""

    kind: str
    winding: str = ""
    turns: int = 0
    layers: int | None = None
    breadth: float | None = None
    from_end: float | None = None
    close: bool = False
    style: str | None = None
    chamber: int | None = None
    companions: tuple[str, ...] = ()
    interlayer: float | None = None
    margin: float | None = None
    beside: bool = False
    thickness: float = 0.0
    wraps: int = 1
    permittivity: float = 3.3
    covered: float = 1.0
    shift: float = 0.0
    scrambled: float = 0.0
    arc: float = 1.0
    name: str = ""


@dataclass
class Test:
    """A bench test; ``drive``, ``short``, ``sense``: names of windings, a leading "-" reverses."""

    name: str
    measure: str
    drive: tuple[str, ...]
    short: tuple[str, ...] = ()
    sense: tuple[str, ...] = ()
    frequency: float | None = None
    level: float = 1.0
    equivalent: str = "series"


@dataclass
class Truth:
    """Factors of truth over the plain models, and the state of bench and part.

    leg_share : part of the core's ampere-turn drop at the centre leg. permeability, bias : ratios of the
    core's. unseated, crack : gaps more (m) at each pair of faces, in one place of the path. warmer : K above
    the stated temperature. band : resistance of a closed metal band around the windings (ohm; 0 none).
    """

    leakage: float = 1.0
    capacitance: float = 1.0
    alternating: float = 1.0
    inductance: float = 1.0
    mean_turn: float = 1.0
    resistivity: float = 1.0
    permittivity: float = 1.0
    loss: float = 1.0
    permeability: float = 1.0
    bias: float = 1.0
    unseated: float = 0.0
    crack: float = 0.0
    leg_share: float | None = None
    self_capacitance: float = 1.0
    warmer: float = 0.0
    frequency: float = 1.0
    level: float = 1.0
    shorted_turns: tuple[str, int] | None = None
    band: float = 0.0


@dataclass
class Bench:
    """``short``, ``lead``: (H, ohm) of a link and of the leads. ``floor``: (ohm, H) left by corrections.
    ``two_wire``: ohm in every direct-current reading."""

    temperature: float = 23.0
    equivalent: str = "series"
    short: tuple[float, float] = (10e-9, 1e-3)
    lead: tuple[float, float] = (0.0, 0.0)
    floor: tuple[float, float] = (2e-3, 2e-9)
    two_wire: float = 0.0


@dataclass
class Part:
    """Everything about one part on one bench."""

    title: str
    core: Core
    wall: float
    flange: float
    chambers: int
    partition: float
    margin: float
    allowance: float
    interlayer: float
    style: str
    direction: str
    windings: list[Winding]
    steps: list[Step]
    tests: list[Test]
    bench: Bench
    impregnated: bool = False
    truth: Truth = field(default_factory=Truth)
    tolerance: float | None = None

    def winding(self, name: str) -> Winding:
        """The winding called ``name``."""
        return next(one for one in self.windings if one.name == name)

    def sections(self, name: str) -> list[int]:
        """Numbers of the steps that wind ``name``."""
        return [
            number
            for number, step in enumerate(self.steps)
            if step.kind == "wind" and name in (step.winding, *step.companions)
        ]

    def copy(self) -> Part:
        """A copy to be changed."""
        return copy.deepcopy(self)
