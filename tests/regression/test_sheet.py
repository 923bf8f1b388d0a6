"""The build sheets of two samples as pages, without their style, against files once looked at in a browser.

    python tests/regression/test_sheet.py        # writes tests/regression/sheets/ again; look at the pages

Our own earlier output, so this proves nothing of the numbers: every number is compared as a number, whatever
its value.
"""

from __future__ import annotations

import re
import sys
from pathlib import Path

import pytest

from aswound.cli.main import main

SAMPLES = Path(__file__).parents[2] / "samples"
FILES = Path(__file__).parent / "sheets"
NAMES = ("bridge-300w", "gate-drive")


def written(name: str, file: Path) -> str:
    assert main(["sheet", str(SAMPLES / f"{name}.toml"), "-o", str(file), "--builds", "200"]) == 0
    return re.sub(r"<style>.*?</style>\n", "", file.read_text(encoding="utf-8"), count=1, flags=re.S)


def masked(text: str) -> str:
    """The text with every number as 0 (and its sign as +)."""
    return re.sub(r"(?<![\w-])-(?=0)", "+", re.sub(r"\d+(?:\.\d+)*", "0", text))


@pytest.mark.regression
@pytest.mark.parametrize("name", NAMES)
def test_a_page_is_as_before(name: str, tmp_path: Path) -> None:
    before = (FILES / f"{name}.html").read_text(encoding="utf-8")
    assert masked(written(name, tmp_path / "sheet.html")) == masked(before), "look at the page, then write it"


if __name__ == "__main__":
    FILES.mkdir(exist_ok=True)
    for one in NAMES:
        (FILES / f"{one}.html").unlink(missing_ok=True)
        body = written(one, FILES / f"{one}.html")
        (FILES / f"{one}.html").write_text(body, encoding="utf-8")
    sys.exit(0)
