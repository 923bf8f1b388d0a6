"""``aswound new``: a commented design file to start from."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer


def new(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="Design file to write; must not exist yet.")],
    core: Annotated[
        str, typer.Option("--core", metavar="NAME", help='Core of the catalogue, e.g. "E 25/13/7".')
    ],
) -> int:
    """Write a commented design file to start from."""
    import os
    import tempfile

    from ..predict.catalogue import load_catalogue
    from ..predict.designtemplate import template
    from ..predict.errors import DesignError, Fault
    from .output import write

    text = template(core, load_catalogue())
    if file.exists():
        raise DesignError(
            Fault(
                str(file),
                "a file that exists",
                "a name that is free",
                "Nothing was overwritten; choose another name.",
            )
        )
    if not file.parent.is_dir():
        raise DesignError(Fault(str(file), f"no folder {file.parent}", "a folder that exists"))
    handle, name = tempfile.mkstemp(dir=file.parent, prefix=f".{file.name}.")
    try:
        with os.fdopen(handle, "w", encoding="utf-8") as stream:
            stream.write(text)
        Path(name).chmod(0o644)
        os.link(name, file)
    finally:
        Path(name).unlink()
    write(
        f"Wrote {file}: a starting point on {core}, not a design. Change it to yours, then:\n"
        f"  aswound predict {file}\n"
        f"  aswound plan {file} --csv > readings.csv\n"
    )
    return 0
