"""Files that commands write: whole or not at all, never over another by accident."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path


def check_free(file: Path, force: bool, *, option: str = "--output", suffix: str = "") -> None:
    """DesignError, before anything is computed, where a file could not be written. ``suffix``: that it has to
    have."""
    from ..predict.errors import DesignError, Fault

    if suffix and file.suffix.lower() != suffix:
        raise DesignError(Fault(f"option {option} {file}", repr(file.name), f"a name that ends in {suffix}"))
    if file.is_dir() or not file.parent.is_dir():
        found = "a folder" if file.is_dir() else f"no folder {file.parent}"
        raise DesignError(
            Fault(f"option {option} {file}", found, "the name of a file in a folder that exists")
        )
    if file.exists() and not force:
        hint = "Nothing was overwritten; choose another name, or --force to replace it."
        raise DesignError(Fault(f"option {option} {file}", "a file that exists", "a name that is free", hint))


def write_whole(file: Path, text: str, *, over: bool = False) -> None:
    """Write ``file`` whole or not at all. Without ``over`` never over another: an empty file reserves the
    name, a finished one beside it takes its place. DesignError where that cannot be."""
    from ..predict.errors import DesignError, Fault

    if not file.parent.is_dir():
        raise DesignError(Fault(str(file), f"no folder {file.parent}", "a folder that exists"))
    if not over:
        try:
            file.open("x").close()
        except FileExistsError as error:
            hint = "Nothing was overwritten; choose another name."
            raise DesignError(Fault(str(file), "a file that exists", "a name that is free", hint)) from error
    draft = None
    try:
        handle, draft = tempfile.mkstemp(dir=file.parent, prefix=f".{file.name}.")
        with os.fdopen(handle, "w", encoding="utf-8", newline="") as stream:
            stream.write(text)
        os.chmod(draft, file.stat().st_mode)
        os.replace(draft, file)
    except BaseException:
        if not over:
            file.unlink()
        if draft is not None:
            Path(draft).unlink()
        raise
