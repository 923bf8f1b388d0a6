"""Whether the tests that the diagnosis proposes next are worth more than any others.

    python tests/benchmarks/next_tests.py [--set tuning|reported] [--parts N] [--seed N] [--design NAME]

Every part is read by the five usual tests. Then, three times, the first test that ``explain`` proposes is
read too and the part is explained again (nothing more is read where it proposes nothing); beside that,
three tests drawn at random out of the same candidates. The simulator reads whatever is proposed. Printed:
top-1 with 95 % intervals.
"""

from __future__ import annotations

import argparse
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import tables
from diagnosis import HERE
from judging import Verdict, interval, judge
from simulator.bench import display
from simulator.parts import Test
from simulator.samples import FIVE, Sample, generator, make
from simulator.spreads import metered, uncertainty

from aswound.compare import explain
from aswound.compare.diagnosis.conclusion import Diagnosis, NextTest
from aswound.compare.hypotheses.candidates import candidates
from aswound.compare.readings.file import Reading
from aswound.predict import Design, load_design
from aswound.predict.design import BenchTest, Port

ROUNDS = 3


@dataclass
class Read:
    """A sample with everything that could be read on it, and the names of what has been read."""

    sample: Sample
    values: dict[str, float]
    names: list[str]


def words(port: Port) -> tuple[str, ...]:
    """A port as the simulator names it."""
    return tuple(("-" if member.reversed else "") + member.name for member in port)


def simulated(test: BenchTest) -> Test:
    """A test of the tool as one of the simulator."""
    return Test(
        test.name,
        test.measure,
        words(test.drive),
        words(test.short),
        words(test.sense),
        test.frequency,
        test.level,
        test.equivalent or "series",
    )


def extended(design: Design) -> Design:
    """The design with all candidates for a next test among its tests."""
    known = {test.name for test in design.tests}
    more = [test for test, _ in candidates(design) if test.name not in known]
    named = tuple(replace(test, name=f"extra {number}") for number, test in enumerate(more, 1))
    return replace(design, tests=(*design.tests, *named))


def read_everything(design: Design, samples: Sequence[Sample], seed: int) -> list[Read]:
    """All tests of the extended design, read on every sample; those of the file keep their readings."""
    extra = [simulated(test) for test in design.tests if test.name.startswith("extra ")]
    result = []
    for sample in samples:
        rng = generator(seed, sample.design, sample.name, "extra")
        values = {
            test.name: float(value) for test, value in zip(sample.part.tests, sample.values, strict=True)
        }
        for test in extra:  # the bench's faults act on tests made up later as well
            _as_on_this_bench(sample, test)
        shown = metered(sample.part, extra, display(sample.part, extra), rng)
        values |= {test.name: float(value) for test, value in zip(extra, shown, strict=True)}
        result.append(Read(sample, values, list(FIVE)))
    return result


def _as_on_this_bench(sample: Sample, test: Test) -> None:
    """A wrong short is a habit of the bench: what was shorted in the file's tests is in new ones too."""
    if sample.label == "wrong-short" and test.short:
        shorted = next(one for one in sample.part.tests if one.name == "Lk_P").short
        test.short = shorted


def explained(design: Design, reads: Sequence[Read]) -> tuple[Diagnosis, ...]:
    """Diagnoses of all samples by what has been read of each."""
    tests = {test.name: simulated(test) for test in design.tests}
    rows = []
    for one in reads:
        for name in one.names:
            value = one.values[name]
            width = uncertainty(one.sample.part, tests[name], value) / 2
            rows.append(Reading(sample=one.sample.name, test=name, value=value, uncertainty=width))
    return explain(design, rows)


def proposed(design: Design, test: NextTest) -> str | None:
    """The name of a proposed test in the extended design."""
    for one in design.tests:
        same = (one.measure, ", ".join(words(one.drive)), ", ".join(words(one.short)), one.frequency)
        sense = ", ".join(words(one.sense))
        if same == (test.measure, test.drive, test.short, test.frequency) and sense == test.sense:
            return one.name
    return None


def judged(reads: Sequence[Read], found: Sequence[Diagnosis]) -> list[Verdict]:
    """Verdicts; how far the sample is from the nominal one is of no interest here."""
    return [
        judge(one.sample, diagnosis, len(one.names), 0.0, True)
        for one, diagnosis in zip(reads, found, strict=True)
    ]


def experiment(
    path: Path, parts: int, seed: int
) -> tuple[list[list[Verdict]], list[list[Verdict]], Counter[str]]:
    """Verdicts after 0 to 3 further tests, chosen and at random; what was chosen first."""
    design = extended(load_design(path))
    samples = [sample for sample in make(path, seed, parts, sound=0) if sample.kind == "single"]
    first: Counter[str] = Counter()
    by_name = {test.name: test for test in design.tests}
    every: list[list[list[Verdict]]] = []
    for chosen in (True, False):
        reads = read_everything(design, samples, seed)
        found = explained(design, reads)
        rounds = [judged(reads, found)]
        rng = generator(seed, path.stem, "random tests")
        for number in range(ROUNDS):
            for one, diagnosis in zip(reads, found, strict=True):
                name = _next(design, one, diagnosis, rng, chosen=chosen)
                if name is not None:
                    one.names.append(name)
                if chosen and number == 0:
                    first[_short(by_name[name]) if name else "nothing"] += 1
            found = explained(design, reads)
            rounds.append(judged(reads, found))
        every.append(rounds)
    return every[0], every[1], first


def _next(
    design: Design, one: Read, diagnosis: Diagnosis, rng: np.random.Generator, *, chosen: bool
) -> str | None:
    if not chosen:
        left = [test.name for test in design.tests if test.name not in one.names]
        return left[int(rng.integers(len(left)))]
    for test in diagnosis.next_tests:
        if test.intervention:
            continue  # these are judged by interventions.py
        name = proposed(design, test)
        if name is not None and name not in one.names:
            return name
    return None


def _short(test: BenchTest) -> str:
    shorted = f" with {', '.join(words(test.short))} shorted" if test.short else ""
    return f"{test.measure} {', '.join(words(test.drive))}{shorted}"


def main() -> None:
    """Run and print."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--set", choices=("tuning", "reported"), default="tuning")
    parser.add_argument("--parts", type=int, default=1)
    parser.add_argument("--seed", type=int, default=2)
    parser.add_argument("--design", help="only designs whose name contains this")
    options = parser.parse_args()
    paths = sorted((HERE / "designs" / options.set).glob("*.toml"))
    paths = [path for path in paths if options.design is None or options.design in path.stem]
    chosen: list[list[Verdict]] = [[] for _ in range(ROUNDS + 1)]
    drawn: list[list[Verdict]] = [[] for _ in range(ROUNDS + 1)]
    first: Counter[str] = Counter()
    for path in paths:
        one, other, names = experiment(path, options.parts, options.seed)
        for number in range(ROUNDS + 1):
            chosen[number] += one[number]
            drawn[number] += other[number]
        first += names
    for rank, words_ in (("rank", "among everything"), ("rank_among_causes", "among the causes")):
        print(f"\ntop-1 {words_}, five readings and more   chosen{'':30}at random")
        for number in range(ROUNDS + 1):
            test = tables.top(rank, 1)
            line = f"{number} more{'':36}{tables.share(chosen[number], test)[1]:36}"
            print(line + tables.share(drawn[number], test)[1])
        ours = sum(tables.top(rank, 1)(verdict) for verdict in chosen[-1])
        theirs = sum(tables.top(rank, 1)(verdict) for verdict in drawn[-1])
        apart = interval(ours, len(chosen[-1]))[0] > interval(theirs, len(drawn[-1]))[1]
        gain = np.array(
            [float(test(one)) - float(test(other)) for one, other in zip(chosen[-1], drawn[-1], strict=True)]
        )
        half = 196 * gain.std() / np.sqrt(len(gain))
        print(
            f"three chosen beat three at random by {100 * gain.mean():.1f} points (the same parts: "
            f"± {half:.1f}); intervals apart: {apart}"
        )
    print("\nchosen first: " + ", ".join(f"{name} {number}" for name, number in first.most_common(12)))


if __name__ == "__main__":
    main()
