"""Verdicts → the tables that the benchmark prints: text of at most 100 columns."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence

import numpy as np
from judging import AS_DESIGNED, BAD, UNLISTED, Verdict, calibration_error, interval

Test = Callable[[Verdict], bool]


def share(verdicts: Sequence[Verdict], test: Test) -> tuple[float, str]:
    """Share of verdicts that pass, and it in words with its 95 % interval and the number."""
    hits = sum(test(verdict) for verdict in verdicts)
    count = len(verdicts)
    if count == 0:
        return float("nan"), "      none"
    low, high = interval(hits, count)
    return hits / count, f"{100 * hits / count:5.1f} %  [{100 * low:4.1f}, {100 * high:4.1f}]  n {count}"


def top(rank: str, most: int) -> Test:
    """Whether a rank is there and at most ``most``."""
    return lambda verdict: 0 < getattr(verdict, rank) <= most


def single(verdicts: Sequence[Verdict]) -> list[Verdict]:
    """Samples with one of the 26 causes."""
    return [verdict for verdict in verdicts if verdict.kind == "single"]


def main_table(verdicts: Sequence[Verdict]) -> list[str]:
    """Top-1, top-3, by family, on detectable faults; everything that the bars name."""
    one = single(verdicts)
    seen = [verdict for verdict in one if verdict.detectable]
    sound = [verdict for verdict in verdicts if verdict.kind == "sound"]
    lines = [f"{'':46}{'among everything':32}among the causes"]
    for title, group in (("all single faults", one), ("detectable single faults", seen)):
        for words, rank, most in (
            ("exact top-1", "rank", 1),
            ("exact top-3", "rank", 3),
            ("family top-1", "family_rank", 1),
            ("family top-3", "family_rank", 3),
        ):
            first = share(group, top(rank, most))[1]
            other = share(group, top(f"{rank}_among_causes", most))[1]
            lines.append(f"{title + ', ' + words:42}{first:36}{other}")
    lines.append(
        f"{'with the step of insulation, exact top-1':42}{'':36}{share(one, top('strict_rank', 1))[1]}"
    )
    lines.append(f"{'detectable among single faults':42}{share(one, lambda v: v.detectable)[1]}")
    lines.append(f"{'sound called sound':42}{share(sound, lambda v: v.leading == AS_DESIGNED)[1]}")
    lines.append(
        f"{'sound accused of a cause with > 80 %':42}{share(sound, lambda v: v.cause_probability > 0.8)[1]}"
    )
    return lines


def others_table(verdicts: Sequence[Verdict]) -> list[str]:
    """Doubles, further causes, novel ones, slips of data."""
    double = [verdict for verdict in verdicts if verdict.kind == "double"]
    further = [verdict for verdict in verdicts if verdict.kind == "further"]
    lines = [
        f"{'double: one of the two first (marginal)':42}{share(double, lambda v: v.first)[1]}",
        f"{'double: both among the first three':42}{share(double, lambda v: v.found == 2)[1]}",
        f"{'double: the pair itself first':42}{share(double, top('rank_among_causes', 1))[1]}",
        f"{'further causes, exact top-1 of causes':42}{share(further, top('rank_among_causes', 1))[1]}",
        f"{'further causes, exact top-3 of causes':42}{share(further, top('rank_among_causes', 3))[1]}",
    ]
    for kind in ("data", "novel"):
        for label in sorted({verdict.label for verdict in verdicts if verdict.kind == kind}):
            group = [verdict for verdict in verdicts if verdict.kind == kind and verdict.label == label]
            doubt = share(group, lambda v: v.bad + v.unlisted > 0.5)[1]
            lines.append(f"{label + ': do not know or bad reading > 50 %':42}{doubt}")
            led = Counter(verdict.leading for verdict in group).most_common(4)
            lines.append("    led by " + ", ".join(f"{name} {number}" for name, number in led))
    return lines


def reliability(verdicts: Sequence[Verdict]) -> list[str]:
    """Stated probability of the leading hypothesis against how often it was right (single faults and sound
    parts)."""
    known = [verdict for verdict in verdicts if verdict.kind in ("single", "sound")]
    p = np.array([verdict.probability for verdict in known])
    right = np.array([verdict.rank == 1 for verdict in known], float)
    lines = ["stated          n    mean stated    right"]
    for number in range(10):
        inside = np.minimum((p * 10).astype(int), 9) == number
        if inside.any():
            lines.append(
                f"{number * 10:3d} … {number * 10 + 10:3d} % {int(inside.sum()):6d} "
                f"{100 * p[inside].mean():11.1f} % {100 * right[inside].mean():9.1f} %"
            )
    mean, most = error_by_chance(p)
    lines.append(
        f"expected calibration error {calibration_error(p, right):.3f}; were all statements exactly right, "
        f"chance would make it {mean:.3f} (95 %: up to {most:.3f})"
    )
    accusing = np.array([verdict.leading not in (AS_DESIGNED, UNLISTED) for verdict in known])
    if accusing.any():
        lines.append(
            "where a cause or a bad reading leads: error "
            f"{calibration_error(p[accusing], right[accusing]):.3f} over {int(accusing.sum())}"
        )
    sure = [verdict for verdict in known if verdict.probability > 0.9]
    blaming = [verdict for verdict in sure if verdict.leading != AS_DESIGNED]
    lines.append(f"stated > 90 %: right {share(sure, lambda v: v.rank == 1)[1]}")
    lines.append(f"    of these with a cause: right {share(blaming, lambda v: v.rank == 1)[1]}")
    log = -np.mean([np.log(max(_of_truth(verdict), 1e-6)) for verdict in known]) if known else float("nan")
    lines.append(f"mean of −ln(probability of the truth) {log:.2f}")
    return lines


def error_by_chance(probability: np.ndarray, draws: int = 400) -> tuple[float, float]:
    """(mean, 95 % point) of the calibration error over samples that are right as often as is stated: what so
    few samples cannot tell from nothing."""
    rng = np.random.default_rng(1)
    found = [
        calibration_error(probability, (rng.random(len(probability)) < probability).astype(float))
        for _ in range(draws)
    ]
    return float(np.mean(found)), float(np.quantile(found, 0.95))


def _of_truth(verdict: Verdict) -> float:
    return next((p for name, p in verdict.stated if name == verdict.truth), 0.0)


def by_cause(verdicts: Sequence[Verdict]) -> list[str]:
    """Every cause: how many, detectable, top-1 and top-3, what leads where it is missed."""
    lines = [
        f"{'cause':16}{'n':>4}{'seen':>6}{'top-1':>7}{'top-3':>7}{'family':>8}{'(causes)':>16}  missed for"
    ]
    labels = dict.fromkeys(v.label for v in verdicts if v.kind in ("single", "further"))
    for label in labels:
        group = [verdict for verdict in verdicts if verdict.label == label]
        missed = Counter(
            _plain(verdict.leading, verdict) for verdict in group if verdict.rank != 1
        ).most_common(4)
        figures = [
            share(group, test)[0]
            for test in (
                lambda v: v.detectable,
                top("rank", 1),
                top("rank", 3),
                top("family_rank", 3),
                top("rank_among_causes", 1),
                top("rank_among_causes", 3),
            )
        ]
        seen, one, three, kin, alone, alone3 = (f"{100 * figure:.0f}" for figure in figures)
        words = ", ".join(f"{name} {number}" for name, number in missed)
        lines.append(
            f"{label:16}{len(group):>4}{seen:>6}{one:>7}{three:>7}{kin:>8}{alone + '/' + alone3:>16}  {words}"
        )
    return lines


def _plain(name: str, verdict: Verdict) -> str:
    """A hypothesis without its place, unless only the place is wrong; pairs as such."""
    if " + " in name:
        own = verdict.truth in name.split(" + ")
        return "a pair with it" if own else "a pair"
    cause = name if name in (AS_DESIGNED, UNLISTED) else name.split(" ")[0]
    return f"{name}" if verdict.truth.startswith(cause + " ") and cause != BAD else cause


def by_design(verdicts: Sequence[Verdict]) -> list[str]:
    """Top-1 and top-3 of single faults for each design."""
    lines = [
        f"{'design':32}{'n':>5}{'top-1':>8}{'top-3':>8}{'family 3':>10}{'detectable: top-1':>20}{'sound':>8}"
    ]
    for name in dict.fromkeys(verdict.design for verdict in verdicts):
        own = [verdict for verdict in verdicts if verdict.design == name]
        one = single(own)
        seen = [verdict for verdict in one if verdict.detectable]
        sound = [verdict for verdict in own if verdict.kind == "sound"]
        lines.append(
            f"{name:32}{len(one):>5}{100 * share(one, top('rank', 1))[0]:>8.0f}"
            f"{100 * share(one, top('rank', 3))[0]:>8.0f}{100 * share(one, top('family_rank', 3))[0]:>10.0f}"
            f"{100 * share(seen, top('rank', 1))[0]:>20.0f}"
            f"{100 * share(sound, lambda v: v.leading == AS_DESIGNED)[0]:>8.0f}"
        )
    return lines


BARS = {
    12: (0.93, 0.68, 0.86, 0.97),
    5: (0.87, 0.57, 0.80, 0.93),
}


def bars(verdicts: Sequence[Verdict], readings: int, seconds: float) -> list[str]:
    """Each bar with what was reached. Rankings of faulty parts among the causes; calibration of whatever
    leads."""
    family3, exact1, seen1, seen3 = BARS[readings]
    one = single(verdicts)
    seen = [verdict for verdict in one if verdict.detectable]
    sound = [verdict for verdict in verdicts if verdict.kind == "sound"]
    data = [verdict for verdict in verdicts if verdict.kind == "data"]
    known = [verdict for verdict in verdicts if verdict.kind in ("single", "sound")]
    sure = [verdict for verdict in known if verdict.probability > 0.9]
    p = np.array([verdict.probability for verdict in known])
    right = np.array([verdict.rank == 1 for verdict in known], float)
    rows: list[tuple[str, float, float, bool]] = []
    for words, group, rank, most, aim in (
        ("family top-3", one, "family_rank", 3, family3),
        ("exact top-1", one, "rank", 1, exact1),
        ("detectable, exact top-1", seen, "rank", 1, seen1),
        ("detectable, exact top-3", seen, "rank", 3, seen3),
    ):
        rows.append((f"{words}, among everything", share(group, top(rank, most))[0], aim, True))
        rows.append((f"{words}, causes", share(group, top(f"{rank}_among_causes", most))[0], aim, True))
    rows += [
        ("sound accused with > 80 %", share(sound, lambda v: v.cause_probability > 0.8)[0], 0.01, False),
        ("stated > 90 %: right", share(sure, lambda v: v.rank == 1)[0], 0.93, True),
        ("expected calibration error", calibration_error(p, right), 0.03, False),
        ("slips and swaps told as bad reading", share(data, lambda v: v.bad > 0.5)[0], 0.90, True),
        ("seconds a sample", seconds, 0.3, False),
    ]
    lines = []
    for words, reached, aim, least in rows:
        met = reached >= aim if least else reached <= aim
        sign = "at least" if least else "at most"
        lines.append(f"{words:42}{reached:8.3f}   {sign} {aim:<6g} {'yes' if met else 'NO'}")
    return lines
