"""The JSON of ``interleave``."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated, ClassVar

from .record import Meaning, json_key
from .shared_records import BuildsApart, Cautions, DriverRecord, Measure

DriveItem = Annotated[str, Meaning(text="A winding or join.")]


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class InterleaveTest:
    """One of them."""

    name: str = json_key("Its name.")
    measure: Measure = json_key()
    drive: Sequence[DriveItem] = json_key("What is driven.")
    short: Sequence[DriveItem] = json_key("What is shorted.")
    sense: Sequence[DriveItem] = json_key("Where it is sensed.")
    frequency_Hz: float | None = json_key("Frequency (Hz); null: none to set.", minimum=0)


OrderItem = Annotated[str, Meaning(text="A winding.")]


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class InterleaveStep:
    """One step: what it winds, lays or leaves free, in the design file's words; lengths in m."""

    wind: str = json_key("The winding.", optional=True)
    turns: int = json_key("Its turns in this step.", minimum=0, optional=True)
    tape_m: float = json_key("Thickness of the tape (m).", minimum=0, optional=True)
    wraps: int = json_key("Wraps of it.", minimum=0, optional=True)
    spacer_m: float = json_key("Size of a gap (m).", minimum=0, optional=True)
    with_: Sequence[OrderItem] = json_key("Windings wound together with it.", name="with", optional=True)
    shield_m: float = json_key("Thickness of a shield (m).", minimum=0, optional=True)
    width_m: float = json_key("Its width (m).", minimum=0, optional=True)
    name: str = json_key("Its name.", optional=True)
    chamber: int = json_key("Chamber from 1.", minimum=1, optional=True)
    leg: int = json_key("2 on the second leg of U cores.", minimum=1, optional=True)


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class InterleaveWinding:
    """One winding."""

    name: str = json_key("Its name.")
    sections: str = json_key("How they are joined.", values=("series", "parallel"))
    in_hand: int = json_key("Wires in hand of each section.", minimum=1)
    wire_length_m: float = json_key("Length of its wire (m).", minimum=0)


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class Leakage:
    """One pair."""

    test: str = json_key("Name of the reading.")
    leakage_H: float = json_key("Leakage inductance (H).")


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class Capacitance:
    """One pair."""

    test: str = json_key("Name of the reading.")
    capacitance_F: float = json_key("Capacitance (F).")


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class InterleaveFace:
    """One face."""

    inner: str = json_key("Winding inside.")
    outer: str = json_key("Winding outside.")
    thickness_m: float = json_key("Insulation that the file gives between them (m).", minimum=0)
    wraps: int = json_key("Wraps of tape.", minimum=0)


BetweenItem = Annotated[str, Meaning(text="A name.")]


LessItem = Annotated[
    str, Meaning(text="One respect.", bounds={"values": ("wall", "thickness", "wraps", "shield", "creepage")})
]


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class LessInsulation:
    """One pair."""

    between: Sequence[BetweenItem] = json_key("The two windings.")
    thickness_m: float = json_key("What lies between them here (m).", minimum=0)
    design_thickness_m: float = json_key("What lies between them in the design (m).", minimum=0)
    less: Sequence[LessItem] = json_key("In what it is less.")


AlikeItem = Annotated[int, Meaning(text="A number.", bounds={"minimum": 1})]


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class InterleaveSpread:
    """95 % of production; null: not computed."""

    builds_as_designed: float = json_key(
        "Part of the builds whose layers are as designed, of which the ranges are.",
        minimum=0,
        maximum=1,
        optional=True,
    )
    builds_apart: Sequence[BuildsApart] = json_key(
        "Builds with other layers than designed in one step, and the leakage of 95 % of them.", optional=True
    )
    leakage_H: Sequence[float] | None = json_key("Low and high (H).", minItems=2, maxItems=2)
    ac_resistance_ohm: Sequence[float] | None = json_key("Low and high (ohm).", minItems=2, maxItems=2)
    capacitance_F: Sequence[float] | None = json_key(
        "Low and high (F); null: one circuit.", minItems=2, maxItems=2
    )


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class InterleaveArrangement:
    """One arrangement."""

    number: int = json_key("The number for --pick.", minimum=1, optional=True)
    order: Sequence[OrderItem] = json_key("Sections from the leg outwards.")
    steps: Sequence[InterleaveStep] = json_key("The build steps.")
    windings: Sequence[InterleaveWinding] = json_key(
        "How the sections of each winding are joined.", optional=True
    )
    leakage_H: float = json_key("Leakage inductance of the first pair (H).")
    leakages: Sequence[Leakage] = json_key("That of every pair asked for.", optional=True)
    capacitance_F: float | None = json_key(
        "Capacitance between the first pair of circuits (F); null: one circuit."
    )
    capacitances: Sequence[Capacitance] = json_key("Every pair of circuits.", optional=True)
    ac_resistance_ohm: float = json_key("Resistance at the working frequency (ohm).")
    resonance_Hz: float | None = json_key("First resonance (Hz); null: none found.", minimum=0, optional=True)
    fill: float = json_key("Height of the build over the height of the window (dimensionless).", minimum=0)
    joints: int = json_key("Joints between sections.", minimum=0)
    insulated_faces: int = json_key("Faces between circuits that are insulated.", minimum=0)
    faces: Sequence[InterleaveFace] = json_key("Those faces.", optional=True)
    less_insulation: Sequence[LessInsulation] = json_key(
        "Pairs of windings that this arrangement keeps less apart than the design does; empty "
        "unless --bare asks for it.",
        optional=True,
    )
    best: bool = json_key("Whether no other arrangement is better in one respect and no worse in all others.")
    present: bool = json_key("Whether it is the design's own.", optional=True)
    alike: Sequence[AlikeItem] = json_key(
        "Numbers of further best arrangements that read the same within production's spread.", optional=True
    )
    spread: InterleaveSpread | None = json_key(optional=True)
    against_present: str | None = json_key("Against the design's own arrangement, in words.", optional=True)


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class InterleaveDocumentLeftOut:
    """What was not listed."""

    breadth: int = json_key("Arrangements whose layers do not fit the breadth.", minimum=0)
    window: int = json_key("Arrangements that do not fit the window.", minimum=0)
    less_insulation: int = json_key(
        "Arrangements in which two circuits would be less apart than in the design.", minimum=0, optional=True
    )
    search_ended_at_limit: bool = json_key("Whether the search ended at its limit.")
    complete_up_to_sections: int = json_key("Sections in all up to which the list is complete.", minimum=0)


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class InterleaveAim:
    """One aim."""

    test: str = json_key("Test of the design.")
    sense: str = json_key(
        "Whether the value is met within the tolerance, or is a limit.", values=("=", "<=", ">=")
    )
    value: float = json_key("Value (SI).")
    tolerance: float | None = json_key("Half width of what meets it (SI); null for a limit.")
    measure: Measure = json_key()


BuildOrderItem = Annotated[str, Meaning(text="Name of a winding or shield.")]


ChangeItem = Annotated[str, Meaning(text="One change.")]


ChamberItem = Annotated[float, Meaning(text="Breadth (m).", bounds={"minimum": 0})]


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class BuildWinding:
    """One winding."""

    name: str = json_key("Its name.")
    sections: str = json_key("How its sections are joined.", values=("series", "parallel"))
    in_hand: int = json_key("Wires in hand.", minimum=1)


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class BuildReading:
    """One test."""

    test: str = json_key("Its name.")
    predicted: float = json_key("Nominal reading (SI).")
    low: float = json_key("2.5 % point of production (SI).")
    high: float = json_key("97.5 % point of production (SI).")
    yield_: float = json_key("Part of production that meets this aim.", name="yield", minimum=0, maximum=1)
    drivers: Sequence[DriverRecord] = json_key("What its spread is made of.")


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class InterleaveBuild:
    """One build."""

    number: int = json_key("Its number, for --pick.", minimum=1)
    order: Sequence[BuildOrderItem] = json_key("Sections in the order in which they go on.")
    present_order: bool = json_key("Whether the order is the design's.")
    changes: Sequence[ChangeItem] = json_key("What is changed beside the order, in words.")
    steps: Sequence[InterleaveStep] = json_key("The build steps.")
    chambers_m: Sequence[ChamberItem] = json_key(
        "Breadths of the chambers, where the file lists them or they are changed (m)."
    )
    partition_m: float = json_key("Thickness of the partition between chambers (m).", minimum=0)
    windings: Sequence[BuildWinding] = json_key("How each winding is joined.")
    yield_: float = json_key(
        "Part of production that meets all aims, as if the model were right.",
        name="yield",
        minimum=0,
        maximum=1,
    )
    yield_with_model_error: float = json_key("The same with the model's own error.", minimum=0, maximum=1)
    readings: Sequence[BuildReading] = json_key("The aims' tests.")


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class InterleaveDocument:
    """The windable arrangements of a design's windings, in the order of their numbers. SI units."""

    document: ClassVar[str] = "interleave"
    definitions: ClassVar[tuple[str, ...]] = ("measure", "cautions")

    design: str = json_key("Title of the design.", optional=True)
    drive: str = json_key("What is driven for leakage and resistance.", optional=True)
    working_frequency_Hz: float = json_key(
        "Frequency of the alternating-current resistance (Hz).", minimum=0, optional=True
    )
    tests: Sequence[InterleaveTest] = json_key(
        "The readings that are predicted of each arrangement.", optional=True
    )
    arrangements: Sequence[InterleaveArrangement] = json_key("Every arrangement.")
    left_out: InterleaveDocumentLeftOut = json_key(optional=True)
    cautions: Cautions = json_key(optional=True)
    aims: Sequence[InterleaveAim] = json_key("Readings that --aim asks for.", optional=True)
    random_builds: int = json_key("Random builds behind each yield.", minimum=100, optional=True)
    builds: Sequence[InterleaveBuild] = json_key("Builds towards the aims, by falling yield.", optional=True)
