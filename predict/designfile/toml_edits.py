"""Changes of a TOML text: one value set, one table taken out; comments, order and layout stay.

What is added takes the layout of what is there: a line in a headed table, a dotted key beside dotted keys, a
pair within braces. Lines end as those of the text do.
"""

from __future__ import annotations

from .toml_positions import Path, Positions, written_key


def line_ending(text: str) -> str:
    r"""How the lines of a text end: "\r\n" or "\n"."""
    return "\r\n" if "\r\n" in text else "\n"


def with_value(
    text: str, path: Path, value: str, *, after: str = "", remark: str = "", plain: bool = False
) -> str:
    """A text with a value set: in place of the one that is there, or in a key of its own.

    Parameters
    ----------
    text : str
        TOML text.
    path : tuple
        Where the value is; its table is there.
    value : str
        The value as TOML, its lines ended by "\\n".
    after : str, optional
        Key of the same table behind whose line a new key is put; else it comes first.
    remark : str, optional
        Comment above the line of the value.
    plain : bool, optional
        Whether a value on lines of its own is written as ``key = value`` from the beginning of its line,
        however it is indented and spaced.

    Returns
    -------
    str
        The changed text.

    Raises
    ------
    KeyError
        The table is not there.
    """
    ending = line_ending(text)
    value = value.replace("\n", ending)
    positions = Positions(text)
    entry = positions.entries.get(path)
    if entry is None:
        return _added(positions, path, value, after)
    head = text[: entry.value]
    if plain and not entry.inline:
        key = text[entry.start : entry.value].rstrip().removesuffix("=").rstrip()
        head = f"{text[: positions.line_start(entry.start)]}{key} = "
    changed = head + value + text[entry.end :]
    statement = positions.statement(path)
    if remark and statement is not None:
        begin = positions.line_start(statement.start)
        lines = "".join(f"# {line}{ending}" for line in remark.splitlines())
        changed = changed[:begin] + lines + changed[begin:]
    return changed


def _added(positions: Positions, path: Path, value: str, after: str) -> str:
    """The text with a new key."""
    text, holder, key = positions.text, path[:-1], written_key(str(path[-1]))
    ending = line_ending(text)
    braces = positions.entries.get(holder)
    if braces is not None:
        if text[braces.value] != "{":
            raise KeyError(holder)
        head = text[: braces.end - 1].rstrip()
        comma = "" if head.endswith(("{", ",")) else ","
        return f"{head}{comma} {key} = {value} {text[braces.end - 1 :]}"
    sibling = positions.entries.get((*holder, after))
    headers = [header for header in positions.headers if header.path == holder]
    if headers or not holder:
        end = headers[0].end if headers else 0
        if sibling is not None:
            end = positions.line_end(sibling.end)
        return _with_line(text, end, f"{key} = {value}", ending)
    dotted = [
        entry
        for entry in positions.entries.values()
        if not entry.inline and entry.path[: len(holder)] == holder and len(entry.table) < len(holder)
    ]
    if not dotted:
        raise KeyError(holder)
    last = max(dotted, key=lambda entry: entry.end) if sibling is None else sibling
    names = ".".join(written_key(str(name)) for name in holder[len(last.table) :])
    return _with_line(text, positions.line_end(last.end), f"{names}.{key} = {value}", ending)


def _with_line(text: str, offset: int, line: str, ending: str) -> str:
    """The text with a line more at an offset where a line begins, or at its end."""
    before = text[:offset]
    if before and not before.endswith("\n"):
        before += ending
    return f"{before}{line}{ending}{text[offset:]}"


def without_table(text: str, name: str) -> str:
    """A text without a table of its top level, however it is written; comment lines within it stay.

    Parameters
    ----------
    text : str
    name : str, key of the table
    """
    positions = Positions(text)
    gone = [(header.start, end) for header, end in positions.blocks((name,))]
    for entry in positions.entries.values():
        if not entry.inline and not entry.table and entry.path[0] == name:
            gone.append((positions.line_start(entry.start), positions.line_end(entry.end)))
    for begin, end in sorted(gone, reverse=True):
        text = text[:begin] + _comments(positions, begin, end) + text[end:]
    return text


def _comments(positions: Positions, begin: int, end: int) -> str:
    """The comment lines between two offsets, without those within a value."""
    inside = [(entry.start, entry.end) for entry in positions.entries.values() if not entry.inline]
    kept, at = [], begin
    while at < end:
        behind = positions.line_end(at)
        line = positions.text[at:behind]
        if line.lstrip().startswith("#") and not any(start < at < stop for start, stop in inside):
            kept.append(line)
        at = behind
    return "".join(kept)
