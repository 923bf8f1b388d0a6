"""Rows of a catalogue file: the text of a TOML file → frozen records, with every fault reported at once.

A file holds any of three tables:

    [[core]]      name, family, dimensions = { form, … }, source; optional from_memory and
                  published = { area, length, volume, constant }
    [[wire]]      kind = "round", diameter, source, and for each grade grade_1 = { increase, maximum }:
                  the standard's least increase over the bare wire and its greatest overall diameter
    [[material]]  name, initial_permeability, frequencies, real_ratio, loss_tangent, source and more: module
                  ``materials``

Every value with a dimension is a string with its unit ("12.2 mm", "97.1 mm2"); inside, everything is SI.
"""

from __future__ import annotations

import math
import re
import tomllib
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import MISSING, dataclass, fields
from types import MappingProxyType
from typing import Any, TypeVar

from ..cores import effective_parameters
from ..design import FORMS, Dimensions, Material
from ..errors import CatalogueError, DesignError, Faults
from ..plain_text import toml_fault
from ..quantity import parse_count, parse_quantity
from .cells import Row, cell_text, refuse_unknown
from .materials import read_material_row

GRADES = (1, 2, 3)
"""Grades of insulation of IEC 60317-0-1."""
BUILDS = ("1B", "2B", "triple")
"""Named builds beside the grades: with a bonding layer on grade 1 or 2, and triple-insulated (bonding
layers as IEC 60317-0-1 names them, from memory)."""

Record = TypeVar("Record")


@dataclass(frozen=True, kw_only=True)
class CoreRecord:
    """One core set.

    The published effective parameters are the maker's or the standard's. They are kept apart from the
    dimensions, so that each checks the other.

    Attributes
    ----------
    name : str, of the core
    family : str, of cores
    dimensions : Dimensions, dimensions, m
    published_area : float or None, effective area Ae, m²; None if not stated
    published_length : float or None, effective length le, m; None if not stated
    published_volume : float or None, effective volume, m³; None if not stated
    source : str, where the row comes from
    from_memory : bool, whether nobody has checked the row against its source
    published_constant : float or None, core constant C1 = le/Ae, 1/m; None if not stated
    """

    name: str
    family: str
    dimensions: Dimensions
    published_area: float | None
    published_length: float | None
    published_volume: float | None
    source: str
    from_memory: bool
    published_constant: float | None = None


@dataclass(frozen=True, kw_only=True)
class WireRecord:
    """One enamelled round wire.

    Attributes
    ----------
    name : str, of the wire
    diameter : float, bare diameter, m
    overall : Mapping[int, tuple[float, float]], grade → least and greatest overall diameter, m
    source : str, where the row comes from
    derived : bool
        Whether it is no row of the standard's table but follows from its rule for diameters in between.
    """

    name: str
    diameter: float
    overall: Mapping[int, tuple[float, float]]
    source: str
    derived: bool = False


@dataclass(frozen=True)
class CatalogueRows:
    """All rows of one file, in its order.

    Attributes
    ----------
    cores : tuple[CoreRecord, ...]
    wires : tuple[WireRecord, ...]
    materials : tuple[Material, ...]
    """

    cores: tuple[CoreRecord, ...]
    wires: tuple[WireRecord, ...]
    materials: tuple[Material, ...]


def folded(name: str) -> str:
    """A name without spaces, dashes, underscores and case, for matching."""
    return re.sub(r"[\s_\-‐‑–]+", "", name).casefold()


class RowsAtNeed(Mapping[str, Record]):
    """Rows of one kind by name, in the file's order, each read and checked when it is first asked for.

    A design needs one core out of some hundred. CatalogueError, as from ``read_rows``, is raised then.
    """

    def __init__(self, file: str, kind: str, rows: Sequence[Row]) -> None:
        self._file, self._kind = file, kind
        self._rows = {str(row["name"]): row for row in rows}
        self._read: dict[str, Record] = {}

    def replaced(self, records: Mapping[str, Record]) -> RowsAtNeed[Record]:
        """The same with other records in place of the rows of their names, or after them all.

        Parameters
        ----------
        records : Mapping[str, Record]
        """
        both = RowsAtNeed[Record](self._file, self._kind, ())
        both._rows = {**self._rows, **{name: {} for name in records if name not in self._rows}}
        both._read = {**self._read, **records}
        return both

    def __getitem__(self, name: str) -> Record:
        if name not in self._read:
            faults = Faults(self._file)
            record = _readers()[self._kind](self._rows[name], faults, f"{self._kind} ({name})")
            faults.raise_as(CatalogueError)
            self._read[name] = record
        return self._read[name]

    def __iter__(self) -> Iterator[str]:
        return iter(self._rows)

    def __len__(self) -> int:
        return len(self._rows)


def tables_of(file: str, text: str) -> dict[str, Any]:
    """Tables of a file's text.

    Parameters
    ----------
    file, text : str, name and text of the file

    Raises
    ------
    CatalogueError
        The text is not TOML.
    """
    try:
        return tomllib.loads(text)
    except (ValueError, RecursionError) as error:
        raise CatalogueError(toml_fault(error, text, file, place="catalogue")) from error


def _readers() -> dict[str, Callable[[Row, Faults, str], Any]]:
    return {"core": _core, "wire": _wire, "material": read_material_row}


def read_rows(file: str, text: str) -> CatalogueRows:
    """All rows of a file.

    Parameters
    ----------
    file : str
    text : str

    Raises
    ------
    CatalogueError
        All faults: file, row, key, found, allowed.
    """
    content = tables_of(file, text)
    faults = Faults(file)
    readers = _readers()
    rows: dict[str, list[Any]] = {kind: [] for kind in readers}
    refuse_unknown(content, readers, faults, "")
    for kind, reader in readers.items():
        table = content.get(kind, [])
        if not isinstance(table, list) or not all(isinstance(row, dict) for row in table):
            faults.add(kind, type(table).__name__, f"tables written [[{kind}]]")
            continue
        taken: set[str] = set()
        for number, row in enumerate(table, start=1):
            name = row.get("name", row.get("diameter", ""))
            place = f"{kind} {number} ({name})" if name else f"{kind} {number}"
            before = len(faults.found)
            record = reader(row, faults, place)
            if len(faults.found) == before:
                if _key(record) in taken:
                    faults.add(f"{place}: name", repr(record.name), "each name once in a file")
                taken.add(_key(record))
                rows[kind].append(record)
    faults.raise_as(CatalogueError)
    return CatalogueRows(tuple(rows["core"]), tuple(rows["wire"]), tuple(rows["material"]))


def _key(record: CoreRecord | WireRecord | Material) -> str:
    return folded(record.name)


def _core(row: Row, faults: Faults, place: str) -> CoreRecord | None:
    refuse_unknown(row, ("name", "family", "dimensions", "published", "source", "from_memory"), faults, place)
    name, family, source = (cell_text(row, key, faults, place) for key in ("name", "family", "source"))
    from_memory = row.get("from_memory", False)
    if not isinstance(from_memory, bool):
        faults.add(f"{place}: from_memory", repr(from_memory), "true or false")
    dimensions = _dimensions(row.get("dimensions"), faults, f"{place}: dimensions")
    published = row.get("published", {})
    figures: dict[str, float | None] = {"area": None, "length": None, "volume": None, "constant": None}
    if isinstance(published, dict):
        refuse_unknown(published, figures, faults, f"{place}: published")
        for key in figures:
            if key in published:
                dimension = "core_constant" if key == "constant" else key
                with faults.collect(f"{place}: published.{key}"):
                    figures[key] = parse_quantity(published[key], dimension, positive=True)
    else:
        faults.add(f"{place}: published", repr(published), "a table { area, length, volume, constant }")
    if dimensions is None:
        return None
    try:
        effective_parameters(dimensions)
    except DesignError as error:
        for fault in error.faults:
            faults.add(
                f"{place}: {fault.place.removeprefix('core.')}", fault.found, fault.allowed, fault.hint
            )
    return CoreRecord(
        name=name,
        family=family,
        dimensions=dimensions,
        published_area=figures["area"],
        published_length=figures["length"],
        published_volume=figures["volume"],
        source=source,
        from_memory=bool(from_memory),
        published_constant=figures["constant"],
    )


def _dimensions(value: object, faults: Faults, place: str) -> Dimensions | None:
    """``{ form = "E", leg_width = "12 mm", … }`` with the key names of the design file."""
    if not isinstance(value, dict) or value.get("form") not in FORMS:
        found = repr(value.get("form")) if isinstance(value, dict) else repr(value)
        faults.add(f"{place}.form", found, "one of " + ", ".join(f'"{form}"' for form in FORMS))
        return None
    form = FORMS[value["form"]]
    keys = {item.name: item for item in fields(form)}
    refuse_unknown(value, ("form", *keys), faults, place)
    given: dict[str, Any] = {}
    before = len(faults.found)
    for key, item in keys.items():
        with faults.collect(f"{place}.{key}"):
            if key in value and key == "slots":
                given[key] = parse_count(value[key])
            elif key in value:
                optional = item.default is not MISSING
                dimension = "angle" if key == "slot_angle" else "length"
                given[key] = parse_quantity(
                    value[key], dimension, positive=not optional, nonnegative=optional
                )
            elif key == "outer_depth" and "leg_depth" in given:
                given[key] = given["leg_depth"]
            elif item.default is MISSING:
                faults.add(f"{place}.{key}", "nothing", 'a length with its unit, such as "12.2 mm"')
    return form(**given) if len(faults.found) == before else None


def _wire(row: Row, faults: Faults, place: str) -> WireRecord | None:
    grades = {f"grade_{grade}": grade for grade in GRADES}
    refuse_unknown(row, ("kind", "diameter", "source", *grades), faults, place)
    if row.get("kind") != "round":
        faults.add(f"{place}: kind", repr(row.get("kind")), '"round"')
    source = cell_text(row, "source", faults, place)
    diameter = math.nan
    with faults.collect(f"{place}: diameter"):
        diameter = parse_quantity(row.get("diameter"), "length", positive=True)
    overall: dict[int, tuple[float, float]] = {}
    for key, grade in grades.items():
        if key not in row:
            continue
        build = row[key]
        if not isinstance(build, dict):
            faults.add(f"{place}: {key}", repr(build), "a table { increase, maximum }")
            continue
        refuse_unknown(build, ("increase", "maximum"), faults, f"{place}: {key}")
        with faults.collect(f"{place}: {key}"):
            increase = parse_quantity(build.get("increase"), "length", positive=True)
            maximum = parse_quantity(build.get("maximum"), "length", positive=True)
            if diameter + increase >= maximum:
                faults.add(f"{place}: {key}.maximum", str(build["maximum"]), "more than diameter + increase")
            overall[grade] = (diameter + increase, maximum)
    if not overall:
        faults.add(f"{place}: grade_1", "no grade", "at least one of " + ", ".join(grades))
    return WireRecord(
        name=f"{diameter * 1e3:.3f} mm", diameter=diameter, overall=MappingProxyType(overall), source=source
    )
