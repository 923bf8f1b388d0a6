"""A bar on standard error for whatever takes more than a second: what is being done, and how much of it.

Only on a terminal. It is gone before anything else is printed.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from time import monotonic
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from ..predict.telling import Listener

PATIENCE = 1.0
"""Seconds without a bar."""
_SHOWN: ContextVar[Callable[[], None] | None] = ContextVar("shown", default=None)


@contextmanager
def progress_bar(clock: Callable[[], float] = monotonic) -> Iterator[Listener | None]:
    """A listener that shows a bar once ``PATIENCE`` has passed by the ``clock`` (s); None where standard
    error is no terminal."""
    if not sys.stderr.isatty():
        yield None
        return
    began = clock()
    bar: Any = None
    tasks: dict[str, Any] = {}

    def told(what: str, done: int, whole: int) -> None:
        nonlocal bar
        if clock() - began < PATIENCE:
            return
        if bar is None:
            bar = _bar()
            bar.start()
        if what not in tasks:
            tasks[what] = bar.add_task(what, total=whole)
        bar.update(tasks[what], completed=done, total=whole, refresh=True)

    def cleared() -> None:
        nonlocal bar
        if bar is not None:
            bar.stop()
            bar = None
            tasks.clear()

    token = _SHOWN.set(cleared)
    try:
        yield told
    finally:
        _SHOWN.reset(token)
        cleared()


def clear_bar() -> None:
    """Take the bar off the terminal, if there is one: something is about to be printed."""
    cleared = _SHOWN.get()
    if cleared is not None:
        cleared()


def _bar() -> Any:
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TextColumn

    return Progress(
        TextColumn("{task.description}"),
        BarColumn(),
        TextColumn("{task.completed} of {task.total}"),
        console=Console(stderr=True),
        transient=True,
    )
