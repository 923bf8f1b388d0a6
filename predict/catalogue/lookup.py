"""Catalogues of cores, enamelled wires and core materials: data files with the source beside every row.

The project's own rows stand in ``data/cores.toml``, ``data/wires.toml`` and ``data/materials.toml``; a
design may name more files of the same format (``catalogue_rows.py``). A row of an extra file takes the place
of an own row of the same name (wires: of the same diameter). Inside, everything is SI.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from importlib import resources
from pathlib import Path
from types import MappingProxyType
from typing import TypeVar

from ..cores import effective_parameters
from ..design import Material
from ..errors import CatalogueError, Fault, nearest
from .rows import GRADES, CatalogueRows, CoreRecord, WireRecord, folded, read_rows

__all__ = [
    "GRADES",
    "Catalogue",
    "CoreRecord",
    "WireRecord",
    "awg_diameter",
    "find_core",
    "find_material",
    "insulated_diameter",
    "insulated_range",
    "load_catalogue",
    "published_deviation",
]
OWN_FILES = ("cores.toml", "wires.toml", "materials.toml")
T = TypeVar("T")


@dataclass(frozen=True)
class Catalogue:
    """All rows: ``cores`` and ``materials`` by name; ``wires`` by rising diameter, first those of the table,
    then the computed AWG sizes."""

    cores: Mapping[str, CoreRecord]
    wires: tuple[WireRecord, ...]
    materials: Mapping[str, Material]


# --- look up ---


def load_catalogue(extra: Sequence[Path] = ()) -> Catalogue:
    """The project's own catalogue and the rows of ``extra`` files (later rows replace earlier ones).

    Returns a Catalogue, SI. Raises CatalogueError with every fault of every file: file, row, key, found,
    allowed. The AWG rows are computed (``awg_diameter``, overall diameters by ``insulated_range``).
    """
    tables = [_own_rows()]
    faults: list[Fault] = []
    for path in extra:
        try:
            tables.append(read_rows(path.name, _text_of(path)))
        except CatalogueError as error:
            faults.extend(error.faults)
    if faults:
        raise CatalogueError(faults)
    cores = {core.name: core for table in tables for core in table.cores}
    materials = {material.name: material for table in tables for material in table.materials}
    by_diameter = {round(wire.diameter, 9): wire for table in tables for wire in table.wires}
    wires = tuple(by_diameter[diameter] for diameter in sorted(by_diameter))
    return Catalogue(MappingProxyType(cores), wires + _awg_rows(wires), MappingProxyType(materials))


def find_core(catalogue: Catalogue, name: str) -> CoreRecord:
    """The core called ``name``: exactly, else without regard to case, spaces, dashes and underscores.

    "etd34/17/11" finds "ETD 34/17/11". Raises CatalogueError with the nearest known names if there is none.
    """
    return _find(
        catalogue.cores, name, "core.shape", "the name of a core of the catalogue, such as 'E 25/13/7'"
    )


def find_material(catalogue: Catalogue, name: str) -> Material:
    """The material called ``name``, matched as in ``find_core``. Raises CatalogueError if there is none."""
    return _find(
        catalogue.materials, name, "core.material", "the name of a material of the catalogue, or mu_i"
    )


def insulated_range(catalogue: Catalogue, diameter: float, grade: int) -> tuple[float, float]:
    """(minimum, maximum) overall diameter (m) of enamelled wire: bare ``diameter`` (m), ``grade`` 1, 2 or 3.

    For a nominal diameter of the table: diameter + least increase, greatest overall diameter. In between, by
    the standard's own rule, the least and greatest increases of the next larger nominal diameter hold.
    Raises CatalogueError for another grade, or outside the table (0.05 mm to 3.15 mm). Source: IEC 60317-0-1.
    """
    rows = [wire for wire in catalogue.wires if not wire.derived and grade in wire.overall]
    if grade not in GRADES or not rows:
        raise CatalogueError(Fault("wire.grade", str(grade), "1, 2 or 3 (IEC 60317-0-1)"))
    least, greatest = rows[0].diameter, rows[-1].diameter
    step = 1e-9
    if not least - step <= diameter <= greatest + step:
        allowed = f"{least * 1e3:g} mm to {greatest * 1e3:g} mm for grade {grade}"
        hint = "Give the measured overall diameter instead: { diameter, overall }."
        raise CatalogueError(Fault("wire.diameter", f"{diameter * 1e3:g} mm", allowed, hint))
    row = next(wire for wire in rows if wire.diameter >= diameter - step)
    minimum, maximum = row.overall[grade]
    return minimum - row.diameter + diameter, maximum - row.diameter + diameter


def insulated_diameter(catalogue: Catalogue, diameter: float, grade: int) -> float:
    """The middle of the standard's range of overall diameters (m), for a bare ``diameter`` (m).

    Equation: (minimum + maximum)/2 of ``insulated_range``, which see for validity, errors and source.
    """
    minimum, maximum = insulated_range(catalogue, diameter, grade)
    return (minimum + maximum) / 2


def awg_diameter(gauge: int) -> float:
    """Bare diameter (m) of AWG ``gauge``: d = 0.005 in × 92^((36 − n)/39).

    Validity: n = 0 … 56, whole numbers; else CatalogueError. Source: ASTM B258 (from memory).
    """
    if isinstance(gauge, bool) or not isinstance(gauge, int) or not 0 <= gauge <= 56:
        raise CatalogueError(Fault("wire.awg", repr(gauge), "a whole gauge number from 0 to 56"))
    return float(0.005 * 0.0254 * 92 ** ((36 - gauge) / 39))


def published_deviation(core: CoreRecord) -> dict[str, float]:
    """By how much IEC 60205 from the row's dimensions exceeds what is published: computed ÷ published − 1.

    Keys "area", "length", "volume", "constant", as far as published. A mistyped row shows here.
    """
    computed = effective_parameters(core.dimensions)
    pairs = {
        "area": (computed.effective_area, core.published_area),
        "length": (computed.effective_length, core.published_length),
        "volume": (computed.effective_volume, core.published_volume),
        "constant": (computed.core_constant, core.published_constant),
    }
    return {key: value / published - 1 for key, (value, published) in pairs.items() if published is not None}


def _find(known: Mapping[str, T], name: str, place: str, allowed: str) -> T:
    if name in known:
        return known[name]
    wanted = folded(name)
    matches = [row for row in known if folded(row) == wanted]
    if len(matches) == 1:
        return known[matches[0]]
    begins = [row for row in known if wanted and folded(row).startswith(wanted)][:6]
    hint = f"Known: {', '.join(begins)}." if begins else nearest(name, known)
    raise CatalogueError(Fault(place, repr(name), allowed, hint))


def _awg_rows(table: tuple[WireRecord, ...]) -> tuple[WireRecord, ...]:
    """AWG sizes within the table, thin to thick, by the rule of ``insulated_range``."""
    rows = Catalogue({}, table, {})
    least, greatest = (table[0].diameter, table[-1].diameter) if table else (math.inf, 0.0)
    found = []
    for gauge in range(56, -1, -1):
        diameter = awg_diameter(gauge)
        if least <= diameter <= greatest:
            overall = {grade: insulated_range(rows, diameter, grade) for grade in _grades_at(table, diameter)}
            source = "diameter: ASTM B258 formula; overall: IEC 60317-0-1, increases of the next larger size"
            found.append(
                WireRecord("round", f"AWG {gauge}", diameter, MappingProxyType(overall), source, derived=True)
            )
    return tuple(found)


def _grades_at(table: tuple[WireRecord, ...], diameter: float) -> list[int]:
    """Grades of which the table covers ``diameter``."""
    spans = {grade: [wire.diameter for wire in table if grade in wire.overall] for grade in GRADES}
    return [grade for grade, span in spans.items() if span and span[0] <= diameter <= span[-1]]


# --- files ---


@functools.cache
def _own_rows() -> CatalogueRows:
    data = resources.files("aswound.predict") / "data"
    tables = [read_rows(name, (data / name).read_text(encoding="utf-8")) for name in OWN_FILES]
    return CatalogueRows(
        tuple(row for table in tables for row in table.cores),
        tuple(row for table in tables for row in table.wires),
        tuple(row for table in tables for row in table.materials),
    )


def _text_of(path: Path) -> str:
    try:
        return path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        reason = getattr(error, "strerror", None) or "not UTF-8"
        raise CatalogueError(
            Fault("catalogue", str(reason), "a readable TOML file", file=str(path))
        ) from error
