"""What the shell completes beyond commands, options and files: names of the catalogue, of tests, of rules.

A name is offered without its spaces, which the catalogue does not need ("ETD34/17/11"), so that no shell has
to quote it. Completion never speaks up: where a file cannot be read there is nothing to offer.
"""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from typer import Context  # at run time: the parser reads the annotations


def core_names(incomplete: str) -> list[str]:
    """Cores of the catalogue that begin as typed, whatever the case and the spaces."""
    from ..predict.catalogue import load_catalogue

    return _beginning(load_catalogue().cores, incomplete)


def material_names(incomplete: str) -> list[str]:
    """Materials of the catalogue."""
    from ..predict.catalogue import load_catalogue

    return _beginning(load_catalogue().materials, incomplete)


def wire_names(incomplete: str) -> list[str]:
    """Wires of the catalogue."""
    from ..predict.catalogue import load_catalogue

    return _beginning((wire.name for wire in load_catalogue().wires), incomplete)


def new_kinds(incomplete: str) -> list[str]:
    """Kinds of transformers of which a design file is written."""
    from ..predict.designfile import KINDS

    return _beginning(KINDS, incomplete)


def topics(incomplete: str) -> list[str]:
    """Topics of the guide."""
    from .guide_pages import TOPICS

    return _beginning(TOPICS, incomplete)


def rule_names(incomplete: str) -> list[str]:
    """Decision rules."""
    from ..compare.verdict import RULES

    return _beginning(RULES, incomplete)


def test_names(context: Context, incomplete: str) -> list[str]:
    """Tests of the design on the command line; one with a space in its name is not offered.

    Parameters
    ----------
    context : Context, what has been typed so far
    incomplete : str, the word that is being typed
    """
    return [name for name in _tests(context) if " " not in name and name.startswith(incomplete)]


def test_values(context: Context, incomplete: str) -> list[str]:
    """Tests of the design, each with the "=" that a reading needs.

    Parameters
    ----------
    context : Context, what has been typed so far
    incomplete : str, the word that is being typed
    """
    return [f"{name}=" for name in test_names(context, incomplete)]


def sample_names(context: Context, incomplete: str) -> list[str]:
    """Samples of the readings file that stands on the command line; one with a space in its name is not
    offered.

    Parameters
    ----------
    context : Context, what stands on the command line
    incomplete : str, what is typed so far

    Returns
    -------
    list[str], names that begin so
    """
    return [name for name in _samples(context) if " " not in name and name.startswith(incomplete)]


def _samples(context: Context) -> list[str]:
    from ..compare.readings import load_readings
    from ..predict.designfile import load_design
    from ..predict.errors import AswoundError

    design = _standing(context, "design", (".toml",))
    file = _standing(context, "readings", (".csv", ".tsv", ".txt", ".xlsx"))
    if design is None or file is None:
        return []
    try:
        readings = load_readings(Path(file), load_design(Path(design)), context.params.get("column") or ())
    except (AswoundError, OSError):
        return []
    return list(dict.fromkeys(reading.sample for reading in readings))


def _standing(context: Context, name: str, ends: tuple[str, ...]) -> str | None:
    """A file of the command line: the option that waits for its value stops the parser, which then leaves the
    files where they stand."""
    stated = context.params.get(name)
    return stated or next((word for word in context.args if word.lower().endswith(ends)), None)


def _tests(context: Context) -> list[str]:
    from ..predict.designfile import load_design
    from ..predict.errors import AswoundError

    file = _standing(context, "design", (".toml",))
    if file is None:
        return []
    try:
        return [test.name for test in load_design(Path(file)).tests]
    except (AswoundError, OSError):
        return []


def _beginning(names: Iterable[str], typed: str) -> list[str]:
    """What is typed, kept as it is (shells ask for that), with the rest of each name that begins so."""
    wanted = _plain(typed)
    found = [name.replace(" ", "") for name in names if _plain(name).startswith(wanted)]
    return [typed + name[len(wanted) :] for name in found]


def _plain(text: str) -> str:
    return text.replace(" ", "").casefold()
