"""What a ``--json`` holds: data and schema from one dataclass."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass, fields, is_dataclass
from typing import Annotated, ClassVar

import pytest
from jsonschema import Draft202012Validator

from aswound.cli.documents import DOCUMENTS, document
from aswound.cli.documents.record import Meaning, as_data, json_key, schema_of

Names = Annotated[Sequence[str], Meaning(text="Their names.", shared="names")]


@dataclass(frozen=True, kw_only=True)
class Inner:
    """One part."""

    from_: float | None = json_key("Where it begins (m).", name="from", minimum=0)


@dataclass(frozen=True, kw_only=True)
class Outer:
    """A whole."""

    definitions: ClassVar[tuple[str, ...]] = ("names",)

    kind: str | None = json_key("What it is; null: unknown.", values=("a", "b", None))
    parts: Sequence[Inner] = json_key("Its parts.")
    by_name: dict[str, int] = json_key("Counts.")  # noqa: RUF009
    inner: Inner | None = json_key(optional=True)  # noqa: RUF009
    names: Names = json_key()  # noqa: RUF009


def test_the_schema_of_a_record() -> None:
    inner = {
        "description": "One part.",
        "type": "object",
        "properties": {
            "from": {"description": "Where it begins (m).", "type": ["number", "null"], "minimum": 0}
        },
        "required": ["from"],
    }
    assert schema_of(Outer, "outer") == {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$id": "urn:aswound:schema:outer",
        "title": "aswound outer --json",
        "description": "A whole.",
        "type": "object",
        "properties": {
            "kind": {"description": "What it is; null: unknown.", "enum": ["a", "b", None]},
            "parts": {"description": "Its parts.", "type": "array", "items": inner},
            "by_name": {
                "description": "Counts.",
                "type": "object",
                "additionalProperties": {"type": "integer"},
            },
            "inner": {**inner, "type": ["object", "null"]},
            "names": {"$ref": "#/$defs/names"},
        },
        "required": ["kind", "parts", "by_name", "names"],
        "$defs": {"names": {"description": "Their names.", "type": "array", "items": {"type": "string"}}},
    }


def test_the_data_of_a_record() -> None:
    """In the order of the fields, under the names of JSON; what is absent is left out."""
    record = Outer(kind=None, parts=(Inner(from_=1.0),), by_name={"x": 1}, names=["n"])
    text = json.dumps(as_data(record))
    assert text == '{"kind": null, "parts": [{"from": 1.0}], "by_name": {"x": 1}, "names": ["n"]}'
    validator = Draft202012Validator(schema_of(Outer, "outer"))
    assert validator.is_valid(as_data(record))
    assert not validator.is_valid({**as_data(record), "kind": "c"})
    assert not validator.is_valid({**as_data(record), "parts": [{"from": -1.0}]})


def _records(record: type) -> set[type]:
    """All dataclasses of the module of a document."""
    import sys

    found = vars(sys.modules[record.__module__]).values()
    return {one for one in found if isinstance(one, type) and is_dataclass(one) and one is not Meaning}


@pytest.mark.parametrize("command", DOCUMENTS)
def test_every_field_of_a_document_is_a_key(command: str) -> None:
    for record in _records(document(command)):
        names = [each.metadata["name"] or each.name for each in fields(record)]
        assert len(set(names)) == len(names), record
        assert record.__doc__
        assert not record.__doc__.startswith(f"{record.__name__}(")
