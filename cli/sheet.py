"""``aswound sheet``: the build sheet for the winding shop."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import typer

from .options import BenchFile, DesignFile, Json


def sheet(
    design: DesignFile,
    output: Annotated[
        Path | None,
        typer.Option("-o", "--output", metavar="FILE.html", help="Page to write; must not exist yet."),
    ] = None,
    bench: BenchFile = None,
    builds: Annotated[int, typer.Option(min=100, max=200_000, help="Random builds for the ranges.")] = 2000,
    seed: Annotated[int, typer.Option(min=0, help="Seed of the random builds.")] = 1,
    copies: Annotated[
        int, typer.Option(min=1, max=100, help="Number of parts that the page has boxes for.")
    ] = 1,
    lot: Annotated[
        int, typer.Option(min=1, max=1_000_000, help="Number of parts to count material for.")
    ] = 1,
    materials: Annotated[
        Path | None,
        typer.Option(metavar="FILE.csv", help="Bill of material, per part and per lot; must not exist yet."),
    ] = None,
    force: Annotated[bool, typer.Option("--force", help="Replace the page if it exists.")] = False,
    json: Json = False,
) -> int:
    """The build sheet: steps in winding order, heights, what to read on the way, with limits."""
    from ..compare.plan import shop_readings
    from ..predict.designfile import load_design
    from ..predict.errors import DesignError, Fault
    from ..predict.shop import build_sheet
    from .output import print_parts, show_json, write
    from .views.buildsheet import sheet_page, sheet_view
    from .views.buildsheet_json import sheet_json
    from .views.buildsheet_material import material_csv
    from .views.buildsheet_steps import ShopSheet
    from .views.page import visible
    from .written import check_free, inputs_of, write_whole

    if materials is not None:
        check_free(materials, force, inputs_of(design, bench), suffix=".csv", option="--materials")
    if force and output is None and materials is None:
        raise DesignError(Fault("options", "--force without --output", "--output FILE.html --force"))
    if output is not None:
        check_free(output, force, inputs_of(design, bench))
        if materials is not None and output.resolve() == materials.resolve():
            raise DesignError(Fault("options --output and --materials", f"{output} twice", "two files"))
    loaded = load_design(design, bench=bench)
    whole = ShopSheet(
        build=build_sheet(loaded, builds=builds, seed=seed),
        readings=shop_readings(loaded, builds=builds, seed=seed),
        builds=builds,
        seed=seed,
        copies=copies,
        lot=lot,
    )
    if materials is not None:
        write_whole(materials, material_csv(loaded, lot), over=force and materials.exists())
        write(f"Wrote {visible(str(materials))}.\n", sys.stderr)
    if output is not None:
        write_whole(output, sheet_page(whole), over=force and output.exists())
        write(f"Wrote {visible(str(output))}.\n", sys.stderr)
    if json:
        show_json(sheet_json(whole))
    elif output is None and materials is None:
        print_parts(sheet_view(whole))
    return 0
