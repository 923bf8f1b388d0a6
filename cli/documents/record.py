"""What a ``--json`` holds, as frozen dataclasses, from which both the data and its JSON Schema are made.

A field is a key of the object, in the order in which it is printed; its type is the type in JSON (``float``
a number, ``int`` an integer, a sequence an array, a dataclass an object, ``| None`` may be null), and
``json_key`` says what it means, in which unit, and which values it may have. The docstring of a class
describes its object.
Schemas: JSON Schema 2020-12, https://json-schema.org/draft/2020-12/schema.
"""

from __future__ import annotations

import dataclasses
import functools
import types
import typing
from collections.abc import Sequence
from dataclasses import dataclass, field, fields, is_dataclass
from typing import Any, TypeVar, get_args, get_origin

URN = "urn:aswound:schema:"
Record = TypeVar("Record")
_TYPES = {float: "number", int: "integer", str: "string", bool: "boolean", types.NoneType: "null"}


class Absent:
    """The value of a key that is left out."""


ABSENT: Any = Absent()


@dataclass(frozen=True, kw_only=True)
class Meaning:
    """What a value is.

    Attributes
    ----------
    text : str, in words, with its unit; empty: as its type says
    bounds : dict[str, Any], further words of the schema, such as "minimum", by name
    shared : str
        The name under which it stands once among the definitions of a schema; empty: where it is used.
    """

    text: str = ""
    bounds: dict[str, Any] = field(default_factory=dict)
    shared: str = ""


def json_key(text: str = "", *, name: str = "", optional: bool = False, **bounds: Any) -> Any:
    """The field of a key.

    Parameters
    ----------
    text : str, what it means, with its unit; empty: what the docstring of its class says
    name : str, the key, where it is no name that Python allows; empty: the field's
    optional : bool, whether it may be left out
    bounds : Any
        Words of the schema: minimum, maximum, exclusiveMinimum, minItems, maxItems; values: all it may be.
    """
    metadata = {"meaning": Meaning(text=text, bounds=bounds), "name": name, "optional": optional}
    if optional:
        return field(default=ABSENT, metadata=metadata)
    return field(metadata=metadata)


def record_of(kind: type[Record], source: object, **given: Any) -> Record:
    """A record with the keys that are given, and every other one from the field of the same name.

    Parameters
    ----------
    kind : type, the record's class
    source : object, what has those fields; AttributeError where it lacks one that is not given
    **given : Any, keys that it names otherwise or has not
    """
    names = [name for _, name in _keys(typing.cast(type, kind)) if name not in given]
    return kind(**given, **{name: getattr(source, name) for name in names})


def as_data(value: Any) -> Any:
    """The dictionaries, lists and scalars of a record; keys that are left out are left out."""
    if value is None or isinstance(value, str | float | int):
        return value
    if is_dataclass(value) and not isinstance(value, type):
        return {
            key: as_data(part)
            for key, name in _keys(type(value))
            if (part := getattr(value, name)) is not ABSENT
        }
    if isinstance(value, dict):
        return {name: as_data(part) for name, part in value.items()}
    if isinstance(value, list | tuple):
        return [as_data(part) for part in value]
    return value


@functools.cache
def _keys(record: type) -> tuple[tuple[str, str], ...]:
    """Keys of a record's object, each with the name of its field."""
    return tuple((_name(each), each.name) for each in fields(record))


def as_object(record: Any) -> dict[str, Any]:
    """The dictionary of a record (``as_data``)."""
    data: dict[str, Any] = as_data(record)
    return data


def schema_of(record: type, command: str) -> dict[str, Any]:
    """The JSON Schema of a command's document.

    Parameters
    ----------
    record : type, the document's class
    command : str, name of the command
    """
    definitions: dict[str, Any] = {}
    body = _object(record, definitions)
    head = {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$id": URN + command,
        "title": f"aswound {command} --json",
    }
    order = getattr(record, "definitions", ())
    placed = {name: definitions[name] for name in sorted(definitions, key=lambda name: _place(name, order))}
    return {**head, **body, **({"$defs": placed} if placed else {})}


def _place(name: str, order: tuple[str, ...]) -> int:
    return order.index(name) if name in order else len(order)


def _name(each: dataclasses.Field[Any]) -> str:
    return each.metadata["name"] or each.name


def _object(record: type, definitions: dict[str, Any]) -> dict[str, Any]:
    """The schema of an object. Of one that extends another: that, and its own keys."""
    hints = typing.get_type_hints(record, include_extras=True)
    base = next((base_class for base_class in record.__bases__ if is_dataclass(base_class)), None)
    inherited = {each.name for each in fields(base)} if base is not None else set()
    own_fields = [each for each in fields(record) if each.name not in inherited]
    properties = {
        _name(each): _schema(hints[each.name], each.metadata["meaning"], definitions) for each in own_fields
    }
    text = "" if getattr(record, "undescribed", False) else " ".join((record.__doc__ or "").split())
    described = {"description": text} if text else {}
    if base is not None:
        whole = _schema(base, Meaning(), definitions)
        return {**described, "allOf": [whole], "properties": properties, "type": "object"}
    required = [_name(each) for each in own_fields if not each.metadata["optional"]]
    return {
        **described,
        "type": "object",
        "properties": properties,
        **({"required": required} if required else {}),
    }


def _schema(hint: Any, meaning: Meaning, definitions: dict[str, Any]) -> dict[str, Any]:
    """The schema of a value: a reference to what is shared, else what it says itself."""
    described = {"description": meaning.text} if meaning.text else {}
    if get_origin(hint) is typing.Annotated:
        hint, given = get_args(hint)
        if not given.shared:
            return _schema(hint, given, definitions)
        if given.shared not in definitions:
            definitions[given.shared] = {}
            plain = Meaning(text=given.text, bounds=given.bounds)
            definitions[given.shared] = _schema(hint, plain, definitions)
        return {**described, "$ref": f"#/$defs/{given.shared}"}
    if command := _own(hint, "document"):
        return {**described, "$ref": URN + command}
    if name := _own(hint, "shared"):
        if name not in definitions:
            definitions[name] = {}
            definitions[name] = _object(hint, definitions)
        return {**described, "$ref": f"#/$defs/{name}"}
    if is_dataclass(hint):
        return _object(typing.cast(type, hint), definitions)
    return {**described, **_plain(hint, meaning, definitions)}


def _own(hint: Any, name: str) -> str:
    """An attribute that a class says of itself, not of those that extend it."""
    return str(vars(hint).get(name, "")) if isinstance(hint, type) else ""


def _plain(hint: Any, meaning: Meaning, definitions: dict[str, Any]) -> dict[str, Any]:
    origin, given = get_origin(hint), get_args(hint)
    if "values" in meaning.bounds:
        return {"enum": list(meaning.bounds["values"])}
    if origin in (types.UnionType, typing.Union):
        return _either(given, meaning, definitions)
    if origin is Sequence and given[0] is Any:
        return {"type": "array"}
    if origin is Sequence:
        items = _schema(given[0], Meaning(), definitions)
        least = {name: meaning.bounds[name] for name in ("minItems",) if name in meaning.bounds}
        alone = "maxItems" not in meaning.bounds
        return {
            "type": "array",
            **(least if alone else {}),
            "items": items,
            **({} if alone else meaning.bounds),
        }
    if origin is dict:
        if given[1] is Any:
            return {"type": "object"}
        return {"type": "object", "additionalProperties": _schema(given[1], Meaning(), definitions)}
    return {"type": _TYPES[hint], **meaning.bounds}


def _either(given: tuple[Any, ...], meaning: Meaning, definitions: dict[str, Any]) -> dict[str, Any]:
    """Alternatives: simple types in one list; an object that may be null; a reference, or null."""
    if all(kind in _TYPES for kind in given):
        return {"type": [_TYPES[kind] for kind in given], **meaning.bounds}
    first = _schema(given[0], Meaning(bounds=meaning.bounds), definitions)
    if "$ref" in first or getattr(given[0], "apart", False):
        return {"anyOf": [first, {"type": "null"}]}
    return {name: [value, "null"] if name == "type" else value for name, value in first.items()}
