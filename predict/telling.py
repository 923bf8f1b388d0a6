"""What a long computation says of itself while it works; who listens is the caller's affair."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from typing import TypeAlias

Listener: TypeAlias = Callable[[str, int, int], None]
"""what is being done, how much of it is done, how much there is."""

_LISTENER: ContextVar[Listener | None] = ContextVar("listener", default=None)


@contextmanager
def heard_by(listener: Listener | None) -> Iterator[None]:
    """Whatever is computed inside tells ``listener`` how far it is."""
    token = _LISTENER.set(listener)
    try:
        yield
    finally:
        _LISTENER.reset(token)


def tell(what: str, done: int, whole: int) -> None:
    """Say that ``done`` of ``whole`` parts of ``what`` are done; nothing where nobody listens."""
    listener = _LISTENER.get()
    if listener is not None:
        listener(what, done, whole)
