"""Every command that README.md and the guide show, run as it is typed. Label: regression.

A block of code whose lines begin with "$ aswound …" holds what the command prints, all of it, with ``| head
-N``, ``| tail -N`` and ``| sed -n "/A/,/B/p"`` as the shell knows them. Run as a script, this file writes the
output anew; read the difference.
"""

from __future__ import annotations

import contextlib
import functools
import io
import re
import shlex
from pathlib import Path

import pytest

from aswound.cli.guide_pages import TOPICS, guide_page
from aswound.cli.main import main
from aswound.cli.views.guide import guide_view, plain
from aswound.cli.views.page import render

ROOT = Path(__file__).parents[2]
PAGES = [ROOT / "README.md", *(ROOT / "cli" / "guide" / f"{topic}.md" for topic in TOPICS)]
BLOCK = re.compile(r"(?ms)^```\n(\$ .*?)^```$")
SCREEN = 45
"""Lines of a screen, of a hundred and twenty columns."""


@functools.cache
def shown(arguments: tuple[str, ...]) -> str:
    """What a command prints on 80 columns, run in the root of the tree. Several blocks show parts of one."""
    data = io.BytesIO()
    stream = io.TextIOWrapper(data, encoding="utf-8", newline="")
    with pytest.MonkeyPatch.context() as patch, contextlib.redirect_stdout(stream):
        patch.chdir(ROOT)
        patch.setenv("COLUMNS", "80")
        assert main(list(arguments)) in (0, 1), arguments
    stream.flush()
    return data.getvalue().decode()


def printed(command: str) -> str:
    """What a typed line prints, on 80 columns."""
    stages = [shlex.split(stage) for stage in re.split(r" \| (?=head|tail|sed)", command)]
    assert stages[0][0] == "aswound", command
    lines = shown(tuple(stages[0][1:])).splitlines()
    for name, *arguments in stages[1:]:
        if name == "head":
            lines = lines[: int(arguments[0][1:])]
        elif name == "tail":
            lines = lines[-int(arguments[0][1:]) :]
        else:
            first, last = re.fullmatch(r"/(.*)/,/(.*)/p", arguments[1]).groups()  # type: ignore[union-attr]
            begin = next(place for place, line in enumerate(lines) if re.search(first, line))
            end = next(place for place in range(begin + 1, len(lines)) if re.search(last, lines[place]))
            lines = lines[begin : end + 1]
    return "".join(f"{line}\n" for line in lines)


def rewritten(block: str) -> str:
    commands = [line for line in block.splitlines() if line.startswith("$ ")]
    return "".join(f"{command}\n{printed(command[2:])}" for command in commands)


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.stem)
def test_commands_print_what_stands_below_them(page: Path) -> None:
    for block in BLOCK.findall(page.read_text(encoding="utf-8")):
        assert block == rewritten(block)


def test_commands_are_shown() -> None:
    assert sum(len(BLOCK.findall(page.read_text(encoding="utf-8"))) for page in PAGES) >= 8


def test_the_readme_fits_two_screens_without_its_output() -> None:
    text = BLOCK.sub("", (ROOT / "README.md").read_text(encoding="utf-8"))
    assert len(text.splitlines()) <= 2 * SCREEN
    assert len(text) < 5000


def test_every_topic_is_a_page_and_every_page_a_topic() -> None:
    assert {path.stem for path in (ROOT / "cli" / "guide").glob("*.md")} == set(TOPICS)
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    for topic in TOPICS:
        assert f"(cli/guide/{topic}.md)" in readme


@pytest.mark.parametrize("topic", TOPICS)
def test_a_page_is_shown_whole(topic: str) -> None:
    """Every word of the page reaches the terminal (those of tables may be folded), and no line of text is
    broader than it."""
    shown = render(guide_view(guide_page(topic)), 80)
    text = re.sub(r"(?m)^(```|\|).*$", "", guide_page(topic))
    for word in set(re.findall(r"[A-Za-z]{6,}", plain(text))):
        assert word in shown.replace("\n", ""), word
    outside = re.sub(r"(?ms)^\$ aswound.*?\n\n", "", shown)
    assert all(len(line) <= 80 for line in outside.splitlines() if not line.startswith((" ", "{", "python3")))


def write_again() -> None:
    for page in PAGES:
        text = page.read_text(encoding="utf-8")
        page.write_text(BLOCK.sub(lambda found: f"```\n{rewritten(found[1])}```", text), encoding="utf-8")


if __name__ == "__main__":
    write_again()
