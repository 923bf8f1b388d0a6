"""The build sheets of the samples as pages, without their style, against files once looked at in a browser.

    python tests/regression/test_sheet.py        # writes tests/regression/sheets/ again; look at the pages

Our own earlier output, so this proves nothing of the numbers: every number is compared as a number, whatever
its value.
"""

from __future__ import annotations

import re
import sys
import tempfile
from pathlib import Path

import pytest

sys.path.append(str(Path(__file__).parents[1] / "shared"))  # where pytest finds it by itself

from how_many import and_slow
from sample_pages import Sheets

FILES = Path(__file__).parent / "sheets"
QUICK, SLOW = ("flyback-24w", "gate-drive"), ("bridge-300w",)
"""Quick are those that other tests look at too."""


def unstyled(page: str) -> str:
    return re.sub(r"<style>.*?</style>\n", "", page, count=1, flags=re.S)


def masked(text: str) -> str:
    """The text with every number as 0 (and its sign as +)."""
    return re.sub(r"(?<![\w-])-(?=0)", "+", re.sub(r"\d+(?:\.\d+)*", "0", text))


@pytest.mark.regression
@pytest.mark.parametrize("name", [*QUICK, *and_slow(*SLOW)])
def test_a_page_is_as_before(name: str, sheets: Sheets) -> None:
    before = (FILES / f"{name}.html").read_text(encoding="utf-8")
    assert masked(unstyled(sheets[name][0])) == masked(before), "look at the page, then write it"


if __name__ == "__main__":
    FILES.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as folder:
        pages = Sheets(Path(folder))
        for each in (*QUICK, *SLOW):
            (FILES / f"{each}.html").write_text(unstyled(pages[each][0]), encoding="utf-8")
