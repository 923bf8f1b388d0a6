"""``aswound guide``: what the tool does and how far to trust it, page by page."""

from __future__ import annotations

from typing import Annotated

import typer

from . import completion


def guide(
    topic: Annotated[
        str,
        typer.Argument(
            metavar="[TOPIC]", help="The page to show; none: list them.", autocompletion=completion.topics
        ),
    ] = "",
    markdown: Annotated[
        bool, typer.Option("--markdown", help="Print the page as Markdown, as it stands.")
    ] = False,
) -> int:
    """The guide: tour, files, readings, commands, models, tolerances, diagnosis, lots, json, python."""
    from .guide_pages import TOPICS, guide_page
    from .output import print_parts, write_data
    from .views.guide import guide_view
    from .views.page import Paragraph

    if not topic:
        print_parts(
            [Paragraph(f"{text}.", "              ", f"  {name:<12}") for name, text in TOPICS.items()]
        )
        print_parts(["'aswound guide TOPIC' shows a page, 'aswound keys' the keys of the design file."])
    elif markdown:
        write_data(guide_page(topic))
    else:
        print_parts(guide_view(guide_page(topic)))
    return 0
