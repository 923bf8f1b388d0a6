"""What the leakage model says of itself for one design: which form it takes, how far it errs, what to
mind."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..design import (
    Design,
    EDimensions,
    ToroidDimensions,
    UDimensions,
)
from ..field import EDGE_CAP, TwoLegFields
from ..winding import window_of
from .section_coupling import Sections, leakage_model_error, open_field_left_out, sections_of


@dataclass(frozen=True)
class LeakageModel:
    """name : the model in one line. expected_error : standard relative error of the leakage between the first
    winding and the others. cautions : sentences for the user, possibly none."""

    name: str
    expected_error: float
    cautions: tuple[str, ...]


def leakage_model(design: Design) -> LeakageModel:
    """The leakage model used for ``design``, its expected error and its cautions.

    Raises BuildError where a layout is outside the models. The error's source: ``leakage_error``,
    ``section_coupling``.
    """
    sections = sections_of(design)
    error = float(np.max(leakage_model_error(sections)))
    return LeakageModel(_name(sections), error, tuple(_cautions(sections)))


def _name(sections: Sections) -> str:
    dimensions = sections.design.core.dimensions
    if isinstance(dimensions, ToroidDimensions):
        if _on_sectors(sections):
            return "harmonics of the ampere-turns around the ring, in the build and the air outside it"
        return "field of the enclosed ampere-turns around the ring, H = F/(2π r)"
    if isinstance(sections.fields, TwoLegFields):
        return "one planar window with both legs' windings, open space beside each leg"
    if isinstance(dimensions, UDimensions):
        return "planar window on one side of the leg, open space with the leg's mirror on the others"
    if isinstance(dimensions, EDimensions):
        return "planar window under the core, open space with the leg's mirror beside it"
    return "axisymmetric window under the core, open space or yokes beside it"


def _on_sectors(sections: Sections) -> bool:
    return any(section.sector is not None for section in sections.layout.sections)


def _cautions(sections: Sections) -> list[str]:
    design = sections.design
    dimensions = design.core.dimensions
    found = []
    if open_field_left_out(sections):
        found.append(
            "Windings on different legs of the U core: their leakage field closes through the air around "
            "the core and is not modelled. Open inductances, ratios and mutual inductances count the core "
            "only: expect inductances some per cent higher on an ungapped core and far more with a gap, and "
            "ratios further from the turns (judged, no source)."
        )
    if _on_sectors(sections):
        found.append(
            "Windings on a part of the ring: their leakage field closes through the air around the core. It "
            "depends on where the sectors really begin and end, and metal or another part near the ring "
            "changes it: measure it with the ring lying free. Alternating-current resistance counts the "
            "field of the windings at their own place only, and may be higher."
        )
    if not isinstance(dimensions, ToroidDimensions):
        width, height = window_of(dimensions)
        if height > EDGE_CAP * width or width > 4 * height:
            found.append(
                f"A window {width * 1e3:.3g} mm wide and {height * 1e3:.3g} mm high is longer and "
                f"narrower than those the leakage model was checked on: its error may be twice the one "
                f"stated."
            )
    if isinstance(dimensions, EDimensions) and dimensions.leg_corner > 0:
        found.append(
            "The leakage model of an oval leg lies between those of a rectangular and a round one; it was "
            "not checked against a field solution of its own, and the error stated is wider for that."
        )
    return found
