"""The design as a value: what is to be wound, how it is tested, on which bench, with which tolerances.

Everything is SI (metre, henry, ohm, hertz, kelvin steps, degrees Celsius for temperatures) and frozen. A
*change* is a pure function that returns a new ``Design`` (``dataclasses.replace``).

One build or many: a field annotated ``Real`` (or ``Count``) holds one number, or an array whose single
axis counts *builds*. All arrays in one design have the same length. Layout, field, network and
readings carry that axis through as their leading axis, so one code path serves a single build, the
severities of a cause and ten thousand random builds.
"""

from __future__ import annotations

import dataclasses
import functools
import math
from dataclasses import dataclass, field
from typing import Any, Literal, TypeAlias

import numpy as np
from numpy.typing import NDArray

from .forms import FORMS as FORMS
from .forms import Dimensions as Dimensions
from .forms import EDimensions as EDimensions
from .forms import PotDimensions as PotDimensions
from .forms import RoundDimensions as RoundDimensions
from .forms import ToroidDimensions as ToroidDimensions
from .forms import UDimensions as UDimensions
from .notation import format_quantity

FloatArray: TypeAlias = NDArray[np.float64]
IntArray: TypeAlias = NDArray[np.int64]
ComplexArray: TypeAlias = NDArray[np.complexfloating[Any, Any]]
Real: TypeAlias = float | FloatArray
"""One number, or one per build (axis: builds)."""
Count: TypeAlias = int | IntArray
"""One whole number, or one per build."""

Equivalent: TypeAlias = Literal["series", "parallel"]
CORE = "core"
"""The core as a terminal, a face or an electrode, beside the names of windings and shields."""


# --- core ------------------------------------------------------------------------------------------


@dataclass(frozen=True, kw_only=True)
class Material:
    """A core material at low level, 23 °C. How the figures are used: module ``permeability``.

    initial_permeability : μi, relative; ``math.inf`` if unknown (then the core has no reluctance of its own).
    tolerance : half width that holds 95 % of production, relative.
    temperature_coefficient : relative change of μi per kelvin from 23 °C (1/K).
    level_coefficient : ν of the Rayleigh region, μa = μi (1 + ν B) (1/T).
    frequencies, real_ratio, loss_tangent : the complex permeability against frequency: (F,) arrays of
        frequency (Hz, rising), μ'(f)/μi and tan δ(f); interpolated on log f, held constant outside.
    source : where the figures come from.
    temperatures, temperature_ratio : table of μi(T)/μi(23 °C) (°C, rising); empty: the coefficient.
    level_flux_densities, level_ratio : table of μa(B)/μi against peak flux density (T, rising from 0); empty:
        the coefficient.
    saturation_flux_density, saturation_coefficient : Bs (T) at 23 °C, infinite if unknown; its relative
        change per kelvin (1/K).
    bias_field, bias_exponent : H½ (A/m) at which a direct field halves the permeability, and the steepness of
        that curve (powders); 0: derived from saturation.
    sheet_thickness, resistivity : of laminations and tape (m, Ω m); 0: no sheets, eddy currents are in the
    table.
    """

    name: str
    initial_permeability: Real
    tolerance: float = 0.25
    temperature_coefficient: float = 0.004
    level_coefficient: float = 1.2
    frequencies: tuple[float, ...] = (1e3,)
    real_ratio: tuple[float, ...] = (1.0,)
    loss_tangent: tuple[float, ...] = (0.01,)
    source: str = ""
    temperatures: tuple[float, ...] = ()
    temperature_ratio: tuple[float, ...] = ()
    level_flux_densities: tuple[float, ...] = ()
    level_ratio: tuple[float, ...] = ()
    saturation_flux_density: float = math.inf
    saturation_coefficient: float = 0.0
    bias_field: float = 0.0
    bias_exponent: float = 2.0
    sheet_thickness: float = 0.0
    resistivity: float = 0.0


@dataclass(frozen=True, kw_only=True)
class Core:
    """The assembled core set.

    effective_area, effective_length : Ae (m²), le (m).
    gap : total length of the ground gap in the flux path (m). Where ``al`` is given the reader has already
        solved the gap (and, for ungapped sets, the permeability) so that this model reproduces ``al``.
    gap_legs : "centre", or "spacer" (half under the centre leg, half under the outer legs).
    gap_at : "middle" of the leg, or at its "end" (E against I or a plate: one pole face is the yoke).
    gap_area_ratio : area of the ground gap over Ae. 1 where Ae is the maker's (whose tables of AL against
        gap go with it), the leg's own area where Ae is computed from the dimensions.
    face_gap : residual gap of one pair of mating faces (m); two pairs lie in series. 0 in toroids.
    al : the inductance factor (H) as specified, or None; a record: predictions come from gap and material.
    al_tolerance : ± bound of ``al`` that holds 95 % (relative), or None.
    al_scale : factor on the core's whole permeance (production tolerance of ``al``).
    loss : tan δ of the assembled set at every frequency, or None: from the material.
    stacking_factor : iron share of a laminated section.
    cover : the part of a turn that lies under the core, or None: from the geometry.
    """

    name: str
    dimensions: Dimensions
    material: Material
    effective_area: Real
    effective_length: float
    gap: Real = 0.0
    gap_tolerance: float | None = None
    gap_legs: Literal["centre", "spacer"] = "centre"
    gap_at: Literal["middle", "end"] = "middle"
    face_gap: Real = 3e-6
    al: float | None = None
    al_tolerance: float | None = None
    al_scale: Real = 1.0
    loss: float | None = None
    stacking_factor: float = 1.0
    cover: float | None = None
    gap_area_ratio: float = 1.0


# --- windings and build ----------------------------------------------------------------------------


@dataclass(frozen=True, kw_only=True)
class Bobbin:
    """``wall``: from the leg to the first layer (on a toroid the coating on all faces); ``flange``: at each
    end (m).

    chambers : breadths (m) of the chambers from the lower flange upwards; empty: ``chamber_count`` equal
    ones. partition : thickness of the wall between two chambers (m). chamber_scale : factor on all listed
    breadths (a tolerance). pins : that it has, None: not said.
    """

    wall: Real = 0.0
    flange: Real = 0.0
    permittivity: float = 4.0
    chamber_count: int = 1
    chambers: tuple[float, ...] = ()
    partition: Real = 0.0
    chamber_scale: Real = 1.0
    pins: int | None = None


@dataclass(frozen=True, kw_only=True)
class Wire:
    """One conductor of a winding, ``in_hand`` of them side by side as one turn.

    kind : "round" (solid), "litz", "foil" or "track" (of a board).
    diameter : bare copper diameter (m) of a solid wire, or of one strand of litz; 0 for foil and track.
    overall : overall diameter (m) over the insulation; the thickness for foil and track.
    strands : strands in one litz conductor, else 1.
    foil_width : breadth of a foil or track (m), else 0. spacing : between neighbouring tracks (m).
    open_strands : wires in hand that do not conduct (a fault; they still take their place).
    label : as the user wrote it, for reports.
    lay_factor : length of the strands of litz, or of the wires of a twisted bundle, over that of the turn;
    lay_known : whether the file says it.
    serving : thickness (m) of what covers a twisted bundle (of litz it is in ``overall``).
    triple : triple-insulated, which counts as insulation between circuits.
    """

    kind: Literal["round", "litz", "foil", "track"]
    diameter: Real
    overall: Real
    in_hand: int = 1
    strands: int = 1
    foil_width: Real = 0.0
    twisted: bool = False
    open_strands: Count = 0
    label: str = ""
    spacing: Real = 0.0
    lay_factor: Real = 1.0
    lay_known: bool = True
    serving: Real = 0.0
    triple: bool = False

    @property
    def foil(self) -> bool:
        """A sheet as broad as its layer: one turn is one layer, without rows."""
        return self.kind == "foil"

    @property
    def track(self) -> bool:
        """Etched on a board: turns of one thickness, spaced along the layer."""
        return self.kind == "track"

    @property
    def flat(self) -> bool:
        """Of rectangular section, ``overall`` thick and ``foil_width`` broad: foil and track."""
        return self.foil or self.track

    @property
    def litz(self) -> bool:
        """Of insulated strands."""
        return self.kind == "litz"

    @property
    def bundle(self) -> bool:
        """Of strands or wires that change places along the turn: litz, and twisted wires in hand."""
        return self.litz or self.twisted


@dataclass(frozen=True, kw_only=True)
class Winding:
    """One winding. ``sections``: how its build steps are joined. ``reversed_steps``: ordinal numbers (from 0,
    among this winding's own steps) of sections that are connected the wrong way round (a fault).
    ``joint_resistance`` (ohm), ``loop_inductance`` (H): in series at its terminals (faults: a bad joint, a
    wide loop of the lead-outs)."""

    name: str
    wire: Wire
    sections: Literal["series", "parallel"] = "series"
    total_turns: int | None = None
    circuit: str = ""
    start: str = ""
    finish: str = ""
    turning: Literal["cw", "ccw"] = "cw"
    lead_length: float = 0.0
    metal: str = "copper"
    sleeving: str = ""
    note: str = ""
    reversed_steps: tuple[int, ...] = ()
    joint_resistance: Real = 0.0
    loop_inductance: Real = 0.0


Style: TypeAlias = Literal["back_and_forth", "same_side", "scramble"]
"""Each layer back from where the last one ended; all layers from the same side; without order."""


@dataclass(frozen=True, kw_only=True)
class WindStep:
    """``turns`` of ``winding`` wound in one go. None means: the build's default, or decided by the layout
    rules.

    chamber : from 1 at the lower flange, or None (the only one). leg : 1, or 2 on U cores.
    sector, from_angle : on a toroid the angle that the step covers, and where it begins (rad); None: all of
        it.
    companions : windings wound together with this one, turn by turn (key ``with``).
    covered : covered ÷ designed breadth of every layer, pushed to the start flange (a fault; 1 as designed).
    shift : displacement of all its layers along themselves (m; a tolerance or a fault): along the leg, of
    flat layers across the window.
    """

    winding: str
    turns: Count
    layers: int | None = None
    breadth: Real | None = None
    from_end: Real | None = None
    thickness: Real | None = None
    margin: Real | None = None
    interlayer: Real | None = None
    style: Style | None = None
    close: bool = False
    beside: bool = False
    companions: tuple[str, ...] = ()
    covered: Real = 1.0
    shift: Real = 0.0
    chamber: int | None = None
    leg: int = 1
    sector: float | None = None
    from_angle: float = 0.0


@dataclass(frozen=True)
class TapeStep:
    """``wraps`` of tape, ``thickness`` (m) each, over the whole breadth (or that of one ``chamber``)."""

    thickness: Real
    wraps: Count
    permittivity: float = 3.3
    chamber: int | None = None
    leg: int = 1

    @property
    def height(self) -> Real:
        """By how much (m) the build grows: wraps × thickness, () or (B,)."""
        return np.asarray(np.asarray(self.thickness, float) * np.asarray(self.wraps))


@dataclass(frozen=True)
class SpacerStep:
    """A distance (m) of air, barrier or board."""

    thickness: Real
    permittivity: float = 1.0
    chamber: int | None = None
    leg: int = 1

    @property
    def height(self) -> Real:
        """By how much (m) the build grows: its thickness."""
        return self.thickness


@dataclass(frozen=True, kw_only=True)
class ShieldStep:
    """A conducting screen of ``thickness`` and ``width`` (m) that carries no load current.

    tied : "core", the end of a winding ("P.start", "P.finish"), or "" (open). closed : its ends touch: a
    shorted turn (an error in building).
    """

    name: str
    thickness: Real
    width: Real
    tied: str = ""
    closed: bool = False
    metal: str = "copper"
    chamber: int | None = None
    leg: int = 1


Step: TypeAlias = WindStep | TapeStep | SpacerStep | ShieldStep


TAIL = 0.05
"""Wire (m) that is left at each end for terminating, where the file says nothing (common practice, no
source)."""
RESERVE = 0.05
"""Wire and tape beyond what is wound, relative, where the file says nothing (common practice, no source)."""


@dataclass(frozen=True)
class Process:
    """What is done to the part beside winding. ``do``: in the file's words. ``after``: "winding", or "core"
    (once that is in). ``time``, ``at``, ``within``: how long, at which temperature, how soon after the
    operation before; in the file's words, "" where it says nothing."""

    do: str
    after: Literal["winding", "core"] = "core"
    time: str = ""
    at: str = ""
    within: str = ""


@dataclass(frozen=True, kw_only=True)
class Build:
    """The steps in their order and what holds for all of them. ``direction``: "out" (layers around the leg)
    or "up" (along the leg: boards, pancakes). ``allowance``: winding slack across a layer (relative).
    ``mean_turn_scale``: factor on every turn's length (a tolerance). ``tail`` (m), ``reserve`` (relative):
    wire left at each end for terminating, and wire and tape beyond what is wound; None: TAIL, RESERVE.
    ``processes``: in their
    order."""

    steps: tuple[Step, ...]
    margin: Real = 0.0
    allowance: float = 0.02
    interlayer: Real = 0.0
    style: Style = "back_and_forth"
    impregnation: Literal["none", "dipped", "potted"] = "none"
    drawing: str = ""
    revision: str = ""
    note: str = ""
    mean_turn_scale: Real = 1.0
    direction: Literal["out", "up"] = "out"
    tail: float | None = None
    reserve: float | None = None
    processes: tuple[Process, ...] = ()


# --- tests and bench -------------------------------------------------------------------------------


@dataclass(frozen=True)
class Member:
    """A winding or join as it stands in a list: its name, and whether a ``-`` reverses it."""

    name: str
    reversed: bool = False


Port: TypeAlias = tuple[Member, ...]
"""Windings or joins in series aiding (reversed members opposing)."""


@dataclass(frozen=True)
class Join:
    """``kind`` "series" or "parallel" of windings or earlier joins."""

    name: str
    kind: Literal["series", "parallel"]
    members: Port


@dataclass(frozen=True, kw_only=True)
class BenchTest:
    """One test as specified.

    short : windings or joins, each shorted on itself through its own link; everything else is open.
    frequency : Hz; None for ``resistance``.
    level : RMS voltage across the driven terminals (V). bias : direct current through them (A).
    tie : ends wired together for the test, groups of terminals: ("P.start", "S.start"), ("core", "P.start").
    equivalent, temperature (°C) : None: the bench's (``resistance``: 20 °C).
    minimum, maximum : the specification's limits in SI (rad for phase), or None.
    link, leads : length of the shorting links, and of the leads that are in the reading, against the bench's
    (a set-up changed on purpose: 2 is a link twice as long, 0 four wires at the pins).
    """

    name: str
    measure: str
    drive: Port
    short: Port = ()
    sense: Port = ()
    frequency: float | None = None
    level: float = 1.0
    equivalent: Equivalent | None = None
    temperature: float | None = None
    minimum: float | None = None
    maximum: float | None = None
    bias: float = 0.0
    tie: tuple[tuple[str, ...], ...] = ()
    link: float = 1.0
    leads: float = 1.0

    @property
    def alternating_frequency(self) -> float:
        """Frequency (Hz) of the alternating current; 0 for ``resistance``, which is read with direct current,
        and where none is stated."""
        return 0.0 if self.measure == "resistance" else float(self.frequency or 0.0)

    @property
    def angular_frequency(self) -> float:
        """ω = 2πf (rad/s); 0 for direct current."""
        return 2 * math.pi * self.alternating_frequency


@dataclass(frozen=True, kw_only=True)
class Bench:
    """The meter and the set-up. Meter accuracy terms are expanded (k = 2); ``*_tolerance`` are ± bounds
    (k = 2), relative. ``temperature_error``: by how much the part is really warmer than stated (K; a fault).
    ``level_scale``: true ÷ stated level (a fault). ``direct_lead_resistance``: of leads and contacts in
    every direct-current reading (ohm; a fault: two wires in place of four)."""

    equivalent: Equivalent = "series"
    temperature: float = 23.0
    accuracy: float = 0.001
    floor_resistance: float = 2e-3
    floor_inductance: float = 2e-9
    floor_capacitance: float = 0.05e-12
    resolution: float = 0.0
    source_resistance: float = 100.0
    short_inductance: Real = 10e-9
    short_inductance_tolerance: float = 0.5
    short_resistance: Real = 1e-3
    short_resistance_tolerance: float = 0.5
    lead_inductance: Real = 0.0
    lead_inductance_tolerance: float = 0.5
    lead_resistance: Real = 0.0
    lead_resistance_tolerance: float = 0.5
    temperature_error: Real = 0.0
    level_scale: Real = 1.0
    direct_lead_resistance: Real = 0.0


@dataclass(frozen=True, kw_only=True)
class Spread:
    """Production tolerances and model errors as *standard deviations* (relative, or m / K where said).

    None means: the default (module ``tolerance_defaults``, or the core's, the model's own). Relative, but
    ``centring``, ``margin`` and ``width`` in m, ``temperature`` in K.

    wire, enamel : of the bare diameter, of the insulation build. thickness, width : of foils, screens, tracks
    (thickness: of stated blocks too). bobbin : of its wall and partitions. loss : of the core's tan δ.
    """

    al: float | None = None
    mu_i: float | None = None
    gap: float | None = None
    face_gap: float | None = None
    core_area: float | None = None
    wire: float | None = None
    enamel: float | None = None
    tape: float | None = None
    interlayer: float | None = None
    breadth: float | None = None
    centring: float | None = None
    mean_turn: float | None = None
    resistivity: float | None = None
    permittivity: float | None = None
    temperature: float | None = None
    margin: float | None = None
    thickness: float | None = None
    width: float | None = None
    bobbin: float | None = None
    loss: float | None = None
    model_leakage: float | None = None
    model_capacitance: float | None = None
    model_ac_resistance: float | None = None
    model_inductance: float | None = None


@dataclass(frozen=True)
class OwnFactor:
    """What known-good samples taught of one pair of windings or one reading, beside what all share.

    of : "leakage P|S" (both sides of a pair), "leakage P>S" (one side), as ``circuit.own_names`` has them.
    factor : truth ÷ model of the displayed reading. deviation : its standard uncertainty, in the logarithm.
    """

    of: str
    factor: float
    deviation: float


@dataclass(frozen=True, kw_only=True)
class ModelFactors:
    """Truth ÷ model, as factors on what the models give; 1 in a plain prediction. Drawn in a spread,
    learned by calibration. ``leg_share`` is added to the centre leg's share of the core's ampere-turn drop,
    on which the ratio of an open test hangs. ``together`` is the error in the logarithm of the permeability
    where level, direct current and temperature act together. ``permittivity`` scales all insulation, ``loss``
    the core's tan δ (tolerances or faults). ``own``: of pairs of windings and of single readings, as
    displayed."""

    leakage: Real = 1.0
    inductance: Real = 1.0
    ac_resistance: Real = 1.0
    resistivity: Real = 1.0
    leg_share: Real = 0.0
    capacitance: Real = 1.0
    permittivity: Real = 1.0
    loss: Real = 1.0
    together: Real = 0.0
    own: tuple[OwnFactor, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Design:
    """All that is known about a transformer and its tests before it is wound."""

    title: str
    core: Core
    bobbin: Bobbin
    windings: tuple[Winding, ...]
    build: Build
    tests: tuple[BenchTest, ...]
    joins: tuple[Join, ...] = ()
    bench: Bench = Bench()
    tolerances: Spread = Spread()
    working_frequency: float | None = None
    model: ModelFactors = ModelFactors()
    cautions: tuple[str, ...] = field(default=())

    def __str__(self) -> str:
        """Title, core, windings with their turns, build and tests in a few lines."""
        core = self.core
        gap = np.atleast_1d(np.asarray(core.gap, float))
        air = f"gap {format_quantity(float(gap[0]), 'm', 3)}" if gap[0] > 0 else "no ground gap"
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
                f"core      {core.name}, {core.material.name}, {air}",
                f"windings  {windings}",
                f"build     {order} in {len(self.build.steps)} steps",
                f"tests     {', '.join(test.name for test in self.tests)}",
            ]
        )

    def __repr__(self) -> str:
        parts = f"{len(self.windings)} windings, {len(self.tests)} tests"
        return f"<Design {self.title!r}: {self.core.name}, {parts}>"

    def winding(self, name: str) -> Winding:
        """The winding called ``name``, or the shield of that name as one turn of foil (KeyError if
        there is neither)."""
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
        """Turns of a winding at its terminals: of all its steps, of one where they are parallel."""
        own = [
            int(np.asarray(step.turns).flat[0])
            for step in self.build.steps
            if isinstance(step, WindStep) and name in (step.winding, *step.companions)
        ]
        return own[0] if self.winding(name).sections == "parallel" else sum(own)

    @property
    def shields(self) -> tuple[ShieldStep, ...]:
        """The shields among the build steps, in their order."""
        return tuple(step for step in self.build.steps if isinstance(step, ShieldStep))


# --- batches ---------------------------------------------------------------------------------------


def builds(value: Any) -> int | None:
    """How many builds a design (or any part of one) holds: the length of its arrays, None for a single
    build."""
    if isinstance(value, np.ndarray):
        return len(value)
    if isinstance(value, tuple):
        if value and isinstance(value[0], float | str):  # a table of plain numbers, a list of names
            return None
        parts = value
    else:
        parts = tuple(getattr(value, name) for name in _field_names(type(value)))  # type: ignore[arg-type]
    for part in parts:
        if part is None or isinstance(part, _PLAIN):
            continue
        count = builds(part)
        if count is not None:
            return count
    return None


_PLAIN = (float, int, str)


@functools.cache
def _field_names(kind: type) -> tuple[str, ...]:
    """Names of a dataclass's fields; none for anything else."""
    return tuple(item.name for item in dataclasses.fields(kind)) if dataclasses.is_dataclass(kind) else ()
