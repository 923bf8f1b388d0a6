"""The design as a value: what is to be wound, how it is tested, on which bench, with which tolerances.

Everything is SI (metre, henry, ohm, hertz, kelvin for differences, degrees Celsius for temperatures) and
frozen. A *change* is a pure function that returns a new ``Design`` (``dataclasses.replace``).

One build or many: a field annotated ``Real`` (or ``Count``) holds one number, or an array whose single
axis counts *builds*. All arrays in one design have the same length. Layout, field, network and readings
carry that axis through as their leading axis, so one code path serves a single build, the severities of a
cause and ten thousand random builds.
"""

from __future__ import annotations

import dataclasses
import functools
import math
from dataclasses import dataclass, field
from typing import Any, ClassVar, Literal, TypeAlias

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
"""The core as a terminal, a face or an electrode, in addition to the names of windings and shields."""


# --- core ------------------------------------------------------------------------------------------


@dataclass(frozen=True, kw_only=True)
class Material:
    """A core material at low level, 23 °C. How the figures are used: module ``permeability``.

    Attributes
    ----------
    name : str
        Name of the material.
    initial_permeability : float or (B,) array
        Relative initial permeability μi, dimensionless; ``math.inf`` if unknown (the core then has no
        reluctance of its own).
    tolerance : float
        Half width that holds 95 % of production, relative.
    temperature_coefficient : float
        Relative change of μi per kelvin from 23 °C, 1/K.
    level_coefficient : float
        ν of the Rayleigh region, μa = μi (1 + ν B), 1/T.
    frequencies : tuple[float, ...] (F,)
        Frequencies of the table of complex permeability, rising, Hz; interpolated on log f, held constant
        outside.
    real_ratio : tuple[float, ...] (F,)
        μ'(f)/μi, dimensionless.
    loss_tangent : tuple[float, ...] (F,)
        tan δ(f), dimensionless.
    source : str
        Where the figures come from.
    temperatures : tuple[float, ...] (n,)
        Temperatures of the table of μi(T)/μi(23 °C), rising, degC; empty: the coefficient is used.
    temperature_ratio : tuple[float, ...] (n,)
        μi(T)/μi(23 °C), dimensionless.
    level_flux_densities : tuple[float, ...] (m,)
        Peak flux densities of the table of μa(B)/μi, rising from 0, T; empty: the coefficient is used.
    level_ratio : tuple[float, ...] (m,)
        μa(B)/μi, dimensionless.
    saturation_flux_density : float
        Saturation flux density Bs at 23 °C, T; infinite if unknown.
    saturation_coefficient : float
        Relative change of Bs per kelvin, 1/K.
    bias_field : float
        Field H½ at which a direct field halves the permeability (powders), A/m; 0: derived from saturation.
    bias_exponent : float
        Steepness of that curve, dimensionless.
    sheet_thickness : float
        Thickness of laminations or tape, m; 0: no sheets, eddy currents are in the table.
    resistivity : float
        Resistivity of the sheets, Ω m (ohm m), in ohm; 0 without sheets.
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

    Attributes
    ----------
    name : str
        Name of the core.
    dimensions : Dimensions
        Dimensions, m.
    material : Material
        Core material.
    effective_area : float or (B,) array
        Effective area Ae, m².
    effective_length : float
        Effective length le, m.
    gap : float or (B,) array
        Total length of the ground gap in the flux path, m. If ``al`` is given the reader has already solved
        the gap (and, for ungapped sets, the permeability) so that this model reproduces ``al``.
    gap_tolerance : float or None
        ± bound of the gap that holds 95 %, relative, or None.
    gap_legs : {"centre", "spacer"}
        "centre", or "spacer" (half under the centre leg, half under the outer legs).
    gap_at : {"middle", "end"}
        "middle" of the leg, or at its "end" (E against I or a plate: one pole face is the yoke).
    gap_angle : float or None
        Where the gap of a ring lies, counted as ``WindStep.from_angle``, rad; None: not stated.
    face_gap : float or (B,) array
        Residual gap of one pair of mating faces, m; two pairs are in series. 0 in toroids.
    al : float or None
        Inductance factor as specified, H, or None; a record only: predictions come from gap and material.
    al_tolerance : float or None
        ± bound of ``al`` that holds 95 %, relative, or None.
    al_scale : float or (B,) array
        Factor on the core's whole permeance (production tolerance of ``al``), dimensionless.
    loss : float or None
        tan δ of the assembled set at every frequency, dimensionless; None: from the material.
    stacking_factor : float
        Iron fraction of a laminated section, dimensionless.
    cover : float or None
        Fraction of a turn that lies under the core, dimensionless; None: from the geometry.
    gap_area_ratio : float
        Area of the ground gap over Ae, dimensionless. 1 if Ae is the maker's (whose tables of AL against gap
        go with it); the leg's own area if Ae is computed from the dimensions.
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
    gap_angle: float | None = None
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
    """The bobbin, or the coating of a toroid.

    Attributes
    ----------
    wall : float or (B,) array
        From the leg to the first layer (on a toroid the coating on all faces), m.
    flange : float or (B,) array
        Thickness at each end, m.
    permittivity : float
        Relative permittivity, dimensionless.
    chamber_count : int
        Equal chambers, if ``chambers`` is empty, count.
    chambers : tuple[float, ...] (n,)
        Breadths of the chambers from the lower flange upwards, m; empty: equal ones.
    partition : float or (B,) array
        Thickness of the wall between two chambers, m.
    chamber_scale : float or (B,) array
        Factor on all listed breadths (a tolerance), dimensionless.
    pins : int or None
        Pins of the bobbin, count; None if not stated.
    partition_height : float or (B,) array, or None
        Height of the partitions above the wall, m; None if not stated.
    """

    wall: Real = 0.0
    flange: Real = 0.0
    permittivity: float = 4.0
    chamber_count: int = 1
    chambers: tuple[Real, ...] = ()
    partition: Real = 0.0
    chamber_scale: Real = 1.0
    pins: int | None = None
    partition_height: Real | None = None


@dataclass(frozen=True, kw_only=True)
class Wire:
    """One conductor of a winding; several in hand lie side by side as one turn.

    Attributes
    ----------
    kind : {"round", "litz", "foil", "track"}
        "round" (solid), "litz", "foil" or "track" (of a board).
    diameter : float or (B,) array
        Bare copper diameter of a solid wire, or of one strand of litz, m; 0 for foil and track.
    overall : float or (B,) array
        Overall diameter over the insulation, m; the thickness for foil and track.
    in_hand : int
        Conductors wound as one turn, count.
    strands : int
        Strands in one litz conductor, count; else 1.
    foil_width : float or (B,) array
        Breadth of a foil or track, m; else 0.
    twisted : bool
        Whether the wires in hand are a twisted bundle.
    open_strands : int or (B,) int array
        Wires in hand that do not conduct, count (a fault; they still take up their room).
    label : str
        The wire as the user wrote it, for reports.
    spacing : float or (B,) array
        Space between neighbouring tracks, m.
    lay_factor : float or (B,) array
        Length of the strands of litz, or of the wires of a twisted bundle, over that of the turn,
        dimensionless.
    lay_known : bool
        Whether the file states it.
    serving : float or (B,) array
        Thickness of what covers a twisted bundle, m (for litz it is included in ``overall``).
    triple : bool
        Whether it is triple-insulated, which counts as insulation between circuits.
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
        """Whether it is a sheet as broad as its layer: one turn is one layer, without rows."""
        return self.kind == "foil"

    @property
    def track(self) -> bool:
        """Whether it is etched on a board: turns of one thickness, spaced along the layer."""
        return self.kind == "track"

    @property
    def flat(self) -> bool:
        """Whether its section is rectangular, ``overall`` thick and ``foil_width`` broad: foil and track."""
        return self.foil or self.track

    @property
    def litz(self) -> bool:
        """Whether it consists of insulated strands."""
        return self.kind == "litz"

    @property
    def bundle(self) -> bool:
        """Whether its strands or wires change places along the turn: litz, and twisted wires in hand."""
        return self.litz or self.twisted


@dataclass(frozen=True, kw_only=True)
class Winding:
    """One winding.

    Attributes
    ----------
    name : str
        Name of the winding.
    wire : Wire
        Its wire.
    sections : {"series", "parallel"}
        How its build steps are joined, "series" or "parallel".
    total_turns : int or None
        Turns as stated, a checksum, count; None if not stated.
    circuit : str
        Circuit that it belongs to.
    start : str
        Pin of the start.
    finish : str
        Pin of the finish.
    turning : {"cw", "ccw"}
        Winding direction, "cw" or "ccw".
    lead_length : float
        Length of both lead-outs together, m.
    metal : str
        "copper" or "aluminium".
    sleeving : str
        Sleeving, for the build sheet.
    note : str
        Note for the build sheet.
    reversed_steps : tuple[int, ...]
        Sections connected the wrong way round (a fault), index from 0 among this winding's own steps.
    joint_resistance : float or (B,) array
        Resistance in series at its terminals (a fault: a bad joint), ohm.
    loop_inductance : float or (B,) array
        Inductance in series at its terminals (a fault: a wide loop of the lead-outs), H.
    """

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
    """Turns of a winding wound in one go. None means the build's default, or that the layout rules decide.

    Attributes
    ----------
    winding : str
        Name of the winding.
    turns : int or (B,) int array
        Turns, count.
    layers : int or None
        Layers over which the turns are spread, count.
    breadth : float or (B,) array or None
        Breadth that the step covers along the leg, m.
    from_end : float or (B,) array or None
        Where it begins, from the flange's inner face, m.
    thickness : float or (B,) array or None
        Thickness of a block of uniform current density, m.
    margin : float or (B,) array or None
        Margin at each end of every layer, m.
    interlayer : float or (B,) array or None
        Insulation between its layers, m.
    style : Style or None
        How its layers are wound.
    close : bool
        Whether it is wound tight from the start, not spread over the breadth.
    beside : bool
        Whether it begins at the height of the step before, beside it.
    companions : tuple[str, ...]
        Windings wound together with this one, turn by turn (key ``with``).
    miscount : tuple of int or (B,) int array
        Turns that this winding and each of its companions has more or less than ``turns`` (a fault: an end
        that leaves a turn early or late), count; empty as designed.
    covered : float or (B,) array
        Covered over designed breadth of every layer, pushed to the start flange (a fault), dimensionless; 1
        as designed.
    shift : float or (B,) array
        Displacement of all its layers along themselves (a tolerance or a fault), m: along the leg, or across
        the window for flat layers.
    chamber : int or None
        Chamber, index from 1 at the lower flange; None for the only one.
    leg : int
        Leg of a U core, 1 or 2, index; 1 otherwise.
    sector : float or None
        Angle that the step covers on a toroid, rad; None: all of it.
    from_angle : float
        Where that angle begins, rad.
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
    miscount: tuple[Count, ...] = ()
    covered: Real = 1.0
    shift: Real = 0.0
    chamber: int | None = None
    leg: int = 1
    sector: float | None = None
    from_angle: float = 0.0

    conducts: ClassVar[bool] = True

    @property
    def windings(self) -> tuple[str, ...]:
        """The winding, then those wound together with it."""
        return (self.winding, *self.companions)

    @property
    def names(self) -> tuple[str, ...]:
        """Names of the conductors that the step lays."""
        return self.windings


@dataclass(frozen=True)
class TapeStep:
    """Wraps of tape over the whole breadth, or that of one chamber.

    Attributes
    ----------
    thickness : float or (B,) array
        Thickness of one wrap, m.
    wraps : int or (B,) int array
        Wraps, count.
    permittivity : float
        Relative permittivity, dimensionless.
    chamber : int or None
        Chamber, index from 1 at the lower flange; None for the only one.
    leg : int
        Leg of a U core, 1 or 2, index; 1 otherwise.
    """

    thickness: Real
    wraps: Count
    permittivity: float = 3.3
    chamber: int | None = None
    leg: int = 1

    conducts: ClassVar[bool] = False
    windings: ClassVar[tuple[str, ...]] = ()
    names: ClassVar[tuple[str, ...]] = ()

    @property
    def height(self) -> Real:
        """Height that it adds to the build, wraps × thickness, (B,) or scalar, m."""
        return np.asarray(np.asarray(self.thickness, float) * np.asarray(self.wraps))


@dataclass(frozen=True)
class SpacerStep:
    """A distance of air, barrier or board.

    Attributes
    ----------
    thickness : float or (B,) array
        Thickness, m.
    permittivity : float
        Relative permittivity, dimensionless.
    chamber : int or None
        Chamber, index from 1 at the lower flange; None for the only one.
    leg : int
        Leg of a U core, 1 or 2, index; 1 otherwise.
    """

    thickness: Real
    permittivity: float = 1.0
    chamber: int | None = None
    leg: int = 1

    conducts: ClassVar[bool] = False
    windings: ClassVar[tuple[str, ...]] = ()
    names: ClassVar[tuple[str, ...]] = ()

    @property
    def height(self) -> Real:
        """Height that it adds to the build, (B,) or scalar, m."""
        return self.thickness


@dataclass(frozen=True, kw_only=True)
class ShieldStep:
    """A conducting screen that carries no load current.

    Attributes
    ----------
    name : str
        Name of the shield.
    thickness : float or (B,) array
        Thickness, m.
    width : float or (B,) array
        Width, m.
    tied : str
        "core", the end of a winding ("P.start", "P.finish"), or "" (open).
    closed : bool
        Whether its ends touch: a shorted turn (an error in building).
    screens : bool
        Whether other layers see it as an electrode and lie above it; False for turns of a winding that are
        shorted on themselves: they lie within its layer.
    metal : str
        "copper" or "aluminium".
    chamber : int or None
        Chamber, index from 1 at the lower flange; None for the only one.
    leg : int
        Leg of a U core, 1 or 2, index; 1 otherwise.
    """

    name: str
    thickness: Real
    width: Real
    tied: str = ""
    closed: bool = False
    screens: bool = True
    metal: str = "copper"
    chamber: int | None = None
    leg: int = 1

    conducts: ClassVar[bool] = True
    windings: ClassVar[tuple[str, ...]] = ()

    @property
    def names(self) -> tuple[str, ...]:
        """Names of the conductors that the step lays."""
        return (self.name,)


Step: TypeAlias = WindStep | TapeStep | SpacerStep | ShieldStep


TAIL = 0.05
"""Wire (m) left at each end for terminating, if the file does not state it (common practice, no source)."""
RESERVE = 0.05
"""Wire and tape in excess of what is wound, relative, if the file does not state it (common practice, no
source)."""


@dataclass(frozen=True)
class Process:
    """What is done to the part besides winding, in the file's words; "" for what it does not state.

    Attributes
    ----------
    do : str
        What is done.
    after : {"winding", "core"}
        "winding", or "core" (once that is fitted).
    time : str
        How long.
    at : str
        Temperature.
    within : str
        How soon after the operation before.
    """

    do: str
    after: Literal["winding", "core"] = "core"
    time: str = ""
    at: str = ""
    within: str = ""


@dataclass(frozen=True, kw_only=True)
class Build:
    """The steps in order, and what holds for all of them.

    Attributes
    ----------
    steps : tuple[Step, ...]
        The steps.
    margin : float or (B,) array
        Margin at each end of every layer, m.
    allowance : float
        Winding slack across a layer, relative.
    interlayer : float or (B,) array
        Insulation between layers of one step, m.
    style : Style
        How the layers of a step are wound.
    impregnation : {"none", "dipped", "potted"}
        What fills the gaps between wires.
    drawing : str
        Number of the drawing.
    revision : str
        Revision of the drawing.
    note : str
        Note for the build sheet.
    mean_turn_scale : float or (B,) array
        Factor on the length of every turn (a tolerance), dimensionless.
    direction : {"out", "up"}
        "out" (layers around the leg) or "up" (along the leg: boards, pancakes).
    tail : float or None
        Wire left at each end for terminating, m; None: TAIL.
    reserve : float or None
        Wire and tape in excess of what is wound, relative; None: RESERVE.
    processes : tuple[Process, ...]
        What is done besides winding, in order.
    """

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
    """A winding or join as it appears in a list.

    Attributes
    ----------
    name : str
        Its name.
    reversed : bool
        Whether a ``-`` reverses it.
    """

    name: str
    reversed: bool = False


Port: TypeAlias = tuple[Member, ...]
"""Windings or joins in series aiding (reversed members opposing)."""


@dataclass(frozen=True)
class Join:
    """Windings or earlier joins, joined in series or in parallel.

    Attributes
    ----------
    name : str
        Name of the join.
    kind : {"series", "parallel"}
        "series" or "parallel".
    members : Port
        What it joins.
    """

    name: str
    kind: Literal["series", "parallel"]
    members: Port

    @property
    def in_series(self) -> bool:
        """Whether the members carry one current; else they share it."""
        return self.kind == "series"


@dataclass(frozen=True, kw_only=True)
class BenchTest:
    """One test as specified.

    Attributes
    ----------
    name : str
        Name of the test.
    measure : str
        What the test measures.
    drive : Port
        Driven port.
    short : Port
        Windings or joins, each shorted on itself through its own link; everything else is open.
    sense : Port
        Port at which the second reading is taken.
    frequency : float or None
        Frequency, Hz; None for ``resistance``.
    level : float
        RMS voltage across the driven terminals, V.
    equivalent : Equivalent or None
        Equivalent circuit of the display; None: the bench's.
    temperature : float or None
        Temperature of the part, degC; None: the bench's (``resistance``: 20 °C).
    minimum : float or None
        Lower limit of the specification, SI (rad for a phase), or None.
    maximum : float or None
        Upper limit of the specification, SI (rad for a phase), or None.
    bias : float
        Direct current through the driven terminals, A.
    tie : tuple[tuple[str, ...], ...]
        Ends wired together for the test, as groups of terminals: ("P.start", "S.start"), ("core", "P.start").
    link : float
        Length of the shorting links relative to the bench's, dimensionless (a set-up changed on purpose: 2 is
        a link twice as long).
    leads : float
        Length of the leads in the reading relative to the bench's, dimensionless (0: four wires at the pins).
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
        """Frequency of the alternating current, Hz; 0 for ``resistance``, read with direct current, and if
        none is stated."""
        return 0.0 if self.measure == "resistance" else float(self.frequency or 0.0)

    @property
    def angular_frequency(self) -> float:
        """Angular frequency ω = 2πf, rad/s; 0 for direct current."""
        return 2 * math.pi * self.alternating_frequency


@dataclass(frozen=True, kw_only=True)
class Bench:
    """The meter and the set-up.

    Accuracy terms of the meter are expanded (k = 2); tolerances are ± bounds (k = 2).

    Attributes
    ----------
    equivalent : Equivalent
        Equivalent circuit of the display.
    temperature : float
        Temperature of the room and the parts, degC.
    accuracy : float
        Basic accuracy of the meter, relative.
    floor_resistance : float
        Resistance left after the short correction, ohm.
    floor_inductance : float
        Inductance left after the short correction, H.
    floor_capacitance : float
        Capacitance left after the open correction, F.
    resolution : float
        Last digit of the display, relative to the reading, dimensionless.
    source_resistance : float
        Source resistance of the meter, ohm.
    short_inductance : float or (B,) array
        Inductance of the shorting link, H.
    short_inductance_tolerance : float
        Its tolerance, relative.
    short_resistance : float or (B,) array
        Resistance of the shorting link, ohm.
    short_resistance_tolerance : float
        Its tolerance, relative.
    lead_inductance : float or (B,) array
        Inductance of the leads after corrections, H.
    lead_inductance_tolerance : float
        Its tolerance, relative.
    lead_resistance : float or (B,) array
        Resistance of the leads after corrections, ohm.
    lead_resistance_tolerance : float
        Its tolerance, relative.
    temperature_error : float or (B,) array
        How much warmer the part really is than stated (a fault), K.
    level_scale : float or (B,) array
        True over stated level (a fault), dimensionless.
    direct_lead_resistance : float or (B,) array
        Resistance of leads and contacts in every direct-current reading (a fault: two wires instead of four),
        ohm.
    """

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
    """Production tolerances and model errors as *standard deviations*.

    None means the default (module ``production.defaults``, or the core's, the model's own).

    Attributes
    ----------
    al : float or None
        Inductance factor, relative.
    mu_i : float or None
        Initial permeability, relative.
    gap : float or None
        Ground gap, relative.
    face_gap : float or None
        Residual gap of the faces, relative.
    core_area : float or None
        Area of the core, relative.
    wire : float or None
        Bare diameter of the wire, relative.
    enamel : float or None
        Insulation build of the wire, relative.
    tape : float or None
        Thickness of tape, relative.
    interlayer : float or None
        Insulation between layers, relative.
    breadth : float or None
        Breadth of the layers, relative.
    centring : float or None
        Position of the windings, m.
    mean_turn : float or None
        Length of a turn, relative.
    resistivity : float or None
        Resistivity of the conductor, relative.
    permittivity : float or None
        Permittivity of the insulation, relative.
    temperature : float or None
        Temperature of the part, K.
    margin : float or None
        Margins, m.
    thickness : float or None
        Thickness of foils, screens, tracks and stated blocks, relative.
    width : float or None
        Width of foils, screens and tracks, m.
    bobbin : float or None
        Wall and partitions of the bobbin, relative.
    loss : float or None
        tan δ of the core, relative.
    model_leakage : float or None
        The model's error of leakage, relative.
    model_capacitance : float or None
        The model's error of capacitance, relative.
    model_ac_resistance : float or None
        The model's error of alternating-current resistance, relative.
    model_inductance : float or None
        The model's error of inductance, relative.
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
    """What known-good samples taught about one pair of windings or one reading, in addition to the shared
    factors.

    Attributes
    ----------
    of : str
        "leakage P|S" (both sides of a pair), "leakage P>S" (one side), as in ``circuit.own_names``.
    factor : float
        Truth ÷ model of the displayed reading, dimensionless.
    deviation : float
        Standard uncertainty of ``factor`` in the logarithm, dimensionless.
    """

    of: str
    factor: float
    deviation: float


@dataclass(frozen=True, kw_only=True)
class ModelFactors:
    """Truth ÷ model, as factors on what the models give; 1 in a plain prediction.

    Drawn at random in a spread, learned by calibration.

    Attributes
    ----------
    leakage : float or (B,) array
        Factor on every leakage, dimensionless.
    inductance : float or (B,) array
        Factor on the core's permeance, dimensionless.
    ac_resistance : float or (B,) array
        Factor on the alternating-current resistance, dimensionless.
    resistivity : float or (B,) array
        Factor on the resistivity, dimensionless.
    leg_share : float or (B,) array
        Added to the centre leg's share of the core's ampere-turn drop, on which the ratio of an open test
        depends, dimensionless.
    capacitance : float or (B,) array
        Factor on every capacitance, dimensionless.
    permittivity : float or (B,) array
        Factor on the permittivity of all insulation (a tolerance or fault), dimensionless.
    loss : float or (B,) array
        Factor on the core's tan δ (a tolerance or fault), dimensionless.
    together : float or (B,) array
        Error in the logarithm of the permeability where level, direct current and temperature act together,
        dimensionless.
    weak_field : float or (B,) array
        Error in the logarithm of the permeability of laminations in weak fields, dimensionless.
    own : tuple[OwnFactor, ...]
        Factors of pairs of windings and single readings, as displayed.
    """

    leakage: Real = 1.0
    inductance: Real = 1.0
    ac_resistance: Real = 1.0
    resistivity: Real = 1.0
    leg_share: Real = 0.0
    capacitance: Real = 1.0
    permittivity: Real = 1.0
    loss: Real = 1.0
    together: Real = 0.0
    weak_field: Real = 0.0
    own: tuple[OwnFactor, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Design:
    """Everything that is known about a transformer and its tests before it is wound.

    Attributes
    ----------
    title : str
        Title.
    core : Core
        The core.
    bobbin : Bobbin
        The bobbin.
    windings : tuple[Winding, ...]
        The windings.
    build : Build
        The build.
    tests : tuple[BenchTest, ...]
        The tests.
    joins : tuple[Join, ...]
        The joins.
    bench : Bench
        The bench.
    tolerances : Spread
        Tolerances and model errors.
    working_frequency : float or None
        Working frequency, Hz; None if not stated.
    model : ModelFactors
        Factors on the models.
    cautions : tuple[str, ...]
        What a reader of a prediction has to know.
    """

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

    @property
    def shields(self) -> tuple[ShieldStep, ...]:
        """The shields among the build steps, in order."""
        return tuple(step for step in self.build.steps if isinstance(step, ShieldStep))


# --- batches ---------------------------------------------------------------------------------------


def builds(value: Any) -> int | None:
    """Builds that a design (or any part of one) holds, count: the length of its arrays, None for a single
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
