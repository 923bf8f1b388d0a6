"""The views of ``keys``: all keys in short, some in full, or one page."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from ...predict.designfile import KeyLine
from ..documents import catalogue_documents
from ..documents.record import record_of
from . import words
from .page import Heading, Paragraph, Part

UNITS = (
    'A value with a unit is a text in quotes, with its unit: "0.35 mm". Micro is u, µ or μ. A relative '
    'value is "5 %" or 0.05. A tolerance is a ± bound that holds 95 % of production; { sd = "2.5 %" } is a '
    "standard deviation."
)


def chosen(lines: Sequence[KeyLine], word: str) -> tuple[KeyLine, ...]:
    """Keys that a word finds in their name, path or meaning; only those whose name is the word, if there are
    any.

    Parameters
    ----------
    lines : Sequence[KeyLine], all keys
    word : str, the word, such as "core.gap" or "gap"
    """
    wanted = word.strip().casefold()
    if not wanted:
        return tuple(lines)
    exact = tuple(line for line in lines if wanted in (line.key, line.path))
    return exact or tuple(
        line
        for line in lines
        if any(wanted in text.casefold() for text in (line.path, line.section, line.meaning))
    )


def keys_json(lines: Sequence[KeyLine]) -> dict[str, Any]:
    """``keys --json``."""
    return {
        "keys": [
            record_of(
                catalogue_documents.CatalogueKey,
                line,
                default=None if line.required else line.default,
                only=line.only or None,
            )
            for line in lines
        ]
    }


def keys_view(lines: Sequence[KeyLine], *, in_full: bool) -> Iterator[Part]:
    """A table of the keys by section; ``in_full``: a block for each.

    Parameters
    ----------
    lines : Sequence[KeyLine], the keys
    in_full : bool, whether each has a block of its own, instead of a line in a table
    """
    if not in_full:
        for section in dict.fromkeys(line.section for line in lines):
            yield Heading(section)
            rows = [(line.key, _default(line), line.meaning) for line in lines if line.section == section]
            yield words.table(["key", "default", "meaning"], rows)
        yield Heading("How to read this")
        yield Paragraph(UNITS)
        yield Paragraph("'aswound keys WORD' shows keys in full, with an example of each.")
        return
    for line in lines:
        yield Heading(f"{line.section}  {line.key}")
        yield Paragraph(line.meaning)
        yield Paragraph(line.takes, "         ", "takes    ")
        yield Paragraph(_default(line), "         ", "default  ")
        if line.only:
            yield Paragraph(line.only, "         ", "only of  ")
        yield Paragraph(line.example, "         ", "example  ")


def page(lines: Sequence[KeyLine]) -> str:
    """All keys as one page of Markdown."""
    out = ["# The keys of the design file", "", UNITS]
    for section in dict.fromkeys(line.section for line in lines):
        out += [
            "",
            f"## {section}",
            "",
            "| key | meaning | takes | default | example |",
            "| --- | --- | --- | --- | --- |",
        ]
        for line in lines:
            if line.section == section:
                only = f" (only of {line.only})" if line.only else ""
                cells = (
                    f"`{line.key}`",
                    line.meaning + only,
                    line.takes,
                    _default(line),
                    f"`{line.example}`",
                )
                out.append("| " + " | ".join(cell.replace("|", "\\|") for cell in cells) + " |")
    return "\n".join(out) + "\n"


def _default(line: KeyLine) -> str:
    return "required" if line.required else line.default
