"""What the leakage model states for one design: which form it takes, its expected error, and what to mind;
and the names of the errors of pairs of windings and of single readings."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..design import (
    BenchTest,
    Design,
    FloatArray,
    Port,
)
from ..field import EDGE_CAP, GUIDING, TwoLegFields
from .network import members_of
from .section_coupling import Sections, leakage_model_error, open_field_left_out, sections_of


@dataclass(frozen=True)
class LeakageModel:
    """The leakage model of one design.

    Attributes
    ----------
    name : str
        The model in one line.
    expected_error : float
        Standard relative error of the leakage between the first winding and the others, dimensionless.
    cautions : tuple of str
        Sentences for the user, possibly none.
    """

    name: str
    expected_error: float
    cautions: tuple[str, ...]


def leakage_model(design: Design) -> LeakageModel:
    """The leakage model used for a design, its expected error and its cautions.

    Source of the error: ``leakage_error``, ``section_coupling``.

    Parameters
    ----------
    design : Design
        Design of one build.

    Returns
    -------
    LeakageModel
        Name, error and cautions.

    Raises
    ------
    BuildError
        Where the layout is outside the models.

    Examples
    --------
    >>> from aswound.predict import leakage_model, load_design
    >>> model = leakage_model(load_design("samples/flyback-24w.toml"))
    >>> model.name
    'axisymmetric window under the core, open space or yokes beside it'
    >>> 0.01 < model.expected_error < 0.05, model.cautions
    (True, ())
    """
    sections = sections_of(design)
    error = float(np.max(leakage_model_error(sections)))
    return LeakageModel(_name(sections), error, tuple(_cautions(sections)))


def _name(sections: Sections) -> str:
    if _on_sectors(sections):
        return "harmonics of the ampere-turns around the ring, in the build and the air outside it"
    if isinstance(sections.fields, TwoLegFields):
        return "one planar window with both legs' windings, open space beside each leg"
    return sections.design.core.dimensions.leakage_model


def _on_sectors(sections: Sections) -> bool:
    return any(section.sector is not None for section in sections.layout.sections)


def _cautions(sections: Sections) -> list[str]:
    design = sections.design
    dimensions = design.core.dimensions
    found = []
    initial = float(np.max(np.asarray(design.core.material.initial_permeability)))
    if dimensions.permeable and not dimensions.ring and initial < GUIDING:
        found.append(
            f"The core's permeability is {initial:.3g}, and the leakage model takes it as infinite: leakage "
            f"is up to {200 / initial:.2g} % lower than predicted where windings lie on each other, up to "
            f"{min(1000 / initial, 60):.2g} % where they lie side by side."
        )
    if open_field_left_out(sections):
        found.append(
            "Windings on different legs of the U core: their leakage field closes through the air around "
            "the core and is not modelled. Open inductances, ratios and mutual inductances include the core "
            "only: expect inductances a few per cent higher on an ungapped core, much higher with a gap, and "
            "ratios further from the turns (judged, no source)."
        )
    if _on_sectors(sections):
        found.append(
            "Windings on a part of the ring: their leakage field closes through the air around the core. It "
            "depends on where the sectors really begin and end, and metal or another part near the ring "
            "changes it: measure it with the ring lying free. Alternating-current resistance includes "
            "the field of the windings only where they lie, and may be higher."
        )
    if not dimensions.ring:
        width, height = dimensions.window
        if height > EDGE_CAP * width or width > 4 * height:
            found.append(
                f"A window {width * 1e3:.3g} mm wide and {height * 1e3:.3g} mm high is longer and "
                f"narrower than those on which the leakage model was checked: its error may be twice "
                f"the stated one."
            )
    if dimensions.ovality > 0:
        found.append(
            "The leakage model of an oval leg lies between those of a rectangular and a round one; it was "
            "not checked against a field solution of its own, so the stated error is wider."
        )
    return found


def port_name(design: Design, port: Port) -> str:
    """The windings of a port in alphabetical order, those in series opposing with a sign.

    Parameters
    ----------
    design : Design
        Design, with one build or B builds.
    port : Port
        Driven, shorted or sensed port.

    Returns
    -------
    str
        Names, joined by spaces.
    """
    members = members_of(design, port)
    return " ".join(sorted(("-" if member.reversed else "") + member.name for member in members))


def is_leakage(test: BenchTest) -> bool:
    """Whether a test reads a leakage inductance."""
    return test.measure == "inductance" and bool(test.short)


def own_names(design: Design, test: BenchTest) -> tuple[str, ...]:
    """Names of the models' own errors in a reading, independent of its test's name and frequency.

    "leakage P|S" of the pair, the same from both sides, and "leakage P>S" of this side; "capacitance P|S",
    "resonance P", "ac_resistance P>S", "quality P", "ratio P>S"; for a winding driven alone "split P".

    Parameters
    ----------
    design : Design
        Design, with one build or B builds.
    test : BenchTest
        Test of the design.

    Returns
    -------
    tuple of str
        Names; the name of a pair comes first.
    """
    one, other = port_name(design, test.drive), port_name(design, test.short or test.sense)
    pair, side = "|".join(sorted((one, other or "core"))), f"{one}>{other}" if other else one
    split = (f"split {one}",) if len(members_of(design, test.drive)) == 1 else ()
    if is_leakage(test):
        return (f"leakage {pair}", f"leakage {side}", *split)
    if test.measure == "capacitance":
        return (f"capacitance {pair}",)
    if test.measure in ("resonance", "ac_resistance", "quality"):
        return (f"{test.measure} {side}",)
    if test.measure == "ratio":
        return (f"ratio {side}", *split)
    return split if test.measure == "inductance" else ()


def own_factors(design: Design) -> FloatArray:
    """Factors of ``design.model.own`` on every displayed reading.

    Parameters
    ----------
    design : Design
        Design with T tests.

    Returns
    -------
    (T,) array
        Truth over model, dimensionless.
    """
    known = {item.of: item.factor for item in design.model.own}
    return np.array(
        [np.prod([known.get(name, 1.0) for name in own_names(design, test)]) for test in design.tests]
    )
