"""``aswound schema``: what a command's ``--json`` holds, as JSON Schema.

The schemas (JSON Schema 2020-12, https://json-schema.org/draft/2020-12) are files of the package,
``cli/schemas/COMMAND.json``. They require every key that scripts may rely on and leave room for more.
"""

from __future__ import annotations

import json
import re
from typing import Annotated

import typer

_URN = "urn:aswound:schema:"


def _names() -> list[str]:
    from importlib.resources import files

    folder = files("aswound.cli").joinpath("schemas")
    return sorted(file.name.removesuffix(".json") for file in folder.iterdir() if file.name.endswith(".json"))


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
    text = _file_text(command)
    others = sorted(set(re.findall(rf'"\$ref": "{_URN}(\w+)"', text)))
    if not others:
        return text
    whole = json.loads(text)
    whole.setdefault("$defs", {}).update({name: json.loads(_file_text(name)) for name in others})
    return json.dumps(whole, indent=1, ensure_ascii=False) + "\n"


def _file_text(command: str) -> str:
    from importlib.resources import files

    return files("aswound.cli").joinpath("schemas", f"{command}.json").read_text(encoding="utf-8")
