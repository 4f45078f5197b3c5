"""Read model of the caseload: a fixed number of queries, one row per case."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

from clinic.models import Episode, Screen, Visit

from .models import CaseReview
from .resting import decided_keys, decided_words, parted
from .science.mcid import NO_WORDS, Change, Point, classify_change
from .science.measures import Measure, measure
from .science.policy import StallPolicy
from .science.primary import limits_shown
from .science.strip import Strip, draw_strip

if TYPE_CHECKING:
    from .frames import Readings
    from .science.stall import Finding

# Progress findings after which the full red-flag screen is asked again.
ASK_FULL_SCREEN = {
    "worsening",
    "target_not_reached",
    "no_measurable_progress",
    "plateau_supported",
}
LOW_STRIP, LARGE_STRIP = 34, (330, 120)  # drawing units, about pixels
# Why the visit form asks the full screen.
NO_FULL_SCREEN = (
    "The full list is asked because this case has no full red-flag screen on record."
)
STALLED_SINCE = (
    "The full list comes back because this case is stalled or worsening: look again "
    "for something missed before changing the plan."
)


@dataclass(frozen=True, slots=True)
class CaseRow:
    """One case as the caseload shows it."""

    episode: Episode
    about: Measure
    baseline: Point | None
    latest: Point | None
    change: Change | None
    findings: tuple[Finding, ...]
    resting: tuple[Finding, ...]
    review: CaseReview | None
    decided: frozenset[str]
    undecided: Screen | None
    silent_reason: str | None
    strip: Strip
    weeks: int
    last_seen_on: date | None
    planned_on: date | None

    @property
    def rank(self) -> int:
        """Return the rank of the first finding that asks for a review; 99 for none."""
        return self.findings[0].rank if self.findings else 99

    @property
    def row_strip(self) -> Strip:
        """Return the strip of a caseload row; low where nothing asks for a review."""
        return self.strip if self.findings else self.strip.sized(height=LOW_STRIP)

    @property
    def large_strip(self) -> Strip:
        """Return the strip of the case page."""
        return self.strip.sized(width=LARGE_STRIP[0], height=LARGE_STRIP[1])

    @property
    def decided_on(self) -> list[Finding]:
        """Return the findings that were decided on and go on standing."""
        return [f for f in self.findings if f.rule.key in self.decided]

    @property
    def decided_note(self) -> str:
        """Return the decision that stands beside a finding that does not rest."""
        return decided_words(self.review)

    @property
    def gain(self) -> float | None:
        """Return the gain since baseline in points, positive means better."""
        return self.change.gain if self.change else None


def build_caseload(
    episodes: Iterable[Episode], *, policy: StallPolicy, on: date
) -> list[CaseRow]:
    """Judge every case on a day; runs a fixed number of queries."""
    from .frames import as_courses, read_courses
    from .science.stall import evaluate

    readings = read_courses(episodes)
    judged = evaluate(as_courses(readings, policy), policy=policy, on=on)
    return [
        _row(
            case,
            readings,
            findings=_asking(judged.findings(at), case),
            silent_reason=judged.silent_reason(at) if case.is_open else None,
            policy=policy,
            on=on,
        )
        for at, case in enumerate(readings.episodes)
    ]


def _asking(findings: list[Finding], case: Episode) -> list[Finding]:
    """Return what asks: of an ended case, an undecided red-flag answer only."""
    if case.is_open:
        return findings
    return [f for f in findings if f.rule.key == "red_flag" and case.is_standing]


def _row(
    case: Episode,
    readings: Readings,
    *,
    findings: list[Finding],
    silent_reason: str | None,
    policy: StallPolicy,
    on: date,
) -> CaseRow:
    from .frames import planned_on

    about = measure(case.primary_measure)
    until = case.discharged_on or on
    points = [look.as_point() for look in readings.looks.get(case.pk, ())]
    points = [point for point in points if point.on <= on]
    review = readings.reviews.get(case.pk)
    awake, resting = parted(findings, review, on)
    return CaseRow(
        episode=case,
        about=about,
        baseline=points[0] if points else None,
        latest=points[-1] if points else None,
        change=judge(about, points, case=case, policy=policy),
        findings=awake,
        resting=resting,
        review=review,
        decided=frozenset(decided_keys(review, on)),
        undecided=readings.undecided.get(case.pk),
        silent_reason=silent_reason,
        strip=_strip(about, points, case=case, policy=policy, until=until),
        weeks=(until - case.opened_on).days // 7,
        last_seen_on=last_seen(readings, case.pk),
        planned_on=planned_on(readings, case.pk),
    )


def _strip(
    about: Measure,
    points: list[Point],
    *,
    case: Episode,
    policy: StallPolicy,
    until: date,
) -> Strip:
    change = judge(about, points, case=case, policy=policy)
    limits = limits_shown(about, points, change, policy)
    return draw_strip(
        about,
        [(point.on, point.value) for point in points],
        mdc=limits[0].value if limits else None,
        mcid=limits[1].value if limits else None,
        opened_on=case.opened_on,
        on=until,
    )


def judge(
    about: Measure,
    points: list[Point],
    *,
    case: Episode,
    policy: StallPolicy,
    words: Mapping[str, str] = NO_WORDS,
) -> Change | None:
    """Judge the change from the first to the latest score; None below two scores.

    `words` are those of the patient's activities, by number.
    """
    if len(points) < 2 or about.better is None:
        return None
    return classify_change(
        about.key,
        points[0],
        points[-1],
        opened_on=case.opened_on,
        mdc=policy.mdc_for(about.key),
        mcid=policy.mcid_for(about.key),
        baseline_within_days=policy.baseline_days,
        words=words,
    )


def last_seen(readings: Readings, episode_id: int) -> date | None:
    """Return the day of the latest attended visit."""
    attended = Visit.Attendance.ATTENDED
    seen = [
        visit.visited_on
        for visit in readings.visits.get(episode_id, ())
        if visit.attendance == attended
    ]
    return seen[-1] if seen else None


def read_case(episode: Episode, *, policy: StallPolicy, on: date) -> CaseRow:
    """Judge one case as the caseload would."""
    (row,) = build_caseload([episode], policy=policy, on=on)
    return row


def full_screen_because(episode: Episode, *, policy: StallPolicy, on: date) -> str:
    """Return why the full screen is asked: none yet, or stalled or worse since."""
    last = (
        Screen.objects.standing()
        .filter(episode=episode, form=Screen.Form.FULL)
        .order_by("-answered_on")
        .first()
    )
    if last is None:
        return NO_FULL_SCREEN
    row = read_case(episode, policy=policy, on=on)
    since = [
        finding.since
        for finding in (*row.findings, *row.resting)
        if finding.rule.key in ASK_FULL_SCREEN
    ]
    return STALLED_SINCE if since and last.answered_on < max(since) else ""


def default_look_again(on: date) -> date:
    """Return the proposed day to look again: three weeks on, the re-measure rhythm."""
    return on + timedelta(weeks=3)
