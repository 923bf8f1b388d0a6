"""The bench sheet: how to take each reading, what to expect, and whether its limits can be tested at all.

The reading, its budget, the frequencies at which it holds, the range of production (random builds, the
model's error included), limits to propose, and which winding is better driven: all found by predicting the
readings of changed designs.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from ...predict.circuit import predict_bench, shown_with_uncertainty, stated_temperature
from ...predict.design import BenchTest, Design
from ...predict.production import BUILDS, TippedReadings, spread, told_once
from ..meter import Budget, reading_budgets
from .frequency_window import FrequencyWindow, frequency_windows
from .instructions import connections, corrections, shown_circuit, sweep_range
from .limits import ProposedLimits, proposed_limits
from .warnings import (
    OtherSide,
    level_warnings,
    limit_warnings,
    link_shares,
    link_warnings,
    mode_warnings,
    resolution_warnings,
    side_notes,
    source_warnings,
    window_warnings,
)


@dataclass(frozen=True, kw_only=True)
class PlannedTest:
    """One line of the bench sheet.

    Attributes
    ----------
    name : str
        Name of the test.
    measure : str
        What it measures.
    connections : str
        Connections in one sentence.
    frequency : float or None
        Frequency, Hz; None with direct current.
    level : float or None
        RMS voltage as set on the meter, behind its source resistance, V; None with direct current.
    equivalent : str or None
        Equivalent circuit of the display; None if the display does not depend on it.
    temperature : float
        Temperature, degC.
    corrections : tuple[str, ...]
        What to correct, in sentences.
    expected : float
        Expected reading, SI (rad for a phase).
    low : float
        Lower end of 95 % of production with the layers as designed and the model's error, SI.
    high : float
        Upper end of it, SI.
    budget : Budget
        Budget of one reading: meter, handling, link and leads, temperature, level.
    window : FrequencyWindow or None
        Frequencies at which an inductance holds; else None.
    proposed : ProposedLimits or None
        Limits to propose; None if no finite reading is expected.
    minimum, maximum : float or None
        Lower and upper limit of the specification, SI; None without one.
    notes, warnings : tuple[str, ...]
        Notes and warnings, in sentences.
    sweep : str or None
        Frequencies to sweep for a resonance, in words; else None.
    terminal_level : float or None
        Part of the level that is across the part, V; None with direct current.
    apart : tuple[TippedReadings, ...]
        What builds with other layers read.
    """

    name: str
    measure: str
    connections: str
    frequency: float | None
    level: float | None
    equivalent: str | None
    temperature: float
    corrections: tuple[str, ...]
    expected: float
    low: float
    high: float
    budget: Budget
    window: FrequencyWindow | None
    proposed: ProposedLimits | None
    minimum: float | None
    maximum: float | None
    notes: tuple[str, ...]
    warnings: tuple[str, ...]
    sweep: str | None = None
    terminal_level: float | None = None
    apart: tuple[TippedReadings, ...] = ()

    def __str__(self) -> str:
        """Name, expected reading with the bench's uncertainty, connections: one line."""
        expected = shown_with_uncertainty(self.expected, self.measurement_uncertainty, self.measure)
        return f"{self.name}: expect {expected} (bench, k = 2). {self.connections}"

    @property
    def measurement_uncertainty(self) -> float:
        """Combined standard uncertainty of one reading, SI."""
        return self.budget.combined


def plan(design: Design, *, builds: int = BUILDS, seed: int = 1) -> tuple[PlannedTest, ...]:
    """The bench sheet of every test of a design, in order.

    Parameters
    ----------
    design : Design
        The transformer.
    builds : int, optional
        Random builds behind ``low``, ``high`` and the proposed limits, count.
    seed : int, optional
        Seed of the random builds.

    Raises
    ------
    BuildError
        The layout is outside the models.
    """
    if not design.tests:
        return ()
    count = len(design.tests)
    exchanged = {
        test_index: test for test_index, test in enumerate(map(_exchanged, design.tests)) if test is not None
    }
    both = replace(design, tests=(*design.tests, *exchanged.values()))
    prediction = predict_bench(both)
    budgets = reading_budgets(both, prediction)
    shares = link_shares(both, prediction.values)
    windows = frequency_windows(design)
    production = spread(design, builds, seed)
    sides = {
        test_index: OtherSide(
            test.drive[0].name,
            test.short[0].name,
            float(prediction.values[count + number]),
            budgets[count + number],
            float(shares[count + number]),
        )
        for number, (test_index, test) in enumerate(exchanged.items())
    }
    result = []
    for test_index, test in enumerate(design.tests):
        value, impedance = float(prediction.values[test_index]), complex(prediction.impedance[test_index])
        side, budget = sides.get(test_index), budgets[test_index]
        levels = source_warnings(test) + level_warnings(
            design, test, float(prediction.flux_density[test_index])
        )
        # a reading that depends on its level holds at its own frequency only: the flux falls as that rises
        window = None if levels else windows.get(test.name)
        warnings = [
            *limit_warnings(test, budget, production, test_index),
            *resolution_warnings(
                test, value, budget, float(production.high[test_index] - production.low[test_index]) / 2
            ),
            *link_warnings(test, float(shares[test_index]), value, budget, side),
            *window_warnings(window),
            *mode_warnings(test, impedance, shown_circuit(design, test)),
            *levels,
        ]
        direct = test.measure == "resistance"
        result.append(
            PlannedTest(
                name=test.name,
                measure=test.measure,
                connections=connections(design, test),
                frequency=None if direct else test.frequency,
                level=None if direct else test.level,
                equivalent=shown_circuit(design, test),
                temperature=stated_temperature(design, test),
                corrections=corrections(test, value),
                expected=value,
                low=float(production.low[test_index]),
                high=float(production.high[test_index]),
                budget=budget,
                window=window,
                proposed=proposed_limits(test, production, test_index, budget),
                minimum=test.minimum,
                maximum=test.maximum,
                notes=(
                    *side_notes(float(shares[test_index]), value, budget, side),
                    *(
                        kind.sentence_of(test_index, test)
                        for kind in told_once(production.apart_from(test_index))
                    ),
                ),
                warnings=tuple(warnings),
                sweep=sweep_range(
                    test, float(production.low[test_index]), float(production.high[test_index])
                ),
                terminal_level=None if direct else float(prediction.level[test_index]),
                apart=production.apart,
            )
        )
    return tuple(result)


def _exchanged(test: BenchTest) -> BenchTest | None:
    """The same leakage from the other side, with driven and shorted winding exchanged; None unless there is
    one of each, or if ends are tied."""
    if test.measure not in ("inductance", "ac_resistance") or test.tie or test.bias:
        return None
    if len(test.short) != 1 or len(test.drive) != 1:
        return None
    return replace(test, drive=test.short, short=test.drive)
