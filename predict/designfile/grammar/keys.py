"""Reading one table of a design file: a table of keys, a parser for each, and every fault noted.

A section of the file is declared as ``{key: Key(parser, required, default)}``. ``parse_table`` runs the
parsers, refuses unknown keys with the nearest known one, and notes what is missing. A parser takes the raw
TOML value and returns SI, or raises an AswoundError whose Fault has no place yet; the reader files it
under the key.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, fields
from typing import Any, TypeAlias, TypeVar, cast

from ...errors import DesignError, Fault, Faults, nearest

Table: TypeAlias = Mapping[str, Any]
"""One raw table of a TOML file."""
Parser: TypeAlias = Callable[[Any], Any]
Made = TypeVar("Made")

LONG = 10**18
"""Longer integers are not printed (judged by what a reader can take in)."""
MOST_TABLES = 200
"""Most windings, joins or tests of a design (bounds work: matrices rise with their square)."""


@dataclass(frozen=True)
class Key:
    """One key of a section.

    Attributes
    ----------
    parse : Parser, its parser
    required : bool, whether it must be present
    default : Any, its value if it is absent
    """

    parse: Parser
    required: bool = False
    default: Any = None


@dataclass(frozen=True)
class Tolerance:
    """A ± bound (k = 2).

    Attributes
    ----------
    bound : float, the bound, relative, or in m if ``is_length``
    is_length : bool, whether it is a length
    """

    bound: float
    is_length: bool = False


@dataclass
class ParsedTable:
    """A table as read.

    Attributes
    ----------
    place : str, where the table is, for faults
    given : Table, the raw table
    values : dict[str, Any], value of every declared key; the default if it is absent or faulty
    faults : Faults, receives the faults
    bad : set[str], faulty keys
    """

    place: str
    given: Table
    values: dict[str, Any]
    faults: Faults
    bad: set[str] = field(default_factory=set)

    def __getitem__(self, key: str) -> Any:
        return self.values[key]

    def __contains__(self, key: str) -> bool:
        """Whether the file states ``key`` (well or badly)."""
        return key in self.given

    def made(self, kind: type[Made], **derived: Any) -> Made:
        """A dataclass whose fields hold what the keys of their names say.

        Parameters
        ----------
        kind : type, the dataclass
        derived : Any, fields that no key gives as it is written, SI
        """
        same = {item.name: self[item.name] for item in fields(cast(Any, kind)) if item.name in self.values}
        return kind(**{**same, **derived})

    def fault(self, key: str, found: str, allowed: str, hint: str = "") -> None:
        """Note a fault of a key and count the key as faulty.

        Parameters
        ----------
        key : str, the key
        found : str, what was found
        allowed : str, what is allowed
        hint : str, optional, what may have been meant
        """
        self.bad.add(key)
        self.faults.add(key_place(self.place, key), found, allowed, hint)


def key_place(place: str, key: str) -> str:
    """Where a key is, as a user looks for it: ``core.gap``, ``winding P: wire.diameter``, ``step 3 (tape):
    wraps``.

    Parameters
    ----------
    place : str, where the table is
    key : str, the key
    """
    if not place:
        return key
    return f"{place}: {key}" if " " in place and ": " not in place else f"{place}.{key}"


def entry_place(kind: str, table: Table, ordinal: int) -> str:
    """Where an entry is: "test L_P", or "test 2" if the name cannot be used.

    Parameters
    ----------
    kind : str, "test", "winding" or "join"
    table : Table, the raw table of the file
    ordinal : int, number of the entry, count from 1
    """
    stated = table.get("name")
    return f"{kind} {stated}" if isinstance(stated, str) and stated.strip() else f"{kind} {ordinal}"


def value_text(value: object) -> str:
    """A raw TOML value in a message: short, on one line."""
    if isinstance(value, dict):
        return "a table" if value else "an empty table"
    if isinstance(value, list):
        text = "[" + ", ".join(value_text(item) for item in value) + "]"
    elif isinstance(value, bool):
        return "true" if value else "false"
    elif isinstance(value, int) and abs(value) > LONG:
        return "an integer beyond 1e18"
    else:
        text = repr(value) if isinstance(value, str | int | float) else str(value)
    return text if len(text) <= 80 else text[:77] + "..."


def value_error(value: object, allowed: str, hint: str = "") -> DesignError:
    """The error of a parser: ``value`` is not ``allowed``. Whoever collects it fills in the place.

    Parameters
    ----------
    value : object, the raw TOML value
    allowed : str, what is allowed
    hint : str, optional, what may have been meant
    """
    return DesignError(Fault("", value_text(value), allowed, hint))


def parse_table(
    table: Table, keys: Mapping[str, Key], place: str, faults: Faults, meant: Mapping[str, str] | None = None
) -> ParsedTable:
    """Parse a raw table by its keys; faults (unknown, missing, bad) are noted, never raised.

    Parameters
    ----------
    table : Table, the raw table of the file
    keys : Mapping[str, Key], that the table may have
    place : str, where the table is, for faults
    faults : Faults, receives every fault that is found
    meant : Mapping[str, str] or None, optional
        What to say of unknown keys that people write, in place of the nearest known one.
    """
    section = ParsedTable(place, table, {name: key.default for name, key in keys.items()}, faults)
    known = ", ".join(keys)
    for name in table:
        if name not in keys:
            hint = (meant or {}).get(name) or nearest(name, keys)
            section.fault(name, "an unknown key", f"one of {known}", hint)
    for name, key in keys.items():
        if name in table:
            before = len(faults.found)
            with faults.collect(key_place(place, name)):
                section.values[name] = key.parse(table[name])
            if len(faults.found) > before:
                section.bad.add(name)
        elif key.required:
            hint = f"'aswound keys {name}' shows it with an example."
            section.fault(name, "nothing", f"the key {name}, which is required", hint)
    return section


def as_table(value: object, place: str, faults: Faults) -> Table:
    """The value if it is a table; else a fault and an empty table.

    Parameters
    ----------
    value : object, the raw TOML value
    place : str, where the table is, for faults
    faults : Faults, receives every fault that is found
    """
    if isinstance(value, dict):
        return value
    faults.add(place, value_text(value), f"a table, written [{place}]")
    return {}


def as_tables(value: object, name: str, faults: Faults) -> list[Table]:
    """The value if it is an array of tables; else a fault and those entries that are tables; one table alone
    is read on, so that what refers to it is not reported as well.

    Parameters
    ----------
    value : object, the raw TOML value
    name : str, of the table, for faults
    faults : Faults, receives every fault that is found
    """
    if isinstance(value, list):
        for number, item in enumerate(value, start=1):
            if not isinstance(item, dict):
                faults.add(f"{name} {number}", value_text(item), "a table { key = value, … }")
        if len(value) > MOST_TABLES:
            faults.add(name, f"{len(value)} tables [[{name}]]", f"at most {MOST_TABLES}")
            return []
        return [item for item in value if isinstance(item, dict)]
    if isinstance(value, dict):
        hint = f"Write [[{name}]] in double brackets, also where there is only one."
        faults.add(name, f"one table, [{name}]", f"an array of tables, each written [[{name}]]", hint)
        return [value] if value else []
    else:
        faults.add(name, value_text(value), f"an array of tables, each written [[{name}]]")
    return []
