"""The input files of a result, as they are on disk, for reports that can be run again."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from pathlib import Path

from ..errors import DesignError, Fault
from ..plain_text import LARGEST_READINGS, file_bytes


@dataclass(frozen=True)
class InputFile:
    """One input file.

    Attributes
    ----------
    name : str, its path as the user gave it, or relative to the design's folder
    data : bytes, its bytes
    """

    name: str
    data: bytes

    @property
    def text(self) -> str | None:
        """Its text with plain line ends and without a byte-order mark; None if it is not text (a
        workbook)."""
        if self.data.startswith(b"PK\x03\x04"):
            return None
        encoding = "utf-16" if self.data.startswith((b"\xff\xfe", b"\xfe\xff")) else "utf-8-sig"
        try:
            text = self.data.decode(encoding)
        except UnicodeDecodeError:
            return None
        return text.replace("\r\n", "\n").replace("\r", "\n")


def input_file(path: Path, name: str = "") -> InputFile:
    """One file as it is.

    Parameters
    ----------
    path : Path, the file
    name : str, optional, name under which it is shown; "" for its path

    Raises
    ------
    DesignError
        The file cannot be opened.
    """
    try:
        return InputFile(name or str(path), file_bytes(path, LARGEST_READINGS))
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise DesignError(
            Fault("file", reason.lower(), "a file that can be opened", file=str(path))
        ) from error


def design_sources(path: Path) -> tuple[InputFile, ...]:
    """The design file, and the catalogues beside it that it names.

    The design has been loaded before, so its TOML and its ``catalogue`` are known to be valid.

    Parameters
    ----------
    path : Path, the design file
    """
    design_file = input_file(path)
    named = tomllib.loads(design_file.data.decode("utf-8-sig")).get("catalogue", [])
    return (design_file, *(input_file(path.parent / item, item) for item in named))
