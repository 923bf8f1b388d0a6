"""The bench sheet: how to take each reading, what to expect, and whether its limits can be tested at all.

The reading, its budget, the frequencies at which it holds, what production reaches (random builds, the
model's error included), limits to propose, and which winding is better driven: all found by predicting the
readings of changed designs.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from ...predict.circuit import predict_bench, shown_with_uncertainty, stated_temperature
from ...predict.design import BenchTest, Design
from ...predict.production import BUILDS, TippedReadings, spread
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
    window_warnings,
)


@dataclass(frozen=True, kw_only=True)
class PlannedTest:
    """One line of the bench sheet; SI (rad for phase), temperature in °C, uncertainties standard.

    connections : one sentence. frequency, level : None with direct current. level : RMS as set on the meter,
    behind its source resistance; terminal_level : what of it stands across the part. equivalent : None where
    the display does not depend on it. corrections, notes, warnings : sentences. low, high : 95 % of
    production with the layers as designed and with the model's error. apart : what builds with other layers
    read. budget : of one reading: meter, handling, link and leads, temperature, level. window : of an
    inductance, else None. proposed : limits to propose; None where no finite reading is expected.
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
        """Combined standard uncertainty of one reading."""
        return self.budget.combined


def plan(design: Design, *, builds: int = BUILDS, seed: int = 1) -> tuple[PlannedTest, ...]:
    """The bench sheet of every test of ``design``, in order.

    builds, seed : random builds behind ``low``, ``high`` and the proposed limits. Raises BuildError where the
    layout is outside the models.
    """
    if not design.tests:
        return ()
    count = len(design.tests)
    exchanged = {place: test for place, test in enumerate(map(_exchanged, design.tests)) if test is not None}
    both = replace(design, tests=(*design.tests, *exchanged.values()))
    prediction = predict_bench(both)
    budgets = reading_budgets(both, prediction)
    shares = link_shares(both, prediction.values)
    windows = frequency_windows(design)
    production = spread(design, builds, seed)
    sides = {
        place: OtherSide(
            test.drive[0].name,
            test.short[0].name,
            float(prediction.values[count + number]),
            budgets[count + number],
            float(shares[count + number]),
        )
        for number, (place, test) in enumerate(exchanged.items())
    }
    result = []
    for place, test in enumerate(design.tests):
        value, impedance = float(prediction.values[place]), complex(prediction.impedance[place])
        window, side, own = windows.get(test.name), sides.get(place), budgets[place]
        warnings = [
            *limit_warnings(test, own, production, place),
            *resolution_warnings(test, value, own, float(production.high[place] - production.low[place]) / 2),
            *link_warnings(test, float(shares[place]), value, own, side),
            *window_warnings(window),
            *mode_warnings(test, impedance, shown_circuit(design, test)),
            *level_warnings(design, test, float(prediction.flux_density[place])),
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
                low=float(production.low[place]),
                high=float(production.high[place]),
                budget=own,
                window=window,
                proposed=proposed_limits(test, production, place, own),
                minimum=test.minimum,
                maximum=test.maximum,
                notes=(
                    *side_notes(float(shares[place]), value, own, side),
                    *(one.sentence_of(place, test) for one in production.apart_from(place)),
                ),
                warnings=tuple(warnings),
                sweep=sweep_range(test, float(production.low[place]), float(production.high[place])),
                terminal_level=None if direct else float(prediction.level[place]),
                apart=production.apart,
            )
        )
    return tuple(result)


def _exchanged(test: BenchTest) -> BenchTest | None:
    """The same leakage from the other side: driven and shorted winding exchanged; None where not one of each
    is, or ends are tied."""
    if test.measure not in ("inductance", "ac_resistance") or test.tie or test.bias:
        return None
    if len(test.short) != 1 or len(test.drive) != 1:
        return None
    return replace(test, drive=test.short, short=test.drive)
