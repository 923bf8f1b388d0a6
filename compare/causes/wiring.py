"""How sections and windings are connected."""

from __future__ import annotations

from dataclasses import replace

from ...predict.design import Design, Winding
from .cause import COMMON, OCCASIONAL, Cause, Variant, wind_steps, winding_names, with_winding


def _reversed(design: Design, place: str) -> list[Variant]:
    def edit(winding: Winding) -> Winding:
        return replace(winding, turning="cw" if winding.turning == "ccw" else "ccw")

    return [
        Variant(
            None, 1.0, with_winding(design, place, edit), f"{place} is reversed (start and finish exchanged)"
        )
    ]


def _misjoined(design: Design, place: str) -> list[Variant]:
    winding = design.winding(place)
    other = "parallel" if winding.sections == "series" else "series"

    def exchange(changed: Winding) -> Winding:
        return replace(changed, sections=other)  # type: ignore[arg-type]

    result = [
        Variant(
            None,
            2.0,
            with_winding(design, place, exchange),
            f"the sections of {place} are joined in {other} instead of in {winding.sections}",
        )
    ]
    for ordinal in range(len(wind_steps(design, place))):

        def oppose(changed: Winding, ordinal: int = ordinal) -> Winding:
            return replace(changed, reversed_steps=(ordinal,))

        result.append(
            Variant(
                None,
                1.0,
                with_winding(design, place, oppose),
                f"section {ordinal + 1} of {place} opposes the others",
            )
        )
    return result


def _split(design: Design) -> tuple[str, ...]:
    return tuple(name for name in winding_names(design) if len(wind_steps(design, name)) > 1)


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
        weight=OCCASIONAL,
        places=_split,
        variants=_misjoined,
        confirm=("Read the ratio of each section of {where} by itself, and the sections' polarity."),
        remedy="Draw the joins of the sections of {where} pin by pin on the sheet.",
        confusable=("turns", "reversed"),
    ),
)
