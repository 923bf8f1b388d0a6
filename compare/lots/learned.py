"""What known-good samples taught: the values, and the text of ``[calibration]``."""

from __future__ import annotations

from dataclasses import dataclass

from ...predict.design import Design

FAR = 3.0
"""A factor further than this from the prior mean, in prior standard deviations, is suspicious (common
practice: three standard uncertainties, 0.3 % by chance)."""


@dataclass(frozen=True, kw_only=True)
class LearnedFactor:
    """One factor on the models, learned from known-good samples.

    Attributes
    ----------
    key : str
        Key of [calibration].
    factor : float
        Truth ÷ model, dimensionless.
    deviation : float
        Standard uncertainty for the next part, relative.
    prior : float
        Standard uncertainty of the model before the samples were read, relative.
    surprise : float
        ln(factor) in prior standard deviations, dimensionless.
    tests : tuple[str, ...]
        Tests that determine it, the most telling first.
    """

    key: str
    factor: float
    deviation: float
    prior: float
    surprise: float
    tests: tuple[str, ...]


@dataclass(frozen=True)
class LearnedOwn:
    """What was learned of one pair of windings or one reading, in addition to the factors.

    Attributes
    ----------
    of : str
        Name of the error, as in ``own_errors``.
    factor : float
        Truth ÷ model, dimensionless.
    deviation : float
        Standard uncertainty of the model for that reading with this factor, relative.
    prior : float
        The same before the samples were read, relative.
    surprise : float
        ln(factor) in prior standard deviations, dimensionless.
    """

    of: str
    factor: float
    deviation: float
    prior: float
    surprise: float


@dataclass(frozen=True)
class Learned:
    """Everything that known-good samples taught about a design.

    Attributes
    ----------
    factors : tuple[LearnedFactor, ...]
        Factors that the readings bear on.
    own : tuple[LearnedOwn, ...]
        The same for pairs of windings and single readings.
    unlearned : tuple[tuple[str, str], ...]
        (key, reason) of each factor that was not learned.
    samples : int
        Samples read, count.
    design : Design
        The design with all factors applied.
    """

    factors: tuple[LearnedFactor, ...]
    own: tuple[LearnedOwn, ...]
    unlearned: tuple[tuple[str, str], ...]
    samples: int
    design: Design

    @property
    def suspicious(self) -> tuple[LearnedFactor | LearnedOwn, ...]:
        """Factors further off than the model's uncertainty can explain."""
        every: list[LearnedFactor | LearnedOwn] = [*self.factors, *self.own]
        return tuple(item for item in every if abs(item.surprise) > FAR)


def section(learned: Learned) -> str:
    """Text of [calibration]: factors to five figures, expanded uncertainties (k = 2) and a comment."""
    samples = "one known-good sample" if learned.samples == 1 else f"{learned.samples} known-good samples"
    lines = [f"[calibration]  # learned from {samples}; uncertainties k = 2"]
    lines += [
        f'{item.key} = {{ factor = {item.factor:.5g}, uncertainty = "{200 * item.deviation:.3g} %" }}'
        for item in learned.factors
    ]
    if learned.own:
        lines.append("own = [  # of pairs of windings and of readings; beside the factors above")
        lines += [
            f'  {{ of = "{item.of}", factor = {item.factor:.5g}, '
            f'uncertainty = "{200 * item.deviation:.3g} %" }},'
            for item in learned.own
        ]
        lines.append("]")
    return "\n".join(lines) + "\n"
