"""``[bench]``, ``[spread]``, ``[operation]`` and ``[calibration]`` of a design file.

In the file a tolerance is a ± bound and an uncertainty is expanded, both k = 2; ``Spread`` holds standard
deviations, half of them.
"""

from __future__ import annotations

from dataclasses import fields
from types import MappingProxyType

from ...design import Bench, Core, OwnFactor, Spread
from ...errors import Faults
from ...production import REPLACES, Factor
from ..grammar import (
    Key,
    Table,
    Tolerance,
    as_tables,
    key_place,
    number_parser,
    one_of,
    parse_table,
    quantity_parser,
    relative,
    relative_or_length,
    text,
    tolerance,
    value_error,
    value_text,
)
from .core import relative_to

_DEFAULT = Bench()
_AT_LEAST_ZERO = {
    dimension: quantity_parser(dimension, nonnegative=True)
    for dimension in ("inductance", "resistance", "capacitance")
}
_LINK_BOUND = tolerance(relative())

BENCH_KEYS = {
    "equivalent": Key(one_of("series", "parallel"), default=_DEFAULT.equivalent),
    "temperature": Key(quantity_parser("temperature"), default=_DEFAULT.temperature),
    "accuracy": Key(relative(), default=_DEFAULT.accuracy),
    "floor_resistance": Key(_AT_LEAST_ZERO["resistance"], default=_DEFAULT.floor_resistance),
    "floor_inductance": Key(_AT_LEAST_ZERO["inductance"], default=_DEFAULT.floor_inductance),
    "floor_capacitance": Key(_AT_LEAST_ZERO["capacitance"], default=_DEFAULT.floor_capacitance),
    "resolution": Key(relative(), default=_DEFAULT.resolution),
    "source_resistance": Key(_AT_LEAST_ZERO["resistance"], default=_DEFAULT.source_resistance),
    "short_inductance": Key(_AT_LEAST_ZERO["inductance"], default=_DEFAULT.short_inductance),
    "short_inductance_tolerance": Key(_LINK_BOUND, default=_DEFAULT.short_inductance_tolerance),
    "short_resistance": Key(_AT_LEAST_ZERO["resistance"], default=_DEFAULT.short_resistance),
    "short_resistance_tolerance": Key(_LINK_BOUND, default=_DEFAULT.short_resistance_tolerance),
    "lead_inductance": Key(_AT_LEAST_ZERO["inductance"], default=_DEFAULT.lead_inductance),
    "lead_inductance_tolerance": Key(_LINK_BOUND, default=_DEFAULT.lead_inductance_tolerance),
    "lead_resistance": Key(_AT_LEAST_ZERO["resistance"], default=_DEFAULT.lead_resistance),
    "lead_resistance_tolerance": Key(_LINK_BOUND, default=_DEFAULT.lead_resistance_tolerance),
}
"""Keys of ``[bench]``; ``resolution`` is relative to the reading. Defaults: documented in the guide."""

WIDEST_ROOM = 50.0
"""± bound of the temperature (K): beyond it, builds would leave the range of the models
(judged)."""


def _room_difference(value: object) -> float:
    """A temperature difference of at most ``WIDEST_ROOM``."""
    difference: float = quantity_parser("temperature_difference", nonnegative=True)(value)
    if difference > WIDEST_ROOM:
        raise value_error(value, f"at most {WIDEST_ROOM:g} K")
    return difference


_GAPS = ("gap", "face_gap")
_OWN_DIMENSION = {
    "centring": quantity_parser("length", nonnegative=True),
    "margin": quantity_parser("length", nonnegative=True),
    "width": quantity_parser("length", nonnegative=True),
    "temperature": _room_difference,
}
SPREAD_KEYS = {
    item.name: Key(
        tolerance(relative_or_length if item.name in _GAPS else _OWN_DIMENSION.get(item.name, relative()))
    )
    for item in fields(Spread)
}
OPERATION_KEYS = {"frequency": Key(quantity_parser("frequency", positive=True))}
CALIBRATION_KEYS = {key: Key(lambda value: value) for key in (*REPLACES, "own")}
_FACTOR_KEYS = {
    "factor": Key(number_parser(1e-3, 1e3), required=True),
    "uncertainty": Key(relative(), required=True),
}
_OWN_KEYS = {"of": Key(text, required=True), **_FACTOR_KEYS}


def read_bench(table: Table, faults: Faults) -> Bench | None:
    """Bench of the table ``[bench]``.

    Parameters
    ----------
    table : Table, the raw table of the file
    faults : Faults, receives every fault that is found

    Returns
    -------
    Bench or None
        Bench, SI, with accuracy terms and tolerances as ± bounds (k = 2); None if there are faults.
    """
    before = len(faults.found)
    section = parse_table(table, BENCH_KEYS, "bench", faults)
    return Bench(**section.values) if len(faults.found) == before else None


def read_spread(
    table: Table, core: Core | None, faults: Faults, stated: Table = MappingProxyType({})
) -> Spread | None:
    """Spread of the table ``[spread]``: standard deviations, half of the file's ± bounds.

    A bound of ``gap`` or ``face_gap`` in length becomes relative to that of the core.

    Parameters
    ----------
    table : Table, the raw table of the file
    core : Core or None, the core, calibrated if ``al`` is given; None if it could not be read
    faults : Faults, receives every fault that is found
    stated : Table, optional, the table ``[core]``, whose own tolerances must not contradict this one

    Returns
    -------
    Spread or None, standard deviations; None if there are faults
    """
    before = len(faults.found)
    section = parse_table(table, SPREAD_KEYS, "spread", faults)
    for key in ("al", "gap", "mu_i"):
        core_tolerance = stated.get(f"{key}_tolerance")
        if core_tolerance is not None and key in table and core_tolerance != table[key]:
            found = f"{value_text(table[key])}, and core.{key}_tolerance = {value_text(core_tolerance)}"
            section.fault(key, found, f"the tolerance once: as core.{key}_tolerance, or here")
    deviations: dict[str, float] = {}
    for key, bound in section.values.items():
        if isinstance(bound, Tolerance):
            if core is not None and not (key == "face_gap" and _held_by_the_gap(core)):
                nominal = float(getattr(core, key))
                deviations[key] = relative_to(bound, nominal, key_place("spread", key), key, faults) / 2
        elif bound is not None:
            deviations[key] = bound / 2
    return Spread(**deviations) if len(faults.found) == before else None


def _held_by_the_gap(core: Core) -> bool:
    """Whether the ground gap includes the part of the faces, so that they have no gap of their own."""
    return float(core.face_gap) == 0.0 and float(core.gap) > 0.0


def spread_cautions(table: Table, core: Core) -> list[str]:
    """Entries of ``[spread]`` that have no effect on this core.

    Parameters
    ----------
    table : Table, the table ``[spread]``
    core : Core, the core
    """
    if "face_gap" not in table or not _held_by_the_gap(core):
        return []
    return [
        "spread.face_gap has no effect: the gap includes the faces' part, and face_gap is 0. State "
        "core.face_gap if the faces open by more than that."
    ]


def read_operation(table: Table, faults: Faults) -> float | None:
    """Working frequency of the table ``[operation]``.

    Parameters
    ----------
    table : Table, the raw table of the file
    faults : Faults, receives every fault that is found

    Returns
    -------
    float or None, frequency, Hz; None if none is stated
    """
    frequency: float | None = parse_table(table, OPERATION_KEYS, "operation", faults)["frequency"]
    return frequency


# --- calibration -----------------------------------------------------------------------------------


def read_calibration(table: Table, faults: Faults) -> tuple[Factor, ...]:
    """Factors of the table ``[calibration]``, each { factor, uncertainty }.

    The uncertainty in the file is relative and expanded (k = 2).

    Parameters
    ----------
    table : Table, the raw table of the file
    faults : Faults, receives every fault that is found
    """
    section = parse_table(table, CALIBRATION_KEYS, "calibration", faults)
    factors = []
    for key in REPLACES:
        if key not in section:
            continue
        place = key_place("calibration", key)
        if not isinstance(table[key], dict):
            faults.add(place, value_text(table[key]), "a table { factor, uncertainty }")
            continue
        entry = parse_table(table[key], _FACTOR_KEYS, place, faults)
        if entry["factor"] is not None and entry["uncertainty"] is not None:
            factors.append(Factor(key, entry["factor"], entry["uncertainty"] / 2))
    return tuple(factors)


def read_own(table: Table, faults: Faults) -> tuple[OwnFactor, ...]:
    """``own`` of ``[calibration]``: factors of pairs of windings and single readings, each { of, factor,
    uncertainty }.

    Parameters
    ----------
    table : Table, the raw table of the file
    faults : Faults, receives every fault that is found
    """
    factors = []
    for place, entry in enumerate(as_tables(table.get("own", []), "calibration.own", faults), 1):
        section = parse_table(entry, _OWN_KEYS, f"calibration.own {place}", faults)
        of, factor, bound = (section[key] for key in ("of", "factor", "uncertainty"))
        if of is not None and factor is not None and bound is not None:
            factors.append(OwnFactor(of, factor, bound / 2))
    return tuple(factors)
