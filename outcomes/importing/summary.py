"""Says in words what an import did or would do."""

from dataclasses import dataclass

from ..science.measures import QUESTIONNAIRES, measure
from .caseload import Report
from .reading import shown

# Project assumption: who lacks more people has the wrong site or the wrong column.
NAMED = 20
NAMES = {
    "patients": "patients",
    "episodes": "episodes",
    "discharges": "discharges of open episodes",
    "visits": "visits",
    "pain": "days with pain scores",
    **dict.fromkeys(QUESTIONNAIRES, ""),
    "activities": "activities in the patients’ words",
}


@dataclass(frozen=True, slots=True)
class Count:
    """One kind of record: how many are new, how many were there already."""

    name: str
    added: int
    known: int

    @property
    def title(self) -> str:
        """The name as it begins a line."""
        return self.name[:1].upper() + self.name[1:]


def counts(report: Report) -> list[Count]:
    """Return every kind of record that occurs, in the order of a record."""
    return [
        Count(NAMES[key] or measure(key).short_name, report.added[key], known)
        for key in NAMES
        if (known := report.known[key]) or report.added[key]
    ]


def remarks(report: Report) -> list[str]:
    """Return what else somebody should know."""
    said = []
    if report.visits_assumed:
        said.append(
            f"{report.visits_assumed:,} days hold pain scores or notes but no "
            "attendance: they count as attended visits."
        )
    if report.withdrawn:
        said.append(
            f"{report.withdrawn:,} entries were voided in the app: they stay voided."
        )
    return said


def summary(report: Report) -> list[str]:
    """Return the counts and remarks as lines of text."""
    width = max((len(count.name) for count in counts(report)), default=0)
    lines = [
        f"{count.title:<{width}} {count.added:>8,} new {count.known:>8,} already there"
        for count in counts(report)
    ]
    return [*lines, *remarks(report)]


def missing_people(report: Report) -> str:
    """Name who is missing, the most named first; nothing if nobody is."""
    named = [
        f"{shown(name)} ({rows:,} {'row' if rows == 1 else 'rows'})"
        for name, rows in report.missing.most_common(NAMED)
    ]
    if not named:
        return ""
    count = len(report.missing)
    who = "1 person is" if count == 1 else f"{count:,} people are"
    more = f" and {count - NAMED:,} more" if count > NAMED else ""
    return f"{who} missing here: {', '.join(named)}{more}."


def outcome(report: Report) -> str:
    """Return the one sentence that says whether anything was stored."""
    if not report.is_sound:
        what = "fault was" if report.problem_count == 1 else "faults were"
        return (
            f"Nothing was stored: {report.problem_count:,} {what} found. Correct "
            "the files and bring them in again."
        )
    if not report.added:
        return "Everything in the files was there already; nothing is to be added."
    if not report.is_stored:
        return "Checked: the files can be brought in. Nothing was stored yet."
    return "Everything was stored."


def sentence(report: Report) -> str:
    """Return what was stored as one sentence."""
    added = [f"{count.name} {count.added:,}" for count in counts(report) if count.added]
    return f"{outcome(report)} New: {', '.join(added)}." if added else outcome(report)
