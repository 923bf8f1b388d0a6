"""A report of many samples: what is shown in full, axes, pages, the day. Labels: exact, cli."""

from __future__ import annotations

import itertools
import os
import re
import shutil
import subprocess
from datetime import UTC, datetime
from pathlib import Path
from xml.etree import ElementTree

import pytest

from aswound.cli.main import main
from aswound.cli.views.report_lot import LotReadings, axis_of, lot_svg
from aswound.cli.views.report_ranges import wild
from aswound.compare.lots import LotTest
from aswound.predict import load_design, readings

SAMPLE = Path(__file__).parents[2] / "samples" / "flyback-24w.toml"
BROWSER = shutil.which("chromium") or shutil.which("chromium-browser")
browsing = pytest.mark.skipif(
    BROWSER is None and not os.environ.get("CI"), reason="no chromium here; the integration installs it"
)
MOST_PAGES = 6


@pytest.fixture(scope="module")
def page(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Fifteen samples of six tests, one of them with a slip of a decade."""
    folder = tmp_path_factory.mktemp("report")
    design = load_design(SAMPLE)
    unit = {"inductance": " H", "resistance": " ohm", "ratio": ""}
    rows = ["sample,test,reading"]
    for part in range(1, 16):
        for test, value in zip(design.tests, readings(design), strict=True):
            if test.measure in unit and test.name != "n_AUX":
                factor = (1 + 0.002 * ((part * 7) % 5 - 2)) if test.measure != "ratio" else 1.0
                factor *= 10.0 if (part, test.name) == (4, "L_P") else 1.0
                rows.append(f"N{part},{test.name},{float(value) * factor:.6g}{unit[test.measure]}")
    file = folder / "lot.csv"
    file.write_text("\n".join(rows) + "\n", encoding="utf-8")
    assert main(["report", str(SAMPLE), str(file), "-o", str(folder / "page.html"), "--builds", "200"]) == 1
    return folder / "page.html"


@pytest.mark.slow
def test_only_samples_that_deviate_have_parts_of_their_own(page: Path) -> None:
    text = page.read_text(encoding="utf-8")
    assert re.findall(r'<section class="sample" id="([^"]*)">', text) == ["sample-4", "causes-4"]
    table = re.search(r'<table id="all-read">.*?</table>', text, re.DOTALL)
    assert table is not None
    assert len(re.findall(r"<tr>", table[0])) == 16
    assert "F 5.9" in table[0]
    links = set(re.findall(r'href="#([^"]*)"', text))
    assert links <= set(re.findall(r'id="([^"]*)"', text))


@pytest.mark.slow
def test_what_no_test_shows_stands_on_the_page(page: Path) -> None:
    text = page.read_text(encoding="utf-8")
    assert "What these tests cannot show" in text
    assert "AUX reversed" in text


@pytest.mark.slow
def test_the_day_stands_on_the_page(page: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert re.search(r"Made by aswound [\d.]+\S* on \d{4}-\d\d-\d\d\.", page.read_text(encoding="utf-8"))
    monkeypatch.setenv("SOURCE_DATE_EPOCH", str(int(datetime(2020, 2, 29, tzinfo=UTC).timestamp())))
    other = tmp_path / "page.html"
    assert main(["report", str(SAMPLE), "-o", str(other), "--builds", "100"]) == 0
    assert "on 2020-02-29." in other.read_text(encoding="utf-8")


def test_a_wild_reading_does_not_widen_the_axis() -> None:
    """Exact: beyond one and a half widths of range and limits together, on either side."""
    home = [590.0, 560.0, 660.0]
    assert wild(home, [409.0, 411.0, 600.0, 809.0, 811.0, 5917.0]) == [True, False, False, False, True, True]


def lot_test() -> LotTest:
    """Of fourteen parts about 590 uH."""
    test = LotTest.__new__(LotTest)
    told = {
        "name": "L_P", "measure": "inductance", "predicted": 590e-6, "predicted_uncertainty": 8e-6, "n": 14,
        "predicted_low": 574e-6, "predicted_high": 606e-6,
        "minimum": None, "maximum": None, "mean": 590e-6, "cpk": None, "cpk_lower": None, "outside": 0,
    }  # fmt: skip
    for name, value in told.items():
        object.__setattr__(test, name, value)
    return test


@pytest.mark.parametrize("count", [1, 2, 3, 4, 5, 6, 7])
def test_every_histogram_is_within_the_picture(count: int) -> None:
    lot = LotReadings(lot_test(), tuple(590e-6 * (1 + 0.001 * k) for k in range(-7, 7)))
    root = ElementTree.fromstring(lot_svg([lot] * count))
    _, _, width, height = map(float, root.attrib["viewBox"].split())
    words = [each.attrib for each in root.iter() if each.tag.endswith("text")]
    assert sum("L_P" in (each.text or "") for each in root.iter() if each.tag.endswith("text")) >= count
    assert all(0 <= float(each["x"]) <= width for each in words)
    assert height - 60 < max(float(each["y"]) for each in words) < height


def test_a_wild_part_does_not_squash_the_histogram_of_the_lot() -> None:
    """Fourteen parts within 1 % and one a thousand times as much: the axis ends near the fourteen, the one is
    said at its side."""
    values = tuple(590e-6 * (1 + 0.001 * k) for k in range(-7, 7))
    test = lot_test()
    far = LotReadings(test, (*values, 0.59))
    axis = axis_of(far)
    assert 550 < axis.ends[0] < 575
    assert 605 < axis.ends[1] < 630
    assert axis.far == (0.59,)
    assert aside(far) == ["590 mH →"]
    ticks = [float(text) for text in texts(far) if re.fullmatch(r"[56]\d\d(\.\d)?", text)]
    assert len(ticks) > 2
    assert all(axis.ends[0] <= tick <= axis.ends[1] for tick in ticks)
    steps = {round(b - a, 9) for a, b in itertools.pairwise(ticks)}
    assert steps <= {1.0, 2.0, 5.0, 10.0, 20.0, 50.0}, "round numbers"
    assert aside(LotReadings(test, (*values, 1e-9))) == ["← 1.00 nH"]
    # each on its side of the axis, not of a mean that a far one has moved
    object.__setattr__(test, "mean", 4.0)
    assert aside(LotReadings(test, (*values, 5e-3, 59.0))) == ["5.00 mH, 59.0 H →"]
    assert not aside(LotReadings(test, values))
    many = LotReadings(test, (*values * 3, 0.59, 0.6, 0.61, 0.62, 0.63))
    assert aside(many) == ["590 mH, 600 mH, 610 mH and 2 more →"]


def texts(lot: LotReadings) -> list[str]:
    """What is written in the picture of one test."""
    return [
        each.text or "" for each in ElementTree.fromstring(lot_svg([lot])).iter() if each.tag.endswith("text")
    ]


def aside(lot: LotReadings) -> list[str]:
    """What is told of parts beyond the axis."""
    return [text for text in texts(lot) if "→" in text or "←" in text]


@browsing
@pytest.mark.slow
def test_fifteen_samples_print_on_six_pages(page: Path, tmp_path: Path) -> None:
    assert BROWSER is not None
    printed = tmp_path / "page.pdf"
    options = ["--headless", "--no-sandbox", "--disable-gpu", "--no-pdf-header-footer"]
    command = [BROWSER, *options, f"--print-to-pdf={printed}", page.as_uri()]
    subprocess.run(command, check=True, capture_output=True, timeout=180)
    assert len(re.findall(rb"/Type\s*/Page\b", printed.read_bytes())) <= MOST_PAGES
