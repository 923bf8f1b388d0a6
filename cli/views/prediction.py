"""The view of ``predict``: layers as laid, windings, readings with their range, what drives them."""

from __future__ import annotations

import math
from collections.abc import Iterator
from importlib.metadata import version
from typing import Any

import numpy as np

from ...predict.circuit import beyond_search, is_leakage, leakage_errors, leakage_model, sections_of
from ...predict.copper import ac_resistance_error
from ...predict.cores import core_share, inductance_factor
from ...predict.design import Design
from ...predict.production import model_leakage_error
from ...predict.quantity import format_percent, format_quantity
from ...predict.winding import X0, X1, Y0, Y1
from ..documents import predict_document, shared_records
from ..documents.record import as_object, record_of
from . import words
from .apart import apart_json
from .budgets import budget_json, budgets_table
from .forecast import Forecast as Forecast
from .forecast import forecast as forecast
from .layers import layers_view
from .page import Heading, Paragraph, Part

DRIVERS_SHOWN = 3
LEAST_FLUX_DENSITY = 1e-6
"""A flux density below it is not stated in digits, T."""


def prediction_json(result: Forecast) -> dict[str, Any]:
    """The contract's object of ``predict --json``."""
    design, layout = result.design, result.layout
    toroid = design.core.dimensions.ring
    return as_object(
        predict_document.Prediction(
            design=design.title,
            version=version("aswound"),
            core=core_json(design),
            windings=[
                predict_document.PredictWinding(
                    name=winding.name,
                    turns=winding.turns,
                    dc_resistance_ohm=winding.resistance,
                    wire_length_m=winding.length,
                )
                for winding in result.windings
            ],
            layers=[
                predict_document.Layer(
                    winding=section.winding,
                    step=section.step + 1,
                    turns=int(layout.turns[0, index]),
                    inner_m=float(layout.extent[0, index, X0]),
                    outer_m=float(layout.extent[0, index, X1]),
                    from_m=None if toroid else float(layout.extent[0, index, Y0]),
                    to_m=None if toroid else float(layout.extent[0, index, Y1]),
                    leg=section.leg,
                    chamber=section.chamber,
                    shield=section.shield,
                )
                for index, section in enumerate(layout.sections)
            ],
            fill=float(layout.fill[0]),
            height_m=float(layout.top[0]),
            leakage_model=predict_document.PredictLeakageModel(
                name=leakage_model(design).name, standard_error=model_leakage_error(design)
            ),
            tests=[
                predict_document.PredictTest(
                    name=test.name,
                    measure=test.measure,
                    unit=words.unit_of(test.measure),
                    predicted=words.json_number(float(result.spread.nominal[test_index]), test.measure),
                    low=words.json_number(float(result.spread.low[test_index]), test.measure),
                    high=words.json_number(float(result.spread.high[test_index]), test.measure),
                    standard_uncertainty=_finite_spread(result, test_index),
                    builds_apart=apart_json(result.spread.apart, test_index, test.measure),
                    sampling_error=float(result.spread.sampling_error[test_index]),
                    drivers=[
                        record_of(shared_records.DriverRecord, driver)
                        for driver in result.spread.drivers[test_index]
                    ],
                    level_V=float(result.bench.level[test_index]),
                    flux_density_T=float(result.bench.flux_density[test_index]),
                    bias_flux_density_T=float(result.bench.bias_flux_density[test_index]),
                    bench_uncertainty=result.budgets[test_index].combined,
                    bench_budget=budget_json(result.budgets[test_index]),
                )
                for test_index, test in enumerate(design.tests)
            ],
            builds_as_designed=result.spread.share_as_designed,
            cautions=list(result.cautions),
        )
    )


def prediction_view(first: Forecast, second: Forecast | None = None, label: str = "") -> Iterator[Part]:
    """The page of ``predict``; with a second forecast, the change beside the original.

    Parameters
    ----------
    first : Forecast, what is predicted of the design
    second : Forecast or None, optional, what is predicted of the design
    label : str, optional, what the change is, in words
    """
    yield first.design.title or "(no title)"
    yield Paragraph(core_line(first.design))
    yield from layers_view(first.design, first.layout)
    yield from windings_view(first)
    yield from tests_view(first)
    yield from drivers_view(first)
    yield from bench_view(first)
    if second is not None:
        yield from _changed(first, second, label)
    yield Heading("Assumptions and cautions")
    yield assumptions(first.design)
    for caution in first.cautions:
        if caution not in first.spread.apart_sentences:
            yield words.caution(words.SAFETY_LINE if caution == words.SAFETY else caution)


def assumptions(design: Design) -> Paragraph:
    """What the ranges hold, and the errors that the models state of themselves."""
    return Paragraph(
        "Ranges hold 95 % of single parts with the layers as drawn: production tolerances and the model's "
        f"own error ({_leakage_errors(design)}, k = 2; {leakage_model(design).name}), not the meter. "
        f"Alternating-current resistance ±{200 * ac_resistance_error(design):.0f} % up to 1 MHz; capacitance "
        "±20 %, from neighbouring layers at their real potentials, in every alternating-current reading."
    )


_MUCH_MORE = 1.5
"""How many times the shared error of leakage a single reading's must be to be named (judged)."""


def _leakage_errors(design: Design) -> str:
    """The error that all leakages share, and the readings whose own is much larger."""
    shared = model_leakage_error(design)
    text = f"leakage ±{200 * shared:.0f} %"
    if design.tolerances.model_leakage is not None:
        return text
    errors = leakage_errors(sections_of(design), design.tests)[0][0]
    larger = [
        f"{test.name} ±{200 * error:.0f} %"
        for test, error in zip(design.tests, errors, strict=True)
        if is_leakage(design, test) and error > _MUCH_MORE * shared
    ]
    return ", ".join([text, *larger])


def core_json(design: Design) -> shared_records.AssembledCore:
    """The core as data; ``core_line`` says the same."""
    return shared_records.AssembledCore(
        name=design.core.name,
        effective_area_m2=float(np.asarray(design.core.effective_area)),
        effective_length_m=design.core.effective_length,
        inductance_factor_H=float(inductance_factor(design)),
        gap_m=float(np.asarray(design.core.gap)),
        material_share=float(np.asarray(core_share(design.core))),
    )


def core_line(design: Design) -> str:
    """The core in one sentence."""
    core = design.core
    if not core.dimensions.permeable:
        former = core.dimensions
        return (
            f"No core: coils in air on a former of {former.perimeter / math.pi * 1e3:.4g} mm, "
            f"{former.window[1] * 1e3:.4g} mm long."
        )
    material = core.material.name
    gap = float(np.asarray(core.gap))
    share = float(np.asarray(core_share(core)))
    gap_text = f"gap {format_quantity(gap, 'm', 3)}" if gap > 0 else "no ground gap"
    area = float(np.asarray(core.effective_area))
    name = core.name[:1].upper() + core.name[1:] if "core" in core.name else f"Core {core.name}"
    known = math.isfinite(float(np.asarray(core.material.initial_permeability)))
    stated = material if known else "material not given"
    iron = f"; the material contributes {share * 100:.0f} % of its reluctance" if known else ""
    return (
        f"{name}, {stated}, {gap_text}: Ae {area * 1e6:.4g} mm², le {core.effective_length * 1e3:.4g} mm, AL "
        f"{format_quantity(float(inductance_factor(design)), 'H')}{iron}."
    )


def windings_view(result: Forecast) -> Iterator[Part]:
    """The windings as a table."""
    yield Heading("Windings")
    rows = [
        [
            winding.name,
            result.design.winding(winding.name).wire.label or result.design.winding(winding.name).wire.kind,
            str(winding.turns),
            f"{winding.length:.2f} m",
            format_quantity(winding.resistance, "ohm"),
        ]
        for winding in result.windings
    ]
    yield words.table(["winding", "wire", "turns", "wire length", "R at 20 °C"], rows, right=(2, 3, 4))


def tests_view(result: Forecast) -> Iterator[Part]:
    """What the bench should read, with its range and whether limits hold it."""
    yield Heading("What the bench should read")
    rows = []
    for index, test in enumerate(result.design.tests):
        low, high = float(result.spread.low[index]), float(result.spread.high[index])
        rows.append(
            [
                test.name,
                words.how(test),
                words.within(float(result.spread.nominal[index]), low, high, test.measure),
                words.span(low, high, test.measure),
                _limit_note(test.minimum, test.maximum, low, high, test.measure),
            ]
        )
    limits = any(row[-1] for row in rows)
    columns = ["test", "how", "expected", "95 % of production", "limits"]
    if not limits:
        rows, columns = [row[:-1] for row in rows], columns[:-1]
    yield words.table(columns, rows, right=(2, 3))
    for told in result.spread.apart_sentences:
        yield words.caution(told)
    yield from _flux(result)


def _flux(result: Forecast) -> Iterator[Part]:
    """The peak flux density that the level of each alternating-current test makes, and what a direct current
    adds."""
    parts = []
    for index, test in enumerate(result.design.tests):
        if test.measure in ("resistance", "capacitance"):
            continue
        field = float(result.bench.flux_density[index])
        peak = format_quantity(field, "T", 2) if field >= LEAST_FLUX_DENSITY else "< 1 µT"
        steady = float(result.bench.bias_flux_density[index])
        parts.append(
            f"{test.name} {peak}" + (f" on {format_quantity(steady, 'T', 3)}" if test.bias > 0 else "")
        )
    if parts and result.design.core.dimensions.permeable:
        source = format_quantity(result.design.bench.source_resistance, "ohm", 3)
        yield Paragraph(
            f"Peak flux density in the core, the level as set on the meter, behind its {source}: "
            f"{', '.join(parts)}."
        )


def _limit_note(minimum: float | None, maximum: float | None, low: float, high: float, measure: str) -> str:
    text = words.limits(minimum, maximum, measure)
    if not text:
        return ""
    inside = (minimum is None or low >= minimum) and (maximum is None or high <= maximum)
    return f"{text}: {'held' if inside else 'NOT HELD'}"


def drivers_view(result: Forecast) -> Iterator[Part]:
    """The largest shares in the variance of each reading."""
    yield Heading("What drives each range")
    rows = []
    for index, test in enumerate(result.design.tests):
        drivers = result.spread.drivers[index][:DRIVERS_SHOWN]
        text = ", ".join(
            f"{driver_in_words(driver.parameter)} {driver.share * 100:.0f} %"
            for driver in drivers
            if driver.share >= 0.01
        )
        rows.append([test.name, text or "nothing"])
    yield words.table(["test", "share of the variance"], rows)


def bench_view(result: Forecast) -> Iterator[Part]:
    """What this bench adds to one reading of each test."""
    rows = [
        (test.name, test.measure, float(result.spread.nominal[index]), result.budgets[index])
        for index, test in enumerate(result.design.tests)
        if not beyond_search(test.measure, float(result.spread.nominal[index]))
    ]
    if rows:
        yield Heading("What this bench adds to one reading")
        yield budgets_table(rows)


def _finite_spread(result: Forecast, index: int) -> float | None:
    """Standard deviation of production; None where no resonance is predicted."""
    if beyond_search(result.design.tests[index].measure, float(result.spread.nominal[index])):
        return None
    return float(result.spread.standard_uncertainty[index])


def driver_in_words(parameter: str) -> str:
    """A driver's identifier as words: "mu_i" → "permeability", "model_leakage" → "model of leakage"."""
    if parameter in _IN_WORDS:
        return _IN_WORDS[parameter]
    if " with " in parameter:  # two that act together
        return " with ".join(driver_in_words(part) for part in parameter.split(" with "))
    model, error, rest = parameter.partition("model_")
    kind, _, of = rest.partition(" ")
    if error and not model and of:  # of a pair of windings or of one reading, whose name stays as it is
        return f"model of {_OF_READINGS.get(kind, kind)} {of}"
    return (f"model of {rest}" if error and not model else parameter).replace("_", " ")


_IN_WORDS = {
    "al": "AL",
    "mu_i": "permeability",
    "core_area": "core's area",
    "enamel": "enamel's thickness",
    "breadth": "breadth between flanges",
    "mean_turn": "turn length",
    "model_inductance": "model of AL",
    "model_together": "model of level with direct current or heat",
    "model_weak_field": "permeability in weak fields",
    "model_weak_curve": "rise of permeability with the level",
    "model_ac_resistance": "model of AC resistance",
    "model_leg_share": "where ampere-turns return",
}
"""Drivers whose identifiers do not say it."""
_OF_READINGS = {"ac_resistance": "AC resistance", "split": "leakage's split at"}
"""Errors of pairs of windings and of single readings, where their identifiers do not say it."""


def _changed(first: Forecast, second: Forecast, label: str) -> Iterator[Part]:
    yield Heading(f"Changed: {label}")
    rows = [_beside(first, second, name) for name in _names(first, second)]
    yield words.table(["test", "as designed", "changed", "change"], rows, right=(1, 2, 3))
    yield Paragraph(
        f"Build {float(first.layout.top[0]) * 1e3:.2f} mm → {float(second.layout.top[0]) * 1e3:.2f} mm, "
        f"layers {len(first.layout.sections)} → {len(second.layout.sections)}."
    )
    yield from layers_view(second.design, second.layout, "Layers as laid after the change")
    for caution in second.cautions:
        if caution not in first.cautions:
            yield words.caution(caution)


def _names(first: Forecast, second: Forecast) -> list[str]:
    """The tests of both, in order, each once."""
    return list(dict.fromkeys(test.name for result in (first, second) for test in result.design.tests))


def _beside(first: Forecast, second: Forecast, name: str) -> list[str]:
    """One test in both designs; "-" where one lacks it."""
    old, new = _reading(first, name), _reading(second, name)
    shown = [words.quantity_text(*each) if each else "-" for each in (old, new)]
    if old is None or new is None or old[1] != new[1]:
        return [name, *shown, "-"]
    if old[1] == "phase":
        return [name, *shown, format_quantity(math.remainder(new[0] - old[0], math.tau), "rad", 3)]
    none = beyond_search(old[1], old[0]) or beyond_search(new[1], new[0])
    return [name, *shown, format_percent(new[0] / old[0] - 1, signed=True) if old[0] and not none else "-"]


def _reading(result: Forecast, name: str) -> tuple[float, str] | None:
    """Nominal reading and measure of a test; None where the design has no such test."""
    for index, test in enumerate(result.design.tests):
        if test.name == name:
            return float(result.spread.nominal[index]), test.measure
    return None
