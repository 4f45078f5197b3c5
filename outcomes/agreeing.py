"""What the other measures of a case say beside the findings of its primary one."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from .caseload import CaseRow
from .panels import Panel
from .science.phrases import day_words

if TYPE_CHECKING:
    from .science.stall import Finding

SAY_WORSE = {"worsening", "one_low_look"}
ON_PROGRESS = {"target_not_reached", "no_measurable_progress", "plateau_supported"}


def beside_findings(row: CaseRow, panels: Sequence[Panel]) -> CaseRow:
    """Return the case with each other measure that is worse named in its findings.

    Only a loss beyond the error of that measure counts, from its first score to its
    latest. Worst pain and the global rating are read by the rules themselves.
    """
    worse = [panel for panel in panels if _is_worse(panel, row)]
    if not worse:
        return row
    findings = tuple(_told(finding, worse, row) for finding in row.findings)
    return replace(row, findings=findings)


def _is_worse(panel: Panel, row: CaseRow) -> bool:
    change = panel.change
    if panel.about.key == row.about.key or change is None or change.gain is None:
        return False
    return change.gain < 0 and bool(change.is_detectable)


def _told(finding: Finding, worse: Sequence[Panel], row: CaseRow) -> Finding:
    if finding.rule.key not in SAY_WORSE | ON_PROGRESS:
        return finding
    also = "also " if finding.rule.key in SAY_WORSE else ""
    say = "say" if len(worse) > 1 else "says"
    named = _listed([_named(panel, row) for panel in worse])
    return finding.beside(f"{named} {also}{say} worse, beyond error.")


def _named(panel: Panel, row: CaseRow) -> str:
    """Return the measure, with its day where it was not taken with the primary one."""
    if row.latest and panel.latest_on == row.latest.on:
        return panel.about.short_name
    return f"{panel.about.short_name} ({day_words(panel.latest_on)})"


def _listed(names: Sequence[str]) -> str:
    return " and ".join([*([", ".join(names[:-1])] if names[1:] else []), names[-1]])
