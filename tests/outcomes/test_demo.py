"""The invented clinic: its stories, its sign-ins, and where it refuses to be."""

import re
import socket
from collections import Counter
from datetime import date, timedelta
from io import StringIO
from random import Random
from statistics import mean, stdev
from typing import ClassVar
from unittest.mock import patch

import pytest
from django.core.management import CommandError, call_command
from django.test import TestCase
from django.utils import timezone
from pytest_django import Settings

from clinic.management.commands.demo import Command
from clinic.models import (
    AuditEvent,
    ContactAttempt,
    Cover,
    Episode,
    Patient,
    Screen,
    Site,
    User,
    Visit,
)
from clinic.screening import age_on
from outcomes.caseload import CaseRow, build_caseload
from outcomes.demo.answers import answers_for, ratings_for
from outcomes.demo.caseload import RUNNERS, plan_caseload
from outcomes.demo.clinic import seed_clinic
from outcomes.demo.notes import BETTER, LIGHT, SLOW, START, WORSE
from outcomes.demo.plans import EpisodePlan
from outcomes.demo.sign_ins import give_passphrase, staff_of
from outcomes.demo.stories import ENDED, IN_CARE
from outcomes.models import Assessment, CaseReview, Letter, PainScore, Wording
from outcomes.policies import policy_for
from outcomes.science.measures import measure
from outcomes.science.scoring import Score, score
from tests.outcomes.test_demo_programmes import ProgrammesOfTheClinic

ON = date(2026, 6, 3)


def plans(on: date = ON) -> list[EpisodePlan]:
    """Return every planned episode."""
    return [knee for person in plan_caseload(on) for knee in person.episodes]


def akps_course(knee: EpisodePlan) -> dict[int, float]:
    """Return the planned AKPS by week, without the incomplete forms."""
    scored = {
        visit.week: score(measure("akps"), form.answers)
        for visit in knee.visits
        for form in visit.forms
        if form.measure == "akps"
    }
    return {week: s.value for week, s in scored.items() if isinstance(s, Score)}


# The plan: values only, nothing saved


def test_about_150_episodes_of_which_most_are_open() -> None:
    """Counts as told in the stories."""
    knees = plans()
    open_knees = [knee for knee in knees if knee.discharged_on is None]
    assert (len(knees), len(open_knees)) == (151, 96)


def test_every_story_is_told() -> None:
    """How many episodes each story has, in care or ended."""
    assert Counter(knee.story for knee in plans()) == {
        "steady": 47,
        "slow": 20,
        "early_flat": 17,
        "flat": 8,
        "flare": 12,
        "worsening": 6,
        "one_low": 2,
        "never_remeasured": 6,
        "lost": 9,
        "ceiling": 5,
        "bilateral": 6,
        "adolescent": 8,
        "late_baseline": 2,
        "again": 3,
    }


def test_nothing_lies_in_the_future_but_planned_visits() -> None:
    """On any weekday that the stories may end."""
    for ahead in range(7):
        on = ON + timedelta(days=ahead)
        for knee in plans(on):
            days = [knee.opened_on, *(visit.on for visit in knee.visits)]
            days += [contact.on for contact in knee.contacts]
            days += [knee.review.on] if knee.review else []
            days += [knee.discharged_on] if knee.discharged_on else []
            assert max(days) <= on
            assert knee.symptom_onset_on < knee.opened_on == days[1]
            assert all(day.weekday() < 5 for day in days)


def test_the_same_day_always_gives_the_same_people() -> None:
    """The clinic is seeded."""
    assert plan_caseload(ON) == plan_caseload(ON)


def test_dates_follow_the_day() -> None:
    """The same stories a year earlier lie a year earlier."""
    later, earlier = plans(), plans(ON - timedelta(weeks=52))
    shifts = {
        one.opened_on - two.opened_on for one, two in zip(later, earlier, strict=True)
    }
    assert shifts == {timedelta(weeks=52)}


def test_baselines_and_gains_are_those_of_the_trials() -> None:
    """AKPS 65 to 75 (SD 11 to 13.5) at entry, about 7 better at 12 weeks.

    Clinical reference 10.1: Hansen 2023, +7.6 and +7.0 at 12 weeks.
    """
    courses = [course for knee in plans() if (course := akps_course(knee))]
    entry = [course[min(course)] for course in courses]
    gains = [course[12] - course[0] for course in courses if 12 in course]
    worst = [knee.visits[0].pain["worst"] for knee in plans()]
    assert 65 <= mean(entry) <= 75
    assert 11 <= stdev(entry) <= 13.5
    assert 6.5 <= mean(gains) <= 8.5
    assert 5 <= mean(worst) <= 7
    assert len(gains) > 60


@pytest.mark.parametrize("total", [20, 47, 68, 81, 99, 100])
def test_akps_answers_add_up(total: int) -> None:
    """Invented answers score what they were meant to."""
    answers = answers_for("akps", total, rng=Random(total))
    result = score(measure("akps"), answers)
    assert isinstance(result, Score)
    assert result.value == total


def test_koos_pf_answers_come_as_near_as_its_steps_allow() -> None:
    """One raw point is 2.27 score points."""
    answers = answers_for("koos_pf", 55, rng=Random(1))
    result = score(measure("koos_pf"), answers)
    assert isinstance(result, Score)
    assert result.value == pytest.approx(54.545, abs=0.001)


def test_ratings_of_activities_have_the_intended_mean() -> None:
    """Three whole ratings with a mean of 5 and a third."""
    ratings = ratings_for(16 / 3, count=3, rng=Random(3))
    assert sum(ratings.values()) == 16
    assert set(ratings) == {"1", "2", "3"}


def test_notes_do_not_speak_against_the_case() -> None:
    """Nobody is told easier while sorer, settled after a bad night, or of no sport."""
    sayings = {s.words: s for s in (*START, *BETTER, *SLOW, *WORSE, *LIGHT)}
    for knee in plans():
        first = knee.visits[0].pain["worst"]
        for visit in knee.visits:
            if not (saying := sayings.get(visit.note)):
                continue
            low, high = saying.worst
            assert low <= visit.pain["worst"] <= high, visit.note
            least, most = saying.sorer_by
            assert least <= visit.pain["worst"] - first <= most, visit.note
            assert not saying.is_of_sport or knee.facts.sport in RUNNERS, visit.note
            if saying.is_calm_morning:
                assert visit.next_morning == "settled", visit.note


def test_a_knee_in_much_pain_does_not_settle_every_night() -> None:
    """At 8 of 10 while worsening, most mornings are sore; no note calls it better."""
    visits = [
        visit
        for knee in plans()
        if knee.story == "worsening"
        for visit in knee.visits
        if visit.attendance == "attended" and visit.pain["worst"] >= 8
    ]
    sore = [visit for visit in visits if visit.next_morning != "settled"]
    assert len(sore) > len(visits) / 2
    assert {visit.note for visit in visits} <= {saying.words for saying in WORSE}


# The clinic: seeded once, then read


class SeededClinicTests(ProgrammesOfTheClinic, TestCase):
    """What the saved clinic holds, and what the app says about it."""

    site: ClassVar[Site]
    rows: ClassVar[list[CaseRow]]

    @classmethod
    def setUpTestData(cls) -> None:
        """Save the clinic and judge its open cases once."""
        cls.site = seed_clinic(ON)
        cls.rows = build_caseload(
            Episode.objects.open()
            .filter(site=cls.site)
            .select_related("patient", "clinician", "site"),
            policy=policy_for(cls.site),
            on=ON,
        )

    def test_it_is_marked_as_invented(self) -> None:
        """In its name and by its flag."""
        assert self.site.is_demo
        assert "(invented)" in self.site.name

    def test_three_people_decline_the_use_for_audit(self) -> None:
        """Each in another way, before the demo's day and not before care began."""
        people = Patient.objects.filter(audit_declined_on__isnull=False)
        assert len({person.audit_declined_how for person in people}) == len(people) == 3
        for person in people:
            first = person.episodes.earliest("opened_on").opened_on
            assert first <= person.audit_declined_on <= ON
        left = Episode.objects.filter(patient__in=people)
        assert Episode.objects.shared().count() == 151 - left.count()

    def test_some_letters_are_signed_and_one_is_a_draft(self) -> None:
        """Of every kind; what was signed has no gap, and speaks of the invented."""
        letters = Letter.objects.filter(site=self.site)
        signed = letters.filter(signed_at__isnull=False)
        assert (signed.count(), letters.count()) == (5, 6)
        assert {letter.kind for letter in signed} == set(Letter.Kind.values)
        for letter in signed:
            assert all(part["text"] for part in letter.body["parts"])
            assert letter.body["head"]["is_demo"]

    def test_one_lead_three_clinicians_one_administrator(self) -> None:
        """And nobody can sign in before a passphrase was given."""
        roles = Counter(User.objects.values_list("role", flat=True))
        assert roles == {"lead": 1, "clinician": 3, "administrator": 1}
        assert not any(p.has_usable_password() for p in User.objects.all())

    def test_each_story_leads_to_the_finding_it_tells(self) -> None:
        """A story without one asks for no review at all."""
        told = {
            (person.record_number, knee.side): knee
            for person in plan_caseload(ON)
            for knee in person.episodes
            if knee.discharged_on is None
        }
        wrong = []
        for row in self.rows:
            episode = row.episode
            knee = told.pop((episode.patient.record_number, episode.side))
            found = [f.rule.key for f in (*row.findings, *row.resting)]
            is_right = knee.tells in found if knee.tells else not found
            wrong += [] if is_right else [(knee.story, knee.tells, found)]
        assert wrong == []
        assert told == {}

    def test_which_findings_come_first(self) -> None:
        """The caseload shows most kinds of finding, and many cases without one."""
        first = Counter(
            row.findings[0].rule.key if row.findings else "" for row in self.rows
        )
        assert first["red_flag"] == 2
        assert first["worsening"] == 4
        assert first["one_low_look"] == 2
        assert first["pain_above_limit"] == 4
        assert first["remeasure_overdue"] >= 6
        assert first["baseline_missing"] == 2
        assert first[""] > 40

    def test_ceiling_cases_say_why_progress_is_not_judged(self) -> None:
        """No room for an important gain."""
        silent = [row.silent_reason for row in self.rows if row.silent_reason]
        assert len(silent) >= 4

    def test_reviewed_cases_rest_and_come_back(self) -> None:
        """Three rest; two passed the day to look again and are listed."""
        reviewed = [row for row in self.rows if row.review]
        resting = [row for row in reviewed if row.resting and not row.findings]
        back = [
            row for row in reviewed if row.findings and row.review.look_again_on < ON
        ]
        assert (len(resting), len(back)) == (3, 2)
        assert CaseReview.objects.count() == 5

    def test_scores_and_patient_may_disagree(self) -> None:
        """Two patients feel clearly better while their scores are flat."""
        titles = [f.title for row in self.rows for f in row.findings]
        assert any("but the patient reports better" in title for title in titles)

    def test_people_measures_are_asked_once_for_two_knees(self) -> None:
        """LEFS, PSFS and GROC stand in one of the two episodes only."""
        both = Episode.objects.filter(is_bilateral=True)
        assert both.count() == 6
        kept = Assessment.objects.filter(episode__in=both, is_of_person=True)
        assert kept.exists()
        for patient in Patient.objects.filter(episodes__in=both).distinct():
            holders = kept.filter(patient=patient).values("episode").distinct()
            assert holders.count() <= 1

    def test_adolescents_are_asked_about_the_hip_every_time(self) -> None:
        """The short screen has the hip question under 18."""
        young = Screen.objects.filter(episode__patient__birth_date__gt=date(2009, 1, 1))
        assert young.filter(form="short").exists()
        assert all("hip" in screen.answers for screen in young)
        ages = [age_on(p.birth_date, ON) for p in Patient.objects.all()]
        assert min(ages) >= 11

    def test_red_flags_are_decided_but_for_two(self) -> None:
        """A positive answer stays open until somebody decides in words."""
        positive = Screen.objects.filter(is_positive=True)
        assert positive.filter(decided_at__isnull=True).count() == 2
        assert positive.filter(decided_at__isnull=False).count() >= 4

    def test_every_attended_visit_has_a_screen(self) -> None:
        """The full one at the opening, the short one afterwards."""
        attended = Visit.objects.filter(attendance="attended")
        later = [v.pk for v in attended if v.visited_on > v.episode.opened_on]
        assert Screen.objects.filter(visit__in=later, form="short").count() == len(
            later
        )
        full = Screen.objects.filter(form="full", visit__isnull=True)
        assert full.count() == Episode.objects.count()

    def test_missed_visits_cover_contacts_and_recurrences_exist(self) -> None:
        """What a clinic of flesh and blood has."""
        attendance = Counter(Visit.objects.values_list("attendance", flat=True))
        assert attendance["did_not_attend"] > 15
        assert attendance["cancelled"] > 10
        assert Cover.objects.active(ON).count() == 4
        assert ContactAttempt.objects.count() == 18
        assert Episode.objects.filter(continues__isnull=False).count() == 3
        assert AuditEvent.objects.filter(action="case.transferred").count() == 2

    def test_discharges_carry_their_reason(self) -> None:
        """All six reasons occur."""
        ended = Episode.objects.filter(discharged_on__isnull=False)
        assert set(ended.values_list("discharge_reason", flat=True)) == {
            "goals met",
            "no further benefit",
            "stopped attending",
            "referred on",
            "moved away",
            "other",
        }

    def test_an_incomplete_form_keeps_its_reason(self) -> None:
        """Two re-measures have an empty item and therefore no score."""
        unscored = Assessment.objects.filter(score__isnull=True)
        assert unscored.count() == 2
        assert all(form.no_score_reason for form in unscored)

    def test_every_form_says_that_its_wording_is_a_demonstration(self) -> None:
        """The demo never shows a validated text."""
        assert Wording.objects.count() == 5
        assert not Assessment.objects.filter(wording__isnull=True).exists()
        assert not Wording.objects.filter(is_demonstration=False).exists()

    def test_names_are_of_every_kind(self) -> None:
        """Long, accented and right-to-left ones among them."""
        names = list(Patient.objects.values_list("family_name", flat=True))
        assert max(len(name) for name in names) > 45
        assert any(re.search(r"[\u0600-\u06ff]", name) for name in names)
        assert any(re.search(r"[\u0590-\u05ff]", name) for name in names)
        assert len(set(names)) == len(names)

    def test_nothing_saved_lies_in_the_future(self) -> None:
        """Dates end on the day that was asked for."""
        for rows, field in (
            (Visit.objects, "visited_on"),
            (Assessment.objects, "assessed_on"),
            (PainScore.objects, "rated_on"),
            (ContactAttempt.objects, "tried_on"),
            (CaseReview.objects, "reviewed_on"),
            (Screen.objects, "answered_on"),
        ):
            assert rows.filter(**{f"{field}__gt": ON}).count() == 0, field
        latest = Visit.objects.order_by("-visited_on").first()
        assert latest and ON - latest.visited_on <= timedelta(days=3)

    def test_running_it_again_adds_nothing(self) -> None:
        """It says that the sign-ins were printed, and prints none."""
        counts = [m.objects.count() for m in (Visit, Assessment, AuditEvent, User)]
        with patch.object(Command, "serve") as serve:
            said = run_demo()
        after = [m.objects.count() for m in (Visit, Assessment, AuditEvent, User)]
        assert counts == after
        assert "set up already; nothing was added" in said
        assert "Passphrase" not in said
        serve.assert_not_called()

    def test_new_sign_ins_replace_the_ones_before(self) -> None:
        """The printed passphrase opens the door; the one before does not."""
        first = give_passphrase(self.site)
        said = run_demo(new_sign_ins=True)
        second = said.split("Passphrase of all of them:")[1].strip()
        lead = staff_of(self.site)[0]
        assert lead.role == "lead"
        assert lead.username in said
        assert lead.check_password(second)
        assert not lead.check_password(first)
        assert first not in str(list(AuditEvent.objects.values_list("detail")))

    def test_the_sign_in_works_on_this_machine_only(self) -> None:
        """The same passphrase from elsewhere is refused."""
        passphrase = give_passphrase(self.site)
        form = {"username": "i.tarnwick", "password": passphrase}
        far = self.client.post("/sign-in/", form, REMOTE_ADDR="192.0.2.7")
        assert far.status_code == 200
        assert "_auth_user_id" not in self.client.session
        near = self.client.post("/sign-in/", form, REMOTE_ADDR="127.0.0.1")
        assert near.status_code == 302


def run_demo(**options: object) -> str:
    """Run the command without serving and return what it said."""
    said = StringIO()
    defaults = {"on": min(ON, timezone.localdate()), "no_serve": True}
    call_command("demo", stdout=said, **{**defaults, **options})
    return said.getvalue()


# Where it refuses to be


def test_refuses_a_database_with_a_real_clinic(site: Site) -> None:
    """It names the clinic and writes nothing."""
    with pytest.raises(CommandError, match="did not make: Invented Knee Clinic"):
        run_demo()
    assert Site.objects.count() == 1
    assert not User.objects.exists()


@pytest.mark.usefixtures("db")
def test_refuses_to_be_reachable_from_elsewhere(settings: Settings) -> None:
    """Its sign-ins are for this machine."""
    settings.IS_LOOPBACK_ONLY = False
    with pytest.raises(CommandError, match="TROCHLEA_HOSTS"):
        run_demo()
    assert not Site.objects.exists()


@pytest.mark.usefixtures("db")
def test_refuses_https(settings: Settings) -> None:
    """It serves plain http and would only redirect into nothing."""
    settings.HTTPS = True
    with pytest.raises(CommandError, match="TROCHLEA_HTTPS"):
        run_demo()


@pytest.mark.usefixtures("db")
def test_refuses_a_day_ahead() -> None:
    """No record may be from the future."""
    with pytest.raises(CommandError, match="lies ahead"):
        run_demo(on=timezone.localdate() + timedelta(days=1))


@pytest.mark.usefixtures("db")
def test_refuses_words_that_are_no_day() -> None:
    """It says how to write one."""
    with pytest.raises(CommandError, match="2026-03-31"):
        call_command("demo", "--on", "soon", "--no-serve")


@pytest.mark.usefixtures("db")
@pytest.mark.parametrize("port", [0, 70_000, -1])
def test_refuses_a_port_that_is_none(port: int) -> None:
    """Before anything is set up."""
    with pytest.raises(CommandError, match="is no port"):
        run_demo(no_serve=False, port=port)
    assert not Site.objects.exists()


@pytest.mark.usefixtures("db")
def test_refuses_a_port_in_use() -> None:
    """It says so before the long set-up, not after it."""
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        with pytest.raises(CommandError, match=f"Port {port} cannot be used"):
            run_demo(no_serve=False, port=port)
    assert not Site.objects.exists()


@pytest.mark.usefixtures("db")
def test_a_failure_half_way_leaves_nothing_behind() -> None:
    """The clinic is saved whole or not at all."""
    with (
        patch("outcomes.demo.clinic._arrange_cover", side_effect=RuntimeError),
        patch("outcomes.demo.clinic.plan_caseload", return_value=plan_caseload(ON)[:2]),
        pytest.raises(RuntimeError),
    ):
        seed_clinic(ON)
    assert not Site.objects.exists()
    assert not Patient.objects.exists()


def test_chapters_are_whole() -> None:
    """Each ended chapter has a reason, each open one none; twists name a case."""
    assert all(chapter.reason for chapter in ENDED)
    assert not any(chapter.reason for chapter in IN_CARE)
    assert all(case < c.count for c in IN_CARE for case in c.twists)
