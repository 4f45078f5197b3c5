"""Sets the episodes of a file against each other and against what is stored."""

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from datetime import date
from itertools import islice

from clinic.models import Episode, Patient, Site, Visit
from clinic.screening import undecided

from ..models import Assessment
from .patients import PERSON, EpisodeRow, Roster
from .problems import Problems

AT_ONCE = 500


@dataclass(slots=True)
class Tally:
    """What an import adds, finds there already, or leaves withdrawn."""

    added: Counter[str] = field(default_factory=Counter)
    known: Counter[str] = field(default_factory=Counter)
    withdrawn: int = 0
    visits_assumed: int = 0


@dataclass(slots=True, kw_only=True)
class Span:
    """An episode's days, both ends included, and the row that names it."""

    episode: Episode
    opened_on: date
    discharged_on: date | None
    line: int | None = None
    is_changed: bool = False
    is_withdrawn: bool = False

    def holds(self, day: date) -> bool:
        """Whether the day falls into the episode."""
        return self.opened_on <= day and (
            self.discharged_on is None or day <= self.discharged_on
        )


@dataclass(slots=True)
class Caseload:
    """The people and knees that observations may belong to."""

    patients: dict[str, Patient] = field(default_factory=dict)
    spans: dict[tuple[str, str], list[Span]] = field(default_factory=dict)
    stored_numbers: frozenset[str] = frozenset()
    new_patients: list[Patient] = field(default_factory=list)
    new_episodes: list[Episode] = field(default_factory=list)
    discharges: list[tuple[Episode, EpisodeRow]] = field(default_factory=list)

    def span_of(self, number: str, side: str, day: date) -> Span | None:
        """Return the episode of a knee that holds a day; a standing one first."""
        held = [span for span in self.spans.get((number, side), []) if span.holds(day)]
        return min(held, key=lambda span: span.is_withdrawn, default=None)

    def add_span(self, number: str, span: Span) -> None:
        """Add an episode to its knee."""
        self.spans.setdefault((number, span.episode.side), []).append(span)


def stored_caseload(site: Site, numbers: Iterable[str]) -> Caseload:
    """Load people and episodes by record number; two queries per 500 numbers."""
    caseload, remaining = Caseload(), iter(numbers)
    while some := list(islice(remaining, AT_ONCE)):
        found = Patient.objects.filter(site=site, record_number__in=some)
        caseload.patients.update({p.record_number: p for p in found})
        episodes = Episode.objects.filter(patient__in=[p.pk for p in found])
        for episode in episodes.select_related("patient", "clinician"):
            span = Span(
                episode=episode,
                opened_on=episode.opened_on,
                discharged_on=episode.discharged_on,
                is_withdrawn=not episode.is_standing,
            )
            caseload.add_span(episode.patient.record_number, span)
    caseload.stored_numbers = frozenset(caseload.patients)
    return caseload


class Matching:
    """Adds the rows of patients.csv to what is stored, or says why not."""

    def __init__(
        self,
        *,
        site: Site,
        file: str,
        roster: Roster,
        caseload: Caseload,
        problems: Problems,
        tally: Tally,
    ) -> None:
        self.site = site
        self.file = file
        self.roster = roster
        self.caseload = caseload
        self.problems = problems
        self.tally = tally

    def match(self) -> None:
        """Place every sound row, then look for episodes that overlap."""
        for row in list(self.roster.rows):
            if not self._place(row):
                self.roster.put_aside(row)
        knees = {row.knee for row in self.roster.rows}
        for knee in sorted(knees):
            for column, line, sentence in overlaps(self.caseload.spans[knee]):
                self.problems.add(self.file, line, column, sentence)
        stored = self.caseload.stored_numbers
        self.tally.known["patients"] = len(
            {row.record_number for row in self.roster.rows} & stored
        )

    def _place(self, row: EpisodeRow) -> bool:
        """Place one row; False when it contradicts what is stored."""
        patient = self.caseload.patients.get(row.record_number)
        if patient is None:
            patient = self._new_patient(row)
        elif wrong := [name for name in PERSON if differs(patient, row, name)]:
            for column in wrong:
                self._contradicts(row, column, "")
            return False
        span = self._stored_span(row)
        if span is None:
            self._open(patient, row)
            return True
        span.line = row.line
        return self._compare(span, row)

    def _new_patient(self, row: EpisodeRow) -> Patient:
        details = {name: getattr(row, name) for name in ("record_number", *PERSON)}
        patient = Patient(site=self.site, **details)
        self.caseload.patients[row.record_number] = patient
        self.caseload.new_patients.append(patient)
        self.tally.added["patients"] += 1
        return patient

    def _stored_span(self, row: EpisodeRow) -> Span | None:
        """Return the stored episode that the row names, a standing one first."""
        same = [
            span
            for span in self.caseload.spans.get(row.knee, [])
            if span.opened_on == row.opened_on and span.line is None
            if not span.is_withdrawn or not differing(span.episode, row)
        ]
        return min(same, key=lambda span: span.is_withdrawn, default=None)

    def _open(self, patient: Patient, row: EpisodeRow) -> None:
        episode = Episode(
            site=self.site,
            patient=patient,
            side=row.side,
            symptom_onset_on=row.symptom_onset,
            opened_on=row.opened_on,
            clinician=row.clinician,
            discharged_on=row.discharged_on,
            discharge_reason=row.discharge_reason,
        )
        span = Span(
            episode=episode,
            opened_on=row.opened_on,
            discharged_on=row.discharged_on,
            line=row.line,
            is_changed=True,
        )
        self.caseload.add_span(row.record_number, span)
        self.caseload.new_episodes.append(episode)
        self.tally.added["episodes"] += 1

    def _compare(self, span: Span, row: EpisodeRow) -> bool:
        """Hold a row against its stored episode; a discharge may be added."""
        if span.is_withdrawn:
            self.tally.withdrawn += 1
            return True
        wrong = differing(span.episode, row)
        for column, stored in wrong.items():
            self._contradicts(row, column, f": {stored}")
        if wrong or not self._may_discharge(span, row):
            return False
        self.tally.known["episodes"] += 1
        return True

    def _may_discharge(self, span: Span, row: EpisodeRow) -> bool:
        """Add a discharge that the file knows and the app does not."""
        if row.discharged_on is None or span.discharged_on:
            return True
        if later := later_entry(span.episode, row.discharged_on):
            self.problems.add(
                self.file,
                row.line,
                "discharged_on",
                f"the app holds an entry of {later} for this knee, after that day: "
                "correct the date of the discharge, or the entry.",
            )
            return False
        if undecided(span.episode).exists():
            self.problems.add(
                self.file,
                row.line,
                "discharged_on",
                "a red-flag answer of this case awaits a decision: decide on it in the "
                "app first.",
            )
            return False
        span.discharged_on = row.discharged_on
        span.is_changed = True
        self.caseload.discharges.append((span.episode, row))
        self.tally.added["discharges"] += 1
        return True

    def _contradicts(self, row: EpisodeRow, column: str, stored: str) -> None:
        self.problems.add(
            self.file,
            row.line,
            column,
            f"the app holds something else here{stored}. Correct the file, or change "
            "it in the app first.",
        )


def differs(patient: Patient, row: EpisodeRow, name: str) -> bool:
    """Whether a detail of the person is stored otherwise."""
    return bool(getattr(patient, name) != getattr(row, name))


def differing(episode: Episode, row: EpisodeRow) -> dict[str, object]:
    """Return the columns that contradict a stored episode, with what is stored.

    An empty discharge contradicts nothing: the app may know more than the file.
    """
    pairs: dict[str, tuple[object, object]] = {
        "symptom_onset": (episode.symptom_onset_on, row.symptom_onset),
        "clinician": (episode.clinician.username, row.clinician.username),
    }
    if episode.discharged_on and row.discharged_on:
        pairs["discharged_on"] = (episode.discharged_on, row.discharged_on)
        pairs["discharge_reason"] = (episode.discharge_reason, row.discharge_reason)
    return {
        column: stored for column, (stored, told) in pairs.items() if stored != told
    }


def later_entry(episode: Episode, day: date) -> date | None:
    """Return the day of a stored entry after a day; runs two queries."""
    visit = Visit.objects.standing().filter(episode=episode, visited_on__gt=day)
    form = Assessment.objects.standing().filter(episode=episode, assessed_on__gt=day)
    days = [
        *visit.values_list("visited_on", flat=True)[:1],
        *form.values_list("assessed_on", flat=True)[:1],
    ]
    return min(days, default=None)


def overlaps(spans: list[Span]) -> Iterator[tuple[str, int, str]]:
    """Yield column, line and sentence for episodes of one knee that overlap."""
    standing = [span for span in spans if not span.is_withdrawn]
    standing.sort(key=lambda span: span.opened_on)
    before: Span | None = None
    for span in standing:
        if before and (before.is_changed or span.is_changed):
            if before.discharged_on is None or span.opened_on <= before.discharged_on:
                yield _blame(before, span)
        if before is None or (before.discharged_on and ends_later(span, before)):
            before = span


def ends_later(span: Span, other: Span) -> bool:
    """Whether a span is open, or ends after the other, which is not open."""
    if span.discharged_on is None or other.discharged_on is None:
        return span.discharged_on is None
    return span.discharged_on > other.discharged_on


def _blame(first: Span, second: Span) -> tuple[str, int, str]:
    """Put the fault on the later row of the file."""
    late, early = sorted((first, second), key=lambda span: span.line or 0)[::-1]
    other = f"line {early.line}" if early.line else "an episode that is already stored"
    assert late.line is not None  # noqa: S101 - a changed span has a row
    if first.discharged_on is None and second.discharged_on is None:
        sentence = (
            f"this knee has two open episodes, this one and {other}: give the day "
            "and reason of the discharge of the earlier one."
        )
        return "discharged_on", late.line, sentence
    sentence = (
        f"this episode overlaps {other} of the same knee: correct the days, so that "
        "one ends before the next one opens."
    )
    return "opened_on", late.line, sentence
