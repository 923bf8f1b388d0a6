"""How far honest production strays: Monte Carlo over random builds, and what drives each reading.

The same tolerance has the same random numbers in every command (``normal_draws``), so that all of them say
one range of one reading.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from statistics import NormalDist
from zlib import crc32

import numpy as np

from ..circuit import beyond_search, predict_bench, reading_text
from ..design import BenchTest, Design, FloatArray
from ..measures import MEASURE_UNITS
from ..notation import aligned, format_range
from ..remembered import by_value
from ..telling import tell
from .drivers import Driver, main_direction, variance_shares
from .own_errors import ReadingError, displaced, reading_errors, replaced
from .parameter import Origin, Parameter
from .response_surface import scattered
from .tipping import REMEDY, BoolArray, TippedReadings, Tipping, as_designed, tippings
from .tolerances import parameters

LOW, HIGH = 0.025, 0.975
"""The part of the builds below each end of the range."""
BUILDS = 2000
"""Random builds behind a range, in every command."""
FEWEST = 20
"""Builds as designed from which they have a range of their own."""
PORTION = 64
"""Builds predicted at a time: larger portions gain nothing and cost memory."""
NOTEWORTHY = 0.08
"""Sampling error of an end, as part of the range's width, from which it is worth a caution."""


@dataclass(frozen=True, kw_only=True)
class ProductionSpread:
    """T readings over B random builds (model error included, meter not).

    nominal, low, high, standard_uncertainty : (T,) the plain prediction, the 2.5 % and 97.5 % points, and
    half the width of the 95 % range over 1.96 (SI, rad), of the builds whose layers are as designed.
    samples : (B, T), of all builds. drivers : per test, shares of the variance of builds as designed that
    sum to one, largest first; empty where nothing moves the reading. sampling_error : (T,) standard error of
    the worse of low and high from the finite number of builds. tipped : steps that some builds wind in
    another number of layers than designed. tests : what was predicted. designed : (B,) the builds whose
    layers are as designed (all, where they are fewer than ``FEWEST``). apart : what those of each ``tipped``
    read.
    """

    nominal: FloatArray
    low: FloatArray
    high: FloatArray
    standard_uncertainty: FloatArray
    samples: FloatArray
    drivers: tuple[tuple[Driver, ...], ...]
    sampling_error: FloatArray
    tipped: tuple[Tipping, ...]
    tests: tuple[BenchTest, ...] = ()
    designed: BoolArray | None = None
    apart: tuple[TippedReadings, ...] = ()

    @property
    def as_designed(self) -> FloatArray:
        """(B', T) samples of the builds whose layers are as designed."""
        return self.samples if self.designed is None else self.samples[self.designed]

    @property
    def share_as_designed(self) -> float:
        """Part of the builds whose layers are as designed."""
        return 1.0 if self.designed is None else float(np.mean(self.designed))

    def apart_from(self, place: int) -> tuple[TippedReadings, ...]:
        """The kinds of builds whose reading of test ``place`` is another than as designed."""
        return tuple(one for one in self.apart if one.outside[place])

    def __str__(self) -> str:
        """Every test: nominal, 95 % of production, the largest driver."""
        rows = [["test", "nominal", "95 % of production", "driven by"]]
        for place, test in enumerate(self.tests):
            low, high = float(self.low[place]), float(self.high[place])
            span = (
                "-"
                if beyond_search(test.measure, high)
                else format_range(low, high, MEASURE_UNITS[test.measure])
            )
            largest = self.drivers[place][:1] if self.drivers else ()
            driver = "".join(f"{one.parameter.replace('_', ' ')} {100 * one.share:.0f} %" for one in largest)
            rows.append([test.name, reading_text(float(self.nominal[place]), test.measure), span, driver])
        return f"{len(self.samples)} random builds\n{aligned(rows, right=(1, 2))}"

    def __repr__(self) -> str:
        return f"<ProductionSpread of {len(self.nominal)} tests over {len(self.samples)} builds>"

    @property
    def apart_sentences(self) -> tuple[str, ...]:
        """What builds with other layers than designed read, one sentence a kind, and what helps."""
        if not self.apart:
            return ()
        told = [one.sentence(self.tests) for one in self.apart]
        held = "Ranges are of builds as designed"
        if self.designed is not None and np.all(self.designed):
            held = "So few builds have all layers as designed that ranges are of all builds"
        return (*told[:-1], f"{told[-1]} {held}. {REMEDY}")

    @property
    def cautions(self) -> tuple[str, ...]:
        """Sentences about builds that differ in kind, and about too few builds."""
        width = self.high - self.low
        worst = float(np.max(np.where(width > 0, self.sampling_error / np.where(width > 0, width, 1.0), 0.0)))
        found = list(self.apart_sentences)
        if worst > NOTEWORTHY:
            found.append(
                f"{len(self.samples)} random builds leave the ends of a range uncertain by "
                f"{100 * worst:.0f} % of its width (one standard deviation): more of them (--builds) "
                "make it sharper."
            )
        return tuple(found)


def random_builds(design: Design, chosen: tuple[Parameter, ...], z: FloatArray) -> Design:
    """The design with every parameter of ``chosen`` moved: z (B, P) in standard deviations."""
    for column, parameter in enumerate(chosen):
        design = parameter.change(design, z[:, column])
    return design


def normal_draws(names: Sequence[str], number: int, seed: int) -> FloatArray:
    """(number, P) standard normal numbers, a column for each of ``names``: the same for the same name,
    whatever else is drawn."""
    columns = [np.random.default_rng([seed, crc32(name.encode())]).standard_normal(number) for name in names]
    return np.stack(columns, axis=-1) if columns else np.zeros((number, 0))


def _keys(errors: Sequence[ReadingError]) -> list[str]:
    """What tells errors from each other whatever the tests are called; the name where that is taken."""
    found: list[str] = []
    for error in errors:
        found.append(error.name if not error.of or error.of in found else error.of)
    return found


@by_value(16)
def spread(
    design: Design,
    number: int = BUILDS,
    seed: int = 1,
    *,
    origins: tuple[Origin, ...] = ("build", "model"),
    shares: bool = True,
    view: Callable[[Design], Design] | None = None,
    exact: bool = False,
) -> ProductionSpread:
    """Monte Carlo over ``number`` random builds of ``design`` (fixed ``seed``), all tests.

    origins : which parameters vary. The interval is of single parts: 95 % of honest production with the
    layers as designed, as the model, with its own error, would show on a perfect meter. Its ends are weighted
    quantiles, see ``percentile``.
    shares : False where nobody asks for the drivers. view : a change made to the design, and to every build
    after its tolerances: what of it is read (``section_readings``).
    exact : a full forward run of every build, instead of a surface through those of a few (module
    ``response_surface``). Memory goes with number × (parameters + tests). Remembered by value.
    """
    chosen = tuple(parameter for parameter in parameters(design) if parameter.origin in origins)
    plain = design if view is None else view(design)
    errors = reading_errors(plain) if "model" in origins else ()
    effects = np.array([error.effect for error in errors]).reshape(len(errors), len(plain.tests))
    z = normal_draws([item.name for item in chosen], number, seed)
    own = normal_draws(_keys(errors), number, seed)
    nominal = predict_bench(plain).values

    def varied(some: FloatArray) -> Design:
        return random_builds(design, chosen, some)

    def read(some: FloatArray, asked: Sequence[int]) -> FloatArray:
        parts = []
        for begin in range(0, len(some), PORTION):
            portion = some[begin : begin + PORTION]
            builds = varied(portion) if view is None else view(varied(portion))
            builds = replace(builds, tests=tuple(builds.tests[place] for place in asked))
            parts.append(np.broadcast_to(predict_bench(builds).values, (len(portion), len(asked))))
            tell("Random builds", begin + len(portion), len(some))
        return np.concatenate(parts)

    found = scattered(chosen, z, varied, read, plain.tests, exact=exact)
    away = own @ effects - (_shared_no_more(plain, chosen, z, found.samples) if plain.model.own else 0.0)
    samples = displaced(plain.tests, found.samples, nominal, away)
    every = np.concatenate([z, own], axis=1)
    names = (*(item.name for item in chosen), *(error.name for error in errors))
    layers = found.turns[..., 0].astype(np.int64)
    tipped = tippings(design, layers)
    designed = as_designed(design, layers) if tipped else np.ones(number, bool)
    if np.sum(designed) < FEWEST:
        designed = np.ones(number, bool)
    phase = np.array([test.measure == "phase" for test in plain.tests], bool)
    slopes = effects * np.where(phase | ~np.isfinite(nominal), 1.0, nominal)
    direction = main_direction(z, found.samples if not plain.model.own else samples, designed, (own, slopes))
    low, low_error = percentile(samples, direction, LOW, designed)
    high, high_error = percentile(samples, direction, HIGH, designed)
    return ProductionSpread(
        nominal=nominal,
        low=low,
        high=high,
        standard_uncertainty=(high - low) / (2 * 1.959964),
        samples=samples,
        drivers=variance_shares(names, every[designed], samples[designed]) if shares else (),
        sampling_error=np.maximum(low_error, high_error),
        tipped=tipped,
        tests=plain.tests,
        designed=designed,
        apart=tuple(_apart(one, samples[layers[:, one.step] == one.layers], low, high) for one in tipped),
    )


def _shared_no_more(
    design: Design, chosen: tuple[Parameter, ...], z: FloatArray, samples: FloatArray
) -> FloatArray:
    """(B, T) what the errors that all readings of a kind share did to readings whose own are learned, in the
    logarithm: along their slopes by least squares."""
    logs = np.log(np.maximum(np.abs(samples), 1e-300))
    slopes, *_ = np.linalg.lstsq(z - z.mean(axis=0), logs - logs.mean(axis=0), rcond=None)
    gone = np.stack([replaced(design, parameter.name) for parameter in chosen])
    return np.asarray(z @ (slopes * gone))


def _apart(tipping: Tipping, samples: FloatArray, low: FloatArray, high: FloatArray) -> TippedReadings:
    """What the builds ``samples`` (B', T) of one kind read, beside the range of those as designed."""
    ends = np.quantile(samples, [LOW, HIGH], axis=0, method="inverted_cdf")
    middle = np.quantile(samples, 0.5, axis=0, method="inverted_cdf")
    return TippedReadings(tipping, ends[0], ends[1], middle, (middle < low) | (middle > high))


def percentile(
    samples: FloatArray, direction: FloatArray, part: float, among: BoolArray | None = None
) -> tuple[FloatArray, FloatArray]:
    """(quantile, its standard error), (T,) each, of samples (B, T) at ``part`` of the distribution, of all
    builds or of those ``among`` (B,) them.

    direction : (B, T) a normal variable of unit variance that goes with each reading (zeros: none). How many
    builds have it below its own quantile is a matter of chance, of which the true part is known: weighting
    the two strata by the true parts takes most of that chance out of the reading's quantile (stratification
    afterwards; Cochran, "Sampling Techniques", from memory). Measured on the samples, 40 runs of 1000 builds:
    standard errors 2 to 7 times smaller where a reading is near to linear in its parameters, no smaller at
    the upper end of one that is strongly curved; the stated ones within a fifth (the smallest up to twice too
    large). The error is that of the strata, carried through the sorted samples; it is as good as the number
    of builds beyond the quantile (25 of 1000).
    """
    limit = NormalDist().inv_cdf(part)
    values, errors = np.empty(samples.shape[1]), np.empty(samples.shape[1])
    chosen = np.ones(len(samples), bool) if among is None else among
    for test in range(samples.shape[1]):
        column = samples[chosen, test]
        if not np.all(np.isfinite(column)):
            values[test] = np.quantile(column, part, method="inverted_cdf")
            errors[test] = np.nan
            continue
        below = direction[:, test] <= limit
        mean = np.mean(below)
        split = bool(np.any(direction[:, test] != 0)) and 0 < mean < 1
        below = below[chosen]
        split = split and 0 < np.mean(below) < 1
        weights = np.where(below, part / mean, (1 - part) / (1 - mean)) if split else np.ones(len(column))
        weights = weights / np.sum(weights)
        size_below = float(np.sum(weights[below]))
        order = np.argsort(column)
        ordered, share = column[order], weights[order]
        reached = np.cumsum(share) - share / 2
        value = float(np.interp(part, reached, ordered))
        variance = 0.0
        strata = ((below, size_below), (~below, 1 - size_below)) if split else ((np.ones_like(below), 1.0),)
        for stratum, size in strata:
            inside = float(np.mean(column[stratum] <= value))
            variance += size**2 * inside * (1 - inside) / int(np.sum(stratum))
        reach = np.hypot(np.sqrt(variance), 0.5 / len(column))
        ends = np.interp([part - reach, part + reach], reached, ordered)
        values[test], errors[test] = value, (ends[1] - ends[0]) / 2
    return values, errors
