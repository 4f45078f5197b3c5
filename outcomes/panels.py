"""Panels of the case page: a figure, the same numbers as a table, the verdict."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from clinic.models import Episode
from clinic.sourced.sources import ASSUMED
from clinic.templatetags.clinic_format import day, score, signed

from .caseload import judge
from .models import PAIN_KINDS, Assessment, PainScore
from .science.mcid import Change, Point, classify_change
from .science.measures import Measure, catalogue, measure
from .science.policy import StallPolicy
from .science.primary import limits_shown, thresholds_in_force
from .science.thresholds import Threshold

NO_BAND = (
    "No band: other activities were rated than at first, and the verdict covers only "
    "those rated both times."
)


@dataclass(frozen=True, slots=True)
class Chart:
    """A figure with the same numbers as a table."""

    id: str
    title: str
    direction: str
    json: dict[str, Any]
    table_head: tuple[str, ...]
    table_rows: list[tuple[str, ...]]
    notes: tuple[str, ...]
    also: tuple[str, ...] = ()  # names of what is drawn only when asked for


@dataclass(frozen=True, slots=True)
class Panel:
    """One measure of the case: its course and what it amounts to."""

    about: Measure
    change: Change | None
    chart: Chart
    latest_on: date
    unscored: tuple[Assessment, ...] = ()


def measure_panels(
    episode: Episode,
    assessments: Sequence[Assessment],
    marks: Sequence[tuple[date, str]],
    *,
    policy: StallPolicy,
    span: tuple[date, date],
    words: Mapping[str, str],
) -> list[Panel]:
    """Return a panel per questionnaire that has a score, the primary one first.

    `marks` are days of decisions and other care, in words; `words` are those of the
    patient's activities, by number.
    """
    kept = {
        key: [row for row in assessments if row.measure == key]
        for key, about in catalogue().items()
        if about.kind == "questionnaire"
    }
    keys = sorted(
        (key for key, rows in kept.items() if any(r.score is not None for r in rows)),
        key=lambda key: key != episode.primary_measure,
    )
    return [
        _panel(
            measure(key),
            kept[key],
            marks,
            episode,
            policy=policy,
            span=span,
            words=words,
        )
        for key in keys
    ]


def _panel(
    about: Measure,
    kept: Sequence[Assessment],
    marks: Sequence[tuple[date, str]],
    episode: Episode,
    *,
    policy: StallPolicy,
    span: tuple[date, date],
    words: Mapping[str, str],
) -> Panel:
    from .science.charts import Bands, Marked, measure_figure

    rows = [row for row in kept if row.score is not None]
    points = [as_point(row) for row in rows]
    change = judge(about, points, case=episode, policy=policy, words=words)
    limits = limits_shown(about, points, change, policy)
    first = points[0].value
    figure = measure_figure(
        about,
        [(point.on, point.value) for point in points],
        bands=limits and Bands(first, limits[0].value, limits[1].value),
        marks=[Marked(on, words) for on, words in marks],
        span=span,
    )
    return Panel(
        about,
        change,
        _measure_chart(about, rows, figure, limits),
        latest_on=points[-1].on,
        unscored=tuple(row for row in kept if row.score is None),
    )


def as_point(row: Assessment) -> Point:
    """Return a scored assessment as a point of a course."""
    return Point(
        value=row.score or 0.0,
        on=row.assessed_on,
        edition=row.edition,
        mode=row.mode,
        language=row.language,
        wording=str(row.wording_id or ""),
        answers=row.answers,
    )


def scale_words(about: Measure) -> str:
    """Return range and direction in words, for the caption of a panel."""
    direction = f", {about.better.sentence}" if about.better else ""
    return f"{about.low:g} to {about.high:g}{direction}"


def _measure_chart(
    about: Measure,
    rows: Sequence[Assessment],
    figure: dict[str, Any],
    limits: tuple[Threshold, Threshold] | None,
) -> Chart:
    first = rows[0].score
    better = about.better
    return Chart(
        id=f"chart-{about.key.replace('_', '-')}",
        title=about.name,
        direction=scale_words(about),
        json=figure,
        table_head=("Day", "Score", "Gain since the first", "How answered"),
        table_rows=[
            (
                day(row.assessed_on),
                score(row.score),
                signed(better.gain(first, row.score)) if better and at else "first",
                row.get_mode_display(),
            )
            for at, row in enumerate(rows)
        ],
        notes=_threshold_notes(limits),
    )


def _threshold_notes(limits: tuple[Threshold, Threshold] | None) -> tuple[str, ...]:
    """Say what the hatched band and the dashed line are, and who says so."""
    if limits is None:
        return (NO_BAND,)
    mdc, mcid = limits
    level = f", {mdc.level} % level" if mdc.level else ""
    error = "assumed error" if mdc.source.mark == ASSUMED else "measurement error"
    of = " of a single activity" if mdc.applies_to == "single" else ""
    return (
        f"Hatched: {error}{of}, {mdc.value:g} points either side of the "
        f"first score, the thin line ({mdc.source.brief}{level}).",
        f"Dashed line: the change that matters{of}, {mcid.value:g} points "
        f"({mcid.source.brief}).",
    )


def pain_panel(
    episode: Episode,
    rows: Sequence[PainScore],
    *,
    policy: StallPolicy,
    span: tuple[date, date],
) -> Panel | None:
    """Return the pain panel, or None where no pain was ever rated."""
    from .science.charts import Bands, pain_figure

    if not rows:
        return None
    about = measure("pain_worst")
    ratings = {kind: _ratings(rows, kind) for kind in PAIN_KINDS}
    worst = ratings["worst"]
    change = pain_change(worst, episode, policy)
    limits = thresholds_in_force(about, policy)
    bands = Bands(worst[0][1], *(one.value for one in limits)) if worst else None
    figure = pain_figure(about, ratings, bands=bands, span=span)
    chart = _pain_chart(about, rows, figure, limits)
    return Panel(about, change, chart, latest_on=rows[-1].rated_on)


def _ratings(rows: Sequence[PainScore], kind: str) -> list[tuple[date, float]]:
    return [
        (row.rated_on, value)
        for row in rows
        if (value := getattr(row, kind)) is not None
    ]


def pain_change(
    worst: Sequence[tuple[date, float]], episode: Episode, policy: StallPolicy
) -> Change | None:
    """Judge worst pain from the first to the latest rating; None below two."""
    if len(worst) < 2:
        return None
    about = measure("pain_worst")
    first, last = (
        Point(value, on, about.edition, mode="", language="")
        for on, value in (worst[0], worst[-1])
    )
    return classify_change(
        about.key,
        first,
        last,
        opened_on=episode.opened_on,
        mcid=policy.pain_points,
        baseline_within_days=policy.baseline_days,
    )


def _pain_chart(
    about: Measure,
    rows: Sequence[PainScore],
    figure: dict[str, Any],
    limits: tuple[Threshold, Threshold],
) -> Chart:
    from .science.charts import ALWAYS_DRAWN

    return Chart(
        id="chart-pain",
        title="Pain",
        direction=scale_words(about),
        json=figure,
        table_head=("Day", *(kind.capitalize() for kind in PAIN_KINDS)),
        table_rows=[
            (day(row.rated_on), *(score(getattr(row, k)) for k in PAIN_KINDS))
            for row in rows
        ],
        notes=_threshold_notes(limits),
        also=tuple(
            kind.capitalize()
            for kind in PAIN_KINDS
            if kind not in ALWAYS_DRAWN and _ratings(rows, kind)
        ),
    )
