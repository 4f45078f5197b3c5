"""Saves the invented clinic through the same acts that people use."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict, dataclass
from datetime import date, timedelta
from pathlib import Path

from django.db import transaction

from clinic import screening
from clinic.admitting import (
    admit_patient,
    cover_case,
    discharge,
    hand_over,
    log_contact,
    open_episode,
)
from clinic.invitations import add_person, add_site
from clinic.models import Episode, Patient, Screen, Site, User
from programs.models import Programme

from ..caseload import read_case
from ..models import Wording
from ..physical_recording import record_physical_test
from ..policies import policy_for
from ..recording import (
    FilledForm,
    SessionEntry,
    VisitEntry,
    name_activity,
    record_visit,
)
from ..reviewing import review_case
from ..wording import install_wording
from ..wording_file import read_wording
from .caseload import plan_caseload
from .choices import decline_some
from .companions import Companions
from .cuffs import Cuff
from .letters import write_letters
from .names import CLINICIANS, LEAD, SITE, STAFF
from .physical import physical_tests_of
from .plans import EpisodePlan, FormPlan, PersonPlan, ReviewPlan, VisitPlan
from .programmes import CaseKey, ProgrammePlan, case_key, plan_programmes
from .shelf import Shelf
from .treating import Treatment

WORDINGS = Path(__file__).parent.parent / "wording_demo"
AWAY = CLINICIANS[2].username
COVERED, HANDED_OVER = 4, 2
COVER_BEGAN, COVER_ENDS = timedelta(days=5), timedelta(days=9)

Wordings = dict[str, Wording]


@dataclass(frozen=True, slots=True)
class House:
    """What every case of the clinic is given its care with."""

    therapists: list[User]
    wordings: Wordings
    shelf: Shelf
    programmes: dict[CaseKey, ProgrammePlan]


@transaction.atomic
def seed_clinic(on: date) -> Site:
    """Save the invented clinic as it stands on a day; all of it or nothing."""
    site = add_site(SITE)
    site.is_demo = True
    site.save(update_fields=["is_demo"])
    people = _add_staff(site)
    lead = people[LEAD.username]
    therapists = [people[one.username] for one in CLINICIANS] + [lead]
    wordings, caseload = _install_wordings(site, by=lead), plan_caseload(on)
    house = House(therapists, wordings, Shelf(lead), plan_programmes(caseload))
    for plan in caseload:
        _seed_person(plan, house)
    house.shelf.retire()
    _arrange_cover(site, people=people, on=on)
    decline_some(site, by=lead)
    write_letters(site, on=on)
    return site


def _add_staff(site: Site) -> dict[str, User]:
    """Add the lead first; the lead then invites the others."""
    lead: User | None = None
    people = {}
    for one in STAFF:
        person = add_person(
            site=site,
            username=one.username,
            role=one.role,
            by=lead,
            first_name=one.given_name,
            last_name=one.family_name,
        )
        lead = lead or person
        people[one.username] = person
    return people


def _install_wordings(site: Site, *, by: User) -> Wordings:
    files = [read_wording(path) for path in sorted(WORDINGS.glob("*.toml"))]
    made = [install_wording(file, site=site, by=by)[0] for file in files]
    return {wording.measure: wording for wording in made}


def _seed_person(plan: PersonPlan, house: House) -> None:
    patient = admit_patient(
        by=house.therapists[plan.episodes[0].clinician],
        record_number=plan.record_number,
        family_name=plan.name.family,
        given_name=plan.name.given,
        birth_date=plan.birth_date,
        sex=plan.name.sex,
    )
    earlier: Programme | None = None
    for knee in plan.episodes:
        by = house.therapists[knee.clinician]
        episode = _open(patient, knee, by=by)
        if _rates_activities(knee):
            for words in plan.activities:
                name_activity(episode=episode, words=words)
        care = house.programmes.get(case_key(plan, knee))
        earlier = _visits(episode, knee, care, house, by=by, earlier=earlier)
        for test in physical_tests_of(knee, seed=plan.record_number):
            record_physical_test(episode=episode, by=by, entry=test)
        _follow_up(episode, knee, by=by)


def _visits(
    episode: Episode,
    knee: EpisodePlan,
    care: ProgrammePlan | None,
    house: House,
    *,
    by: User,
    earlier: Programme | None,
) -> Programme | None:
    """Save the visits of a case, and its programme between them; return that."""
    if care is None:
        for visit in knee.visits:
            _log(episode, visit, by=by, wordings=house.wordings)
        return None
    treatment = Treatment(
        episode=episode, by=by, plan=care, shelf=house.shelf, earlier=earlier
    )
    companions, cuff = Companions(treatment), Cuff(treatment)
    for visit in knee.visits:
        logs = treatment.logs(visit)
        _log(episode, visit, by=by, wordings=house.wordings, logs=logs)
        for each in (treatment, companions, cuff):
            each.after(visit)
    if knee.discharged_on:
        treatment.end(knee.discharged_on, f"Care ended: {knee.reason}.")
    return treatment.programme


def _rates_activities(knee: EpisodePlan) -> bool:
    return any(form.measure == "psfs" for visit in knee.visits for form in visit.forms)


def _open(patient: Patient, knee: EpisodePlan, *, by: User) -> Episode:
    """Open the episode and keep the full screen that comes with it."""
    episode = open_episode(
        patient=patient,
        by=by,
        clinician=by,
        side=knee.side,
        is_bilateral=knee.is_bilateral,
        symptom_onset_on=knee.symptom_onset_on,
        opened_on=knee.opened_on,
        primary_measure=knee.primary_measure,
        **asdict(knee.facts),
    )
    screening.answer_screen(
        episode=episode,
        by=by,
        form=Screen.Form.FULL,
        answers=_answers(
            Screen.Form.FULL, patient, knee.opened_on, knee.screen.positive
        ),
        on=knee.opened_on,
        decision=knee.screen.decision,
    )
    return episode


def _answers(
    form: str, patient: Patient, on: date, positive: Iterable[str]
) -> dict[str, bool]:
    """Answer every concern of a form with no, but for those named."""
    age = screening.age_on(patient.birth_date, on)
    asked = screening.questions(form, age=age)
    return {concern.key: concern.key in positive for concern in asked}


def _log(
    episode: Episode,
    visit: VisitPlan,
    *,
    by: User,
    wordings: Wordings,
    logs: tuple[SessionEntry, ...] = (),
) -> None:
    """Save one visit; the short screen belongs to every attended one."""
    asks_short = visit.attendance == "attended" and visit.on > episode.opened_on
    entry = VisitEntry(
        visited_on=visit.on,
        attendance=visit.attendance,
        note=visit.note,
        next_planned_on=visit.next_planned_on,
        pain=visit.pain,
        pain_during=visit.pain_during,
        next_morning=visit.next_morning,
        screen_form=Screen.Form.SHORT if asks_short else "",
        screen_answers=_answers(
            Screen.Form.SHORT, episode.patient, visit.on, visit.positive
        ),
        screen_decision=visit.decision,
        forms=tuple(_filled(form, wordings) for form in visit.forms),
        session_logs=logs,
    )
    record_visit(episode=episode, by=by, entry=entry)


def _filled(form: FormPlan, wordings: Wordings) -> FilledForm:
    return FilledForm(
        measure=form.measure,
        answers=form.answers,
        mode=form.mode,
        wording=wordings[form.measure],
    )


def _follow_up(episode: Episode, knee: EpisodePlan, *, by: User) -> None:
    """Save what came after the visits: tries to reach, a review, the discharge."""
    for contact in knee.contacts:
        log_contact(
            episode,
            by=by,
            tried_on=contact.on,
            way=contact.way,
            result=contact.result,
            note=contact.note,
        )
    if knee.review:
        _review(episode, knee.review, by=by, told=knee.tells)
    if knee.discharged_on:
        discharge(
            episode,
            by=by,
            on=knee.discharged_on,
            reason=knee.reason,
            note=knee.discharge_note,
            version=episode.version,
        )


def _review(episode: Episode, review: ReviewPlan, *, by: User, told: str) -> None:
    """Decide on what the case showed on the day of the review."""
    row = read_case(episode, policy=policy_for(episode.site), on=review.on)
    review_case(
        episode,
        by=by,
        on=review.on,
        decision=review.decision,
        why=review.why,
        look_again_on=review.look_again_on,
        findings=[finding.rule.key for finding in row.findings] or [told],
    )


def _arrange_cover(site: Site, *, people: dict[str, User], on: date) -> None:
    """Let a colleague cover for somebody on leave, and hand two cases over."""
    lead, stand_in = people[LEAD.username], people[CLINICIANS[0].username]
    theirs = Episode.objects.open().filter(site=site, clinician=people[AWAY])
    cases = list(theirs.select_related("patient", "clinician").order_by("pk"))
    for episode in cases[:COVERED]:
        cover_case(
            episode,
            by=lead,
            covered_by=stand_in,
            from_on=on - COVER_BEGAN,
            until_on=on + COVER_ENDS,
            reason="On leave for two weeks",
        )
    for episode in cases[COVERED : COVERED + HANDED_OVER]:
        hand_over(
            episode,
            by=lead,
            to=stand_in,
            reason="Can only come in the mornings now",
            version=episode.version,
        )
