"""``aswound netlist``: the predicted transformer as a SPICE subcircuit."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import typer

from .documents import netlist_document
from .options import BenchFile, ChangeFirst, DesignFile, Force, Json, settings_of

LOWEST = 1e3
"""A netlist begins here (Hz) unless a test of the design, or the user, asks for less."""


def netlist(
    design: DesignFile,
    output: Annotated[
        Path | None,
        typer.Option("-o", "--output", metavar="FILE.cir", help="File to write; default: print it."),
    ] = None,
    low: Annotated[
        str | None,
        typer.Option(
            "--from",
            metavar="FREQUENCY",
            help="Lowest frequency; default: 1 kHz, or that of the design's lowest test.",
        ),
    ] = None,
    high: Annotated[str, typer.Option("--to", metavar="FREQUENCY", help="Highest frequency.")] = "1 MHz",
    flux_density: Annotated[
        str,
        typer.Option(metavar="VALUE", help='Peak flux density in the core, e.g. "50 mT"; 0: small signal.'),
    ] = "0",
    temperature: Annotated[
        str | None,
        typer.Option(metavar="VALUE", help='Temperature of the part, e.g. "85 degC"; default: the bench\'s.'),
    ] = None,
    change: ChangeFirst = None,
    bench: BenchFile = None,
    force: Force = False,
    json: Json = False,
) -> int:
    """The predicted transformer as a SPICE subcircuit, passive by construction: nominal, low and high."""
    from ..predict.designfile import load_design
    from ..predict.netlist import Range, netlist_file
    from .options import frequency_range, value_of
    from .output import print_parts, show_json, write_data
    from .written import check_free, inputs_of, write_whole

    if output is not None:
        check_free(output, force, inputs_of(design, bench))
    level = 0.0 if flux_density.strip() == "0" else value_of("--flux-density", flux_density, "flux_density")
    warm = None if temperature is None else value_of("--temperature", temperature, "temperature")
    loaded = load_design(design, settings=settings_of(change), bench=bench)
    lowest = min((test.frequency for test in loaded.tests if test.frequency), default=LOWEST)
    begin, end = frequency_range(low or f"{min(lowest, LOWEST):.17g} Hz", high)
    made = netlist_file(loaded, Range(begin, end), level, warm)
    if output is not None:
        write_whole(output, made.text, over=force and output.exists())
    if json:
        show_json(
            netlist_document.NetlistDocument(
                design=loaded.title,
                file=None if output is None else str(output),
                netlist=made.text if output is None else None,
                subcircuits=list(made.subcircuits),
                deviations=[
                    netlist_document.NetlistDeviation(
                        reading=d.kind, test=d.test, frequency_Hz=d.frequency, deviation=d.size
                    )
                    for d in made.deviations
                ],
                cautions=list(made.cautions),
            )
        )
        return 0
    if output is None:
        write_data(made.text)
    else:
        print_parts([f"{', '.join(made.subcircuits)} written to {output}."], sys.stderr)
    print_parts([f"Note: {caution}" for caution in made.cautions], sys.stderr)
    return 0
