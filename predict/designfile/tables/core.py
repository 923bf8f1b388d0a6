"""``[core]`` of a design file → Core: shape or dimensions, material or permeability, gap, AL."""

from __future__ import annotations

import math
from dataclasses import MISSING, dataclass, fields, replace
from typing import Any

import numpy as np

from ...catalogue import Catalogue, CoreRecord, find_core
from ...cores import (
    AS_GROUND,
    BUTTED,
    LAPPED,
    LAPPED_FROM,
    THINNEST_LAMINATION,
    al_contradiction,
    calibrate_to_al,
    core_inductance_factor,
    effective_parameters,
    residual_gap,
    winding_length,
)
from ...design import FORMS, Core, Dimensions, Material
from ...errors import Faults, nearest
from ...field import LEAST_PERMEABILITY
from ..grammar import (
    Key,
    ParsedTable,
    Table,
    Tolerance,
    as_table,
    count,
    key_place,
    number_parser,
    one_of,
    parse_table,
    quantity_parser,
    relative,
    relative_or_length,
    text,
    tolerance,
    value_error,
    value_text,
)
from .material import read_material

DEFAULT_LOSS = 0.01
"""tan δ of the assembled set if no grade gives it (common practice, no source)."""
_MOST = 10  # a length given as tolerance is a slip beyond this many times the nominal value

ONE_GAP = (
    'one length for the whole set, such as "0.35 mm": there is no model for gaps that differ from leg to '
    "leg, which split the flux unevenly between them. A gap in the centre leg, or equal ones under all legs "
    '(gap_legs = "spacer"), are modelled; if the AL of the set is known, give al'
)
NO_CORE = 'a core; for coils in air the former: [core.dimensions] with form = "air", diameter and length'
AIR = ("air", "none", "no core", "air core", "coreless", "open")


def _gap(value: object) -> float:
    """A length; several are refused with the reason."""
    if isinstance(value, list | dict):
        raise value_error(value, ONE_GAP)
    return quantity_parser("length", nonnegative=True)(value)  # type: ignore[no-any-return]


CORE_KEYS = {
    "shape": Key(text),
    "dimensions": Key(lambda value: value),
    "material": Key(text),
    "mu_i": Key(number_parser(1.0, 1e7)),
    "mu_i_tolerance": Key(tolerance(relative())),
    "loss": Key(relative()),
    "gap": Key(_gap, default=0.0),
    "gap_tolerance": Key(tolerance(relative_or_length)),
    "gap_legs": Key(one_of("centre", "spacer"), default="centre"),
    "gap_at": Key(one_of("middle", "end"), default="middle"),
    "gap_angle": Key(quantity_parser("angle", nonnegative=True)),
    "al": Key(quantity_parser("inductance_factor", positive=True)),
    "al_tolerance": Key(tolerance(relative())),
    "face_gap": Key(quantity_parser("length", nonnegative=True)),
    "stacking_factor": Key(relative(0.01, 1.0), default=1.0),
}
_COMMON_KEYS = {
    "effective_area": Key(quantity_parser("area", positive=True)),
    "effective_length": Key(quantity_parser("length", positive=True)),
    "cover": Key(relative()),
}


@dataclass(frozen=True, kw_only=True)
class _Shape:
    """Dimensions and effective parameters of a set. ``by_dimensions``: whether the area was computed by IEC
    60205."""

    name: str
    dimensions: Dimensions
    effective_area: float
    effective_length: float
    by_dimensions: bool
    cover: float | None = None


def read_core(
    table: Table, catalogue: Catalogue | None, faults: Faults, *, moved_from: float | None = None
) -> tuple[Core | None, tuple[str, ...]]:
    """Core of the table ``[core]``.

    Effective area and length are the stated ones, else the catalogue's published ones, else those of IEC
    60205 from the dimensions (the area then times ``stacking_factor``). If ``al`` is given the model is
    calibrated to it.

    Parameters
    ----------
    table : Table, the table ``[core]``
    catalogue : Catalogue or None, the catalogue; None if it could not be read: names are then not looked up
    faults : Faults, receives every fault that is found
    moved_from : float or None, optional
        Gap of the design before a setting changed it without changing ``al``, m; the inductance factor then
        follows the gap. None if no setting did.

    Returns
    -------
    Core or None, core, SI; None if there are faults
    tuple[str, ...], cautions
    """
    before = len(faults.found)
    section = parse_table(table, CORE_KEYS, "core", faults)
    shape = _shape(section, catalogue)
    if shape is not None and not shape.dimensions.permeable:
        return _without_core(section, shape), ()
    if shape is None and _told_to_be_air(table):
        return None, ()
    material = read_material(section, catalogue)
    if shape is not None:
        _gap_of_ring(section) if shape.dimensions.ring else _angle_of_gap(section)
    if "al_tolerance" in section and "al" not in section:
        section.fault("al_tolerance", "a tolerance of al without al", "al, or no al_tolerance")
    if shape is None or material is None or len(faults.found) > before:
        return None, ()
    stated = _stated(section, shape, material)
    if not shape.dimensions.ring and _too_weak(section, material):
        return None, ()
    if float(stated.gap) >= winding_length(stated):
        section.fault(
            "gap",
            value_text(table["gap"]),
            f"less than {winding_length(stated) * 1e3:.3g} mm, the length over it",
        )
        return None, ()
    solved = stated
    with faults.collect():
        solved = calibrate_to_al(stated) if moved_from is None else _with_moved_gap(stated, moved_from)
        if section["face_gap"] is None and stated.face_gap > 0 and solved.gap > 0:
            # al shows that there is a gap, which includes the faces' part
            solved = calibrate_to_al(replace(stated, face_gap=0.0))
    if float(solved.gap) >= winding_length(solved):
        section.fault(
            "al",
            value_text(table["al"]),
            f"an al that asks for less gap than {float(solved.gap) * 1e3:.3g} mm",
        )
    if "gap_tolerance" in section:
        relative_bound = relative_to(
            section["gap_tolerance"], float(solved.gap), "core.gap_tolerance", "gap", faults
        )
        solved = replace(solved, gap_tolerance=relative_bound)
    cautions = (*_cautions(shape, stated, solved), *_assumed(section, shape, solved))
    return (solved if len(faults.found) == before else None), cautions


NOTHING = Material(
    name="air", initial_permeability=1.0, tolerance=0.0, temperature_coefficient=0.0, level_coefficient=0.0
)
"""What lies inside a former without a core (exact: permeability 1, no loss)."""
OF_A_CORE = frozenset(CORE_KEYS) - {"shape", "dimensions"}
"""Keys of ``[core]`` that say something of a core, and nothing of coils in air."""


def _gap_of_ring(section: ParsedTable) -> None:
    """Faults for gaps that only legs have."""
    if section["gap_legs"] == "spacer":
        section.fault("gap_legs", "'spacer' on a toroid", "'centre': a ring has no legs")
    if section["gap_at"] == "end":
        section.fault("gap_at", "'end' on a toroid", "'middle': a ring has no legs")


def _angle_of_gap(section: ParsedTable) -> None:
    """A fault for the angle of a gap that is on no ring."""
    if section["gap_angle"] is not None:
        section.fault("gap_angle", value_text(section.given["gap_angle"]), "gap_angle only on a toroid")


def _too_weak(section: ParsedTable, material: Material) -> bool:
    """Whether a core with legs leads no flux, which is a fault."""
    initial = float(np.max(np.asarray(material.initial_permeability)))
    if initial < LEAST_PERMEABILITY:
        section.fault(
            "mu_i",
            f"{initial:g} in a core with legs",
            f"at least {LEAST_PERMEABILITY:g}: below it legs do not lead the flux, as every formula here "
            'assumes; coils in air have form = "air"',
        )
    return initial < LEAST_PERMEABILITY


def _told_to_be_air(table: Table) -> bool:
    """Whether the form is that of coils in air, however faulty the rest: nothing else is then asked."""
    dimensions = table.get("dimensions")
    return isinstance(dimensions, dict) and dimensions.get("form") == "air"


def _without_core(section: ParsedTable, shape: _Shape) -> Core | None:
    """Coils in air: the former; faults for keys that only a core has."""
    told = sorted(key for key in OF_A_CORE if key in section)
    for key in told:
        section.fault(key, f"{key} of a coil without a core", 'nothing: form = "air" has no core')
    if told or section.bad:
        return None
    return Core(
        name="none",
        dimensions=shape.dimensions,
        material=NOTHING,
        effective_area=shape.effective_area,
        effective_length=shape.effective_length,
        face_gap=0.0,
        loss=0.0,
    )


def _with_moved_gap(stated: Core, moved_from: float) -> Core:
    """The core calibrated to ``al`` at the gap ``moved_from`` (m; 0: none was stated), then with its gap
    moved.

    The gap that ``al`` implies is scaled by stated ÷ moved_from, and ``al`` becomes what the model then
    gives.
    """
    if stated.al is None:
        return stated
    designed = calibrate_to_al(replace(stated, gap=moved_from))
    scale = float(designed.gap) / moved_from if moved_from > 0 else 1.0
    moved = replace(designed, gap=float(stated.gap) * scale)
    return replace(moved, al=float(core_inductance_factor(moved)))


def relative_to(stated: Tolerance, nominal: float, place: str, of: str, faults: Faults) -> float:
    """A ± bound relative to a nominal length: bound ÷ nominal if it is a length.

    A length as tolerance of a zero length is a fault.

    Parameters
    ----------
    stated : Tolerance, the bound, relative or in m
    nominal : float, m
    place : str, where the bound is, for faults
    of : str, what the bound is of, in words
    faults : Faults

    Returns
    -------
    float, relative
    """
    if not stated.is_length:
        return stated.bound
    if nominal <= 0:
        faults.add(
            place,
            f"{stated.bound * 1e3:g} mm of a {of} of 0",
            f"a tolerance in length only where there is a {of}",
        )
        return 0.0
    if stated.bound > _MOST * nominal:
        faults.add(
            place, f"{stated.bound * 1e3:g} mm", f"at most {_MOST} times the {of}, {nominal * 1e3:.3g} mm"
        )
    return stated.bound / nominal


def _stated(section: ParsedTable, shape: _Shape, material: Material) -> Core:
    """The core as written, before its calibration to ``al``."""
    stacking = section["stacking_factor"]
    face_gap = section["face_gap"]
    if face_gap is None:
        face_gap = residual_gap(shape.dimensions, material, section["gap"])
    effective = shape.effective_area * (stacking if shape.by_dimensions else 1.0)
    loss = section["loss"]
    if loss is None and "material" not in section:
        loss = DEFAULT_LOSS
    return Core(
        name=shape.name,
        dimensions=shape.dimensions,
        material=material,
        effective_area=effective,
        effective_length=shape.effective_length,
        gap=section["gap"],
        gap_legs=section["gap_legs"],
        gap_at=section["gap_at"],
        gap_angle=section["gap_angle"],
        gap_area_ratio=shape.dimensions.wound_leg.area / effective if shape.by_dimensions else 1.0,
        face_gap=face_gap,
        al=section["al"],
        al_tolerance=section["al_tolerance"],
        loss=loss,
        stacking_factor=stacking,
        cover=shape.cover,
    )


def _cautions(shape: _Shape, stated: Core, solved: Core) -> tuple[str, ...]:
    """What a reader of the prediction has to know about the core."""
    cautions = [al_contradiction(stated, solved)] if stated.al == solved.al else [_al_follows(stated, solved)]
    if math.isinf(float(stated.material.initial_permeability)):
        cautions.append(
            "core: neither material nor mu_i is given; al holds, but the effects of level, temperature "
            "and material on the inductance are not modelled."
        )
    if stated.stacking_factor < 1 and not shape.by_dimensions:
        cautions.append(
            "core.stacking_factor is not applied to the area: the effective area is a stated or published "
            "one, taken as that of the iron."
        )
    return tuple(caution for caution in cautions if caution)


def _assumed(section: ParsedTable, shape: _Shape, core: Core) -> list[str]:
    """What is assumed of the core for want of a key."""
    faces = _faces_assumed(core) if section["face_gap"] is None else []
    solid = "stacking_factor" not in section and shape.by_dimensions
    return [*faces, *(_taken_as_solid(core) if solid else [])]


def _taken_as_solid(core: Core) -> list[str]:
    """States that sheets or tape are taken to fill the section; empty for solid cores or where al decides."""
    if core.al is not None or core.material.sheet_thickness <= 0:
        return []
    laminated = core.material.sheet_thickness > THINNEST_LAMINATION
    filled = "laminations fill some 95 % of their stack" if laminated else "wound tape fills 75 to 85 %"
    return [
        f"core.stacking_factor is not given: the section counts as iron throughout, but {filled} (common "
        "practice). State it: area and inductance follow."
    ]


def _faces_assumed(core: Core) -> list[str]:
    """States that the set is assumed lapped, or a laminated stack interleaved, and what it would be
    otherwise; empty if al decides it."""
    sheets = core.material.sheet_thickness > 0 and core.face_gap == AS_GROUND
    if core.al is not None or not (sheets or core.face_gap == LAPPED):
        return []
    gaps = (AS_GROUND, BUTTED) if sheets else (LAPPED, AS_GROUND)
    why = (
        "sheets stacked crosswise"
        if sheets
        else f"lapped faces, as ungapped sets of mu_i {LAPPED_FROM:g} and above often have"
    )
    faces = "butted joints" if sheets else "faces as ground"
    here, there = (float(core_inductance_factor(replace(core, face_gap=gap))) * 1e6 for gap in gaps)
    return [
        f"core.face_gap is not stated: {gaps[0] * 1e6:g} µm, {why}; AL is then {here:.3g} µH. With {faces} "
        f"({gaps[1] * 1e6:g} µm) it would be {there:.3g} µH. State face_gap, or al."
    ]


def _al_follows(stated: Core, solved: Core) -> str:
    before, after = (float(core.al or 0.0) * 1e9 for core in (stated, solved))
    return f"core.gap was changed and al was not: al follows the gap, {before:.4g} nH becomes {after:.4g} nH."


# --- shape -----------------------------------------------------------------------------------------


def _shape(section: ParsedTable, catalogue: Catalogue | None) -> _Shape | None:
    if "shape" in section and "dimensions" in section:
        section.fault("shape", "shape and dimensions", "one of the two")
        return None
    if "dimensions" in section:
        return _own_shape(section)
    if "shape" not in section:
        section.fault("shape", "nothing", "the name of a core of the catalogue, or a table core.dimensions")
        return None
    if section["shape"] is None or catalogue is None:
        return None
    if section["shape"].strip().lower() in AIR:
        section.fault("shape", repr(section["shape"]), NO_CORE)
        return None
    record: CoreRecord | None = None
    with section.faults.collect():
        record = find_core(catalogue, section["shape"])
    if record is None:
        return None
    computed = effective_parameters(record.dimensions)
    published_area, published_length = record.published_area, record.published_length
    return _Shape(
        name=record.name,
        dimensions=record.dimensions,
        effective_area=computed.effective_area if published_area is None else published_area,
        effective_length=computed.effective_length if published_length is None else published_length,
        by_dimensions=published_area is None,
    )


OPEN_CORES = ("rod", "drum", "bobbin", "stick", "two-hole", "binocular", "balun", "multi-aperture")
"""What people call cores that no form describes (judged)."""


def _own_shape(section: ParsedTable) -> _Shape | None:
    """``[core.dimensions]``."""
    faults = section.faults
    place = key_place("core", "dimensions")
    table = as_table(section.given["dimensions"], place, faults)
    form = table.get("form")
    allowed = "one of " + ", ".join(repr(known) for known in FORMS)
    if not isinstance(form, str) or form not in FORMS:
        found = value_text(form) if "form" in table else "nothing"
        if isinstance(form, str) and form.strip().lower() in AIR and form not in FORMS:
            faults.add(f"{place}.form", found, NO_CORE)
            return None
        hint = nearest(form, list(FORMS)) if isinstance(form, str) else ""
        if isinstance(form, str) and form.strip().lower() in OPEN_CORES:
            hint = "Open cores (rods, drums) and cores with two holes are not modelled."
        faults.add(f"{place}.form", found, allowed, hint)
        return None
    before = len(faults.found)
    read = parse_table(table, dimension_keys(form), place, faults)
    if len(faults.found) > before:
        return None
    given: dict[str, Any] = {
        item.name: read[item.name] for item in fields(FORMS[form]) if read[item.name] is not None
    }
    if form == "E":
        given.setdefault("outer_depth", given["leg_depth"])
    dimensions = FORMS[form](**given)
    with faults.collect():
        computed = effective_parameters(dimensions)
        stated_area, stated_length = read["effective_area"], read["effective_length"]
        return _Shape(
            name=f"{form} core to dimensions",
            dimensions=dimensions,
            effective_area=computed.effective_area if stated_area is None else stated_area,
            effective_length=computed.effective_length if stated_length is None else stated_length,
            by_dimensions=stated_area is None,
            cover=read["cover"],
        )
    return None


def dimension_keys(form: str) -> dict[str, Key]:
    """Keys of ``[core.dimensions]`` for one form.

    They come from the fields of its dataclass (``outer_depth`` defaults to ``leg_depth``), with the keys
    that all forms have.

    Parameters
    ----------
    form : str, name of the form
    """
    keys = {"form": Key(one_of(*FORMS), required=True)}
    for item in fields(FORMS[form]):
        required = item.default is MISSING and item.name != "outer_depth"
        default = None if item.default is MISSING else item.default
        if item.name == "slots":
            keys[item.name] = Key(count(), required, default)
        elif item.name == "slot_angle":
            keys[item.name] = Key(quantity_parser("angle", nonnegative=True), required, default)
        else:
            length = quantity_parser("length", positive=default is None, nonnegative=default is not None)
            keys[item.name] = Key(length, required, default)
    return keys | _COMMON_KEYS
