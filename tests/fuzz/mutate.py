"""Files as a slip, a wrong program or an attacker leaves them: seeded mutations of sound ones."""

from __future__ import annotations

import random
import re
from collections.abc import Iterator, Sequence
from pathlib import Path

ROOT = Path(__file__).parents[2]
SEEDS = Path(__file__).parent / "seeds"
NUMBERS = ("0", "-1", "1e5", "1000000000", "1e-30", "1e300", "nan", "inf", "0.5", "99999999999999999999", "2")
TEXTS = ('"5 %"', '"0 mm"', '"-0.1 mm"', '"1 km"', '"-273.15 degC"', '"10 GHz"', "true", "[]", "{}", '""')
SIGNS = tuple('\u202e\ufffe\x1b\x00“=[]{}"#,;\n\tµ\r')

LARGE = 200_000
"""Characters beyond which a file is not mutated again: that would cost more than what is tested."""


def seeds(suffix: str) -> list[str]:
    """Texts of the samples and of ``seeds/`` (keys that no sample has) with that suffix, in the order of
    their names."""
    files = sorted(file for place in (ROOT / "samples", SEEDS) for file in place.rglob(f"*{suffix}"))
    return [file.read_text(encoding="utf-8") for file in files]


def mutated(text: str, draw: random.Random) -> str:
    """``text`` after one to four mutations."""
    for _ in range(draw.choice((1, 1, 1, 2, 2, 3, 4))):
        if len(text) > LARGE:
            break
        text = draw.choice(MUTATIONS)(text, draw)
    return text


def _place(text: str, draw: random.Random) -> int:
    return draw.randrange(len(text) + 1)


def _sign(text: str, draw: random.Random) -> str:
    at = _place(text, draw)
    return text[:at] + draw.choice(SIGNS) + text[at:]


def _cut(text: str, draw: random.Random) -> str:
    at = _place(text, draw)
    return text[:at] + text[at + draw.choice((1, 1, 2, 5, 40)) :]


def _ended(text: str, draw: random.Random) -> str:
    return text[: _place(text, draw)]


def _number(text: str, draw: random.Random) -> str:
    found = list(re.finditer(r"\d+(?:\.\d+)?", text))
    if not found:
        return text
    one = draw.choice(found)
    return text[: one.start()] + draw.choice(NUMBERS) + text[one.end() :]


def _value(text: str, draw: random.Random) -> str:
    found = list(re.finditer(r"(?<== )[^,\n}]+", text))
    if not found:
        return text
    one = draw.choice(found)
    return text[: one.start()] + draw.choice((*NUMBERS, *TEXTS)) + text[one.end() :]


def _lines(text: str, draw: random.Random) -> str:
    lines = text.splitlines(keepends=True)
    if len(lines) < 2:
        return text
    one, other = draw.randrange(len(lines)), draw.randrange(len(lines))
    kind = draw.randrange(4)
    if kind == 0:
        del lines[one]
    elif kind == 1:
        lines.insert(other, lines[one])
    elif kind == 2:
        lines[one], lines[other] = lines[other], lines[one]
    else:
        lines[one:one] = [lines[other]] * draw.choice((2, 20, 300))
    return "".join(lines)


def _word(text: str, draw: random.Random) -> str:
    words = list(re.finditer(r"[A-Za-z_]{2,}", text))
    if not words:
        return text
    one, other = draw.choice(words), draw.choice(words)
    letters = list(one[0])
    kind = draw.randrange(3)
    if kind == 0:
        letters = list(other[0])
    elif kind == 1:
        letters.pop(draw.randrange(len(letters)))
    else:
        letters *= draw.choice((2, 50, 5000)) if len(letters) < 40 else 2
    return text[: one.start()] + "".join(letters) + text[one.end() :]


MUTATIONS = (_sign, _cut, _ended, _number, _number, _value, _value, _lines, _word)


def files(suffix: str, number: int, seed: int) -> Iterator[str]:
    """``number`` mutated files from the samples of that suffix, always the same for a seed."""
    draw = random.Random(f"{suffix} {seed}")
    sources: Sequence[str] = seeds(suffix)
    for _ in range(number):
        yield mutated(draw.choice(sources), draw)
