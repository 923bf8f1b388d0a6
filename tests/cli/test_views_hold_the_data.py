"""Every number that a command prints stands in its JSON, at the digits printed: text, page and build sheet.

A number is read with its unit and brought to SI; it must be a number of the same command's JSON (or of a
sentence in it) rounded to the digits shown. Where a line begins with the name of a test, it must be one of
what the JSON says of that test. What legitimately is not in the JSON stands in ``ELSEWHERE``, with a reason.
"""

from __future__ import annotations

import bisect
import contextlib
import functools
import html
import io
import json
import math
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from how_many import and_slow
from small_design import SMALL

from aswound.cli.main import main

SAMPLES = Path(__file__).parents[2] / "samples"
PREFIX = {
    "f": 1e-15,
    "p": 1e-12,
    "n": 1e-9,
    "µ": 1e-6,
    "u": 1e-6,
    "m": 1e-3,
    "": 1.0,
    "k": 1e3,
    "M": 1e6,
    "G": 1e9,
}
UNITS = {
    **{f"{prefix}{unit}": size for prefix, size in PREFIX.items() for unit in ("H", "Ω", "F", "Hz", "m")},
    "T": 1.0, "mT": 1e-3, "µT": 1e-6, "V": 1.0, "mV": 1e-3, "µV": 1e-6, "mA": 1e-3, "A": 1.0,
    "g": 1e-3, "kg": 1.0, "mg": 1e-6, "%": 0.01, "°C": 1.0, "K": 1.0, "°": 1.0, "mm²": 1e-6, "cm": 1e-2,
}  # fmt: skip
UNIT = "|".join(sorted(map(re.escape, UNITS), key=len, reverse=True))
NUMBER = re.compile(rf"(?<![\w.…])[-+−]?(\d+(?:\.\d+)?)(?:e([-+]?\d+))?(?:[ \u00a0]?({UNIT})(?!\w))?(?![\w])")
ELSEWHERE = [
    (r"(?m)^[!-] .*(?:\n  .*)*", "cautions: sentences, held word for word by the golden pages"),
    (r"\d{4}-\d\d-\d\d|(?:aswound|numpy|scipy|Python) \d+\.\d+\.\d+", "the day, the versions"),
    (r"but the turns, .*? give [\d.]+(?:\s+\([-+−]\d+\s%\))?", "the file's turns, divided"),
    (r"JCGM \d+|IEC [\d-]+|ISO [\d-]+|ILAC-G8:\d+/\d+", "names of standards"),
    (
        r"k = 2|U = 2u|\b95 %|\b99\.7 %|beyond [23]\b|up to 2\b",
        "what the columns mean: the same for every part",
    ),
    (r"\d+ of \d+", "counts of the rows shown"),
    (r"behind its \d+ Ω", "the source of the meter: of the file, or the default that the guide states"),
    (r"[<>] -?100\b|[<>]\s(?:99|1)\s%", "what is beyond is not told apart in text; the JSON has the number"),
    (r"(?<![.\d])\d+ … \d+ ?°", "the ends of a sector: the JSON has its beginning and its breadth"),
    (
        r"[Ss]et a sweep from .*? to .*?,|a sweep from [\d.]+ .?Hz to [\d.]+ .?Hz",
        "a proposed setting, two decades about the resonance that the JSON has",
    ),
    (r"noticed in 93 % of parts|within 1 %", "limits of the words, held by tests/unit/test_constants.py"),
]


@functools.cache
def printed(*arguments: str) -> str:
    """What a command prints beside the same files, once; a page that it writes is written once."""
    data = io.BytesIO()
    out = io.TextIOWrapper(data, encoding="utf-8", newline="")
    with contextlib.redirect_stdout(out):
        assert main(list(arguments)) in (0, 1)
    out.flush()
    return data.getvalue().decode()


def _with_units(text: str) -> str:
    """Numbers that share a unit ("591 ± 30 µH", "3.6 +0.5 −0.3 µH", "1.04 (1.02 … 1.06) mm") with a unit
    each."""
    if not any(sign in text for sign in "±…+") and " to " not in text:
        return text
    text = re.sub(rf"(\d) ?\(([-\d.]+) … ([-\d.]+)\)\s({UNIT})(?!\w)", r"\1 \4 (\2 \4 … \3 \4)", text)
    text = re.sub(rf"(\d) \+([\d.]+) −([\d.]+)\s?({UNIT})(?!\w)", r"\1 \4 ± \2 \4 ± \3 \4", text)
    return re.sub(rf"(\d) (±|…|to) ([-\d.]+)\s?({UNIT})(?!\w)", r"\1 \4 \2 \3 \4", text)


def numbers(text: str) -> Iterator[tuple[str, float, float]]:
    """(as printed, SI value, half of its last digit)."""
    for found in NUMBER.finditer(_with_units(text)):
        scale = UNITS.get(found[3] or "", 1.0) * 10.0 ** int(found[2] or 0)
        digits = len(found[1].partition(".")[2]) or -int(len(found[1]) > 1 and found[1][-1] == "0")
        yield found[0], float(found[1]) * scale, 0.5 * 10.0**-digits * scale


def leaves(data: Any, key: str = "") -> Iterator[float]:
    """Magnitudes in the data and in its sentences, and what follows from them by a rule that a page states:
    U = 2 u, both sides of a range, lengths to cut rounded up to the centimetre, shares of a budget, U over
    the reading."""
    if isinstance(data, bool) or data is None:
        return
    if isinstance(data, int | float):
        yield abs(float(data))
        if "uncertainty" in key:
            yield 2 * abs(float(data))
        if key == "length_m":
            yield math.ceil(100 * float(data) - 1e-9) / 100
    elif isinstance(data, str):
        if any(map(str.isdigit, data)):
            yield from (value for _, value, _ in numbers(data))
    elif isinstance(data, dict):
        for name, each in data.items():
            yield from leaves(each, name)
        ends = [data.get(end) for end in ("predicted", "predicted_low", "predicted_high")]
        if None not in ends:
            yield from (abs(end - ends[0]) for end in ends[1:])
        budget = data.get("budget") or data.get("bench_budget") or []
        parts = [each["standard_uncertainty"] for each in budget]
        reading = abs(data.get("expected") or data.get("predicted") or 0.0)
        if parts and reading:
            whole = math.hypot(*parts)
            yield from ((part / whole) ** 2 for part in parts)
            yield from (2 * part / reading for part in (whole, *parts))
            yield 2 * whole
    else:
        for each in data:
            yield from leaves(each, key)


class Data:
    """The numbers of one command's JSON, and those of what bears a name in it."""

    def __init__(self, data: Any, *files: str) -> None:
        self.all = self._sorted([data])
        self.files = self._sorted(list(files))
        named: dict[str, list[Any]] = {}
        self._name(data, named)
        self.named = {name: self._sorted(parts) for name, parts in named.items()}

    def _name(self, data: Any, named: dict[str, list[Any]]) -> None:
        if isinstance(data, dict):
            for key in ("name", "test"):
                if isinstance(data.get(key), str):
                    named.setdefault(data[key], []).append(data)
            for each in data.values():
                self._name(each, named)
        elif isinstance(data, list):
            for each in data:
                self._name(each, named)

    @staticmethod
    def _sorted(parts: list[Any]) -> list[float]:
        found = [value for part in parts for value in leaves(part)]
        return sorted({*found, *map(math.degrees, found)})

    def holds(self, value: float, half: float, name: str = "") -> bool:
        slack = half * (1 + 1e-6) + 1e-12 * value
        for values in (self.named.get(name, self.all), self.files):
            place = bisect.bisect_left(values, value - slack)
            if place < len(values) and values[place] <= value + slack:
                return True
        return False


def strays(text: str, data: Data) -> list[str]:
    """Numbers of a text that the data do not hold, with their lines."""
    for pattern, _ in ELSEWHERE:
        text = re.sub(pattern, " ", text)
    found = []
    for line in text.splitlines():
        name = next(iter(re.findall(r"^[*F?! ]{0,2}(\w+) ", line)), "")
        found += [
            f"{shown!r} in {line.strip()!r}"
            for shown, value, half in numbers(line)
            if not data.holds(value, half, name)
            and not (shown[-1].isdigit() and data.holds(1e-3 * value, 1e-3 * half, name))
        ]
    return found


def words_of(page: str) -> str:
    """The text of a page, a line for each row, without pictures and style."""
    body = page[page.index("<body>") :]
    body = re.sub(r"(?s)<style.*?</style>|<svg.*?</svg>|<pre.*?</pre>", "", body)
    body = re.sub(r"</t[dh]>\s*<t[dh][^>]*>", "  ", body)
    body = re.sub(r"</?(?:b|a|span|code|sub|sup)\b[^>]*>", "", body)
    return html.unescape(re.sub(r"<[^>]*>", "\n", body)).replace("\N{NO-BREAK SPACE}", " ")


# --- designs that the samples are not: litz in chambers, laminations, a ring ----------------

LITZ = """
title = "Inverter, litz in two chambers"
[core]
shape = "ETD 34/17/11"
material = "MnZn 2300"
gap = "0.4 mm"
[bobbin]
wall = "1.2 mm"
flange = "1.2 mm"
chambers = 2
partition = "1 mm"
[[winding]]
name = "P"
wire = { litz_strands = 60, strand = "0.1 mm", overall = "1.0 mm" }
[[winding]]
name = "S"
wire = { litz_strands = 120, strand = "0.1 mm", overall = "1.4 mm" }
[build]
steps = [{ wind = "P", turns = 23, chamber = 1 }, { wind = "S", turns = 11, chamber = 2 }]
"""
IRON = """
title = "Mains choke with a second winding"
[core]
mu_i = 4000
gap = "0.3 mm"
[core.dimensions]
form = "E"
leg_width = "22 mm"
leg_depth = "23 mm"
window_width = "11 mm"
window_height = "33 mm"
outer_leg = "11 mm"
back = "11 mm"
[bobbin]
wall = "1.1 mm"
flange = "1.3 mm"
[[winding]]
name = "P"
wire = { diameter = "0.5 mm", grade = 1 }
[[winding]]
name = "S"
wire = { diameter = "0.9 mm", grade = 1 }
[build]
steps = [{ wind = "P", turns = 217 }, { tape = "0.1 mm", wraps = 2 }, { wind = "S", turns = 61 }]
"""
RING = """
title = "Ring with few turns"
[core]
mu_i = 5000
[core.dimensions]
form = "toroid"
outer_diameter = "25 mm"
inner_diameter = "15 mm"
height = "10 mm"
[bobbin]
wall = "0.3 mm"
[[winding]]
name = "P"
wire = { diameter = "0.6 mm", grade = 2 }
[[winding]]
name = "S"
wire = { diameter = "0.6 mm", grade = 2 }
[build]
steps = [
{ wind = "P", turns = 17, sector = "150 deg" },
{ wind = "S", turns = 13, sector = "140 deg", from_angle = "185 deg" },
]
"""
TESTS = """
[[test]]
name = "L_P"
measure = "inductance"
drive = "P"
frequency = "1 kHz"
[[test]]
name = "Lk_P"
measure = "inductance"
drive = "P"
short = ["S"]
frequency = "20 kHz"
[[test]]
name = "Rs_P"
measure = "ac_resistance"
drive = "P"
short = ["S"]
frequency = "20 kHz"
[[test]]
name = "n"
measure = "ratio"
drive = "P"
sense = "S"
frequency = "1 kHz"
[[test]]
name = "R_P"
measure = "resistance"
drive = "P"
[[test]]
name = "f_P"
measure = "resonance"
drive = "P"
"""
OWN = {"litz": LITZ, "iron": IRON, "ring": RING, "small": SMALL.partition("[[test]]")[0]}
PART = "sample,test,reading\nA,L_P,591 uH\nA,L_S,10.5 uH\nA,Lk_P_S,3.7 uH\nA,n_P_S,7.49\nA,R_P,0.56 ohm\n"
FLYBACK, FLYBACK_READ = "flyback-24w.toml", "flyback-24w.csv"
FEW = ("--builds", "100")
COMMANDS = [
    ("predict", FLYBACK, *FEW),
    ("predict", "ring.toml", *FEW),
    ("compare", FLYBACK, FLYBACK_READ),
    ("explain", FLYBACK, FLYBACK_READ, "--sample", "A2", "--sample", "A4"),
    ("lot", FLYBACK, FLYBACK_READ),
    ("plan", FLYBACK, "--limits"),
    ("check", "part.csv", "--ratio", "7.5"),
    ("sheet", "small.toml", *FEW),
]
PAGES = [("sheet", "small.toml", *FEW)]
MORE_COMMANDS = [
    ("explain", FLYBACK, FLYBACK_READ),
    ("interleave", FLYBACK, "--most-sections", "2", "--most", "20", "--builds", "0"),
    ("predict", "litz.toml", *FEW),
    ("predict", "iron.toml", *FEW),
    ("compare", "gate-drive.toml", "gate-drive.csv"),
    ("compare", "litz.toml", "litz.csv"),
    ("explain", "ring.toml", "ring.csv"),
    ("plan", FLYBACK),
    ("plan", "iron.toml"),
    ("sheet", "iron.toml", *FEW),
    ("sheet", FLYBACK, *FEW),
    ("sheet", "litz.toml", *FEW),
    ("sheet", "ring.toml", *FEW),
]
MORE_PAGES = [
    ("sheet", "iron.toml", *FEW),
    ("report", FLYBACK, FLYBACK_READ, *FEW),
    ("report", "ring.toml", "ring.csv", *FEW),
]
"""The same of other parts: with --slow and in .ci/run."""


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The samples and the designs above, with readings, on a terminal broad enough for every row."""
    for path in SAMPLES.glob("*-*"):
        (tmp_path / path.name).write_bytes(path.read_bytes())
    for name, text in OWN.items():
        (tmp_path / f"{name}.toml").write_text(text + TESTS, encoding="utf-8")
    (tmp_path / "part.csv").write_text(PART, encoding="utf-8")
    head = "sample,test,reading\n"
    litz = "A,L_P,205.3 uH\nA,Lk_P,41.7 uH\nA,Rs_P,96.1 mohm\nA,n,2.341\nA,R_P,64.9 mohm\n"
    ring = "A,L_P,712.4 uH\nA,Lk_P,3.18 uH\nA,n,1.338\nA,R_P,31.7 mohm\n"
    (tmp_path / "litz.csv").write_text(head + litz, encoding="utf-8")
    (tmp_path / "ring.csv").write_text(head + ring, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "200")
    return tmp_path


def files_of(command: tuple[str, ...]) -> list[str]:
    return [Path(name).read_text(encoding="utf-8") for name in command if name.endswith((".toml", ".csv"))]


def data_of(command: tuple[str, ...]) -> Data:
    return Data(json.loads(printed(*command, "--json")), *files_of(command))


@pytest.mark.parametrize("command", [*COMMANDS, *and_slow(*((one,) for one in MORE_COMMANDS))], ids=" ".join)
@pytest.mark.usefixtures("folder")
def test_every_number_of_a_text_is_in_its_data(command: tuple[str, ...]) -> None:
    text = printed(*command)
    assert len(list(numbers(text))) > 10
    assert strays(text, data_of(command)) == []


@pytest.mark.parametrize("command", [*PAGES, *and_slow(*((one,) for one in MORE_PAGES))], ids=" ".join)
def test_every_number_of_a_page_is_in_its_data(command: tuple[str, ...], folder: Path) -> None:
    found = printed(*command, "-o", "page.html", *(("--json",) if command[0] == "report" else ()))
    text = words_of((folder / "page.html").read_text(encoding="utf-8"))
    assert len(list(numbers(text))) > 10
    data = Data(json.loads(found), *files_of(command)) if command[0] == "report" else data_of(command)
    assert strays(text, data) == []


def test_a_number_that_is_off_by_its_last_digit_is_found() -> None:
    """The check itself bites: by the digits shown, by the unit, by whose number it is, by U for u."""
    data = Data(
        {
            "tests": [
                {"name": "L", "value": 5.9134e-4, "read_uncertainty": 1.2e-6},
                {"name": "R", "value": 0.25},
            ]
        }
    )
    assert strays("L  591.3 ± 2.4 µH", data) == []
    assert strays("L  250 mΩ", data) == ["'250 mΩ' in 'L  250 mΩ'"]
    for wrong in ("L  591.5 µH", "L  591.3 mH", "L  ± 2.6 µH", "591.2 µH"):
        assert len(strays(wrong, data)) == 1, wrong


@pytest.mark.usefixtures("folder")
def test_percentages_of_core_and_window_are_those_of_their_keys() -> None:
    """Two digits are found anywhere in a large JSON: those that stand alone are held by their keys."""
    command = ("predict", FLYBACK, *FEW)
    text, data = " ".join(printed(*command).split()), json.loads(printed(*command, "--json"))
    assert f"the material contributes {100 * data['core']['material_share']:.0f} % of its reluctance" in text
    assert (
        f"is {1e3 * data['height_m']:.2f} mm high and fills {100 * data['fill']:.0f} % of the window" in text
    )


@pytest.mark.usefixtures("folder")
def test_the_sheets_heights_are_the_nominal_ones_with_their_range() -> None:
    command = ("sheet", "small.toml", *FEW)
    text, data = " ".join(printed(*command).split()), json.loads(printed(*command, "--json"))
    for step in data["steps"]:
        nominal, low, high = (f"{1e3 * step['height_m'][key]:.2f}" for key in ("nominal", "low", "high"))
        assert f"Build height then {nominal} ({low} … {high}) mm" in text
