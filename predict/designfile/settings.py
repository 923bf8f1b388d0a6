"""Changes to the raw tables of a design file before it is read: ``--set step2.wraps=4`` and ``--bench FILE``.

A path is a key path of the file: ``core.gap``, ``core.dimensions.leg_width``, ``bench.short_inductance``.
``winding.P.wire.diameter``, ``test.L_P.frequency`` and ``join.J.series`` go by name; ``step2.wraps``
counts from 1 over all steps. The changed values go through the same reader as the file itself.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable, Mapping, Sequence
from typing import Any

from ..errors import Fault, Faults, nearest
from .grammar import key_place, value_text
from .tables import step_place

NAMED = ("winding", "join", "test")
Origins = dict[str, str]
"""Place → where its value comes from: "--set PATH" or the name of the bench file."""


def setting_value(text: str) -> Any:
    """Value of a setting: read as TOML (4, true, "0.3 mm", ["P", "-S"]), else the text itself (0.3 mm)."""
    try:
        table = tomllib.loads(f"value = {text.strip()}")
    except (ValueError, RecursionError):
        return text.strip()
    return table["value"] if set(table) == {"value"} else text.strip()


def apply_settings(
    tables: dict[str, Any],
    settings: Sequence[tuple[str, str]],
    heads: Sequence[str],
    faults: Faults,
    origins: Origins,
) -> None:
    """Apply settings to the raw tables, in order.

    A path that leads nowhere is a fault with the nearest known one.

    Parameters
    ----------
    tables : dict[str, Any], changed in place
    settings : Sequence[tuple[str, str]], (path, text) pairs
    heads : Sequence[str], top-level keys of a design file
    faults : Faults
    origins : Origins
    """
    for path, text in settings:
        outer = Faults()
        _apply(tables, path.strip(), setting_value(text), heads, outer, origins)
        faults.found += [Fault(f"--set {path}", f.found, f.allowed, f.hint) for f in outer.found]


def apply_bench(
    tables: dict[str, Any], bench: Mapping[str, Any], file: str, faults: Faults, origins: Origins
) -> None:
    """Replace keys of ``[bench]`` by those of a bench file.

    Parameters
    ----------
    tables : dict[str, Any], changed in place
    bench : Mapping[str, Any], tables of the bench file, with the keys at its top level or under [bench]
    file : str
    faults : Faults
    origins : Origins
    """
    keys = bench
    if "bench" in bench:
        keys = bench["bench"] if isinstance(bench["bench"], dict) else {}
        if not isinstance(bench["bench"], dict):
            faults.found.append(
                Fault("bench", value_text(bench["bench"]), "a table, written [bench]", file=file)
            )
        for key in bench:
            if key != "bench":
                faults.found.append(
                    Fault(key, "a key outside [bench]", "[bench] alone, or its keys alone", file=file)
                )
    stated = tables.setdefault("bench", {})
    if isinstance(stated, dict):
        stated.update(keys)
        origins.update({key_place("bench", key): file for key in keys})


def from_their_origin(faults: Sequence[Fault], origins: Origins) -> list[Fault]:
    """The faults, with those of values set from outside under the option or file that set them.

    Parameters
    ----------
    faults : Sequence[Fault]
    origins : Origins
    """
    result = []
    for fault in faults:
        origin = next(
            (
                origin
                for place, origin in origins.items()
                if fault.place == place or fault.place.startswith(f"{place}.")
            ),
            "",
        )
        if origin.startswith("--set "):
            fault = Fault(origin, fault.found, fault.allowed, fault.hint)
        elif origin:
            fault = Fault(fault.place, fault.found, fault.allowed, fault.hint, origin)
        result.append(fault)
    return result


# --- where a path leads ----------------------------------------------------------------------------


def _apply(
    tables: dict[str, Any], path: str, value: Any, heads: Sequence[str], faults: Faults, origins: Origins
) -> None:
    head, _, rest = path.partition(".")
    if step := re.fullmatch(r"step(\d{1,6})", head):
        table = _step(tables, int(step[1]), faults)
        place: Callable[[], str] = lambda: step_place(table[0], int(step[1])) if table else ""  # noqa: E731
        keys = rest
    elif head in NAMED:
        table, keys = _named(tables, head, rest, faults)
        place = lambda: f"{head} {table[0].get('name')}" if table else ""  # noqa: E731
    elif head in heads:
        table, keys, place = [tables], path, lambda: ""
    else:
        known = [*heads, *(f"step{number}" for number in range(1, len(_steps(tables)) + 1))]
        faults.add(
            "",
            repr(head),
            "a key path such as core.gap, step2.wraps or winding.P.wire.diameter",
            nearest(head, known),
        )
        return
    if not table:
        return
    if not all(keys.split(".")):
        faults.add("", repr(path), "a key path such as core.gap, step2.wraps or winding.P.wire.diameter")
        return
    _descend(table[0], keys.split("."), value, place, path, faults, origins)


def _descend(
    table: dict[str, Any],
    keys: Sequence[str],
    value: Any,
    place_of: Callable[[], str],
    path: str,
    faults: Faults,
    origins: Origins,
) -> None:
    created = len(keys) - 1
    for depth, key in enumerate(keys[:-1]):
        if key not in table:
            created = min(created, depth)
            table[key] = {}
        inner = table[key]
        if not isinstance(inner, dict):
            faults.add(
                "",
                f"{'.'.join(keys[: depth + 1])}, which is {value_text(inner)}",
                "the path of a key inside a table",
            )
            return
        table = inner
    table[keys[-1]] = value
    for depth in range(created, len(keys)):
        where = place_of()
        for key in keys[: depth + 1]:
            where = key_place(where, key)
        origins[where] = f"--set {path}"


def _steps(tables: Mapping[str, Any]) -> list[Any]:
    build = tables.get("build")
    steps = build.get("steps") if isinstance(build, dict) else None
    return steps if isinstance(steps, list) else []


def _step(tables: Mapping[str, Any], ordinal: int, faults: Faults) -> list[dict[str, Any]]:
    """The step with that number, in a list; empty (and a fault) if there is none."""
    steps = _steps(tables)
    if 1 <= ordinal <= len(steps) and isinstance(steps[ordinal - 1], dict):
        return [steps[ordinal - 1]]
    faults.add("", f"step{ordinal}", f"step1 to step{len(steps)}" if steps else "a design with steps")
    return []


def _named(
    tables: Mapping[str, Any], kind: str, rest: str, faults: Faults
) -> tuple[list[dict[str, Any]], str]:
    """The table of a kind that ``rest`` names, and the keys after its name; a name may contain dots."""
    entries = tables.get(kind)
    rows = [row for row in entries if isinstance(row, dict)] if isinstance(entries, list) else []
    by_name = {row["name"]: row for row in rows if isinstance(row.get("name"), str)}
    matches = [name for name in by_name if rest.startswith(f"{name}.")]
    if not matches:
        stated = rest.partition(".")[0]
        allowed = f"{kind}.NAME.KEY with NAME one of {', '.join(by_name) or 'none'}"
        faults.add("", repr(stated), allowed, "" if stated in by_name else nearest(stated, by_name))
        return [], ""
    longest = max(matches, key=len)
    return [by_name[longest]], rest[len(longest) + 1 :]
