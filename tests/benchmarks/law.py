"""The law of a diagnosis that knows how far its models err.

Parts are drawn from what the diagnosis believes: sound ones and those of every cause, with production, meter
and the models' errors that all readings share as it takes them. Then every pair of windings and every reading
is displaced by itself, as much as the models say of their own errors there (``reading_errors``). Sound parts
must not be accused for that, and what is stated as p must be right in p. ``--blind``: the same parts weighed
as if the models erred in nothing but what all readings share, which accuses sound ones.

    python tests/benchmarks/law.py [--parts N] [--design NAME] [--scale X] [--blind]
"""

from __future__ import annotations

import argparse
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from aswound.compare.causes import CATALOGUE
from aswound.compare.diagnosis.covariances import covariance_under
from aswound.compare.diagnosis.entries import Scene
from aswound.compare.diagnosis.evidence import (
    PRIOR_AS_DESIGNED,
    PRIOR_BAD_READING,
    PRIOR_DOUBLE,
    PRIOR_UNLISTED,
    beliefs,
)
from aswound.compare.diagnosis.probabilities import posterior
from aswound.compare.diagnosis.weighing import case_of
from aswound.compare.hypotheses import Background, phases
from aswound.compare.hypotheses.inquiry import Inquiry, inquire
from aswound.compare.readings.read_test import ReadTest
from aswound.predict import Design, load_design

ROOT = Path(__file__).parents[2]
DESIGNS = sorted(
    [*(ROOT / "samples").glob("*.toml"), *(ROOT / "tests" / "benchmarks" / "designs").glob("*/*.toml")]
)
ACCUSED = 0.8
SINGLE = 1.0 - PRIOR_AS_DESIGNED - PRIOR_UNLISTED - PRIOR_BAD_READING - PRIOR_DOUBLE
"""What is believed of single causes together."""


@dataclass(frozen=True)
class Stated:
    """N parts: ``sound`` ones, the probability of what is ``leading``, whether that is ``right``, and the
    probability of the likeliest ``cause``."""

    sound: np.ndarray
    leading: np.ndarray
    right: np.ndarray
    cause: np.ndarray

    @property
    def accused(self) -> float:
        """Part of the sound parts that are accused of a cause with more than ``ACCUSED``."""
        return float(np.mean(self.cause[self.sound] > ACCUSED))

    @property
    def overstated(self) -> float:
        """Mean probability of what leads, less how often it is right, over parts as they are believed to be:
        so many sound ones as ``PRIOR_AS_DESIGNED`` says."""
        weight = np.where(self.sound, PRIOR_AS_DESIGNED, SINGLE) / np.where(
            self.sound, self.sound.sum(), (~self.sound).sum()
        )
        return float(np.average(self.leading - self.right, weights=weight))


def together(parts: list[Stated]) -> Stated:
    """All parts of several designs."""
    return Stated(*(np.concatenate([getattr(one, name) for one in parts]) for name in Stated.__annotations__))


def displacement(background: Background, scale: float, *, independent: bool = False) -> np.ndarray:
    """(T, T) change of a covariance in which the errors of pairs and single readings are ``scale`` times as
    large; ``independent``: every reading by itself by as much, whatever it shares with others."""
    rows = background.sensitivity[own_errors(background)]
    together = rows.T @ rows
    size = np.diag(np.diag(together)) if independent else together
    return np.asarray(scale**2 * size - together)


def own_errors(background: Background) -> np.ndarray:
    """(P,) which rows of the background are errors of pairs of windings or of single readings."""
    return np.array([name.startswith("model_") and " " in name for name in background.names])


def without_own_errors(background: Background) -> Background:
    """The background of models that err in nothing but what all readings share."""
    kept = ~own_errors(background)
    names = tuple(name for name, keep in zip(background.names, kept, strict=True) if keep)
    return replace(background, sensitivity=background.sensitivity[kept], names=names)


def stated(
    design: Design,
    parts: int,
    seed: int = 1,
    *,
    scale: float = 1.0,
    blind: bool = False,
    faulty: bool = True,
    independent: bool = True,
) -> Stated:
    """``parts`` sound parts and (``faulty``) as many of causes as they are believed, of one design."""
    inquiry = inquire(design, design.tests, CATALOGUE, ahead=False)
    background, hypotheses = inquiry.background, inquiry.hypotheses
    asked = replace(design, tests=inquiry.tests)
    rng = np.random.default_rng(seed)
    believed = beliefs(hypotheses)
    change = displacement(background, scale, independent=independent)
    seen = without_own_errors(background) if blind else background
    plain = _values(inquiry, np.zeros(len(inquiry.tests)))
    everything = tuple(
        ReadTest(
            test_index=place,
            value=value,
            uncertainty=abs(value) * unsure if test.measure != "phase" else unsure,
            repeats=1,
        )
        for place, (test, value, unsure) in enumerate(zip(inquiry.tests, plain, inquiry.meter, strict=True))
    )
    frame = case_of(asked, background, everything).frame
    share = believed.single / believed.single.sum()
    rows = []
    for number in range((1 + faulty) * parts):
        sound = number < parts
        which = -1 if sound else int(rng.choice(len(hypotheses), p=share))
        shift, spread, flips = np.zeros(len(inquiry.tests)), frame.base, None
        if not sound:
            item = hypotheses[which]
            node = int(rng.choice(len(item.weights), p=item.weights))
            shift, flips = item.shift[node], item.flips[node]
            spread = covariance_under(frame, shift, item.anchor[node], doubt=item.doubt[node])
        values, vectors = np.linalg.eigh(spread + change)
        away = vectors @ (np.sqrt(np.maximum(values, 0.0)) * rng.standard_normal(len(shift)))
        read = tuple(
            replace(item, value=value, uncertainty=_scaled(item, value))
            for item, value in zip(everything, _values(inquiry, shift + away, flips), strict=True)
        )
        case = case_of(asked, seen, read)
        weighed = posterior(
            Scene(design=asked, background=seen, hypotheses=hypotheses, case=case, read=read), believed
        )
        all_of = np.concatenate(
            [[weighed.as_designed, weighed.unlisted], weighed.single, weighed.bad, weighed.double]
        )
        first = int(np.argmax(all_of))
        right = first == 0 if sound else first == 2 + which
        likeliest = max(weighed.single.max(initial=0.0), weighed.double.max(initial=0.0))
        rows.append((sound, float(all_of[first]), right, likeliest))
    return Stated(*(np.array(column) for column in zip(*rows, strict=True)))


def _scaled(item: ReadTest, value: float) -> float:
    assert item.value is not None
    assert item.uncertainty is not None
    return item.uncertainty * abs(value / item.value) if item.value else item.uncertainty


def _values(inquiry: Inquiry, residual: np.ndarray, flips: np.ndarray | None = None) -> list[float]:
    """Displays of transformed readings: nominal and ``residual``."""
    background, phase = inquiry.background, phases(inquiry.tests)
    y = background.nominal + residual
    signs = background.signs if flips is None else background.signs * (1 - 2 * flips)
    return np.where(phase, y, signs * np.exp(np.where(phase, 0.0, y))).tolist()  # type: ignore[no-any-return]


def main() -> None:
    """Every sample and benchmark design, and all together."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--parts", type=int, default=40, help="sound parts of each design, and faulty ones")
    parser.add_argument("--scale", type=float, default=1.0, help="of the displacement")
    parser.add_argument("--design", help="only designs whose name contains this")
    parser.add_argument("--blind", action="store_true", help="weighed without the errors of single readings")
    parser.add_argument("--joint", action="store_true", help="both sides of a pair displaced together")
    options = parser.parse_args()
    found = []
    for path in DESIGNS:
        if options.design is None or options.design in path.stem:
            one = stated(
                load_design(path),
                options.parts,
                scale=options.scale,
                blind=options.blind,
                independent=not options.joint,
            )
            found.append(one)
            print(f"{path.stem:24}{_line(one)}", flush=True)
    print(f"{'all':24}{_line(together(found))}")


def _line(one: Stated) -> str:
    sure = one.leading > 0.9
    right = 100 * one.right[sure].mean() if sure.any() else float("nan")
    return (
        f"accused {100 * one.accused:5.1f} %   overstated {100 * one.overstated:+5.1f} points   "
        f"of {int(sure.sum()):4d} stated above 90 %: {right:5.1f} %"
    )


if __name__ == "__main__":
    main()
