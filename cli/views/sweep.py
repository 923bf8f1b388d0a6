"""A sweep → charts, the table at decades, resonances, findings; and its JSON."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Any

import numpy as np

from ...compare.verdict import DEVIATES, MeasuredSweep, Point
from ...predict.design import BenchTest, Design
from ...predict.notation import hertz
from ...predict.production import Sweep
from ...predict.quantity import format_quantity, uneven
from ..documents import sweep_document
from ..documents.record import as_object, record_of
from . import words
from .page import Heading, Part
from .sweep_chart import Curve, chart

TITLES = {
    "impedance": "|Z|",
    "phase": "phase",
    "inductance": "inductance",
    "resistance": "resistance",
    "ratio": "ratio |V(drive)/V(sense)|",
}
_WORST = 12
"""Deviating points of one sample that are listed at most."""


def _titled(swept: Sweep, name: str, equivalent: str) -> str:
    """The name of a quantity with its equivalent circuit, the display's unless the test has its own:
    "inductance, series equivalent" of an inductance."""
    if name in ("inductance", "resistance"):
        return f"{TITLES[name]}, {swept.test.equivalent or equivalent} equivalent"
    return TITLES[name]


def curves(design: Design, swept: Sweep, measured: Sequence[MeasuredSweep] = ()) -> list[Curve]:
    """Every quantity as a curve, with all measured points.

    Parameters
    ----------
    design : Design
    swept : Sweep, the sweep as predicted
    measured : Sequence[MeasuredSweep], optional, measured sweeps, one for each sample
    """
    result = []
    for name, band in swept.bands.items():
        points = [(p.frequency, p.read) for each in measured for p in each.points if p.quantity == name]
        result.append(
            Curve(
                title=_titled(swept, name, design.bench.equivalent),
                unit=swept.units[name],
                frequencies=swept.frequencies,
                nominal=band.nominal,
                low=band.low,
                high=band.high,
                points=tuple(points),
                logarithmic=name in ("impedance", "resistance"),
            )
        )
    return result


def connection(test: BenchTest) -> str:
    """ "P driven, S shorted, 1 V": how the sweep is made."""
    parts = [f"{words.port_text(test.drive)} driven"]
    if test.short:
        parts.append(f"{', '.join(words.port_text((member,)) for member in test.short)} shorted")
    if test.sense:
        parts.append(f"{words.port_text(test.sense)} sensed")
    if not (test.short or test.sense):
        parts.append("everything else open")
    return f"{', '.join(parts)}, {format_quantity(test.level, 'V', 3)}"


def sweep_view(
    design: Design, swept: Sweep, measured: Sequence[MeasuredSweep], shown: Sequence[str]
) -> Iterator[Part]:
    """The page: charts, the table, resonances, and what was measured.

    Parameters
    ----------
    design : Design
    swept : Sweep, the sweep as predicted
    measured : Sequence[MeasuredSweep], measured sweeps, one for each sample
    shown : Sequence[str], quantities that are drawn
    """
    yield f"{design.title}: {connection(swept.test)}"
    for name, curve in zip(swept.bands, curves(design, swept, measured), strict=True):
        if name in shown:
            yield ""
            yield chart(curve)
    legend = (
        "Line: as designed. Shaded: 95 % of normal production and of the model's own error, without the "
        "meter."
    )
    yield ""
    yield legend + (" Circles: measured." if measured else "")
    yield from _table(design, swept)
    if not swept.test.sense:
        yield ""
        yield from _resonances(swept)
    for each in measured:
        yield from _measured(each)
    yield ""
    yield words.SAFETY


def _table(design: Design, swept: Sweep) -> Iterator[Part]:
    yield Heading(f"At {design.bench.temperature:.4g} °C, as the bench is set up")
    names = tuple(swept.bands)
    yield _columns(swept, names[:2])
    if len(names) > 2:
        yield ""
        yield _columns(swept, names[2:])
    kind = swept.test.equivalent or design.bench.equivalent
    circuit = "" if swept.test.sense else f" L and R: {kind} equivalent circuit."
    yield f"±: half of the 95 % range, or both sides where they differ.{circuit}"


def _columns(swept: Sweep, names: Sequence[str]) -> Part:
    """Frequency, what is named and its range, as columns; more than two names would not fit 80 columns."""
    heads = ["frequency"]
    for name in names:
        heads.append({"impedance": "|Z|", "inductance": "L", "resistance": "R"}.get(name, name))
        if name != "phase":
            heads.append("±")
    rows = []
    for k in _rows(swept):
        row = [hertz(float(swept.frequencies[k]))]
        for name in names:
            band, unit = swept.bands[name], swept.units[name]
            row.append(format_quantity(float(band.nominal[k]), unit, 3 if name == "phase" else 4))
            if name != "phase":
                row.append(_sides(*(float(each[k]) for each in (band.nominal, band.low, band.high))))
        rows.append(row)
    return words.table(heads, rows, right=range(1, len(heads)))


def _sides(nominal: float, low: float, high: float) -> str:
    """Half of a range, or both its sides where these are uneven, relative to the nominal value."""
    if not uneven(nominal, low, high):
        return _part((high - low) / 2, nominal)
    up, down = _part(high - nominal, nominal), _part(nominal - low, nominal)
    return f"{'> +100 %' if up.startswith('>') else f'+{up}'} −{down}"


def _part(side: float, nominal: float) -> str:
    part = max(side, 0.0) / abs(nominal) if nominal else math.inf
    return f"{100 * part:.2g} %" if part < 1 else "> 100 %"


def _rows(swept: Sweep) -> list[int]:
    """Places of the frequencies nearest to 1, 2 and 5 in every decade, or to decades where these are many."""
    low, high = math.log10(swept.frequencies[0]), math.log10(swept.frequencies[-1])
    steps = (1.0, 2.0, 5.0) if high - low <= 4.01 else (1.0,)
    wanted = [step * 10.0**n for n in range(math.floor(low), math.ceil(high) + 1) for step in steps]
    inside = [f for f in wanted if swept.frequencies[0] * 0.999 <= f <= swept.frequencies[-1] * 1.001]
    rows = [int(np.argmin(np.abs(np.log(swept.frequencies / f)))) for f in inside]
    return list(dict.fromkeys(rows)) or [0, len(swept.frequencies) - 1]


def _resonances(swept: Sweep) -> Iterator[Part]:
    ends = tuple(format_quantity(float(f), "Hz", 4) for f in (swept.frequencies[0], swept.frequencies[-1]))
    if not swept.resonances:
        yield f"No resonance from {ends[0]} to {ends[1]}."
        return
    kinds = {"parallel": "parallel, |Z| is largest", "series": "series, |Z| is smallest"}
    found = "; ".join(f"{format_quantity(r.frequency, 'Hz', 4)} ({kinds[r.kind]})" for r in swept.resonances)
    yield f"Resonances: {found}."


def _measured(each: MeasuredSweep) -> Iterator[Part]:
    yield Heading(f"Measured: {each.sample}")
    off = [point for point in each.points if abs(point.score) > DEVIATES]
    worst = max(each.points, key=lambda point: abs(point.score))
    yield (
        f"{len(off)} of {len(each.points)} values deviate (score beyond {DEVIATES:.0f}); the worst has "
        f"{words.score(worst.score)}: {TITLES[worst.quantity]} at "
        f"{format_quantity(worst.frequency, 'Hz', 4)}."
    )
    yield from each.findings
    if not off:
        return
    units = {"impedance": "ohm", "resistance": "ohm", "inductance": "H", "phase": "rad", "ratio": "1"}
    chosen = sorted(sorted(off, key=lambda p: -abs(p.score))[:_WORST], key=lambda p: p.frequency)

    def row(point: Point) -> list[str]:
        unit = units[point.quantity]
        return [
            format_quantity(point.frequency, "Hz", 4),
            TITLES[point.quantity].partition(" |")[0],
            format_quantity(point.predicted, unit, 4),
            format_quantity(point.read, unit, 4),
            words.score(point.score),
        ]

    yield words.table(
        ["frequency", "quantity", "predicted", "read", "score"], [row(p) for p in chosen], right=(0, 2, 3, 4)
    )
    if len(off) > _WORST:
        yield f"The {_WORST} worst of {len(off)} are listed; --json has all."


def sweep_json(design: Design, swept: Sweep, measured: Sequence[MeasuredSweep]) -> dict[str, Any]:
    """The sweep as plain values.

    Parameters
    ----------
    design : Design
    swept : Sweep, the sweep as predicted
    measured : Sequence[MeasuredSweep], measured sweeps, one for each sample
    """
    return as_object(
        sweep_document.SweepDocument(
            design=design.title,
            connection=sweep_document.Connection(
                drive=[_name(m) for m in swept.test.drive],
                short=[_name(m) for m in swept.test.short],
                sense=[_name(m) for m in swept.test.sense],
                level_V=swept.test.level,
                equivalent=swept.test.equivalent or design.bench.equivalent,
            ),
            frequencies_Hz=swept.frequencies.tolist(),
            quantities={
                name: sweep_document.Quantity(
                    unit=swept.units[name],
                    predicted=band.nominal.tolist(),
                    low=band.low.tolist(),
                    high=band.high.tolist(),
                )
                for name, band in swept.bands.items()
            },
            resonances=[
                sweep_document.SweepResonance(frequency_Hz=r.frequency, kind=r.kind) for r in swept.resonances
            ],
            samples=[
                record_of(
                    sweep_document.SweepSample,
                    each,
                    points=[
                        record_of(
                            sweep_document.SweepPoint,
                            point,
                            frequency_Hz=point.frequency,
                            read_uncertainty=point.uncertainty,
                        )
                        for point in each.points
                    ],
                )
                for each in measured
            ],
        )
    )


def _name(member: Any) -> str:
    return f"-{member.name}" if member.reversed else str(member.name)
