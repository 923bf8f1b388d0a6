"""The way in, and the one place where exceptions become messages and exit statuses.

0 clean; 1 something deviates; 2 the input could not be used; 3 a fault of the tool itself; 130 interrupted.
Nothing is imported here that takes time: an interrupt while the program starts is caught like any other.
"""

from __future__ import annotations

import os
import sys
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from ..predict.errors import AswoundError

UNUSABLE, INTERNAL, INTERRUPTED = 2, 3, 130


def main(arguments: list[str] | None = None) -> int:
    """Run the command line.

    Parameters
    ----------
    arguments : list[str] or None, optional, words after the program's name; None: those of the process

    Returns
    -------
    int, exit status, index: 0 clean, 1 something deviates, 2 unusable input, 3 a fault of the tool
    """
    given = sys.argv[1:] if arguments is None else list(arguments)
    debug = "--debug" in given
    try:
        return _answered([item for item in given if item != "--debug"])
    except KeyboardInterrupt:
        return _interrupted()
    except SystemExit as ended:  # the parser's own end: of help, where the reader has gone
        return ended.code if isinstance(ended.code, int) and not _reader_gone(ended) else 0
    except Exception as error:
        if debug:
            _trace(error)
        return _report(error)


def _answered(given: list[str]) -> int:
    from ..predict.telling import heard_by
    from .application import optional_value, parser
    from .progress import progress_bar

    with progress_bar() as bar, heard_by(bar):
        arguments = optional_value(given, "--draw")
        status = parser(arguments).main(args=arguments, prog_name="aswound", standalone_mode=False)
    if status == INTERRUPTED:
        raise KeyboardInterrupt
    return status if isinstance(status, int) else 0


def _interrupted() -> int:
    try:
        sys.stderr.write("aswound: interrupted.\n")
        sys.stderr.flush()
    except (OSError, ValueError, AttributeError):
        pass
    return INTERRUPTED


def _reader_gone(ended: SystemExit) -> bool:
    return isinstance(ended.__context__, BrokenPipeError)


def _trace(error: Exception) -> None:
    import traceback

    from .output import write

    write("".join(traceback.format_exception(error)), sys.stderr)


def _report(error: Exception) -> int:
    """Turn an exception into a message on standard error and an exit status."""
    from ..predict.errors import AswoundError
    from .output import write
    from .views.page import visible

    if isinstance(error, AswoundError):
        write(_faults(error), sys.stderr)
        return UNUSABLE
    name = type(error).__name__
    if name == "Abort":
        return _interrupted()
    shown = getattr(error, "format_message", None)
    if shown is not None:  # a usage error: unknown option, missing argument
        if name == "NoArgsIsHelpError":
            write(shown() + "\n", sys.stderr)
            return UNUSABLE
        context = getattr(error, "ctx", None)
        usage = f"{context.get_usage()}\n" if context is not None else ""
        write(f"{usage}aswound: {visible(shown())}\n", sys.stderr)
        return UNUSABLE
    if isinstance(error, OSError):
        file_name = f"{error.filename}: " if error.filename else ""
        write(f"aswound: {visible(file_name)}{error.strerror or error}\n", sys.stderr)
        return UNUSABLE
    if isinstance(error, MemoryError):
        write("aswound: no memory is left for this; fewer --builds need less.\n", sys.stderr)
        return UNUSABLE
    text = " ".join(f"{name}: {error}".split())
    write(
        f"aswound: a fault of the tool itself ({visible(text)}); please report it with the command and the "
        "input (--debug shows where).\n",
        sys.stderr,
    )
    return INTERNAL


def _faults(error: AswoundError) -> str:
    """Every fault as a block: where, found, allowed, cure."""
    from .views.faults import said_once
    from .views.page import visible

    count = len(error.faults)
    lines = [f"aswound: {count} {'fault' if count == 1 else 'faults'} in the input; nothing was computed."]
    for fault in said_once(error.faults):
        where = f"{fault.file}: {fault.place}" if fault.file and fault.place else fault.file or fault.place
        lines.append("- " + visible(where).replace("\n", "\\n"))  # a name must not begin a line of its own
        for label, text in (("found", fault.found), ("allowed", fault.allowed), ("cure", fault.hint)):
            if text:
                lines.append(_folded(label, visible(text)))
    return "\n".join(lines) + "\n"


def _folded(label: str, text: str) -> str:
    import textwrap

    start = f"    {label:<9}"
    return textwrap.fill(
        text,
        79,
        initial_indent=start,
        subsequent_indent=" " * len(start),
        break_long_words=False,
        break_on_hyphens=False,
    )


def run() -> None:
    """Entry point of the console script."""
    try:
        _prepare()
        status = main()
    except KeyboardInterrupt:
        status = _interrupted()
    sys.exit(_flushed(status))


def _prepare() -> None:
    """Make the process one in which digits and messages are ours alone, and which does not look for cycles
    all the time: a command is short, and arrays go with their last reference (8 % of the time of ``explain``,
    measured)."""
    import gc
    import warnings

    gc.set_threshold(20_000)

    for library in ("OPENBLAS", "OMP", "MKL", "BLIS", "VECLIB", "NUMEXPR"):
        # before numpy is imported. Small matrices: threads that wait for each other cost many times what they
        # compute, and their number decides the order of sums, so the last digits
        name = "VECLIB_MAXIMUM_THREADS" if library == "VECLIB" else f"{library}_NUM_THREADS"
        os.environ[name] = "1"
    if "--debug" not in sys.argv:
        warnings.simplefilter("ignore")  # a library's remark is no message of ours
    for name in ("stdout", "stderr"):
        if getattr(sys, name) is None:  # closed by the caller: what is written there is dropped
            setattr(sys, name, open(os.devnull, "w", encoding="utf-8"))  # noqa: SIM115


def _flushed(status: int) -> int:
    """The status, or that of an answer that could not be written to its end; streams that fail are left, so
    that the interpreter does not end with a status of its own."""
    for stream in (sys.stdout, sys.stderr):
        try:
            stream.flush()
        except (OSError, ValueError) as error:
            from .output import drop_output

            drop_output(stream)
            if stream is sys.stdout and not isinstance(error, BrokenPipeError):
                status = UNUSABLE
    return status
