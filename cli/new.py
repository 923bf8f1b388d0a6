"""``aswound new``: a commented design file to start from."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from . import completion


def new(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="Design file to write; must not exist yet.")],
    core: Annotated[
        str,
        typer.Option(
            "--core",
            metavar="NAME",
            help='Core of the catalogue, e.g. "E 25/13/7".',
            autocompletion=completion.core_names,
        ),
    ],
) -> int:
    """Write a commented design file to start from."""
    import shlex
    import sys

    from ..predict.catalogue import load_catalogue
    from ..predict.designfile import template
    from .output import show, write
    from .written import write_whole

    write_whole(file, template(core, load_catalogue()))
    name = shlex.quote(str(file))
    show([f"Wrote {file}: a starting point on {core}, not a design. Change it to yours, then:"], sys.stderr)
    write(
        f"  aswound predict {name}\n  aswound plan {name} --csv > readings.csv\n",
        sys.stderr,
    )
    return 0
