"""What known-good samples taught, as values and as the text of ``[calibration]``."""

from __future__ import annotations

from dataclasses import dataclass

from ...predict.design import Design

FAR = 3.0
"""Standard deviations of what was believed before, beyond which a factor is suspicious."""


@dataclass(frozen=True, kw_only=True)
class LearnedFactor:
    """key : of [calibration]. factor : truth ÷ model. deviation : standard uncertainty for the next part,
    relative. prior : that of the model before. surprise : ln(factor) in standard deviations of what was
    believed before. tests : those that determine it, the most telling first."""

    key: str
    factor: float
    deviation: float
    prior: float
    surprise: float
    tests: tuple[str, ...]


@dataclass(frozen=True)
class LearnedOwn:
    """What was learned of one pair of windings or one reading, beside the factors. of : as the models' own
    errors are called. factor : truth ÷ model. deviation, prior : standard uncertainty of that reading's model
    with it, and before, relative. surprise : as of a factor."""

    of: str
    factor: float
    deviation: float
    prior: float
    surprise: float


@dataclass(frozen=True)
class Learned:
    """factors : those that the readings bear on. own : likewise of pairs and readings. unlearned : (key, why)
    of the other factors. samples : how many. design : the design with all of them applied."""

    factors: tuple[LearnedFactor, ...]
    own: tuple[LearnedOwn, ...]
    unlearned: tuple[tuple[str, str], ...]
    samples: int
    design: Design

    @property
    def suspicious(self) -> tuple[LearnedFactor | LearnedOwn, ...]:
        """The factors that lie further off than the model can honestly be."""
        every: list[LearnedFactor | LearnedOwn] = [*self.factors, *self.own]
        return tuple(item for item in every if abs(item.surprise) > FAR)


def section(learned: Learned) -> str:
    """The text of [calibration]: factors to five figures, uncertainties expanded (k = 2), with a comment."""
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
