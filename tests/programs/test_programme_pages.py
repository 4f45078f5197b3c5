"""Pages of planning: the programme, its phases, prescribing, working out a load."""

import uuid
from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

import pytest
from django.test import Client

from clinic.admitting import change_episode
from clinic.models import Episode, Screen, User
from clinic.screening import answer_screen
from programs.copying import save_as_template
from programs.lines import Line
from programs.models import OtherCare, Phase, Prescription, Programme
from programs.own_exercises import add_exercise, retire_exercise
from programs.planning import add_phase, end_programme
from tests.factories import make_episode, make_patient, make_user

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
DECIDES = "the clinician decides, and local rules come first"


@pytest.fixture
def case(clinician: User) -> Episode:
    """The clinician's case: a left knee."""
    return make_episode(by=clinician)


@pytest.fixture
def plan(case: Episode, today: date) -> Programme:
    """A programme that began six weeks ago."""
    return make_programme(case, on=today - timedelta(days=42))


@pytest.fixture
def client(clinician: User, signed_in: Callable[[User], Client]) -> Client:
    """The clinician's browser."""
    return signed_in(clinician)


def words(answer: Any) -> str:
    """Return the text of an answer, white space evened."""
    return " ".join(answer.content.decode().split())


def filled(**changes: Any) -> dict[str, str]:
    """Return the form of a squat as it is sent."""
    fields = {
        "form_key": str(uuid.uuid4()),
        "exercise": "squat_half",
        "sets": "3",
        "repetitions": "10",
        "times_a_week": "3",
        "load": "kg",
        "load_kg": "12",
        "on_side": "index",
        **changes,
    }
    return {name: str(value) for name, value in fields.items() if value is not None}


def restricted(on: date, **changes: Any) -> dict[str, str]:
    """Return the form of a line under a cuff as it is sent."""
    return filled(
        **{
            "exercise": RESTRICTED,
            "sets": None,
            "repetitions": None,
            "scheme": "30-15-15-15",
            "rest_seconds": 30,
            "load": "percent",
            "load_kg": None,
            "load_percent": 30,
            "one_rm_kg": 60,
            "occlusion_mmhg": 195,
            "occlusion_side": "left",
            "occlusion_measured_on": on.isoformat(),
            "cuff_percent": 60,
            **changes,
        }
    )


# The programme page


def test_the_page_shows_lines_in_words_with_their_neighbours_and_past(
    plan: Programme, client: Client, clinician: User, today: date
) -> None:
    """Dose, week, rungs, who and why; the earlier line stays readable."""
    old = make_line(plan, on=today - timedelta(days=14))
    change = filled(load_kg="15", why="Beat the target <twice>.")
    assert client.post(f"/prescriptions/{old.pk}/change/", change).status_code == 302
    page = words(client.get(f"/cases/{plan.episode_id}/programme/"))
    assert "3 sets of 10, 15 kg, 3 a week, treated side" in page
    assert "3 sets of 10, 12 kg, 3 a week, treated side" in page
    assert "1350 kg in 90 repetitions a week, +25 % against the line before" in page
    assert "Easier: Small squat, 0 to 45 degrees" in page
    assert "Beat the target &lt;twice&gt;." in page
    assert DECIDES in page


def test_the_page_links_to_everything_around_a_plan(
    plan: Programme, client: Client
) -> None:
    """One tap each."""
    case = plan.episode_id
    page = words(client.get(f"/cases/{case}/programme/"))
    for path in (
        f"/phases/{first_phase(plan).pk}/prescribe/",
        f"/programmes/{plan.pk}/phases/new/",
        f"/programmes/{plan.pk}/end/",
        f"/programmes/{plan.pk}/template/",
        f"/cases/{case}/handout/",
        f"/cases/{case}/flow-screen/",
        f"/cases/{case}/events/new/",
        f"/cases/{case}/other-care/",
    ):
        assert f'href="{path}"' in page


def test_taping_past_its_limit_asks_for_a_review(
    plan: Programme, client: Client, today: date
) -> None:
    """Four weeks after its start; a change then counts as the review."""
    tape = Line(exercise="taping_tailored", load="none")
    line = make_line(plan, on=today - timedelta(days=30), line=tape)
    path = f"/cases/{plan.episode_id}/programme/"
    assert "4 weeks were over on" in words(client.get(path))
    kept = {"exercise": "taping_tailored", "load": "none", "load_kg": None}
    kept |= {"sets": None, "repetitions": None, "times_a_week": None}
    sent = filled(**kept, why="Still makes stairs possible.")
    assert client.post(f"/prescriptions/{line.pk}/change/", sent).status_code == 302
    page = words(client.get(path))
    assert "4 weeks, ends" in page and "weeks were over" not in page


def test_a_colleague_reads_the_plan_without_buttons(
    plan: Programme, colleague: User, signed_in: Any, today: date
) -> None:
    """Reading is for the site, planning for those who treat."""
    make_line(plan, on=today)
    page = words(signed_in(colleague).get(f"/cases/{plan.episode_id}/programme/"))
    assert "3 sets of 10" in page
    assert "/change/" not in page and "/prescribe/" not in page


def test_the_page_asks_the_database_as_often_for_many_lines_as_for_few(
    plan: Programme, client: Client, clinician: User, today: date, query_count: Any
) -> None:
    """A fixed number of queries."""
    path = f"/cases/{plan.episode_id}/programme/"
    make_line(plan, on=today)
    few = query_count(client, path)
    for _ in range(5):
        make_line(plan, on=today)
        add_phase(plan, by=clinician, title="More", starts_on=today)
    assert query_count(client, path) == few


def test_a_withdrawn_programme_stays_readable(
    plan: Programme, client: Client, today: date
) -> None:
    """With who and why, under the earlier ones."""
    sent = {"how": "void", "why": "Wrong person.", "version": "1"}
    assert client.post(f"/programmes/{plan.pk}/end/", sent).status_code == 302
    page = words(client.get(f"/cases/{plan.episode_id}/programme/"))
    assert "(withdrawn)" in page and "Wrong person." in page


def test_ending_needs_a_reason_and_a_day_of_the_programme(
    plan: Programme, client: Client, today: date
) -> None:
    """Typing is kept."""
    sent = {
        "how": "end",
        "ended_on": (today + timedelta(days=1)).isoformat(),
        "why": "",
        "version": "1",
    }
    answer = client.post(f"/programmes/{plan.pk}/end/", sent)
    assert answer.status_code == 422
    assert sent["ended_on"] in words(answer) and "Say why" in words(answer)


def test_two_people_who_end_one_programme_are_told(
    plan: Programme, client: Client, today: date
) -> None:
    """The form was opened with an older version."""
    path = f"/phases/{first_phase(plan).pk}/"
    sent = {"title": "Calm it", "starts_on": today.isoformat(), "version": "1"}
    assert client.post(path, sent).status_code == 302
    ending = {"how": "end", "ended_on": today.isoformat(), "why": "x", "version": "1"}
    assert client.post(f"/programmes/{plan.pk}/end/", ending).status_code == 409


# Begin and copy


def test_a_programme_begins_from_nothing(
    case: Episode, client: Client, today: date
) -> None:
    """With its first phase; a second one is refused with a sentence."""
    sent = {
        "title": "Hip first",
        "starts_on": today.isoformat(),
        "first_phase": "Settle",
        "form_key": str(uuid.uuid4()),
    }
    path = f"/cases/{case.pk}/programme/new/"
    assert client.post(path, sent).url == f"/cases/{case.pk}/programme/"
    assert Programme.objects.get().phases.get().title == "Settle"
    # The same form again: a double tap, saved once.
    assert client.post(path, sent).url == f"/cases/{case.pk}/programme/"
    assert Programme.objects.count() == 1
    answer = client.get(path, follow=True)
    assert "End it before you begin another" in words(answer)


def test_a_copy_shows_first_and_refuses_naming_lines(
    plan: Programme, client: Client, clinician: User, today: date
) -> None:
    """Then it copies without them, and says which."""
    open_screen(plan.episode, on=today)  # type: ignore[arg-type]
    make_line(plan, on=today)
    make_line(plan, on=today, line=flow_line(on=today))
    template = save_as_template(plan, by=clinician, title="Invented template")
    other = make_episode(by=clinician)
    path = f"/cases/{other.pk}/programme/new/"
    assert "Invented template" in words(client.get(path))
    shown = words(client.get(f"{path}?source={template.pk}"))
    assert "30-15-15-15 repetitions" in shown and DECIDES in shown
    sent = {"source": str(template.pk), "title": "Mine"}
    answer = client.post(path, sent)
    assert answer.status_code == 422
    assert "Nothing was copied. Knee extension with blood-flow" in words(answer)
    assert not other.programmes.exists()
    answer = client.post(path, sent | {"is_leaving_out": "on"}, follow=True)
    assert "Left out: Knee extension with blood-flow restriction" in words(answer)
    lines = Prescription.objects.filter(phase__programme__episode=other)
    assert [line.exercise for line in lines] == ["squat_half"]


def test_another_persons_programme_cannot_be_named_as_a_source(
    plan: Programme, client: Client, clinician: User, today: date
) -> None:
    """Not found, whoever treats both; nor something that is no number."""
    end_programme(plan, by=clinician, on=today, why="Next.", version=1)
    other = make_episode(by=clinician)
    path = f"/cases/{other.pk}/programme/new/"
    for source in (plan.pk, "x", "²", "99999"):
        assert client.get(path, {"source": source}).status_code == 404
        sent = {"source": source, "title": "Mine"}
        assert client.post(path, sent).status_code == 404


def test_a_phase_waits_and_is_begun(
    plan: Programme, client: Client, today: date
) -> None:
    """Its lines wait with it."""
    answer = client.post(f"/programmes/{plan.pk}/phases/new/", {"title": "Strength"})
    assert answer.status_code == 302
    phase = Phase.objects.get(title="Strength")
    assert client.post(f"/phases/{phase.pk}/prescribe/", filled()).status_code == 302
    line = Prescription.objects.get()
    assert line.starts_on is None
    sent = {"title": "Strength", "starts_on": today.isoformat(), "version": "1"}
    assert client.post(f"/phases/{phase.pk}/", sent).status_code == 302
    line.refresh_from_db()
    assert line.starts_on == today


@pytest.mark.parametrize(
    ("first", "last", "reason"),
    [
        (-50, None, "had not begun yet"),
        (1, None, "until the phase begins"),
        (0, -1, "end before it begins"),
        (None, 0, "cannot end"),
    ],
)
def test_the_days_of_a_phase_fit_together(
    plan: Programme,
    client: Client,
    today: date,
    first: int | None,
    last: int | None,
    reason: str,
) -> None:
    """The reason stands at the field."""
    sent = {"title": "Strength"}
    for name, days in (("starts_on", first), ("ends_on", last)):
        if days is not None:
            sent[name] = (today + timedelta(days=days)).isoformat()
    answer = client.post(f"/programmes/{plan.pk}/phases/new/", sent)
    assert answer.status_code == 422 and reason in words(answer)


# Prescribe


def test_the_library_is_chosen_from_without_script(
    plan: Programme, client: Client, clinician: User
) -> None:
    """Ladder by ladder, the clinic's own among them, each a link."""
    own = add_exercise(
        by=clinician, name="Invented drill", target="foot", how="x", source="x"
    )
    path = f"/phases/{first_phase(plan).pk}/prescribe/"
    page = words(client.get(path))
    assert f'href="{path}?exercise=squat_half"' in page
    assert f'href="{path}?exercise=own-{own.pk}"' in page and "clinic's own" in page
    assert DECIDES in page


def test_the_form_starts_from_the_librarys_dose(
    plan: Programme, client: Client
) -> None:
    """The lower end; neither a load nor a pressure is proposed."""
    path = f"/phases/{first_phase(plan).pk}/prescribe/"
    answer = client.get(path, {"exercise": "squat_deep"})
    form = answer.context["form"]
    assert (form["sets"].value(), form["repetitions"].value()) == (3, 8)
    assert form["load_kg"].value() is None
    assert "Library: 8 to 12" in words(answer) and DECIDES in words(answer)


def test_a_line_is_prescribed_and_a_double_tap_makes_one(
    plan: Programme, client: Client, today: date
) -> None:
    """The page comes back to the line."""
    path, sent = f"/phases/{first_phase(plan).pk}/prescribe/", filled()
    answer = client.post(path, sent)
    line = Prescription.objects.get()
    assert answer.url == f"/cases/{plan.episode_id}/programme/#line-{line.pk}"
    assert (line.starts_on, line.load_kg) == (today, 12.0)
    assert client.post(path, sent).url == answer.url
    assert Prescription.objects.count() == 1


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"sets": "40"}, "sets"),
        ({"repetitions": "-1"}, "repetitions"),
        ({"load_kg": "9000"}, "load_kg"),
        ({"load_kg": "nan"}, "load_kg"),
        ({"scheme": "30-x"}, "scheme"),
        ({"range_to": "80"}, "range_to"),
        ({"starts_on": "2199-01-01"}, "starts_on"),
        ({"starts_on": "1999-01-01"}, "starts_on"),
        ({"times_a_week": "1000000000000"}, "times_a_week"),
        ({"load": "", "load_kg": ""}, "load"),
    ],
)
def test_out_of_range_comes_back_with_the_reason_at_the_field(
    plan: Programme, client: Client, changes: dict[str, str], field: str
) -> None:
    """Typing is kept, nothing is saved."""
    sent = filled(note="Watch the knee", **changes)
    answer = client.post(f"/phases/{first_phase(plan).pk}/prescribe/", sent)
    assert answer.status_code == 422
    assert answer.context["form"][field].errors
    assert "Watch the knee" in words(answer)
    assert not Prescription.objects.exists()


def test_kg_that_the_chosen_load_does_not_use_are_let_go(
    plan: Programme, client: Client
) -> None:
    """The page hides the field; what it held does not stop the form."""
    sent = filled(load="body")
    answer = client.post(f"/phases/{first_phase(plan).pk}/prescribe/", sent)
    assert answer.status_code == 302
    assert Prescription.objects.get().load_kg is None


def test_a_change_asks_why_and_may_take_the_neighbouring_rung(
    plan: Programme, client: Client, today: date
) -> None:
    """The dose goes along, the range is the new exercise's own."""
    old = make_line(plan, on=today, line=squat_line(range_to=50))
    path = f"/prescriptions/{old.pk}/change/"
    form = client.get(path, {"exercise": "squat_deep"}).context["form"]
    assert (form["load_kg"].value(), form["range_to"].value()) == (12, None)
    answer = client.post(path, filled(exercise="squat_deep"))
    assert answer.status_code == 422 and "Say why" in words(answer)
    sent = filled(exercise="squat_deep", why="Ready for more range.")
    assert client.post(path, sent).status_code == 302
    made = Prescription.objects.get(replaces=old)
    assert (made.exercise, made.load_kg) == ("squat_deep", 12.0)


def test_a_line_that_is_over_is_neither_changed_nor_stopped(
    plan: Programme, client: Client, today: date
) -> None:
    """A sentence on the programme page."""
    old = make_line(plan, on=today)
    sent = {"stops_on": today.isoformat(), "why": "Sore."}
    path = f"/prescriptions/{old.pk}/stop/"
    assert client.post(path, sent).status_code == 302
    answer = client.post(path, sent, follow=True)
    assert "stopped or changed already" in words(answer)
    assert "Sore." in words(client.get(f"/cases/{plan.episode_id}/programme/"))


def test_a_retired_entry_is_not_found_to_prescribe(
    plan: Programme, client: Client, clinician: User, stranger: User
) -> None:
    """Nor another clinic's, nor one that there never was."""
    own, foreign = (
        add_exercise(by=by, name="Invented", target="foot", how="x", source="x")
        for by in (clinician, stranger)
    )
    retire_exercise(own, by=clinician)
    path = f"/phases/{first_phase(plan).pk}/prescribe/"
    for key in (f"own-{own.pk}", f"own-{foreign.pk}", "own-x", "nothing"):
        assert client.get(path, {"exercise": key}).status_code == 404
        assert client.post(path, filled(exercise=key)).status_code == 404


def test_a_retired_entry_in_use_can_be_changed_only_to_another(
    plan: Programme, client: Client, clinician: User, today: date
) -> None:
    """Where it is used it stays readable."""
    own = add_exercise(
        by=clinician, name="Invented drill", target="foot", how="x", source="x"
    )
    line = make_line(
        plan, on=today, line=Line(clinic_exercise=own, sets=1, repetitions=5)
    )
    retire_exercise(own, by=clinician)
    assert "retired entry" in words(client.get(f"/cases/{plan.episode_id}/programme/"))
    path = f"/prescriptions/{line.pk}/change/"
    assert client.get(path).status_code == 200
    same = filled(exercise=None, why="More.")
    answer = client.post(path, same)
    assert answer.status_code == 422 and "was retired" in words(answer)
    assert client.post(path, filled(why="Better.")).status_code == 302


# Blood-flow restriction


def test_without_an_open_screen_there_is_no_form_and_no_line(
    plan: Programme, client: Client, today: date
) -> None:
    """The page says why and leads to the screen; a crafted request is refused."""
    path = f"/phases/{first_phase(plan).pk}/prescribe/"
    page = words(client.get(path, {"exercise": RESTRICTED}))
    assert "There is no valid screen" in page and "flow-screen" in page
    assert "cuff_percent" not in page
    answer = client.post(path, restricted(today))
    assert answer.status_code == 422
    assert "cannot be prescribed" in words(answer)
    crafted = filled(occlusion_mmhg="195", cuff_percent="60")
    assert client.post(path, crafted).status_code == 422
    assert not Prescription.objects.exists()


def test_a_change_cannot_smuggle_a_cuff_in(
    plan: Programme, client: Client, today: date
) -> None:
    """Another exercise or cuff values: both meet the gate."""
    old = make_line(plan, on=today)
    path = f"/prescriptions/{old.pk}/change/"
    assert client.post(path, restricted(today, why="Try.")).status_code == 422
    crafted = filled(occlusion_mmhg="195", cuff_percent="60", why="Try.")
    assert client.post(path, crafted).status_code == 422
    old.refresh_from_db()
    assert old.is_running and Prescription.objects.count() == 1


def test_with_an_open_screen_the_pressure_to_set_is_worked_out(
    plan: Programme, client: Client, today: date
) -> None:
    """60 per cent of 195 mmHg is 117."""
    open_screen(plan.episode, on=today)  # type: ignore[arg-type]
    path = f"/phases/{first_phase(plan).pk}/prescribe/"
    form = client.get(path, {"exercise": RESTRICTED}).context["form"]
    assert form["scheme"].value() == "30-15-15-15"
    assert form["occlusion_mmhg"].value() is None
    assert client.post(path, restricted(today)).status_code == 302
    page = words(client.get(f"/cases/{plan.episode_id}/programme/"))
    assert "cuff at 117 mmHg, 60 % of the 195 measured on the left leg" in page


def test_a_running_line_under_a_cuff_is_called_out_once_its_screen_is_not_open(
    plan: Programme, client: Client, today: date
) -> None:
    """A later screen with a yes: the line still stands, so the page says stop."""
    open_screen(plan.episode, on=today)  # type: ignore[arg-type]
    make_line(plan, on=today, line=flow_line(on=today))
    path, called_out = f"/cases/{plan.episode_id}/programme/", "without an open screen"
    assert called_out not in words(client.get(path))
    open_screen(plan.episode, on=today, answers={"clot": "yes"})  # type: ignore[arg-type]
    assert called_out in words(client.get(path))


def test_under_a_cuff_the_reason_stands_at_the_field(
    plan: Programme, client: Client, today: date
) -> None:
    """The other limb, too much pressure."""
    open_screen(plan.episode, on=today)  # type: ignore[arg-type]
    sent = restricted(today, occlusion_side="right", cuff_percent="90")
    answer = client.post(f"/phases/{first_phase(plan).pk}/prescribe/", sent)
    assert answer.status_code == 422
    assert answer.context["form"]["occlusion_side"].errors
    assert answer.context["form"]["cuff_percent"].errors


def test_a_clinics_own_entry_under_a_cuff_meets_the_same_gate(
    plan: Programme, client: Client, clinician: User, today: date
) -> None:
    """The flag of the entry is enough."""
    own = add_exercise(
        by=clinician,
        name="Invented cuff drill",
        target="quadriceps",
        how="x",
        source="x",
        is_bfr=True,
    )
    path = f"/phases/{first_phase(plan).pk}/prescribe/"
    sent = filled(exercise=f"own-{own.pk}")
    assert client.post(path, sent).status_code == 422
    open_screen(plan.episode, on=today)  # type: ignore[arg-type]
    assert client.post(path, sent).status_code == 422  # the dose of a cuff
    sent = restricted(today, exercise=f"own-{own.pk}")
    assert client.post(path, sent).status_code == 302


# Cautions


def test_high_irritability_is_said_before_prescribing(
    plan: Programme, case: Episode, client: Client, clinician: User
) -> None:
    """On every page of planning."""
    change_episode(case, by=clinician, version=1, changes={"irritability": "high"})
    for path in (
        f"/cases/{case.pk}/programme/",
        f"/phases/{first_phase(plan).pk}/prescribe/",
        f"/phases/{first_phase(plan).pk}/prescribe/?exercise=squat_half",
        f"/cases/{case.pk}/dose/",
    ):
        assert "High irritability" in words(client.get(path))


def test_surgery_instability_and_an_open_red_flag_are_said(
    plan: Programme, case: Episode, client: Client, clinician: User, today: date
) -> None:
    """Each with what it means here."""
    OtherCare.objects.create(
        site=case.site,
        episode=case,
        what="surgery",
        began_on=today - timedelta(days=20),
        words="Invented",
        recorded_by=clinician,
    )
    answer_screen(
        episode=case,
        by=clinician,
        form=Screen.Form.FULL,
        answers={"dislocation": True},
        on=today,
    )
    page = words(client.get(f"/phases/{first_phase(plan).pk}/prescribe/"))
    assert "Surgery on" in page
    assert "The kneecap may be unstable" in page
    assert "A red-flag answer awaits a decision" in page


def test_an_adolescents_age_is_said(
    client: Client, clinician: User, today: date
) -> None:
    """Under 18 at the day of planning."""
    young = make_patient(by=clinician, birth_date=today.replace(year=today.year - 15))
    case = make_episode(by=clinician, patient=young)
    page = words(client.get(f"/cases/{case.pk}/programme/"))
    assert "Aged 15" in page and "not studied at this age" in page


# Working out a load


def set_done(**changes: str) -> dict[str, str]:
    """Return a set of 40 kg, eight times, at failure."""
    done = {
        "set-load_kg": "40",
        "set-repetitions": "8",
        "set-ending": "near_failure",
        "set-percent": "70",
        "set-plate_step_kg": "2.5",
    }
    return done | {f"set-{name}": value for name, value in changes.items()}


def test_a_set_gives_an_estimate_with_the_spread_of_the_formulas(
    case: Episode, client: Client
) -> None:
    """Epley: 40 x (1 + 8/30) = 50.7; 70 per cent is 35.47, rounded down to 35."""
    page = words(client.post(f"/cases/{case.pk}/dose/", set_done()))
    assert "50.7" in page and "Epley" in page and "Lander" in page
    assert "The formulas give 48.0 to 51.1 kg" in page
    assert "<strong>35 kg</strong> for 70 %" in page
    assert DECIDES in page


def test_a_set_that_pain_stopped_gives_no_estimate(
    case: Episode, client: Client
) -> None:
    """It says so, with or without script."""
    path, sent = f"/cases/{case.pk}/dose/", set_done(ending="pain")
    answer = client.post(path, sent)
    assert answer.status_code == 200
    assert "Pain stopped the set, so it is no maximum." in words(answer)
    part = client.post(path, sent, headers={"hx-request": "true"})
    assert "Pain stopped the set" in words(part) and "<html" not in words(part)


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"repetitions": "11"}, "repetitions"),
        ({"load_kg": "0"}, "load_kg"),
        ({"percent": "120"}, "percent"),
        ({"percent": "1"}, "plate_step_kg"),
        ({"plate_step_kg": "90"}, "plate_step_kg"),
        ({"ending": ""}, "ending"),
    ],
)
def test_a_set_out_of_range_gives_a_reason_and_no_number(
    case: Episode, client: Client, changes: dict[str, str], field: str
) -> None:
    """At the field, typing kept."""
    answer = client.post(f"/cases/{case.pk}/dose/", set_done(**changes))
    assert answer.status_code == 422
    assert answer.context["help_form"][field].errors


def test_another_site_finds_nothing_of_a_plan(
    plan: Programme, stranger: User, signed_in: Any, today: date
) -> None:
    """404 for every address, whatever is sent."""
    line, phase = make_line(plan, on=today), first_phase(plan)
    browser = signed_in(stranger)
    make_user(site=stranger.site)
    for path in (
        f"/cases/{plan.episode_id}/programme/",
        f"/programmes/{plan.pk}/end/",
        f"/phases/{phase.pk}/prescribe/",
        f"/prescriptions/{line.pk}/change/",
        f"/prescriptions/{line.pk}/stop/",
    ):
        assert browser.get(path).status_code == 404


def test_the_phase_of_a_template_is_not_a_place_to_prescribe(
    plan: Programme, client: Client, clinician: User
) -> None:
    """A template has no case: not found."""
    template = save_as_template(plan, by=clinician, title="Invented")
    path = f"/phases/{first_phase(template).pk}/prescribe/"
    assert client.get(path).status_code == 404
    assert client.post(path, filled()).status_code == 404
