"""The sizes of the models' errors, derived from the reference cases; ``test_error_sizes`` holds the figures.

python tests/reference/error_sizes.py

Every size σ (a constant of ``field/leakage_error``, ``circuit/leakage_statement``, ``production/own_errors``)
is fitted to residuals r of the cases that bear on it. With its weight w there and the standard errors s that
are stated for other reasons,

    r ~ N(0, (w σ)² + s²)          σ at its greatest likelihood

A size is stated for the next design, not for the cases, so it is raised to what Student's t asks of a
standard deviation from n cases, t(0.975, n)/1.96, or to half of the worst residual if that is more (k = 2
must hold every case), and rounded up to the next of the preferred numbers R20. An error of one sign only
(``one_sided``) is half of the worst. Cases come from ``cases/``; where a size belongs to a pair of windings,
from the benchmark's designs (finite differences of every conductor, ``benchmarks/simulator``): both driving
sides of a pair agree there, and count as one.

The last table is from outside: what an independent simulator that nobody tunes on differs by in nominal
readings of 14 designs (median and worst), beside what is stated of ours.
"""

from __future__ import annotations

import functools
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parent))
sys.path.insert(0, str(Path(__file__).parents[1] / "published"))
sys.path.insert(0, str(Path(__file__).parents[1] / "benchmarks"))

import reading_errors as simulated
import table
import test_eddy as eddy
import test_gapped_ring as gapped_rings
import test_ring_sectors as rings
import test_sparse_rows as spaced
import test_u_opposed as opposed
import test_weak_cores as weak
import test_wound_windows as wound
from fitted_size import Row, Size

from aswound.compare.verdict import RESIDUAL
from aswound.predict import load_design
from aswound.predict.circuit import leakage_errors, leakage_statement, own_names, sections_of
from aswound.predict.field import leakage_error
from aswound.predict.production import own_errors

USUAL_FREQUENCY = 100e3
"""Where leakage of switching transformers is read (common practice)."""
OUTSIDE = {
    "leakage": (0.015, 0.07),
    "capacitance": (0.04, 0.19),
    "resonance": (0.04, 0.14),
    "ac_resistance": (0.03, 0.05),
    "quality": (0.002, 0.05),
}
"""Median and worst difference of nominal readings from an independent simulator outside of this project."""


def _solid(kind: str) -> tuple[Row, ...]:
    return tuple(
        Row(case, float(np.log(reference / ours)))
        for name, case, reference, ours in table.solids()
        if name == kind
    )


def _stacks() -> list[tuple[str, list[tuple[float, float, float]]]]:
    """Every stack of layers: frequency, deviation of R and of L."""
    return [
        (record["id"], eddy.impedances(record))
        for name in ("dev-eddy2d.jsonl", "eddy-stacks.jsonl")
        for record in eddy.records(name)
    ]


def _ring_rows() -> tuple[Row, ...]:
    """Sectors with and without a gap; builds that fill half of the hole have a size of their own."""
    return tuple(
        Row(case["id"], float(np.log(case["W"] / module.modelled(case))))
        for module in (rings, gapped_rings)
        for case in module.RECORDS
        if case["wind"][0]["i1"] <= 0.3 * case["core"]["r1"]
    )


def _weak(beside: bool, rest: float) -> tuple[Row, ...]:
    return tuple(
        Row(case["id"], float(np.log(case["ratio"])), 1 / case["mur"], rest)
        for case in weak.CASES
        if case["beside"] == beside
        and leakage_error.LEAST_PERMEABILITY <= case["mur"] < leakage_error.GUIDING
    )


@dataclass(frozen=True)
class Pair:
    """Leakage of one pair of windings in a benchmark design as drawn: residual (mean of its sides), error of
    the field model alone, near field's part."""

    case: str
    residual: float
    field: float
    near: float


@functools.cache
def pairs() -> tuple[Pair, ...]:
    """All pairs once, without the leads' part."""
    found: dict[tuple[str, float], list[Pair]] = {}
    for path in simulated.DESIGNS:
        design = load_design(path)
        said, near, own = (part[0] for part in leakage_errors(sections_of(design), design.tests))
        rows = {
            case: residual
            for kind, case, residual, _ in simulated.against_simulator(path)
            if kind == "leakage"
        }
        for index, test in enumerate(design.tests):
            residual = rows.get(f"{path.stem} {test.name}")
            if residual is None:
                continue
            pair = own_names(design, test)[0]
            part = float(near[index])
            field = (
                max(float(said[index]) ** 2 - (leakage_statement.NEAR_FIELD_ERROR * part) ** 2, 0.0) ** 0.5
            )
            one = Pair(f"{path.stem} {pair}", residual / float(own[index]), field, part)
            found.setdefault((pair, round(part, 5)), []).append(one)
    return tuple(
        Pair(group[0].case, float(np.mean([one.residual for one in group])), group[0].field, group[0].near)
        for group in found.values()
    )


def _near_rows() -> tuple[Row, ...]:
    """Pairs with a near field that counts."""
    return tuple(
        Row(pair.case, pair.residual, pair.near, float(np.hypot(pair.field, own_errors.LEAKAGE)))
        for pair in pairs()
        if pair.near > 0.05
    )


def _pair_rows() -> tuple[Row, ...]:
    near = leakage_statement.NEAR_FIELD_ERROR
    return tuple(
        Row(pair.case, pair.residual, 1.0, float(np.hypot(pair.field, near * pair.near))) for pair in pairs()
    )


def _reading_rows() -> tuple[Row, ...]:
    """What eddy currents add to the error of an inductance, at the usual frequency."""
    rows = []
    for name, points in _stacks():
        usual = min(points, key=lambda point: abs(np.log(point[0] / USUAL_FREQUENCY)))
        rows.append(Row(name, float(np.log((1 + points[0][2]) / (1 + usual[2])))))
    return tuple(rows)


def _facing_rows() -> tuple[Row, ...]:
    """Static capacitance of layers that face each other: rows of wires, whole windows (the mean of wires in
    register and displaced)."""
    rows = []
    for case in spaced.CASES:
        turns = round(spaced.CLOSE_TURNS * case["close"]["pitch"] / case["middle"]["pitch"])
        ours = spaced.per_area(spaced.design_text(case, f'{{ wind = "B", turns = {turns} }}'))
        solved = -np.array(case["C"]) / (case["middle"]["pitch"] * 1e-3)
        sides = [float(np.log(solved[0, 1] / ours["PB"])), float(np.log(solved[1, 2] / ours["BS"]))]
        rows.append(Row(f"rows {case['id']}", float(np.mean(sides))))
    for case in wound.CASES:
        mean = (np.array(case["energy_F_per_m"]) + np.array(case["displaced_F_per_m"])) / 2
        rows.append(Row(f"window {case['id']}", float(np.log(mean[0, 1] / wound.energies(case)[0, 1]))))
    return tuple(rows)


def _single(kind: str, stated: float, rest: float = 0.0) -> tuple[Row, ...]:
    """Readings of one kind in the benchmark's designs, by what their own error states of each (once)."""
    rows: dict[tuple[str, float], Row] = {}
    for path in simulated.DESIGNS:
        for found, case, residual, said in simulated.against_simulator(path):
            if found == kind:
                rows.setdefault(
                    (case.split()[-1], round(residual, 6)), Row(case, residual, said / stated, rest)
                )
    return tuple(rows.values())


@functools.cache
def sizes() -> tuple[Size, ...]:
    """Every size with its cases."""
    error, own = leakage_error, own_errors
    beside_wires = tuple(
        Row(name, float(-np.log1p(points[0][2]))) for name, points in _stacks() if name == "wire-side-by-side"
    )
    return (
        Size("CONCENTRIC_ERROR", error.CONCENTRIC_ERROR, _solid("3-D, concentric")),
        Size("SIDE_BY_SIDE_ERROR", error.SIDE_BY_SIDE_ERROR, (*_solid("3-D, side by side"), *beside_wires)),
        Size("TOROID_ERROR", error.TOROID_ERROR, _solid("3-D, ring"), "wires fan out"),
        Size("SECTOR_ERROR", error.SECTOR_ERROR, _ring_rows(), "wires fan out, ends of sectors"),
        Size(
            "OPPOSED_ERROR",
            error.OPPOSED_ERROR,
            tuple(
                Row(case["id"], float(np.log(case["W"] / opposed.modelled(case)))) for case in opposed.RECORDS
            ),
            "where the windings lie",
        ),
        Size("WEAK_CORE", error.WEAK_CORE, _weak(False, error.CONCENTRIC_ERROR), one_sided=True),
        Size("WEAK_BESIDE", error.WEAK_BESIDE, _weak(True, error.SIDE_BY_SIDE_ERROR), one_sided=True),
        Size("NEAR_FIELD_ERROR", leakage_statement.NEAR_FIELD_ERROR, _near_rows(), "few turns on a ring"),
        Size("LEAKAGE", own.LEAKAGE, _pair_rows()),
        Size("LEAKAGE_READING", own.LEAKAGE_READING, _reading_rows()),
        Size("CAPACITANCE", own.CAPACITANCE, _facing_rows(), "wires as they happen to lie"),
        Size("RESONANCE", own.RESONANCE, _single("resonance", own.RESONANCE)),
        Size("AC", own.AC, _single("ac_resistance", own.AC)),
        Size("QUALITY", own.QUALITY, _single("quality", own.QUALITY, RESIDUAL["quality"])),
        Size("RATIO", own.RATIO, _single("ratio", own.RATIO)),
    )


def outside() -> list[tuple[str, float, float, float, float, float]]:
    """Kind, median and worst from outside, median and worst against our own simulator, and the root mean
    square of what is stated there."""
    rows = [one for path in simulated.DESIGNS for one in simulated.against_simulator(path)]
    result = []
    for kind, (median, worst) in OUTSIDE.items():
        own = np.abs([row[2] for row in rows if row[0] == kind])
        said = float(np.sqrt(np.mean([row[3] ** 2 for row in rows if row[0] == kind])))
        result.append((kind, median, worst, float(np.median(own)), float(own.max()), said))
    return result


def _lines(found: Sequence[Size]) -> list[str]:
    lines = [
        f"{'size':20}{'n':>4}{'fitted':>9}{'half worst':>12}{'derived':>9}{'rounded':>9}{'stated':>9}  judged"
    ]
    for size in found:
        numbers = (size.fitted, size.worst, size.derived, size.rounded, size.stated)
        shown = "".join(
            f"{number:{width}.4g}" for number, width in zip(numbers, (9, 12, 9, 9, 9), strict=True)
        )
        lines.append(f"{size.name:20}{len(size.rows):>4}{shown}  {size.judged}")
    return lines


def main() -> None:
    """Print both tables."""
    print("\n".join(_lines(sizes())))
    print(
        f"\n{'per cent':16}{'outside: median':>16}{'worst':>7}{'ours: median':>14}{'worst':>7}{'stated':>8}"
    )
    for kind, *numbers in outside():
        columns = zip(numbers, (16, 7, 14, 7, 8), strict=True)
        print(f"{kind:16}" + "".join(f"{100 * number:{width}.2f}" for number, width in columns))


if __name__ == "__main__":
    main()
