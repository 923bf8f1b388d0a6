"""``aswound schema``: what a command's ``--json`` holds, as JSON Schema.

The schemas (JSON Schema 2020-12, https://json-schema.org/draft/2020-12/schema) are made from the dataclasses
in ``documents``. They require every key that scripts may rely on and leave room for more.
"""

from __future__ import annotations

import json
import re
from typing import Annotated, Any

import typer


def _names() -> list[str]:
    from .documents import DOCUMENTS

    return list(DOCUMENTS)


def _complete(incomplete: str) -> list[str]:
    return [name for name in _names() if name.startswith(incomplete)]


def schema(
    command: Annotated[
        str,
        typer.Argument(
            metavar="[COMMAND]",
            help="Command whose JSON is described; none: list them.",
            autocompletion=_complete,
        ),
    ] = "",
) -> int:
    """The JSON Schema (2020-12) of what a command prints with --json: every key, its unit and meaning."""
    from .output import print_parts, write_data

    if command:
        write_data(schema_text(command))
    else:
        print_parts([f"Schemas: {', '.join(_names())}. 'aswound schema COMMAND' prints one."])
    return 0


def schema_text(command: str) -> str:
    """The schema of ``command``, with those that it refers to (``urn:aswound:schema:…``) among its ``$defs``,
    so that nothing has to be fetched (a compound document, JSON Schema 2020-12, section 9.3); DesignError for
    a command without one."""
    from ..predict.errors import DesignError, Fault, nearest

    names = _names()
    if command not in names:
        raise DesignError(Fault("argument COMMAND", repr(command), ", ".join(names), nearest(command, names)))
    whole = _schema(command)
    others = sorted(set(re.findall(r'"\$ref": "urn:aswound:schema:(\w+)"', json.dumps(whole))))
    if others:
        whole.setdefault("$defs", {}).update({name: _schema(name) for name in others})
    return json.dumps(whole, indent=1, ensure_ascii=False) + "\n"


def _schema(command: str) -> dict[str, Any]:
    from .documents import document
    from .documents.record import schema_of

    return schema_of(document(command), command)
