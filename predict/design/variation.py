"""How far parts and models vary: tolerances of production, and factors between truth and model."""

from __future__ import annotations

from dataclasses import dataclass

from .numbers_of_builds import Real


@dataclass(frozen=True, kw_only=True)
class Spread:
    """Production tolerances and model errors as *standard deviations*.

    None means the default (module ``production.defaults``, or the core's, the model's own).

    Attributes
    ----------
    al, mu_i, gap : float or None, inductance factor, initial permeability and ground gap, relative
    face_gap : float or None, residual gap of the faces, relative
    core_area : float or None, area of the core, relative
    wire, enamel : float or None, bare diameter and insulation build of the wire, relative
    tape, interlayer : float or None, thickness of tape and insulation between layers, relative
    breadth : float or None, of the layers, relative
    centring : float or None, position of the windings, m
    mean_turn : float or None, length of a turn, relative
    resistivity : float or None, of the conductor, relative
    permittivity : float or None, of the insulation, relative
    temperature : float or None, of the part, K
    margin : float or None, margins, m
    thickness : float or None, of foils, screens, tracks and stated blocks, relative
    width : float or None, of foils, screens and tracks, m
    bobbin : float or None, wall and partitions of the bobbin, relative
    loss : float or None, tan δ of the core, relative
    model_leakage, model_capacitance, model_ac_resistance, model_inductance : float or None
        The model's error of leakage, capacitance, alternating-current resistance and inductance, relative.
    """

    al: float | None = None
    mu_i: float | None = None
    gap: float | None = None
    face_gap: float | None = None
    core_area: float | None = None
    wire: float | None = None
    enamel: float | None = None
    tape: float | None = None
    interlayer: float | None = None
    breadth: float | None = None
    centring: float | None = None
    mean_turn: float | None = None
    resistivity: float | None = None
    permittivity: float | None = None
    temperature: float | None = None
    margin: float | None = None
    thickness: float | None = None
    width: float | None = None
    bobbin: float | None = None
    loss: float | None = None
    model_leakage: float | None = None
    model_capacitance: float | None = None
    model_ac_resistance: float | None = None
    model_inductance: float | None = None


@dataclass(frozen=True)
class OwnFactor:
    """What known-good samples taught about one pair of windings or one reading, in addition to the shared
    factors.

    Attributes
    ----------
    of : str, "leakage P|S" (both sides of a pair), "leakage P>S" (one side), as in ``circuit.own_names``
    factor : float, truth ÷ model of the displayed reading, dimensionless
    deviation : float, standard uncertainty of ``factor`` in the logarithm, dimensionless
    """

    of: str
    factor: float
    deviation: float


@dataclass(frozen=True, kw_only=True)
class ModelFactors:
    """Truth ÷ model, as factors on what the models give; 1 in a plain prediction.

    Drawn at random in a spread, learned by calibration.

    Attributes
    ----------
    leakage, inductance, ac_resistance, resistivity : float or (B,) array
        Factor on every leakage, the core's permeance, the alternating-current resistance and the resistivity,
        dimensionless.
    leg_share : float or (B,) array
        Added to the centre leg's share of the core's ampere-turn drop, on which the ratio of an open test
        depends, dimensionless.
    capacitance : float or (B,) array, factor on every capacitance, dimensionless
    permittivity : float or (B,) array
        Factor on the permittivity of all insulation (a tolerance or fault), dimensionless.
    loss : float or (B,) array, factor on the core's tan δ (a tolerance or fault), dimensionless
    together : float or (B,) array
        Error in the logarithm of the permeability where level, direct current and temperature act together,
        dimensionless.
    weak_field : float or (B,) array
        Error in the logarithm of the permeability of laminations in weak fields, dimensionless.
    weak_curve : float or (B,) array
        Error in the logarithm of the flux densities of their curve in weak fields, on which depends how fast
        the permeability rises with the level, dimensionless.
    own : tuple[OwnFactor, ...], factors of pairs of windings and single readings, as displayed
    """

    leakage: Real = 1.0
    inductance: Real = 1.0
    ac_resistance: Real = 1.0
    resistivity: Real = 1.0
    leg_share: Real = 0.0
    capacitance: Real = 1.0
    permittivity: Real = 1.0
    loss: Real = 1.0
    together: Real = 0.0
    weak_field: Real = 0.0
    weak_curve: Real = 0.0
    own: tuple[OwnFactor, ...] = ()
