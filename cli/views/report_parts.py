"""Parts of a view as blocks of a page: the same words on paper as in the terminal. Pure: parts → values."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from .page import Grid, Heading, Paragraph, Part

_RANGE = "\N{NO-BREAK SPACE}…\N{NO-BREAK SPACE}"
"""A range stays in one line of a cell."""


@dataclass(frozen=True, kw_only=True)
class Block:
    """One block of a page.

    Attributes
    ----------
    kind : str, "caution", "paragraph", "heading" or "table"
    text : str
    label : str, a word before the text ("Confirm")
    columns : tuple[str, ...], heads of a table
    rows : tuple[tuple[str, ...], ...], cells of a table, row by row
    right : tuple[int, ...], columns set to the right, index
    name : str, its id on the page, or ""
    caption : str, caption of a table
    """

    kind: str
    text: str = ""
    label: str = ""
    columns: tuple[str, ...] = ()
    rows: tuple[tuple[str, ...], ...] = ()
    right: tuple[int, ...] = ()
    name: str = ""
    caption: str = ""


def blocks(parts: Iterable[Part], *, name: str = "", caption: str = "") -> tuple[Block, ...]:
    """The parts as blocks of a page.

    Parameters
    ----------
    parts : Iterable[Part], parts of the page
    name, caption : str, optional, id and caption of the first table

    Raises
    ------
    ValueError
        A part is a picture of characters, for which a page has no use.
    """
    return tuple(_named(_blocks(parts), name, caption))


def _blocks(parts: Iterable[Part]) -> Iterator[Block]:
    for part in parts:
        if isinstance(part, str):
            yield Block(kind="paragraph", text=part)
        elif isinstance(part, Heading):
            yield Block(kind="heading", text=part.text)
        elif isinstance(part, Grid):
            rows = tuple(tuple(cell.replace(" … ", _RANGE) for cell in row) for row in part.rows)
            yield Block(kind="table", columns=part.columns, rows=rows, right=part.right)
        elif isinstance(part, Paragraph):
            first = part.first.strip().rstrip(":")
            yield (
                Block(kind="caution", text=part.text)
                if first == "!"
                else Block(kind="paragraph", text=part.text, label=first)
            )
        else:
            raise ValueError("a picture of characters has no place on a page")


def _named(blocks: Iterator[Block], name: str, caption: str) -> Iterator[Block]:
    open_name = name
    for block in blocks:
        if block.kind == "table" and (open_name or caption):
            yield replace(block, name=open_name, caption=caption)
            open_name = caption = ""
        else:
            yield block
