"""The inductance of the leads of a winding, outside the field of the core."""

from __future__ import annotations

from ..design import Design, Real

LEAD_INDUCTANCE = 0.4e-6
"""H per metre of both ends together: a loose pair of wires has about 0.8 µH per metre of pair, (μ0/π) ln(D/r)
at D/r = 7 (textbook formula from memory; the distance is common practice, no source)."""
LEAD_INDUCTANCE_ERROR = 0.25
"""Standard relative error of this figure: 0.5 … 1.2 µH per metre of pair for D/r = 3.5 … 20 (judged)."""


def lead_inductance(design: Design, name: str) -> Real:
    """Inductance of the two leads of a winding, lying side by side: 0.4 µH/m × ``lead_length`` of both ends.

    It links nothing else and adds to leakage as a shorting link does. Range: leads side by side as a loose
    pair; twisted leads have half of it, leads spread apart twice. A wider loop (a fault) adds its own
    inductance.

    Parameters
    ----------
    design : Design
        Design, with one build or B builds.
    name : str
        Name of the winding.

    Returns
    -------
    float or (B,) array
        Inductance, H.
    """
    winding = design.winding(name)
    return LEAD_INDUCTANCE * winding.lead_length + winding.loop_inductance
