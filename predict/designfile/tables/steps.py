"""The build steps of a design file: which keys each kind may have, and which requests of one step are
refused."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass

from ...design import Dimensions, Winding
from ...errors import nearest
from ..grammar import (
    MOST_TURNS,
    Key,
    ParsedTable,
    Parser,
    Table,
    count,
    flag,
    name,
    names,
    number_parser,
    one_of,
    quantity_parser,
    text,
    value_error,
    value_text,
)

HALF_TURN_ON_LEGS = (
    "A half turn on an E core links only one outer leg: it acts as leakage and unbalances the legs. "
    "Give whole turns; bring both ends out on one side."
)
HALF_TURN_ON_RING = "On a toroid a wire passes through the hole a whole number of times; each pass is a turn."

_LENGTH = quantity_parser("length", nonnegative=True)
STYLE = one_of("back_and_forth", "same_side", "scramble")


def whole_turns(reason: str) -> Parser:
    """Parser of whole turns, at least 1; a fraction of a turn is refused, for the reason given."""

    def parse(value: object) -> int:
        fraction = isinstance(value, float) and not value.is_integer()
        if fraction or (isinstance(value, str) and re.fullmatch(r"\d+\s*(½|1/2|[.,]\d+)", value.strip())):
            raise value_error(value, "whole turns", reason)
        result: int = count(1, MOST_TURNS)(value)
        return result

    return parse


def _sector(value: object) -> float:
    """An angle above 0 and up to a full turn (rad)."""
    result: float = quantity_parser("angle", positive=True)(value)
    if result > math.tau * (1 + 1e-12):
        raise value_error(value, "an angle of at most 360 deg")
    return result


_WHERE = {"chamber": Key(count(1)), "leg": Key(count(1), default=1)}

STEP_KINDS: dict[str, dict[str, Key]] = {
    "wind": {
        "wind": Key(name, required=True),
        "turns": Key(whole_turns(HALF_TURN_ON_LEGS), required=True),
        "layers": Key(count(1)),
        "breadth": Key(quantity_parser("length", positive=True)),
        "from_end": Key(_LENGTH),
        "thickness": Key(quantity_parser("length", positive=True)),
        "margin": Key(_LENGTH),
        "interlayer": Key(_LENGTH),
        "style": Key(STYLE),
        "close": Key(flag, default=False),
        "beside": Key(flag, default=False),
        "with": Key(names, default=()),
        **_WHERE,
        "sector": Key(_sector),
        "from_angle": Key(quantity_parser("angle", nonnegative=True)),
    },
    "tape": {
        "tape": Key(quantity_parser("length", positive=True), required=True),
        "wraps": Key(count(0), required=True),
        "permittivity": Key(number_parser(1.0), default=3.3),
        **_WHERE,
    },
    "spacer": {
        "spacer": Key(quantity_parser("length", positive=True), required=True),
        "permittivity": Key(number_parser(1.0), default=1.0),
        **_WHERE,
    },
    "shield": {
        "shield": Key(quantity_parser("length", positive=True), required=True),
        "width": Key(quantity_parser("length", positive=True), required=True),
        "name": Key(name, required=True),
        "tied": Key(text, default=""),
        "closed": Key(flag, default=False),
        "metal": Key(one_of("copper", "aluminium"), default="copper"),
        **_WHERE,
    },
}
"""Keys of each kind of step, by the key that identifies the kind."""

KINDS = "one of wind, tape, spacer or shield"
_ALONG_THE_LEG = ("breadth", "from_end", "thickness", "margin", "beside", "close")
"""Keys of a step that have no meaning on a toroid, whose layers go all the way round or over a sector."""


def step_kind(step: Table) -> str:
    """Kind of a step, "wind", "tape", "spacer" or "shield", from its keys; "" if they do not decide."""
    told = [kind for kind in STEP_KINDS if kind in step]
    return told[0] if len(told) == 1 else ""


def step_place(step: Table, ordinal: int) -> str:
    """Where a step is, counted from 1 over all steps: "step 3 (tape)", "step 1 (wind P)".

    Parameters
    ----------
    step : Table, the raw table of the step
    ordinal : int, number of the step, count from 1
    """
    kind = step_kind(step)
    what = f"wind {step['wind']}" if kind == "wind" and isinstance(step["wind"], str) else kind
    return f"step {ordinal} ({what})" if what else f"step {ordinal}"


OUTER_LEGS = (
    "There is no model for windings on the outer legs of a three-limb core (three-phase, integrated chokes): "
    "their flux splits between the other two legs and the air, and this model knows one path round the core. "
    "Measure them on a sample; where the third leg carries no flux, take the two wound legs as a U core of "
    "their own dimensions."
)


@dataclass(frozen=True)
class Surroundings:
    """What a step is checked against.

    Attributes
    ----------
    dimensions : Dimensions or None, of the core; None if they could not be read
    chambers : int or None, number of chambers, count; None if the bobbin could not be read
    build : ParsedTable
    windings : Mapping[str, Winding or None], None for one with faults
    """

    dimensions: Dimensions | None
    chambers: int | None
    build: ParsedTable
    windings: Mapping[str, Winding | None]

    @property
    def toroid(self) -> bool:
        """Whether the core is a ring."""
        return self.dimensions is not None and self.dimensions.ring

    @property
    def flat(self) -> bool:
        """Whether layers lie flat."""
        return bool(self.build["direction"] == "up")


def check_place(step: ParsedTable, around: Surroundings) -> None:
    """Check that chamber, leg and sector of a step exist.

    Parameters
    ----------
    step : ParsedTable
    around : Surroundings
    """
    _check_chamber(step, around)
    _check_leg(step, around)
    if "wind" in step.given:
        _check_sector(step, around)


def _check_chamber(step: ParsedTable, around: Surroundings) -> None:
    if around.toroid:
        if step["chamber"] is not None:
            step.fault(
                "chamber", value_text(step.given["chamber"]), "no chamber on a toroid; a sector instead"
            )
    elif around.chambers is not None and "chamber" not in step.bad:
        winds = "wind" in step.given
        allowed = f"a chamber from 1 (at the lower flange) to {around.chambers}"
        if step["chamber"] is not None and step["chamber"] > around.chambers:
            step.fault("chamber", str(step["chamber"]), allowed, "[bobbin] chambers says how many there are.")
        elif step["chamber"] is None and around.chambers > 1 and (winds or around.flat):
            reason = "" if winds else "Flat chambers lie over each other: nothing covers all of them."
            step.fault("chamber", "nothing", allowed, reason)


def _check_leg(step: ParsedTable, around: Surroundings) -> None:
    if step["leg"] is None or "leg" in step.bad or step["leg"] <= 1:
        return
    if around.dimensions is None:
        return
    legs = around.dimensions.wound_legs
    if legs == 1:
        hint = OUTER_LEGS if around.dimensions.free_outer_legs else ""
        step.fault("leg", str(step["leg"]), "1: only a U core has two legs that are wound", hint)
    elif step["leg"] > legs:
        step.fault("leg", str(step["leg"]), "1 or 2, the legs of a U core")


def _check_sector(step: ParsedTable, around: Surroundings) -> None:
    if around.dimensions is not None and not around.toroid:
        for key in ("sector", "from_angle"):
            if step[key] is not None:
                step.fault(key, value_text(step.given[key]), "a sector only on a toroid")
    elif step["from_angle"] is not None and step["sector"] is None and "sector" not in step.bad:
        step.fault("from_angle", value_text(step.given["from_angle"]), "from_angle only with a sector")


def check_wind(step: ParsedTable, before: ParsedTable | None, around: Surroundings) -> None:
    """Check a wind step against its windings and the step before it.

    Parameters
    ----------
    step : ParsedTable
    before : ParsedTable or None, the step before; None for the first
    around : Surroundings
    """
    windings = around.windings
    known = ", ".join(windings) or "none is defined"
    for key, stated in [("wind", step["wind"]), *[("with", companion) for companion in step["with"] or ()]]:
        if stated is not None and stated not in windings:
            step.fault(key, f"{stated!r}", f"the name of a winding: {known}", nearest(stated, windings))
    if step["wind"] in (step["with"] or ()):
        step.fault("with", f"{step['wind']!r}, the winding of the step itself", "other windings")
    if "thickness" in step and "breadth" not in step:
        step.fault(
            "thickness",
            "thickness without breadth",
            "both (a block of uniform current density), or breadth alone",
        )
    if step["layers"] and step["turns"] and step["layers"] > step["turns"]:
        step.fault(
            "layers", f"{step['layers']} layers of {step['turns']} turns", "at most one layer per turn"
        )
    if step["close"] and (step["style"] or around.build["style"]) == "scramble":
        step.fault("close", "true", "no close with the style scramble, whose turns lie in no order")
    if around.toroid:
        for key in _ALONG_THE_LEG:
            if step[key]:
                step.fault(key, value_text(step.given[key]), "not on a toroid: its layers go round the ring")
    elif step["beside"]:
        _check_beside(step, before)
    _check_flat_conductors(step, around)


def _check_beside(step: ParsedTable, before: ParsedTable | None) -> None:
    if before is None or "wind" not in before.given:
        step.fault("beside", "true", "true only right after a step that winds")
        return
    for key in ("chamber", "leg"):
        if step[key] != before[key] and not {key} & (step.bad | before.bad):
            step.fault(
                "beside", f"true, and {key} {step[key]}", f"beside only in the {key} of the step before"
            )


def _check_flat_conductors(step: ParsedTable, around: Surroundings) -> None:
    """Foils and tracks: not wound with others, not touching, not scramble wound."""
    named = (step["wind"], *(step["with"] or ()))
    kinds = {winding.wire.kind for key in named if (winding := around.windings.get(key)) is not None}
    if not kinds & {"foil", "track"}:
        return
    what = "a foil" if "foil" in kinds else "a board's track"
    if around.toroid:
        step.fault("wind", f"{what} on a toroid", "round wire or litz: a flat conductor does not fan out")
    if step["with"] and kinds != {"track"}:
        step.fault(
            "with",
            f"{what} wound together with others",
            "round wires or litz, or tracks alone, in such a group",
            "A foil fills the whole breadth of its layer: nothing fits beside it. Give each its own step.",
        )
    if step["style"] == "scramble":
        step.fault("style", "'scramble'", f"an orderly style: {what} lies in layers")
    if "foil" not in kinds:
        return
    interlayer = around.build["interlayer"] if step["interlayer"] is None else step["interlayer"]
    several = step["turns"] is not None and step["turns"] > 1
    if (
        several
        and not interlayer
        and step["thickness"] is None
        and not {"interlayer"} & (step.bad | around.build.bad)
    ):
        step.fault(
            "interlayer",
            f"{step['turns']} turns of foil without insulation between them",
            "an interlayer, here or in build",
            "The turns of a bare foil would touch.",
        )
    if several and step["layers"] not in (None, step["turns"]):
        step.fault(
            "layers",
            f"{step['layers']} layers of {step['turns']} turns of foil",
            "one layer per turn of a foil",
        )


def check_shield(step: ParsedTable, seen: set[str], around: Surroundings) -> None:
    """Check that a shield has a name of its own, and is tied to something that exists.

    Parameters
    ----------
    step : ParsedTable
    seen : set[str], names of the shields before it
    around : Surroundings
    """
    stated = step["name"]
    if stated == "core" or stated in around.windings or stated in seen:
        step.fault(
            "name",
            f"{stated!r} a second time" if stated != "core" else "'core'",
            "a name that no winding, no join, no other shield and not the core has",
        )
    elif stated is not None:
        seen.add(stated)
    if around.toroid:
        step.fault("shield", "a shield on a toroid", "shields around a leg only; leave it out")
    tied = step["tied"]
    ends = [f"{winding}.{end}" for winding in around.windings for end in ("start", "finish")]
    if tied and tied != "core" and tied not in ends:
        step.fault(
            "tied", repr(tied), "'core', or the end of a winding: " + ", ".join(ends), nearest(tied, ends)
        )
