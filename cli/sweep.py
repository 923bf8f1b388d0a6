"""``aswound sweep``: impedance against frequency, measured over predicted."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from .options import BenchFile, ChangeFirst, DesignFile, Force, Json, frequency_range, settings_of, value_of

if TYPE_CHECKING:
    from ..compare.verdict import MeasuredSweep
    from ..predict.design import BenchTest, Design, Port
    from ..predict.production import Sweep


def sweep_command(
    design: DesignFile,
    drive: Annotated[
        str | None,
        typer.Option(metavar="NAMES", help='Driven: a winding or join, or several in series, "P,-S".'),
    ] = None,
    short: Annotated[
        list[str] | None,
        typer.Option(metavar="NAMES", help="Shorted on themselves, with commas; repeatable."),
    ] = None,
    sense: Annotated[
        str | None, typer.Option(metavar="NAMES", help="Where a second voltage is taken: the ratio is swept.")
    ] = None,
    test: Annotated[
        str | None,
        typer.Option("--test", metavar="NAME", help="The connection (and level) of a test of the design."),
    ] = None,
    low: Annotated[str, typer.Option("--from", metavar="FREQUENCY", help="Lowest frequency.")] = "1 kHz",
    high: Annotated[str, typer.Option("--to", metavar="FREQUENCY", help="Highest frequency.")] = "10 MHz",
    points: Annotated[
        int,
        typer.Option(min=10, max=5000, help="Number of frequencies, evenly spaced on a logarithmic scale."),
    ] = 161,
    level: Annotated[
        str | None, typer.Option(metavar="VOLTAGE", help='RMS voltage, e.g. "0.5 V"; default: 1 V.')
    ] = None,
    quantity: Annotated[
        list[str] | None,
        typer.Option(
            metavar="NAME", help="Drawn: impedance, phase, inductance, resistance, ratio; repeatable."
        ),
    ] = None,
    measured: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="Measured sweep: a readings file with a frequency column."),
    ] = None,
    output: Annotated[
        Path | None,
        typer.Option("-o", "--output", metavar="FILE.svg", help="Also draw all quantities into this file."),
    ] = None,
    builds: Annotated[int, typer.Option(min=100, max=20_000, help="Random builds for the range.")] = 300,
    seed: Annotated[int, typer.Option(min=0, help="Seed of the random builds.")] = 1,
    change: ChangeFirst = None,
    bench: BenchFile = None,
    force: Force = False,
    json: Json = False,
) -> int:
    """Impedance, phase, inductance and resistance against frequency, their 95 % range, and measured sweeps.

    Rows of a measured sweep name the test Z (a complex impedance), L, R, Q, phase or n (a ratio), or a
    test of the design with the same connection. Exit status 1 if one deviates (score beyond 3).
    """
    from ..predict.designfile import load_design
    from .output import print_parts, show_json
    from .views.sweep import sweep_json, sweep_view
    from .written import check_free, inputs_of

    begin, end = frequency_range(low, high)
    _check_output(output)
    if output is not None:
        check_free(output, force, inputs_of(design, measured, bench))
    loaded = load_design(design, settings=settings_of(change), bench=bench)
    swept_test = _connection(loaded, drive, short, sense, test, level)
    drawn = _drawn(quantity, bool(swept_test.sense))
    swept, compared = _computed(loaded, swept_test, (begin, end, points), builds, seed, measured)
    if output is not None:
        _draw(loaded, swept, compared, output, force)
    if json:
        show_json(sweep_json(loaded, swept, compared))
    else:
        print_parts(sweep_view(loaded, swept, compared, drawn))
    if output is not None:
        print_parts([f"Drawing written to {output}."], sys.stderr)
    return int(any(each.deviates for each in compared))


def _check_output(output: Path | None) -> None:
    from ..predict.errors import DesignError, Fault

    if output is not None and output.suffix.lower() != ".svg":
        raise DesignError(Fault(f"option --output {output}", repr(output.name), "a path that ends in .svg"))


def _connection(
    design: Design,
    drive: str | None,
    short: list[str] | None,
    sense: str | None,
    test: str | None,
    level: str | None,
) -> BenchTest:
    """The test that is swept."""
    from dataclasses import replace

    from ..predict.design import BenchTest, Member
    from ..predict.errors import DesignError, Fault, nearest

    volts = None if level is None else value_of("--level", level, "voltage")
    if volts is not None and volts <= 0:
        raise DesignError(Fault("option --level", repr(level), "a voltage above zero"))
    if test is not None:
        if drive or short or sense:
            raise DesignError(
                Fault(
                    "options", "--test together with --drive, --short or --sense", "a test, or a connection"
                )
            )
        names = {item.name: item for item in design.tests}
        chosen = names.get(test)
        if chosen is None:
            raise DesignError(
                Fault("option --test", repr(test), "one of " + ", ".join(names), nearest(test, list(names)))
            )
        if chosen.measure in ("resistance", "capacitance") and (
            chosen.measure == "resistance" or chosen.sense
        ):
            raise DesignError(
                Fault(
                    "option --test",
                    f"{test!r}, a test of {chosen.measure}",
                    "a test of inductance, ac_resistance, quality, phase, ratio, mutual or resonance",
                    "Give --drive and --short instead.",
                )
            )
        level_of_test = chosen.level if volts is None else volts
        return replace(chosen, measure="ratio" if chosen.sense else "inductance", level=level_of_test)

    def port(option: str, text: str) -> tuple[Member, ...]:
        known = [winding.name for winding in design.windings] + [join.name for join in design.joins]
        members = []
        for item in (part.strip() for part in text.split(",")):
            name, reverse = (item, False) if item in known else (item.removeprefix("-"), item.startswith("-"))
            if name not in known:
                raise DesignError(
                    Fault(f"option {option}", repr(item), "one of " + ", ".join(known), nearest(name, known))
                )
            members.append(Member(name, reverse))
        return tuple(members)

    driven = port("--drive", drive) if drive else (Member(design.windings[0].name),)
    shorted = tuple(member for text in short or [] for member in port("--short", text))
    sensed = port("--sense", sense) if sense else ()
    _check_apart(design, {"--drive": driven, "--short": shorted, "--sense": sensed})
    measure = "ratio" if sensed else "inductance"
    return BenchTest(
        name="sweep",
        measure=measure,
        drive=driven,
        short=shorted,
        sense=sensed,
        level=1.0 if volts is None else volts,
    )


def _check_apart(design: Design, ports: dict[str, Port]) -> None:
    """DesignError for a winding that stands twice in an option, or in two of them, also through joins."""
    from ..predict.errors import DesignError, Fault

    joins = {join.name: join.members for join in design.joins}

    def windings(port: Port) -> list[str]:
        return [
            name
            for member in port
            for name in (windings(joins[member.name]) if member.name in joins else [member.name])
        ]

    taken: dict[str, str] = {}
    words = {"--drive": "driven", "--short": "shorted", "--sense": "sensed"}
    for option, port in ports.items():
        for name in windings(port):
            if name in taken:
                found = f"{name!r} more than once"
                if taken[name] != option:
                    found = f"{name!r}, which is {words[taken[name]]} as well"
                raise DesignError(Fault(f"option {option}", found, "every winding once, also inside joins"))
            taken[name] = option


def _drawn(quantity: list[str] | None, ratio: bool) -> list[str]:
    from ..predict.errors import DesignError, Fault, nearest
    from ..predict.production import QUANTITIES, RATIO_QUANTITIES

    allowed = list(RATIO_QUANTITIES if ratio else QUANTITIES)
    for name in quantity or []:
        if name not in allowed:
            raise DesignError(
                Fault("option --quantity", repr(name), "one of " + ", ".join(allowed), nearest(name, allowed))
            )
    return quantity or (allowed if ratio else ["impedance", "inductance"])


def _computed(
    design: Design,
    test: BenchTest,
    span: tuple[float, float, int],
    builds: int,
    seed: int,
    measured: Path | None,
) -> tuple[Sweep, tuple[MeasuredSweep, ...]]:
    from ..predict.production import frequencies_between
    from ..predict.production import sweep as predicted_sweep

    frequencies = frequencies_between(*span)
    if measured is None:
        return predicted_sweep(design, test, frequencies, builds, seed), ()
    from ..compare.verdict import compare_sweep, sweep_readings

    readings = sweep_readings(measured, design, test)
    swept = predicted_sweep(design, test, frequencies, builds, seed)
    return swept, compare_sweep(design, swept, readings, builds)


def _draw(design: Design, swept: Sweep, read: tuple[MeasuredSweep, ...], output: Path, force: bool) -> None:
    from .views.sweep import connection, curves
    from .views.sweep_svg import sweep_svg
    from .written import write_whole

    drawn = curves(design, swept, read)
    measured = [
        (
            each.sample,
            [[(p.frequency, p.read) for p in each.points if p.quantity == name] for name in swept.bands],
        )
        for each in read
    ]
    text = sweep_svg(design.title, connection(swept.test), drawn, measured, swept.resonances)
    write_whole(output, text, over=force and output.exists())
