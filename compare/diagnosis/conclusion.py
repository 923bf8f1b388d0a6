"""What ``explain`` concludes about one sample, as values."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from ...predict.notation import aligned
from ..verdict import DEVIATES, FailedLimit


@dataclass(frozen=True)
class ReadingUnderCause:
    """One reading beside what a cause predicts for it.

    Attributes
    ----------
    name : str
        Name of the test.
    measure : str
        What it measures.
    expected : float
        Expected reading under the cause, SI.
    read : float or None
        Reading, SI; None if missing.
    score : float or None
        Difference over the standard deviation under the cause, dimensionless; None if missing.
    """

    name: str
    measure: str
    expected: float
    read: float | None
    score: float | None


@dataclass(frozen=True)
class SecondCause:
    """The second cause of a double fault.

    Attributes
    ----------
    cause : str, key of the cause
    where : str
    amount : float or None, amount in the cause's own unit (SI, count or dimensionless), or None
    title : str, the cause in words
    """

    cause: str
    where: str
    amount: float | None
    title: str


@dataclass(frozen=True, kw_only=True)
class RankedCause:
    """One applicable cause with its probability.

    Attributes
    ----------
    cause : str
        Key of the cause in the contract.
    kind : str
        Class of the cause.
    where : str
        Where it is.
    title : str
        The cause in words, with the amount.
    amount : float or None
        Amount, of a continuous cause the median and else the most probable one, as wound against as designed,
        in the cause's own unit (SI, count or dimensionless), or None.
    low : float or None
        Lower end of its 90 % interval, same unit (SI, count or dimensionless), or None.
    high : float or None
        Upper end of it, same unit (SI, count or dimensionless), or None.
    probability : float
        Probability of this entry, dimensionless; all entries, ``as_designed`` and ``unlisted`` sum to one.
    marginal : float
        Probability that the cause is present at all, dimensionless.
    also : SecondCause or None
        The second cause of a double fault, or None.
    confirm : str
        What would confirm it, in a sentence.
    remedy : str
        What to do about it, in a sentence.
    confusable : tuple[str, ...]
        Causes with similar signatures.
    caution : str
        A safety remark, or "".
    readings : tuple[ReadingUnderCause, ...]
        What it predicts for every reading, beside what was read.
    """

    cause: str
    kind: str
    where: str
    title: str
    amount: float | None
    low: float | None
    high: float | None
    probability: float
    marginal: float
    also: SecondCause | None
    confirm: str
    remedy: str
    confusable: tuple[str, ...]
    caution: str
    readings: tuple[ReadingUnderCause, ...]


@dataclass(frozen=True, kw_only=True)
class NextTest:
    """A measurement worth making next.

    Attributes
    ----------
    measure : str
        What it measures.
    drive : str
        What is driven.
    short : str
        What is shorted.
    sense : str
        What is sensed.
    frequency : float or None
        Frequency, Hz; None with direct current.
    bits : float
        Information expected about the cause in bits, dimensionless.
    intervention : str
        Its word in the readings file's ``stage``, or "" for a plain reading.
    instruction : str
        What to do, in words.
    effort : float
        Effort relative to a plain reading of one of the design's tests, dimensionless.
    level : str
        The meter's level in words where it is not the usual one, such as "at 100 mV "; else "".
    outcomes : tuple of pairs of str
        What it would display and under which cause, both in words, the more likely first; empty where it only
        narrows an amount.
    """

    measure: str
    drive: str
    short: str
    sense: str
    frequency: float | None
    bits: float
    intervention: str = ""
    instruction: str = ""
    effort: float = 1.0
    level: str = ""
    outcomes: tuple[tuple[str, str], ...] = ()

    @property
    def why(self) -> str:
        """Why it is worth making: what it would read under which cause."""
        return self.told({})

    def told(self, letters: Mapping[str, str]) -> str:
        """The same, with the causes that have a letter in a table named by it.

        Parameters
        ----------
        letters : Mapping[str, str]
            Title of a cause → its letter.

        Returns
        -------
        str
            Such as "it reads about 1.26 Ω if a, about 1.05 Ω if b".
        """
        if not self.outcomes:
            return "it narrows the amount"
        cases = (f"about {shown} if {letters.get(title, title)}" for shown, title in self.outcomes)
        return f"it reads {self.level}{', '.join(cases)}"

    @property
    def tells(self) -> str:
        """How much it tells about the cause, in words."""
        return next(text for least, text in TELLS if self.bits >= least)


TELLS = ((0.8, "tells nearly all"), (0.4, "tells much"), (0.15, "tells something"), (0.0, "tells a little"))
"""Bits of information about the cause, in words (judged)."""


@dataclass(frozen=True)
class Alike:
    """Causes that the readings cannot tell apart.

    Attributes
    ----------
    causes : tuple[tuple[str, str], ...], (cause, where) of each
    probability : float, their probability together, dimensionless
    separated_by : NextTest or None
        The measurement that separates them best; None if no terminal reading does.
    """

    causes: tuple[tuple[str, str], ...]
    probability: float
    separated_by: NextTest | None


@dataclass(frozen=True, kw_only=True)
class Family:
    """Causes that act on the same quantity (module ``families``).

    Attributes
    ----------
    name : str
        Name of the family.
    title : str
        What is certain about the part, in words.
    causes : tuple[tuple[str, str], ...]
        (cause, where) of all its members, most probable first.
    probability : float
        Probability of all together, dimensionless.
    shares : tuple[tuple[str, float], ...]
        (title, probability) of each single one, dimensionless.
    remedy : str
        What to check while it is not known which of them it is.
    """

    name: str
    title: str
    causes: tuple[tuple[str, str], ...]
    probability: float
    shares: tuple[tuple[str, float], ...]
    remedy: str


@dataclass(frozen=True)
class RunnerUp:
    """The hypothesis next to the leading one ("as designed", a cause, a bad reading, a pair of causes).

    Attributes
    ----------
    cause : str
        Key of the cause.
    where : str
        Where it is.
    title : str
        The hypothesis in words.
    probability : float
        Its probability, dimensionless.
    readings : tuple[tuple[str, float], ...]
        (name, ln of the likelihood ratio) of each reading, dimensionless; above 0 it supports the leading
        hypothesis.
    """

    cause: str
    where: str
    title: str
    probability: float
    readings: tuple[tuple[str, float], ...]


@dataclass(frozen=True, kw_only=True)
class OddReading:
    """A reading against what the others lead one to expect.

    Attributes
    ----------
    name : str
        Name of the test.
    measure : str
        What it measures.
    expected : float
        What it should be by the other readings and the design, SI.
    uncertainty : float
        Standard uncertainty of that, with the meter's, relative (rad for a phase).
    read : float
        Reading, SI.
    score : float
        Difference over that uncertainty, dimensionless.
    """

    name: str
    measure: str
    expected: float
    uncertainty: float
    read: float
    score: float


@dataclass(frozen=True, kw_only=True)
class Diagnosis:
    """The causes of one sample's readings, most probable first.

    Attributes
    ----------
    sample : str
        Name of the sample.
    as_designed : float
        Probability that nothing is wrong beyond production spread, dimensionless.
    unlisted : float
        Probability that the cause is not in the catalogue, dimensionless.
    causes : tuple[RankedCause, ...]
        The causes.
    readings : tuple[ReadingUnderCause, ...]
        Every reading beside the plain prediction.
    next_tests : tuple[NextTest, ...]
        What to measure next, best first; empty if the part is surely as designed.
    notes : tuple[str, ...]
        What limits this diagnosis, in words.
    alike : tuple[Alike, ...]
        Groups that the readings cannot separate; empty if the part is surely as designed.
    runner_up : RunnerUp or None
        What speaks against the second hypothesis, or None.
    robust : bool
        Whether the leading hypothesis would lead with any one prior three times larger or smaller.
    families : tuple[Family, ...]
        The causes by what they act on, most probable first.
    tests : int
        Tests of the design, count.
    bench_limit : str
        What a better bench would tell, in words, or "".
    stands_out : bool
        Whether the readings together are beyond what sound production shows (``weighing.stands_out``).
    failed_limits : tuple[FailedLimit, ...]
        Limits of the design that the part fails. They say nothing about its causes, and do not count in
        ``deviates``: where a limit is tighter than production, a sound part fails it.
    odd_reading : OddReading or None
        The reading that the others contradict, where each by itself agrees with the design; else None.
    """

    sample: str
    as_designed: float
    unlisted: float
    causes: tuple[RankedCause, ...]
    readings: tuple[ReadingUnderCause, ...]
    next_tests: tuple[NextTest, ...]
    notes: tuple[str, ...]
    alike: tuple[Alike, ...] = ()
    runner_up: RunnerUp | None = None
    robust: bool = True
    families: tuple[Family, ...] = ()
    tests: int = 0
    bench_limit: str = ""
    stands_out: bool = True
    failed_limits: tuple[FailedLimit, ...] = ()
    odd_reading: OddReading | None = None

    def __str__(self) -> str:
        """The causes with their probabilities, how to confirm the first, what to measure next."""
        return _diagnosis_text(self)

    def __repr__(self) -> str:
        return f"<Diagnosis {_diagnosis_line(self)}>"

    @property
    def informed(self) -> bool:
        """Whether there is a reading at all; without one the probabilities are the priors."""
        return any(reading.read is not None for reading in self.readings)

    @property
    def deviates(self) -> bool:
        """Whether the part was read, is less likely as designed than not, and something else is more likely
        than that.

        That is a cause or, if a reading deviates, a family of causes (many causes on which nothing was
        read make a large family too). While "as designed" leads, however weakly, or the readings together lie
        within what sound production shows, nothing is decided against the part, unless hardly any chance
        (``HARDLY``) is left that it is sound.
        """
        rivals = [self.unlisted, *(cause.probability for cause in self.causes[:1])]
        if any(reading.score is not None and abs(reading.score) > DEVIATES for reading in self.readings):
            rivals += [family.probability for family in self.families[:1]]
        likeliest = max(rivals)
        seen = self.stands_out or self.as_designed < HARDLY
        return self.informed and seen and self.as_designed < 0.5 and self.as_designed < likeliest


HARDLY = 0.02
"""Probability of "as designed" below which a part is decided against, whatever its readings are together
(judged on the tool's own production, ``tests/benchmarks/false_alarms.py``)."""
LEAST = 0.01
"""Causes below this probability are not printed (judged by what a reader can take in; no verdict depends on
it)."""


def _diagnosis_line(diagnosis: Diagnosis) -> str:
    """The most probable explanation of one sample, in one line."""
    if not diagnosis.informed:
        return f"{diagnosis.sample}: no reading is usable"
    entries = [(cause.probability, cause.title) for cause in diagnosis.causes[:1]]
    entries += [(diagnosis.as_designed, "as designed"), (diagnosis.unlisted, "a cause not in the catalogue")]
    probability, title = max(entries)
    return f"{diagnosis.sample}: {title} ({_per_cent(probability)})"


def _diagnosis_text(diagnosis: Diagnosis) -> str:
    """The causes with their probabilities, how to confirm the first, what to measure next."""
    entries = [
        (diagnosis.as_designed, "", "as designed"),
        (diagnosis.unlisted, "", "a cause not in the catalogue"),
        *((cause.probability, f"{cause.cause} {cause.where}", cause.title) for cause in diagnosis.causes),
    ]
    rows = [
        [_per_cent(probability), name, title]
        for probability, name, title in sorted(entries, key=lambda entry: -entry[0])
        if probability >= LEAST
    ]
    lines = [_diagnosis_line(diagnosis), aligned(rows, right=(0,))]
    if diagnosis.informed and diagnosis.deviates and diagnosis.causes:
        lines.append(f"confirm: {diagnosis.causes[0].confirm}")
    for test in diagnosis.next_tests[:1]:
        short = f", {test.short} shorted" if test.short else ""
        lines.append(f"measure next: {test.measure.replace('_', ' ')} of {test.drive}{short} ({test.tells})")
    return "\n".join(lines)


def _per_cent(probability: float) -> str:
    return (
        "> 99 %" if probability >= 0.995 else "< 1 %" if probability < 0.005 else f"{100 * probability:.0f} %"
    )
