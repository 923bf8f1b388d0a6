"""Make each listed mistake in a copy of the tree and see that the tests named beside it fail.

    python tests/mutations/run.py                    # all
    python tests/mutations/run.py -k capacitance     # those whose file or text holds the word
    python tests/mutations/run.py --sample 20 --seed 7 --seconds 110

Ends with 1 where a mistake survives, and names it. The tree itself is never touched.
"""

from __future__ import annotations

import argparse
import random
import sys
import time
from collections.abc import Sequence
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))

from listed import MISTAKES
from mistake import Mistake
from trial import Copy, copy_of_the_tree, mutated


def chosen(word: str, sample: int | None, seed: int) -> list[Mistake]:
    """The mistakes to make, in the list's order."""
    found = [one for one in MISTAKES if word.casefold() in f"{one.name} {' '.join(one.tests)}".casefold()]
    if sample is None or sample >= len(found):
        return found
    places = sorted(random.Random(seed).sample(range(len(found)), sample))
    return [found[place] for place in places]


def survives(copy: Copy, one: Mistake) -> tuple[str, float]:
    """(why the mistake counts as a survivor, or "", seconds)."""
    text = (copy.folder / one.file).read_text(encoding="utf-8")
    with copy.with_text(one.file, mutated(text, one.before, one.after)):
        outcome = copy.run(one.tests)
    if outcome.noticed:
        return "", outcome.seconds
    if outcome.status == 0:
        return "no test fails", outcome.seconds
    return f"pytest ended with {outcome.status}:\n{copy.output()[-2000:]}", outcome.seconds


def report(mistakes: Sequence[Mistake], seconds: float | None) -> int:
    """Make every mistake in turn, until the time is over; print what survives. Returns the exit status."""
    survivors, done, begin = [], 0, time.monotonic()
    with copy_of_the_tree() as copy:
        for one in mistakes:
            if seconds is not None and time.monotonic() - begin > seconds:
                break
            why, took = survives(copy, one)
            done += 1
            print(f"{'SURVIVES' if why else 'noticed '} {took:5.1f} s  {one.name}", flush=True)
            if why:
                survivors.append((one, why))
    left = len(mistakes) - done
    print(f"{done} mistakes, {done - len(survivors)} noticed, {len(survivors)} survive", end="")
    print(f"; {left} not tried: the time was over" if left else "")
    for one, why in survivors:
        print(f"\n{one.name}\n  {', '.join(one.tests)}\n  {why}")
    return 1 if survivors else 0


def main() -> int:
    parser = argparse.ArgumentParser(description="Deliberate mistakes, which the named tests must notice.")
    parser.add_argument("-k", default="", metavar="WORD", help="only those whose file, text or tests hold it")
    parser.add_argument("--sample", type=int, metavar="N", help="only so many, drawn at random")
    parser.add_argument("--seed", type=int, default=1, help="of the sample (1)")
    parser.add_argument("--seconds", type=float, metavar="S", help="begin no further mistake after so long")
    given = parser.parse_args()
    return report(chosen(given.k, given.sample, given.seed), given.seconds)


if __name__ == "__main__":
    sys.exit(main())
