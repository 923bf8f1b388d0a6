"""How far the models err in single readings: the part of their error that not all readings share.

The error of a model belongs to the design: all its parts have it. It has three parts: one that all readings
of a kind share (``model_leakage``, ``model_capacitance`` … of ``tolerances``), one of a pair of windings, the
same whichever of the two is driven, and one of a single reading. This module gives the last two, as standard
deviations of the logarithm of the reading:

    leakage        of a pair √(LEAKAGE² + s² − s₀²/2), with s the error that the field model states for that
                   pair (``leakage_errors``: side by side, rings, near field of separate wires, leads) and s₀
                   that which all pairs share (``shared_leakage_error``), in proportion to the part of the
                   reading that is not link and leads; LEAKAGE_READING of each
    ratio, L open  of a winding √((SPLIT·λ)² + a²), the first at most MOST_SPLIT, λ = 1 − k²: how leakage is
                   shared between two windings; a what its arc on a ring leaves open (``own_arc_errors``);
                   the same in its ratio, its open inductance and its leakage as read from there; RATIO of
                   each ratio, and more for a pair with weaker coupling
    capacitance    of a pair √(CAPACITANCE² + (SPARSE·n)²), n the near field's part of the leakage, which
                   shows how far the turns are from sheets; BESIDE instead of CAPACITANCE where windings face
                   edge to edge or fan out (chambers, rings)
    resonance      RESONANCE of each winding that is driven, RESONANCE_IN_AIR without a core; AC resistance
                   AC·e, with e the error that its model states (``ac_resistance_error``); quality QUALITY

Where ``[spread]`` states the error of the model, no part is larger than that. What known-good samples have
taught about a pair or a reading (``[calibration]``) replaces its size, and the error that all readings share.
The sizes follow from residuals against models that have nothing in common with these:
``tests/reference/error_sizes.py`` derives each from its cases.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from ..circuit import (
    HIGHEST,
    Sections,
    inductance_matrix,
    is_leakage,
    leakage_errors,
    members_of,
    own_arc_errors,
    own_names,
    sections_of,
    shared_leakage_error,
)
from ..copper import ac_resistance_error
from ..design import BenchTest, Design, FloatArray
from ..remembered import by_value

LEAKAGE, LEAKAGE_READING = 0.0125, 0.004
"""Error of a pair's leakage; of one reading of it (eddy currents, the pins). These and those below follow
from the cases (``tests/reference/error_sizes.py``), unless they say that they are judged."""
ONE_SIDE = 0.8
"""How much of a pair's error each side has for itself (0.64 of the variance). In any model both sides agree
(0.3 % on 24 pairs of the benchmark's designs). On a bench they agree as far as the ends driven here are the
ends shorted there and lie alike, which nobody knows. Chosen by the rule that no sound part be accused if
every reading is off by itself (``tests/benchmarks/law.py``: with 0, half of a ring's parts are). On the
tuning set it costs nothing (exact first 71.1 % with 0, 70.9 with 0.8 and with 1)."""
SPLIT, MOST_SPLIT, RATIO = 0.20, 0.0030, 0.0001
"""Error of a winding's part of the leakage and its maximum (judged on the residuals that
tests/reference/reading_errors.py prints); and the error of one ratio, from the cases."""
CAPACITANCE, SPARSE, BESIDE = 0.05, 0.15, 0.10
"""Error of a pair's capacitance: layers that face each other, the addition for spaced turns, edge to edge
(the first from the cases and how wires happen to lie, the others judged on the residuals that
tests/reference/reading_errors.py prints)."""
RESONANCE_IN_AIR = 0.15
"""Error of the resonance of a coil in air, whose field reaches leads, meter and bench (judged)."""
RESONANCE, AC, QUALITY = 0.08, 0.56, 0.056
"""Error of a resonance; of an AC resistance, as part of what its model states; of a quality (from the cases,
``tests/reference/error_sizes.py``)."""


@dataclass(frozen=True)
class ReadingError:
    """One independent part of the models' error.

    Attributes
    ----------
    name : str, name as of a parameter of [spread], with what it belongs to
    effect : (T,) array
        Change of every reading for one standard deviation, in the logarithm, dimensionless (phase: rad).
    of : str, name under which known-good samples learn it (``own_names``)
    """

    name: str
    effect: FloatArray
    of: str = ""


@by_value(16)
def reading_errors(design: Design) -> tuple[ReadingError, ...]:
    """The errors of pairs of windings and of single readings, for all tests of a design (nominal build).

    Parameters
    ----------
    design : Design of one build

    Raises
    ------
    BuildError
        Where the layout is outside the models.
    """
    tests = design.tests
    if not tests:
        return ()
    errors = _OwnErrors(design)
    sections = sections_of(design)
    everything, near, leakage_share = (np.asarray(part[0]) for part in leakage_errors(sections, tests))
    _leakage(design, errors, everything, leakage_share)
    _split(design, errors)
    _capacitance(design, errors, _near_parts(sections, near))
    alternating = AC * ac_resistance_error(design)
    limit = design.tolerances.model_ac_resistance
    for index, test in enumerate(tests):
        if test.measure == "resonance":
            size = RESONANCE if design.core.dimensions.permeable else RESONANCE_IN_AIR
            errors.add(own_names(design, test)[0], index, size)
        elif test.measure == "ac_resistance":
            size = _limited(alternating, limit)
            errors.add(own_names(design, test)[0], index, size, f"ac_resistance {test.name}")
        elif test.measure == "quality":
            errors.add(own_names(design, test)[0], index, QUALITY, f"quality {test.name}")
    return tuple(ReadingError(name, effect, errors.of[name]) for name, effect in errors.rows.items())


class _OwnErrors:
    """Rows by name, filled reading by reading."""

    def __init__(self, design: Design) -> None:
        self.design = design
        self.rows: dict[str, FloatArray] = {}
        self.of: dict[str, str] = {}
        self.known = {item.of: item.deviation for item in design.model.own}

    def add(self, of: str, index: int, deviation: float, name: str = "") -> None:
        """Add ``deviation`` (or what was learned) of the reading ``index`` to the error ``of``
        (``own_names``). ``name``: name of the row, if it differs."""
        deviation = self.known.get(of, deviation)
        if deviation != 0:
            row = f"model_{name or of}"
            self.rows.setdefault(row, np.zeros(len(self.design.tests)))[index] += deviation
            self.of[row] = of


def _limited(deviation: float, stated: float | None) -> float:
    return deviation if stated is None else min(deviation, stated)


def _leakage(design: Design, errors: _OwnErrors, stated: FloatArray, leakage_share: FloatArray) -> None:
    """Errors of pairs and of readings. ``leakage_share`` (T,): part of each reading due to the windings."""
    limit, shared = design.tolerances.model_leakage, shared_leakage_error(design)
    for index, test in enumerate(design.tests):
        if is_leakage(design, test):
            size = math.sqrt(LEAKAGE**2 + max(float(stated[index]) ** 2 - shared**2 / 2, 0.0))
            part = float(leakage_share[index])
            pair, side, *_ = own_names(design, test)
            size = _limited(size, limit) * part
            alone = math.hypot(ONE_SIDE * size, _limited(LEAKAGE_READING, limit) * part)
            errors.add(pair, index, math.sqrt(1 - ONE_SIDE**2) * size)
            errors.add(side, index, alone, f"leakage {test.name}")


def _split(design: Design, errors: _OwnErrors) -> None:
    """How leakage is shared between two windings: for each winding against the one it couples to best. A
    ratio to another winding depends on the coupling to that one."""
    matrix = inductance_matrix(design)
    self_inductance = np.sqrt(np.abs(np.diag(matrix)))
    coupling = np.abs(matrix) / np.maximum(self_inductance[:, None] * self_inductance[None, :], 1e-300)
    np.fill_diagonal(coupling, 0.0)
    apart = np.clip(1 - np.max(coupling, axis=1, initial=0.0) ** 2, 0.0, 1.0)
    names = [winding.name for winding in design.windings]
    arcs = own_arc_errors(design, np.diag(matrix))
    size = {
        name: math.hypot(min(SPLIT * float(part), MOST_SPLIT), arcs.get(name, 0.0))
        for name, part in zip(names, apart, strict=True)
    }
    alone = len(design.windings) < 2
    limit = design.tolerances.model_leakage
    for index, test in enumerate(design.tests):
        driven = [member.name for member in members_of(design, test.drive)]
        if test.measure == "ratio":
            sensed = [member.name for member in members_of(design, test.sense)]
            rest = 0.0
            if len(driven) == len(sensed) == 1:
                k = coupling[names.index(driven[0]), names.index(sensed[0])]
                far = min(SPLIT * float(1 - k**2), MOST_SPLIT)
                rest = math.sqrt(max(far**2 - size[driven[0]] ** 2, 0.0))
            size_of = _limited(math.hypot(RATIO, rest), limit)
            errors.add(own_names(design, test)[0], index, size_of, f"ratio {test.name}")
        if alone or len(driven) != 1 or test.measure not in ("ratio", "inductance"):
            continue
        errors.add(f"split {driven[0]}", index, _limited(size[driven[0]], limit))


def _near_parts(sections: Sections, near: FloatArray) -> FloatArray:
    """(T,): part of the near field in the leakage between what a capacitance is read between; beside a shield
    ``near``, that of all windings."""
    design, result = sections.design, near.copy()
    windings = {winding.name for winding in design.windings}
    for index, test in enumerate(design.tests):
        ends = {member.name for port in (test.drive, test.sense) for member in members_of(design, port)}
        if test.measure == "capacitance" and test.sense and ends <= windings:
            leakage = replace(test, measure="inductance", short=test.sense, sense=())
            result[index] = leakage_errors(sections, (leakage,))[1][0, 0]
    return result


def _capacitance(design: Design, errors: _OwnErrors, near: FloatArray) -> None:
    limit = design.tolerances.model_capacitance
    ring = design.core.dimensions.ring
    aside = ring or design.bobbin.chamber_count > 1 or len(design.bobbin.chambers) > 1
    for index, test in enumerate(design.tests):
        if test.measure == "capacitance":
            size = math.hypot(BESIDE if aside else CAPACITANCE, SPARSE * float(near[index]))
            errors.add(own_names(design, test)[0], index, _limited(size, limit))


SHARED = {
    "leakage": "model_leakage",
    "capacitance": "model_capacitance",
    "resonance": "model_capacitance",
    "ac_resistance": "model_ac_resistance",
}
"""The error that all readings of a kind share, which learning one of them replaces."""


def replaced(design: Design, shared: str) -> FloatArray:
    """Which readings have a learned error of their own in place of a shared one.

    For leakage the error of the pair replaces the shared one; that of a single side adds to it.

    Parameters
    ----------
    design : Design with T tests
    shared : str, shared error, such as "model_leakage"

    Returns
    -------
    (T,) array, 1 where it is replaced, else 0, dimensionless
    """
    known = {item.of for item in design.model.own if not item.of.startswith("leakage") or "|" in item.of}
    names = [own_names(design, test)[:1] for test in design.tests]
    return np.array(
        [float(any(SHARED.get(of.split()[0]) == shared and of in known for of in name)) for name in names]
    )


def displaced(
    tests: Sequence[BenchTest], samples: FloatArray, nominal: FloatArray, away: FloatArray
) -> FloatArray:
    """Readings moved by errors: in the logarithm, phases by the sum and around the nominal value.

    A build without a resonance keeps none.

    Parameters
    ----------
    tests : sequence of T BenchTest
    samples : (B, T) array, SI
    nominal : (T,) array, SI
    away : (B, T) array, errors in the logarithm, dimensionless (phase: rad)

    Returns
    -------
    (B, T) array, SI
    """
    phase = np.array([test.measure == "phase" for test in tests], bool)
    none = np.array([test.measure == "resonance" for test in tests]) & (samples >= HIGHEST * (1 - 1e-9))
    turned = nominal + away + np.angle(np.exp(1j * np.where(phase, samples - nominal, 0.0)))
    moved = samples * np.exp(np.where(phase | none, 0.0, away))
    resonances = [test.measure == "resonance" for test in tests]
    return np.where(phase, turned, np.where(resonances, np.minimum(moved, HIGHEST), moved))
