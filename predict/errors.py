"""The one family of exceptions that the library raises.

Every fault says where it is, what was found there, what is allowed, and (if there is one) the nearest
known name or the remedy. A reader collects all faults of a file and raises them together. Nothing here
prints: only ``aswound.cli`` does.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field

LONGEST_PART = 1000
"""Most characters of each part of a message: a name of 100 000 is not repeated (judged by what fits a
terminal)."""


@dataclass(frozen=True)
class Fault:
    """One thing that is wrong with an input. What is longer than LONGEST_PART is cut.

    Attributes
    ----------
    place : str, where, as the user would look for it: ``"winding P: wire.diameter"``, ``"line 4, reading"``
    found : str, what was found, as text
    allowed : str, what is allowed, as a phrase
    hint : str, the nearest known name or the remedy, or ""
    file : str, name of the file, or "" for an option or a value from Python
    """

    place: str
    found: str
    allowed: str
    hint: str = ""
    file: str = ""

    def __post_init__(self) -> None:
        for name in ("place", "found", "allowed", "hint"):
            text = getattr(self, name)
            if len(text) > LONGEST_PART:
                object.__setattr__(self, name, f"{text[:LONGEST_PART]}…")

    def __str__(self) -> str:
        where = f"{self.file}: {self.place}" if self.file else self.place
        text = f"{where}: found {self.found}; allowed: {self.allowed}"
        return f"{text}. {self.hint}" if self.hint else text


class AswoundError(Exception):
    """Root of the family. ``faults`` is never empty.

    >>> from aswound.predict import AswoundError, load_design
    >>> try:
    ...     load_design("no-such.toml")
    ... except AswoundError as error:
    ...     print(len(error.faults), error.faults[0].found)
    1 no such file
    """

    def __init__(self, faults: Fault | Iterable[Fault]) -> None:
        self.faults: tuple[Fault, ...] = (faults,) if isinstance(faults, Fault) else tuple(faults)
        super().__init__("\n".join(str(fault) for fault in self.faults))


class QuantityError(AswoundError):
    """A text that is not a quantity of the required dimension."""


class CatalogueError(AswoundError):
    """An unknown catalogue name, or a faulty row of a catalogue."""


class DesignError(AswoundError):
    """A design that cannot be read, contradicts itself, or asks for something that is not supported."""


class BuildError(DesignError):
    """A build that does not fit its window or its breadth."""


class ReadingsError(AswoundError):
    """A readings file with faulty rows."""


@dataclass
class Faults:
    """Collects faults, so that one report names all of them.

    ``collect()`` is a context manager that turns a raised AswoundError into collected faults;
    ``raise_as(error_class)`` raises if there are any.

    Attributes
    ----------
    file : str, name of the file, filled in for every fault added
    found : list[Fault], faults so far
    """

    file: str = ""
    found: list[Fault] = field(default_factory=list)

    def add(self, place: str, found: str, allowed: str, hint: str = "") -> None:
        """Note one fault.

        Parameters
        ----------
        place : str, where it is
        found : str, what was found
        allowed : str, what is allowed
        hint : str, optional, the nearest known name or the remedy, or ""
        """
        self.found.append(Fault(place, found, allowed, hint, self.file))

    @contextmanager
    def collect(self, place: str = "") -> Iterator[None]:
        """Run a block and keep the faults of an AswoundError that it raises, under ``place``."""
        try:
            yield
        except AswoundError as error:
            for fault in error.faults:
                where = f"{place}: {fault.place}" if place and fault.place else place or fault.place
                self.found.append(
                    Fault(where, fault.found, fault.allowed, fault.hint, fault.file or self.file)
                )

    def raise_as(self, error: type[AswoundError]) -> None:
        """Raise ``error`` with all collected faults, if there are any."""
        if self.found:
            raise error(self.found)


def nearest(name: str, known: Iterable[str]) -> str:
    """The known name closest to a given one, as a hint ("Did you mean 'x'?"); "" if none is close.

    Parameters
    ----------
    name : str
    known : Iterable[str]
    """
    names = list(known)
    by_folded = {known_name.casefold(): known_name for known_name in names}
    close = difflib.get_close_matches(name.casefold(), by_folded, n=1, cutoff=0.6)
    return f"Did you mean '{by_folded[close[0]]}'?" if close else ""
