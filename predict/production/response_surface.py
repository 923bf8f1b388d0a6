"""The readings of many random builds from the forward runs of a few: a quadratic surface over the tolerances.

Readings are smooth in the tolerances z (standard deviations) as long as the turns lie in the same layers, and
nearly additive as logarithms:

    ln y = ln y_0 + Σ_p f_p(z_p) + Σ_pq h_pq z_p z_q + o(layers)

f_p is the parabola through the nominal build and one build on either side of it, h_pq comes from one build
for each pair of those tolerances that act on each other (``acting_together``): places of windings, whose
differences count, the core's parts, which share one reluctance, and where open tests' ampere-turns return.
Where builds hold other turns in their layers than the plain one (a layer tips over, or holds one turn more),
o is what forward runs of builds of that very kind read off the surface, level and slopes. Phases are taken as
they are, and so are readings that change their sign.

The cost is that of 2 P + pairs + kinds + ``CHECKED`` forward runs for P tolerances, however many builds are
asked for. Random builds that are run in full say how far off the surface is; a reading that it misses by more
than ``OFF`` of its own deviation has all builds run in full. Against full runs of the ladder and the samples:
0.00 to 0.20 of a reading's standard deviation (root mean square), which moves the ends of its range by up to
6 % of its width, as a rule by less than their sampling error.

Source: response surfaces with central composite points are textbook matter (Box and Wilson 1951, from
memory).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from ..design import BenchTest, Design, FloatArray
from ..winding import layer_turns
from .parameter import Parameter
from .tipping import RARE

STEPS = (2.0, 1.0, 0.5, 0.25)
"""Standard deviations from the nominal build at which a tolerance is tried, until its layers are the same. At
two, the ends of the 95 % range, the surface errs least (1.5 to 2 tried on the ladder and the samples)."""
PAIRED = 2.0
"""Standard deviations of both of a pair of tolerances."""
KINDS = 64
"""Forward runs for builds whose layers hold other turns than the plain one's."""
_FEWEST_OF_A_KIND, _MOST_OF_A_KIND = 8, 24
"""Of a kind of builds with other layers than the plain one that is not rare; of any."""
_RIDGE = 0.3
"""Of a kind's own slopes, against what its builds do not show: rounding and the bends that kinds share."""
CHECKED = 16
"""Random builds that are run in full whatever the surface says."""
OFF = 0.3
"""Root mean square of the surface's misses, in standard deviations of the reading, from which all builds are
run in full."""
RESOLVED = 2e-4
"""Relative deviation of a reading below which the forward runs' own rounding counts as no miss."""

_PLACES = ("centring", "model_leg_share")
_CORE = ("mu_i", "gap", "face_gap", "loss")
_ANCHOR = ("mu_i", "al", "gap", "face_gap", "model_inductance", "model_leakage")

Read = Callable[[FloatArray, Sequence[int]], FloatArray]
"""Forward runs: z (E, P) in standard deviations, the tests that are asked → readings (E, tests)."""


@dataclass(frozen=True)
class Scattered:
    """samples : (B, T) readings of the random builds (phases within π of the nominal one). turns : (B, S, 3)
    of ``layer_turns``. misses : (T,) root mean square by which full runs lie off the surface, in standard
    deviations of the reading; 0 where all builds were run in full."""

    samples: FloatArray
    turns: FloatArray
    misses: FloatArray


def acting_together(parameters: Sequence[Parameter]) -> list[tuple[int, int]]:
    """Pairs of tolerances (their places) whose joint effect on a reading is more than the sum of both."""

    def one_of(name: str, families: tuple[str, ...]) -> bool:
        return any(name == family or name.startswith(family + " ") for family in families)

    found = []
    for second, other in enumerate(parameters):
        for first, one in enumerate(parameters[:second]):
            names = (one.name, other.name)
            leaning = "model_leg_share" in names and any(one_of(name, _ANCHOR) for name in names)
            alike = any(all(one_of(name, family) for name in names) for family in (_PLACES, _CORE))
            if leaning or alike:
                found.append((first, second))
    return found


def scattered(
    parameters: Sequence[Parameter],
    z: FloatArray,
    varied: Callable[[FloatArray], Design],
    read: Read,
    tests: Sequence[BenchTest],
    *,
    exact: bool = False,
) -> Scattered:
    """Readings of the random builds ``z`` (B, P).

    varied : z (E, P) → the design with that many builds. exact : every build in a full forward run, as few
    ones are in any case.
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
    checked = np.unique(np.concatenate([np.arange(CHECKED), *kinds.anchors]))
    unit = np.eye(count)
    points = [np.zeros(count), *(end * unit[place] for place, ends in enumerate(axes) for end in ends)]
    points += [PAIRED * (unit[one] + unit[other]) for one, other in pairs]
    runs = read(np.concatenate([np.stack(points), z[checked]]), every)
    whole = np.all(np.isfinite(runs), axis=0)
    scale = _Scale.of(tests, np.where(whole, runs, 1.0))
    levels = scale.straight(np.where(whole, runs, 1.0))
    known, full = levels[: len(points)], levels[len(points) :]
    found = _surface(axes, pairs, known, z)
    found = found + _of_kinds(z, kinds, checked, full - found[checked])
    deviation = np.maximum(np.std(found, axis=0), RESOLVED * scale.size(known[0]))
    chance = np.isin(checked, np.arange(CHECKED))
    misses = np.sqrt(np.mean((full - found[checked])[chance] ** 2, axis=0))
    misses = misses / np.where(deviation > 0, deviation, 1.0)
    found[checked] = full
    samples = scale.back(found)
    off = np.flatnonzero((misses > OFF) | ~whole)
    if len(off):
        samples[:, off], misses[off] = read(z, off.tolist()), 0.0
    return Scattered(samples, turns, misses)


def _turns(varied: Callable[[FloatArray], Design], z: FloatArray) -> FloatArray:
    """(B, S, 3) ``layer_turns`` of the builds z."""
    found = layer_turns(varied(z))
    return np.broadcast_to(found, (len(z), *found.shape[1:]))


def steps_as_designed(chosen: Sequence[Parameter], design: Design) -> FloatArray:
    """(P, 2) of every parameter of ``chosen`` two values in standard deviations, the larger one first, at
    most one from the plain build, between which the layers stay as designed; ±1 where there are none."""

    def varied(z: FloatArray) -> Design:
        builds = design
        for place, parameter in enumerate(chosen):
            builds = parameter.change(builds, z[:, place])
        return builds

    plain = _turns(varied, np.zeros((1, len(chosen))))[0]
    ends = _axes(varied, plain, len(chosen), STEPS[1:])
    return np.array([[high, low] for low, high in ends]).reshape(len(chosen), 2)


def _axes(
    varied: Callable[[FloatArray], Design], plain: FloatArray, count: int, steps: Sequence[float] = STEPS
) -> list[tuple[float, float]]:
    """Of every tolerance two values, in standard deviations, whose layers hold the plain build's turns, far
    from each other and from 0; the outermost ones where a tolerance leaves no such values."""
    values = [sign * step for step in steps for sign in (-1.0, 1.0)]
    points = np.concatenate([value * np.eye(count) for value in values])
    alike = np.all(_turns(varied, points) == plain, axis=(1, 2)).reshape(len(values), count)
    result = []
    for place in range(count):
        kept = sorted(value for value, same in zip(values, alike[:, place], strict=True) if same)
        ends = [(low, high) for number, low in enumerate(kept) for high in kept[number + 1 :]]
        apart = [min(high - low, 2 * abs(low), 2 * abs(high)) for low, high in ends]
        result.append(ends[int(np.argmax(apart))] if ends else (-steps[0], steps[0]))
    return result


@dataclass(frozen=True)
class _Kinds:
    """Builds sorted by the turns in their layers. of_build : (B,) the kind of each. plain : the kind of the
    plain build, or −1. anchors : of every kind the builds that stand for it, none for rare ones.
    nearest : (K,) the kind that stands for each: itself, the most similar with anchors, or the plain one."""

    of_build: np.ndarray
    plain: int
    anchors: tuple[np.ndarray, ...]
    nearest: np.ndarray


def _kinds(z: FloatArray, turns: FloatArray, plain: FloatArray) -> _Kinds:
    flat = turns.reshape(len(turns), -1)
    kinds, of_build, sizes = np.unique(flat, axis=0, return_inverse=True, return_counts=True)
    of_build = of_build.reshape(-1)
    own = np.flatnonzero(np.all(kinds == plain.reshape(-1), axis=1))
    home = int(own[0]) if len(own) else -1
    anchors = [np.zeros(0, int) for _ in kinds]
    left = KINDS
    for kind in np.argsort(-sizes, kind="stable"):
        if kind == home or left <= 0:
            continue
        members = np.flatnonzero(of_build == kind)
        other = np.any(kinds[kind].reshape(plain.shape)[:, 0] != plain[:, 0])
        least = _FEWEST_OF_A_KIND if other and sizes[kind] > RARE * len(z) else 1
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
    return _Kinds(of_build, home, tuple(anchors), nearest)


def _of_kinds(z: FloatArray, kinds: _Kinds, checked: np.ndarray, misses: FloatArray) -> FloatArray:
    """(B, T) what builds of every kind read off the surface: the level and slopes of ``misses`` (checked, T),
    the smallest slopes that explain them."""
    found = np.zeros((len(z), misses.shape[1]))
    place = {int(build): number for number, build in enumerate(checked)}
    for kind, anchors in enumerate(kinds.anchors):
        if not len(anchors):
            continue
        off = misses[[place[int(build)] for build in anchors]]
        level, middle = off.mean(axis=0), z[anchors].mean(axis=0)
        away = z[anchors] - middle
        slopes = away.T @ np.linalg.solve(away @ away.T + _RIDGE * np.eye(len(anchors)), off - level)
        here = kinds.nearest[kinds.of_build] == kind
        found[here] = level + (z[here] - middle) @ slopes
    return found


@dataclass(frozen=True)
class _Scale:
    """Where readings are nearly additive: as logarithms, those that keep their sign; phases around ``plain``.

    logarithmic, phase : (T,) which. sign : (T,). plain : (T,) the nominal readings.
    """

    logarithmic: np.ndarray
    phase: np.ndarray
    sign: FloatArray
    plain: FloatArray

    @staticmethod
    def of(tests: Sequence[BenchTest], runs: FloatArray) -> _Scale:
        """The scale for readings ``runs`` (E, T), the nominal ones first."""
        phase = np.array([test.measure == "phase" for test in tests], bool)
        alike = np.all(runs > 0, axis=0) | np.all(runs < 0, axis=0)
        return _Scale(alike & ~phase, phase, np.sign(runs[0]), runs[0])

    def straight(self, readings: FloatArray) -> FloatArray:
        """Readings (…, T) on this scale."""
        turned = self.plain + np.angle(np.exp(1j * np.where(self.phase, readings - self.plain, 0.0)))
        size = np.where(self.logarithmic, np.abs(readings), 1.0)
        return np.where(self.logarithmic, np.log(size), np.where(self.phase, turned, readings))

    def back(self, levels: FloatArray) -> FloatArray:
        """Readings (…, T) of levels on this scale."""
        size = np.exp(np.where(self.logarithmic, levels, 0.0))
        return np.where(self.logarithmic, self.sign * size, levels)

    def size(self, levels: FloatArray) -> FloatArray:
        """What a relative deviation of one is on this scale, (T,)."""
        return np.where(self.logarithmic, 1.0, np.abs(levels))


def _surface(
    axes: Sequence[tuple[float, float]],
    pairs: Sequence[tuple[int, int]],
    known: FloatArray,
    z: FloatArray,
) -> FloatArray:
    """(B, T) levels at the builds z (B, P): parabolas along the axes, products of the pairs.

    known (1 + 2 P + pairs, T) : levels of the plain build, of both ends of every axis, of every pair. Where
    an axis has room on a fraction of a deviation only, a straight line, as a bend would be rounding.
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
    found: FloatArray = known[0] + z @ slope + z**2 @ bend
    for (one, other), joint in zip(pairs, change[2 * count :], strict=True):
        alone = PAIRED * (slope[one] + slope[other]) + PAIRED**2 * (bend[one] + bend[other])
        found = found + np.outer(z[:, one] * z[:, other], (joint - alone) / PAIRED**2)
    return found
