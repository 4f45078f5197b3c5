"""An export begins: who may leave is on the record before the first byte."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from django.db import transaction
from django.utils import timezone

from clinic.models import AuditEvent, Site, User

from .. import audit
from ..models import AuditExport, ExportedCase
from ..policies import policy_for, stored_policy
from ..science.policy import StallPolicy
from .anonymity import Plan, Refused, Tally
from .choosing import (
    Candidate,
    candidates,
    codes_of_clinicians,
    in_parts,
    opened_in_period,
    people_who_decline,
)
from .overlapping import Beside, beside_earlier, cases_of, refusal
from .random_keys import new_key

# Project assumption: nobody needs more in a day, and each is one more file to lose.
MOST_A_DAY = 5
Told = Callable[[str, int], None]


class ExportRefused(Exception):
    """No export is made; the words say why and what to do."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """What somebody asks for: to whom, why, by what right, until when, and what."""

    recipient: str
    purpose: str
    legal_basis: str
    destroy_by_on: date
    from_on: date
    until_on: date


@dataclass(frozen=True, slots=True, kw_only=True)
class Begun:
    """An export that is on the record, and what its file will be made by."""

    export: AuditExport
    plan: Plan
    policy: StallPolicy
    policy_changed: Mapping[str, Any]
    declined: int
    besides: tuple[Beside, ...]
    refusal: str


def silent(what: str, more: int) -> None:
    """Tell nobody of progress."""


@transaction.atomic
def begin_export(
    wanted: Wanted, *, by: User, request_id: str = "", told: Told = silent
) -> Begun:
    """Decide who leaves and by which rule, and put the export on the record.

    Raises ExportRefused, with nothing written, where the days make no sense, the
    day's exports are used up, too few people are left, or this export and an earlier
    one would single somebody out.
    """
    # One export of a site after the other: two at once would not see each other.
    Site.objects.select_for_update().get(pk=by.site_id)
    refuse_if(wrong_days(wanted) or too_many_today(by))
    begun = decide(wanted, by=by, told=told)
    refuse_if(begun.refusal)
    record_begin(begun, wanted, by=by, request_id=request_id)
    return begun


def refuse_if(sentence: str) -> None:
    """Raise ExportRefused with a sentence, if there is one."""
    if sentence:
        raise ExportRefused(sentence)


def wrong_days(wanted: Wanted) -> str:
    """Say which day makes no sense; nothing if all do."""
    today = timezone.localdate()
    if wanted.until_on < wanted.from_on:
        return "The period ends before it begins. Exchange its days."
    if wanted.until_on > today:
        return "The period ends in the future. End it today or earlier."
    if wanted.destroy_by_on <= today:
        return "The day to destroy the file by has to lie in the future."
    return ""


def too_many_today(by: User) -> str:
    """Say that the day's exports are used up; nothing if they are not."""
    since = timezone.now() - timedelta(days=1)
    made = AuditExport.objects.filter(site_id=by.site_id, made_at__gt=since).count()
    if made < MOST_A_DAY:
        return ""
    return (
        f"{made} exports were made in the last 24 hours, which is the most that one "
        "clinic may make. Use one of these, or wait until tomorrow."
    )


def decide(wanted: Wanted, *, by: User, told: Told = silent) -> Begun:
    """Write the export and its cases inside the transaction of the caller."""
    episodes = opened_in_period(by, wanted.from_on, wanted.until_on)
    policy, stored = policy_for(by.site), stored_policy(by.site)
    codes = codes_of_clinicians(episodes)

    def stream(what: str) -> Iterator[Candidate]:
        for candidate in candidates(episodes, policy=policy, codes=codes):
            told(what, 1)
            yield candidate

    plan = planned(stream("Counting"))
    export = AuditExport.objects.create(site_id=by.site_id, made_by=by, **kept(wanted))
    for part in in_parts(cases_that_leave(export, plan, stream("Choosing"))):
        ExportedCase.objects.bulk_create(part)
    refuse_if(changed_meanwhile(export, plan))
    besides = tuple(beside_earlier(export))
    return Begun(
        export=export,
        plan=plan,
        policy=policy,
        policy_changed=stored.values if stored else {},
        declined=people_who_decline(episodes),
        besides=besides,
        refusal=refusal(export, besides),
    )


def planned(all_of_them: Iterator[Candidate]) -> Plan:
    """Find the level at which enough rows may leave; raises ExportRefused."""
    tally = Tally()
    for one in all_of_them:
        tally.add(one.person, one.quasi, (one.verdict,))
    plan = tally.plan()
    if isinstance(plan, Refused):
        raise ExportRefused(plan.sentence)
    return plan


def cases_that_leave(
    export: AuditExport, plan: Plan, all_of_them: Iterator[Candidate]
) -> Iterator[ExportedCase]:
    """Yield a row for each episode that is not held back, with a key of its own."""
    for one in all_of_them:
        shown = plan.shown(one.quasi)
        if shown is not None:
            yield ExportedCase(
                site_id=export.site_id,
                export=export,
                episode_id=one.episode,
                patient_id=one.person,
                key=new_key(),
                shown={**shown._asdict(), "last_verdict": one.verdict},
            )


def changed_meanwhile(export: AuditExport, plan: Plan) -> str:
    """Say that the records changed between counting and choosing; else nothing."""
    if cases_of(export).count() == plan.rows - plan.suppressed_rows:
        return ""
    return "Somebody changed records while they were counted. Begin again."


def kept(wanted: Wanted) -> dict[str, Any]:
    """Return what was asked for by the names of AuditExport."""
    return {name: getattr(wanted, name) for name in Wanted.__slots__}


def record_begin(begun: Begun, wanted: Wanted, *, by: User, request_id: str) -> None:
    """Add the line that stands before the first byte."""
    plan = begun.plan
    AuditEvent.objects.record(
        audit.EXPORT_BEGUN,
        by=by,
        request_id=request_id,
        export=begun.export.pk,
        recipient=wanted.recipient,
        purpose=wanted.purpose,
        legal_basis=wanted.legal_basis,
        destroy_by_on=wanted.destroy_by_on.isoformat(),
        from_on=wanted.from_on.isoformat(),
        until_on=wanted.until_on.isoformat(),
        people=plan.people,
        rows=plan.rows,
        rows_held_back=plan.suppressed_rows,
        people_who_decline=begun.declined,
        level=plan.level.name,
    )
