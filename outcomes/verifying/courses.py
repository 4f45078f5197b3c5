"""What a case holds, held against its own course: replaced, dates, one at a time."""

from collections.abc import Iterator
from datetime import timedelta

from django.db.models import Count, F, Q
from django.db.models.functions import TruncDate

from clinic.models import Episode, Visit
from programs.models import (
    AdverseEvent,
    Phase,
    Programme,
    SessionLog,
    SuggestionChoice,
)

from ..models import Assessment, AuditExport, ExportedCase
from ..science.measures import PRIMARY_KEYS
from .faults import Counted, Fault, named
from .relations import LOOK

VOID_IT = "A clinician voids it with its reason and enters what is right."


def corrected_assessments(counted: Counted) -> Iterator[Fault]:
    """Yield corrections of something else, and replaced rows that still count."""
    corrections = Assessment.objects.filter(replaces__isnull=False)
    others = corrections.exclude(
        measure=F("replaces__measure"), patient=F("replaces__patient")
    )
    yield from named(others, says="corrects another measure or person.", do=LOOK)
    standing = Assessment.objects.standing().filter(replaced_by__isnull=False)
    yield from named(standing, says="was replaced, and still counts.", do=VOID_IT)


def lines_of_one_case(counted: Counted) -> Iterator[Fault]:
    """Yield rows that join a line of one case's programme to another case."""
    theirs = F("prescription__phase__programme__episode")
    logs = SessionLog.objects.exclude(visit__episode=theirs)
    yield from named(logs, says="logs a line of another case's programme.", do=LOOK)
    events = AdverseEvent.objects.filter(prescription__isnull=False)
    says = "names a line of another case's programme."
    yield from named(events.exclude(episode=theirs), says=says, do=LOOK)
    answered = SuggestionChoice.objects.filter(leads_to__isnull=False).exclude(
        leads_to__phase__programme=F("prescription__phase__programme")
    )
    yield from named(answered, says="led to a line of another programme.", do=LOOK)


def days_in_order(counted: Counted) -> Iterator[Fault]:
    """Yield days that cannot be: before birth, before opening, after being recorded.

    A day of slack after the moment of recording, for time zones that moved.
    """
    unborn = Episode.objects.standing().filter(
        symptom_onset_on__lt=F("patient__birth_date")
    )
    yield from named(unborn, says="began before the patient was born.", do=VOID_IT)
    standing = Visit.objects.standing().filter(episode__voided_at__isnull=True)
    early = standing.filter(visited_on__lt=F("episode__opened_on"))
    yield from named(early, says="is dated before its case was opened.", do=VOID_IT)
    late = standing.filter(visited_on__gt=F("episode__discharged_on"))
    yield from named(late, says="is dated after its case was discharged.", do=VOID_IT)
    ahead = standing.annotate(noted_on=TruncDate("recorded_at")).filter(
        visited_on__gt=F("noted_on") + timedelta(days=1)
    )
    yield from named(ahead, says="is dated after it was recorded.", do=VOID_IT)
    sooner = Programme.objects.standing().filter(ended_on__lt=F("starts_on"))
    yield from named(sooner, says="ended before it began.", do=VOID_IT)


def one_at_a_time(counted: Counted) -> Iterator[Fault]:
    """Yield cases with two running programmes, and phases before their programme."""
    runs = Q(programmes__ended_on__isnull=True, programmes__voided_at__isnull=True)
    twice = Episode.objects.annotate(running=Count("programmes", filter=runs))
    says = "has more than one running programme."
    yield from named(twice.filter(running__gt=1), says=says, do="End all but one.")
    outside = Phase.objects.filter(
        starts_on__lt=F("programme__starts_on"), programme__voided_at__isnull=True
    )
    yield from named(outside, says="begins before its programme.", do=LOOK)


def known_measures(counted: Counted) -> Iterator[Fault]:
    """Yield cases whose primary measure cannot be one."""
    unknown = Episode.objects.exclude(primary_measure__in=PRIMARY_KEYS)
    says = "has a primary measure that there is not."
    yield from named(unknown, says=says, do="Choose one on the case's details.")


def wiped_keys(counted: Counted) -> Iterator[Fault]:
    """Yield rows that would still link a finished export to its people."""
    kept = ~Q(key="") | ~Q(shown={})
    left = ExportedCase.objects.filter(kept, export__state=AuditExport.State.COMPLETE)
    says = "still holds the random key of a complete export."
    do = "Whoever holds that file could be led to the person: empty the columns key "
    do += "and shown of this row, and tell the lead."
    yield from named(left, says=says, do=do)
