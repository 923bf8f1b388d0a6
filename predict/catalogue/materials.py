"""``[[material]]`` of a catalogue → Material.

name, initial_permeability, source; frequencies, real_ratio, loss_tangent: lists of equal length. Optional:
tolerance; temperature_coefficient ("0.004 1/K") or temperatures with temperature_ratio; level_coefficient
("1.2 1/T") or level_flux_densities ("0.1 T", from 0) with level_ratio; saturation ("0.47 T"),
saturation_coefficient ("-0.0025 1/K"); bias_field ("4500 A/m") at which a direct field halves the
permeability, bias_exponent; sheet_thickness ("0.35 mm") with resistivity ("0.48 uohm m"); remanence ("1.1 T")
with coercivity ("38 A/m").
"""

from __future__ import annotations

import itertools
from collections.abc import Callable
from functools import partial
from typing import Any

from ..design import Material
from ..errors import Faults
from ..quantity import parse_quantity, parse_relative
from .cells import Row, cell_text, refuse_unknown

Cell = Callable[[object], float]


def _ratio(value: object) -> float:
    return parse_relative(value, positive=True)


def _above_zero(dimension: str) -> Cell:
    return partial(parse_quantity, dimension=dimension, positive=True)


_TABLES: tuple[tuple[str, Cell, tuple[str, ...]], ...] = (
    ("frequencies", _above_zero("frequency"), ("real_ratio", "loss_tangent")),
    ("temperatures", partial(parse_quantity, dimension="temperature"), ("temperature_ratio",)),
    (
        "level_flux_densities",
        partial(parse_quantity, dimension="flux_density", nonnegative=True),
        ("level_ratio",),
    ),
)
"""Each argument of a table, its parser, and the columns of plain numbers that go with it."""

_NUMBERS: dict[str, tuple[str, Cell]] = {
    "tolerance": ("tolerance", _ratio),
    "temperature_coefficient": (
        "temperature_coefficient",
        partial(parse_quantity, dimension="temperature_coefficient"),
    ),
    "level_coefficient": ("level_coefficient", partial(parse_quantity, dimension="level_coefficient")),
    "saturation": ("saturation_flux_density", _above_zero("flux_density")),
    "saturation_coefficient": (
        "saturation_coefficient",
        partial(parse_quantity, dimension="temperature_coefficient"),
    ),
    "bias_field": ("bias_field", _above_zero("field")),
    "bias_exponent": ("bias_exponent", _above_zero("number")),
    "sheet_thickness": ("sheet_thickness", _above_zero("length")),
    "resistivity": ("resistivity", _above_zero("resistivity")),
    "remanence": ("remanence", _above_zero("flux_density")),
    "coercivity": ("coercivity", _above_zero("field")),
}
"""Key of the file: field of Material, parser."""


def read_material_row(row: Row, faults: Faults, place: str) -> Material | None:
    """Material of a row.

    Parameters
    ----------
    row : Row
    faults : Faults
    place : str

    Returns
    -------
    Material or None, material, SI; None if there are faults
    """
    columns = [key for table, _, others in _TABLES for key in (table, *others)]
    refuse_unknown(row, ("name", "initial_permeability", *columns, *_NUMBERS, "source"), faults, place)
    before = len(faults.found)
    name, source = cell_text(row, "name", faults, place), cell_text(row, "source", faults, place)
    permeability = row.get("initial_permeability")
    if (
        isinstance(permeability, bool)
        or not isinstance(permeability, int | float)
        or not 1 <= permeability < 1e7
    ):
        faults.add(f"{place}: initial_permeability", repr(permeability), "a plain number from 1 to 10⁷")
    values: dict[str, Any] = {}
    for key, (field, parse) in _NUMBERS.items():
        with faults.collect(f"{place}: {key}"):
            if key in row:
                values[field] = parse(row[key])
    for argument, parse, others in _TABLES:
        if argument == "frequencies" or any(key in row for key in (argument, *others)):
            values |= _table(row, argument, parse, others, faults, place)
    for pair in (("sheet_thickness", "resistivity"), ("remanence", "coercivity")):
        missing = [key for key in pair if key not in row]
        if len(missing) == 1:
            faults.add(f"{place}: {missing[0]}", "nothing", f"{' and '.join(pair)}, both or neither")
    if values.get("level_flux_densities", (0.0,))[0] != 0.0:
        faults.add(
            f"{place}: level_flux_densities", repr(row["level_flux_densities"]), 'a list from "0 T" on'
        )
    elif len(faults.found) == before:
        _check_level(row, values, faults, place)
    if len(faults.found) > before or not isinstance(permeability, int | float):
        return None
    return Material(name=name, initial_permeability=float(permeability), source=source, **values)


def _table(
    row: Row, argument: str, parse: Cell, columns_after: tuple[str, ...], faults: Faults, place: str
) -> dict[str, tuple[float, ...]]:
    """The lists of one table, of equal length, with a rising argument."""
    values: dict[str, tuple[float, ...]] = {}
    for key in (argument, *columns_after):
        column = row.get(key)
        if not isinstance(column, list) or not column:
            faults.add(f"{place}: {key}", repr(column), f"a list, one entry for each of {argument}")
            continue
        with faults.collect(f"{place}: {key}"):
            values[key] = tuple((parse if key == argument else _ratio)(entry) for entry in column)
    lengths = {len(column) for column in values.values()}
    if len(lengths) > 1:
        faults.add(f"{place}: {argument}", f"lists of {sorted(lengths)} entries", "lists of equal length")
    if any(low >= high for low, high in itertools.pairwise(values.get(argument, ()))):
        faults.add(f"{place}: {argument}", repr(row[argument]), f"rising {argument.replace('_', ' ')}")
    return values


def _check_level(row: Row, values: dict[str, Any], faults: Faults, place: str) -> None:
    """The field B/μa must rise with B: no material needs less field for more flux."""
    pairs = list(zip(values.get("level_flux_densities", ()), values.get("level_ratio", ()), strict=True))
    if any(low[0] / low[1] >= high[0] / high[1] for low, high in itertools.pairwise(pairs)):
        faults.add(
            f"{place}: level_ratio",
            repr(row["level_ratio"]),
            "ratios that rise more slowly than flux density",
        )
