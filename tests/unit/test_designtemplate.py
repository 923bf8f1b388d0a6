"""The design file to start from: it reads, it fits, and it says what it is."""

from __future__ import annotations

from dataclasses import replace
from types import MappingProxyType

import pytest

from aswound.predict.catalogue.lookup import Catalogue, load_catalogue
from aswound.predict.design import ToroidDimensions, UDimensions, WindStep
from aswound.predict.designfile.new_design import template
from aswound.predict.designfile.reader import parse_design
from aswound.predict.errors import CatalogueError, DesignError
from aswound.predict.winding.layout import check_fit, lay_out

CATALOGUE = load_catalogue()


@pytest.mark.parametrize("name", CATALOGUE.cores)
def test_it_reads_and_fits_with_every_core(name: str) -> None:
    design = parse_design(template(name, CATALOGUE))
    assert design.core.name == name
    assert design.cautions == ()
    assert [test.measure for test in design.tests] == ["inductance", "inductance", "ratio", "resistance"]
    check_fit(design)
    fill = float(lay_out(design).fill[0])
    assert 0.02 < fill < 0.75
    toroid = isinstance(design.core.dimensions, ToroidDimensions)
    laminated = CATALOGUE.cores[name].family == "EI"
    assert (design.core.gap == 0) == (toroid or laminated)
    assert design.core.stacking_factor == (0.95 if laminated else 1.0)


def test_it_says_that_it_is_a_start_and_who_decides_on_insulation() -> None:
    text = template("ETD 34/17/11", CATALOGUE)
    assert "starting point" in text
    assert "safety standard" in text
    assert "qualified person" in text
    assert max(map(len, text.splitlines())) <= 120


def test_a_u_core_has_no_centre_leg() -> None:
    record = next(iter(CATALOGUE.cores.values()))
    u_core = replace(record, name="U 1", dimensions=UDimensions(0.01, 0.01, 0.01, 0.03, 0.01))
    text = template("U 1", Catalogue(MappingProxyType({"U 1": u_core}), CATALOGUE.wires, CATALOGUE.materials))
    assert "centre leg" not in text
    assert "gap" in text


def test_a_planar_core_gets_a_board() -> None:
    design = parse_design(template("E 18/4/10 + PLT", CATALOGUE))
    assert design.build.direction == "up"
    assert [step.turns for step in design.build.steps if isinstance(step, WindStep)] == [4, 2, 4]
    assert design.core.gap_at == "end"
    text = template("E 18/4/10 + PLT", CATALOGUE)
    assert "trace" in text
    assert "outwards" not in text
    assert max(map(len, text.splitlines())) <= 120


def test_names_that_it_cannot_serve() -> None:
    with pytest.raises(CatalogueError, match="ETD 34/17/11"):
        template("ETD 34/17/12", CATALOGUE)
    record = next(iter(CATALOGUE.cores.values()))
    with pytest.raises(DesignError, match="window"):
        template(record.name, Catalogue(CATALOGUE.cores, (), CATALOGUE.materials))
