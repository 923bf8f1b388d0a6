"""What ``report --json`` says: where the page is, and what it shows, each part as its own command has it."""

from __future__ import annotations

from importlib.metadata import version
from typing import Any

from ...compare.verdict import RULES
from ..documents import report_document, shared_records
from ..documents.record import as_object
from .comparison import comparison_json
from .diagnosis_data import diagnosis_json
from .faults_seen import coverage_json
from .fixture import fixture_json
from .lot import lot_json
from .prediction import prediction_json
from .report_input import ReportInput
from .report_samples import summary, verdicts
from .sheet import plan_json


def report_json(given: ReportInput, file: str, *, deviates: bool) -> dict[str, Any]:
    """The object of ``report --json``.

    Parameters
    ----------
    given : ReportInput, what the report is made of
    file : str, name of the page
    deviates : bool, whether something deviates

    Returns
    -------
    dict[str, Any]
        The page's verdicts, and under the names of the commands what they print of the same inputs; None for
        those without readings.
    """
    design = given.forecast.design
    fixture = fixture_json(given.correction)
    predict: Any = prediction_json(given.forecast)
    plan: Any = plan_json(design, given.plan)
    faults: Any = None if given.coverage is None else coverage_json(given.coverage)
    left_out = list(given.left_out)
    rule = shared_records.DecisionRule(name=given.rule, statement=RULES[given.rule])
    compare: Any = {**comparison_json(given.samples), **fixture} if given.samples else None
    explain: Any = None
    if given.diagnoses:
        explain = {**diagnosis_json(given.diagnoses), **fixture, "left_out": left_out}
    whole: Any = None
    if given.lot is not None:
        whole = {**lot_json(given.lot), "decision_rule": rule, "left_out": left_out, **fixture}
    return as_object(
        report_document.ReportDocument(
            design=design.title,
            version=version("aswound"),
            file=file,
            deviates=deviates,
            summary=summary(given),
            verdicts=[
                report_document.ReportVerdict(
                    sample=row.sample, verdict=row.badge, compared=row.compared, explained=row.explained
                )
                for row in verdicts(given)
            ],
            command=given.command,
            builds=given.builds,
            seed=given.seed,
            inputs=[
                report_document.Input(name=source.name, bytes=len(source.data)) for source in given.sources
            ],
            predict=predict,
            plan=plan,
            faults=faults,
            compare=compare,
            explain=explain,
            lot=whole,
        )
    )
