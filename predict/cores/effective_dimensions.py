"""Effective parameters of a closed core from its dimensions, by IEC 60205.

The flux path is divided into sections of length l and area A in series. The sums

    C1 = Σ l/A   (1/m),      C2 = Σ l/A²   (1/m³)

give the effective area Ae = C1/C2, length le = C1²/C2 and volume Ve = C1³/C2² of the ideal ring that has
the same reluctance and the same hysteresis. All lengths are in m, of the assembled set, at mid-tolerance.

Source: IEC 60205, "Calculation of the effective parameters of magnetic piece parts" (procedures from memory,
compared with published data sheets in tests/published).
"""

from __future__ import annotations

from dataclasses import dataclass

from ..design import Dimensions
from ..errors import DesignError, Fault


@dataclass(frozen=True)
class EffectiveParameters:
    """The ideal ring that replaces a core (IEC 60205).

    Attributes
    ----------
    core_constant : float, C1 = Σ l/A = le/Ae, 1/m
    effective_area : float, ae, m²
    effective_length : float, le, m
    effective_volume : float, ve = le Ae, m³
    """

    core_constant: float
    effective_area: float
    effective_length: float
    effective_volume: float


def effective_parameters(dimensions: Dimensions) -> EffectiveParameters:
    """C1, Ae, le and Ve of a core set from its dimensions.

    C1 = Σ l/A, C2 = Σ l/A², Ae = C1/C2, le = C1²/C2, Ve = C1³/C2². Sections by form:

    - E: two legs, two yokes, corners of mean length π/8 × (sum of the widths that meet) and mean area.
    - round (ETD, EER, PQ, RM, EP): round post, plate that widens from the post to the outer legs, integrated
      over the radius; outer legs by ``forms.round_outline``.
    - pot: the same with a whole disc and a round wall that the slots interrupt; the plate is taken unslotted.
    - U: two legs, two yokes, four corners.
    - toroid: exact, of rectangular section: C1 = 2π/(h ln(D/d)), C2 = 4π (1/d − 1/D)/(h² ln³(D/d)).

    Validity: homogeneous material, no gap. Against published data E, planar E, U and toroid agree within 1 %,
    EFD, ETD, EER, PQ, RM, EP and pot within 4 % (tests/published); for PQ 32, 35 and 40 only C1, as their
    makers state an le that is longer than the path.

    Parameters
    ----------
    dimensions : Dimensions of the core set

    Raises
    ------
    DesignError
        If the dimensions enclose no core (a length that is not positive, a window that cuts through a leg).

    References
    ----------
    IEC 60205.
    """
    faults = [Fault(f"core.dimensions.{key}", found, allowed) for key, found, allowed in dimensions.faults()]
    if faults:
        raise DesignError(faults)
    sections = dimensions.magnetic_sections
    c1, c2 = sum(share[0] for share in sections), sum(share[1] for share in sections)
    return EffectiveParameters(c1, c1 / c2, c1**2 / c2, c1**3 / c2**2)
