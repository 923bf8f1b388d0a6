"""Every key of the design file as one line: its meaning, what it takes, its default, an example.

Made from the tables that the reader itself uses (``tables``), so every key that the reader knows has its
line. What a key takes is what its parser says is allowed.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

from ..design import FORMS
from ..errors import AswoundError
from ..production import TABLE, bound_text
from ..quantity import format_quantity
from . import key_words as words
from .grammar import Key
from .reader import TOP_KEYS
from .tables import (
    BENCH_KEYS,
    BOBBIN_KEYS,
    BUILD_KEYS,
    CALIBRATION_KEYS,
    CORE_KEYS,
    JOIN_KEYS,
    OPERATION_KEYS,
    PROCESS_KEYS,
    SPREAD_KEYS,
    STEP_KINDS,
    TEST_KEYS,
    WINDING_KEYS,
    WIRE_FORMS,
    dimension_keys,
)


@dataclass(frozen=True, kw_only=True)
class KeyLine:
    """One key of the design file.

    Attributes
    ----------
    section : str, section as a file heads it ("[core]", "step { tape }")
    key : str, name of the key
    meaning : str, what the key means
    takes : str, what its value may be
    default : str, in words; "" if the key is required
    required : bool, whether it is required
    example : str, example as a line of a file
    only : str, forms that have this key, or ""
    """

    section: str
    key: str
    meaning: str
    takes: str
    default: str
    required: bool
    example: str
    only: str = ""

    @property
    def path(self) -> str:
        """Text in which a search term is looked up: "core.gap", "winding.wire.foil", "step.wraps"."""
        inner = re.sub(r"[\[\]{}]", " ", self.section).split()
        return ".".join([*inner, self.key])


_UNITS = {
    "a length": "m",
    "an inductance": "H",
    "an inductance factor": "H",
    "a resistance": "ohm",
    "a capacitance": "F",
    "a frequency": "Hz",
    "a temperature": "degC",
    "a voltage": "V",
    "a current": "A",
    "an angle": "rad",
}
_TAKES = {  # of keys whose values are read later, or are tables
    "core.dimensions": "a section of its own",
    "winding.wire": "a table of one form",
    "build.steps": "a list of tables",
    "build.processes": "a list of tables",
    "test.min": "a value of what the test measures",
    "test.max": "a value of what the test measures",
    "test.nominal": "a value of what the test measures",
    "test.tolerance": "a relative value, a value of what the test measures, or a list of two: below, above",
}


def key_lines() -> tuple[KeyLine, ...]:
    """All keys in the order of a file. A key without words has an empty meaning (a test allows none)."""
    lines = [*_section("at the top", TOP_KEYS, words.TOP)]
    lines += _section("[core]", CORE_KEYS, words.CORE)
    lines += _with_forms(
        "[core.dimensions]", {form: dimension_keys(form) for form in FORMS}, words.DIMENSIONS
    )
    lines += _section("[bobbin]", BOBBIN_KEYS, words.BOBBIN)
    lines += _section("[[winding]]", WINDING_KEYS, words.WINDING)
    lines += _with_forms("winding wire { }", WIRE_FORMS, words.WIRE)
    lines += _section("[build]", BUILD_KEYS, words.BUILD)
    lines += _section("build process { }", PROCESS_KEYS, words.PROCESS)
    kinds = {"wind": words.WIND, "tape": words.TAPE, "spacer": words.SPACER, "shield": words.SHIELD}
    for kind, keys in STEP_KINDS.items():
        lines += _section(f"step {{ {kind} }}", keys, kinds[kind])
    lines += _section("[[join]]", JOIN_KEYS, words.JOIN)
    lines += _section("[[test]]", TEST_KEYS, words.TEST)
    lines += _section("[bench]", BENCH_KEYS, words.BENCH)
    lines += _section("[spread]", SPREAD_KEYS, _spread_words())
    lines += _section("[operation]", OPERATION_KEYS, words.OPERATION)
    lines += _section("[calibration]", CALIBRATION_KEYS, words.CALIBRATION)
    return tuple(lines)


def _spread_words() -> dict[str, words.Words]:
    """Meaning and default of ``[spread]`` from the table of the tool's own tolerances."""
    told: dict[str, words.Words] = {}
    for key, example in words.SPREAD_EXAMPLES.items():
        rows = [row for row in TABLE if row.key == key]
        meaning = "; ".join(dict.fromkeys(row.varies for row in rows)).replace("`", "")
        told[key] = (
            f"{meaning[:1].upper()}{meaning[1:]}.",
            example,
            "; ".join(bound_text(row) for row in rows),
        )
    return told


def _section(
    section: str,
    keys: Mapping[str, Key],
    told: Mapping[str, words.Words],
    only: Mapping[str, str] | None = None,
) -> list[KeyLine]:
    result = []
    for name, key in keys.items():
        told_of_key = told.get(name, ("", "…"))
        meaning, example = told_of_key[:2]
        path = f"{re.sub(r'[^a-z. ]', '', section).strip()}.{name}"
        takes = _TAKES.get(path) or _takes(key)
        stated = told_of_key[2] if len(told_of_key) > 2 else _default(key, takes)
        result.append(
            KeyLine(
                section=section,
                key=name,
                meaning=meaning,
                takes=takes,
                default="" if key.required else stated,
                required=key.required,
                example=example if re.fullmatch(r"\[+[a-z.]+\]+", example) else f"{name} = {example}",
                only=(only or {}).get(name, ""),
            )
        )
    return result


def _with_forms(
    section: str, forms: Mapping[str, Mapping[str, Key]], told: Mapping[str, words.Words]
) -> list[KeyLine]:
    """The keys of all forms, each once, with the forms that have it."""
    merged: dict[str, Key] = {}
    owners: dict[str, list[str]] = {}
    for form, keys in forms.items():
        for name, key in keys.items():
            merged.setdefault(name, key)
            owners.setdefault(name, []).append(form)
    only = {
        name: ", ".join(owning_forms)
        for name, owning_forms in owners.items()
        if len(owning_forms) < len(forms)
    }
    return _section(section, merged, told, only)


class _Nothing:
    """A value that no parser takes."""

    def __repr__(self) -> str:
        return "nothing"


def _takes(key: Key) -> str:
    """What the key's own parser says is allowed."""
    try:
        key.parse(_Nothing())
    except AswoundError as error:
        return error.faults[0].allowed
    return "a section of its own"


def _default(key: Key, takes: str) -> str:
    value = key.default
    if value is None or value in ("", (), {}):
        return "none"
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return f'"{value}"'
    if isinstance(value, list):
        return "none"
    unit = next((unit for phrase, unit in _UNITS.items() if re.match(rf"{phrase}(?! factor)\b", takes)), "")
    if unit:
        return _short(format_quantity(float(value), unit, 3))
    if takes.startswith("a relative value"):
        return f"{float(value) * 100:g} %"
    return f"{value:g}" if isinstance(value, float) else str(value)


def _short(text: str) -> str:
    """ "10.0 nH" → "10 nH"."""
    number, _, unit = text.partition(" ")
    return f"{number.rstrip('0').rstrip('.') if '.' in number else number} {unit}".strip()
