"""How often sound parts are sent back: parts of the tool's own production, read on the bench of their design.

Random builds with the models' errors and the set-up (``spread``), each read once with the bench's own
uncertainty; what ``compare`` and ``explain`` would end with (status 1), and how often a score is beyond 3.
Builds with other layers than drawn are parts of another kind, which ``explain`` calls by that name: they are
left out.

    python tests/benchmarks/false_alarms.py [--parts 100] [--design NAME] [--seed 7] [--only compare]
"""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from zlib import crc32

import numpy as np
from ladder import RUNGS

from aswound.compare import compare, explain
from aswound.compare.readings import Reading
from aswound.compare.verdict import handled_uncertainty
from aswound.predict import Design, load_design, parse_design
from aswound.predict.circuit import beyond_search, predict_bench, stated_temperature
from aswound.predict.production import spread

ROOT = Path(__file__).parents[2]
ORIGINS = ("build", "model", "setup")
SPARE = 4
"""Builds drawn for each part asked for: enough where up to three in four have other layers."""


@dataclass(frozen=True)
class Alarms:
    """Of ``parts`` sound parts: how many ``compare`` and ``explain`` end with status 1 (None: not asked), and
    of ``leakages`` and ``readings`` how many score beyond 3."""

    parts: int
    compared: int
    explained: int | None
    leakages: int
    leakages_beyond: int
    readings: int
    readings_beyond: int
    broken: int

    def __add__(self, other: Alarms) -> Alarms:
        explained = None if self.explained is None else self.explained + (other.explained or 0)
        sums = {
            name: getattr(self, name) + getattr(other, name)
            for name in Alarms.__annotations__
            if name != "explained"
        }
        return Alarms(explained=explained, **sums)

    def __str__(self) -> str:
        told = "" if self.explained is None else f"explain {100 * self.explained / self.parts:5.2f} %   "
        return (
            f"{self.parts:6d} parts   {told}compare {100 * self.compared / self.parts:5.2f} %   "
            f"|score| > 3: leakage {100 * self.leakages_beyond / max(self.leakages, 1):5.2f} %, "
            f"all {100 * self.readings_beyond / self.readings:5.2f} %   "
            f"checks {100 * self.broken / self.parts:5.2f} %"
        )


def designs() -> Iterator[tuple[str, Design]]:
    """Samples and rungs of the ladder."""
    for path in sorted((ROOT / "samples").glob("*.toml")):
        yield path.stem, load_design(path)
    for name, text in RUNGS.items():
        yield name, parse_design(text)


def sound_parts(design: Design, parts: int, seed: int) -> list[Reading]:
    """Readings of ``parts`` random builds whose layers are as drawn, meter and handling included (normal)."""
    found = spread(design, SPARE * parts, seed, origins=ORIGINS, shares=False)
    built = found.samples if found.designed is None else found.samples[found.designed]
    impedance = predict_bench(design).impedance
    rng = np.random.default_rng(seed)
    rows = []
    for number, values in enumerate(built[:parts]):
        for place, test in enumerate(design.tests):
            value = float(values[place])
            if beyond_search(test.measure, value):
                continue
            own = float(handled_uncertainty(design, test, np.asarray(value), complex(impedance[place])))
            shown = value + own * float(rng.standard_normal())
            warm = stated_temperature(design, test) if test.measure == "resistance" else None
            rows.append(Reading(sample=f"part {number}", test=test.name, value=shown, temperature=warm))
    return rows


def alarms(design: Design, parts: int, seed: int = 7, *, explained: bool = True) -> Alarms:
    """What the commands make of ``parts`` sound parts of ``design``."""
    rows = sound_parts(design, parts, seed)
    compared = compare(design, rows)
    shorted = {test.name for test in design.tests if test.short}
    scores = [
        (test.name in shorted, abs(test.score) > 3.0)
        for sample in compared
        for test in sample.tests
        if test.score is not None
    ]
    blamed = None
    if explained:
        blamed = sum(one.deviates for one in explain(design, rows))
    return Alarms(
        len(compared),
        sum(sample.deviates for sample in compared),
        blamed,
        sum(leakage for leakage, _ in scores),
        sum(beyond for leakage, beyond in scores if leakage),
        len(scores),
        sum(beyond for _, beyond in scores),
        sum(any(not check.holds for check in sample.checks) for sample in compared),
    )


def main() -> None:
    """Every sample and rung, and all together."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--parts", type=int, default=100)
    parser.add_argument("--seed", type=int, default=7)
    parser.add_argument("--design", help="only designs whose name contains this")
    parser.add_argument("--only", choices=("compare",), help="leave explain out, which takes longest")
    options = parser.parse_args()
    total: Alarms | None = None
    for name, design in designs():
        if options.design is None or options.design in name:
            seed = options.seed + crc32(name.encode())  # else all designs draw the same wires
            one = alarms(design, options.parts, seed, explained=options.only is None)
            total = one if total is None else total + one
            print(f"{name:16}{one}", flush=True)
    print(f"{'all':16}{total}")


if __name__ == "__main__":
    main()
