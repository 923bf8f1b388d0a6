"""The view of ``compare --learn``: what known-good samples teach about the models, and what to doubt of
it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from ...compare.diagnosis import Diagnosis
from ...compare.lots import FAR, Learned, LearnedFactor, LearnedOwn
from ...compare.verdict import SampleComparison
from ...predict.quantity import format_percent
from ..documents import compare_document
from ..documents.record import record_of
from . import words
from .page import Heading, Paragraph, Part

WHAT = {
    "leakage": "leakage inductance",
    "inductance": "inductance of the core",
    "capacitance": "capacitances",
    "mean_turn": "length of turns",
}


def doubts(
    learned: Learned, samples: Sequence[SampleComparison], diagnoses: Sequence[Diagnosis]
) -> tuple[str, ...]:
    """What speaks against taking these samples as known to be good, in sentences.

    Parameters
    ----------
    learned : Learned, what the samples teach
    samples : Sequence[SampleComparison], every sample, compared
    diagnoses : Sequence[Diagnosis], diagnosis of each sample
    """
    sentences = []
    for item in learned.suspicious:
        sentences.append(
            f"{_what(item)}: × {item.factor:.3f} lies {abs(item.surprise):.1f} standard deviations from "
            "the model, more than its error can explain. Look for a fault in the sample or at the bench "
            "before you use it."
        )
    for sample in samples:
        broken = [check.check for check in sample.checks if not check.holds]
        if broken:
            sentences.append(f"{sample.sample}: its readings contradict each other ({'; '.join(broken)}).")
    for diagnosis in diagnoses:
        if diagnosis.deviates:
            best = diagnosis.causes[0] if diagnosis.causes else None
            likely = f"; most likely {best.title}" if best and best.probability > diagnosis.unlisted else ""
            sentences.append(
                f"{diagnosis.sample}: less likely as designed than not "
                f"({words.per_cent(diagnosis.as_designed)}){likely}."
            )
    return tuple(sentences)


def _what(item: LearnedFactor | LearnedOwn) -> str:
    return WHAT[item.key] if isinstance(item, LearnedFactor) else calibration_in_words(item.of)


def calibration_in_words(of: str) -> str:
    """What is known of one pair or reading: "leakage P|S" as "leakage of P and S, from both sides",
    "leakage P>-S" as "leakage of P in series opposition with S"."""
    kind, _, place = of.partition(" ")
    kind = {"split": "share of leakage", "ac_resistance": "alternating-current resistance"}.get(kind, kind)
    if "|" in place:
        first, second = place.split("|")
        sides = ", from both sides" if kind == "leakage" else ""
        return f"{kind} of {first} and {second}{sides}"
    driven, _, rest = place.partition(">")
    if rest.startswith("-"):
        return f"{kind} of {driven} in series opposition with {rest.replace(' -', ' ').removeprefix('-')}"
    what = "against" if kind == "ratio" else "with"
    shorted = "" if kind == "ratio" else " shorted"
    return f"{kind} of {driven}" + (f" {what} {rest}{shorted}" if rest else "")


def calibration_json(learned: Learned, warnings: Sequence[str]) -> dict[str, Any]:
    """The field ``calibration`` of ``compare --learn --json``.

    Parameters
    ----------
    learned : Learned, what the samples teach
    warnings : Sequence[str], what speaks against it, in sentences
    """
    return {
        "calibration": compare_document.Calibration(
            samples=learned.samples,
            factors=[
                record_of(compare_document.CompareFactor, item, **_expanded(item)) for item in learned.factors
            ],
            own=[record_of(compare_document.Own, item, **_expanded(item)) for item in learned.own],
            not_learned=[compare_document.NotLearned(key=key, why=why) for key, why in learned.unlearned],
            doubts=list(warnings),
        )
    }


def _expanded(item: LearnedFactor | LearnedOwn) -> dict[str, float]:
    """The uncertainties after and before, k = 2."""
    return {"uncertainty": 2 * item.deviation, "uncertainty_before": 2 * item.prior}


def _learned(item: LearnedFactor | LearnedOwn) -> list[str]:
    """The factor, and to what it is known now and was before."""
    known = (f"±{format_percent(2 * deviation, 1)}" for deviation in (item.deviation, item.prior))
    return [f"× {item.factor:.4f}", *known]


def calibration_view(learned: Learned, warnings: Sequence[str], target: str) -> Iterator[Part]:
    """What was learned.

    Parameters
    ----------
    learned : Learned, what the samples teach
    warnings : Sequence[str], what speaks against it, in sentences
    target : str, where it was written, in words
    """
    count = "one sample" if learned.samples == 1 else f"{learned.samples} samples"
    doubtful = ", but this is doubtful" if warnings else ""
    yield Heading(f"Learned from {count} taken as good{doubtful}: {target}")
    rows = [[item.key, *_learned(item), ", ".join(item.tests)] for item in learned.factors]
    yield words.table(["factor", "learned", "known to", "before", "by"], rows, right=(1, 2, 3))
    if learned.own:
        rows = [[calibration_in_words(item.of), *_learned(item)] for item in learned.own]
        yield Paragraph("In addition, for pairs of windings and single readings:")
        yield words.table(["reading", "learned", "known to", "before"], rows, right=(1, 2, 3))
    for warning in warnings:
        yield words.caution(warning)
    for key, why in learned.unlearned:
        yield Paragraph(f"{key}: not learned; {why}.")
    yield Paragraph(
        "Truth = factor × model, uncertainties k = 2. The uncertainty includes what production may have done "
        "to the sample; several samples from several lots narrow it. The factors hold for this design only. "
        f"A factor further off than {FAR:g} standard deviations of the model's own error draws a warning."
    )
