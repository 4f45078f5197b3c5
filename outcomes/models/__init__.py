"""Tables of outcomes: what was measured, decided, written to others and given out."""

from .audited import AuditExport, ClinicChange, ExportedCase, FrozenReference
from .decided import CaseReview, SitePolicy
from .letter import Letter
from .measured import PAIN_KINDS, Activity, Assessment, PainScore, Wording
from .physical import PhysicalResult
from .waiting import PendingImport

__all__ = [
    "PAIN_KINDS",
    "Activity",
    "Assessment",
    "AuditExport",
    "CaseReview",
    "ClinicChange",
    "ExportedCase",
    "FrozenReference",
    "Letter",
    "PainScore",
    "PendingImport",
    "PhysicalResult",
    "SitePolicy",
    "Wording",
]
