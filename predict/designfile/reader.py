"""TOML design file → Design: every key is read, checked and used, or refused by name, and all faults are
reported at once.

The sections are declared as tables of keys in ``tables``. Here the text is read, the sections are put
together, and everything that is wrong is raised as one DesignError. The format is described in the user's
documentation.
"""

from __future__ import annotations

import tomllib
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from ..catalogue import Catalogue, folded, load_catalogue
from ..cores import THINNEST_LAMINATION
from ..design import Bench, Design, ShieldStep, Winding
from ..errors import BuildError, CatalogueError, DesignError, Fault, Faults
from ..plain_text import LARGEST_FILE, STDIN_HINT, file_bytes, shown_name, toml_fault
from ..production import calibrated
from ..winding import check_fit
from .grammar import Key, ParsedTable, Table, as_table, as_tables, line, parse_table, value_error
from .settings import Origins, apply_bench, apply_settings, from_their_origin
from .tables import (
    CORE_KEYS,
    bobbin_cautions,
    check_pins,
    check_shield_names,
    pin_cautions,
    read_bench,
    read_bobbin,
    read_build,
    read_calibration,
    read_core,
    read_joins,
    read_operation,
    read_own,
    read_spread,
    read_tests,
    read_windings,
    spread_cautions,
)
from .usual_tests import usual_tests

Settings = Sequence[tuple[str, str]]
"""(key path, value) pairs of ``--set``; the value is TOML, or else plain text."""


def _raw(value: Any) -> Any:
    return value


def _paths(value: object) -> tuple[str, ...]:
    if not isinstance(value, list) or not all(isinstance(item, str) and item for item in value):
        raise value_error(value, "a list of file names, such as ['our-parts.toml']")
    return tuple(value)


TOP_KEYS = {
    "title": Key(line),
    "catalogue": Key(_paths, default=()),
    "core": Key(_raw, required=True, default={}),
    "bobbin": Key(_raw, default={}),
    "winding": Key(_raw, required=True, default=[]),
    "build": Key(_raw, required=True, default={}),
    "join": Key(_raw, default=[]),
    "test": Key(_raw, default=[]),
    "bench": Key(_raw, default={}),
    "spread": Key(_raw, default={}),
    "operation": Key(_raw, default={}),
    "calibration": Key(_raw, default={}),
}


def load_design(
    path: str | Path, *, settings: Settings = (), bench: Path | None = None, calibration: bool = True
) -> Design:
    """Read a design from a TOML file.

    Parameters
    ----------
    path : str or Path
        The file.
    settings : Settings, optional
        Changes by key path, as from ``--set``: ("step2.wraps", "4"), ("core.gap", "0.3 mm"). Steps count from
        1; windings, joins and tests go by name ("winding.P.wire.diameter").
    bench : Path or None, optional
        A file with keys of ``[bench]``, at its top level or under [bench], which replace the design's.
    calibration : bool, optional
        Whether [calibration] is applied; False gives the design as the models have it.

    Returns
    -------
    Design
        The transformer, SI.

    Raises
    ------
    DesignError
        Every fault of the file, the settings and the bench: file, key path, found, allowed, nearest known
        name. Also a file that is missing, is not UTF-8 text, or is not TOML (then with its line).

    Examples
    --------
    >>> from aswound.predict import load_design
    >>> design = load_design("samples/flyback-24w.toml", settings=[("step2.wraps", "4")])
    >>> [winding.name for winding in design.windings], design.build.steps[1].wraps
    (['P', 'S', 'AUX'], 4)
    """
    file = Path(path)
    content = _text_of(file, "a design file (TOML, UTF-8)")
    bench_text = None if bench is None else _text_of(bench, "a bench file (TOML, UTF-8)")
    bench_file = "" if bench is None else str(bench)
    return _design(content, str(path), file.parent, settings, bench_text, bench_file, calibration=calibration)


def design_text(path: Path) -> str:
    """Text of a design file.

    Parameters
    ----------
    path : Path, the file

    Raises
    ------
    DesignError
        The file is missing or is not UTF-8 text.
    """
    return _text_of(path, "a design file (TOML, UTF-8)")


def load_bench(path: Path) -> Bench:
    """Read a bench from a file of its own, with the keys of ``[bench]`` at its top level or under [bench].

    Parameters
    ----------
    path : Path, the file

    Returns
    -------
    Bench, bench, SI

    Raises
    ------
    DesignError
        Every fault of the file.
    """
    name = str(path)
    faults = Faults(name)
    tables: dict[str, Any] = {}
    apply_bench(tables, _toml(_text_of(path, "a bench file (TOML, UTF-8)"), name), name, faults, Origins())
    bench = read_bench(as_table(tables["bench"], "bench", faults), faults)
    faults.raise_as(DesignError)
    assert bench is not None
    return bench


def parse_design(
    text: str,
    *,
    name: str = "",
    folder: Path | None = None,
    settings: Settings = (),
    bench_text: str | None = None,
) -> Design:
    """Read a design from TOML text, as ``load_design`` but with the contents instead of the files.

    Parameters
    ----------
    text : str
        Text of the design file.
    name : str, optional
        Name of the file in messages.
    folder : Path or None, optional
        Where relative paths of ``catalogue`` start; without it they are refused.
    settings : Settings, optional
        (key path, value) pairs of ``--set``.
    bench_text : str or None, optional
        Text of a bench file.

    Returns
    -------
    Design
        The transformer, SI.

    Raises
    ------
    DesignError
        As ``load_design``.

    Examples
    --------
    >>> from pathlib import Path
    >>> from aswound.predict import AswoundError, parse_design
    >>> text = Path("samples/flyback-24w.toml").read_text(encoding="utf-8")
    >>> parse_design(text).windings[0].name
    'P'
    >>> try:
    ...     parse_design(text.replace("turns = 8", "turns = -8"))
    ... except AswoundError as error:
    ...     for fault in error.faults:
    ...         print(fault.place, "|", fault.found, "|", fault.allowed)
    step 3 (wind S): turns | -8 | a whole number from 1 to 50000
    """
    return _design(text, name, folder, settings, bench_text, "bench")


def _text_of(path: Path, allowed: str) -> str:
    data = b""
    try:
        data = file_bytes(path, LARGEST_FILE)
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        number = data[: error.start].count(b"\n") + 1
        found = f"the byte {data[error.start]:02X} (hexadecimal), which is no UTF-8"
        raise DesignError(Fault(f"line {number}", found, allowed, "Save it as UTF-8.", str(path))) from error
    except (OSError, ValueError) as error:
        reason = (
            "no such file"
            if isinstance(error, FileNotFoundError)
            else getattr(error, "strerror", None) or str(error)
        )
        hint = STDIN_HINT if str(path) == "-" else ""
        raise DesignError(Fault("file", reason, allowed, hint, str(path))) from error


def _toml(content: str, file: str) -> dict[str, Any]:
    """The tables of a TOML text; DesignError with the line if it is not TOML."""
    try:
        return tomllib.loads(content)
    except (ValueError, RecursionError) as error:
        raise DesignError(toml_fault(error, content, file)) from error


# --- the whole -------------------------------------------------------------------------------------


def _design(
    content: str,
    file: str,
    folder: Path | None,
    settings: Settings,
    bench_text: str | None,
    bench_file: str,
    *,
    calibration: bool = True,
) -> Design:
    tables = _toml(content, file)
    if not calibration:
        tables.pop("calibration", None)
    faults, origins = Faults(file), Origins()
    if bench_text is not None:
        apply_bench(tables, _toml(bench_text, bench_file), bench_file, faults, origins)
    usual = tables.get("test", []) == []
    moved_from = _moved_from(tables, settings)
    _set(tables, settings, usual, faults, origins)
    design = _read(tables, folder, moved_from, faults)
    faults.found = from_their_origin(faults.found, origins)
    faults.raise_as(DesignError)
    if design is None:
        raise AssertionError("a design without faults was not read")
    with faults.collect():
        check_fit(design)
    faults.raise_as(BuildError)
    return design


def _set(tables: dict[str, Any], settings: Settings, usual: bool, faults: Faults, origins: Origins) -> None:
    """Apply the settings; those of tests come last, after a design without tests has received the usual
    ones."""
    of_tests = [item for item in settings if item[0].strip().startswith("test.")]
    heads = tuple(TOP_KEYS)
    apply_settings(tables, [item for item in settings if item not in of_tests], heads, faults, origins)
    if usual:
        tables["test"] = _usual(tables)
    apply_settings(tables, of_tests, heads, faults, origins)


def _usual(tables: Table) -> list[dict[str, Any]]:
    """The usual tests in the file's own form, so that they are read (and set) like stated ones."""
    core, windings = tables.get("core"), tables.get("winding")
    laminated = isinstance(core, dict) and (
        core.get("stacking_factor", 1) not in (1, "100 %", "1") or _of_sheets(core.get("material"))
    )
    rows = windings if isinstance(windings, list) else []
    names = [row["name"] for row in rows if isinstance(row, dict) and isinstance(row.get("name"), str)]
    return usual_tests(list(dict.fromkeys(names)), laminated=laminated)


def _of_sheets(material: object) -> bool:
    """Whether ``material`` is a lamination of the tool's own catalogue (tape of some 20 µm is not)."""
    return isinstance(material, str) and any(
        folded(known.name) == folded(material) and known.sheet_thickness > THINNEST_LAMINATION
        for known in load_catalogue().materials.values()
    )


def _moved_from(tables: Table, settings: Settings) -> float | None:
    """Gap (m) that the file states (0 if none), if a setting changes it and leaves ``al``; else None."""
    paths = {path.strip() for path, _ in settings}
    core = tables.get("core")
    if "core.gap" not in paths or "core.al" in paths or not isinstance(core, dict):
        return None
    return parse_table(core, {"gap": CORE_KEYS["gap"]}, "core", Faults())["gap"] or 0.0


def _read(tables: Table, folder: Path | None, moved_from: float | None, faults: Faults) -> Design | None:
    """The Design of the tables; None with the reasons in ``faults``."""
    top = parse_table(tables, TOP_KEYS, "", faults)
    catalogue = _catalogue(top, folder, faults)
    part = {
        key: as_table(top[key], key, faults)
        for key in ("bobbin", "bench", "spread", "operation", "calibration")
    }
    core = None
    cautions: list[str] = []
    if "core" in top:
        table = as_table(top["core"], "core", faults)
        core, notes = read_core(table, catalogue, faults, moved_from=moved_from)
        cautions += notes
    dimensions = None if core is None else core.dimensions
    bobbin = read_bobbin(part["bobbin"], faults, dimensions)
    windings = _windings(top, catalogue, faults)
    if bobbin is not None:
        check_pins(bobbin, [winding for winding in windings.values() if winding is not None], faults)
    build = None
    if "build" in top:
        table = as_table(top["build"], "build", faults)
        build, notes = read_build(table, windings, faults, dimensions=dimensions, bobbin=bobbin)
        cautions += notes
    joins, terminals = read_joins(as_tables(top["join"], "join", faults), tuple(windings), faults)
    if build is not None:
        check_shield_names(build, tuple(join.name for join in joins), faults)
        shields = tuple(step.name for step in build.steps if isinstance(step, ShieldStep))
        terminals = replace(terminals, shields=shields)
    tests = read_tests(as_tables(top["test"], "test", faults), terminals, faults)
    bench = read_bench(part["bench"], faults)
    spread = read_spread(part["spread"], core, faults, top["core"] if isinstance(top["core"], dict) else {})
    frequency = read_operation(part["operation"], faults)
    factors = read_calibration(part["calibration"], faults)
    own_factors = read_own(part["calibration"], faults)
    if core is None or bobbin is None or build is None or bench is None or spread is None or faults.found:
        return None
    cautions += bobbin_cautions(part["bobbin"], bobbin, core.dimensions)
    cautions += pin_cautions([winding for winding in windings.values() if winding is not None])
    cautions += spread_cautions(part["spread"], core)
    design = Design(
        title=top["title"] or shown_name(Path(faults.file)),
        core=core,
        bobbin=bobbin,
        windings=tuple(winding for winding in windings.values() if winding is not None),
        build=build,
        tests=tuple(tests),
        joins=joins,
        bench=bench,
        tolerances=spread,
        working_frequency=frequency,
        cautions=tuple(cautions),
    )
    return calibrated(design, factors, own_factors)


def _catalogue(top: ParsedTable, folder: Path | None, faults: Faults) -> Catalogue | None:
    """The catalogue with the design's own files; None (and faults) if one cannot be read."""
    paths = [Path(item) for item in top["catalogue"]]
    if folder is None and any(not path.is_absolute() for path in paths):
        top.fault(
            "catalogue", "a relative path in a design without a folder", "absolute paths, or a design file"
        )
        return None
    try:
        return load_catalogue([path if folder is None else folder / path for path in paths])
    except CatalogueError as error:
        faults.found += error.faults
        return None


def _windings(top: ParsedTable, catalogue: Catalogue | None, faults: Faults) -> dict[str, Winding | None]:
    """The windings by name, in the file's order; None for one with faults."""
    rows = as_tables(top["winding"], "winding", faults)
    if "winding" in top and top["winding"] == []:
        top.fault("winding", "no winding", "at least one table [[winding]]")
    read = read_windings(rows, catalogue, faults)
    named = [(row.get("name"), winding) for row, winding in zip(rows, read, strict=True)]
    return {name: winding for name, winding in named if isinstance(name, str)}
