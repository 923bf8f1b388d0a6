"""The pages of the guide: Markdown files of the package, ``cli/guide/TOPIC.md``."""

from __future__ import annotations

from importlib.resources import files

TOPICS = {
    "tour": "from a drawing to a verdict in ten minutes",
    "files": "designs, readings, meters' logs, corrections, stages",
    "readings": "tests and readings: what each measure displays, limits",
    "commands": "what each command answers",
    "models": "how each reading is computed, and how far to trust it",
    "tolerances": "how far normal production varies",
    "diagnosis": "how causes are weighed",
    "lots": "several samples, lots, known-good samples",
    "safety": "where work on a transformer can hurt someone",
    "json": "JSON, schemas, exit status",
    "python": "the same from a program",
}
"""The topics, in the order in which they are read, and what each is about."""


def guide_page(topic: str) -> str:
    """The Markdown of one of ``TOPICS``. Raises DesignError for another, with the nearest."""
    from ..predict.errors import DesignError, Fault, nearest

    if topic not in TOPICS:
        raise DesignError(Fault("guide", repr(topic), ", ".join(TOPICS), nearest(topic, TOPICS)))
    return files("aswound.cli").joinpath("guide", f"{topic}.md").read_text(encoding="utf-8")
