"""The JSON of ``sheet``."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated, ClassVar

from .record import Meaning, json_key
from .shared_records import AssembledCore, Cautions, Limits, Measure, Unit

LayerItem = Annotated[int, Meaning(text="Turns.", bounds={"minimum": 0})]


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class SheetSection:
    """One section."""

    winding: str = json_key("Name of the winding.")
    section: int = json_key("Which of its sections, from 1.", minimum=1)
    sections: int = json_key("Of how many.", minimum=1)
    turns: int = json_key("Turns of the section.", minimum=0)
    layers: Sequence[LayerItem] = json_key("Turns of its layers, from the first on.")
    turning: str = json_key("Direction of turning.", values=("cw", "ccw"))
    start: str = json_key("Pin of the winding's start; empty: none given.")
    finish: str = json_key("Pin of its finish; empty: none given.")
    wire_length_m: float = json_key("Length of one wire without its leads (m).", minimum=0)


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class Height:
    """Height of the build once the step is on."""

    nominal: float = json_key("As designed (m).")
    low: float = json_key("2.5 % point of builds (m).")
    high: float = json_key("97.5 % point of builds (m).")


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class SheetStep:
    """One step."""

    step: int = json_key("Its number, from 1.", minimum=1)
    kind: str = json_key("What goes on.", values=("wind", "tape", "spacer", "shield"))
    work: str = json_key("The step in words.")
    sections: Sequence[SheetSection] = json_key(
        "What is wound: the step's own winding first, then those wound together with it; empty for "
        "other kinds."
    )
    place: str = json_key("Chamber, margins, sleeving, manner, in words.")
    height_m: Height = json_key()
    left_m: float | None = json_key(
        "Room that is left (m; of a ring the diameter of the hole); null: both legs of a U core."
    )
    tape_length_m: float | None = json_key("Tape around the leg (m); null: no tape, or not around a leg.")


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class SheetWire:
    """One winding."""

    winding: str = json_key("Its name.")
    length_m: float = json_key("Length of one wire with its leads (m).", minimum=0)
    in_hand: int = json_key("Wires in hand.", minimum=1)
    mass_kg: float = json_key("Bare metal of all of them (kg).", minimum=0)


StepItem = Annotated[int | None, Meaning(text="Number.", bounds={"minimum": 1})]


BetweenItem = Annotated[str, Meaning(text="Name.")]


InsulatedFaceBetweenItem = Annotated[Sequence[BetweenItem], Meaning(text="Windings or shields, or the core.")]


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class SheetInsulation:
    """One thing."""

    what: str = json_key("Tape, spacer, partition, bobbin wall, flange or coating.")
    count: int = json_key("Wraps or pieces.", minimum=1)
    thickness_m: float = json_key("Thickness of one (m).", minimum=0)


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class InsulatedFace:
    """One face."""

    kind: str = json_key(
        "How they face each other.",
        values=("stacked", "beside", "together", "chambers", "sectors", "legs", "core"),
    )
    steps: Sequence[StepItem] = json_key("Their build steps, from 1; null: the core.")
    between: Sequence[InsulatedFaceBetweenItem] = json_key("Names on either side.")
    insulation: Sequence[SheetInsulation] = json_key("What lies between; empty: nothing but the wires' own.")


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class SheetCut:
    """Wires of one section."""

    winding: str = json_key("Winding.")
    section: int = json_key("Which of its sections.", minimum=1)
    sections: int = json_key("Sections that it has.", minimum=1)
    pieces: int = json_key("Wires of that length, wound in hand.", minimum=1)
    length_m: float = json_key("Length of each, with reserve and tails (m).", minimum=0)
    wound_m: float = json_key("What is wound of it (m).", minimum=0)
    tails_m: float = json_key("Both tails (m).", minimum=0)


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class SheetMaterial:
    """One item."""

    kind: str = json_key(
        "What it is.",
        values=("core", "bobbin", "wire", "tape", "margin tape", "interlayer", "spacer", "screen", "tracks"),
    )
    item: str = json_key("In words.")
    used_for: str = json_key("Winding or place.")
    pieces: int = json_key("How many.", minimum=1)
    length_m: float | None = json_key("Length in all, with the reserve (m).", minimum=0)
    width_m: float | None = json_key("Width (m).", minimum=0)
    mass_kg: float | None = json_key("Mass with insulation (kg).", minimum=0)


EndItem = Annotated[str, Meaning(text="Winding and end.")]


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class Pin:
    """One pin."""

    pin: str = json_key("Its name.")
    ends: Sequence[EndItem] = json_key("Ends there.")


OperationItem = Annotated[str, Meaning(text="One operation.")]


AboveItem = Annotated[str, Meaning(text="One cause.")]


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class PointsTo:
    """What a reading beyond its limits points to."""

    above: Sequence[AboveItem] = json_key("A reading above the limits, in words.")
    below: Sequence[AboveItem] = json_key("A reading below the limits, in words.")


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class Mistake:
    """One mistake."""

    mistake: str = json_key("In words.")
    reading: float = json_key("What would be read, in the reading's unit.")
    told: bool = json_key("Whether the limits stop at least 95 % of such parts.")
    caught: float = json_key("Probability that the limits stop it.", minimum=0, maximum=1)


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class SheetDocumentReading:
    """One reading."""

    after_step: int | None = json_key("After which step; null: once all is wound.", minimum=1)
    stage: str = json_key("When.", values=("winding", "before core", "assembled"))
    name: str = json_key("Its name; of assembled ones that of the test.")
    measure: Measure = json_key()
    unit: Unit = json_key()
    where: str = json_key("Between which ends, or how, in words.")
    frequency: float | None = json_key("Frequency (Hz); null: direct current, or by turns.")
    expected: float | None = json_key("Reading to expect, in its unit.")
    limits: Limits = json_key()
    specified: bool = json_key("Whether the limits are the design file's.")
    judged: bool = json_key("False where the bench cannot judge it: no limits of ours.", optional=True)
    uncertainty: float = json_key("Standard uncertainty (k = 1) of one reading, in its unit.", minimum=0)
    temperature: float | None = json_key(
        "Temperature to which a resistance is brought (°C); null: no resistance."
    )
    points_to: PointsTo = json_key()
    one_turn: float | None = json_key(
        "Share of parts with one turn too many or too few that the limits stop; null: not of this reading.",
        minimum=0,
        maximum=1,
    )
    mistakes: Sequence[Mistake] = json_key("What it would read after single mistakes.")


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class SheetDocument:
    """The build sheet for the winding shop as data. SI units; null: missing."""

    document: ClassVar[str] = "sheet"
    definitions: ClassVar[tuple[str, ...]] = ("measure", "unit", "limits", "cautions")

    design: str = json_key("Title of the design.")
    version: str = json_key("Version of aswound.")
    drawing: str = json_key("Number of the drawing; empty: none given.")
    revision: str = json_key("Its revision; empty: none given.")
    core: AssembledCore = json_key(optional=True)
    steps: Sequence[SheetStep] = json_key("Build steps in winding order.")
    wires: Sequence[SheetWire] = json_key("Wire to cut.")
    insulated_faces: Sequence[InsulatedFace] = json_key(
        "Where different circuits, or one and the core, face each other, as the design gives it: "
        "nothing is judged."
    )
    cuts: Sequence[SheetCut] = json_key("Wires to cut, in the order in which they go on.", optional=True)
    materials: Sequence[SheetMaterial] = json_key("Bill of material for one part.", optional=True)
    pins: Sequence[Pin] = json_key("Pins and what ends there.", optional=True)
    operations: Sequence[OperationItem] = json_key("Order of operations.", optional=True)
    note: str = json_key("Note of the design file for the shop; empty: none.", optional=True)
    readings: Sequence[SheetDocumentReading] = json_key("What to read on the way, in order.")
    cautions: Cautions = json_key()
