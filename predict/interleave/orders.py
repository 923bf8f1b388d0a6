"""Enumeration of orders: which sequences of sections there are, whatever the sections are made of.

Symbols 0 … n−1 occur a given number of times each. A sequence lays them one on the other, in one or several
bays (chambers, legs) side by side. Sections of one symbol are alike, so that every arrangement comes once.
Equal neighbours are left out where they are really one section.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

Sequences = tuple[tuple[int, ...], ...]
"""For each bay, from the leg outwards (from below upwards), the symbols laid there."""


def sequences(
    counts: Sequence[int],
    bays: int,
    allowed: Callable[[int | None, int], bool],
    last: Callable[[int | None], bool],
) -> Iterator[Sequences]:
    """All distinct ways to lay symbols in bays, in lexical order.

    Parameters
    ----------
    counts : sequence of int, how often each symbol is laid, count
    bays : int, count
    allowed : callable (int or None, int) to bool
        Whether a symbol may lie on another (None: on the floor of its bay).
    last : callable (int or None) to bool, whether a bay may end with a symbol (None: stay empty)
    """
    left = list(counts)
    done: list[tuple[int, ...]] = []

    def lay(current: tuple[int, ...]) -> Iterator[Sequences]:
        before = current[-1] if current else None
        for symbol in range(len(left)):
            if left[symbol] and allowed(before, symbol):
                left[symbol] -= 1
                yield from lay((*current, symbol))
                left[symbol] += 1
        if not last(before):
            return
        if len(done) + 1 == bays:
            if not any(left):
                yield (*done, current)
            return
        done.append(current)
        yield from lay(())
        done.pop()

    yield from lay(())
