"""``[[test]]`` of a design file → BenchTest: names, shorts, limits, and what each measure needs."""

from __future__ import annotations

from collections.abc import Sequence

from ...design import CORE, BenchTest
from ...errors import Faults, nearest
from ...measures import MEASURES
from ...quantity import parse_relative
from ..grammar import (
    Key,
    Parser,
    Section,
    Table,
    entry_place,
    name,
    number,
    one_of,
    port,
    port_or_none,
    quantity,
    read_section,
    refuse,
    show,
)
from .joins import Terminals, check_names, check_once


def _ties(value: object) -> tuple[tuple[str, ...], ...]:
    """Groups of terminals that are wired together: [["P.start", "S.start"], ["core", "P.start"]]."""
    allowed = "a list of groups of terminals, such as [['P.start', 'S.start'], ['core', 'P.finish']]"
    if not isinstance(value, list):
        raise refuse(value, allowed)
    for group in value:
        if not isinstance(group, list) or len(group) < 2 or not all(isinstance(item, str) for item in group):
            raise refuse(group, allowed, "Each group names two terminals or more.")
    return tuple(tuple(item.strip() for item in group) for group in value)


TEST_KEYS = {
    "name": Key(name, required=True),
    "measure": Key(
        one_of(*MEASURES),
        required=True,
    ),
    "drive": Key(port, required=True),
    "short": Key(port_or_none, default=()),
    "sense": Key(port_or_none, default=()),
    "frequency": Key(quantity("frequency", positive=True)),
    "level": Key(quantity("voltage", positive=True), default=1.0),
    "equivalent": Key(one_of("series", "parallel")),
    "temperature": Key(quantity("temperature")),
    "min": Key(lambda value: value),
    "max": Key(lambda value: value),
    "nominal": Key(lambda value: value),
    "tolerance": Key(lambda value: value),
    "bias": Key(quantity("current", nonnegative=True), default=0.0),
    "tie": Key(_ties, default=()),
}


def _limit_parser(measure: str) -> Parser:
    """What ``min`` and ``max`` of a measure are."""
    stated = MEASURES[measure]
    if stated.dimension == "number":
        return number(0.0)
    return quantity(stated.dimension, nonnegative=not stated.signed)


# --- tests -----------------------------------------------------------------------------------------


def read_tests(tables: Sequence[Table], terminals: Terminals, faults: Faults) -> list[BenchTest]:
    """The tests (SI, limits in rad for a phase) in the file's order, those without faults; the faults are
    noted."""
    seen: set[str] = set()
    result = []
    for ordinal, table in enumerate(tables, start=1):
        before = len(faults.found)
        section = read_section(table, TEST_KEYS, entry_place("test", table, ordinal), faults)
        stated = section["name"]
        if stated in seen:
            section.fault("name", f"{stated!r} a second time", "each name once")
        elif stated is not None:
            seen.add(stated)
        _check_ports(section, terminals)
        limits = _check_measure(section)
        if len(faults.found) == before:
            result.append(
                BenchTest(
                    name=section["name"],
                    measure=section["measure"],
                    drive=section["drive"],
                    short=section["short"],
                    sense=section["sense"],
                    frequency=section["frequency"],
                    level=section["level"],
                    equivalent=section["equivalent"],
                    temperature=section["temperature"],
                    minimum=limits["min"],
                    maximum=limits["max"],
                    bias=section["bias"],
                    tie=section["tie"],
                )
            )
    return result


def _check_measure(section: Section) -> dict[str, float | None]:
    """What the measure needs and has no use for; its limits in SI."""
    limits: dict[str, float | None] = {"min": None, "max": None}
    measure = section["measure"]
    if measure is None:
        return limits
    for key, reason in MEASURES[measure].unused.items():
        if section.given.get(key, []) != []:
            section.fault(
                key, show(section.given[key]), f"no {key} with measure = {measure!r}, which is {reason}"
            )
    if MEASURES[measure].alternating and "frequency" not in section:
        section.fault(
            "frequency",
            "nothing",
            "a frequency with its unit, such as '10 kHz', for every measure but resistance and resonance",
        )
    if MEASURES[measure].needs_sense and not section["sense"] and "sense" not in section.bad:
        section.fault(
            "sense", "nothing", f"the winding where the voltage is taken, for measure = {measure!r}"
        )
    for key in limits:
        if key in section:
            limits[key] = _limit(section, key, measure)
    if "nominal" in section or "tolerance" in section:
        return _about_nominal(section, measure)
    low, high = limits["min"], limits["max"]
    if low is not None and high is not None and low > high:
        section.fault("min", show(section.given["min"]), f"at most max, {section.given['max']}")
    return limits


def _limit(section: Section, key: str, measure: str) -> float | None:
    """A value of what the test measures (SI); None with the fault noted."""
    before = len(section.faults.found)
    value: float | None = None
    with section.faults.collect(f"{section.place}: {key}"):
        value = _limit_parser(measure)(section.given[key])
    if len(section.faults.found) > before:
        section.bad.add(key)
    return value


def _about_nominal(section: Section, measure: str) -> dict[str, float | None]:
    """The limits nominal − below and nominal + above of ``nominal`` and ``tolerance``.

    ``tolerance`` is relative ("10 %") or a value of what is measured ("30 uH"), the same on both sides, or a
    list of two, the lower one below ("-5 %", "+10 %").
    """
    limits: dict[str, float | None] = {"min": None, "max": None}
    for key in ("min", "max"):
        if key in section:
            section.fault(
                key, f"{key} beside nominal and tolerance", "min and max, or nominal with tolerance"
            )
            return limits
    for key, other in (("nominal", "tolerance"), ("tolerance", "nominal")):
        if key not in section:
            section.fault(other, f"{other} without {key}", f"nominal with tolerance, or neither: add {key}")
            return limits
    nominal = _limit(section, "nominal", measure)
    stated = section.given["tolerance"]
    sides = stated if isinstance(stated, list) else [stated, stated]
    allowed = 'a tolerance such as "10 %" or "30 uH", or two of them, below and above: ["-5 %", "+10 %"]'
    if len(sides) != 2:
        section.fault("tolerance", show(stated), allowed)
        return limits
    for key, sign, side in (("min", -1.0, sides[0]), ("max", 1.0, sides[1])):
        signed = isinstance(stated, list) and isinstance(side, str) and side.strip().startswith(("+", "-"))
        bare = side.strip()[1:].strip() if signed else side
        if signed and (side.strip()[0] == "-") != (sign < 0):
            hint = "The first is below the nominal value, the second above."
            section.fault("tolerance", show(stated), allowed, hint)
            return limits
        before = len(section.faults.found)
        with section.faults.collect(f"{section.place}: tolerance"):
            limits[key] = _side(bare, nominal or 0.0, sign, measure)
        if len(section.faults.found) > before:
            section.bad.add("tolerance")
            return limits
    return limits


def _side(stated: object, nominal: float, sign: float, measure: str) -> float:
    """One limit (SI) at ``stated`` from ``nominal``, below (sign −1) or above (+1)."""
    if isinstance(stated, str) and not stated.rstrip().endswith("%"):
        bound: float = _limit_parser(measure)(stated)
        return nominal + sign * abs(bound)
    if measure == "phase":
        raise refuse(stated, "a tolerance of a phase in degrees, such as '2 deg'")
    return nominal + sign * abs(nominal) * parse_relative(stated, nonnegative=True)


def _check_ties(section: Section, terminals: Terminals) -> None:
    """Every terminal of a tie is an end of a winding, the core or a shield."""
    ends = [f"{name}.{end}" for name in terminals.windings for end in ("start", "finish")]
    known = (*ends, CORE, *terminals.shields)
    for end in dict.fromkeys(item for group in section["tie"] or () for item in group):
        if end not in known:
            section.fault("tie", repr(end), f"one of {', '.join(known)}", nearest(end, known))


def _check_plates(section: Section, terminals: Terminals) -> None:
    """A capacitance between two conductors: different ones, and nothing else shorted that is one of them."""
    plates = []
    for key in ("drive", "sense"):
        named = {member.name for member in section[key] or ()}
        windings = [member for member in section[key] or () if terminals.known((member,))]
        plates.append(set(terminals.windings_of(tuple(windings))) | (named & {CORE, *terminals.shields}))
    if both := plates[0] & plates[1]:
        section.fault(
            "sense", f"{', '.join(sorted(both))}, which drive drives", "another winding, shield or 'core'"
        )
    shorted = (
        set(terminals.windings_of(section["short"] or ()))
        if terminals.known(section["short"] or ())
        else set()
    )
    if both := shorted & (plates[0] | plates[1]):
        section.fault(
            "short",
            f"{', '.join(sorted(both))}, which this test shorts on itself anyway",
            "other windings, or none",
        )


def _check_ports(section: Section, terminals: Terminals) -> None:
    """Names are known, nothing is driven and shorted at once, and what is sensed is open and not the
    drive."""
    between = section["measure"] == "capacitance" and bool(section["sense"])
    _check_ties(section, terminals)
    for key in ("drive", "short", "sense"):
        port = section[key] or ()
        if between and key != "short":
            port = tuple(member for member in port if member.name not in (CORE, *terminals.shields))
        check_names(section, key, port, terminals.declared)
        if terminals.known(port):
            check_once(section, key, port, terminals)
    if between:
        _check_plates(section, terminals)
        return
    if any(
        section.bad & {key} or not terminals.known(section[key] or ()) for key in ("drive", "short", "sense")
    ):
        return
    driven, shorted, sensed = (
        set(terminals.windings_of(section[key] or ())) for key in ("drive", "short", "sense")
    )
    if both := driven & shorted:
        section.fault(
            "short", f"{', '.join(sorted(both))}, which drive drives", "windings that are not driven"
        )
    if both := sensed & shorted:
        section.fault("sense", f"{', '.join(sorted(both))}, which short shorts", "an open winding")
    if sensed and sensed == driven:
        section.fault("sense", show(section.given["sense"]), "another winding than the driven one")
