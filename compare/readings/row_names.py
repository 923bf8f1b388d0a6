"""Rows of a part without a drawing: which test each is, from its name or its own columns.

Names are those of the tests that a design without tests gets: ``L_P`` open inductance (``L_P+S``,
``L_P-S``: two windings in series, aiding and opposing), ``Lk_P`` leakage with all other windings shorted,
``Lk_P_S`` with S shorted, ``n_P_S`` voltage ratio, ``R_P`` direct-current resistance; and ``M_P_S`` mutual
inductance, ``Q_P`` quality, ``Rac_P`` alternating-current resistance, ``C_P_S`` capacitance between
windings, ``f_P`` resonance and ``f_P_S`` resonance with S shorted. Rows with other names say what they are
in the columns ``measure``, ``drive``, ``short``, ``sense`` and ``equivalent`` (windings in series as "P +
S" or "P - S"; several shorts separated by blanks).
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace

from ...predict.design import BenchTest, Member, Port
from ...predict.errors import Faults, nearest
from ...predict.measures import MEASURES
from .delimited import Table
from .shapes import name_and_unit

OWN_COLUMNS = ("measure", "drive", "short", "sense", "equivalent")
"""Columns by which a row says what it is; ``frequency`` is a column of every readings file."""
_PREFIXES = {
    "L": "inductance",
    "Lk": "inductance",
    "R": "resistance",
    "n": "ratio",
    "M": "mutual",
    "Q": "quality",
    "Rac": "ac_resistance",
    "C": "capacitance",
    "f": "resonance",
}
_PAIRS = ("n", "M", "C")
_SHORTED = ("Lk", "f")
NAMES = (
    "L_P, L_P+S, L_P-S, Lk_P, Lk_P_S, n_P_S, R_P, M_P_S, Q_P, Rac_P, C_P_S, f_P or f_P_S (with your "
    "windings' names)"
)


def windings_of(tests: Mapping[str, BenchTest]) -> tuple[str, ...]:
    """Names of all windings, in the order in which the tests name them."""
    ports = [port for test in tests.values() for port in (test.drive, test.sense, test.short)]
    return tuple(dict.fromkeys(member.name for port in ports for member in port))


def tests_of(table: Table, faults: Faults, drawn: Mapping[str, BenchTest]) -> dict[str, BenchTest]:
    """The test behind every name in a file.

    Parameters
    ----------
    table : Table
        The table.
    faults : Faults
        Receives names without a meaning, and rows that contradict each other.
    drawn : Mapping[str, BenchTest]
        Tests of a design by name, whose names come first; empty without a design.
    """
    columns = [heading.name for heading in table.headings]
    rows = [(row.line, dict(zip(columns, row.cells, strict=True))) for row in table.rows]
    stated = {cells.get("test", "") for _, cells in rows}
    known = {name.partition("_")[2] for name in stated if name.partition("_")[0] in ("L", "R")} - {""}
    named: dict[str, BenchTest] = {}
    for line, cells in rows:
        name = cells.get("test", "")
        if not name:
            continue
        test: BenchTest | None
        if cells.get("measure"):
            test = _from_columns(name, cells, faults, line)
        else:
            test = drawn.get(name) or _from_name(name, known)
        if test is None:
            if not cells.get("measure"):
                faults.add(f"line {line}, test", repr(name), NAMES, _meant(name, drawn))
        elif name in named and named[name] != test:
            faults.add(f"line {line}, test", f"{name!r} as another test than above", "one meaning for a name")
        else:
            named[name] = test
    return _all_others(named)


def _meant(name: str, drawn: Mapping[str, BenchTest]) -> str:
    """What to do about a name without a meaning."""
    if drawn:
        return nearest(name, drawn) or f"Tests of the design: {', '.join(drawn)}."
    return (
        "--design FILE takes the names of a design's tests; or say what it is in the columns measure, drive, "
        "short, sense."
    )


def tests_in_header(texts: Sequence[str]) -> dict[str, BenchTest]:
    """Tests that the headings of a wide table name ("L_P", "Lk_P [uH]"); other headings are skipped."""
    names = [name_and_unit(text)[0] for text in texts]
    known = {name.partition("_")[2] for name in names if name.partition("_")[0] in ("L", "R")} - {""}
    found = {name: test for name in names if (test := _from_name(name, known)) is not None}
    return _all_others(found)


def _from_name(name: str, known: set[str]) -> BenchTest | None:
    prefix, _, rest = name.partition("_")
    if prefix not in _PREFIXES or not rest:
        return None
    measure = _PREFIXES[prefix]
    in_series = re.fullmatch(r"(.+)([+-])(.+)", rest)
    if prefix == "L" and in_series is not None and {in_series[1], in_series[3]} <= known - {rest}:
        return BenchTest(
            name=name,
            measure=measure,
            drive=(Member(in_series[1]), Member(in_series[3], in_series[2] == "-")),
        )
    parts = _split(rest, known)
    drive = (Member(parts[0]),)
    if prefix in _PAIRS or (prefix in _SHORTED and len(parts) == 2):
        if len(parts) != 2:
            return None
        second = (Member(parts[1]),)
        if prefix in _SHORTED:
            return BenchTest(name=name, measure=measure, drive=drive, short=second)
        return BenchTest(name=name, measure=measure, drive=drive, sense=second)
    if len(parts) != 1:
        return None
    return BenchTest(name=name, measure=measure, drive=drive, short=(Member(""),) if prefix == "Lk" else ())


def _split(text: str, known: set[str]) -> list[str]:
    """One or two names of windings: a known name whole, else split at the first underscore that makes
    sense."""
    if text in known:
        return [text]
    cuts = [index for index, sign in enumerate(text) if sign == "_"]
    pairs = [[text[:cut], text[cut + 1 :]] for cut in cuts if text[:cut] and text[cut + 1 :]]
    for pair in pairs:
        if set(pair) <= known:
            return pair
    return pairs[0] if pairs else [text]


def _all_others(tests: dict[str, BenchTest]) -> dict[str, BenchTest]:
    """``Lk_P`` shorts every other winding that the file knows."""
    names = [name for name in windings_of(tests) if name]
    result = {}
    for name, test in tests.items():
        if test.short == (Member(""),):
            others = tuple(Member(second) for second in names if second != test.drive[0].name)
            test = replace(test, short=others)
        result[name] = test
    return result


def _from_columns(name: str, cells: Mapping[str, str], faults: Faults, line: int) -> BenchTest | None:
    before = len(faults.found)
    measure = cells["measure"].replace(" ", "_")
    if measure not in MEASURES:
        faults.add(
            f"line {line}, measure", repr(cells["measure"]), ", ".join(MEASURES), nearest(measure, MEASURES)
        )
    if not cells.get("drive"):
        faults.add(f"line {line}, drive", "an empty cell", "the driven winding, or several as 'P + S'")
    circuit = cells.get("equivalent", "")
    if circuit not in ("", "series", "parallel"):
        faults.add(f"line {line}, equivalent", repr(circuit), "series or parallel")
    if measure in ("ratio", "mutual") and not cells.get("sense"):
        faults.add(f"line {line}, sense", "an empty cell", f"the sensed winding of a {measure}")
    if len(faults.found) > before:
        return None
    short = tuple(Member(part) for part in re.split(r"[\s+]+", cells.get("short", "").strip()) if part)
    return BenchTest(
        name=name,
        measure=measure,
        drive=_port(cells["drive"]),
        short=short,
        sense=_port(cells.get("sense", "")),
        equivalent=circuit or None,  # type: ignore[arg-type]
    )


def _port(text: str) -> Port:
    """ "P + S", "P - S", "P"."""
    parts = re.findall(r"([+-]?)\s*([^\s+-]+)", text)
    return tuple(Member(name, sign == "-") for sign, name in parts)
