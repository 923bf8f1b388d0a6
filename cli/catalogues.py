"""``aswound cores``, ``wires``, ``materials``: the catalogues, filtered by a word."""

from __future__ import annotations

from typing import Annotated

import typer

from . import completion
from .options import Json

_WORD = "Only rows whose name or family holds this word."
CoreWord = Annotated[str, typer.Argument(metavar="[WORD]", help=_WORD, autocompletion=completion.core_names)]
WireWord = Annotated[str, typer.Argument(metavar="[WORD]", help=_WORD, autocompletion=completion.wire_names)]
MaterialWord = Annotated[
    str, typer.Argument(metavar="[WORD]", help=_WORD, autocompletion=completion.material_names)
]


def cores(word: CoreWord = "", json: Json = False) -> int:
    """The cores of the catalogue: effective parameters, window, source."""
    return _catalogue("cores", word, json)


def wires(word: WireWord = "", json: Json = False) -> int:
    """The enamelled wires of the catalogue: bare and overall diameters by grade."""
    return _catalogue("wires", word, json)


def materials(word: MaterialWord = "", json: Json = False) -> int:
    """The core materials of the catalogue."""
    return _catalogue("materials", word, json)


def _catalogue(kind: str, word: str, json: bool) -> int:
    from ..predict.catalogue import load_catalogue
    from ..predict.errors import CatalogueError, Fault, nearest
    from .output import show, show_json
    from .views import catalogue as views

    rows = views.rows(load_catalogue(), kind)

    def fold(text: object) -> str:
        return str(text).casefold().replace(" ", "")

    chosen = [row for row in rows if any(fold(word) in fold(row.get(key, "")) for key in ("name", "family"))]
    if not chosen:
        names = [str(row["name"]) for row in rows]
        family = " or family" if kind == "cores" else ""
        raise CatalogueError(
            Fault(
                kind,
                repr(word),
                f"a word of the name{family} of one of the {len(rows)} {kind}",
                nearest(word, names),
            )
        )
    if json:
        show_json({kind: chosen})
    else:
        show(views.view(kind, chosen))
    return 0
