"""Catalogues of cores, enamelled wires and core materials: data files with the source beside every row.

The project's own rows are in ``data/cores.toml``, ``data/wires.toml`` and ``data/materials.toml``; a
design may name more files of the same format (``rows``). A row of such a file replaces the project's row
of the same name (wires: of the same diameter). Inside, everything is SI.
"""

from __future__ import annotations

import difflib
import functools
import math
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from types import MappingProxyType
from typing import TypeVar

from ..design import EDimensions, Material
from ..errors import CatalogueError, Fault
from ..plain_text import LARGEST_FILE, file_bytes
from .rows import GRADES, CatalogueRows, CoreRecord, RowsAtNeed, WireRecord, folded, read_rows, tables_of

OWN_FILES = ("cores.toml", "wires.toml", "materials.toml")
T = TypeVar("T")


@dataclass(frozen=True)
class Catalogue:
    """All rows.

    Attributes
    ----------
    cores : Mapping[str, CoreRecord], by name
    wires : tuple[WireRecord, ...]
        Wires by rising diameter, first those of the table, then the computed AWG sizes.
    materials : Mapping[str, Material], by name
    """

    cores: Mapping[str, CoreRecord]
    wires: tuple[WireRecord, ...]
    materials: Mapping[str, Material]


# --- look up ---


def load_catalogue(extra: Sequence[Path] = ()) -> Catalogue:
    """The project's own catalogue with the rows of further files; later rows replace earlier ones.

    The AWG rows are computed (``awg_diameter``, overall diameters by ``insulated_range``).

    Parameters
    ----------
    extra : Sequence[Path], optional
        Further files.

    Returns
    -------
    Catalogue
        Catalogue, SI.

    Raises
    ------
    CatalogueError
        Every fault of every file: file, row, key, found, allowed.

    Examples
    --------
    >>> from aswound.predict import load_catalogue
    >>> catalogue = load_catalogue()
    >>> catalogue.cores["E 25/13/7"].family
    'E'
    """
    own_cores, own_wires, own_materials = _own_rows()
    tables: list[CatalogueRows] = []
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
    added = tuple(wire for table in tables for wire in table.wires)
    return Catalogue(
        own_cores.replaced(cores), _by_diameter(own_wires + added), own_materials.replaced(materials)
    )


def find_core(catalogue: Catalogue, name: str) -> CoreRecord:
    """The core of a name.

    The name is matched exactly, else without regard to case, spaces, dashes and underscores, and, if only
    one row can be meant, without the strokes between the numbers. "etd34/17/11" and "ETD 34 17 11" find
    "ETD 34/17/11". "EI 66/40" is the lamination EI 66 in a stack of 40 mm.

    Parameters
    ----------
    catalogue : Catalogue, cores, wires and materials
    name : str, of the core

    Raises
    ------
    CatalogueError
        There is no such core; holds the nearest known names.
    """
    allowed = "the name of a core of the catalogue, such as 'E 25/13/7'"
    stacked = _STACK.fullmatch(name.strip())
    if stacked is not None and folded(name) not in map(folded, catalogue.cores):
        return _in_stack(
            _find(catalogue.cores, f"EI {stacked[1]}", "core.shape", allowed, "cores"), stacked[2]
        )
    return _find(catalogue.cores, name, "core.shape", allowed, "cores")


_STACK = re.compile(
    r"EI[\s_-]*(\d+(?:\.\d+)?)\s*(?:[/x×]|\s+stack\s+)\s*(\d+(?:\.\d+)?)(?:\s*mm)?", re.IGNORECASE
)
STACKS = (0.3, 4.0)
"""Least and greatest height of a stack over the width of its leg (judged: beyond what is stacked, no
source)."""


def _in_stack(lamination: CoreRecord, height: str) -> CoreRecord:
    """A lamination in a stack of ``height`` mm, whose effective parameters follow from the dimensions."""
    sheet = lamination.dimensions
    if not isinstance(sheet, EDimensions):
        raise CatalogueError(Fault("core.shape", repr(lamination.name), "a lamination of the catalogue"))
    depth = float(height) * 1e-3
    least, most = (share * sheet.leg_width for share in STACKS)
    if not least <= depth <= most:
        allowed = f"a stack from {least * 1e3:.3g} to {most * 1e3:.3g} mm"
        raise CatalogueError(Fault("core.shape", f"{lamination.name} in a stack of {height} mm", allowed))
    return replace(
        lamination,
        name=f"{lamination.name}/{height}",
        dimensions=replace(sheet, leg_depth=depth, outer_depth=depth),
        published_area=None,
        published_length=None,
        published_volume=None,
        published_constant=None,
        source=f"{lamination.source.partition(', stack')[0]}, stack {height} mm as stated",
    )


MAKERS_GRADES = {
    **dict.fromkeys(("N27", "N41", "N49", "3F3", "3C81", "3C85"), "MnZn 2000"),
    **dict.fromkeys(("N87", "N97", "N72", "3C90", "3C91", "3C94", "PC40", "PC44", "PC47"), "MnZn 2300"),
    **dict.fromkeys(("N95", "3C92", "3C95", "PC95"), "MnZn 3000"),
    **dict.fromkeys(("N30", "3E25", "3E26", "PC42"), "MnZn 5000"),
    **dict.fromkeys(("T35", "T37", "3E27"), "MnZn 7000"),
    **dict.fromkeys(("T38", "T46", "3E5", "3E6", "3E7"), "MnZn 10000"),
    **dict.fromkeys(("43", "4C65"), "NiZn 800"),
    **dict.fromkeys(("61", "4F1"), "NiZn 125"),
    **dict.fromkeys(("M330-50A", "M400-50A", "M530-50A", "M700-50A", "M800-50A"), "silicon steel NO 0.50"),
    **dict.fromkeys(("M250-35A", "M300-35A", "M330-35A"), "silicon steel NO 0.35"),
    **dict.fromkeys(("M5", "M6", "M110-30S", "M120-30S"), "silicon steel GO 0.30"),
}
"""Grades that are asked for, and the generic row nearest in use and permeability; steels by the thickness in
their name (EN 10106, EN 10107). From memory. A hint, never taken without a word."""


def find_material(catalogue: Catalogue, name: str) -> Material:
    """The material of a name, matched as in ``find_core``.

    Parameters
    ----------
    catalogue : Catalogue, cores, wires and materials
    name : str, of the material

    Raises
    ------
    CatalogueError
        There is no such material.
    """
    try:
        return _find(
            catalogue.materials,
            name,
            "core.material",
            "the name of a material of the catalogue, or mu_i",
            "materials",
        )
    except CatalogueError as error:
        row = MAKERS_GRADES.get(name.strip().upper())
        if row is None:
            raise
        (fault,) = error.faults
        hint = (
            f"The catalogue has generic grades. Nearest to {name.strip()} is '{row}' (from memory: check "
            "permeability and loss against its sheet), or give mu_i."
        )
        raise CatalogueError(replace(fault, hint=hint)) from error


def like(material: Material) -> str:
    """What a material is, in words: "power ferrite", "grain-oriented silicon steel, …"."""
    return material.source.rpartition("; ")[2].partition(", f_r")[0]


def insulated_range(catalogue: Catalogue, diameter: float, grade: int) -> tuple[float, float]:
    """Range of the overall diameter of enamelled wire.

    For a nominal diameter of the table: diameter + least increase, and greatest overall diameter. In
    between, by the standard's own rule, the increases of the next larger nominal diameter apply. Valid for
    bare diameters from 0.05 mm to 3.15 mm.

    Parameters
    ----------
    catalogue : Catalogue
    diameter : float, m
    grade : int, of insulation 1, 2 or 3, index

    Returns
    -------
    float, least overall diameter, m
    float, greatest overall diameter, m

    Raises
    ------
    CatalogueError
        Another grade, or a diameter outside the table.

    References
    ----------
    IEC 60317-0-1.
    """
    rows = [wire for wire in catalogue.wires if not wire.derived and grade in wire.overall]
    if grade not in GRADES or not rows:
        raise CatalogueError(Fault("wire.grade", str(grade), "1, 2 or 3 (IEC 60317-0-1)"))
    least, greatest = rows[0].diameter, rows[-1].diameter
    step = 1e-9
    if not least - step <= diameter <= greatest + step:
        allowed = f"{least * 1e3:g} mm to {greatest * 1e3:g} mm for grade {grade}"
        nearest_row = rows[0] if diameter < least else rows[-1]
        hint = (
            f"Nearest: {nearest_row.name}. 'aswound wires' lists all; or give the measured overall diameter: "
            "{ diameter, overall }."
        )
        raise CatalogueError(Fault("wire.diameter", f"{diameter * 1e3:g} mm", allowed, hint))
    row = next(wire for wire in rows if wire.diameter >= diameter - step)
    minimum, maximum = row.overall[grade]
    return minimum - row.diameter + diameter, maximum - row.diameter + diameter


def awg_diameter(gauge: int) -> float:
    """Bare diameter of an AWG size, d = 0.005 in × 92^((36 − n)/39).

    Parameters
    ----------
    gauge : int, gauge number n from 0 to 56, index

    Returns
    -------
    float, bare diameter, m

    Raises
    ------
    CatalogueError
        Not a whole number from 0 to 56.

    References
    ----------
    ASTM B258 (from memory).
    """
    if isinstance(gauge, bool) or not isinstance(gauge, int) or not 0 <= gauge <= 56:
        raise CatalogueError(Fault("wire.awg", repr(gauge), "a whole gauge number from 0 to 56"))
    return float(0.005 * 0.0254 * 92 ** ((36 - gauge) / 39))


def _find(known: Mapping[str, T], name: str, place: str, allowed: str, listed: str) -> T:
    if name in known:
        return known[name]
    wanted = folded(name)
    for plainly in (folded, _without_strokes):
        matches = [row for row in known if plainly(row) == plainly(name)]
        if len(matches) == 1:
            return known[matches[0]]
    begins = [row for row in known if wanted and folded(row).startswith(wanted)][:6]
    rows = begins or nearest_rows(name, known)
    hint = f"{'Known' if begins else 'Nearest'}: {', '.join(rows)}. 'aswound {listed}' lists all."
    raise CatalogueError(Fault(place, repr(name), allowed, hint))


def _without_strokes(name: str) -> str:
    """Without the strokes between numbers; "EP 13 X" is not "EP 13"."""
    return re.sub(r"(?<=\d)[/x×](?=\d)", "", folded(name))


def nearest_rows(name: str, known: Iterable[str], count: int = 4) -> list[str]:
    """Names nearest to a given one.

    First those with the same numbers (a ring is T here and R there), then those with the same letters,
    then by the first number of each (ratio of sizes), then by spelling. Names with nothing in common are
    included: the list is never empty.

    Parameters
    ----------
    name : str, that was asked for
    known : Iterable[str], known names
    count : int, optional, length of the list, count
    """
    letters = re.sub(r"[^a-z]", "", name.casefold())
    number = re.search(r"\d+(?:\.\d+)?", name)

    numbers = re.findall(r"\d+(?:\.\d+)?", name)

    def distance(row: str) -> tuple[bool, float, float, float]:
        row_letters = re.sub(r"[^a-z]", "", row.casefold())
        row_number = re.search(r"\d+(?:\.\d+)?", row)
        apart = 9.0
        if number and row_number and float(number[0]) > 0 and float(row_number[0]) > 0:
            apart = abs(math.log(float(row_number[0]) / float(number[0])))
        spelled = 1.0 - difflib.SequenceMatcher(None, folded(name), folded(row)).ratio()
        alike = 1.0 - difflib.SequenceMatcher(None, letters, row_letters).ratio()
        same = len(numbers) > 1 and re.findall(r"\d+(?:\.\d+)?", row) == numbers
        return not same, round(alike, 1), apart, spelled

    return sorted(known, key=distance)[:count]


def _awg_rows(table: tuple[WireRecord, ...]) -> tuple[WireRecord, ...]:
    """AWG sizes within the table, thin to thick, by the rule of ``insulated_range``."""
    rows = Catalogue({}, table, {})
    least, greatest = (table[0].diameter, table[-1].diameter) if table else (math.inf, 0.0)
    wires = []
    for gauge in range(56, -1, -1):
        diameter = awg_diameter(gauge)
        if least <= diameter <= greatest:
            overall = {grade: insulated_range(rows, diameter, grade) for grade in _grades_at(table, diameter)}
            source = "diameter: ASTM B258 formula; overall: IEC 60317-0-1, increases of the next larger size"
            wires.append(
                WireRecord(
                    name=f"AWG {gauge}",
                    diameter=diameter,
                    overall=MappingProxyType(overall),
                    source=source,
                    derived=True,
                )
            )
    return tuple(wires)


def _grades_at(table: tuple[WireRecord, ...], diameter: float) -> list[int]:
    """Grades for which the table covers ``diameter``."""
    spans = {grade: [wire.diameter for wire in table if grade in wire.overall] for grade in GRADES}
    return [grade for grade, span in spans.items() if span and span[0] <= diameter <= span[-1]]


def _by_diameter(wires: tuple[WireRecord, ...]) -> tuple[WireRecord, ...]:
    """Rows by rising diameter, the last one for each, then the computed AWG sizes."""
    by_diameter = {round(wire.diameter, 9): wire for wire in wires}
    table = tuple(by_diameter[diameter] for diameter in sorted(by_diameter))
    return table + _awg_rows(table)


# --- files ---


@functools.cache
def _own_rows() -> tuple[RowsAtNeed[CoreRecord], tuple[WireRecord, ...], RowsAtNeed[Material]]:
    """(cores, wires, materials) of the project's own files."""
    data = Path(__file__).parents[1] / "data"
    cores, wires, materials = ((data / name).read_text(encoding="utf-8") for name in OWN_FILES)
    return (
        RowsAtNeed(OWN_FILES[0], "core", tables_of(OWN_FILES[0], cores)["core"]),
        read_rows(OWN_FILES[1], wires).wires,
        RowsAtNeed(OWN_FILES[2], "material", tables_of(OWN_FILES[2], materials)["material"]),
    )


def _text_of(path: Path) -> str:
    data = b""
    try:
        data = file_bytes(path, LARGEST_FILE, ordinary=True)
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        number = data[: error.start].count(b"\n") + 1
        found = f"the byte {data[error.start]:02X} (hexadecimal) in line {number}, which is no UTF-8"
        raise CatalogueError(Fault("catalogue", found, "a TOML file in UTF-8", file=str(path))) from error
    except (OSError, ValueError) as error:
        found = getattr(error, "strerror", None) or str(error)
        allowed = f"a TOML file of at most {LARGEST_FILE / 1e6:g} MB that can be read"
        raise CatalogueError(Fault("catalogue", found, allowed, file=str(path))) from error
