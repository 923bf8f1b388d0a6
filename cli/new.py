"""``aswound new``: a commented design file to start from."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from . import completion


def new(
    file: Annotated[
        Path,
        typer.Argument(metavar="FILE", help="Design file to write; must not exist yet. -: standard output."),
    ],
    core: Annotated[
        str | None,
        typer.Option(
            "--core",
            metavar="NAME",
            help='Core of the catalogue, e.g. "E 25/13/7".',
            autocompletion=completion.core_names,
        ),
    ] = None,
    like: Annotated[
        str | None,
        typer.Option(
            "--like",
            metavar="KIND",
            help="Kind of transformer: flyback, forward, bridge, resonant, current, gate, mains, planar, "
            "choke, bifilar.",
            autocompletion=completion.new_kinds,
        ),
    ] = None,
) -> int:
    """Write a commented design file to start from: for a core, or like a kind of transformer."""
    import shlex
    import sys

    from ..predict.catalogue import load_catalogue
    from ..predict.designfile import design_like, template
    from ..predict.errors import DesignError, Fault
    from .output import print_parts, write, write_data
    from .views.page import visible
    from .written import write_whole

    if (core is None) == (like is None):
        found = "neither --core nor --like" if core is None else "--core and --like"
        hint = 'For example --core "E 25/13/7", or --like flyback.'
        raise DesignError(Fault("options", found, "one of the two", hint))
    text = design_like(like) if like is not None else template(core or "", load_catalogue())
    if str(file) == "-":
        write_data(text)
        return 0
    write_whole(file, text)
    name = visible(shlex.quote(str(file)))
    start = f"on {core}" if core is not None else f"of the kind '{like}'"
    print_parts(
        [f"Wrote {file}: a starting point {start}, not a design. Change it to yours, then:"], sys.stderr
    )
    write(f"  aswound predict {name}\n  aswound plan {name} --csv > readings.csv\n", sys.stderr)
    return 0
