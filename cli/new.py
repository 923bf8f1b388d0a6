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
    from ..predict.designtemplate import template
    from .output import write

    _write_whole(file, template(core, load_catalogue()))
    name = shlex.quote(str(file))
    write(
        f"Wrote {file}: a starting point on {core}, not a design. Change it to yours, then:\n"
        f"  aswound predict {name}\n"
        f"  aswound plan {name} --csv > readings.csv\n",
        sys.stderr,
    )
    return 0


def _write_whole(file: Path, text: str) -> None:
    """Write ``file`` whole or not at all, and never over another: an empty file reserves the name, a finished
    one beside it takes its place."""
    import os
    import tempfile

    from ..predict.errors import DesignError, Fault

    if not file.parent.is_dir():
        raise DesignError(Fault(str(file), f"no folder {file.parent}", "a folder that exists"))
    try:
        file.open("x").close()
    except FileExistsError as error:
        hint = "Nothing was overwritten; choose another name."
        raise DesignError(Fault(str(file), "a file that exists", "a name that is free", hint)) from error
    draft = None
    try:
        handle, draft = tempfile.mkstemp(dir=file.parent, prefix=f".{file.name}.")
        with os.fdopen(handle, "w", encoding="utf-8", newline="\n") as stream:
            stream.write(text)
        os.chmod(draft, file.stat().st_mode)
        os.replace(draft, file)
    except BaseException:
        file.unlink()
        if draft is not None:
            Path(draft).unlink()
        raise
