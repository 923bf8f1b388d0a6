"""A cause that all samples share, single samples that differ, and lots that are sound."""

from __future__ import annotations

import functools
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from aswound.cli.views.page import render
from aswound.cli.views.together import shared_view
from aswound.compare.causes import CATALOGUE
from aswound.compare.lots.shared_causes import StrangeSample, Together, explain_together
from aswound.compare.readings.file import Reading, parse_readings
from aswound.predict import load_design, readings
from aswound.predict.batch import predict_many
from aswound.predict.design import Design
from aswound.predict.errors import ReadingsError
from aswound.predict.production.common_parts import shares_of
from aswound.predict.production.tolerances import parameters

SAMPLES = Path(__file__).parents[2] / "samples"
Change = Callable[[Design], Design]


@functools.cache
def design_of(name: str) -> Design:
    return load_design(SAMPLES / f"{name}.toml")


def variant(cause: str, place: str, amount: float) -> Change:
    """The design as a cause changes it, at the severity nearest to ``amount``."""

    def change(design: Design) -> Design:
        found = next(item for item in CATALOGUE if item.name == cause)
        near = min(found.variants(design, place), key=lambda item: abs((item.amount or 0.0) - amount))
        return near.design

    return change


def lot(
    name: str,
    parts: int,
    *,
    shared: Change | None = None,
    own: dict[int, Change] | None = None,
    seed: int = 1,
) -> list[Reading]:
    """Readings of parts of one lot: what is common drawn once, what differs for each part."""
    design, random = design_of(name), np.random.default_rng(seed)
    chosen = parameters(design)
    common = random.standard_normal(len(chosen))
    built = []
    for part in range(parts):
        made = shared(design) if shared else design
        made = own[part](made) if own and part in own else made
        for item, level in zip(chosen, common, strict=True):
            share = shares_of(item.name)
            z = np.sqrt(share.design + share.lot) * level + np.sqrt(share.unit) * random.standard_normal()
            made = item.change(made, float(z))
        built.append(replace(made, tests=design.tests))
    values = predict_many(built, readings)
    result = []
    for part in range(parts):
        for test, value in zip(design.tests, values[part], strict=True):
            phase = test.measure == "phase"
            shown = float(value if phase else value * (1 + 0.001 * random.standard_normal()))
            doubt = 5e-4 if phase else abs(shown) * 2.5e-3
            row = Reading(
                sample=f"N{part + 1}", test=test.name, value=shown, uncertainty=doubt, temperature=20.0
            )
            result.append(row)
    return result


def judged(name: str, taken: list[Reading]) -> Together:
    return explain_together(design_of(name), taken)


def names(found: Together) -> list[tuple[str, str]]:
    return [(item.cause, item.where) for item in found.diagnosis.causes]


@pytest.mark.parametrize("seed", [1, 2, 3])
@pytest.mark.parametrize("name", ["flyback-24w", "bridge-300w", "gate-drive"])
def test_a_sound_lot_shares_nothing(name: str, seed: int) -> None:
    """The third lot of the bridge reads 40 % high in all its inductances, three standard deviations of what
    ungapped cores vary by: there the same core stays ahead of all causes, and no more."""
    found = judged(name, lot(name, 5, seed=seed))
    far = (name, seed) == ("bridge-300w", 3)
    assert found.diagnosis.as_designed > (0.4 if far else 0.5)
    assert found.diagnosis.as_designed > max(item.probability for item in found.diagnosis.causes)
    assert found.shared == ()
    assert found.apart == ()


@pytest.mark.parametrize(
    ("name", "cause", "place", "amount", "answers"),
    [
        ("bridge-300w", "mean-turn", "core", 1.10, {"mean-turn", "temperature"}),
        ("flyback-24w", "al-basis", "core", 0.80, {"al-basis", "gap", "unseated"}),
        ("bridge-300w", "effective-breadth", "core", 0.85, {"effective-breadth", "margin"}),
        ("gate-drive", "turns", "D", -2.0, {"turns"}),
    ],
)
def test_a_shared_cause_is_found(name: str, cause: str, place: str, amount: float, answers: set[str]) -> None:
    """Among the first two, with the causes that read alike."""
    found = judged(name, lot(name, 5, shared=variant(cause, place, amount)))
    assert found.diagnosis.as_designed < 0.05
    first = names(found)[:2]
    assert cause in {one for one, _ in first}
    assert found.shared[0].cause in answers
    total = sum(item.probability for item in found.diagnosis.causes)
    assert total + found.diagnosis.as_designed + found.diagnosis.unlisted == pytest.approx(1.0)


@pytest.mark.parametrize("parts", [3, 6])
def test_one_bad_part_is_not_the_lot(parts: int) -> None:
    taken = lot("flyback-24w", parts, own={1: variant("turns", "P", -2.0)})
    found = judged("flyback-24w", taken)
    (odd,) = found.apart
    assert odd.sample == "N2"
    assert (odd.causes[0].cause, odd.causes[0].where, odd.causes[0].amount) == ("turns", "P", -2.0)
    assert found.diagnosis.as_designed > 0.5
    assert found.shared == ()
    assert found.deviates


def test_the_one_good_part_among_bad_ones_differs() -> None:
    bad = variant("turns", "P", -2.0)
    found = judged("flyback-24w", lot("flyback-24w", 5, own=dict.fromkeys(range(1, 5), bad)))
    assert [item.sample for item in found.apart] == ["N1"]
    assert names(found)[0] == ("turns", "P")


def test_two_that_differ_share_nothing() -> None:
    found = judged("flyback-24w", lot("flyback-24w", 2, own={1: variant("turns", "S", 1.0)}))
    assert found.pooled == ("N1",)
    assert [item.sample for item in found.apart] == ["N2"]
    assert found.shared == ()


def test_missing_readings_change_little() -> None:
    taken = lot("gate-drive", 6, shared=variant("turns", "D", -2.0))
    gone = {("N2", taken[0].test), ("N3", taken[1].test), ("N4", taken[2].test)}
    some = [row for row in taken if (row.sample, row.test) not in gone]
    whole, part = judged("gate-drive", taken), judged("gate-drive", some)
    assert names(part)[0] == names(whole)[0]
    assert part.shared[0].probability == pytest.approx(whole.shared[0].probability, abs=0.1)


def test_order_of_samples_does_not_matter() -> None:
    taken = lot("gate-drive", 5, own={2: variant("turns", "D", -2.0)})
    forth, back = judged("gate-drive", taken), judged("gate-drive", taken[::-1])
    assert {item.sample for item in forth.apart} == {item.sample for item in back.apart} == {"N3"}
    assert forth.diagnosis.as_designed == pytest.approx(back.diagnosis.as_designed, rel=1e-6)


def test_a_slip_in_one_column_is_told_as_such() -> None:
    taken = [
        replace(row, value=row.value * 10) if row.test == "R_P" and row.value else row
        for row in lot("flyback-24w", 4)
    ]
    found = judged("flyback-24w", taken)
    assert names(found)[0] == ("bad-reading", "R_P")


def test_one_sample_shares_nothing_with_others() -> None:
    with pytest.raises(ReadingsError, match="two samples or more"):
        judged("gate-drive", lot("gate-drive", 1))


def test_wide_scatter_is_told_and_taken() -> None:
    random = np.random.default_rng(4)
    taken = [
        replace(row, value=row.value * (1 + 0.05 * random.standard_normal())) if row.test == "R_P" else row
        for row in lot("flyback-24w", 40)
        if row.value is not None
    ]
    found = judged("flyback-24w", taken)
    assert "R_P" in dict(found.scatter)
    assert found.apart == ()


def test_the_block_of_a_lot_tells_nothing_to_mend_where_nothing_is_decided_and_counts_its_halves() -> None:
    """Readings on which nothing is decided bring no "Confirm" and no "Shop"; two of six are no half."""
    design = design_of("flyback-24w")
    rows = [f"{name},Lk_P,3.9 uH" for name in "ABCDEF"]
    together = explain_together(design, parse_readings("\n".join(("sample,test,reading", *rows)), design))
    together = replace(together, diagnosis=replace(together.diagnosis, as_designed=0.45))
    assert not together.diagnosis.deviates
    page = render(shared_view(together), 80, plain=True)
    assert "consistent with the design" in page
    assert "Confirm:" not in page
    assert "Shop:" not in page
    for count, half in ((2, False), (3, True)):
        apart = tuple(StrangeSample(name, 0.9, ()) for name in "ABCDEF"[:count])
        page = render(shared_view(replace(together, apart=apart)), 80, plain=True)
        assert ("Nearly half" in page) is half
