"""The build sheet as text, page and data: the same numbers, one printed page, nothing written by accident."""

from __future__ import annotations

import contextlib
import csv
import functools
import io
import json
import math
import os
import re
import shutil
import subprocess
from collections.abc import Callable
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import numpy as np
import pypdfium2 as pdfium
import pypdfium2.raw as pdfium_c
import pytest
from how_many import and_slow
from planar_board import BOARD
from scipy import ndimage
from small_design import SMALL

from aswound.cli.main import main
from aswound.cli.views import words
from aswound.cli.views.buildsheet_checks import brief
from aswound.predict import load_design

SAMPLES = Path(__file__).parents[2] / "samples"
NAMES = ["flyback-24w", "bridge-300w", "gate-drive"]
BROWSER = shutil.which("chromium") or shutil.which("chromium-browser")
BUILDS = ["--builds", "100"]

browsing = pytest.mark.skipif(
    BROWSER is None and not os.environ.get("CI"), reason="no chromium here; the integration installs it"
)


class Page(HTMLParser):
    """The cells of every row of every table, elements, and all text."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.rows: list[list[str]] = []
        self.elements: list[tuple[str, dict[str, str]]] = []
        self.text = ""
        self._cell = False
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, {key: value or "" for key, value in attrs}))
        if tag == "tr":
            self.rows.append([])
        elif tag in ("td", "th"):
            self.rows[-1].append("")
            self._cell = True

    def handle_endtag(self, tag: str) -> None:
        if tag in ("td", "th"):
            self._cell = False

    def handle_data(self, data: str) -> None:
        plain = data.replace("\N{NO-BREAK SPACE}", " ")
        self.text += plain
        if self._cell:
            self.rows[-1][-1] += plain


def run(*arguments: str) -> str:
    """What the command prints, run as the console script runs it."""
    out = io.StringIO()
    with contextlib.redirect_stdout(out):
        assert main(["sheet", *arguments, *BUILDS]) == 0
    return out.getvalue()


Made = dict[str, tuple[str, dict[str, Any]]]


@pytest.fixture(scope="module")
def made(sheets: Made) -> Made:
    return sheets


@pytest.mark.parametrize("name", ["flyback-24w", "gate-drive", *and_slow("bridge-300w")])
def test_the_page_says_what_the_data_say(name: str, made: Made) -> None:
    text, data = made[name]
    page = Page(text)
    for step in data["steps"]:
        row = next(row for row in page.rows if row and row[0] == str(step["step"]))
        assert row[1].startswith(step["work"])
        assert any(f"{step['height_m']['nominal'] * 1e3:.2f} (" in cell for cell in row)
    for reading in data["readings"]:
        row = next(row for row in page.rows if any(cell.startswith(reading["name"]) for cell in row))
        expected = words.quantity_text(reading["expected"], reading["measure"])
        limits = words.limits(reading["limits"]["min"], reading["limits"]["max"], reading["measure"])
        assert expected in row
        assert limits in row
        assert row[-1] == "", "room to write the reading in"
    assert words.SAFETY in page.text
    assert "creepage" in page.text


@pytest.mark.parametrize("name", ["flyback-24w", "gate-drive", *and_slow("bridge-300w")])
def test_the_page_needs_nothing_else(name: str, made: Made) -> None:
    text = made[name][0]
    page = Page(text)
    assert not {tag for tag, _ in page.elements} & {"script", "img", "link", "iframe", "object"}
    for _, attributes in page.elements:
        for key in ("src", "href", "xlink:href"):
            assert attributes.get(key, "#").startswith("#")
    assert "http" not in re.sub(r'xmlns(:\w+)?="http[^"]*"', "", text)
    assert "<desc" in text, "the drawing has an alternative text"
    ids = [attributes["id"] for _, attributes in page.elements if "id" in attributes]
    assert len(ids) == len(set(ids))


PAPERS = {"A4": (297.0, 210.0), "letter": (279.4, 215.9)}
"""Width and height (mm), landscape."""
DOTS = 200 / 25.4
"""Dots of the rendered page to the millimetre."""
BOX = (0xFC, 0xFC, 0xF0)
"""The ground of a box to write in."""


@pytest.fixture(scope="module")
def prints(made: Made, tmp_path_factory: pytest.TempPathFactory) -> Callable[[str, str], Path]:
    """What Chromium prints of a sample on a paper, once."""

    @functools.cache
    def printed(name: str, paper: str) -> Path:
        return print_page(made[name][0], paper, tmp_path_factory.mktemp(f"{name}-{paper}"))

    return printed


def print_page(text: str, paper: str, folder: Path) -> Path:
    """The page as Chromium prints it."""
    assert BROWSER is not None
    assert "size: landscape" in text
    file, printed = folder / "sheet.html", folder / "sheet.pdf"
    file.write_text(text.replace("size: landscape", f"size: {paper} landscape"), encoding="utf-8")
    options = ["--headless", "--no-sandbox", "--disable-gpu", "--no-pdf-header-footer"]
    command = [BROWSER, *options, f"--print-to-pdf={printed}", file.as_uri()]
    subprocess.run(command, capture_output=True, check=True, timeout=120)
    return printed


def images(printed: Path) -> list[np.ndarray]:
    """Every page as (height, width, 3) of 8 bits."""
    with pdfium.PdfDocument(printed) as document:
        return [page.render(scale=200 / 72).to_numpy()[..., ::-1].copy() for page in document]


def boxes(page: np.ndarray) -> list[tuple[float, float, bool]]:
    """(width, height) in mm of every box to write in, and whether nothing but its ground is in it."""
    ground = np.all(page == BOX, axis=2)
    labels, _ = ndimage.label(ground)
    found = []
    for part in ndimage.find_objects(labels):
        rows, columns = part
        height, width = rows.stop - rows.start, columns.stop - columns.start
        if height > 1 * DOTS and width > 1 * DOTS:  # not the speck of a smoothed edge
            inside = ground[rows.start + 1 : rows.stop - 1, columns.start + 1 : columns.stop - 1]
            found.append((width / DOTS, height / DOTS, bool(np.all(inside))))
    return found


QUICK = (("flyback-24w", "A4"),)
"""The other paper with the board below; every sample on both with --slow and in .ci/run."""
PRINTED = [
    pytest.param(name, paper, marks=[] if (name, paper) in QUICK else pytest.mark.slow)
    for name in NAMES
    for paper in PAPERS
]


@browsing
@pytest.mark.parametrize(("name", "paper"), PRINTED)
def test_a_sample_prints_on_two_pages_with_boxes_to_write_in(
    name: str, paper: str, made: Made, prints: Callable[[str, str], Path]
) -> None:
    """What to wind, then what to read; measured in what Chromium prints on both papers."""
    _, data = made[name]
    pages = images(prints(name, paper))
    assert len(pages) == 2
    width, height = PAPERS[paper]
    assert pages[0].shape[1] / DOTS == pytest.approx(width, abs=0.5)
    assert pages[0].shape[0] / DOTS == pytest.approx(height, abs=0.5)
    assert not boxes(pages[0]), "page one is to wind"
    found = boxes(pages[1])
    assert len(found) == len(data["readings"])
    for wide, high, free in found:
        assert wide >= 18
        assert high >= 6.5 - 1 / DOTS
        assert free, "no text runs into a box"


@browsing
@pytest.mark.slow
@pytest.mark.parametrize("paper", PAPERS)
def test_eight_steps_and_sixteen_pins_print_on_two_pages(paper: str, tmp_path: Path) -> None:
    """The order of operations stands beside the pins, not on a page of its own."""
    file = tmp_path / "sheet.html"
    run(str(Path(__file__).parent / "sixteen_pins.toml"), "-o", str(file), "--builds", "100")
    pages = images(print_page(file.read_text(encoding="utf-8"), paper, tmp_path))
    assert len(pages) == 2
    assert not boxes(pages[0])


@browsing
@pytest.mark.parametrize("paper", [pytest.param("A4", marks=pytest.mark.slow), "letter"])
def test_a_board_of_thirteen_steps_prints_on_two_pages(paper: str, tmp_path: Path) -> None:
    """What to stack, then what to read: what a step says of its track is said once for all of them."""
    design, file = tmp_path / "board.toml", tmp_path / "sheet.html"
    design.write_text(BOARD, encoding="utf-8")
    data = json.loads(run(str(design), "-o", str(file), "--json"))
    text = file.read_text(encoding="utf-8")
    printed = print_page(text, paper, tmp_path)
    pages = images(printed)
    assert len(pages) == 2
    width, height = PAPERS[paper]
    assert pages[0].shape[1] / DOTS == pytest.approx(width, abs=0.5)
    assert pages[0].shape[0] / DOTS == pytest.approx(height, abs=0.5)
    assert not boxes(pages[0]), "page one is to stack"
    found = boxes(pages[1])
    unjudged = [item for item in data["readings"] if item["stage"] == "winding" and not item["judged"]]
    partial = [item for item in data["readings"] if "sections 1 to" in item["name"]]
    assert (len(unjudged), len(partial)) == (5, 1)
    assert len(found) == len(data["readings"]) - len(unjudged) - len(partial)
    assert all(wide >= 18 and high >= 6.5 - 1 / DOTS and free for wide, high, free in found)
    assert smallest_type(printed) >= 9 - 1e-6
    page = Page(text)
    assert page.rows[1][:4] == ["1", "Lay S, section 1 of 4", "1 turn in 1 layer", "clockwise, pin C → pin D"]
    assert page.rows[7][:4] == [
        "7",
        "Lay P, section 2 of 3",
        "6 turns in 2 layers (3 + 3), 0.150 mm between",
        "clockwise, section 1 → section 3",
    ]
    assert page.rows[2][:2] == ["2", "Spacer 0.200 mm"]
    for row, step in zip(page.rows[1:14], data["steps"], strict=True):
        assert row[-3].startswith(f"{step['height_m']['nominal'] * 1e3:.2f} (")
        assert row[-2] == f"{step['left_m'] * 1e3:.2f}"
    assert "Stack in this order" in page.text
    assert "P: track 105 um × 2.4 mm, 0.4 mm apart; 0.35 mm from each edge of the board" in page.text
    assert "S and P (steps 1 and 3, 3 and 5, 5 and 7, 7 and 9, 9 and 11): spacer 0.200 mm" in page.text
    assert "P and S (steps 11 and 13): spacer 0.250 mm" in page.text
    assert "Not judged on this bench: R of S, section 1 of 4; R of S, section 2 of 4;" in page.text
    assert "One turn too many" not in page.text


@browsing
@pytest.mark.slow
@pytest.mark.parametrize("paper", PAPERS)
def test_ten_parts_have_ten_boxes_a_reading(paper: str, made: Made, tmp_path: Path) -> None:
    file = tmp_path / "many.html"
    run(str(SAMPLES / "flyback-24w.toml"), "-o", str(file), "--copies", "10")
    pages = images(print_page(file.read_text(encoding="utf-8"), paper, tmp_path))
    _, data = made["flyback-24w"]
    found = boxes(pages[1])
    assert len(found) == 10 * len(data["readings"])
    assert all(wide >= 14 and high >= 8 and free for wide, high, free in found)


@browsing
@pytest.mark.parametrize(("name", "paper"), PRINTED)
def test_type_is_of_nine_points_at_least(name: str, paper: str, prints: Callable[[str, str], Path]) -> None:
    assert smallest_type(prints(name, paper)) >= 9 - 1e-6


def smallest_type(printed: Path) -> float:
    """The smallest type on any page, points."""
    found = set()
    with pdfium.PdfDocument(printed) as document:
        for page in document:
            text = page.get_textpage()
            for index in range(text.count_chars()):
                if pdfium_c.FPDFText_IsGenerated(text, index) == 1:  # a space that the file does not hold
                    continue
                matrix = pdfium_c.FS_MATRIX()
                pdfium_c.FPDFText_GetMatrix(text, index, matrix)
                found.add(pdfium_c.FPDFText_GetFontSize(text, index) * math.hypot(matrix.c, matrix.d))
    return min(found)


def test_numbers_on_the_page_are_those_of_the_hand(made: Made) -> None:
    """By hand from the flyback's file: 3 mm margins, three wires of S in hand, tails of 50 mm and 5 % on the
    turns, tape of 60 µm; the section's length is that of its turns at the height where they lie."""
    text, data = made["flyback-24w"]
    page = Page(text)
    assert page.text.count("margin 3.00 mm at each end") == 4
    for cut in data["cuts"]:
        section = next(
            part
            for step in data["steps"]
            for part in step["sections"]
            if (part["winding"], part["section"]) == (cut["winding"], cut["section"])
        )
        assert cut["wound_m"] == pytest.approx(section["wire_length_m"], rel=1e-9)
        assert cut["length_m"] == pytest.approx(1.05 * section["wire_length_m"] + 0.1, rel=1e-9)
        shown = math.ceil(cut["length_m"] * 100 - 1e-9) / 100
        pieces = "1 piece" if cut["pieces"] == 1 else f"{cut['pieces']} pieces"
        assert f"cut {pieces} of {shown:.2f} m" in page.text
    assert {cut["winding"]: cut["pieces"] for cut in data["cuts"]} == {"P": 1, "S": 3, "AUX": 1}
    # ETD 29: leg of 9.5 mm, wall of 1.2 mm, P's wire of 0.38 mm overall (half of it 0.177): first section of
    # P
    over = 9.5e-3 / 2 + 1.2e-3
    first = data["cuts"][0]["wound_m"] / 30
    assert first == pytest.approx(2 * math.pi * (over + 0.178e-3), rel=0.01)
    assert "a tail of 50 mm at each end (none in the file: common practice)" in page.text
    assert "5 % of reserve on the turns" in page.text
    tapes = [step for step in data["steps"] if step["kind"] == "tape"]
    for step, wraps in zip(tapes, (3, 3, 2, 3), strict=True):
        assert f"Tape 60.0 µm: {wraps} wraps, about {step['tape_length_m']:.2f} m" in page.text
        around = math.tau * (over + step["height_m"]["nominal"] - wraps * 30e-6)
        assert step["tape_length_m"] == pytest.approx(wraps * around, rel=1e-6)
    for step in data["steps"]:
        left = next(row for row in page.rows if row and row[0] == str(step["step"]))[-2]
        assert left == f"{step['left_m'] * 1e3:.2f}"
    assert "seen from the lower flange" in page.text
    assert not any(operation.startswith("No ") for operation in data["operations"])
    assert "pin 1: P start" in text
    assert "pin 9: S finish" in text


THICK = SMALL.replace('diameter = "0.5 mm", grade = 2', 'diameter = "0.8 mm", grade = 2, in_hand = 2')
THICK = (
    THICK.replace("turns = 9", "turns = 6")
    + """
[[test]]
name = "R_S"
measure = "resistance"
drive = "S"
"""
)
BENCH = '[bench]\nfloor_resistance = "{}"\n[[test]]'


@pytest.mark.slow
def test_limits_of_the_floor_are_not_shown(tmp_path: Path) -> None:
    """Six turns of two thick wires against a floor of 5 mΩ: not judged here; on a better bench with limits,
    and the file's own limits always stand."""
    file = tmp_path / "thick.toml"
    coarse, fine = (THICK.replace("[[test]]", BENCH.format(floor), 1) for floor in ("5 mohm", "0.3 mohm"))
    file.write_text(coarse, encoding="utf-8")

    def of(path: Path, name: str) -> dict[str, Any]:
        return next(one for one in json.loads(run(str(path), "--json"))["readings"] if one["name"] == name)

    unjudged = of(file, "R of S")
    assert unjudged["limits"] == {"min": None, "max": None}
    assert not unjudged["judged"]
    assert unjudged["points_to"] == {"above": [], "below": []}
    assert "not judged here" in run(str(file))
    file.write_text(fine, encoding="utf-8")
    judged = of(file, "R of S")
    assert judged["judged"]
    assert judged["limits"]["min"] < judged["expected"] < judged["limits"]["max"]
    stated = f'{coarse}max = "9 mohm"\n'
    file.write_text(stated, encoding="utf-8")
    assert of(file, "R of S")["limits"]["max"] == pytest.approx(9e-3)


@pytest.mark.slow
def test_tails_leads_pins_and_processes_of_the_file(tmp_path: Path) -> None:
    text = (SAMPLES / "flyback-24w.toml").read_text(encoding="utf-8")
    text = text.replace("[bobbin]", "[bobbin]\npins = 10").replace(
        'finish = "9"', 'finish = "9"\nlead_length = "120 mm"'
    )
    processes = '[{ do = "Vacuum varnish", time = "30 min", at = "60 degC", within = "4 h" }, '
    processes += '{ do = "Bake the bobbin", after = "winding" }]'
    text = text.replace("[build]", f'[build]\ntail = "80 mm"\nreserve = "10 %"\nprocesses = {processes}')
    file = tmp_path / "own.toml"
    file.write_text(text, encoding="utf-8")
    data = json.loads(run(str(file), "--json"))
    cuts = {(cut["winding"], cut["section"]): cut for cut in data["cuts"]}
    assert cuts["P", 1]["tails_m"] == pytest.approx(0.16)
    assert cuts["S", 1]["tails_m"] == pytest.approx(0.12)
    assert cuts["S", 1]["length_m"] == pytest.approx(1.1 * cuts["S", 1]["wound_m"] + 0.12)
    assert [pin["pin"] for pin in data["pins"]] == [str(number) for number in range(1, 11)]
    assert data["pins"][1]["ends"] == []
    assert data["pins"][2]["ends"] == ["P finish"]
    told = "Vacuum varnish for 30 min at 60 °C; TIME-CRITICAL: within 4 h of the operation before."
    assert told in data["operations"]
    assert not any("impregnat" in one.lower() for one in data["operations"]), "what one does, nothing else"
    order = [
        next(k for k, one in enumerate(data["operations"]) if word in one)
        for word in ("Bake", "fit the core", "Vacuum")
    ]
    assert order == sorted(order)


def test_material_for_one_part_and_for_a_lot(tmp_path: Path) -> None:
    """By hand: three wires of 0.45 mm (copper 8890 kg/m³, enamel 1350 kg/m³) of S; eleven wraps of tape in
    all."""
    file = tmp_path / "bill.csv"
    assert run(str(SAMPLES / "flyback-24w.toml"), "--materials", str(file), "--lot", "200") == ""
    rows = list(csv.DictReader(file.read_text(encoding="utf-8").splitlines()))
    by_use = {(row["kind"], row["used_for"]): row for row in rows}
    data = json.loads(run(str(SAMPLES / "flyback-24w.toml"), "--json"))
    wire = by_use["wire", "S"]
    length = sum(cut["pieces"] * cut["length_m"] for cut in data["cuts"] if cut["winding"] == "S")
    assert float(wire["length_m"]) == pytest.approx(length, rel=1e-5)
    design = load_design(SAMPLES / "flyback-24w.toml")
    overall = float(np.asarray(design.winding("S").wire.overall))
    grams = 1e3 * length * math.pi / 4 * (8890 * 0.45e-3**2 + 1350 * (overall**2 - 0.45e-3**2))
    assert float(wire["mass_g"]) == pytest.approx(grams, rel=1e-4)
    assert float(wire["lot_mass_kg"]) == pytest.approx(0.2 * grams, rel=1e-4)
    assert float(wire["lot_length_m"]) == pytest.approx(200 * length, rel=1e-5)
    tape = by_use["tape", "insulation"]
    laid = sum(step["tape_length_m"] for step in data["steps"] if step["kind"] == "tape")
    assert float(tape["length_m"]) == pytest.approx(1.05 * laid, rel=1e-5)
    assert float(tape["width_mm"]) == pytest.approx(22.0 - 2 * 1.3)
    margin = by_use["margin tape", "one wrap a layer"]
    assert float(margin["width_mm"]) == pytest.approx(3.0)
    assert int(margin["pieces"]) == 8
    assert {row["lot"] for row in rows} == {"200"}
    assert by_use["core", "core set"]["lot_pieces"] == "200"
    assert main(["sheet", str(SAMPLES / "flyback-24w.toml"), "--materials", str(file), *BUILDS]) == 2, (
        "there already"
    )


def test_text_fits_eighty_columns(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    assert main(["sheet", str(SAMPLES / "gate-drive.toml"), *BUILDS]) == 0
    out = capsys.readouterr().out
    assert max(map(len, out.splitlines())) <= 80
    assert "Step 1. Wind D: 0.315 mm, grade 2" in out
    assert "D and G1 (steps 1 and 3): tape 60.0 µm." in out
    assert "G1 and G2 (steps 3 and 4): nothing but the wires' own insulation." in out


def test_a_page_is_not_overwritten(tmp_path: Path, made: Made, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "sheet.html"
    file.write_bytes(b"mine")
    command = ["sheet", str(SAMPLES / "gate-drive.toml"), "-o", str(file), *BUILDS]
    assert main(command) == 2
    assert "--force" in capsys.readouterr().err
    assert file.read_bytes() == b"mine"
    assert main([*command, "--force"]) == 0
    assert file.read_text(encoding="utf-8") == made["gate-drive"][0], "the same inputs make the same page"


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (["--force"], "--force without --output"),
        (["-o", "no-such-folder/sheet.html"], "no folder"),
        (["--builds", "3"], "100"),
    ],
)
def test_faulty_options(arguments: list[str], told: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["sheet", str(SAMPLES / "gate-drive.toml"), *arguments]) == 2
    error = capsys.readouterr().err
    assert told in error
    assert "Traceback" not in error


def test_a_build_that_does_not_fit_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text = (SAMPLES / "gate-drive.toml").read_text(encoding="utf-8")
    file = tmp_path / "full.toml"
    file.write_text(text.replace("turns = 20", "turns = 900"), encoding="utf-8")
    assert main(["sheet", str(file), "-o", str(tmp_path / "out.html")]) == 2
    assert "Traceback" not in capsys.readouterr().err
    assert not (tmp_path / "out.html").exists()


def test_what_a_user_writes_is_escaped(tmp_path: Path) -> None:
    file = tmp_path / "odd.toml"
    file.write_text(SMALL.replace("Two windings", "<script>alert(1)</script>"), encoding="utf-8")
    page = tmp_path / "odd.html"
    assert main(["sheet", str(file), "-o", str(page), *BUILDS]) == 0
    assert "<script" not in page.read_text(encoding="utf-8")
    assert "alert(1)" in page.read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("title", "short"),
    [
        ("P is wound with thinner wire (0.297 mm instead of 0.315 mm)", "thinner wire (0.297 mm)"),
        ("P is wound with aluminium wire instead of copper", "aluminium"),
        ("1 of the 3 wires in hand of S does not conduct", "1 of 3 wires of S lost"),
        ("P has 1 turn too few", "P −1 turn"),
        ("3 turns too many", "3 turns too many"),
        ("the sections were wound in the order P S instead of S P", "wound in the order P S"),
    ],
)
def test_short_words(title: str, short: str) -> None:
    assert brief(title) == short


@pytest.mark.slow
def test_screens_say_the_same_of_a_build_that_is_nearly_too_high(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """ETD 29 leaves 5.4 mm beyond the bobbin's wall: a spacer that fills it but for 0.06 mm."""
    file = tmp_path / "full.toml"
    text = (SAMPLES / "flyback-24w.toml").read_text(encoding="utf-8")
    last = '{ wind = "AUX", turns = 9 },'
    assert last in text
    file.write_text(text.replace(last, last + ' { spacer = "3.23 mm" },'), encoding="utf-8")
    told = []
    for command in (["predict"], ["sheet"], ["interleave", "--most-sections", "1", "--most", "3"]):
        builds = ["--builds", "100"] if command[0] != "interleave" else ["--builds", "0"]
        assert main([command[0], str(file), *command[1:], *builds]) == 0
        out = " ".join(capsys.readouterr().out.split())
        found = re.findall(r"[Ii]n ([\d.]+ %) of builds the finished build is higher than the room", out)
        told.append(set(found))
    predicted, on_the_sheet, arranged = told
    assert len(predicted) == 1
    assert on_the_sheet == predicted
    assert predicted <= arranged, "the present order's among those of others"
    assert 1 < float(predicted.pop().split()[0]) < 50
    assert main(["predict", str(SAMPLES / "flyback-24w.toml"), "--builds", "100"]) == 0
    assert "higher than the room" not in capsys.readouterr().out


@pytest.mark.slow
def test_where_all_windings_are_tracks_no_wire_is_cut(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file, page = tmp_path / "planar.toml", tmp_path / "planar.html"
    assert main(["new", "--like", "planar", str(file)]) == 0
    assert main(["sheet", str(file), "--builds", "100", "-o", str(page)]) == 0
    capsys.readouterr()
    assert main(["sheet", str(file), "--builds", "100"]) == 0
    text = " ".join(capsys.readouterr().out.split())
    for told in (text, page.read_text(encoding="utf-8")):
        assert "Tracks" in told
        assert "Wire to cut" not in told
        assert "Cut the wires" not in told
        assert "bobbin for" not in told
        assert "a tail of" not in told
        assert "1. Lay steps 1 to 5" in told


def test_faces_in_json_are_numbered_as_the_steps(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """P is step 1, tape step 2, S step 3: three wraps of 0.06 mm between steps 1 and 3."""
    path = tmp_path / "d.toml"
    path.write_text(SMALL, encoding="utf-8")
    assert main(["sheet", str(path), "--builds", "100", "--json"]) == 0
    faces = json.loads(capsys.readouterr().out)["insulated_faces"]
    (face,) = (each for each in faces if each["between"] == [["P"], ["S"]])
    assert face["steps"] == [1, 3]
    assert [(part["count"], part["thickness_m"]) for part in face["insulation"]] == [
        (3, pytest.approx(60e-6))
    ]
