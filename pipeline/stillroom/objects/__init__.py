"""What plugins hand over and are handed: plain frozen objects, so that the host can list and check them."""

from __future__ import annotations

from stillroom.house.base import NoSettings, Settings
from stillroom.objects.cautions import Caution, CommonIngredients, SpecFacts
from stillroom.objects.findings import Column, Finding, ReportChart, ReportResult, ReportTable, Sureness
from stillroom.objects.reports import Decision, HouseFacts, MenuChange, MenuVerdict, Period, Report, ReportInputs
from stillroom.objects.sources import Malformed, Source, SourceFile, TextBatch
from stillroom_schemas.table import Reference, Table

__all__ = [
    "Caution",
    "Column",
    "CommonIngredients",
    "Decision",
    "Finding",
    "HouseFacts",
    "Malformed",
    "MenuChange",
    "MenuVerdict",
    "NoSettings",
    "Period",
    "Reference",
    "Report",
    "ReportChart",
    "ReportInputs",
    "ReportResult",
    "ReportTable",
    "Settings",
    "Source",
    "SourceFile",
    "SpecFacts",
    "Sureness",
    "Table",
    "TextBatch",
]
