"""What two minutes at the bench are worth: gap-like causes told apart by a reading before and after
something is done.

    python tests/benchmarks/interventions.py [--set tuning|reported] [--parts N] [--seed N] [--design NAME]

Parts with a cause out of {gap, ungapped, unseated, material, cracked, bias}, read by the twelve tests;
then the open inductance is read again with the halves clamped, after demagnetising, and after both.
Printed: exact top-1 among the causes, on all and on detectable faults, with 95 % intervals.
"""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from pathlib import Path

import tables
from diagnosis import HERE, Distances, readings_of
from judging import Verdict, judge
from simulator.interventions import read_again
from simulator.samples import Sample, generator, make

from aswound.compare import explain
from aswound.compare.readings.file import Reading
from aswound.predict import load_design

CAUSES = ("gap", "ungapped", "unseated", "material", "cracked", "bias")
SETS: tuple[tuple[str, ...], ...] = ((), ("clamped",), ("demagnetised",), ("clamped", "demagnetised"))


def rows(sample: Sample, words: Sequence[str], seed: int) -> list[Reading]:
    """The readings of a sample, and those of its open inductance after each treatment."""
    plain = readings_of(sample, [test.name for test in sample.part.tests])
    result = list(plain)
    test = sample.part.tests[0]
    before = next(reading for reading in plain if reading.test == test.name)
    assert before.value is not None
    for word in words:
        rng = generator(seed, sample.design, sample.name, word)
        value = read_again(sample.part, word, test, before.value, rng)
        result.append(
            Reading(
                sample=sample.name, test=test.name, value=value, uncertainty=before.uncertainty, stage=word
            )
        )
    return result


def experiment(path: Path, parts: int, seed: int) -> list[list[Verdict]]:
    """Verdicts of one design for each set of treatments."""
    design = load_design(path)
    made = make(path, seed, parts, sound=0)
    samples = [sample for sample in made if sample.kind == "single" and sample.done[0].cause in CAUSES]
    distances = Distances(path, [test.name for test in samples[0].part.tests])
    result = []
    for words in SETS:
        found = explain(design, [row for sample in samples for row in rows(sample, words, seed)])
        verdicts = []
        for sample, diagnosis in zip(samples, found, strict=True):
            distance = distances.of(sample.values)
            verdicts.append(judge(sample, diagnosis, 12, distance, distance > distances.limit))
        result.append(verdicts)
    return result


def main() -> None:
    """Run and print."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--set", choices=("tuning", "reported"), default="tuning")
    parser.add_argument("--parts", type=int, default=3)
    parser.add_argument("--seed", type=int, default=3)
    parser.add_argument("--design", help="only designs whose name contains this")
    options = parser.parse_args()
    paths = sorted((HERE / "designs" / options.set).glob("*.toml"))
    every: list[list[Verdict]] = [[] for _ in SETS]
    for path in paths:
        if options.design is None or options.design in path.stem:
            for total, part in zip(every, experiment(path, options.parts, options.seed), strict=True):
                total += part
    print(f"{'gap-like causes, exact top-1 among the causes':48}{'all':36}detectable")
    for words, verdicts in zip(SETS, every, strict=True):
        seen = [verdict for verdict in verdicts if verdict.detectable]
        title = "twelve readings" + "".join(f", {word}" for word in words)
        test = tables.top("rank_among_causes", 1)
        print(f"{title:48}{tables.share(verdicts, test)[1]:36}{tables.share(seen, test)[1]}")


if __name__ == "__main__":
    main()
