"""The JSON of ``explain``."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from ...compare.diagnosis import Diagnosis, NextTest, OddReading, RankedCause, ReadingUnderCause, RunnerUp
from ..documents import explain_document, shared_records
from ..documents.record import as_object
from . import words
from .failed_limits import limits_json


def diagnosis_json(diagnoses: Sequence[Diagnosis]) -> dict[str, Any]:
    """The contract's object of ``explain --json``."""
    return as_object(
        explain_document.ExplainDocument(samples=[_sample_json(diagnosis) for diagnosis in diagnoses])
    )


def _sample_json(diagnosis: Diagnosis) -> explain_document.ExplainSample:
    return explain_document.ExplainSample(
        sample=diagnosis.sample,
        as_designed=diagnosis.as_designed,
        unlisted=diagnosis.unlisted,
        causes=[cause_json(cause) for cause in diagnosis.causes],
        next_tests=[_test_json(test) for test in diagnosis.next_tests],
        alike=[
            explain_document.ExplainAlike(
                causes=[
                    explain_document.ExplainCause(cause=cause, where=where) for cause, where in group.causes
                ],
                probability=group.probability,
                separated_by=None if group.separated_by is None else _test_json(group.separated_by),
            )
            for group in diagnosis.alike
        ],
        notes=list(diagnosis.notes),
        robust=diagnosis.robust,
        runner_up=_runner_up_json(diagnosis.runner_up),
        families=[
            explain_document.ExplainFamily(
                name=family.name,
                title=family.title,
                causes=[[cause, where] for cause, where in family.causes],
                probability=family.probability,
            )
            for family in diagnosis.families
        ],
        readings=_readings_json(diagnosis.readings),
        tests=diagnosis.tests,
        bench_limit=diagnosis.bench_limit or None,
        failed_limits=limits_json(diagnosis),
        odd_reading=_odd_json(diagnosis.odd_reading),
    )


def _odd_json(odd: OddReading | None) -> explain_document.ExplainOddReading | None:
    if odd is None:
        return None
    return explain_document.ExplainOddReading(
        name=odd.name, expected=odd.expected, uncertainty=odd.uncertainty, read=odd.read, score=odd.score
    )


def _runner_up_json(rival: RunnerUp | None) -> explain_document.ExplainRunnerUp | None:
    if rival is None:
        return None
    return explain_document.ExplainRunnerUp(
        cause=rival.cause,
        where=rival.where,
        title=rival.title,
        probability=rival.probability,
        readings=[
            explain_document.RunnerUpReading(name=name, log_ratio=ratio) for name, ratio in rival.readings
        ],
    )


def _test_json(test: NextTest) -> explain_document.ExplainNextTest:
    return explain_document.ExplainNextTest(
        measure=test.measure,
        drive=test.drive,
        short=test.short,
        sense=test.sense,
        frequency=test.frequency,
        bits=test.bits,
        why=test.why,
        intervention=test.intervention or None,
        instruction=test.instruction or None,
        effort=test.effort,
    )


def cause_json(cause: RankedCause) -> shared_records.RankedCauseRecord:
    """One cause as the contract has it."""
    also = cause.also
    return shared_records.RankedCauseRecord(
        cause=cause.cause,
        class_=cause.kind,
        where=cause.where,
        title=cause.title,
        amount=cause.amount,
        amount_low=cause.low,
        amount_high=cause.high,
        probability=cause.probability,
        marginal=cause.marginal,
        also=None
        if also is None
        else shared_records.Also(cause=also.cause, where=also.where, amount=also.amount),
        confirm=cause.confirm,
        remedy=cause.remedy,
        confusable=list(cause.confusable),
        caution=cause.caution,
        readings=_readings_json(cause.readings),
    )


def _readings_json(readings: Sequence[ReadingUnderCause]) -> list[shared_records.ReadingRecord]:
    return [
        shared_records.ReadingRecord(
            name=reading.name,
            expected=words.json_number(reading.expected, reading.measure),
            read=reading.read,
            score=reading.score,
        )
        for reading in readings
    ]
