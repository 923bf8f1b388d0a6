"""The options of ``interleave``: words → rules, pairs, frequency, files; faults name the option."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING

from .options import share_of, value_of

if TYPE_CHECKING:
    from ..compare.aims import Aim
    from ..predict.design import Design
    from ..predict.interleave import Rules


def check_files(source: Path, drawing: Path | None, design: Path | None, force: bool) -> None:
    """Refuse files that cannot be written, before anything is computed.

    Parameters
    ----------
    source : Path, the design file that is read
    drawing, design : Path or None, SVG and design file to write; None: none
    force : bool, whether a file that exists may be replaced

    Raises
    ------
    DesignError
        One of them cannot be written.
    """
    from ..predict.errors import DesignError, Fault
    from .written import check_free, inputs_of

    if design is not None and design.suffix != ".toml":
        raise DesignError(Fault("option --write", repr(str(design)), "a file name that ends in .toml"))
    for option, file in (("--draw", drawing), ("--write", design)):
        if file is not None:
            check_free(file, force, inputs_of(source), option=option)


def rules_of(
    most_sections: list[str] | None,
    most_joints: int | None,
    innermost: list[str] | None,
    outermost: list[str] | None,
    group: list[str] | None,
    tape: list[str] | None,
    parallel: str,
    most: int,
    bare: list[str] | None = None,
) -> Rules:
    """The rules that bound the search, from the options of ``interleave``.

    Parameters
    ----------
    most_sections : list[str] or None, ``N`` or ``WINDING=N``, each
    most_joints : int or None, most joints between sections, count; None: no bound
    innermost : list[str] or None, windings one of which lies next to the core
    outermost : list[str] or None, windings one of which lies outermost
    group : list[str] or None, windings laid directly on each other, ``A,B`` each
    tape : list[str] or None, least wraps of tape between two windings, ``P/S=N`` each
    parallel : str, how sections in parallel share the wires: "shared", "same" or "none"
    most : int, arrangements considered at most, count
    bare : list[str] or None, optional, pairs that may come closer than in the design, ``P/S`` each

    Raises
    ------
    AswoundError
        A word means nothing.
    """
    from ..predict.interleave import SHARINGS, Rules, rule_error

    sharing = next((known for known in SHARINGS if known == parallel), None)
    if sharing is None:
        raise rule_error(
            "option --parallel",
            repr(parallel),
            "; ".join(f"{name} ({text})" for name, text in SHARINGS.items()),
        )
    everywhere, single = 3, []
    for item in most_sections or []:
        name, equals, value = item.rpartition("=")
        number = _whole(value, f"option --most-sections {item}", "3, or P=2", least=1)
        if equals:
            single.append((name.strip(), number))
        else:
            everywhere = number
    wraps = []
    for item in tape or []:
        pair, equals, value = item.rpartition("=")
        if not equals:
            raise rule_error("option --tape", repr(item), "two windings and a number of wraps, as in P/S=3")
        first, second = _two(pair, f"option --tape {item}", "P/S=3")
        wraps.append((first, second, _whole(value, f"option --tape {item}", "P/S=3", least=0)))
    return Rules(
        most_sections=everywhere,
        sections=tuple(single),
        innermost=tuple(innermost or ()),
        outermost=tuple(outermost or ()),
        groups=tuple(tuple(name.strip() for name in item.split(",")) for item in group or []),
        tape=tuple(wraps),
        most_joints=most_joints,
        parallel=sharing,
        most=most,
        bare=tuple(_two(item, f"option --bare {item}", "P/S") for item in bare or []),
    )


_AIM = re.compile(
    r"^(?P<test>.+?)\s*(?P<sense><=|>=|≤|≥|=)\s*(?P<value>.+?)(?:\s*(?:±|\+/-)\s*(?P<within>.+))?$"
)
_DIMENSIONS = {
    "inductance": "inductance",
    "ac_resistance": "resistance",
    "quality": "number",
    "resistance": "resistance",
    "ratio": "number",
    "mutual": "inductance",
    "capacitance": "capacitance",
    "resonance": "frequency",
}


def aims_of(items: list[str] | None, design: Design) -> list[Aim]:
    """The aims of every ``--aim``: "TEST = VALUE ± TOLERANCE", "TEST <= VALUE".

    Parameters
    ----------
    items : list[str] or None, the options as typed
    design : Design

    Returns
    -------
    list[Aim], one aim each, SI

    Raises
    ------
    AswoundError
        No test of the design reads that.
    """
    from ..compare.aims import TOLERANCE, Aim
    from ..predict.errors import nearest
    from ..predict.interleave import rule_error

    tests = {test.name: test for test in design.tests}
    aims: list[Aim] = []
    for item in items or []:
        option = f"option --aim {item}"
        parts = _AIM.match(item.strip())
        if parts is None:
            raise rule_error(
                option, repr(item), '"TEST = VALUE", as in "Lk_P = 78 uH ± 5 %", or with <= or >='
            )
        name = parts["test"]
        if name not in tests:
            raise rule_error(option, repr(name), "one of " + ", ".join(tests), nearest(name, tests))
        measure = tests[name].measure
        if measure not in _DIMENSIONS:
            raise rule_error(option, f"{name}, a {measure}", f"a test of {', '.join(_DIMENSIONS)}")
        value = value_of(f"--aim {item}", parts["value"], _DIMENSIONS[measure])
        if not value > 0:
            raise rule_error(option, repr(parts["value"]), "a value above 0")
        sense = {"≤": "<=", "≥": ">="}.get(parts["sense"], parts["sense"])
        within = parts["within"]
        if within is not None and sense != "=":
            raise rule_error(option, repr(within), "a tolerance with = only: a limit has none")
        tolerance = TOLERANCE * value if sense == "=" else 0.0
        if within is not None:
            relative = within.strip().endswith("%")
            tolerance = (
                share_of(f"--aim {item}", within) * value
                if relative
                else value_of(f"--aim {item}", within, _DIMENSIONS[measure])
            )
            if not tolerance > 0:
                raise rule_error(option, repr(within), "a tolerance above 0")
        if any(aim.test == name and aim.sense == sense for aim in aims):
            raise rule_error(
                option, f"{name} {sense} a second time", "each test once with each of =, <= and >="
            )
        aims.append(Aim(name, sense, value, tolerance))  # type: ignore[arg-type]
    return aims


def drawings_of(items: list[str] | None) -> tuple[list[int], Path | None]:
    """What to draw, and into which file.

    Parameters
    ----------
    items : list[str] or None, the options as typed: numbers of arrangements, and at most one file

    Returns
    -------
    list[int], numbers of arrangements, index from 1, each once
    Path or None, the SVG file; None: draw in the terminal

    Raises
    ------
    DesignError
        An option is neither a number nor an SVG file.
    """
    from ..predict.errors import DesignError, Fault

    numbers, files = [], []
    for item in (part.strip() for text in items or [] for part in text.split(",")):
        if item.lower().endswith(".svg"):
            files.append(Path(item))
        elif item.isdecimal() and int(item) > 0:
            numbers.append(int(item))
        else:
            allowed = "the number of an arrangement, or a path that ends in .svg"
            raise DesignError(Fault("option --draw", repr(item), allowed, "As in --draw 1 --draw 5."))
    if len(files) > 1:
        found = " and ".join(map(str, files))
        raise DesignError(Fault("option --draw", found, "one file, which holds all drawings"))
    return list(dict.fromkeys(numbers)), files[0] if files else None


def _whole(text: str, place: str, example: str, *, least: int) -> int:
    from ..predict.interleave import rule_error

    if not text.strip().isdecimal() or int(text) < least:
        raise rule_error(place, repr(text), f"a whole number from {least}, as in {example}")
    return int(text)


def _two(text: str, place: str, example: str) -> tuple[str, str]:
    from ..predict.interleave import rule_error

    first, slash, second = text.partition("/")
    if not (slash and first.strip() and second.strip()):
        raise rule_error(place, repr(text), f"two windings with a slash between them, as in {example}")
    return first.strip(), second.strip()


def winding_pairs(items: list[str] | None) -> list[tuple[str, str]]:
    """(drive, short) of every --pair."""
    return [_two(item, f"option --pair {item}", "P/S") for item in items or []]


def frequency_of(text: str | None) -> float | None:
    """The working frequency (Hz), None where none is given."""
    from ..predict.interleave import rule_error

    if text is None:
        return None
    value = value_of("--frequency", text, "frequency")
    if not value > 0:
        raise rule_error("option --frequency", repr(text), "a frequency above 0")
    return value
