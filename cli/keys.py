"""``aswound keys``: the keys of the design file, from the table by which it is read."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from .options import Json


def keys(
    word: Annotated[
        str,
        typer.Argument(
            metavar="[WORD]", help="Only keys with this word in name, section or meaning, shown in full."
        ),
    ] = "",
    output: Annotated[
        Path | None,
        typer.Option("-o", "--output", metavar="FILE.md", help="Write all keys as one page (Markdown)."),
    ] = None,
    json: Json = False,
) -> int:
    """Every key of the design file: meaning, what it takes, default, example."""
    import sys

    from ..predict.designfile import key_lines
    from ..predict.errors import DesignError, Fault, nearest
    from .output import print_parts, show_json
    from .views import keys as views
    from .written import write_whole

    lines = key_lines()
    chosen = views.chosen(lines, word)
    if not chosen:
        names = sorted({line.key for line in lines})
        hint = nearest(word, names) or "'aswound keys' lists all."
        raise DesignError(Fault("keys", repr(word), "a word of a key, its section or its meaning", hint))
    if output is not None:
        write_whole(output, views.page(chosen))
        print_parts([f"Wrote {output}."], sys.stderr)
    elif json:
        show_json(views.keys_json(chosen))
    else:
        print_parts(views.keys_view(chosen, in_full=bool(word)))
    return 0
