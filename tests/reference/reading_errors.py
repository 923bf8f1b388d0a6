"""Residuals of the models in single readings, in units of what they state. Figures; ``error_sizes`` derives
the sizes from them.

python tests/reference/reading_errors.py

Residuals of the models against three-dimensional field solutions (``table.solids``) and against the
benchmark's simulator (finite differences of every conductor, conformal maps, plates: no common code), all
designs as drawn; z is the residual over what the models state of themselves (``predict/production/
own_errors.py`` and, for leakage, the field model's own half). With sizes that are right the root mean
square of z is about 1; below 0.5 they would be too large.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1] / "benchmarks"))

from simulator.bench import display
from simulator.samples import nominal_part

from aswound.predict import load_design, readings
from aswound.predict.circuit import leakage_errors, sections_of
from aswound.predict.design import BenchTest
from aswound.predict.field import leakage_error
from aswound.predict.production import own_errors, reading_errors

HERE = Path(__file__).parent
DESIGNS = sorted((HERE.parent / "benchmarks" / "designs").glob("*/*.toml"))
Residual = tuple[str, str, float, float]
"""Kind, design and test, residual in the logarithm, what is stated of it."""


def kind_of(test: BenchTest) -> str:
    """The measure, leakage apart from other inductances."""
    return "leakage" if test.measure == "inductance" and test.short else test.measure


def against_simulator(path: Path) -> Iterator[Residual]:
    """Every reading of a design as drawn, and the differences of its two sides."""
    design, part = load_design(path), nominal_part(path)
    part.bench.temperature = 20.0
    ours, theirs = np.ravel(readings(design)), display(part)
    residual = np.log(np.abs(theirs / ours))
    effects = np.array([error.effect for error in reading_errors(design)])
    field = leakage_errors(sections_of(design), design.tests)[0][0] / np.sqrt(2)
    size = np.sqrt(np.sum(effects**2, axis=0))
    places = {test.name: number for number, test in enumerate(design.tests)}
    for place, test in enumerate(design.tests):
        stated = float(np.hypot(size[place], field[place])) if kind_of(test) == "leakage" else size[place]
        if stated > 0 and kind_of(test) != "inductance":  # whose permeance is a tolerance of the core
            yield kind_of(test), f"{path.stem} {test.name}", float(residual[place]), float(stated)
    for one, other in (("Lk_P", "Lk_S"), ("L_P", "L_S")):
        if one in places and other in places:
            a, b = places[one], places[other]
            apart = float(np.sqrt(np.sum((effects[:, a] - effects[:, b]) ** 2)))
            yield f"{one} less {other}", path.stem, float(residual[a] - residual[b]), apart


def against_fields() -> Iterator[Residual]:
    """The three-dimensional cases."""
    import table

    for kind, case, reference, ours in table.solids():
        if kind.startswith("3-D"):
            beside, ring = leakage_error.SIDE_BY_SIDE_ERROR, leakage_error.TOROID_ERROR
            stated = beside if "side" in kind else ring if "ring" in kind else leakage_error.CONCENTRIC_ERROR
            yield kind, case, float(np.log(reference / ours)), float(np.hypot(own_errors.LEAKAGE, stated))


def residuals() -> list[Residual]:
    """All of them."""
    return [*against_fields(), *(one for path in DESIGNS for one in against_simulator(path))]


def root_mean_square(rows: list[Residual]) -> float:
    """Of z."""
    return float(np.sqrt(np.mean([(residual / stated) ** 2 for *_, residual, stated in rows])))


def main() -> None:
    """Print kind by kind: number, median, worst and root mean square in per cent, what is stated, and z."""
    found = residuals()
    print(f"{'kind':22}{'n':>4}{'median':>9}{'worst':>9}{'rms':>8}{'stated':>9}{'rms z':>8}  worst case")
    for kind in dict.fromkeys(row[0] for row in found):
        rows = [row for row in found if row[0] == kind]
        sizes = 100 * np.abs([row[2] for row in rows])
        stated = 100 * float(np.sqrt(np.mean([row[3] ** 2 for row in rows])))
        worst = max(rows, key=lambda row: abs(row[2]))
        print(
            f"{kind:22}{len(rows):>4}{np.median(sizes):>8.2f}%{sizes.max():>8.2f}%"
            f"{np.sqrt(np.mean(sizes**2)):>7.2f}%{stated:>8.2f}%{root_mean_square(rows):>8.2f}  {worst[1]}"
        )


if __name__ == "__main__":
    main()
