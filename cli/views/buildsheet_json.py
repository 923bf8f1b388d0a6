"""The build sheet as data."""

from __future__ import annotations

from typing import Any

from ...compare.plan import ShopReading
from ...predict.design import Design, ShieldStep, SpacerStep, TapeStep, WindStep
from ...predict.shop import Operation, bill_of_material, wire_cuts
from ..documents import shared_records, sheet_document
from ..documents.record import as_object
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
                        sheet_document.SheetInsulation(
                            what=part.what, count=part.count, thickness_m=part.thickness
                        )
                        for part in face.insulation
                    ],
                )
                for face in whole.build.faces
            ],
            cuts=[
                sheet_document.SheetCut(
                    winding=cut.winding,
                    section=cut.section,
                    sections=cut.sections,
                    pieces=cut.pieces,
                    length_m=cut.length,
                    wound_m=cut.wound,
                    tails_m=cut.tails,
                )
                for cut in wire_cuts(design)
            ],
            materials=[
                sheet_document.SheetMaterial(
                    kind=item.kind,
                    item=item.what,
                    used_for=item.used_for,
                    pieces=item.pieces,
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
        height_m=sheet_document.Height(
            nominal=operation.height.nominal, low=operation.height.low, high=operation.height.high
        ),
        left_m=operation.remaining,
        tape_length_m=operation.tape_length,
    )


def _reading_json(reading: ShopReading) -> sheet_document.SheetDocumentReading:
    return sheet_document.SheetDocumentReading(
        after_step=reading.after,
        stage=reading.stage,
        name=reading.name,
        measure=reading.measure,
        unit=words.unit_of(reading.measure),
        where=reading.where,
        frequency=reading.frequency,
        expected=words.json_number(reading.expected, reading.measure),
        limits=shared_records.Limits(min=reading.minimum, max=reading.maximum),
        specified=reading.specified,
        judged=reading.judged,
        uncertainty=reading.uncertainty,
        temperature=reading.temperature,
        points_to=sheet_document.PointsTo(above=list(reading.above), below=list(reading.below)),
        one_turn=reading.one_turn,
        mistakes=[
            sheet_document.Mistake(
                mistake=fault.title, reading=fault.reading, told=fault.told, caught=fault.outside
            )
            for fault in reading.faults
        ],
    )
