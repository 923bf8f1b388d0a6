"""The view of ``interleave``: the arrangements worth a look, and what each costs and gains."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from ...compare.plan import Comparison, against_present, figures_of
from ...predict.design import BenchTest, Design, ShieldStep, WindStep
from ...predict.interleave import SHARINGS, Arrangement, Questions
from . import words
from .arrangement_cautions import interleave_cautions, less_apart_text
from .page import Heading, Paragraph, Part

HOW = (
    "An arrangement is listed if no other one is at least as good in leakage, capacitance, "
    "alternating-current resistance and joints and better in one of them. Numbers: the best first, by "
    "leakage, then all others by leakage; they stay the same for the same design and options. Those that "
    "read alike, within 95 % of the present arrangement's production, are one row: the one with the fewest "
    "joints."
)
TOLD_ALIKE = 2
"""Arrangements without a row of their own whose orders are told."""


def interleave_view(result: Comparison) -> Iterator[Part]:
    """The table of the best, the reasons, the spread, what was left out, cautions."""
    questions, predictions = result.questions, result.predictions
    yield result.design.title or "(no title)"
    count = len(result.arrangements)
    best = sum(result.best)
    told = (
        f"{count} arrangements can be wound; {best} of them {'is a' if best == 1 else 'are'} best trade-off"
    )
    if count == 1:
        told = "1 arrangement can be wound"
    elif best != 1:
        told += "s"
    yield Heading(told)
    yield Paragraph(_what_is_compared(questions) + _places(result.design))
    heads = ["no.", "order, from the core", "leakage", "C", "R (AC)", "resonance", "fill", "joints", "faces"]
    rows = [_row(result, index) for index in result.shown]
    yield words.table(heads, rows, right=(0, 2, 3, 4, 5, 6, 7, 8))
    yield Paragraph(_place_of_present(result))
    yield Heading("Against the present arrangement")
    for index in result.shown:
        arrangement = result.arrangements[index]
        text = f"{division_text(arrangement.design)}: " + (
            "as it is now." if arrangement.present else f"{against_present(result, index)}."
        )
        if index in result.alike:
            text += f" {_alike_text(result, result.alike[index])}"
        for told in less_apart_text(result, index):
            text += f" ! Less insulation than the design: {told}"
        yield Paragraph(text, "     ", f"{index + 1:>3}  ")
    pairs = questions.leakage[1:]
    if pairs or len(questions.capacitance) > 1:
        yield Heading("Other pairs")
        heads = [
            "no.",
            *(f"L {_short(t)}" for t in pairs),
            *(f"C {_short(t)}" for t in questions.capacitance),
        ]
        yield words.table(
            heads,
            [
                [str(index + 1)]
                + [words.quantity_text(value, "inductance") for value in predictions.leakage[index, 1:]]
                + [words.quantity_text(value, "capacitance", 3) for value in predictions.capacitance[index]]
                for index in result.shown
            ],
            right=tuple(range(len(heads))),
        )
    if result.spreads:
        yield Heading("How far production may stray (95 % of single parts)")
        yield words.table(*_spread_table(result), right=(0,))
    yield Heading("Wire and insulation")
    conductors = [f"{w.name} {'track' if w.wire.track else 'wire'}" for w in result.design.windings]
    heads = ["no.", *conductors, "faces between circuits"]
    yield words.table(
        heads,
        [
            [str(index + 1)]
            + [f"{length:.2f} m" for length in predictions.wire_length[index]]
            + [_faces(result.arrangements[index])]
            for index in result.shown
        ],
        right=tuple(range(1 + len(result.design.windings))),
    )
    yield Heading("How to read this")
    yield Paragraph(HOW)
    yield Paragraph(_bounds(result))
    for note in interleave_cautions(result):
        yield words.caution(note)


def _alike_text(result: Comparison, indices: Sequence[int]) -> str:
    """What has no row because it reads like one that has: numbers, with the orders of the first."""
    told = [f"{index + 1} ({order_text(result.arrangements[index])})" for index in indices[:TOLD_ALIKE]]
    told += [str(index + 1) for index in indices[TOLD_ALIKE:]]
    if len(told) == 1:
        return f"Number {told[0]} reads alike within production's spread and has no row (--all)."
    numbers = f"{', '.join(told[:-1])} and {told[-1]}"
    return f"Numbers {numbers} read alike within production's spread and have no rows (--all)."


def _what_is_compared(questions: Questions) -> str:
    text = f"Leakage: {words.how(questions.leakage[0])}. R (AC): {words.how(questions.resistance)}."
    if questions.capacitance:
        text += f" C: {words.how(questions.capacitance[0])}."
    return (
        f"{text} Resonance: at {words.port_text(questions.resonance.drive)}, all else open. Joints: one "
        "where two sections join in series, two for each section in parallel beyond the first. Faces: where "
        "two circuits meet."
    )


def _places(design: Design) -> str:
    """How orders at several places are told apart."""
    steps = _laid(design)
    if any(step.chamber is not None for step in steps):
        return " Chambers are divided by |, from the lower flange on; - is an empty one."
    if any(step.leg == 2 for step in steps):
        return " Legs are divided by |; - is an empty one."
    return ""


def _short(test: BenchTest) -> str:
    second = test.short or test.sense
    return f"{words.port_text(test.drive)}/{words.port_text(second)}"


def order_text(arrangement: Arrangement) -> str:
    """What is laid, from the core outwards; chambers, or legs, apart: "P S | S P", an empty one "-"."""
    design = arrangement.design
    steps = _laid(design)
    chambers: list[int | None] = [None]
    if any(step.chamber is not None for step in steps):
        chambers = list(range(1, (len(design.bobbin.chambers) or design.bobbin.chamber_count) + 1))
    legs = (1, 2) if any(step.leg == 2 for step in steps) else (1,)
    stacks: dict[tuple[int, int | None], list[str]] = {
        (leg, chamber): [] for leg in legs for chamber in chambers
    }
    for step, name in zip(steps, arrangement.order, strict=True):
        stacks.setdefault((step.leg, step.chamber), []).append(name)
    return " | ".join(" ".join(names) or "-" for names in stacks.values())


def _laid(design: Design) -> list[WindStep | ShieldStep]:
    return [step for step in design.build.steps if isinstance(step, WindStep | ShieldStep)]


def _row(result: Comparison, index: int) -> list[str]:
    arrangement, predictions = result.arrangements[index], result.predictions
    capacitance = predictions.capacitance[index, 0] if predictions.capacitance.shape[1] else None
    mark = " (now)" if arrangement.present else ""
    alike = len(result.alike.get(index, ()))
    mark += f" (+{alike} alike)" if alike else ""
    mark += " !" if arrangement.less_apart(result.design) else ""
    return [
        str(index + 1),
        order_text(arrangement) + mark,
        _leakage(result, index),
        _value(capacitance, "capacitance"),
        _value(predictions.resistance[index], "ac_resistance"),
        _value(predictions.resonance[index], "resonance"),
        f"{100 * arrangement.fill:.0f} %",
        str(arrangement.joints),
        str(len(arrangement.faces)),
    ]


def _leakage(result: Comparison, index: int) -> str:
    """The leakage with the digits that ``predict`` shows of it."""
    value, spread = float(result.predictions.leakage[index, 0]), result.spreads.get(index)
    if spread is None or not np.isfinite(value):
        return "-" if not np.isfinite(value) else words.quantity_text(value, "inductance")
    return words.within(value, float(spread.low[0]), float(spread.high[0]), "inductance")


def _value(value: float | None, measure: str) -> str:
    return "-" if value is None or not np.isfinite(value) else words.quantity_text(float(value), measure, 3)


def division_text(design: Design) -> str:
    """How every winding is divided: "P 30+30, S 2×8 in parallel, 1 in hand"."""
    told = []
    for winding in design.windings:
        turns = [
            int(np.asarray(step.turns))
            for step in design.build.steps
            if isinstance(step, WindStep) and winding.name in step.windings
        ]
        if winding.sections == "parallel" and len(turns) > 1 and len(set(turns)) == 1:
            hands = "" if winding.wire.flat else f", {winding.wire.in_hand} in hand"
            told.append(f"{winding.name} {len(turns)}×{turns[0]} in parallel{hands}")
        else:
            told.append(f"{winding.name} {'+'.join(map(str, turns))}")
    return "; ".join(told)


def _place_of_present(result: Comparison) -> str:
    now = result.present
    if result.best[now]:
        return f"The present arrangement is number {now + 1}: one of the best trade-offs."
    figures = figures_of(result.arrangements, result.predictions)
    better = [
        k + 1
        for k in range(len(figures))
        if np.all(figures[k] <= figures[now] * (1 + 1e-6)) and np.any(figures[k] < figures[now] * (1 - 1e-6))
    ]
    if not better:
        return f"The present arrangement is number {now + 1}; the models refuse some of its readings."
    told = f"number {better[0]} is as good in every figure and better in one"
    if len(better) > 1:
        told = (
            f"{len(better)} are as good in every figure and better in one, first of them number {better[0]}"
        )
    return f"The present arrangement is number {now + 1}: {told}."


def _spread_table(result: Comparison) -> tuple[list[str], list[list[str]]]:
    tests = [test for test in result.questions.tests if test.measure != "resonance"]
    wanted = [0, len(result.questions.leakage)]
    wanted += [wanted[-1] + 1] if result.questions.capacitance else []
    names = {"inductance": "leakage", "ac_resistance": "R (AC)", "capacitance": "C"}
    heads = ["no.", *(names[tests[k].measure] for k in wanted)]
    rows = []
    for index, spread in result.spreads.items():
        rows.append(
            [
                str(index + 1),
                *(words.span(float(spread.low[k]), float(spread.high[k]), tests[k].measure) for k in wanted),
            ]
        )
    return heads, rows


def _faces(arrangement: Arrangement) -> str:
    """The insulation at every face, alike ones counted together."""
    told: dict[str, int] = {}
    for face in arrangement.faces:
        what = "wire only"
        if face.thickness > 0:
            what = f"{face.thickness * 1e3:.3g} mm"
        told[f"{face.inner}/{face.outer} {what}"] = told.get(f"{face.inner}/{face.outer} {what}", 0) + 1
    return ", ".join(f"{count} {text}" if count > 1 else text for text, count in told.items()) or "none"


def _bounds(result: Comparison) -> str:
    search, rules = result.search, result.rules
    text = (
        f"Considered: at most {rules.most_sections} section{'s' * (rules.most_sections != 1)} of a winding"
        + "".join(f", {most} of {name}" for name, most in rules.sections)
        + f"; {SHARINGS[rules.parallel]}. Turns are divided as equally as whole turns allow; what is "
        "left over "
        "goes to the first sections."
    )
    left = []
    if search.apart:
        left.append(f"{search.apart} in which two circuits would be less apart than in the design")
    if search.breadth:
        left.append(f"{search.breadth} with layers too broad for their room")
    if search.height:
        left.append(f"{search.height} too high for the window")
    if left:
        text += f" Left out: {', '.join(left)}."
    if search.cut_off:
        text += (
            f" The search ended at its limit of {rules.most} (--most): complete up to {search.sections} "
            "sections in all, orders of more sections are left out."
        )
    return text
