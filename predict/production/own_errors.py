"""What the models err by in single readings: the part of a model's error that not all readings share.

A model's error belongs to the design, all its parts have it. It has three parts: one that all readings of a
kind share (``model_leakage``, ``model_capacitance`` … of ``tolerances``), one of a pair of windings, the same
whichever of the two is driven, and one of a single reading. The last two stand here, as standard deviations
in the logarithm of the reading:

    leakage        of a pair √(LEAKAGE² + s²/2), s what the field model states of itself for that pair
                   (``leakage_errors``: side by side, rings, near field of separate wires, leads), in
                   proportion to the part of the reading that is not link and leads; LEAKAGE_READING of each
    ratio, L open  of a winding SPLIT·λ, at most MOST_SPLIT, λ = 1 − k²: how leakage is shared between two
                   windings; the same in its ratio, its open inductance and its leakage as read from there;
                   RATIO of each ratio, and what a pair that couples less has more of it
    capacitance    of a pair √(CAPACITANCE² + (SPARSE·n)²), n the near field's part of the leakage, which says
                   how far the turns are from sheets; BESIDE instead of CAPACITANCE where windings face edge
                   to edge or fan out (chambers, rings)
    resonance      RESONANCE of each winding that is driven; resistance in alternating current AC·e, e what
                   that model states of itself (``ac_resistance_error``); quality QUALITY

Where ``[spread]`` states the model's error, no part is larger than that. What known-good samples taught of a
pair or a reading (``[calibration]``) takes the place of its size and of what all readings share. The sizes
follow from residuals against models that share nothing with these: ``tests/reference/reading_errors.py``
prints them.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..circuit import (
    HIGHEST,
    inductance_matrix,
    is_leakage,
    leakage_errors,
    members_of,
    own_names,
    sections_of,
)
from ..copper import ac_resistance_error
from ..design import BenchTest, Design, FloatArray
from ..remembered import by_value

LEAKAGE, LEAKAGE_READING = 0.012, 0.004
"""Of a pair's leakage; of one reading of it (eddy currents, the pins)."""
ONE_SIDE = 0.8
"""Of a pair's error, how much each side has by itself (0.64 of the variance). In any model both sides agree
(0.3 % on 24 pairs of the benchmark's designs); on a bench they do so as far as the ends that are driven here
are those that are shorted there and lie alike, which nobody knows. Chosen by the law that no sound part be
accused if every reading is off by itself (``tests/benchmarks/law.py``: with 0 half of a ring's parts are); on
the tuning set it costs nothing (exact first 71.1 % with 0, 70.9 with 0.8 and with 1)."""
SPLIT, MOST_SPLIT, RATIO = 0.20, 0.0030, 0.0001
"""Of a winding's part of the leakage, and at most; of one ratio."""
CAPACITANCE, SPARSE, BESIDE = 0.05, 0.15, 0.10
"""Of a pair's capacitance: layers that face each other, for spaced turns in addition, edge to edge."""
RESONANCE, AC, QUALITY = 0.07, 0.6, 0.03
"""Of a resonance; of a resistance in alternating current, in what the model states; of a quality."""


@dataclass(frozen=True)
class ReadingError:
    """One independent part of the models' error. name : as of a parameter of [spread], with what it belongs
    to. effect : (T,) change of every reading for one standard deviation, in the logarithm (phase: rad).
    of : as known-good samples call it (``own_names``)."""

    name: str
    effect: FloatArray
    of: str = ""


@by_value(16)
def reading_errors(design: Design) -> tuple[ReadingError, ...]:
    """The errors of pairs of windings and of single readings, for all tests of ``design`` (nominal build).

    Raises BuildError where the layout is outside the models.
    """
    tests = design.tests
    if not tests:
        return ()
    found = _Found(design)
    sections = sections_of(design)
    everything, near, own = (np.asarray(part[0]) for part in leakage_errors(sections, tests))
    _leakage(design, found, everything, own)
    _split(design, found)
    _capacitance(design, found, float(near.max(initial=0.0)))
    alternating = AC * ac_resistance_error(design)
    limit = design.tolerances.model_ac_resistance
    for place, test in enumerate(tests):
        if test.measure == "resonance":
            found.add(own_names(design, test)[0], place, RESONANCE)
        elif test.measure == "ac_resistance":
            size = _limited(alternating, limit)
            found.add(own_names(design, test)[0], place, size, f"ac_resistance {test.name}")
        elif test.measure == "quality":
            found.add(own_names(design, test)[0], place, QUALITY, f"quality {test.name}")
    return tuple(ReadingError(name, effect, found.of[name]) for name, effect in found.rows.items())


class _Found:
    """Rows by name, filled reading by reading."""

    def __init__(self, design: Design) -> None:
        self.design = design
        self.rows: dict[str, FloatArray] = {}
        self.of: dict[str, str] = {}
        self.known = {item.of: item.deviation for item in design.model.own}

    def add(self, of: str, place: int, deviation: float, name: str = "") -> None:
        """``deviation`` of the reading ``place`` to the error ``of`` (``own_names``), or what was learned of
        it; ``name``: of the row, where it is another."""
        deviation = self.known.get(of, deviation)
        if deviation != 0:
            row = f"model_{name or of}"
            self.rows.setdefault(row, np.zeros(len(self.design.tests)))[place] += deviation
            self.of[row] = of


def _limited(deviation: float, stated: float | None) -> float:
    return deviation if stated is None else min(deviation, stated)


def _leakage(design: Design, found: _Found, stated: FloatArray, own: FloatArray) -> None:
    """Of pairs and of readings. own : (T,) the part of the reading that is the windings'."""
    limit = design.tolerances.model_leakage
    for place, test in enumerate(design.tests):
        if is_leakage(test):
            size = math.hypot(LEAKAGE, float(stated[place]) / math.sqrt(2))
            part = float(own[place])
            pair, side, *_ = own_names(design, test)
            size = _limited(size, limit) * part
            alone = math.hypot(ONE_SIDE * size, _limited(LEAKAGE_READING, limit) * part)
            found.add(pair, place, math.sqrt(1 - ONE_SIDE**2) * size)
            found.add(side, place, alone, f"leakage {test.name}")


def _split(design: Design, found: _Found) -> None:
    """How leakage is shared between two windings: of each winding, against the one it couples to best;
    a ratio to another one hangs on that one's coupling."""
    matrix = inductance_matrix(design)
    own = np.sqrt(np.abs(np.diag(matrix)))
    coupling = np.abs(matrix) / np.maximum(own[:, None] * own[None, :], 1e-300)
    np.fill_diagonal(coupling, 0.0)
    apart = np.clip(1 - np.max(coupling, axis=1, initial=0.0) ** 2, 0.0, 1.0)
    names = [winding.name for winding in design.windings]
    size = {name: min(SPLIT * float(part), MOST_SPLIT) for name, part in zip(names, apart, strict=True)}
    alone = len(design.windings) < 2
    limit = design.tolerances.model_leakage
    for place, test in enumerate(design.tests):
        driven = [member.name for member in members_of(design, test.drive)]
        if test.measure == "ratio":
            sensed = [member.name for member in members_of(design, test.sense)]
            rest = 0.0
            if len(driven) == len(sensed) == 1:
                k = coupling[names.index(driven[0]), names.index(sensed[0])]
                far = min(SPLIT * float(1 - k**2), MOST_SPLIT)
                rest = math.sqrt(max(far**2 - size[driven[0]] ** 2, 0.0))
            size_of = _limited(math.hypot(RATIO, rest), limit)
            found.add(own_names(design, test)[0], place, size_of, f"ratio {test.name}")
        if alone or len(driven) != 1 or test.measure not in ("ratio", "inductance"):
            continue
        found.add(f"split {driven[0]}", place, _limited(size[driven[0]], limit))


def _capacitance(design: Design, found: _Found, near: float) -> None:
    limit = design.tolerances.model_capacitance
    ring = design.core.dimensions.ring
    aside = ring or design.bobbin.chamber_count > 1 or len(design.bobbin.chambers) > 1
    size = math.hypot(BESIDE if aside else CAPACITANCE, SPARSE * near)
    for place, test in enumerate(design.tests):
        if test.measure == "capacitance":
            found.add(own_names(design, test)[0], place, _limited(size, limit))


SHARED = {
    "leakage": "model_leakage",
    "capacitance": "model_capacitance",
    "resonance": "model_capacitance",
    "ac_resistance": "model_ac_resistance",
}
"""What all readings of a kind share, and what is learned of one of them takes the place of."""


def replaced(design: Design, shared: str) -> FloatArray:
    """(T,) 1 where a learned error of a pair or reading stands in place of the ``shared`` one (such as
    "model_leakage"), else 0. Of leakage the pair's is what replaces; a single side's is beside it."""
    known = {item.of for item in design.model.own if not item.of.startswith("leakage") or "|" in item.of}
    names = [own_names(design, test)[:1] for test in design.tests]
    return np.array(
        [float(any(SHARED.get(of.split()[0]) == shared and of in known for of in name)) for name in names]
    )


def displaced(
    tests: Sequence[BenchTest], samples: FloatArray, nominal: FloatArray, away: FloatArray
) -> FloatArray:
    """(B, T) ``samples`` moved by ``away`` in the logarithm, phases (rad) by the sum and around ``nominal``;
    where there is no resonance there stays none."""
    phase = np.array([test.measure == "phase" for test in tests], bool)
    none = np.array([test.measure == "resonance" for test in tests]) & (samples >= HIGHEST * (1 - 1e-9))
    turned = nominal + away + np.angle(np.exp(1j * np.where(phase, samples - nominal, 0.0)))
    moved = samples * np.exp(np.where(phase | none, 0.0, away))
    resonances = [test.measure == "resonance" for test in tests]
    return np.where(phase, turned, np.where(resonances, np.minimum(moved, HIGHEST), moved))
