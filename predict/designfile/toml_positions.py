"""Where the tables, keys and values of a TOML text stand, whatever its layout.

Headed tables, arrays of tables, dotted keys, inline tables and arrays over several lines are all found, so
that a text can be changed in one place and stay as it was written everywhere else. The text is one that
``tomllib`` reads; nothing is judged here.
"""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass

Path = tuple[str | int, ...]
"""Keys from the top of the file, and indices (from 0) in arrays: ("winding", 0, "wire", "in_hand")."""

_BLANK = re.compile(r"(?:[ \t\r\n]+|#[^\n]*)*")
_KEY = re.compile(r"[A-Za-z0-9_-]+|\"(?:\\.|[^\"\\\n])*\"|'[^'\n]*'")
_DOT = re.compile(r"[ \t]*\.[ \t]*")
_EQUALS = re.compile(r"[ \t]*=[ \t]*")
_SCALAR = re.compile(
    r'"""(?:\\.|[^\\])*?"{3,5}'
    r"|'''.*?'{3,5}"
    r'|"(?:\\.|[^"\\\n])*"'
    r"|'[^'\n]*'"
    r"|[^\s,\]}#][^,\]}\r\n#]*",
    re.DOTALL,
)


@dataclass(frozen=True, kw_only=True)
class WrittenValue:
    """A value with its key.

    Attributes
    ----------
    path : tuple, where it is in the data
    start : int, where its key begins, or in an array the value, index in the text
    value : int, where its value begins, index in the text
    end : int, behind its value, index in the text
    table : tuple, the headed table in which it is written; () above all headers
    inline : bool, whether it stands within braces or brackets
    """

    path: Path
    start: int
    value: int
    end: int
    table: Path
    inline: bool


@dataclass(frozen=True)
class Header:
    """The header of a table.

    Attributes
    ----------
    path : tuple, the table; with an index for one of an array of tables
    start : int, where its line begins, index in the text
    end : int, behind its line and the line's end, index in the text
    """

    path: Path
    start: int
    end: int


class Positions:
    """Everything that a TOML text holds, by place.

    Parameters
    ----------
    text : str
        Text that ``tomllib`` reads.
    """

    def __init__(self, text: str) -> None:
        self.text = text
        self.headers: list[Header] = []
        self.entries: dict[Path, WrittenValue] = {}
        self._at = 0
        self._table: Path = ()
        self._counts: dict[Path, int] = {}
        self._skip()
        while self._at < len(text):
            if text[self._at] == "[":
                self._header()
            else:
                self._pair(self._table, inline=False)
            self._skip()

    def line_start(self, offset: int) -> int:
        """Where the line of an offset begins, index in the text."""
        return self.text.rfind("\n", 0, offset) + 1

    def line_end(self, offset: int) -> int:
        """Behind the line of a character and the line's end: the first character of the next line, index in
        the text."""
        end = self.text.find("\n", offset)
        return len(self.text) if end < 0 else end + 1

    def statement(self, path: Path) -> WrittenValue | None:
        """The value in whose statement a path is written: itself, or what holds it inline; not within braces
        or brackets; None if there is none."""
        for length in range(len(path), 0, -1):
            entry = self.entries.get(path[:length])
            if entry is not None and not entry.inline:
                return entry
        return None

    def blocks(self, path: Path) -> list[tuple[Header, int]]:
        """The headed tables at a path and below it, each with where all that belongs to it ends: the first
        character behind, index in the text."""
        ends = [*(header.start for header in self.headers[1:]), len(self.text)]
        pairs = zip(self.headers, ends, strict=True) if self.headers else ()
        return [(header, end) for header, end in pairs if header.path[: len(path)] == path]

    # --- reading ----------------------------------------------------------------------------------------

    def _skip(self) -> None:
        matched = _BLANK.match(self.text, self._at)
        assert matched is not None
        self._at = matched.end()

    def _match(self, pattern: re.Pattern[str]) -> str:
        matched = pattern.match(self.text, self._at)
        if matched is None:
            raise ValueError(f"no TOML at offset {self._at}")
        self._at = matched.end()
        return matched[0]

    def _keys(self) -> tuple[str, ...]:
        keys = [self._match(_KEY)]
        while (dot := _DOT.match(self.text, self._at)) is not None:
            self._at = dot.end()
            keys.append(self._match(_KEY))
        return tuple(plain_key(key) for key in keys)

    def _header(self) -> None:
        start = self.line_start(self._at)
        several = self.text.startswith("[[", self._at)
        self._at += 2 if several else 1
        self._at += len(self.text[self._at :]) - len(self.text[self._at :].lstrip(" \t"))
        keys = self._keys()
        path: Path = ()
        for index, key in enumerate(keys):
            path = (*path, key)
            if several and index == len(keys) - 1:
                self._counts[path] = self._counts.get(path, 0) + 1
            if path in self._counts:
                path = (*path, self._counts[path] - 1)
        self._at = self.line_end(self._at)
        self._table = path
        self.headers.append(Header(path, start, self._at))

    def _pair(self, holder: Path, *, inline: bool) -> None:
        start = self._at
        path = (*holder, *self._keys())
        self._match(_EQUALS)
        self._value(path, start, inline=inline)

    def _value(self, path: Path, start: int, *, inline: bool) -> None:
        value = self._at
        opened = self.text[value : value + 1]
        if opened in ("[", "{"):
            self._at += 1
            self._inside(path, "]" if opened == "[" else "}")
        else:
            scalar = self._match(_SCALAR)
            self._at = value + len(scalar.rstrip())
        self.entries[path] = WrittenValue(
            path=path, start=start, value=value, end=self._at, table=self._table, inline=inline
        )

    def _inside(self, path: Path, closing: str) -> None:
        """What stands between brackets or braces, up to the closing one and with it."""
        index = 0
        self._skip()
        while self.text[self._at : self._at + 1] != closing:
            if closing == "]":
                self._value((*path, index), self._at, inline=True)
                index += 1
            else:
                self._pair(path, inline=True)
            self._skip()
            if self.text[self._at : self._at + 1] == ",":
                self._at += 1
                self._skip()
        self._at += 1


def plain_key(key: str) -> str:
    """A key, as written, without its quotes."""
    return key if key[0] not in "\"'" else str(tomllib.loads(f"key = {key}")["key"])


def written_key(key: str) -> str:
    """A key with quotes where it needs them."""
    return key if re.fullmatch(r"[A-Za-z0-9_-]+", key) else quoted(key)


def quoted(text: str) -> str:
    """A text as a TOML string, in quotes."""
    escaped = text.replace("\\", "\\\\").replace('"', '\\"')
    return f'"{escaped}"'
