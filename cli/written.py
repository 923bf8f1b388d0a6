"""Files that commands write: whole or not at all, never over another by accident, never over an input."""

from __future__ import annotations

import contextlib
import os
import stat
import tempfile
import time
from collections.abc import Callable, Iterable, Iterator
from functools import partial
from pathlib import Path

ESCAPED = "backslashreplace"
"""How bytes of a file's name that are no text stand in what is written."""


def check_free(
    file: Path,
    force: bool | None,
    inputs: Iterable[Path | None] = (),
    *,
    option: str = "--output",
    suffix: str = "",
) -> None:
    """Refuse a file that could not be written, before anything is computed.

    A device or pipe (``/dev/stdout``) is written as it is.

    Parameters
    ----------
    file : Path, the file to write
    force : bool or None, whether it may be replaced if it exists; None: the command has no option for that
    inputs : Iterable[Path or None], optional
        Files that the command reads. None of them is ever written, with ``force`` or through a link.
    option : str, optional, name of the option, for the fault
    suffix : str, optional, suffix that the name must have; empty: any

    Raises
    ------
    DesignError
        The file could not be written.
    """
    from ..predict.errors import DesignError, Fault

    place = f"option {option} {file}"
    if str(file) == "-":
        hint = "Standard output is /dev/stdout; where a command prints without this option, leave it out."
        raise DesignError(Fault(place, "'-'", "the name of a file", hint))
    if suffix and file.suffix.lower() != suffix:
        raise DesignError(Fault(place, repr(file.name), f"a name that ends in {suffix}"))
    if file.is_dir() or not file.parent.is_dir():
        found = "a folder" if file.is_dir() else f"no folder {str(file.parent)!r}"
        raise DesignError(Fault(place, found, "the name of a file in a folder that exists"))
    if file.is_symlink() and not file.exists():
        raise DesignError(Fault(place, "a link that leads nowhere", "the name of a file, or a link to one"))
    for name in inputs:
        if name is not None and _same(file, name):
            found = f"the file {name}, which this command reads"
            hint = "Nothing was overwritten; choose another name."
            raise DesignError(Fault(place, found, "a file that is none of the inputs", hint))
    if not force and file.exists() and _ordinary(file):
        hint = "Nothing was overwritten; choose another name"
        hint += "." if force is None else ", or --force to replace it."
        raise DesignError(Fault(place, "a file that exists", "a name that is free", hint))
    _check_writable(file)


def inputs_of(design: Path, *others: Path | None) -> list[Path | None]:
    """The files that a command reads: the design, the catalogues that it names, and others.

    The design need not be sound: what cannot be read here is reported where it is loaded.

    Parameters
    ----------
    design : Path, the design file
    *others : Path or None, further files; None: not given
    """
    import tomllib

    from ..predict.plain_text import LARGEST_FILE, file_bytes

    try:
        data = file_bytes(design, LARGEST_FILE, ordinary=True)
        named = tomllib.loads(data.decode("utf-8-sig")).get("catalogue", [])
    except (OSError, ValueError, RecursionError):
        named = []
    items = [named] if isinstance(named, str) else named if isinstance(named, list) else []
    return [design, *(design.parent / item for item in items if isinstance(item, str)), *others]


@contextlib.contextmanager
def alone(file: Path, patience: float = 10.0) -> Iterator[None]:
    """Hold off every other command that changes the same file, from reading it to writing it again.

    The lock (flock(2)) is on the folder: a file that is replaced cannot hold one, and nothing is left behind
    when the process ends, however it does. Where neither system nor file system has such locks, two
    writers within the same few milliseconds are not kept apart.

    Parameters
    ----------
    file : Path, the file that is read and written
    patience : float, optional, how long to wait for another command, s

    Raises
    ------
    DesignError
        Another command has held the file for that long.
    """
    try:
        import fcntl
    except ImportError:  # another system
        yield
        return
    handle = os.open(os.path.realpath(file.parent), os.O_RDONLY)
    try:
        _lock(partial(fcntl.flock, handle, fcntl.LOCK_EX | fcntl.LOCK_NB), file, time.monotonic() + patience)
        yield
    finally:
        os.close(handle)


def _lock(take: Callable[[], None], file: Path, end: float) -> None:
    """Take a lock; DesignError where another process holds it up to ``end`` (s, of the monotonic clock)."""
    from ..predict.errors import DesignError, Fault

    while True:
        try:
            return take()
        except BlockingIOError as error:
            if time.monotonic() > end:
                hint = "End the other command, or choose another name with -o."
                fault = Fault(str(file), "held by another command", "a file that nobody else writes", hint)
                raise DesignError(fault) from error
            time.sleep(0.002)
        except OSError:  # a file system without locks
            return None


def write_whole(file: Path, text: str, *, over: bool = False) -> None:
    """Write a file whole or not at all, in UTF-8.

    Without ``over`` the finished file gets its name at the end, which fails if somebody else has taken it
    by then. A link stays a link: what it names is written.

    Parameters
    ----------
    file : Path, the file to write
    text : str, what it will hold
    over : bool, optional, whether it may be replaced if it exists

    Raises
    ------
    DesignError
        It cannot be written.
    OSError
        The disk is full, for example; it names the file.
    """
    from ..predict.errors import DesignError, Fault

    if str(file) == "-":
        hint = "Standard output is /dev/stdout; where a command prints without this option, leave it out."
        raise DesignError(Fault(str(file), "'-'", "the name of a file", hint))
    if not file.parent.is_dir():
        raise DesignError(Fault(str(file), f"no folder {str(file.parent)!r}", "a folder that exists"))
    if file.is_dir():
        raise DesignError(Fault(str(file), "a folder that exists", "the name of a file"))
    if file.exists() and not _ordinary(file):
        with _named_faults(file), file.open("a", encoding="utf-8", errors=ESCAPED, newline="") as stream:
            stream.write(text)
        return
    _check_writable(file)
    target = Path(os.path.realpath(file))
    with _named_faults(file):
        handle, draft = _draft(target.parent)
    try:
        with os.fdopen(handle, "w", encoding="utf-8", errors=ESCAPED, newline="") as stream:
            stream.write(text)
            stream.flush()
            os.fsync(stream.fileno())
            os.chmod(handle, target.stat().st_mode if target.exists() else 0o666 & ~_umask())
            if not over:
                _named(handle, draft, file)
            else:
                if draft is None:
                    draft = f"{target.parent}/.aswound-{os.getpid()}-{target.name[:80]}"
                    _linked(handle, None, draft)
                os.replace(draft, target)
    except BaseException:
        _removed(draft)
        with _named_faults(file):
            raise
    if not over:
        _removed(draft)


@contextlib.contextmanager
def _named_faults(file: Path) -> Iterator[None]:
    """What the system says of the draft, or of the disk, is said of the file that the user named."""
    try:
        yield
    except OSError as error:
        raise type(error)(error.errno, error.strerror or str(error), str(file)) from error


def _draft(folder: Path) -> tuple[int, str | None]:
    """(handle, name) of a new empty file in ``folder``; None: it has no name, so that nothing is left of it
    however the process ends (Linux: open(2), O_TMPFILE)."""
    try:
        return os.open(folder, os.O_TMPFILE | os.O_WRONLY, 0o600), None
    except (AttributeError, OSError):  # another system, or a file system without
        return tempfile.mkstemp(dir=folder, prefix=".aswound-")


def _linked(handle: int, draft: str | None, name: str) -> None:
    """Give the draft the free name ``name``; FileExistsError where there is one."""
    if draft is not None:
        os.link(draft, name)
    else:  # open(2): a file without a name gets one through /proc, which linkat(2) follows
        os.link(f"/proc/self/fd/{handle}", name, src_dir_fd=handle, follow_symlinks=True)


def _named(handle: int, draft: str | None, file: Path) -> None:
    """Give the finished draft the name of ``file``; DesignError where that exists by now."""
    from ..predict.errors import DesignError, Fault

    try:
        _linked(handle, draft, str(file))
    except FileExistsError as error:
        hint = "Nothing was overwritten; choose another name."
        raise DesignError(Fault(str(file), "a file that exists", "a name that is free", hint)) from error
    except OSError:
        if draft is None or file.exists():
            raise
        os.replace(draft, file)  # a file system without links


def _removed(draft: str | None) -> None:
    if draft is not None:
        Path(draft).unlink(missing_ok=True)


def _check_writable(file: Path) -> None:
    """DesignError for a file that is marked read-only: replacing it would go round the mark."""
    from ..predict.errors import DesignError, Fault

    if file.exists() and _ordinary(file) and not file.stat().st_mode & 0o222:
        hint = "Nothing was overwritten; choose another name, or allow writing (chmod u+w)."
        raise DesignError(Fault(str(file), "a read-only file", "a file that may be written", hint))


def _ordinary(file: Path) -> bool:
    """Whether it is a file of its own: no device, no pipe, and no stream that the caller has opened, whatever
    that leads to (``-o /dev/stdout > page.html``)."""
    streams = str(file) in ("/dev/stdout", "/dev/stderr") or str(file.parent) in ("/dev/fd", "/proc/self/fd")
    return not streams and stat.S_ISREG(file.stat().st_mode)


def _same(first: Path, second: Path) -> bool:
    try:
        return first.samefile(second)
    except OSError:
        return os.path.realpath(first) == os.path.realpath(second)


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask
