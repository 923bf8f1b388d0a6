"""Design files and the public rows of cores, wires and materials → nominal parts, read anew."""

from __future__ import annotations

import functools
import tomllib
from pathlib import Path
from typing import Any

import numpy as np

from .parts import Bench, Core, Part, Step, Test, Winding, Wire
from .units import si

DATA = Path(__file__).parents[3] / "predict" / "data"
Row = dict[str, Any]


@functools.cache
def rows(kind: str) -> tuple[Row, ...]:
    """All rows of one public catalogue ("core", "wire", "material")."""
    text = (DATA / f"{kind}s.toml").read_text(encoding="utf-8")
    return tuple(tomllib.loads(text)[kind])


def read_part(path: Path) -> Part:
    """The nominal part of a design file. KeyError or ValueError for what the benchmark's designs do not
    use."""
    return part_of(path.read_text(encoding="utf-8"))


def part_of(text: str) -> Part:
    """The nominal part of a design file's text."""
    data = tomllib.loads(text)
    bobbin, build, bench = data.get("bobbin", {}), data["build"], data.get("bench", {})
    return Part(
        title=data.get("title", ""),
        core=_core(data["core"]),
        wall=si(bobbin.get("wall", 0)),
        flange=si(bobbin.get("flange", 0)),
        chambers=bobbin.get("chambers", 1),
        partition=si(bobbin.get("partition", 0)),
        margin=si(build.get("margin", 0)),
        allowance=si(build.get("allowance", 0.02)),
        interlayer=si(build.get("interlayer", 0)),
        style=build.get("style", "back_and_forth"),
        direction=build.get("direction", "out"),
        windings=[_winding(item) for item in data["winding"]],
        steps=[_step(item) for item in build["steps"]],
        tests=[_test(item) for item in data.get("test", [])],
        bench=Bench(
            temperature=si(bench.get("temperature", 23)),
            short=(si(bench.get("short_inductance", 10e-9)), si(bench.get("short_resistance", 1e-3))),
            lead=(si(bench.get("lead_inductance", 0)), si(bench.get("lead_resistance", 0))),
            floor=(si(bench.get("floor_resistance", 2e-3)), si(bench.get("floor_inductance", 2e-9))),
        ),
        impregnated=build.get("impregnation", "none") != "none",
        tolerance=si(data["core"]["al_tolerance"]) if "al_tolerance" in data["core"] else None,
    )


def _core(item: Row) -> Core:
    if "shape" in item:
        row = next(row for row in rows("core") if row["name"] == item["shape"])
    else:
        row = {"dimensions": item["dimensions"]}
    size = {key: si(value) for key, value in row["dimensions"].items() if key != "form"}
    form, published = row["dimensions"]["form"], row.get("published", {})
    area, length = _effective(form, size)
    if "area" in published:
        area, length = si(published["area"]), si(published["length"])
    area *= si(item.get("stacking_factor", 1))
    core = Core(
        form=form,
        size=size,
        area=area,
        length=length,
        permeability=si(item.get("mu_i", 0)),
        gap=si(item.get("gap", 0)),
        gap_legs=item.get("gap_legs", "centre"),
        gap_at=item.get("gap_at", "middle"),
        face_gap=0.0 if form == "toroid" else si(item.get("face_gap", 3e-6)),
        inductance_factor=si(item["al"]) if "al" in item else None,
    )
    if "material" in item:
        grade = next(row for row in rows("material") if row["name"] == item["material"])
        core.permeability = si(grade["initial_permeability"])
        warmer = si(grade.get("temperature_coefficient", "0.004 1/K"))
        core.warm_ratio = tuple(1 + warmer * (at - 23) for at in core.temperatures)
        core.sheet = si(grade.get("sheet_thickness", 0))
        core.sheet_resistivity = 1e-6 * float(str(grade.get("resistivity", "0 u")).split()[0])
        for key, name in (
            ("frequencies", "frequencies"),
            ("real_ratio", "real_ratio"),
            ("loss_tangent", "loss_tangent"),
            ("flux_densities", "level_flux_densities"),
            ("level_ratio", "level_ratio"),
            ("temperatures", "temperatures"),
            ("warm_ratio", "temperature_ratio"),
        ):
            if name in grade:
                setattr(core, key, tuple(si(value) for value in grade[name]))
    return core


def _effective(form: str, size: dict[str, float]) -> tuple[float, float]:
    """Ae (m²) and le (m) of laminated E and EI sets and rings by the plain mean path, where nobody publishes
    them."""
    if form == "toroid":
        outer, inner, height = size["outer_diameter"], size["inner_diameter"], size["height"]
        length = np.pi * (outer - inner) / np.log(outer / inner)
        return (outer - inner) / 2 * height, float(length)
    if form == "E":
        area = size["leg_width"] * size["leg_depth"]
        quarter = np.pi / 8 * (size["outer_leg"] + size["back"])
        quarter += np.pi / 8 * (size["leg_width"] / 2 + size["back"])
        return area, float(2 * size["window_height"] + 2 * size["window_width"] + 2 * quarter)
    return 0.0, 0.0


def _winding(item: Row) -> Winding:
    return Winding(
        item["name"],
        _wire(item["wire"]),
        parallel=item.get("sections") == "parallel",
        sense=-1 if item.get("turning") == "ccw" else 1,
        metal=item.get("metal", "copper"),
    )


def _wire(item: Row) -> Wire:
    in_hand = item.get("in_hand", 1)
    if "foil" in item:
        thick = si(item["foil"])
        return Wire("foil", thick, thick, in_hand, width=si(item["width"]))
    if "trace" in item:
        thick = si(item["trace"])
        return Wire(
            "track", thick, thick, in_hand, width=si(item["width"]), spacing=si(item.get("spacing", 0))
        )
    if "litz_strands" in item:
        return Wire("litz", si(item["strand"]), si(item["overall"]), in_hand, strands=item["litz_strands"])
    bare = si(item["diameter"])
    overall = si(item["overall"]) if "overall" in item else _overall(bare, item["grade"])
    return Wire("round", bare, overall, in_hand)


def _overall(bare: float, grade: int) -> float:
    """Middle of the standard's range of the overall diameter (m)."""
    row = min(
        (row for row in rows("wire") if row["kind"] == "round" and f"grade_{grade}" in row),
        key=lambda row: abs(si(row["diameter"]) - bare),
    )
    sheet = row[f"grade_{grade}"]
    nominal = si(row["diameter"])
    return bare + (si(sheet["increase"]) + si(sheet["maximum"]) - nominal) / 2


def _step(item: Row) -> Step:
    if "tape" in item:
        return Step(
            "tape",
            thickness=si(item["tape"]),
            wraps=item.get("wraps", 1),
            permittivity=item.get("permittivity", 3.3),
            chamber=item.get("chamber"),
        )
    if "spacer" in item:
        return Step("spacer", thickness=si(item["spacer"]), permittivity=item.get("permittivity", 1.0))

    def length(key: str) -> float | None:
        return si(item[key]) if key in item else None

    return Step(
        "wind",
        winding=item["wind"],
        turns=item["turns"],
        layers=item.get("layers"),
        close=item.get("close", False),
        style=item.get("style"),
        chamber=item.get("chamber"),
        companions=tuple(item.get("with", ())),
        beside=item.get("beside", False),
        breadth=length("breadth"),
        from_end=length("from_end"),
        interlayer=length("interlayer"),
        margin=length("margin"),
        thickness=length("thickness") or 0.0,
    )


def _names(value: object) -> tuple[str, ...]:
    return (value,) if isinstance(value, str) else tuple(value or ())  # type: ignore[arg-type]


def _test(item: Row) -> Test:
    return Test(
        item["name"],
        item["measure"],
        _names(item["drive"]),
        _names(item.get("short")),
        _names(item.get("sense")),
        si(item["frequency"]) if "frequency" in item else None,
        si(item.get("level", 1)),
        item.get("equivalent", "series"),
    )
