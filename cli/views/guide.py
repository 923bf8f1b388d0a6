"""A page of the guide, Markdown, as parts of a page for the terminal.

Read: headings, paragraphs, lists, tables, and blocks of code, which stay as they stand. Emphasis and code
within a line lose their marks, links keep their text.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from . import words
from .page import Figure, Heading, Paragraph, Part, plainly

_LINK = re.compile(r"\[([^\]]+)\]\([^)]*\)")
_MARKS = re.compile(r"\*\*|`|(?<!\w)\*(?=\w)|(?<=\w)\*(?!\w)")


def guide_view(text: str) -> Iterator[Part]:
    """The parts of one page."""
    block: list[str] = []
    code: list[str] | None = None
    for line in [*text.splitlines(), ""]:
        if line.startswith("```"):
            if code is None:
                yield from _block(block)
                block, code = [], []
            else:
                yield _code(code)
                yield ""
                code = None
        elif code is not None:
            code.append(line)
        elif line.strip() and not (line.startswith("- ") and block) and not line.startswith("#"):
            block.append(line)
        else:
            yield from _block(block, after=not line.startswith("#"))
            block = [line] if line.startswith("- ") else []
            if line.startswith("#"):
                yield Heading(plain(line.lstrip("# ")))


def plain(text: str) -> str:
    """A line without the marks of Markdown."""
    return _MARKS.sub("", _LINK.sub(r"\1", text)).replace("\\|", "|")


def _block(lines: Sequence[str], *, after: bool = True) -> Iterator[Part]:
    """A table, an entry of a list, or a paragraph; ``after``: with a blank line behind it."""
    if not lines:
        return
    if lines[0].startswith("|"):
        yield from _table(lines)
    elif lines[0].startswith("- "):
        yield Paragraph(plain(" ".join(line.strip() for line in lines)[2:]), "  ", "- ")
    elif re.match(r"\d+\. ", lines[0]):
        for item in re.split(r"(?m)^(?=\d+\. )", "\n".join(lines)):
            if item.strip():
                number, _, rest = item.partition(" ")
                yield Paragraph(plain(" ".join(rest.split())), " " * (len(number) + 1), f"{number} ")
    else:
        yield Paragraph(plain(" ".join(line.strip() for line in lines)))
    if after:
        yield ""


def _table(lines: Sequence[str]) -> Iterator[Part]:
    rows = [[plain(cell.strip()) for cell in re.split(r"(?<!\\)\|", line.strip())[1:-1]] for line in lines]
    head, body = rows[0], rows[2:]
    if len(head) == 2 and any(len(row[1]) > 200 for row in body):  # too much for a column: a list
        for name, text in body:
            yield Paragraph(text, "    ", f"{name}: ")
        return
    yield words.table(head, body)


def _code(lines: Sequence[str]) -> Figure:
    kept = tuple(lines)

    def laid(_width: int, ascii_only: bool) -> Sequence[str]:
        return [plainly(line) if ascii_only else line for line in kept]

    return Figure(laid)
