"""The view of ``interleave --aim``: builds by the part of production that meets every aim, and what to
change."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np

from ...compare.aims import Aim, AimedBuild, AimedBuilds
from ...predict.design import Design
from ...predict.interleave import (
    BOBBIN_STEP,
    MARGIN_STEP,
    MOST_CHAMBER,
    MOST_HANDS,
    MOST_MARGIN,
    MOST_SPACER,
    MOST_WRAPS,
    SPACER_STEP,
    Arrangements,
)
from ...predict.notation import format_quantity
from ...predict.production import height_cautions
from ..documents import interleave_document, shared_records
from ..documents.record import record_of
from . import words
from .arrangement_cautions import INSULATION, INSULATION_BUT_BARE, layer_cautions, less_between
from .interleave import division_text, order_text
from .interleave_json import step_json
from .page import Heading, Paragraph, Part
from .prediction import driver_in_words

BOUNDS = (
    "What may change beside the order, up to three things together: wraps of the tape that lies there "
    f"(up to {MOST_WRAPS} more) or a spacer (up to {format_quantity(MOST_SPACER, 'm', 2)}, in steps of "
    f"{format_quantity(SPACER_STEP, 'm', 2)}) where two circuits lie on each other, a winding's margins "
    f"(whole multiples of {format_quantity(MARGIN_STEP, 'm', 2)}, each wider by up to "
    f"{100 * MOST_MARGIN:.0f} % of the layer), the chambers' breadths (up to {100 * MOST_CHAMBER:.0f} % of "
    f"one) and the partition (both in steps of {format_quantity(BOBBIN_STEP, 'm', 2)}), wires in hand (up to "
    f"{MOST_HANDS} more). Each change adds: no insulation, margin or copper is taken away."
)
YIELD = (
    "Yield: of random builds, those that meet all aims at once. In production alone, as if the model were "
    "right; then with the model's own error, which a sample settles: 'compare --learn' puts it into the file."
)


def _aim_text(aim: Aim, measure: str) -> str:
    """An aim in words, with what its test measures: "Lk_P = 78 µH ± 3.9 µH"."""
    sense = {"=": "=", "<=": "≤", ">=": "≥"}[aim.sense]
    text = f"{aim.test} {sense} {words.quantity_text(aim.value, measure)}"
    if aim.sense == "=":
        text += f" ± {100 * aim.tolerance / aim.value:.3g} %"
    return text


def aims_view(design: Design, result: AimedBuilds, search: Arrangements) -> Iterator[Part]:
    """Builds by falling yield: order, changes, readings, what sets their spread.

    Parameters
    ----------
    design : Design
    result : AimedBuilds, builds towards the aims
    search : Arrangements, the arrangements that were searched
    """
    yield design.title or "(no title)"
    told = [_aim_text(aim, test.measure) for aim, test in zip(result.aims, result.tests, strict=True)]
    yield Heading(f"Builds towards {', '.join(told)}")
    for aim, test in zip(result.aims, result.tests, strict=True):
        yield Paragraph(f"{aim.test}: {words.how(test)}.")
    heads = ["no.", "order, from the core", "yield", "with model"]
    heads += [f"{test.name} (95 %)" for test in result.tests]
    rows = []
    for number, build in enumerate(result.ranked, 1):
        readings = [
            words.span(float(build.low[k]), float(build.high[k]), test.measure)
            for k, test in enumerate(result.tests)
        ]
        mark = " (now)" if build.arrangement.present and not build.changes else ""
        shares = [words.per_cent(build.yielded), words.per_cent(build.with_model)]
        rows.append([str(number), order_text(build.arrangement) + mark, *shares, *readings])
    yield words.table(heads, rows, right=(0, 2, 3))
    yield Heading("What to build")
    for number, build in enumerate(result.ranked, 1):
        yield Paragraph(f"{_build_text(build)}.", "     ", f"{number:>3}  ")
    yield Heading("What sets their spread in production")
    for number, build in enumerate(result.ranked, 1):
        for k, test in enumerate(result.tests):
            yield Paragraph(f"{test.name} {_spread_text(build, k)}.", "     ", f"{number:>3}  ")
    yield Heading("How to read this")
    yield Paragraph(
        f"{YIELD} {result.builds} random builds: a yield of 90 % is known to within "
        f"{100 * 1.96 * np.sqrt(0.09 / result.builds):.1f} %. {BOUNDS} Orders that can be wound: "
        f"{result.searched}; those nearest to the aims, and the present one, are adjusted. 'predict' on the "
        "file that --write FILE --pick N writes shows all readings."
    )
    missed = _missed(result)
    if missed:
        yield words.caution(missed)
    for note in _cautions(design, result, search):
        yield words.caution(note)


def _missed(result: AimedBuilds) -> str:
    """What no build here meets in half of production, and how near the nearest comes; "" where one does."""
    if not result.ranked or result.ranked[0].yielded >= 0.5:
        return ""
    told = []
    for k, (aim, test) in enumerate(zip(result.aims, result.tests, strict=True)):
        if max(float(build.alone[k]) for build in result.ranked) < 0.5:
            nearest = min(result.ranked, key=lambda build: abs(float(build.nominal[k]) - aim.value))
            text = words.quantity_text(float(nearest.nominal[k]), test.measure)
            told.append(f"{aim.test} comes no nearer than {text}")
    why = f" ({'; '.join(told)})" if told else " at once, though each alone"
    return (
        f"No build here meets the aims in half of production{why}. Another gap, other turns or another core "
        "is needed, which this command does not change."
    )


def _build_text(build: AimedBuild) -> str:
    text = division_text(build.design)
    changes = "; ".join(build.changes) if build.changes else "nothing else changed"
    same = build.arrangement.present
    return f"{'The present order' if same else order_text(build.arrangement)} ({text}): {changes}"


def _spread_text(build: AimedBuild, index: int) -> str:
    nominal = float(build.nominal[index])
    low, high = 100 * (float(build.low[index]) / nominal - 1), 100 * (float(build.high[index]) / nominal - 1)
    drivers = [
        f"{driver_in_words(driver.parameter)} {100 * driver.share:.0f} %"
        for driver in build.drivers[index][:4]
        if driver.share >= 0.03
    ]
    text = f"{low:+.1f} … {high:+.1f} %".replace("-", "−")
    return f"{text}: {', '.join(drivers)}" if drivers else text


def _cautions(design: Design, result: AimedBuilds, search: Arrangements) -> list[str]:
    notes = [*search.notes]
    for number, build in enumerate(result.ranked, 1):
        for text in less_between(design, build.design):
            notes.append(f"LESS INSULATION THAN THE DESIGN (--bare) in number {number}. {text}")
    for number, build in enumerate(result.ranked, 1):
        for told in height_cautions(build.design):
            notes.append(f"Number {number}: {told[0].lower()}{told[1:]}")
    notes += layer_cautions({number: build.tipped for number, build in enumerate(result.ranked, 1)})
    bare = any(less_between(design, build.design) for build in result.ranked)
    return [*notes, INSULATION_BUT_BARE if bare else INSULATION, *design.cautions, words.SAFETY_LINE]


def remark_of(design: Design, result: AimedBuilds, number: int, name: str) -> str:
    """The remark above the steps of a build that is written as a design file.

    Parameters
    ----------
    design : Design
    result : AimedBuilds, builds towards the aims
    number : int, number of the build, index from 1
    name : str, name of the design file
    """
    build = result.ranked[number - 1]
    aims = ", ".join(
        _aim_text(aim, test.measure) for aim, test in zip(result.aims, result.tests, strict=True)
    )
    lines = [
        f"Build {number} of 'aswound interleave {name}' towards {aims}: {' '.join(build.arrangement.order)}.",
        *build.changes,
        f"Predicted yield {words.per_cent(build.yielded)} in production, "
        f"{words.per_cent(build.with_model)} with the model's error.",
        "Insulation follows the safety standard and a qualified person's decision.",
        *(
            f"LESS INSULATION THAN THE DESIGN, asked for by --bare. {text}"
            for text in less_between(design, build.design)
        ),
    ]
    return "\n".join(lines)


def aims_json(result: AimedBuilds) -> dict[str, Any]:
    """What --aim adds to the object of ``interleave --json``, SI."""
    return {
        "aims": [
            record_of(
                interleave_document.InterleaveAim,
                aim,
                tolerance=aim.tolerance if aim.sense == "=" else None,
                measure=test.measure,
            )
            for aim, test in zip(result.aims, result.tests, strict=True)
        ],
        "random_builds": result.builds,
        "builds": [
            interleave_document.InterleaveBuild(
                number=number,
                order=list(build.arrangement.order),
                present_order=build.arrangement.present,
                changes=list(build.changes),
                steps=[step_json(step) for step in build.design.build.steps],
                chambers_m=[float(np.asarray(breadth)) for breadth in build.design.bobbin.chambers],
                partition_m=float(np.asarray(build.design.bobbin.partition)),
                windings=[
                    interleave_document.BuildWinding(
                        name=winding.name, sections=winding.sections, in_hand=winding.wire.in_hand
                    )
                    for winding in build.design.windings
                ],
                yield_=build.yielded,
                yield_with_model_error=build.with_model,
                readings=[
                    interleave_document.BuildReading(
                        test=test.name,
                        predicted=float(build.nominal[k]),
                        low=float(build.low[k]),
                        high=float(build.high[k]),
                        yield_=float(build.alone[k]),
                        drivers=[
                            record_of(shared_records.DriverRecord, driver) for driver in build.drivers[k]
                        ],
                    )
                    for k, test in enumerate(result.tests)
                ],
            )
            for number, build in enumerate(result.ranked, 1)
        ],
    }
