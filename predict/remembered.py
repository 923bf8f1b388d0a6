"""Results of pure functions of values, remembered for the last few values, so that the same work is done
once.

A design is a value: equal designs have equal answers. Designs that hold arrays over builds have no hash
and are computed each time. A remembered result is given to several callers, so its arrays are read-only.
"""

from __future__ import annotations

import functools
from collections.abc import Callable
from typing import Any, ParamSpec, TypeVar

import numpy as np

from .design import fields_of_numbers

Given = ParamSpec("Given")
Result = TypeVar("Result")


def by_value(size: int) -> Callable[[Callable[Given, Result]], Callable[Given, Result]]:
    """A decorator that remembers a function's last ``size`` results by the value of the arguments; no
    exceptions."""

    def decorated(function: Callable[Given, Result]) -> Callable[Given, Result]:
        @functools.lru_cache(maxsize=size)
        def known(arguments: _Arguments) -> Result:
            return _locked(function(*arguments.given, **arguments.named))

        @functools.wraps(function)
        def remembered(*given: Given.args, **named: Given.kwargs) -> Result:
            try:
                arguments = _Arguments(given, named)
            except TypeError:  # arrays over builds
                return function(*given, **named)
            return known(arguments)

        return remembered

    return decorated


class _Arguments:
    """The arguments of a call, whose hash (of every part of a design) is computed once. TypeError where they
    have none."""

    __slots__ = ("given", "named", "number")

    def __init__(self, given: tuple[Any, ...], named: dict[str, Any]) -> None:
        self.given, self.named = given, named
        self.number = hash((given, tuple(named.items())))

    def __hash__(self) -> int:
        return self.number

    def __eq__(self, known: object) -> bool:
        return isinstance(known, _Arguments) and self.given == known.given and self.named == known.named


_HOLDERS = (np.ndarray, tuple)


def _locked(value: Result) -> Result:
    """``value`` with its arrays read-only."""
    if isinstance(value, np.ndarray):
        value.flags.writeable = False
    elif isinstance(value, tuple):
        kinds = set(map(type, value))
        holding = {kind for kind in kinds if issubclass(kind, _HOLDERS) or fields_of_numbers(kind)}
        for part in value if holding else ():
            _locked(part)
    else:
        for part in [getattr(value, name) for name in fields_of_numbers(type(value))]:
            if isinstance(part, _HOLDERS):
                _locked(part)
    return value
