"""How sections and windings are connected."""

from __future__ import annotations

from dataclasses import replace

from ...predict.design import Design, Winding, first_build
from .cause import (
    COMMON,
    RARE,
    Cause,
    Variant,
    equally,
    evenly,
    sized,
    wind_steps,
    winding_names,
    with_winding,
)


def _reversed(design: Design, winding_name: str) -> list[Variant]:
    def edit(winding: Winding) -> Winding:
        return replace(winding, turning="cw" if winding.turning == "ccw" else "ccw")

    title = f"{winding_name} is reversed (start and finish exchanged)"
    return [Variant(None, 1.0, with_winding(design, winding_name, edit), title)]


def _misjoined(design: Design, winding_name: str) -> list[Variant]:
    winding = design.winding(winding_name)
    joined = "parallel" if winding.sections == "series" else "series"

    def exchange(changed: Winding) -> Winding:
        return replace(changed, sections=joined)  # type: ignore[arg-type]

    title = f"the sections of {winding_name} are joined in {joined} instead of in {winding.sections}"
    result = [Variant(None, 2.0, with_winding(design, winding_name, exchange), title)]
    count = len(wind_steps(design, winding_name))
    for ordinal in range(count):

        def oppose(changed: Winding, ordinal: int = ordinal) -> Winding:
            return replace(changed, polarity=tuple(-1 if each == ordinal else 1 for each in range(count)))

        title = f"section {ordinal + 1} of {winding_name} opposes the others"
        result.append(Variant(None, 1.0, with_winding(design, winding_name, oppose), title))
    return result


def _split(design: Design) -> tuple[str, ...]:
    return tuple(name for name in winding_names(design) if len(wind_steps(design, name)) > 1)


LOOPS = (20e-9, 300e-9)
"""Least and greatest inductance (H) added by a loop of the lead-outs (judged)."""


def _loop_title(design: Design, winding_name: str, extra: float) -> str:
    return f"the lead-outs of {winding_name} form a loop of {extra * 1e9:.0f} nH"


def _loop(design: Design, winding_name: str) -> list[Variant]:
    def changed(extra: float) -> Design:
        whole = first_build(design.winding(winding_name).loop_inductance) + extra
        return with_winding(design, winding_name, lambda winding: replace(winding, loop_inductance=whole))

    sizes = equally(evenly(*LOOPS, 7, logarithmic=True))
    return sized(design, winding_name, sizes, changed, _loop_title)


CAUSES = (
    Cause(
        name="reversed",
        kind="wiring",
        weight=COMMON,
        places=winding_names,
        variants=_reversed,
        confirm=("Read {where} in series aiding and opposing with another winding, or its phase against it."),
        remedy="Mark the start of {where} on drawing and bobbin; state the winding direction.",
        confusable=("bad-reading",),
    ),
    Cause(
        name="misjoined",
        kind="wiring",
        weight=COMMON,
        places=_split,
        variants=_misjoined,
        confirm=("Read the ratio of each section of {where} by itself, and the sections' polarity."),
        remedy="Draw the joins of the sections of {where} pin by pin on the sheet.",
        confusable=("turns", "reversed"),
    ),
    Cause(
        name="lead-out",
        kind="wiring",
        weight=RARE,
        places=winding_names,
        variants=_loop,
        confirm="Read the leakage shorted at the pins of {where}, then with its exits pressed together.",
        remedy="Lead start and finish of {where} out side by side, or twisted, to neighbouring pins.",
        confusable=("short-link", "leads"),
        continuous=True,
        title=_loop_title,
    ),
)
