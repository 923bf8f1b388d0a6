"""The readings of many random builds from the forward runs of a few: a quadratic surface over the tolerances.

Readings are smooth in the tolerances z (standard deviations) as long as the turns lie in the same layers, and
their logarithms are nearly additive:

    ln y = ln y_0 + Σ_p f_p(z_p) + Σ_pq h_pq z_p z_q + c_k g_k(z) + o(layers)

f_p is the parabola through the nominal build and one build on either side of it. h_pq comes from one build
for each pair of tolerances that act on each other (``acting_together``): positions of windings, whose
differences count, the parts of the core, which share one reluctance, and the return path of the ampere-turns
in open tests. g_k is the kink of a layer of windings wound together: the thicker wire sets its height, and
which one that is changes from build to build where both are of one size; g_k is that height less its own
surface, which needs no forward run, and c_k comes from one build in which both wires grow. Where the layers
of a build hold other turns than those of the nominal build (a layer tips over, or holds one turn more), o is
the distance of forward runs of builds of that same kind from the surface, in level and slopes. Phases, and
readings that change their sign, are taken without logarithm.

The cost is that of 2 P + pairs + kinks + kinds + ``CHECKED`` forward runs for P tolerances, however many
builds are asked for. Random builds that are run in full show the error of the surface; if it misses a reading
by more than ``OFF`` of that reading's deviation, all builds are run in full for it. Compared with full runs
of the ladder and the samples the error is 0.00 to 0.20 of a reading's standard deviation (root mean square).
That moves the ends of its range by up to 6 % of its width, mostly by less than their sampling error.

Source: response surfaces with central composite points are in textbooks (Box and Wilson 1951, from memory).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from ..design import BenchTest, Design, FloatArray
from ..winding import layer_turns, thickest_over_mean
from .parameter import Parameter
from .tipping import RARE

STEPS = (2.0, 1.0, 0.5, 0.25)
"""Standard deviations from the nominal build at which a tolerance is tried, until its layers are the same.
At two, near the ends of the 95 % range, the surface errs least (judged: 1.5
to 2 tried on the ladder and the samples)."""
PAIRED = 2.0
"""Standard deviations at which both tolerances of a pair are tried (judged as ``STEPS``)."""
KINDS = 64
"""Forward runs for builds whose layers hold other turns than those of the nominal build (bounds work: what
it misses is run in full, ``OFF``)."""
_FEWEST_OF_A_KIND, _MOST_OF_A_KIND = 8, 24
"""Fewest runs of a kind of builds with other layers than the nominal one, if it is not rare; most runs of any
kind (bounds work as above)."""
_RIDGE = 0.3
"""Ridge on the slopes of a kind, for what its builds do not show: rounding, and bends that kinds share
(judged on the ladder and the samples)."""
CHECKED = 16
"""Random builds that are always run in full (bounds work)."""
OFF = 0.3
"""Root mean square error of the surface, in standard deviations of the reading, above which all builds are
run in full (judged on the ladder and the samples: the surface errs by 0.00 to 0.20)."""
_NO_KINK = 1e-9
"""Height below which a layer has no kink, m (judged: rounding)."""
RESOLVED = 2e-4
"""Relative deviation of a reading below which rounding of the forward runs does not count as an error
(judged)."""

_PLACES = ("centring", "model_leg_share")
_CORE = ("mu_i", "gap", "face_gap", "loss")
_ANCHOR = ("mu_i", "al", "gap", "face_gap", "model_inductance", "model_leakage")

Read = Callable[[FloatArray, Sequence[int]], FloatArray]
"""Forward runs: z (E, P) in standard deviations, the tests wanted → readings (E, tests)."""


@dataclass(frozen=True)
class Scattered:
    """Readings of B random builds for T tests and S steps.

    Attributes
    ----------
    samples : (B, T) array, readings, SI (phases within π of the nominal one)
    turns : (B, S, 3) array, ``layer_turns`` of the builds, count
    misses : (T,) array
        Root mean square error of the surface against full runs, in standard deviations of the reading,
        dimensionless; 0 where all builds were run in full.
    """

    samples: FloatArray
    turns: FloatArray
    misses: FloatArray


def acting_together(parameters: Sequence[Parameter]) -> list[tuple[int, int]]:
    """Pairs of tolerances, index into ``parameters``, whose joint effect on a reading is more than the sum of
    both."""

    def one_of(name: str, families: tuple[str, ...]) -> bool:
        return any(name == family or name.startswith(family + " ") for family in families)

    pairs = []
    for second, second_parameter in enumerate(parameters):
        for first, first_parameter in enumerate(parameters[:second]):
            names = (first_parameter.name, second_parameter.name)
            leaning = "model_leg_share" in names and any(one_of(name, _ANCHOR) for name in names)
            alike = any(all(one_of(name, family) for name in names) for family in (_PLACES, _CORE))
            if leaning or alike:
                pairs.append((first, second))
    return pairs


def scattered(
    parameters: Sequence[Parameter],
    z: FloatArray,
    varied: Callable[[FloatArray], Design],
    read: Read,
    tests: Sequence[BenchTest],
    *,
    exact: bool = False,
) -> Scattered:
    """Readings of random builds, from a surface through a few forward runs.

    Parameters
    ----------
    parameters : sequence of P Parameter
    z : (B, P) array, builds, in standard deviations, dimensionless
    varied : callable ((E, P) array) to Design, the design with that many builds
    read : Read, forward runs of builds for some tests
    tests : sequence of T BenchTest
    exact : bool, full forward run of every build; a few builds always get one
    """
    count = z.shape[1]
    every = range(len(tests))
    turns = _turns(varied, z)
    pairs = acting_together(parameters)
    if exact or len(z) <= 1 + 2 * count + len(pairs) + KINDS + CHECKED:
        return Scattered(read(z, every), turns, np.zeros(len(tests)))
    plain = _turns(varied, np.zeros((1, count)))[0]
    axes = _axes(varied, plain, count)
    kinds = _kinds(z, turns, plain)
    checked = np.array(sorted(set(range(CHECKED)).union(*(anchors.tolist() for anchors in kinds.anchors))))
    kinks = _Kinks.of(varied, axes, pairs, z)
    points = _points(axes, pairs)
    runs = read(np.concatenate([np.stack(points), kinks.points, z[checked]]), every)
    whole = np.all(np.isfinite(runs), axis=0)
    scale = _Scale.of(tests, np.where(whole, runs, 1.0))
    levels = scale.straight(np.where(whole, runs, 1.0))
    known, at_kinks, full = np.split(levels, [len(points), len(points) + len(kinks.points)])
    surface = _surface(axes, pairs, known, z)
    surface = surface + kinks.levels(at_kinks - _surface(axes, pairs, known, kinks.points))
    surface = surface + _of_kinds(z, kinds, checked, full - surface[checked])
    deviation = np.maximum(np.std(surface, axis=0), RESOLVED * scale.size(known[0]))
    chance = np.isin(checked, np.arange(CHECKED))
    misses = np.sqrt(np.mean((full - surface[checked])[chance] ** 2, axis=0))
    misses = misses / np.where(deviation > 0, deviation, 1.0)
    surface[checked] = full
    samples = scale.back(surface)
    off = np.flatnonzero((misses > OFF) | ~whole)
    if len(off):
        samples[:, off], misses[off] = read(z, off.tolist()), 0.0
    return Scattered(samples, turns, misses)


def _points(axes: Sequence[tuple[float, float]], pairs: Sequence[tuple[int, int]]) -> list[FloatArray]:
    """The builds that ``_surface`` goes through: the nominal one, both ends of every axis, every pair."""
    unit = np.eye(len(axes))
    ends = [end * unit[index] for index, both in enumerate(axes) for end in both]
    joint = [PAIRED * (unit[first] + unit[second]) for first, second in pairs]
    return [np.zeros(len(axes)), *ends, *joint]


def _turns(varied: Callable[[FloatArray], Design], z: FloatArray) -> FloatArray:
    """(B, S, 3) ``layer_turns`` of the builds z."""
    found = layer_turns(varied(z))
    return np.broadcast_to(found, (len(z), *found.shape[1:]))


def steps_as_designed(chosen: Sequence[Parameter], design: Design) -> FloatArray:
    """Two values of every parameter between which the layers stay as designed.

    Parameters
    ----------
    chosen : sequence of Parameter, the P parameters
    design : Design of one build

    Returns
    -------
    (P, 2) array
        Values in standard deviations, dimensionless: the larger one first, at most one from the nominal
        build; ±1 where there are none.
    """

    def varied(z: FloatArray) -> Design:
        builds = design
        for index, parameter in enumerate(chosen):
            builds = parameter.change(builds, z[:, index])
        return builds

    plain = _turns(varied, np.zeros((1, len(chosen))))[0]
    ends = _axes(varied, plain, len(chosen), STEPS[1:])
    return np.array([[high, low] for low, high in ends]).reshape(len(chosen), 2)


def _axes(
    varied: Callable[[FloatArray], Design], plain: FloatArray, count: int, steps: Sequence[float] = STEPS
) -> list[tuple[float, float]]:
    """For every tolerance two values (standard deviations) whose layers hold the turns of the nominal build,
    far from each other and from 0; the outermost values where a tolerance has no such pair."""
    values = [sign * step for step in steps for sign in (-1.0, 1.0)]
    points = np.concatenate([value * np.eye(count) for value in values])
    alike = np.all(_turns(varied, points) == plain, axis=(1, 2)).reshape(len(values), count)
    result = []
    for index in range(count):
        kept = sorted(value for value, same in zip(values, alike[:, index], strict=True) if same)
        ends = [(low, high) for number, low in enumerate(kept) for high in kept[number + 1 :]]
        apart = [min(high - low, 2 * abs(low), 2 * abs(high)) for low, high in ends]
        result.append(ends[int(np.argmax(apart))] if ends else (-steps[0], steps[0]))
    return result


@dataclass(frozen=True)
class _Kinks:
    """What the surface misses of layers whose height is that of the thicker wire.

    points (K, P): a build for every kink, in which two wires grow together. off (K, K): the height of each
    kink there, less its surface. bent (B, K): the same of the random builds.
    """

    points: FloatArray
    off: FloatArray
    bent: FloatArray

    @staticmethod
    def of(
        varied: Callable[[FloatArray], Design],
        axes: Sequence[tuple[float, float]],
        pairs: Sequence[tuple[int, int]],
        z: FloatArray,
    ) -> _Kinks:
        """The kinks of a design; none where one wire is the thicker in all builds, or none is wound with
        another."""
        count = z.shape[1]
        unit = np.eye(count)
        nothing = _Kinks(np.zeros((0, count)), np.zeros((0, 0)), np.zeros((len(z), 0)))
        if not thickest_over_mean(varied(np.zeros((1, count)))).shape[1]:
            return nothing
        ends = _points(axes, pairs)
        firsts, seconds = np.triu_indices(count, 1)
        tried = PAIRED * (unit[firsts] + unit[seconds])

        def bent(at: FloatArray) -> FloatArray:
            found = thickest_over_mean(varied(np.concatenate([np.stack(ends), at])))
            known, here = found[: len(ends)], found[len(ends) :]
            return here - _surface(axes, pairs, known, at)

        off = bent(tried)
        strongest = np.argmax(np.abs(off), axis=0)
        size = np.abs(off[strongest, np.arange(off.shape[1])])
        kept = np.flatnonzero(size > _NO_KINK)
        if not len(kept):
            return nothing
        chosen = strongest[kept]
        return _Kinks(tried[chosen], off[chosen][:, kept], bent(z)[:, kept])

    def levels(self, missed: FloatArray) -> FloatArray:
        """(B, T) what the kinks add to the surface, from what it misses at their points, (K, T)."""
        return np.asarray(self.bent @ np.linalg.lstsq(self.off, missed, rcond=None)[0])


@dataclass(frozen=True)
class _Kinds:
    """Builds sorted by the turns in their layers.

    of_build (B,): kind of each build. anchors: for every kind the builds that represent it, none for rare
    kinds. nearest (K,): the kind that represents each kind: itself, the most similar one with anchors, or the
    nominal one.
    """

    of_build: np.ndarray
    anchors: tuple[np.ndarray, ...]
    nearest: np.ndarray


def _kinds(z: FloatArray, turns: FloatArray, plain: FloatArray) -> _Kinds:
    flat = turns.reshape(len(turns), -1)
    kinds, of_build, sizes = np.unique(flat, axis=0, return_inverse=True, return_counts=True)
    of_build = of_build.reshape(-1)
    as_drawn = np.flatnonzero(np.all(kinds == plain.reshape(-1), axis=1))
    home = int(as_drawn[0]) if len(as_drawn) else -1
    anchors = [np.zeros(0, int) for _ in kinds]
    left = KINDS
    for kind in np.argsort(-sizes, kind="stable"):
        if kind == home or left <= 0:
            continue
        members = np.flatnonzero(of_build == kind)
        changed = np.any(kinds[kind].reshape(plain.shape)[:, 0] != plain[:, 0])
        least = _FEWEST_OF_A_KIND if changed and sizes[kind] > RARE * len(z) else 1
        wanted = min(
            int(np.clip(round(KINDS * sizes[kind] / len(z)), least, _MOST_OF_A_KIND)), len(members), left
        )
        away = np.sum((z[members] - z[members].mean(axis=0)) ** 2, axis=1)
        central = members[np.argmin(away)]
        anchors[kind] = np.array([central, *members[members != central][: wanted - 1]])
        left -= wanted
    standing = np.array([len(builds) > 0 or kind == home for kind, builds in enumerate(anchors)])
    size = np.maximum(plain.reshape(-1), 1.0)
    nearest = np.arange(len(kinds))
    for kind in np.flatnonzero(~standing):
        apart = np.sum(((kinds[standing] - kinds[kind]) / size) ** 2, axis=1)
        nearest[kind] = np.flatnonzero(standing)[np.argmin(apart)]
    return _Kinds(of_build, tuple(anchors), nearest)


def _of_kinds(z: FloatArray, kinds: _Kinds, checked: np.ndarray, misses: FloatArray) -> FloatArray:
    """(B, T) distance of the builds of every kind from the surface: level and slopes of ``misses`` (checked,
    T), with the smallest slopes that explain them."""
    correction = np.zeros((len(z), misses.shape[1]))
    row_of_build = {int(build): number for number, build in enumerate(checked)}
    for kind, anchors in enumerate(kinds.anchors):
        if not len(anchors):
            continue
        off = misses[[row_of_build[int(build)] for build in anchors]]
        level, middle = off.mean(axis=0), z[anchors].mean(axis=0)
        away = z[anchors] - middle
        slopes = away.T @ np.linalg.solve(away @ away.T + _RIDGE * np.eye(len(anchors)), off - level)
        here = kinds.nearest[kinds.of_build] == kind
        correction[here] = level + (z[here] - middle) @ slopes
    return correction


@dataclass(frozen=True)
class _Scale:
    """The scale on which readings are nearly additive: logarithms where they keep their sign; phases around
    ``plain``.

    logarithmic and phase (T,): which readings. sign (T,). plain (T,): nominal readings.
    """

    logarithmic: np.ndarray
    phase: np.ndarray
    sign: FloatArray
    plain: FloatArray

    @staticmethod
    def of(tests: Sequence[BenchTest], runs: FloatArray) -> _Scale:
        """The scale for readings ``runs`` (E, T), nominal readings first."""
        phase = np.array([test.measure == "phase" for test in tests], bool)
        alike = np.all(runs > 0, axis=0) | np.all(runs < 0, axis=0)
        return _Scale(alike & ~phase, phase, np.sign(runs[0]), runs[0])

    def straight(self, readings: FloatArray) -> FloatArray:
        """Readings (..., T) on this scale."""
        turned = self.plain + np.angle(np.exp(1j * np.where(self.phase, readings - self.plain, 0.0)))
        size = np.where(self.logarithmic, np.abs(readings), 1.0)
        return np.where(self.logarithmic, np.log(size), np.where(self.phase, turned, readings))

    def back(self, levels: FloatArray) -> FloatArray:
        """Readings (..., T) from levels on this scale."""
        size = np.exp(np.where(self.logarithmic, levels, 0.0))
        return np.where(self.logarithmic, self.sign * size, levels)

    def size(self, levels: FloatArray) -> FloatArray:
        """(T,) size of a relative deviation of one on this scale."""
        return np.where(self.logarithmic, 1.0, np.abs(levels))


def _surface(
    axes: Sequence[tuple[float, float]], pairs: Sequence[tuple[int, int]], known: FloatArray, z: FloatArray
) -> FloatArray:
    """(B, T) levels at the builds z (B, P): parabolas along the axes, products for the pairs.

    known (1 + 2 P + pairs, T): levels of the nominal build, of both ends of every axis, and of every pair. An
    axis with room for only a fraction of a deviation gets a straight line, as a bend would be rounding.
    """
    count = len(axes)
    change = known[1:] - known[0]
    ends = change[: 2 * count].reshape(count, 2, -1)
    low, high = np.array(axes).T[:, :, None]
    bend = (ends[:, 1] / high - ends[:, 0] / low) / (high - low)
    slope = ends[:, 1] / high - bend * high
    narrow = np.minimum(high - low, np.minimum(2 * np.abs(low), 2 * np.abs(high))) < STEPS[1]
    slope = np.where(narrow, (ends[:, 1] - ends[:, 0]) / (high - low), slope)
    bend = np.where(narrow, 0.0, bend)
    surface: FloatArray = known[0] + z @ slope + z**2 @ bend
    for (first, second), joint in zip(pairs, change[2 * count :], strict=True):
        alone = PAIRED * (slope[first] + slope[second]) + PAIRED**2 * (bend[first] + bend[second])
        surface = surface + np.outer(z[:, first] * z[:, second], (joint - alone) / PAIRED**2)
    return surface
