"""Named review findings over a caseload's courses on one day.

One definition serves one case and a whole caseload: `evaluate` works on arrays
with a row per case. A finding asks for a review; it never says that a patient has
failed, and "plateau supported" is said only where the whole course excludes
worthwhile improvement. The clinician decides.

Ranks 4 to 6 are silent at goal and where the baseline leaves no room for an
important gain; ranks 4 to 7 are withheld while a red-flag answer is undecided.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date

import numpy as np

from .courses import NAN, Attended, CaseCourse, Courses, Floats, Whole, only_row
from .phrases import Evidence
from .policy import StallPolicy, from_values
from .progress import Flags, Progress, read_progress
from .reasons import reason_for, silent_words, title_for
from .rules import RULES, SILENCED, WITHHELD, Rule
from .worse_reasons import ALONE, NOT_ALONE

__all__ = [
    "RULES",
    "Attended",
    "CaseCourse",
    "Courses",
    "Evaluation",
    "Finding",
    "Rule",
    "StallPolicy",
    "evaluate",
    "evaluate_case",
    "from_values",
]


@dataclass(frozen=True, slots=True)
class Finding:
    """One reason to look at a case again, with since when and the evidence."""

    rule: Rule
    rank: int
    title: str
    since: date
    sentence: str
    evidence: Evidence

    def beside(self, words: str) -> Finding:
        """Return the finding with what other measures say of the same course."""
        start = self.sentence.removesuffix(ALONE).removesuffix(NOT_ALONE).strip()
        end = f" {NOT_ALONE}" if self.rule is Rule.ONE_LOW_LOOK else ""
        return replace(self, sentence=f"{start} {words}{end}")


@dataclass(frozen=True, slots=True)
class Evaluation:
    """Which findings hold for each case on one day.

    `flags` and `since_days` have one row per case and one column per rule, in the
    order of `RULES`; a day is nan where the finding does not hold.
    """

    progress: Progress
    flags: Flags
    since_days: Floats

    def __len__(self) -> int:
        """Return the number of cases."""
        return len(self.flags)

    def mask(self, rule: Rule) -> Flags:
        """Return which cases have the finding."""
        return self.flags[:, rule.rank - 1]

    def since_day(self, rule: Rule) -> Floats:
        """Return since which day each case has the finding, nan where it has not."""
        return self.since_days[:, rule.rank - 1]

    @property
    def top_rank(self) -> Whole:
        """Return the rank of each case's first finding, 0 where there is none."""
        first = self.flags.argmax(axis=1) + 1
        return np.where(self.flags.any(axis=1), first, 0)

    def findings(self, row: int) -> list[Finding]:
        """Return one case's findings in rank order."""
        held = [rule for rule, _ in RULES if self.mask(rule)[row]]
        case = only_row(self, row) if held else self
        return [case._finding(rule) for rule in held]

    def silent_reason(self, row: int) -> str | None:
        """Return why progress is not judged for a case, or None where it is."""
        if not self.progress.silent[row]:
            return None
        return silent_words(only_row(self.progress, row), 0)

    def _finding(self, rule: Rule) -> Finding:
        """Put one finding of a caseload of one into words."""
        reason = reason_for(rule, self.progress, 0)
        return Finding(
            rule=rule,
            rank=rule.rank,
            title=title_for(rule, self.progress, 0),
            since=date.fromordinal(int(self.since_day(rule)[0])),
            sentence=reason.sentence,
            evidence=reason.evidence,
        )


def evaluate(courses: Courses, *, policy: StallPolicy, on: date) -> Evaluation:
    """Return every finding of every case as of a day; later entries are left out."""
    with np.errstate(invalid="ignore"):
        progress = read_progress(courses, policy=policy, on=float(on.toordinal()))
        judged = [judge(progress) for _, judge in RULES]
    flags = np.stack([holds for holds, _ in judged], axis=1)
    flags &= ~_muted(progress, undecided=judged[0][0])
    since = np.stack([day for _, day in judged], axis=1)
    return Evaluation(
        progress=progress,
        flags=flags,
        since_days=np.where(flags, since, NAN),
    )


def evaluate_case(
    course: CaseCourse, *, policy: StallPolicy, on: date
) -> list[Finding]:
    """Return the findings of one case as of a day, in rank order."""
    courses = Courses.from_cases([course])
    return evaluate(courses, policy=policy, on=on).findings(0)


def _muted(progress: Progress, *, undecided: Flags) -> Flags:
    """Return which findings are not shown: progress is not, or not yet, judged."""
    silenced = np.array([rule in SILENCED for rule, _ in RULES])
    withheld = np.array([rule in WITHHELD for rule, _ in RULES])
    muted: Flags = progress.silent[:, None] & silenced
    muted |= undecided[:, None] & withheld
    return muted
