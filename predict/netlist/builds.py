"""The builds of a netlist: as designed, and one at either end of production.

Low: open inductance, leakage, direct-current resistance and capacitance are each at the 2.5 % point of
normal production and model error together; high: at the 97.5 % point. Each is a corner, rarer than any
single one of these. Each is the design with its models scaled (``ModelFactors``), so it is as much a
transformer as the design is.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from ..design import BenchTest, Design, Member
from ..production import BUILDS, spread
from .elements import probe

_SEED = 1


@dataclass(frozen=True)
class EndOfProduction:
    """A scaled design.

    Attributes
    ----------
    name : str, "nominal", "low" or "high"
    design : Design, with its models scaled
    factors : tuple[tuple[str, float], ...], (quantity, factor against nominal), dimensionless
    apart : tuple[str, ...], for the nominal build, sentences about builds with other layers than designed
    """

    name: str
    design: Design
    factors: tuple[tuple[str, float], ...]
    apart: tuple[str, ...] = ()


def ends_of_production(design: Design, low: float, high: float) -> tuple[EndOfProduction, ...]:
    """Nominal, low and high builds of a design, among builds whose layers are as designed.

    Leakage is that of the first winding against all others, resistance its own, capacitance that to the
    second. The field of coils in air is scaled as the inductance of the first one is.

    Parameters
    ----------
    design : Design
    low : float, frequency at which open inductance and capacitance are taken, Hz
    high : float, highest frequency, Hz; leakage is taken at ``leakage_frequency``

    Raises
    ------
    BuildError
        The layout is outside the models.
    """
    quiet = replace(
        design,
        bench=replace(design.bench, source_resistance=0.0, short_inductance=0.0, short_resistance=0.0),
        tests=_probes(design, low, high),
    )
    production = spread(quiet, BUILDS, _SEED, shares=False)
    names = [test.name for test in quiet.tests]
    plain = tuple((name, 1.0) for name in names)
    result = [EndOfProduction("nominal", design, plain, production.apart_sentences)]
    for label, values in (("low", production.low), ("high", production.high)):
        factors = {name: float(v / n) for name, v, n in zip(names, values, production.nominal, strict=True)}
        result.append(EndOfProduction(label, _scaled(design, factors), tuple(factors.items())))
    return tuple(result)


def leakage_frequency(low: float, high: float) -> float:
    """Frequency at which the leakage of the ends is taken: the geometric mean of the range.

    Parameters
    ----------
    low : float, lowest frequency of the netlist, Hz
    high : float, highest frequency, Hz

    Returns
    -------
    float, Hz
    """
    return float(np.sqrt(low * high))


def _probes(design: Design, low: float, high: float) -> tuple[BenchTest, ...]:
    first, *others = (Member(winding.name) for winding in design.windings)
    tests = [
        probe(name="open inductance", measure="inductance", drive=(first,), frequency=low),
        probe(name="resistance", measure="resistance", drive=(first,)),
    ]
    if others and design.core.dimensions.permeable:  # in air the factor of the inductances is that of leakage
        middle, short = leakage_frequency(low, high), tuple(others)
        tests.append(
            probe(name="leakage", measure="inductance", drive=(first,), short=short, frequency=middle)
        )
    if others:
        sense = (others[0],)
        tests.append(
            probe(name="capacitance", measure="capacitance", drive=(first,), sense=sense, frequency=low)
        )
    return tuple(tests)


def _scaled(design: Design, factors: dict[str, float]) -> Design:
    model = design.model
    of_field = 1.0 if design.core.dimensions.permeable else factors["open inductance"]
    return replace(
        design,
        model=replace(
            model,
            inductance=model.inductance * factors["open inductance"],
            resistivity=model.resistivity * factors["resistance"],
            leakage=model.leakage * factors.get("leakage", of_field),
            capacitance=model.capacitance * factors.get("capacitance", 1.0),
        ),
    )
