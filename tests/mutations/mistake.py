"""What a deliberate mistake is."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Mistake:
    """One wrong line. ``file``: from the root of the tree. ``before``: text that is in it exactly once, made
    ``after``. ``tests``: those of which at least one must fail then."""

    file: str
    before: str
    after: str
    tests: tuple[str, ...]

    @property
    def name(self) -> str:
        """The file and what is changed, for people and for -k."""
        return f"{self.file}: {' '.join(self.before.split())} → {' '.join(self.after.split()) or 'nothing'}"


def mistake(file: str, before: str, after: str, *tests: str) -> Mistake:
    """A Mistake, in one line."""
    return Mistake(file, before, after, tests)
