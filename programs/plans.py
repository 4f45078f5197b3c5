"""What the programme page shows: phases, lines in words, their history and limits."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date, timedelta

from django.db.models import Prefetch

from clinic.models import Episode
from clinic.templatetags.clinic_format import day

from . import library
from .dose_words import dose_words, more_words
from .library_entries import Exercise, TimeLimit
from .lines import key_of, line_of
from .models import Phase, Prescription, Programme, SuggestionChoice
from .plan_volume import planned_week, volume_words


@dataclass(frozen=True, slots=True)
class Limit:
    """How long guidance supports an adjunct, counted for one line."""

    weeks: int
    ends_on: date
    is_past: bool
    about: TimeLimit

    @property
    def sentence(self) -> str:
        """The limit in words, with what to do."""
        if self.is_past:
            return (
                f"{self.weeks} weeks were over on {day(self.ends_on)}: review. Stop "
                "it, or change it with the reason why it goes on."
            )
        return f"{self.weeks} weeks, ends {day(self.ends_on)}; then review."


@dataclass(frozen=True, slots=True, kw_only=True)
class LineView:
    """One prescription as it is read; `earlier` are the lines that it replaced."""

    row: Prescription
    name: str
    key: str
    words: str
    more: list[str]
    volume: str
    easier: Exercise | None
    harder: Exercise | None
    limit: Limit | None
    earlier: tuple["LineView", ...] = ()

    @property
    def is_retired(self) -> bool:
        """Whether the clinic took its entry out of the choice meanwhile."""
        own = self.row.clinic_exercise
        return own is not None and own.retired_at is not None


@dataclass(frozen=True, slots=True)
class PhaseView:
    """A phase with its lines: in force or to come, waiting, and over."""

    row: Phase
    running: tuple[LineView, ...]
    waiting: tuple[LineView, ...]
    over: tuple[LineView, ...]


@dataclass(frozen=True, slots=True)
class ProgrammeView:
    """A programme with its phases and the planned volume of a week in words."""

    row: Programme
    phases: tuple[PhaseView, ...]
    week: str

    @property
    def running(self) -> tuple[LineView, ...]:
        """The lines of every phase that have begun and not stopped."""
        return tuple(line for phase in self.phases for line in phase.running)

    @property
    def limits(self) -> tuple[LineView, ...]:
        """The running lines whose time limit is over."""
        return tuple(line for line in self.running if line.limit and line.limit.is_past)

    @property
    def under_cuff(self) -> tuple[LineView, ...]:
        """The running lines that need an open flow-restriction screen."""
        return tuple(
            line for line in self.running if line_of(line.row).is_flow_restricted
        )


@dataclass(frozen=True, slots=True)
class CasePlan:
    """The programmes of a case: the running one, and the earlier ones, newest first."""

    running: ProgrammeView | None
    earlier: tuple[ProgrammeView, ...]


def plan_of(episode: Episode, *, on: date) -> CasePlan:
    """Return the programmes of a case; a fixed number of queries."""
    lines = Prescription.objects.standing().order_by("pk")
    people = ("clinic_exercise", "prescribed_by", "stopped_by")
    choices = SuggestionChoice.objects.select_related("chosen_by")
    rows = (
        Programme.objects.filter(episode=episode)
        .select_related("made_by", "copied_from", "voided_by")
        .prefetch_related(
            Prefetch("phases", Phase.objects.order_by("number")),
            Prefetch("phases__prescriptions", lines.select_related(*people)),
            Prefetch(
                "phases__prescriptions__suggestion_choices",
                choices.order_by("suggested_on", "pk"),
            ),
        )
        .order_by("-starts_on", "-pk")
    )
    views = [_programme(row, on=on) for row in rows]
    running = [one for one in views if not (one.row.ended_on or one.row.voided_at)]
    earlier = [one for one in views if one.row.ended_on or one.row.voided_at]
    return CasePlan(next(iter(running), None), tuple(earlier))


def _programme(row: Programme, *, on: date) -> ProgrammeView:
    phases = list(row.phases.all())
    lines = [line for phase in phases for line in phase.prescriptions.all()]
    by_pk = {line.pk: line for line in lines}
    views = tuple(_phase(phase, by_pk, on=on) for phase in phases)
    return ProgrammeView(row, views, planned_week(lines, on=on))


def _phase(phase: Phase, by_pk: dict[int, Prescription], *, on: date) -> PhaseView:
    lines = list(phase.prescriptions.all())
    replaced = {line.replaces_id for line in by_pk.values()}
    last = [line for line in lines if line.pk not in replaced]
    views = [line_view(chain_of(line, by_pk), on=on) for line in last]
    return PhaseView(
        phase,
        running=_where(views, is_begun=True),
        waiting=_where(views, is_begun=False),
        over=tuple(view for view in views if view.row.stops_on),
    )


def _where(views: Iterable[LineView], *, is_begun: bool) -> tuple[LineView, ...]:
    return tuple(
        view
        for view in views
        if not view.row.stops_on and (view.row.starts_on is not None) == is_begun
    )


def chain_of(line: Prescription, by_pk: dict[int, Prescription]) -> list[Prescription]:
    """Return a line with those that it replaced, oldest first."""
    chain = [line]
    while (before := by_pk.get(chain[0].replaces_id or 0)) is not None:
        chain.insert(0, before)
    return chain


def line_view(chain: list[Prescription], *, on: date) -> LineView:
    """Return the newest of a chain as it is read, with the others as its past."""
    past = [_view(chain[:at], on=on) for at in range(len(chain) - 1, 0, -1)]
    return replace(_view(chain, on=on), earlier=tuple(past))


def _view(chain: list[Prescription], *, on: date) -> LineView:
    row = chain[-1]
    line = line_of(row)
    entry = library.library().get(row.exercise)
    return LineView(
        row=row,
        name=line.name,
        key=key_of(line),
        words=dose_words(line),
        more=more_words(line),
        volume=volume_words(
            line, before=line_of(chain[-2]) if len(chain) > 1 else None, on=on
        ),
        easier=library.easier(entry.key) if entry else None,
        harder=library.harder(entry.key) if entry else None,
        limit=limit_of(chain, entry, on=on),
    )


def limit_of(
    chain: list[Prescription], entry: Exercise | None, *, on: date
) -> Limit | None:
    """Return the time limit of the newest line, counted from its first day.

    A change on or after the end is the review; the time then counts anew.
    """
    began = [line.starts_on for line in chain if line.starts_on]
    if entry is None or entry.time_limit is None or not began:
        return None
    length = timedelta(weeks=entry.time_limit.weeks)
    since = began[0]
    for starts_on in began[1:]:
        since = starts_on if starts_on >= since + length else since
    ends_on = since + length
    return Limit(entry.time_limit.weeks, ends_on, on >= ends_on, entry.time_limit)
