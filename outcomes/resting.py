"""Which findings rest after a decision, until when, and what never rests."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from clinic.templatetags.clinic_format import day

from .models import CaseReview

if TYPE_CHECKING:
    from collections.abc import Iterable

    from .science.stall import Finding

Findings = tuple["Finding", ...]

# A review never quiets these: an undecided red flag and worsening (10.2: never silent).
NEVER_REST = {"red_flag", "worsening"}
WHY_NOT = {
    "red_flag": "it stands until somebody has decided on the answer in words",
    "worsening": "a worsening stays in sight until the scores no longer show it",
}
NOT_DISCHARGED = (
    "Nothing rests until the case is discharged: finish the discharge below. Left "
    "unfinished, the case goes on asking for a review."
)


def resting_keys(review: CaseReview | None, on: date) -> set[str]:
    """Return the rules that rest on a day; a decision to discharge rests none."""
    if review is None or on >= review.look_again_on:
        return set()
    if review.decision == CaseReview.Decision.DISCHARGE:
        return set()
    return set(review.findings) - NEVER_REST


def parted(
    findings: Iterable[Finding], review: CaseReview | None, on: date
) -> tuple[Findings, Findings]:
    """Part the findings that ask for a review from those that rest until a day."""
    rests, found = resting_keys(review, on), list(findings)
    awake = tuple(f for f in found if f.rule.key not in rests)
    return awake, tuple(f for f in found if f.rule.key in rests)


def decided_keys(review: CaseReview | None, on: date) -> set[str]:
    """Return the rules that were decided on and go on standing."""
    if review is None or on >= review.look_again_on:
        return set()
    return set(review.findings) - resting_keys(review, on) - {"red_flag"}


def decided_words(review: CaseReview | None) -> str:
    """Return "Decided 25 Nov 2026: refer on, look again 16 Dec 2026"."""
    if review is None:
        return ""
    decision = review.get_decision_display().lower()
    decided, again = day(review.reviewed_on), day(review.look_again_on)
    return f"Decided {decided}: {decision}, look again {again}"


def what_rests(review: CaseReview, findings: Iterable[Finding]) -> str:
    """Say for each finding that was seen whether it rests, until when, or why not."""
    if review.decision == CaseReview.Decision.DISCHARGE:
        return NOT_DISCHARGED
    awake, resting = parted(findings, review, review.reviewed_on)
    sentences = [
        f"“{finding.title}” rests until {day(review.look_again_on)}."
        for finding in resting
    ]
    sentences += [
        f"“{finding.title}” does not rest: {WHY_NOT[finding.rule.key]}."
        for finding in awake
        if finding.rule.key in WHY_NOT
    ]
    return " ".join(sentences) or "Nothing asked for a review, so nothing rests."
