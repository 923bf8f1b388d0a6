"""Values that compute their hash once.

A design and its parts are keys of everything that is remembered by value, and a changed design shares most of
its parts with the one that it was changed from.
"""

from __future__ import annotations

from functools import cached_property

from .numbers_of_builds import field_names


class HashedOnce:
    """A frozen dataclass whose hash, that of all its fields, is computed once.

    Its class takes ``__hash__`` from here by name (``__hash__ = HashedOnce.__hash__``), as the decorator
    writes another one else.
    """

    def __hash__(self) -> int:
        return self._hash

    @cached_property
    def _hash(self) -> int:
        """The hash of all parts. TypeError for arrays over builds."""
        return hash(tuple([getattr(self, name) for name in field_names(type(self))]))

    def __getstate__(self) -> dict[str, object]:
        """The fields alone: hashes of text differ from process to process."""
        return {name: getattr(self, name) for name in field_names(type(self))}
