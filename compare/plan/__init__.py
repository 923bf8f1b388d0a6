"""Before the bench: how to take each reading, which limits to hold it against, at which frequencies;
readings while a part is wound; trade-offs of arrangements.

Readings that have been taken are judged in ``verdict`` and ``diagnosis``.
"""
