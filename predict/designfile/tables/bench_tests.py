"""``[[test]]`` of a design file → BenchTest: names, shorts, limits, and what each measure needs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from ...design import BenchTest
from ...errors import DesignError, Faults
from ...measures import MEASURES
from ...plain_text import FORMULA
from ...quantity import parse_relative
from ..grammar import (
    Key,
    ParsedTable,
    Parser,
    Table,
    entry_place,
    name,
    number_parser,
    one_of,
    parse_port,
    parse_table,
    port_or_none,
    quantity_parser,
    value_error,
    value_text,
)
from .joins import Terminals
from .ports import check_ports


def _ties(value: object) -> tuple[tuple[str, ...], ...]:
    """Groups of terminals that are wired together: [["P.start", "S.start"], ["core", "P.start"]]."""
    allowed = "a list of groups of terminals, such as [['P.start', 'S.start'], ['core', 'P.finish']]"
    if not isinstance(value, list):
        raise value_error(value, allowed)
    for group in value:
        if not isinstance(group, list) or len(group) < 2 or not all(isinstance(item, str) for item in group):
            raise value_error(group, allowed, "Each group names two terminals or more.")
    return tuple(tuple(item.strip() for item in group) for group in value)


def _name(value: object) -> str:
    """A name that may begin a cell of a spreadsheet: 'plan --csv' writes it there."""
    stated = name(value)
    if stated.startswith(FORMULA):
        hint = "It would begin a cell of 'plan --csv', and a spreadsheet would run it."
        raise value_error(value, f"a name with no leading {stated[0]!r}", hint)
    return stated


_SAID_OTHERWISE = {
    "leakage": "inductance, with short = [the other windings]",
    "leakage_inductance": "inductance, with short = [the other windings]",
    "magnetizing": "inductance",
    "inductivity": "inductance",
    "dcr": "resistance",
    "esr": "ac_resistance",
    "turns_ratio": "ratio",
    "turns": "ratio",
    "coupling": "inductance, open and with the others shorted: k follows from both",
    "impedance": "inductance, ac_resistance or phase",
    "q": "quality",
    "srf": "resonance",
}
"""Other words for a measure → what it is called here."""


def _measure(value: object) -> str:
    """The name of a measure."""
    try:
        return str(one_of(*MEASURES)(value))
    except DesignError as error:
        folded = (
            value.strip().casefold().replace(" ", "_").replace("-", "_") if isinstance(value, str) else ""
        )
        if folded not in _SAID_OTHERWISE:
            raise
        fault = replace(error.faults[0], hint=f"That is measure = {_SAID_OTHERWISE[folded]}.")
        raise DesignError(fault) from error


TEST_KEYS = {
    "name": Key(_name, required=True),
    "measure": Key(_measure, required=True),
    "drive": Key(parse_port, required=True),
    "short": Key(port_or_none, default=()),
    "sense": Key(port_or_none, default=()),
    "frequency": Key(quantity_parser("frequency", positive=True)),
    "level": Key(quantity_parser("voltage", positive=True), default=1.0),
    "equivalent": Key(one_of("series", "parallel")),
    "temperature": Key(quantity_parser("temperature")),
    "min": Key(lambda value: value),
    "max": Key(lambda value: value),
    "nominal": Key(lambda value: value),
    "tolerance": Key(lambda value: value),
    "bias": Key(quantity_parser("current", nonnegative=True), default=0.0),
    "tie": Key(_ties, default=()),
}


def _limit_parser(measure: str) -> Parser:
    """What ``min`` and ``max`` of a measure are."""
    stated = MEASURES[measure]
    if stated.dimension == "number":
        return number_parser(0.0)
    return quantity_parser(stated.dimension, nonnegative=not stated.signed)


# --- tests -----------------------------------------------------------------------------------------


def read_tests(tables: Sequence[Table], terminals: Terminals, faults: Faults) -> list[BenchTest]:
    """Tests of the design, in the file's order; those with faults are left out.

    Parameters
    ----------
    tables : Sequence[Table], the raw tables of the file
    terminals : Terminals, names that a test may use
    faults : Faults, receives every fault that is found

    Returns
    -------
    list[BenchTest], tests, SI, limits in rad for a phase
    """
    seen: set[str] = set()
    result = []
    for ordinal, table in enumerate(tables, start=1):
        before = len(faults.found)
        section = parse_table(table, TEST_KEYS, entry_place("test", table, ordinal), faults)
        stated = section["name"]
        if stated in seen:
            section.fault("name", f"{stated!r} a second time", "each name once")
        elif stated is not None:
            seen.add(stated)
        check_ports(section, terminals)
        limits = _check_measure(section)
        if len(faults.found) == before:
            result.append(section.made(BenchTest, minimum=limits["min"], maximum=limits["max"]))
    return result


def _check_measure(section: ParsedTable) -> dict[str, float | None]:
    """Check what the measure needs and what it cannot use; gives its limits in SI."""
    limits: dict[str, float | None] = {"min": None, "max": None}
    measure = section["measure"]
    if measure is None:
        return limits
    for key, reason in MEASURES[measure].unused.items():
        if section.given.get(key, []) != []:
            section.fault(
                key, value_text(section.given[key]), f"no {key} with measure = {measure!r}, which is {reason}"
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
        section.fault("min", value_text(section.given["min"]), f"at most max, {section.given['max']}")
    return limits


def _limit(section: ParsedTable, key: str, measure: str) -> float | None:
    """A value of what the test measures (SI); None if it is faulty."""
    before = len(section.faults.found)
    value: float | None = None
    with section.faults.collect(f"{section.place}: {key}"):
        value = _limit_parser(measure)(section.given[key])
    if len(section.faults.found) > before:
        section.bad.add(key)
    return value


def _about_nominal(section: ParsedTable, measure: str) -> dict[str, float | None]:
    """The limits nominal − below and nominal + above from ``nominal`` and ``tolerance``.

    ``tolerance`` is relative ("10 %") or a value of what is measured ("30 uH"), the same on both sides, or
    a list of two with the lower one first ("-5 %", "+10 %").
    """
    limits: dict[str, float | None] = {"min": None, "max": None}
    for key in ("min", "max"):
        if key in section:
            section.fault(key, f"{key} with nominal and tolerance", "min and max, or nominal with tolerance")
            return limits
    for key, needed in (("nominal", "tolerance"), ("tolerance", "nominal")):
        if key not in section:
            section.fault(needed, f"{needed} without {key}", f"nominal with tolerance, or neither: add {key}")
            return limits
    nominal = _limit(section, "nominal", measure)
    stated = section.given["tolerance"]
    sides = stated if isinstance(stated, list) else [stated, stated]
    allowed = 'a tolerance such as "10 %" or "30 uH", or two of them, below and above: ["-5 %", "+10 %"]'
    if len(sides) != 2:
        section.fault("tolerance", value_text(stated), allowed)
        return limits
    for key, sign, side in (("min", -1.0, sides[0]), ("max", 1.0, sides[1])):
        signed = isinstance(stated, list) and isinstance(side, str) and side.strip().startswith(("+", "-"))
        bare = side.strip()[1:].strip() if signed else side
        if signed and (side.strip()[0] == "-") != (sign < 0):
            hint = "The first is below the nominal value, the second above."
            section.fault("tolerance", value_text(stated), allowed, hint)
            return limits
        before = len(section.faults.found)
        with section.faults.collect(f"{section.place}: tolerance"):
            limits[key] = _side(bare, nominal or 0.0, sign, measure)
        if len(section.faults.found) > before:
            section.bad.add("tolerance")
            return limits
    return limits


def _side(stated: object, nominal: float, sign: float, measure: str) -> float:
    """One limit (SI), ``stated`` away from ``nominal``, below (sign −1) or above (+1)."""
    if isinstance(stated, str) and not stated.rstrip().endswith("%"):
        bound: float = _limit_parser(measure)(stated)
        return nominal + sign * abs(bound)
    if measure == "phase":
        raise value_error(stated, "a tolerance of a phase in degrees, such as '2 deg'")
    if isinstance(stated, int | float) and not isinstance(stated, bool) and abs(stated) > 1:
        hint = f'A plain number is a ratio: did you mean "{stated:g} %"?'
        raise value_error(stated, 'a tolerance such as "10 %" or "30 uH"', hint)
    return nominal + sign * abs(nominal) * parse_relative(stated, nonnegative=True)
