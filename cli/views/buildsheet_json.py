"""The build sheet as data."""

from __future__ import annotations

from typing import Any

from ...compare.plan import ShopReading
from ...predict.design import Design, ShieldStep, SpacerStep, TapeStep, WindStep
from ...predict.shop import Operation, bill_of_material, wire_cuts
from ..documents import shared_records, sheet_document
from ..documents.record import as_object, record_of
from . import words
from .buildsheet import cautions_of
from .buildsheet_pins import pins_of
from .buildsheet_steps import ShopSheet, StepRow, step_rows
from .buildsheet_work import operations_of
from .prediction import core_json


def sheet_json(whole: ShopSheet) -> dict[str, Any]:
    """The build sheet as data, SI."""
    from importlib.metadata import version

    design = whole.build.design
    return as_object(
        sheet_document.SheetDocument(
            design=design.title,
            version=version("aswound"),
            drawing=design.build.drawing,
            revision=design.build.revision,
            core=core_json(design),
            steps=[
                _step_json(design, laid, row)
                for laid, row in zip(whole.build.operations, step_rows(whole), strict=True)
            ],
            wires=[
                sheet_document.SheetWire(
                    winding=need.winding, length_m=need.length, in_hand=need.pieces, mass_kg=need.mass
                )
                for need in whole.build.wires
            ],
            insulated_faces=[
                sheet_document.InsulatedFace(
                    kind=face.kind,
                    steps=[None if face.first is None else face.first + 1, face.second + 1],
                    between=[list(face.first_names), list(face.second_names)],
                    insulation=[
                        record_of(sheet_document.SheetInsulation, part, thickness_m=part.thickness)
                        for part in face.insulation
                    ],
                )
                for face in whole.build.faces
            ],
            cuts=[
                record_of(
                    sheet_document.SheetCut, cut, length_m=cut.length, wound_m=cut.wound, tails_m=cut.tails
                )
                for cut in wire_cuts(design)
            ],
            materials=[
                record_of(
                    sheet_document.SheetMaterial,
                    item,
                    item=item.what,
                    length_m=item.length,
                    width_m=item.width,
                    mass_kg=item.mass,
                )
                for item in bill_of_material(design)
            ],
            pins=[sheet_document.Pin(pin=pin, ends=ends) for pin, ends in pins_of(design).items()],
            operations=operations_of(whole),
            note=design.build.note,
            readings=[_reading_json(reading) for reading in whole.readings],
            cautions=list(cautions_of(whole)),
        )
    )


def _step_json(design: Design, operation: Operation, row: StepRow) -> sheet_document.SheetStep:
    kinds = {WindStep: "wind", TapeStep: "tape", SpacerStep: "spacer", ShieldStep: "shield"}
    return sheet_document.SheetStep(
        step=operation.number,
        kind=kinds[type(operation.step)],
        work=row.work,
        sections=[
            sheet_document.SheetSection(
                winding=section.winding,
                section=section.ordinal,
                sections=section.count,
                turns=section.turns,
                layers=list(section.layers),
                turning=str(design.winding(section.winding).turning),
                start=design.winding(section.winding).start,
                finish=design.winding(section.winding).finish,
                wire_length_m=section.length,
            )
            for section in operation.sections
        ],
        place=row.place,
        height_m=record_of(sheet_document.Height, operation.height),
        left_m=operation.remaining,
        tape_length_m=operation.tape_length,
    )


def _reading_json(reading: ShopReading) -> sheet_document.SheetDocumentReading:
    return record_of(
        sheet_document.SheetDocumentReading,
        reading,
        after_step=reading.after,
        unit=words.unit_of(reading.measure),
        expected=words.json_number(reading.expected, reading.measure),
        limits=shared_records.Limits(min=reading.minimum, max=reading.maximum),
        points_to=record_of(sheet_document.PointsTo, reading),
        mistakes=[
            sheet_document.Mistake(
                mistake=fault.title, reading=fault.reading, told=fault.told, caught=fault.outside
            )
            for fault in reading.faults
        ],
    )
