"""Progress reports of a long computation; who listens is up to the caller."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from typing import TypeAlias

Listener: TypeAlias = Callable[[str, int, int], None]
"""What is being done, how much of it is done, how much there is."""

_LISTENER: ContextVar[Listener | None] = ContextVar("listener", default=None)


@contextmanager
def heard_by(listener: Listener | None) -> Iterator[None]:
    """Report the progress of everything computed inside to a listener."""
    token = _LISTENER.set(listener)
    try:
        yield
    finally:
        _LISTENER.reset(token)


def tell(what: str, done: int, whole: int) -> None:
    """Report progress; does nothing if nobody listens.

    Parameters
    ----------
    what : str, what is being done
    done, whole : int, parts done and in all, count
    """
    listener = _LISTENER.get()
    if listener is not None:
        listener(what, done, whole)
