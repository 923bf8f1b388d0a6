"""What the tests of a design can see. Labels: exact, property, cli."""

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from jsonschema import Draft202012Validator
from scipy.special import ndtri

from aswound.cli.main import main
from aswound.cli.schema import schema_text
from aswound.cli.views.faults_seen import SHORT, _in_short
from aswound.compare.causes import CATALOGUE
from aswound.compare.hypotheses import inquire
from aswound.compare.plan import FaultCoverage, SeenFault, fault_coverage
from aswound.compare.plan.faults_seen import FALSE_ALARM, _frame, _noticed
from aswound.predict import load_design, parse_design

SAMPLE = Path(__file__).parents[2] / "samples" / "flyback-24w.toml"
DESIGN = load_design(SAMPLE)


@pytest.fixture(scope="module")
def coverage() -> FaultCoverage:
    return fault_coverage(DESIGN)


def seen(coverage: FaultCoverage, cause: str, where: str) -> SeenFault:
    (found,) = [item for item in coverage.faults if (item.cause, item.where) == (cause, where)]
    return found


def test_what_the_tests_of_the_sample_see(coverage: FaultCoverage) -> None:
    """Whole turns and a lost strand always show; what acts on no reading of the file never does."""
    for cause, where in (("turns", "P"), ("turns", "S"), ("strand", "S"), ("shorted-turn", "P")):
        assert seen(coverage, cause, where).best > 0.95
    for cause, where in (
        ("wire", "AUX"),
        ("reversed", "AUX"),
        ("insulation", "step 6"),
        ("dielectric", "core"),
    ):
        assert seen(coverage, cause, where).invisible, cause
    assert "dot_S" in seen(coverage, "reversed", "S").needs
    assert "R_S" in seen(coverage, "strand", "S").needs
    assert ("joint", "S") in seen(coverage, "strand", "S").alike


@pytest.mark.slow
def test_a_test_that_is_added_is_worth_what_was_promised(coverage: FaultCoverage) -> None:
    """Exact: with the proposed test in the file, the mean share noticed rises by the gain."""
    best = coverage.further[0]
    assert best.gain > 0.01
    more = replace(DESIGN, tests=(*DESIGN.tests, replace(best.test, name="more")))
    again = fault_coverage(more)
    for cause, where in best.sees:
        assert seen(coverage, cause, where).invisible
        assert seen(again, cause, where).best > 0.5
    assert again.mean == pytest.approx(coverage.mean + best.gain, abs=0.03)


def test_the_share_noticed_is_that_of_simulated_parts() -> None:
    """Exact: parts drawn from the same covariance, with the fault, exceed one of the limits, of all readings
    together or of one alone, at least as often as said, and not by far more often."""
    inquiry = inquire(DESIGN, DESIGN.tests, CATALOGUE, ahead=False)
    own = list(range(inquiry.read))
    frame = _frame(inquiry, own)
    item = next(item for item in inquiry.hypotheses if item.cause.name == "insulation").of(own)
    shares = _noticed(frame, item, inquiry.meter)
    node = int(np.argmin(np.abs(shares - 0.5)))
    random = np.random.default_rng(5)
    parts = random.multivariate_normal(item.shift[node], frame.base, 20_000)
    distance = np.einsum("pi,ij,pj->p", parts, np.linalg.inv(frame.base), parts)
    honest = random.multivariate_normal(np.zeros(len(own)), frame.base, 200_000)
    limit = np.quantile(np.einsum("pi,ij,pj->p", honest, np.linalg.inv(frame.base), honest), 1 - FALSE_ALARM)
    alone = np.max(np.abs(parts) / np.sqrt(np.diagonal(frame.base)), axis=1)
    beyond = (distance > limit) | (alone > -ndtri(FALSE_ALARM / (2 * len(own))))
    assert -0.02 <= np.mean(beyond) - shares[node] <= 0.1


@pytest.mark.slow
def test_more_tests_never_see_fewer_distinct_faults(coverage: FaultCoverage) -> None:
    """Property: with half of the tests, fewer causes are visible."""
    half = fault_coverage(replace(DESIGN, tests=DESIGN.tests[:4]))
    visible = {(item.cause, item.where) for item in coverage.faults if item.best > 0.95}
    fewer = {(item.cause, item.where) for item in half.faults if item.best > 0.95}
    assert len(fewer & visible) < len(visible)


def test_plan_faults_at_the_command_line(
    coverage: FaultCoverage, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    assert main(["plan", str(SAMPLE), "--faults"]) == 0
    shown = " ".join(capsys.readouterr().out.split())
    assert "stay invisible" in shown
    assert "No test of this file shows it: " in shown
    assert "AUX reversed" in shown
    assert "Adds most: R AUX" in shown
    assert "For the test house" in shown
    monkeypatch.setattr("aswound.compare.plan.fault_coverage", {DESIGN: coverage}.__getitem__)
    assert main(["plan", str(SAMPLE), "--faults", "--json"]) == 0
    value = json.loads(capsys.readouterr().out)
    Draft202012Validator(json.loads(schema_text("plan"))).validate(value)
    assert value["faults"]["causes"][0]["severities"]
    assert main(["plan", str(SAMPLE), "--faults", "--csv"]) == 2


def test_every_cause_has_short_words() -> None:
    """What no test shows is said in one item a cause, with all its places."""
    assert {cause.name for cause in CATALOGUE} <= set(SHORT)
    hidden = [
        SeenFault(
            cause=cause,
            kind="wiring",
            where=where,
            severities=((None, f"{where} is so", 0.01),),
            alike=(),
            needs=(),
        )
        for cause, where in (
            ("reversed", "P"),
            ("insulation", "step 2"),
            ("reversed", "S"),
            ("insulation", "step 4"),
        )
    ]
    assert _in_short(hidden) == ["P, S reversed", "insulation missing or too thick in steps 2, 4"]
    assert _in_short(hidden[1:2]) == ["insulation missing or too thick in step 2"]
    unknown = replace(hidden[0], cause="a new one")
    assert _in_short([unknown]) == ["P is so"]


@pytest.mark.slow
def test_a_lost_wire_shows_against_the_meters_offset() -> None:
    """Half of the wires gone doubles a few milliohms: an offset of 2 mΩ (k = 2) is a third of the one and a
    sixth of the other. Exact: share beyond the limit of one reading alone, drawn from the same scatter."""
    text = SAMPLE.read_text(encoding="utf-8")
    design = parse_design(text.replace('floor_resistance = "0.3 mohm"', 'floor_resistance = "12 mohm"'))
    inquiry = inquire(design, design.tests, CATALOGUE, ahead=False)
    columns = list(range(inquiry.read))
    frame = _frame(inquiry, columns)
    item = next(
        item for item in inquiry.hypotheses if (item.cause.name, item.location) == ("strand", "S")
    ).of(columns)
    (index,) = [at for at, test in enumerate(design.tests) if test.name == "R_S"]
    node = int(np.argmax(item.shift[:, index]))
    shift, meter = float(item.shift[node, index]), float(inquiry.meter[index])
    sigma = np.sqrt(frame.base[index, index] - meter**2 + (meter * np.exp(-shift)) ** 2)
    limit = -ndtri(FALSE_ALARM / (2 * len(columns)))
    alone = np.mean(np.abs(np.random.default_rng(2).normal(shift / sigma, 1.0, 200_000)) > limit)
    assert _noticed(frame, item, inquiry.meter)[node] == pytest.approx(alone, abs=0.01)
    assert alone > 0.3
