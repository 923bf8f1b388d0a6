"""What ``explain`` concludes about one sample, as values."""

from __future__ import annotations

from dataclasses import dataclass

from ...predict.notation import aligned
from ..verdict import DEVIATES


@dataclass(frozen=True)
class ReadingUnderCause:
    """One reading beside what a cause predicts for it. SI; ``score``: difference over the standard
    deviation under the cause; None where the reading is missing."""

    name: str
    measure: str
    expected: float
    read: float | None
    score: float | None


@dataclass(frozen=True)
class SecondCause:
    """The other one of a double fault."""

    cause: str
    where: str
    amount: float | None
    title: str


@dataclass(frozen=True, kw_only=True)
class RankedCause:
    """One applicable cause with its probability.

    cause, kind, where : identifiers of the contract (``kind`` is its class). title : in words, with the
    amount.
    amount : most probable amount, as wound against as designed, or None. low, high : its 90 % interval, or
    None.
    probability : of this entry; all entries, ``as_designed`` and ``unlisted`` sum to one. marginal : that
    the cause is present at all.
    also : the second cause of a double fault. confirm, remedy : sentences. confusable : causes with like
    signatures.
    readings : what it predicts for every reading beside what was read.
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
    """A measurement worth making next: ``bits`` of information expected about the cause, and why.

    intervention : its word in the readings file's ``stage``, or "" for a plain reading; instruction : what
    to do, in words. effort : against that of one plain reading of the design's tests.
    """

    measure: str
    drive: str
    short: str
    sense: str
    frequency: float | None
    bits: float
    why: str
    intervention: str = ""
    instruction: str = ""
    effort: float = 1.0

    @property
    def tells(self) -> str:
        """How much it tells about the cause, in words."""
        return next(text for least, text in TELLS if self.bits >= least)


TELLS = ((0.8, "tells nearly all"), (0.4, "tells much"), (0.15, "tells something"), (0.0, "tells a little"))
"""Bits of information about the cause, in words (judged)."""


@dataclass(frozen=True)
class Alike:
    """Causes that the readings do not tell apart: (cause, where) of each, their probability together, and the
    measurement that separates them best (None: no terminal reading does)."""

    causes: tuple[tuple[str, str], ...]
    probability: float
    separated_by: NextTest | None


@dataclass(frozen=True, kw_only=True)
class Family:
    """Causes that act on the same quantity (module ``families``).

    causes : (cause, where) of all its members, most probable first. probability : of all together. shares :
    (title, probability) of each single one. title, remedy : what is sure of the part, in words; what to check
    while it is not known which of them it is.
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

    readings : (name, ln of the likelihood ratio) of each: above 0 it speaks for the leading one.
    """

    cause: str
    where: str
    title: str
    probability: float
    readings: tuple[tuple[str, float], ...]


@dataclass(frozen=True, kw_only=True)
class Diagnosis:
    """The causes of one sample's readings, most probable first.

    as_designed, unlisted : probabilities that nothing is wrong beyond production spread, and that the cause
    is not in the catalogue.
    readings : every reading beside the plain prediction. notes : what limits this diagnosis, in words.
    next_tests : what to measure next, best first; alike : groups that the readings cannot separate. Both
    empty where the part is surely as designed. runner_up : what speaks against the second hypothesis, or
    None. robust : the leading hypothesis would lead with the prior of any one three times larger or smaller.
    families : the causes by what they act on, most probable first. tests : how many the design has.
    bench_limit : what a better bench would tell, in words, or "".
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

    def __str__(self) -> str:
        """The causes with their probabilities, how to confirm the first, what to measure next."""
        return _diagnosis_text(self)

    def __repr__(self) -> str:
        return f"<Diagnosis {_diagnosis_line(self)}>"

    @property
    def informed(self) -> bool:
        """Whether there is a reading at all; without one the probabilities are those believed before."""
        return any(reading.read is not None for reading in self.readings)

    @property
    def deviates(self) -> bool:
        """The part was read and is less likely as designed than not, and something else is more likely than
        that: a cause, or, where a reading deviates, a family of causes (many that were never read make a
        large family too). While "as designed" leads, however weakly, nothing is decided against the part."""
        rivals = [self.unlisted, *(cause.probability for cause in self.causes[:1])]
        if any(reading.score is not None and abs(reading.score) > DEVIATES for reading in self.readings):
            rivals += [family.probability for family in self.families[:1]]
        likeliest = max(rivals)
        return self.informed and self.as_designed < 0.5 and self.as_designed < likeliest


LEAST = 0.01
"""Causes below this probability are not printed."""


def _diagnosis_line(diagnosis: Diagnosis) -> str:
    """The most probable explanation of one sample, in one line."""
    if not diagnosis.informed:
        return f"{diagnosis.sample}: no reading is usable"
    entries = [(cause.probability, cause.title) for cause in diagnosis.causes[:1]]
    entries += [(diagnosis.as_designed, "as designed"), (diagnosis.unlisted, "something that nobody listed")]
    probability, title = max(entries)
    return f"{diagnosis.sample}: {title} ({_per_cent(probability)})"


def _diagnosis_text(diagnosis: Diagnosis) -> str:
    """The causes with their probabilities, how to confirm the first, what to measure next."""
    entries = [
        (diagnosis.as_designed, "", "as designed"),
        (diagnosis.unlisted, "", "something that nobody listed"),
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
