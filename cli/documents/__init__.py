"""What each ``--json`` holds: one dataclass an object, from which data and schema are made (``record``)."""

from __future__ import annotations

from importlib import import_module

DOCUMENTS = {
    "check": ("check_document", "CheckDocument"),
    "compare": ("compare_document", "CompareDocument"),
    "cores": ("catalogue_documents", "CoresDocument"),
    "explain": ("explain_document", "ExplainDocument"),
    "interleave": ("interleave_document", "InterleaveDocument"),
    "keys": ("catalogue_documents", "KeysDocument"),
    "lot": ("lot_document", "LotDocument"),
    "materials": ("catalogue_documents", "MaterialsDocument"),
    "netlist": ("netlist_document", "NetlistDocument"),
    "plan": ("plan_document", "PlanDocument"),
    "predict": ("predict_document", "PredictDocument"),
    "report": ("report_document", "ReportDocument"),
    "sheet": ("sheet_document", "SheetDocument"),
    "sweep": ("sweep_document", "SweepDocument"),
    "wires": ("catalogue_documents", "WiresDocument"),
}
"""Command → module and class of its document."""


def document(command: str) -> type:
    """The dataclass of a command's document."""
    module, name = DOCUMENTS[command]
    found: type = getattr(import_module(f".{module}", __name__), name)
    return found


__all__ = ["DOCUMENTS", "document"]
