"""Which part of a tolerance is common to all parts of a design, which to all parts of a lot, and which
differs from part to part.

A parameter of ``tolerances`` is split into three independent parts, whose variances add up to its own:

    z = √design z_d + √lot z_l + √unit z_u

design: what is not known about the design (models, turn length, permittivity); the next lot has it too, and a
known-good sample reveals it. lot: one lot of cores, wire or tape, one set-up of machine and bench. unit:
seating, position on the bobbin, temperature, handling.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Shares:
    """Parts of a variance; they add up to 1.

    Attributes
    ----------
    design : float, part common to all parts of the design, dimensionless
    lot : float, part common to one lot, dimensionless
    unit : float, part that differs from part to part, dimensionless
    """

    design: float
    lot: float
    unit: float


SHARES = {
    "al": Shares(0.0, 0.7, 0.3),
    "mu_i": Shares(0.0, 0.8, 0.2),
    "gap": Shares(0.0, 0.5, 0.5),
    "face_gap": Shares(0.0, 0.3, 0.7),
    "core_area": Shares(0.0, 0.8, 0.2),
    "loss": Shares(0.0, 0.8, 0.2),
    "wire": Shares(0.0, 0.9, 0.1),
    "enamel": Shares(0.0, 0.9, 0.1),
    "model": Shares(1.0, 0.0, 0.0),
    "lay": Shares(1.0, 0.0, 0.0),
    "foil": Shares(0.0, 0.9, 0.1),
    "track": Shares(0.0, 0.8, 0.2),
    "width": Shares(0.0, 0.8, 0.2),
    "block": Shares(0.0, 0.5, 0.5),
    "tape": Shares(0.0, 0.8, 0.2),
    "spacer": Shares(0.0, 0.8, 0.2),
    "interlayer": Shares(0.0, 0.8, 0.2),
    "margin": Shares(0.0, 0.5, 0.5),
    "bobbin": Shares(0.0, 0.9, 0.1),
    "breadth": Shares(0.0, 0.9, 0.1),
    "centring": Shares(0.0, 0.3, 0.7),
    "mean_turn": Shares(0.7, 0.1, 0.2),
    "resistivity": Shares(0.0, 0.9, 0.1),
    "temperature": Shares(0.0, 0.5, 0.5),
    "permittivity": Shares(0.5, 0.3, 0.2),
    "shorting link": Shares(0.0, 0.8, 0.2),
    "leads": Shares(0.0, 0.8, 0.2),
}
"""Shares by the name of the parameter, without its winding or size (common practice, no source): errors of
the models are the design's; inductance factors of one core lot lie well within their tolerance; wire and tape
come from few reels; the position on the bobbin is up to the operator, part by part; a link is made once and
connected again for every part."""


def shares_of(name: str) -> Shares:
    """The shares of a parameter of ``tolerances.parameters`` ("tape 0.06 mm" as "tape").

    Parameters
    ----------
    name : str, of the parameter

    Returns
    -------
    Shares, parts of its variance, dimensionless

    Raises
    ------
    KeyError
        For a parameter without shares.
    """
    if name.startswith("model_"):
        return SHARES["model"]
    return SHARES[name] if name in SHARES else SHARES[name.split(" ")[0]]
