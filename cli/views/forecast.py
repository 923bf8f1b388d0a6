"""All that ``predict`` says about one design, gathered: layout, readings, spread, budgets, cautions."""

from __future__ import annotations

from dataclasses import dataclass

from ...compare.meter import Budget, reading_budgets
from ...predict.circuit import (
    BenchPrediction,
    core_cautions,
    leakage_model,
    predict_bench,
    ring_turn_cautions,
    turns_cautions,
)
from ...predict.copper import lead_resistance, section_resistance
from ...predict.design import Design, first_build
from ...predict.production import ProductionSpread, height_cautions, spread
from ...predict.winding import Layout, lay_out, spill_cautions
from . import words


@dataclass(frozen=True)
class WindingFacts:
    """One winding as laid.

    Attributes
    ----------
    name : str
    turns : int, series turns at its terminals, count
    resistance : float, direct-current resistance at 20 °C, ohm
    length : float, length of one wire, m
    """

    name: str
    turns: int
    resistance: float
    length: float


@dataclass(frozen=True, kw_only=True)
class Forecast:
    """Everything that ``predict`` says about one design.

    Attributes
    ----------
    design : Design
    layout : Layout, the design as laid out
    windings : tuple[WindingFacts, ...], every winding as laid
    spread : ProductionSpread
    cautions : tuple[str, ...], what to know before relying on the numbers
    bench : BenchPrediction, what the bench reads of the nominal build
    budgets : tuple[Budget, ...], what the bench adds to each reading
    """

    design: Design
    layout: Layout
    windings: tuple[WindingFacts, ...]
    spread: ProductionSpread
    cautions: tuple[str, ...]
    bench: BenchPrediction
    budgets: tuple[Budget, ...]


def forecast(design: Design, builds: int, seed: int) -> Forecast:
    """Lay out, predict and scatter one design.

    Parameters
    ----------
    design : Design
    builds : int, random builds, count
    seed : int, seed of the random builds
    """
    layout = lay_out(design)
    bench = predict_bench(design)
    production = spread(design, builds, seed)
    cautions = (
        *design.cautions,
        *spill_cautions(design),
        *leakage_model(design).cautions,
        *core_cautions(design, bench),
    )
    cautions = (*cautions, *ring_turn_cautions(design, bench), *turns_cautions(design, bench))
    unfound = words.resonance_cautions(
        (test.name, test.measure, float(value))
        for test, value in zip(design.tests, production.nominal, strict=True)
    )
    return Forecast(
        design=design,
        layout=layout,
        windings=tuple(_winding(design, layout, winding.name) for winding in design.windings),
        spread=production,
        cautions=(*cautions, *unfound, *production.cautions, *height_cautions(design), words.SAFETY),
        bench=bench,
        budgets=reading_budgets(design, bench),
    )


def _winding(design: Design, layout: Layout, name: str) -> WindingFacts:
    ohms = section_resistance(design, layout, 20.0)[0]
    winding = design.winding(name)
    branches: dict[int, list[int]] = {}
    for index, section in enumerate(layout.sections):
        if section.winding == name:
            branches.setdefault(section.branch, []).append(index)
    resistances = [float(sum(ohms[index] for index in members)) for members in branches.values()]
    turns = [float(sum(layout.turns[0, index] for index in members)) for members in branches.values()]
    length = sum(
        float(layout.turns[0, index] * layout.turn_length[0, index])
        for members in branches.values()
        for index in members
    )
    parallel = winding.sections == "parallel"
    resistance = 1 / sum(1 / ohm for ohm in resistances) if parallel else sum(resistances)
    leads = first_build(lead_resistance(design, name, 20.0))
    return WindingFacts(
        name, int(turns[0] if parallel else sum(turns)), resistance + leads, length + winding.lead_length
    )
