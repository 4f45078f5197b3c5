"""Acts of planning: lines replace lines, gates refuse, copies name what they lack."""

from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest
from django.db import IntegrityError, transaction

from clinic.admitting import discharge
from clinic.models import AuditEvent, Episode, Site, User
from clinic.versions import StaleEdit
from programs.copying import (
    Copied,
    CopyRefused,
    Cuff,
    copy_programme,
    save_as_template,
    sources_for,
)
from programs.lines import Line, line_of
from programs.models import AdverseEvent, Prescription, Programme, SiteDosing
from programs.own_exercises import add_exercise, retire_exercise
from programs.planning import (
    add_phase,
    change_phase,
    end_programme,
    void_programme,
)
from programs.prescribing import (
    GateClosed,
    LineRefused,
    PlanRefused,
    change_prescription,
    prescribe,
    stop_prescription,
)
from tests.factories import make_episode, make_patient

from .plans import (
    RESTRICTED,
    first_phase,
    flow_line,
    make_line,
    make_programme,
    open_screen,
    squat_line,
)

pytestmark = pytest.mark.usefixtures("clock")


@pytest.fixture
def case(clinician: User) -> Episode:
    """The clinician's case: a left knee."""
    return make_episode(by=clinician)


@pytest.fixture
def plan(case: Episode, today: date) -> Programme:
    """A programme that began three weeks ago."""
    return make_programme(case, on=today - timedelta(days=21))


# Lines


def test_a_change_makes_a_new_line_and_keeps_the_old_one(
    plan: Programme, clinician: User, today: date
) -> None:
    """Who, when and why stand on both; the old line stays as it was."""
    old = make_line(plan, on=today - timedelta(days=14))
    new = change_prescription(
        old,
        by=clinician,
        line=replace(line_of(old), load_kg=14.0),
        on=today,
        why="Beat the target twice.",
    )
    old.refresh_from_db()
    assert (old.load_kg, old.stops_on, old.stopped_by) == (12.0, today, clinician)
    assert (new.load_kg, new.starts_on, new.replaces) == (14.0, today, old)
    assert new.why == "Beat the target twice."
    assert new.is_running and not old.is_running


def test_every_act_on_a_line_writes_one_audit_line(
    plan: Programme, clinician: User, today: date
) -> None:
    """Prescribed, changed, stopped: three lines, with the patient."""
    before = AuditEvent.objects.count()
    old = make_line(plan, on=today)
    new = change_prescription(
        old, by=clinician, line=squat_line(sets=2), on=today, why="Less."
    )
    stop_prescription(new, by=clinician, on=today, why="Enough.")
    made = AuditEvent.objects.order_by("pk")[before:]
    assert [line.action for line in made] == [
        "line.prescribed",
        "line.changed",
        "line.stopped",
    ]
    assert {line.patient for line in made} == {plan.episode.patient}  # type: ignore[union-attr]


@pytest.mark.parametrize("why", ["", "   "])
def test_a_change_and_a_stop_say_why(
    plan: Programme, clinician: User, today: date, why: str
) -> None:
    """Without a reason nothing happens."""
    old = make_line(plan, on=today)
    with pytest.raises(PlanRefused, match="Say why"):
        change_prescription(old, by=clinician, line=squat_line(), on=today, why=why)
    with pytest.raises(PlanRefused, match="Say why"):
        stop_prescription(old, by=clinician, on=today, why=why)
    assert Prescription.objects.get().is_running


def test_a_line_is_changed_once(plan: Programme, clinician: User, today: date) -> None:
    """Of two people who change one line, the second is told."""
    old, same = make_line(plan, on=today), Prescription.objects.get()
    change_prescription(old, by=clinician, line=squat_line(), on=today, why="First.")
    with pytest.raises(PlanRefused, match="changed meanwhile"):
        change_prescription(
            same, by=clinician, line=squat_line(), on=today, why="Second."
        )


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"sets": 21}, "sets"),
        ({"sets": None}, "sets"),
        ({"repetitions": 0}, "repetitions"),
        ({"repetitions": None, "sets": None}, "repetitions"),
        ({"hold_seconds": 301}, "hold_seconds"),
        ({"minutes": 241}, "minutes"),
        ({"rest_seconds": 601}, "rest_seconds"),
        ({"times_a_week": 22}, "times_a_week"),
        ({"scheme": (30, 15)}, "scheme"),
        ({"load_kg": None}, "load_kg"),
        ({"load_kg": 501.0}, "load_kg"),
        ({"load_kg": float("nan")}, "load_kg"),
        ({"load": "body"}, "load"),
        ({"load": "band", "load_kg": None}, "band"),
        ({"load": "percent", "load_kg": None}, "load_percent"),
        ({"load": "percent", "load_percent": 120.0}, "load_percent"),
        ({"load": "bucket"}, "load"),
        ({"plate_step_kg": 0.0}, "plate_step_kg"),
        ({"range_to": 90}, "range_to"),
        ({"range_from": 50, "range_to": 40}, "range_to"),
        ({"exercise": "made_up"}, "exercise"),
        ({"exercise": ""}, "exercise"),
        ({"cuff_percent": 60}, "cuff_percent"),
    ],
)
def test_a_dose_out_of_range_is_refused_at_its_field(
    plan: Programme, clinician: User, today: date, changes: dict[str, Any], field: str
) -> None:
    """The reason stands at the field, and nothing is kept."""
    open_screen(plan.episode, on=today)  # type: ignore[arg-type]
    with pytest.raises(LineRefused) as refused:
        make_line(plan, on=today, line=squat_line(**changes))
    assert field in refused.value.faults
    assert not Prescription.objects.exists()


def test_a_percentage_gets_its_load_rounded_down_to_the_plates(
    plan: Programme, today: date
) -> None:
    """70 per cent of 53.2 kg is 37.24; with plates of 2.5 that is 35."""
    line = squat_line(
        load="percent",
        load_percent=70.0,
        load_kg=None,
        one_rm_kg=53.2,
        plate_step_kg=2.5,
    )
    assert make_line(plan, on=today, line=line).load_kg == 35.0


def test_a_retired_entry_is_not_prescribed_but_stays(
    plan: Programme, clinician: User, today: date
) -> None:
    """Where it is used it can be read; a change needs another exercise."""
    own = add_exercise(
        by=clinician, name="Invented drill", target="foot", how="Do.", source="None."
    )
    line = Line(clinic_exercise=own, sets=1, repetitions=5)
    kept = make_line(plan, on=today, line=line)
    retire_exercise(own, by=clinician)
    with pytest.raises(LineRefused, match="retired"):
        make_line(plan, on=today, line=line)
    kept.refresh_from_db()
    assert str(kept) == "Invented drill"


def test_another_clinics_entry_is_not_prescribed(
    plan: Programme, stranger: User, today: date
) -> None:
    """An own entry belongs to its clinic."""
    foreign = add_exercise(
        by=stranger, name="Invented drill", target="foot", how="Do.", source="None."
    )
    with pytest.raises(LineRefused, match="not in the library"):
        line = Line(clinic_exercise=foreign, sets=1, repetitions=5)
        make_line(plan, on=today, line=line)


# Blood-flow restriction


def refuse_everywhere(plan: Programme, by: User, on: date) -> None:
    """Try every act that could make a line under a cuff; each is refused."""
    ordinary = make_line(plan, on=on)
    under_cuff = flow_line(on=on)
    with pytest.raises(GateClosed):
        make_line(plan, on=on, line=under_cuff)
    with pytest.raises(GateClosed):
        change_prescription(ordinary, by=by, line=under_cuff, on=on, why="Try.")
    with pytest.raises(GateClosed):  # cuff values on an ordinary exercise
        make_line(plan, on=on, line=squat_line(occlusion_mmhg=195, cuff_percent=60))
    with pytest.raises(GateClosed):  # the exercise alone
        make_line(plan, on=on, line=Line(exercise=RESTRICTED))
    ordinary.refresh_from_db()
    assert ordinary.is_running
    assert not Prescription.objects.filter(exercise=RESTRICTED).exists()


def test_without_a_screen_nothing_is_prescribed_under_a_cuff(
    plan: Programme, clinician: User, today: date
) -> None:
    """No screen was answered."""
    refuse_everywhere(plan, clinician, today)


@pytest.mark.parametrize(
    ("answers", "more"),
    [
        ({"clot": "yes"}, {}),
        ({"clot": "yes"}, {"decision": "We go on all the same."}),
        ({"clot": "cleared"}, {}),
        ({"clot": ""}, {}),
        ({"varicose_veins": "yes"}, {}),
        ({}, {"edition": 99}),
    ],
)
def test_a_screen_that_is_not_clear_refuses_everywhere(
    plan: Programme,
    clinician: User,
    today: date,
    answers: dict[str, str],
    more: dict[str, Any],
) -> None:
    """A contraindication, an open question, a risk undecided, another edition."""
    open_screen(plan.episode, on=today, answers=answers, **more)  # type: ignore[arg-type]
    refuse_everywhere(plan, clinician, today)


def test_a_screen_of_the_past_or_before_an_event_refuses_everywhere(
    plan: Programme, clinician: User, today: date
) -> None:
    """Too old, and then ended by an adverse event."""
    episode = plan.episode
    assert episode
    open_screen(episode, on=today - timedelta(days=100))
    refuse_everywhere(plan, clinician, today)
    open_screen(episode, on=today - timedelta(days=3))
    AdverseEvent.objects.create(
        site=episode.site,
        episode=episode,
        happened_on=today - timedelta(days=1),
        what="Invented",
        done="Invented",
        reported_by=clinician,
    )
    refuse_everywhere(plan, clinician, today)


def test_an_open_screen_lets_a_whole_line_through(plan: Programme, today: date) -> None:
    """30 per cent of 60 kg is 18; with plates of 2.5 that is 17.5."""
    open_screen(plan.episode, on=today)  # type: ignore[arg-type]
    made = make_line(plan, on=today, line=flow_line(on=today))
    assert (made.load_kg, made.scheme) == (17.5, [30, 15, 15, 15])


def test_a_screen_of_the_other_knee_does_not_count(
    plan: Programme, clinician: User, today: date
) -> None:
    """The screen belongs to the episode."""
    assert plan.episode
    other = make_episode(by=clinician, patient=plan.episode.patient, side="right")
    open_screen(other, on=today)
    refuse_everywhere(plan, clinician, today)


def test_a_line_that_begins_after_the_screen_has_run_out_is_refused(
    plan: Programme, clinician: User, today: date
) -> None:
    """The gate is asked for the day it begins as well."""
    open_screen(plan.episode, on=today)  # type: ignore[arg-type]
    with pytest.raises(GateClosed):
        prescribe(
            first_phase(plan),
            by=clinician,
            line=flow_line(on=today),
            on=today,
            starts_on=today + timedelta(days=120),
        )


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"occlusion_mmhg": None}, "occlusion_mmhg"),
        ({"occlusion_mmhg": 79}, "occlusion_mmhg"),
        ({"occlusion_mmhg": 301}, "occlusion_mmhg"),
        ({"occlusion_side": "right"}, "occlusion_side"),
        ({"occlusion_side": ""}, "occlusion_side"),
        ({"occlusion_measured_on": None}, "occlusion_measured_on"),
        ({"occlusion_measured_on": date(2020, 1, 1)}, "occlusion_measured_on"),
        ({"occlusion_measured_on": date(2100, 1, 1)}, "occlusion_measured_on"),
        ({"cuff_percent": None}, "cuff_percent"),
        ({"cuff_percent": 39}, "cuff_percent"),
        ({"cuff_percent": 81}, "cuff_percent"),
        ({"load_percent": 19.0}, "load_percent"),
        ({"load_percent": 41.0}, "load_percent"),
        ({"load": "kg", "load_percent": None, "load_kg": 25.0}, "load_kg"),
        (
            {"load": "kg", "load_percent": None, "load_kg": 15.0, "one_rm_kg": None},
            "one_rm_kg",
        ),
        ({"load": "body", "load_percent": None}, "load"),
        ({"scheme": ()}, "scheme"),
        ({"scheme": (30, 30, 30)}, "scheme"),
        ({"rest_seconds": 20}, "rest_seconds"),
        ({"rest_seconds": 90}, "rest_seconds"),
        ({"times_a_week": 4}, "times_a_week"),
        ({"on_side": "both"}, "on_side"),
        ({"on_side": "other"}, "occlusion_side"),
    ],
)
def test_under_a_cuff_every_number_is_held_to_its_range(
    plan: Programme, today: date, changes: dict[str, Any], field: str
) -> None:
    """Ranges of the position stand, and the limb that was measured."""
    open_screen(plan.episode, on=today)  # type: ignore[arg-type]
    with pytest.raises(LineRefused) as refused:
        make_line(plan, on=today, line=flow_line(on=today, **changes))
    assert field in refused.value.faults


def test_the_site_may_narrow_the_ranges(plan: Programme, today: date) -> None:
    """The gate and the ranges use the numbers of the site."""
    assert plan.episode
    open_screen(plan.episode, on=today)
    SiteDosing.objects.create(
        site=plan.site, values={"flow_pressure_most": 50}, changed_by=plan.made_by
    )
    with pytest.raises(LineRefused) as refused:
        make_line(plan, on=today, line=flow_line(on=today))
    assert "cuff_percent" in refused.value.faults


def test_the_database_refuses_a_cuff_without_a_measured_pressure(
    plan: Programme, today: date
) -> None:
    """The last guard, behind every act."""
    for missing in ({"occlusion_mmhg": None}, {"occlusion_measured_on": None}):
        line = flow_line(on=today, **missing)
        with pytest.raises(IntegrityError), transaction.atomic():
            Prescription.objects.create(
                site=plan.site,
                phase=first_phase(plan),
                prescribed_by=plan.made_by,
                starts_on=today,
                **line.columns,
            )


# Programmes and phases


def test_a_case_has_one_running_programme(
    plan: Programme, case: Episode, clinician: User, today: date
) -> None:
    """End the first, then begin the next."""
    with pytest.raises(IntegrityError), transaction.atomic():
        make_programme(case, on=today)
    end_programme(plan, by=clinician, on=today, why="Next step.", version=1)
    assert make_programme(case, on=today)


def test_ending_a_programme_stops_its_lines(
    plan: Programme, clinician: User, today: date
) -> None:
    """And nothing more is entered in it."""
    line = make_line(plan, on=today - timedelta(days=7))
    end_programme(plan, by=clinician, on=today, why="Goals met.", version=1)
    line.refresh_from_db()
    assert (line.stops_on, line.why_stopped) == (today, "Goals met.")
    with pytest.raises(PlanRefused, match="has ended"):
        make_line(plan, on=today)
    with pytest.raises(PlanRefused, match="has ended"):
        add_phase(plan, by=clinician, title="More")


def test_a_voided_programme_takes_its_lines_along(
    plan: Programme, clinician: User, today: date
) -> None:
    """Who, when and why stand on each."""
    line = make_line(plan, on=today)
    void_programme(plan, by=clinician, why="Wrong case.", version=1)
    line.refresh_from_db()
    assert line.void_reason == plan.void_reason == "Wrong case."
    with pytest.raises(PlanRefused, match="voided"):
        make_line(plan, on=today)


def test_two_people_who_end_a_programme_are_told(
    plan: Programme, clinician: User, today: date
) -> None:
    """The version holds."""
    end_programme(plan, by=clinician, on=today, why="Done.", version=1)
    with pytest.raises(PlanRefused):
        end_programme(plan, by=clinician, on=today, why="Done.", version=1)


def test_a_phase_that_is_begun_begins_its_lines(
    plan: Programme, clinician: User, today: date
) -> None:
    """A line put into a phase to come waits for it."""
    phase = add_phase(plan, by=clinician, title="Strength")
    waiting = prescribe(phase, by=clinician, line=squat_line(), on=today)
    assert waiting.starts_on is None and not waiting.is_running
    change_phase(phase, by=clinician, on=today, version=1, starts_on=today)
    waiting.refresh_from_db()
    assert waiting.starts_on == today and waiting.is_running


def test_a_waiting_line_under_a_cuff_meets_the_gate_again(
    plan: Programme, clinician: User, today: date
) -> None:
    """The screen was open when it was planned, and has been answered since."""
    assert plan.episode
    open_screen(plan.episode, on=today)
    phase = add_phase(plan, by=clinician, title="Strength")
    waiting = prescribe(phase, by=clinician, line=flow_line(on=today), on=today)
    open_screen(plan.episode, on=today, answers={"clot": "yes"})
    with pytest.raises(GateClosed), transaction.atomic():
        change_phase(phase, by=clinician, on=today, version=1, starts_on=today)
    waiting.refresh_from_db()
    assert waiting.starts_on is None


def test_a_phase_is_changed_by_one_person_at_a_time(
    plan: Programme, clinician: User, today: date
) -> None:
    """The second one is told."""
    phase = first_phase(plan)
    change_phase(phase, by=clinician, on=today, version=1, title="Calm it")
    with pytest.raises(StaleEdit):
        change_phase(phase, by=clinician, on=today, version=1, title="Settle it")


def test_nothing_is_planned_in_a_case_that_is_not_in_care(
    plan: Programme, case: Episode, clinician: User, today: date
) -> None:
    """A discharged case can end its programme, and do no more."""
    discharge(case, by=clinician, on=today, reason="goals met", note="", version=1)
    plan = Programme.objects.get()
    with pytest.raises(PlanRefused, match="not in care"):
        make_line(plan, on=today)
    end_programme(plan, by=clinician, on=today, why="Discharged.", version=1)


# Copies and templates


def template_of(plan: Programme, by: User, on: date) -> Programme:
    """Save a template with an ordinary line and one under a cuff."""
    open_screen(plan.episode, on=on)  # type: ignore[arg-type]
    make_line(plan, on=on, line=squat_line(note="Invented remark about a person"))
    make_line(plan, on=on, line=flow_line(on=on))
    return save_as_template(plan, by=by, title="Invented template")


def test_a_template_keeps_the_plan_and_nothing_of_the_person(
    plan: Programme, clinician: User, today: date
) -> None:
    """Neither a remark nor anything that was measured."""
    made = template_of(plan, clinician, today)
    squat, restricted = Prescription.objects.filter(phase__programme=made)
    assert made.is_template and made.aim == ""
    assert (squat.note, squat.load_kg, squat.starts_on) == ("", 12.0, None)
    assert (restricted.load_percent, restricted.scheme) == (30.0, [30, 15, 15, 15])
    measured = ("one_rm_kg", "load_kg", "occlusion_mmhg", "cuff_percent")
    assert [getattr(restricted, name) for name in measured] == [None] * 4


def test_a_template_leaves_the_aims_of_phases_behind(
    plan: Programme, clinician: User, today: date
) -> None:
    """They are written about a person, and the whole site sees a template."""
    plan.phases.update(aim="Back to the choir tour that only one person is on")
    made = template_of(plan, clinician, today)
    assert set(made.phases.values_list("aim", flat=True)) == {""}


def test_a_copy_without_an_open_gate_is_refused_naming_the_lines(
    plan: Programme, clinician: User, today: date
) -> None:
    """Nothing is copied, not even what could be."""
    source = template_of(plan, clinician, today)
    other = make_episode(by=clinician)
    with pytest.raises(CopyRefused) as refused:
        copy_programme(source, episode=other, by=clinician, on=today)
    assert [one.name for one in refused.value.left_out] == [
        "Knee extension with blood-flow restriction, 90 to 45 degrees"
    ]
    assert "has not been answered" in refused.value.reason
    assert not Programme.objects.filter(episode=other).exists()


def copy_without(source: Programme, case: Episode, by: User, on: date) -> Copied:
    """Copy what can be copied."""
    return copy_programme(source, episode=case, by=by, on=on, is_leaving_out=True)


def test_a_copy_can_leave_lines_out_and_says_which(
    plan: Programme, clinician: User, today: date
) -> None:
    """Also on the audit trail."""
    source = template_of(plan, clinician, today)
    copied = copy_without(source, make_episode(by=clinician), clinician, today)
    lines = Prescription.objects.filter(phase__programme=copied.programme)
    assert [line.exercise for line in lines] == ["squat_half"]
    assert [one.name for one in copied.left_out] == [
        "Knee extension with blood-flow restriction, 90 to 45 degrees"
    ]
    event = AuditEvent.objects.get(action="programme.copied")
    assert event.detail["left_out"] == [copied.left_out[0].name]


def test_with_an_open_gate_a_copy_needs_the_pressure_of_this_limb(
    plan: Programme, clinician: User, today: date
) -> None:
    """The pressure of another person or time does not travel."""
    source, other = template_of(plan, clinician, today), make_episode(by=clinician)
    open_screen(other, on=today)
    with pytest.raises(CopyRefused, match="must be measured on this limb"):
        copy_programme(source, episode=other, by=clinician, on=today)
    cuff = Cuff(mmhg=205, side="left", measured_on=today, percent=50)
    copied = copy_programme(source, episode=other, by=clinician, on=today, cuff=cuff)
    restricted = Prescription.objects.get(
        phase__programme=copied.programme, exercise=RESTRICTED
    )
    assert (restricted.occlusion_mmhg, restricted.cuff_percent) == (205, 50)
    assert copied.left_out == ()


def test_an_earlier_programme_is_copied_as_it_ended(
    plan: Programme, case: Episode, clinician: User, today: date
) -> None:
    """What was in force at the end, without what was replaced or stopped before."""
    old = make_line(plan, on=today - timedelta(days=20))
    change_prescription(
        old,
        by=clinician,
        line=squat_line(load_kg=14.0),
        on=today - timedelta(days=10),
        why="Stronger.",
    )
    gone = make_line(plan, on=today - timedelta(days=20))
    stop_prescription(gone, by=clinician, on=today - timedelta(days=9), why="Sore.")
    end_programme(plan, by=clinician, on=today, why="Next.", version=1)
    copied = copy_programme(plan, episode=case, by=clinician, on=today)
    lines = Prescription.objects.filter(phase__programme=copied.programme)
    assert [line.load_kg for line in lines] == [14.0]
    assert copied.programme.copied_from == plan


def test_a_copy_begins_where_the_programme_was(
    plan: Programme, case: Episode, clinician: User, today: date
) -> None:
    """A phase that was over before the end stays behind; the next one is the first."""
    early = make_line(plan, on=today - timedelta(days=40))
    stop_prescription(early, by=clinician, on=today - timedelta(days=20), why="Done.")
    begun = today - timedelta(days=20)
    later = add_phase(plan, by=clinician, title="Heavier", starts_on=begun)
    prescribe(later, by=clinician, line=squat_line(), on=begun)
    end_programme(plan, by=clinician, on=today, why="Next.", version=1)
    copied = copy_programme(plan, episode=case, by=clinician, on=today).programme
    phase = copied.phases.get()
    assert (phase.number, phase.title, phase.starts_on) == (1, "Heavier", today)
    assert phase.prescriptions.get().starts_on == today


def test_only_templates_and_the_persons_own_past_can_be_copied(
    plan: Programme, clinician: User, stranger: User, today: date
) -> None:
    """Neither another person's programme nor another clinic's template."""
    end_programme(plan, by=clinician, on=today, why="Next.", version=1)
    other = make_episode(by=clinician)
    assert plan not in sources_for(other, clinician)
    with pytest.raises(PlanRefused, match="of this person"):
        copy_programme(plan, episode=other, by=clinician, on=today)
    template = save_as_template(plan, by=clinician, title="Invented")
    assert template in sources_for(other, clinician)
    foreign = make_episode(by=stranger)
    assert template not in sources_for(foreign, stranger)
    with pytest.raises(PlanRefused):
        copy_programme(template, episode=foreign, by=stranger, on=today)


def test_the_other_knee_of_a_person_copies_the_past(
    plan: Programme, case: Episode, clinician: User, today: date
) -> None:
    """A programme belongs to the person as far as copying goes."""
    later = make_episode(by=clinician, patient=case.patient, side="right")
    stranger_to_it = make_episode(by=clinician, patient=make_patient(by=clinician))
    assert plan in sources_for(later, clinician)
    assert plan not in sources_for(stranger_to_it, clinician)


def test_a_case_of_another_site_shares_nothing(
    plan: Programme, other_site: Site, stranger: User
) -> None:
    """Rows carry the site of the case."""
    assert not Programme.objects.for_user(stranger).exists()
    assert plan.site != other_site
