"""How often the diagnosis is right: parts of an independent simulator with known causes, judged by
``explain``.

    python tests/benchmarks/diagnosis.py [--set tuning|reported|pairs] [--readings 12|5] [--parts N]
        [--seed N] [--errors X] [--jobs 1] [--design NAME] [--save FILE.jsonl]

For every design of the set: sound parts, N parts of each of 26 causes (fixed severities), double faults,
further causes, causes outside the catalogue, slips of unit and row. Prints ranks of the true cause among
everything and among the causes, on all and on detectable faults, by family, by cause and by design;
calibration; time. The designs of the tuning set are there to be looked at while the diagnosis is changed;
those of the reported set are not.
"""

from __future__ import annotations

import argparse
import json
import time
from collections.abc import Iterable, Sequence
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from pathlib import Path

import numpy as np
import tables
from judging import Verdict, judge
from scipy.stats import chi2
from simulator.bench import display
from simulator.layers import Array
from simulator.samples import FIVE, Sample, generator, make, nominal_part
from simulator.spreads import metered, model_error, produced, reading_errors, uncertainty

from aswound.compare import explain
from aswound.compare.diagnosis.conclusion import Diagnosis
from aswound.compare.readings.file import Reading
from aswound.predict import Design, load_design

HERE = Path(__file__).parent
SOUND_FOR_COVARIANCE = 200
POINT = 0.995
"""Detectable: beyond this point of χ² of the Mahalanobis distance from the nominal reading."""


def logarithms(values: Array) -> Array:
    """ln |reading|: where readings are compared."""
    return np.asarray(np.log(np.maximum(np.abs(values), 1e-18)))


class Distances:
    """Mahalanobis distance² from the nominal readings under the benchmark's own production, model error and
    meter, from ``SOUND_FOR_COVARIANCE`` sound parts."""

    def __init__(self, path: Path, names: Sequence[str], errors: float = 0.0) -> None:
        nominal = nominal_part(path)
        self.index = [k for k, test in enumerate(nominal.tests) if test.name in names]
        plain = display(nominal)
        self.sign = np.sign(plain[self.index])
        self.centre = logarithms(plain)[self.index]
        for k, test in enumerate(nominal.tests):
            if test.measure == "resonance" and k in self.index:
                self.centre[self.index.index(k)] = logarithms(plain)[k]
        rng = generator(0, path.stem, "covariance")
        rows = []
        for _ in range(SOUND_FOR_COVARIANCE):
            part = produced(nominal, model_error(rng), rng)
            row = logarithms(metered(part, part.tests, display(part), rng))
            away = reading_errors(nominal, errors, rng)
            row = row + [0.0 if test.measure == "phase" else away[test.name] for test in part.tests]
            rows.append(row[self.index] - self.centre)
        away = np.stack(rows)
        self.inverse = np.linalg.inv(away.T @ away / len(away) + 1e-8 * np.eye(len(self.index)))
        self.limit = float(chi2.ppf(POINT, len(self.index)))

    def of(self, values: Array) -> float:
        """Distance² of a sample; a reading of the wrong sign is beyond any limit."""
        if np.any(np.sign(values[self.index]) != self.sign):
            return float("inf")
        away = logarithms(values)[self.index] - self.centre
        return float(away @ self.inverse @ away)


def readings_of(sample: Sample, names: Iterable[str]) -> list[Reading]:
    """The sample's readings as they stand in a file."""
    wanted = set(names)
    return [
        Reading(
            sample=sample.name,
            test=test.name,
            value=float(value),
            uncertainty=uncertainty(sample.part, test, float(value)) / 2,
        )
        for test, value in zip(sample.part.tests, sample.values, strict=True)
        if test.name in wanted
    ]


def diagnosed(
    design: Design, samples: Sequence[Sample], names: Sequence[str]
) -> tuple[tuple[Diagnosis, ...], float]:
    """Diagnoses of all samples in one call, and the seconds of each beyond the first."""
    start = time.perf_counter()
    explain(design, readings_of(samples[0], names))
    first = time.perf_counter() - start
    readings = [reading for sample in samples for reading in readings_of(sample, names)]
    start = time.perf_counter()
    found = explain(design, readings)
    whole = time.perf_counter() - start
    return found, max(whole - first, 0.0) / max(len(samples) - 1, 1)


def judged(
    path: Path, *, readings: int, parts: int, seed: int, errors: float = 0.0
) -> tuple[list[Verdict], float, int]:
    """All verdicts of one design, seconds a sample, and the number of samples."""
    samples = list(make(path, seed, parts, errors=errors))
    names = FIVE if readings == 5 else tuple(test.name for test in samples[0].part.tests[:12])
    distances = Distances(path, names, errors)
    found, seconds = diagnosed(load_design(path), samples, names)
    verdicts = []
    for sample, diagnosis in zip(samples, found, strict=True):
        distance = distances.of(sample.values)
        verdicts.append(judge(sample, diagnosis, readings, distance, distance > distances.limit))
    return verdicts, seconds, len(samples)


def print_all(verdicts: Sequence[Verdict], readings: int, seconds: float) -> None:
    """Every table."""
    for title, lines in (
        ("Ranks of the true cause", tables.main_table(verdicts)),
        ("Other samples", tables.others_table(verdicts)),
        ("Calibration of what leads (single faults and sound parts)", tables.reliability(verdicts)),
        ("By cause, in %", tables.by_cause(verdicts)),
        ("By design, in %", tables.by_design(verdicts)),
        ("Bars", tables.bars(verdicts, readings, seconds)),
    ):
        print(f"\n{title}\n" + "\n".join(lines))


def main() -> None:
    """Run the benchmark as the options say."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--set", choices=("tuning", "reported", "pairs"), default="tuning")
    parser.add_argument("--readings", type=int, choices=(12, 5), default=12)
    parser.add_argument("--parts", type=int, default=3, help="parts of each cause and design")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument(
        "--errors", type=float, default=1.0, help="scale of the models' errors in single readings, 0: none"
    )
    parser.add_argument("--jobs", type=int, default=1)
    parser.add_argument("--design", help="only designs whose name contains this")
    parser.add_argument("--save", type=Path, help="one line of JSON a sample")
    options = parser.parse_args()
    paths = sorted((HERE / "designs" / options.set).glob("*.toml"))
    paths = [path for path in paths if options.design is None or options.design in path.stem]
    if not paths:
        parser.error("no such design")
    work = partial(
        judged, readings=options.readings, parts=options.parts, seed=options.seed, errors=options.errors
    )
    start = time.perf_counter()
    if options.jobs > 1:
        with ProcessPoolExecutor(options.jobs) as pool:
            results = list(pool.map(work, paths))
    else:
        results = [work(path) for path in paths]
    verdicts = [verdict for found, _, _ in results for verdict in found]
    count = sum(number for _, _, number in results)
    seconds = sum(each * number for _, each, number in results) / count
    if options.save:
        lines = [json.dumps(verdict.row()) for verdict in verdicts]
        options.save.write_text("\n".join(lines) + "\n", encoding="utf-8")
    print(
        f"{len(paths)} designs of the {options.set} set, {options.readings} readings, {count} samples, "
        f"seed {options.seed}, errors of single readings × {options.errors:g}; "
        f"{time.perf_counter() - start:.0f} s"
    )
    print_all(verdicts, options.readings, seconds)


if __name__ == "__main__":
    main()
