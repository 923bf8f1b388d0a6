"""The JSON of ``explain``."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from ...compare.diagnosis import Diagnosis, NextTest, RankedCause, ReadingUnderCause, RunnerUp
from ..documents import explain_document, shared_records
from ..documents.record import as_object, record_of
from . import words
from .failed_limits import limits_json


def diagnosis_json(diagnoses: Sequence[Diagnosis]) -> dict[str, Any]:
    """The contract's object of ``explain --json``."""
    return as_object(
        explain_document.ExplainDocument(samples=[_sample_json(diagnosis) for diagnosis in diagnoses])
    )


def _sample_json(diagnosis: Diagnosis) -> explain_document.ExplainSample:
    rival, odd = diagnosis.runner_up, diagnosis.odd_reading
    return record_of(
        explain_document.ExplainSample,
        diagnosis,
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
        runner_up=None if rival is None else _runner_up_json(rival),
        families=[record_of(explain_document.ExplainFamily, family) for family in diagnosis.families],
        readings=_readings_json(diagnosis.readings),
        bench_limit=diagnosis.bench_limit or None,
        failed_limits=limits_json(diagnosis),
        odd_reading=None if odd is None else record_of(explain_document.ExplainOddReading, odd),
    )


def _runner_up_json(rival: RunnerUp) -> explain_document.ExplainRunnerUp:
    readings = [
        explain_document.RunnerUpReading(name=name, log_ratio=ratio) for name, ratio in rival.readings
    ]
    return record_of(explain_document.ExplainRunnerUp, rival, readings=readings)


def _test_json(test: NextTest) -> explain_document.ExplainNextTest:
    return record_of(
        explain_document.ExplainNextTest,
        test,
        intervention=test.intervention or None,
        instruction=test.instruction or None,
    )


def cause_json(cause: RankedCause) -> shared_records.RankedCauseRecord:
    """One cause as the contract has it."""
    return record_of(
        shared_records.RankedCauseRecord,
        cause,
        class_=cause.kind,
        amount_low=cause.low,
        amount_high=cause.high,
        also=None if cause.also is None else record_of(shared_records.Also, cause.also),
        readings=_readings_json(cause.readings),
    )


def _readings_json(readings: Sequence[ReadingUnderCause]) -> list[shared_records.ReadingRecord]:
    return [
        record_of(
            shared_records.ReadingRecord,
            reading,
            expected=words.json_number(reading.expected, reading.measure),
        )
        for reading in readings
    ]
