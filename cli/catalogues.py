"""``aswound cores``, ``wires``, ``materials``: the catalogues, filtered by a word."""

from __future__ import annotations

from typing import Annotated

import typer

from . import completion
from .options import Json

_WORD = "Only rows with this word in name, family or likeness."
_SEARCHED = ("name", "family", "like")
SYNONYMS = {"ring": "toroid", "rings": "toroid", "torus": "toroid", "lamination": "EI", "laminations": "EI"}
"""Words of the trade for families of the catalogue."""
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
    from contextlib import suppress
    from dataclasses import replace

    from ..predict.catalogue import find_core, load_catalogue, nearest_rows
    from ..predict.errors import CatalogueError, Fault
    from .output import print_parts, show_json
    from .views import catalogue as views

    catalogue = load_catalogue()
    rows = views.rows(catalogue, kind)

    def fold(text: object) -> str:
        return str(text).casefold().replace(" ", "")

    wanted = fold(SYNONYMS.get(fold(word), word))
    chosen = [row for row in rows if any(wanted in fold(row.get(key, "")) for key in _SEARCHED)]
    if not chosen and kind == "cores":
        with suppress(CatalogueError):  # a stack of laminations, which no row holds
            core = find_core(catalogue, word)
            chosen = views.rows(replace(catalogue, cores={core.name: core}), kind)
    if not chosen:
        names = [str(row["name"]) for row in rows]
        family = {"cores": " or family", "materials": " or of what it is like"}.get(kind, "")
        allowed = f"a word of the name{family} of one of the {len(rows)} {kind}"
        hint = f"Nearest: {', '.join(nearest_rows(word, names))}."
        raise CatalogueError(Fault(kind, repr(word), allowed, hint))
    if json:
        show_json({kind: chosen})
    else:
        print_parts(views.view(kind, chosen))
    return 0
