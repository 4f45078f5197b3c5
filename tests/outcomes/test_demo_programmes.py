"""The programmes of the invented clinic fit their stories, and keep to every limit.

The second part is mixed into the class that seeds the clinic, so that it is seeded
once only.
"""

from collections import Counter
from dataclasses import replace
from datetime import date, timedelta
from typing import ClassVar

from clinic.models import Episode, Site, Visit
from outcomes.demo.beside import BESIDE, CUSHIONED, PAUSED
from outcomes.demo.blueprints import blueprints
from outcomes.demo.caseload import plan_caseload
from outcomes.demo.programmes import (
    TRACKS,
    ProgrammePlan,
    case_key,
    plan_programmes,
)
from outcomes.demo.stories import ENDED, IN_CARE
from outcomes.models import CaseReview
from outcomes.time_limits import overdue_adjuncts
from programs import library
from programs.course import read_course, runs
from programs.dosing.flow_screen import Answer, Blocked, Clear, Expired, screen_status
from programs.dosing.limits import DosingPolicy
from programs.dosing.response_rules import Kind
from programs.gates import facts_of, flow_status
from programs.line_rules import faults
from programs.lines import line_of
from programs.models import (
    AdverseEvent,
    ClinicExercise,
    FlowScreen,
    OtherCare,
    Phase,
    Prescription,
    Programme,
    SessionLog,
    SuggestionChoice,
)
from programs.next_steps import read_advice

ON = date(2026, 6, 3)


def programmes(on: date = ON) -> dict[tuple[str, date, str], ProgrammePlan]:
    """Return every planned programme."""
    return plan_programmes(plan_caseload(on))


# The plan: values only, nothing saved


def test_every_story_has_its_track() -> None:
    """And no track is for a story that is not told."""
    told = {chapter.story.key for chapter in (*IN_CARE, *ENDED)}
    assert set(TRACKS) == told


def test_nothing_goes_up_where_the_knee_gets_worse() -> None:
    """Neither a step nor a phase; thigh work is too much from the fall on."""
    worsening = TRACKS["worsening"]
    assert (worsening.phases, worsening.goes_up) == ((), ())
    assert worsening.sore_from == 6


def test_nearly_every_open_case_and_many_ended_ones_have_a_programme() -> None:
    """Two new cases have none yet."""
    found = Counter(plan.is_open for plan in programmes().values())
    assert found[True] == 94
    assert found[False] >= 25


def test_the_same_day_always_gives_the_same_programmes() -> None:
    """They are seeded by the case."""
    assert programmes() == programmes()


def test_the_programmes_follow_the_day() -> None:
    """A year earlier they are the same, a year earlier."""
    year = timedelta(weeks=52)
    earlier = {
        (number, opened_on + year, side): replace(plan, last_on=plan.last_on + year)
        for (number, opened_on, side), plan in programmes(ON - year).items()
    }
    assert earlier == programmes()


def test_templates_are_short() -> None:
    """Four, of one to three phases with two to five lines each."""
    assert len(blueprints()) == 4
    for draft in blueprints().values():
        assert 1 <= len(draft.phases) <= 3
        assert all(2 <= len(phase.lines) <= 5 for phase in draft.phases)


def test_what_stands_beside_belongs_to_a_case() -> None:
    """No tape, cuff or other care is planned for a case that is not there."""
    count = Counter(
        (knee.story, knee.discharged_on is None)
        for person in plan_caseload(ON)
        for knee in person.episodes
    )
    assert all(place < count[story, is_open] for story, is_open, place in BESIDE)


# The clinic: mixed into the class that seeds it


class ProgrammesOfTheClinic:
    """What was prescribed, told and suggested in the seeded clinic."""

    site: ClassVar[Site]

    def cases(self, *stories: str, is_open: bool | None = None) -> list[Episode]:
        """Return the cases of some stories that have a programme."""
        people = plan_caseload(ON)
        planned = plan_programmes(people)
        keys = {
            case_key(person, knee)
            for person in people
            for knee in person.episodes
            if not stories or knee.story in stories
        } & planned.keys()
        found = Episode.objects.select_related("patient", "site").order_by("pk")
        return [
            case
            for case in found
            if (case.patient.record_number, case.opened_on, case.side) in keys
            and is_open in (None, case.is_open)
        ]

    def lines(self) -> list[Prescription]:
        """Return every line of a case that was in force at some time."""
        people = ("phase__programme__episode__site", "clinic_exercise", "replaces")
        begun = Prescription.objects.filter(
            starts_on__isnull=False, phase__programme__episode__isnull=False
        )
        return list(begun.select_related(*people))

    def test_the_clinic_has_four_templates_and_uses_them(self) -> None:
        """They name nobody, and most programmes are copies of one."""
        templates = Programme.objects.filter(episode__isnull=True)
        assert set(templates.values_list("title", flat=True)) == {
            "Calm first, then strong",
            "Strong thighs and hips",
            "Back to running",
            "Growing and sore",
        }
        own = Programme.objects.filter(episode__isnull=False)
        assert own.filter(copied_from__in=templates).count() > 100
        assert own.filter(copied_from__episode__isnull=False).count() == 3

    def test_programmes_are_as_planned(self) -> None:
        """One for each case that has one; what runs has running lines."""
        cases = self.cases()
        held = Programme.objects.filter(episode__isnull=False)
        assert held.count() == len(cases)
        running = held.filter(ended_on__isnull=True)
        assert running.count() == len(self.cases(is_open=True))
        assert not running.exclude(
            phases__prescriptions__starts_on__isnull=False,
            phases__prescriptions__stops_on__isnull=True,
        ).exists()

    def test_nothing_runs_after_the_discharge(self) -> None:
        """The programme ended with the case, and every line with it."""
        ended = Programme.objects.filter(episode__discharged_on__isnull=False)
        assert ended.count() >= 25
        assert not ended.filter(ended_on__isnull=True).exists()
        lines = Prescription.objects.filter(phase__programme__in=ended)
        assert not lines.filter(stops_on__isnull=True).exists()

    def test_every_dose_keeps_to_the_limits(self) -> None:
        """As on the day it was prescribed; a retired entry was in use before."""
        policy = DosingPolicy()
        wrong = []
        for line in self.lines():
            own = line.clinic_exercise
            if own:
                own.retired_at = None
            episode = line.phase.programme.episode
            found = faults(
                line_of(line), episode=episode, policy=policy, on=line.starts_on
            )
            wrong += [(line.pk, found)] if found else []
        assert wrong == []

    def test_every_change_says_why(self) -> None:
        """A new line that takes another's place, or a line that was stopped."""
        lines = Prescription.objects.filter(phase__programme__episode__isnull=False)
        assert lines.filter(replaces__isnull=False).count() > 50
        assert not lines.filter(replaces__isnull=False, why="").exists()
        assert not lines.filter(stops_on__isnull=False, why_stopped="").exists()

    def test_a_flare_is_eased_off(self) -> None:
        """Where the flare was seen before the last visit, a smaller dose followed."""
        for case in self.cases("flare"):
            eased = SuggestionChoice.objects.filter(
                prescription__phase__programme__episode=case,
                kind=Kind.EASE_OFF,
                choice=SuggestionChoice.Choice.ACCEPTED,
            ).select_related("prescription", "leads_to")
            assert eased.exists(), case.pk
            assert all(is_less(one.leads_to, than=one.prescription) for one in eased), (
                case.pk
            )

    def test_after_a_fall_nothing_is_raised(self) -> None:
        """Worsening: one phase, and each change is a smaller dose."""
        worsening = self.cases("worsening")
        phases = Phase.objects.filter(programme__episode__in=worsening)
        assert phases.filter(starts_on__isnull=False).count() == len(worsening)
        changed = [
            line
            for line in self.lines()
            if line.phase.programme.episode in worsening and line.replaces
        ]
        assert len(changed) >= len(worsening)
        assert all(is_less(line, than=line.replaces) for line in changed)

    def test_a_steady_knee_goes_up(self) -> None:
        """Nearly all of those that were discharged reached a later phase or rung."""
        steady = self.cases("steady", is_open=False)
        later = Phase.objects.filter(
            programme__episode__in=steady, number__gt=1, starts_on__isnull=False
        )
        raised = Prescription.objects.filter(
            phase__programme__episode__in=steady, replaces__isnull=False
        )
        reached = {*later.values_list("programme", flat=True)}
        reached |= {*raised.values_list("phase__programme", flat=True)}
        assert len(reached) >= 0.9 * len(steady)

    def test_progress_hold_and_ease_off_are_all_suggested(self) -> None:
        """On the day of the demo, each in a dozen cases at least."""
        kinds: Counter[Kind] = Counter()
        for case in self.cases(is_open=True):
            advice = read_advice(case, on=ON)
            steps = advice.steps if advice else ()
            kinds.update({one.suggestion.kind for one in steps if one.is_asked})
        assert kinds[Kind.PROGRESS] >= 12
        assert kinds[Kind.HOLD] >= 12
        assert kinds[Kind.EASE_OFF] >= 12

    def test_worsening_and_flares_ask_to_ease_off_today(self) -> None:
        """And none of the worsening ones to go up."""
        for case in self.cases("worsening", is_open=True):
            advice = read_advice(case, on=ON)
            kinds = {one.suggestion.kind for one in advice.steps} if advice else set()
            assert Kind.EASE_OFF in kinds
            assert Kind.PROGRESS not in kinds

    def test_suggestions_were_accepted_changed_and_declined(self) -> None:
        """Those that led to a change name it; those declined say why."""
        choices = SuggestionChoice.objects.all()
        found = Counter(choices.values_list("choice", flat=True))
        assert found["accepted"] > 50
        assert found["edited"] >= 4
        assert found["declined"] >= 10
        assert not choices.filter(choice="declined", words="").exists()
        moved = choices.exclude(kind=Kind.HOLD).exclude(choice="declined")
        assert not moved.filter(leads_to__isnull=True).exists()

    def test_every_line_under_a_cuff_has_an_open_screen(self) -> None:
        """On the day it was prescribed, in this episode, signed."""
        cuffed = [line for line in self.lines() if line.cuff_percent is not None]
        episodes = {line.phase.programme.episode for line in cuffed}
        assert len(episodes) >= 5
        for line in cuffed:
            screens = FlowScreen.objects.filter(
                episode=line.phase.programme.episode, answered_on__lte=line.starts_on
            )
            newest = screens.order_by("-answered_on", "-pk").first()
            assert newest is not None
            status = screen_status(
                facts_of(newest), on=line.starts_on, last_adverse_event_on=None
            )
            assert isinstance(status, Clear)

    def test_screens_are_open_outdated_ended_and_refused(self) -> None:
        """One ran out by time, one by an event, one was never open."""
        cases = Episode.objects.open().filter(flow_screens__isnull=False).distinct()
        found = [flow_status(case, on=ON) for case in cases.select_related("site")]
        kinds = Counter(type(status) for status in found)
        assert kinds == {Clear: 3, Expired: 2, Blocked: 1}
        decided = FlowScreen.objects.exclude(decision="")
        assert {Answer.YES.value} <= {
            answer for screen in decided for answer in screen.answers.values()
        }
        assert FlowScreen.objects.exclude(physician="").count() == 1

    def test_a_contraindication_leaves_no_line_under_a_cuff(self) -> None:
        """Something else was prescribed in its place, with the reason."""
        case = Episode.objects.get(
            flow_screens__answers__clot="yes", discharged_on=None
        )
        lines = Prescription.objects.filter(phase__programme__episode=case)
        assert not lines.filter(occlusion_mmhg__isnull=False).exists()
        assert not lines.filter(exercise__startswith="bfr_").exists()
        assert lines.filter(why__startswith="No cuff").count() == 1

    def test_an_event_stopped_its_line(self) -> None:
        """On or after the day that it happened; nothing under a cuff runs since."""
        event = AdverseEvent.objects.get()
        assert event.is_during_flow_restriction
        line = event.prescription
        assert line.stops_on >= event.happened_on
        cuffed = Prescription.objects.filter(
            phase__programme__episode=event.episode, cuff_percent__isnull=False
        )
        assert not cuffed.filter(stops_on__isnull=True).exists()

    def test_tape_and_orthoses_within_and_beyond_their_weeks(self) -> None:
        """Most were ended in time; the reminder shows for a few."""
        adjuncts = ("taping_tailored", "taping_self", "orthoses_prefabricated")
        used = Prescription.objects.filter(exercise__in=adjuncts)
        assert used.filter(stops_on__isnull=False).count() >= 10
        words = [
            sentence
            for case in self.cases(is_open=True)
            for sentence in overdue_adjuncts(
                read_course(case), list(CaseReview.objects.filter(episode=case)), on=ON
            )
        ]
        taped = [sentence for sentence in words if "taping" in sentence]
        assert len(taped) == 2
        assert 1 <= len(words) - len(taped) <= 4
        stopped = [
            (line.stops_on - line.starts_on).days
            <= 7 * library.exercise(line.exercise).time_limit_weeks
            for line in used.filter(stops_on__isnull=False)
        ]
        assert sum(stopped) >= 0.7 * len(stopped)

    def test_other_care_stands_beside_the_course(self) -> None:
        """Five kinds of it; the injection lies before the jump of its score."""
        kinds = set(OtherCare.objects.values_list("what", flat=True))
        assert kinds == {"injection", "medicine", "treatment", "illness", "training"}
        for care in OtherCare.objects.filter(what="injection").select_related(
            "episode"
        ):
            assert care.began_on - care.episode.opened_on <= timedelta(weeks=3)

    def test_the_clinics_own_exercises(self) -> None:
        """One is in use; the other was retired, and stays where it was used."""
        paused = ClinicExercise.objects.get(name=PAUSED)
        assert paused.retired_at is None
        assert paused.uses.filter(stops_on__isnull=True).count() >= 2
        cushioned = ClinicExercise.objects.get(name=CUSHIONED)
        assert cushioned.retired_at is not None
        assert cushioned.uses.filter(stops_on__isnull=True).exists()

    def test_sessions_are_told_at_attended_visits_of_running_lines(self) -> None:
        """At about every visit after the first, and never of a line to come."""
        logs = SessionLog.objects.select_related("visit", "prescription")
        assert logs.count() > 2000
        wrong = [
            log.pk
            for log in logs
            if log.visit.attendance != Visit.Attendance.ATTENDED
            or not runs(log.prescription, log.visit.visited_on - timedelta(days=1))
        ]
        assert wrong == []

    def test_nothing_of_the_programmes_lies_in_the_future(self) -> None:
        """Nor before the case."""
        days = [
            (Prescription, "starts_on"),
            (Prescription, "stops_on"),
            (Phase, "starts_on"),
            (Phase, "ends_on"),
            (Programme, "starts_on"),
            (Programme, "ended_on"),
            (OtherCare, "began_on"),
            (OtherCare, "ended_on"),
            (AdverseEvent, "happened_on"),
            (FlowScreen, "answered_on"),
            (FlowScreen, "physician_answered_on"),
            (SuggestionChoice, "suggested_on"),
        ]
        for model, field in days:
            assert not model.objects.filter(**{f"{field}__gt": ON}).exists(), field
        for line in self.lines():
            assert line.starts_on >= line.phase.programme.episode.opened_on


def is_less(line: Prescription, *, than: Prescription) -> bool:
    """Tell whether a line asks for less: an easier rung, or a smaller volume."""
    known = library.library()
    if line.exercise != than.exercise:
        now, before = known[line.exercise], known[than.exercise]
        return now.ladder == before.ladder and (now.rung or 0) < (before.rung or 0)
    if line.scheme:
        return len(line.scheme) < len(than.scheme)
    return line.sets * line.repetitions < than.sets * than.repetitions
