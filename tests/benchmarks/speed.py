"""How long the main answers take in process, on this machine: figures, not a test.

    python tests/benchmarks/speed.py

The designs have three windings and eight to ten tests. Aims on two cores: readings ≤ 10 ms, 10 000 builds
≤ 8 s, explain of one sample ≤ 0.3 s, interleave of 2000 arrangements ≤ 10 s.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from pathlib import Path

from aswound.compare import explain, load_readings
from aswound.compare.plan.interleaving import comparison
from aswound.predict import load_design, readings, spread
from aswound.predict.design import Design
from aswound.predict.interleave.many_readings import questions_of
from aswound.predict.interleave.rules import Rules

SAMPLES = Path(__file__).parents[2] / "samples"


def best_of(times: int, work: Callable[[], object]) -> float:
    """Shortest of several runs (s), after one run to warm up."""
    work()
    spans = []
    for _ in range(times):
        start = time.perf_counter()
        work()
        spans.append(time.perf_counter() - start)
    return min(spans)


def figures(name: str) -> list[tuple[str, float]]:
    """What was timed, and its shortest time (s), for one sample design."""
    path = SAMPLES / f"{name}.toml"
    design = load_design(path)
    parts = load_readings(path.with_suffix(".csv"), design)
    first = [reading for reading in parts if reading.sample == parts[0].sample]
    count = len({reading.sample for reading in parts})
    return [
        ("load_design", best_of(5, lambda: load_design(path))),
        (
            f"readings, {len(design.windings)} windings, {len(design.tests)} tests",
            best_of(20, lambda: readings(design)),
        ),
        ("spread, 2000 builds", best_of(2, lambda: spread(design, 2000))),
        ("spread, 10 000 builds", best_of(1, lambda: spread(design, 10_000))),
        ("explain, one sample", best_of(3, lambda: explain(design, first))),
        (f"explain, {count} samples", best_of(3, lambda: explain(design, parts))),
        *interleaved(design),
    ]


def interleaved(design: Design) -> list[tuple[str, float]]:
    """``interleave`` of up to 2000 arrangements: as the table shows them, and with the resonance of each as
    its JSON does. Once each, without warming up."""
    rules, questions = Rules(most_sections=4, most=2000), questions_of(design)
    spans = []
    for what, each in (("", False), (", all resonances", True)):
        start = time.perf_counter()
        result = comparison(design, rules, questions, rows=10, every=False, builds=100, resonances=each)
        span = time.perf_counter() - start
        spans.append((f"interleave, {len(result.arrangements)}{what}", span))
    return spans


def main() -> None:
    """Print the figures for every sample design."""
    for name in ("flyback-24w", "bridge-300w", "gate-drive"):
        print(name)
        for what, seconds in figures(name):
            print(f"  {what:<34} {seconds * 1e3:8.1f} ms")


if __name__ == "__main__":
    main()
