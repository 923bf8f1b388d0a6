"""What a known-good sample is worth: the same faulty parts, explained by the design as drawn and as
calibrated.

    python tests/benchmarks/known_good.py [--set tuning|reported] [--parts N] [--sound N] [--golden N]
        [--shops N] [--seed N] [--errors X] [--design NAME]

A shop's parts share how far every model is off (``ModelError``), and by how much in each pair of windings and
each reading (``reading_errors``, ``--errors`` times their sizes); production differs from part to part. Of
each design and shop, ``--golden`` sound parts are read, ``aswound.compare.lots.calibration.learn`` makes a
calibrated design of them, and other parts of that shop, with single causes and sound, are explained with
and without it. All sound parts of a shop stand against the same few known-good ones: where those lie at one
edge of production, every part of that shop seems off to the other side, so that shops count, not parts.
"""

from __future__ import annotations

import argparse
from pathlib import Path

import numpy as np
import tables
from diagnosis import HERE, readings_of
from judging import AS_DESIGNED, Verdict, judge
from simulator.samples import Sample, displaced, generator, golden, make, nominal_part
from simulator.spreads import model_error, reading_errors

from aswound.compare import explain
from aswound.compare.lots.calibration import learn
from aswound.predict import load_design

Judged = tuple[list[Verdict], list[bool]]
"""Verdicts of the parts of one shop, and whether ``explain`` decides against each (its status 1)."""


def experiment(path: Path, shop: int, options: argparse.Namespace) -> tuple[Judged, Judged]:
    """One design in one shop: as drawn, calibrated."""
    seed, errors = options.seed, options.errors
    rng = generator(seed, path.stem, f"shop {shop}")
    error = model_error(rng)
    design = load_design(path)
    away = reading_errors(nominal_part(path), errors, generator(seed, path.stem, f"errors {shop}"))
    known = [displaced(golden(path, number, error, rng), away) for number in range(options.golden)]
    names = [test.name for test in known[0].part.tests]
    learned = learn(design, [row for sample in known for row in readings_of(sample, names)])
    kept = ("single", "sound")
    good = 4 * options.parts if options.sound is None else options.sound
    made = make(path, seed + 1000 * shop, options.parts, error=error, sound=good)
    samples: list[Sample] = [displaced(sample, away) for sample in made if sample.kind in kept]
    rows = [row for sample in samples for row in readings_of(sample, names)]
    result: list[Judged] = []
    for used in (design, learned.design):
        found = explain(used, rows)
        verdicts = [judge(one, other, 12, 0.0, True) for one, other in zip(samples, found, strict=True)]
        result.append((verdicts, [each.deviates for each in found]))
    return result[0], result[1]


def main() -> None:
    """Run and print."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--set", choices=("tuning", "reported"), default="tuning")
    parser.add_argument("--parts", type=int, default=1)
    parser.add_argument("--sound", type=int, help="sound parts of each design and shop, else four --parts")
    parser.add_argument("--golden", type=int, default=2)
    parser.add_argument("--shops", type=int, default=2)
    parser.add_argument("--seed", type=int, default=4)
    parser.add_argument("--errors", type=float, default=1.0, help="scale of errors of pairs and readings")
    parser.add_argument("--design", help="only designs whose name contains this")
    options = parser.parse_args()
    paths = sorted((HERE / "designs" / options.set).glob("*.toml"))
    found: list[Judged] = [([], []), ([], [])]
    for path in paths:
        if options.design is not None and options.design not in path.stem:
            continue
        for shop in range(options.shops):
            for kept, more in zip(found, experiment(path, shop, options), strict=True):
                kept[0].extend(more[0])
                kept[1].extend(more[1])
    print_all([verdicts for verdicts, _ in found], [against for _, against in found], options)


def print_all(found: list[list[Verdict]], against: list[list[bool]], options: argparse.Namespace) -> None:
    """The table: as drawn, calibrated."""
    faulty = [tables.single(verdicts) for verdicts in found]
    sound = [[verdict for verdict in verdicts if verdict.kind == "sound"] for verdicts in found]
    print(f"{'':34}{'as drawn':36}calibrated by {options.golden} known-good parts, {options.shops} shops")
    for words, rank, most in (
        ()
        if not faulty[0]
        else (
            ("exact top-1, among everything", "rank", 1),
            ("exact top-1, among the causes", "rank_among_causes", 1),
            ("exact top-3, among the causes", "rank_among_causes", 3),
            ("family top-1, among the causes", "family_rank_among_causes", 1),
        )
    ):
        test = tables.top(rank, most)
        gain = np.array([float(test(b)) - float(test(a)) for a, b in zip(*faulty, strict=True)])
        half = 196 * gain.std() / np.sqrt(len(gain))
        print(f"{words:34}{tables.share(faulty[0], test)[1]:36}{tables.share(faulty[1], test)[1]}")
        print(f"{'':34}the same parts: {100 * gain.mean():+.1f} points ± {half:.1f}")
    good = [tables.share(group, lambda v: v.leading == AS_DESIGNED)[1] for group in sound]
    print(f"{'sound called sound':34}{good[0]:36}{good[1]}")
    bad = [tables.share(group, lambda v: v.cause_probability > 0.8)[1] for group in sound]
    print(f"{'sound accused with > 80 %':34}{bad[0]:36}{bad[1]}")
    decided = [
        [one for verdict, one in zip(verdicts, row, strict=True) if verdict.kind == "sound"]
        for verdicts, row in zip(found, against, strict=True)
    ]
    shares = [f"{100 * np.mean(row):.1f} % of {len(row)}" for row in decided]
    print(f"{'sound decided against (status 1)':34}{shares[0]:36}{shares[1]}")


if __name__ == "__main__":
    main()
