"""Logging, correcting and withdrawing a visit through the pages."""

from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

import pytest
from django.contrib.sessions.models import Session
from django.test import Client
from django.utils import timezone

from clinic.admitting import cover_case
from clinic.models import AuditEvent, Episode, Screen, Submission, User, Visit
from clinic.submissions import new_form_key
from outcomes.live_scores import score_so_far
from outcomes.models import Activity, Assessment, PainScore
from outcomes.questionnaire_form import QuestionnaireForm, Setting
from outcomes.science.measures import measure
from outcomes.visit_form import VisitForm
from tests.factories import make_akps, make_screened_episode, make_visit
from tests.programs.plans import make_line, make_programme

from .visit_pages import attended, log_url, no_to_all, with_akps

SignIn = Callable[..., Client]
HTMX = {"HX-Request": "true"}


@pytest.fixture(autouse=True)
def _at_ten(clock: Any) -> None:
    """Every test of this file runs on one day."""


def at_visits() -> Any:
    """Return the screens that were answered at visits."""
    return Screen.objects.filter(visit__isnull=False)


@pytest.fixture
def episode(clinician: User, today: date) -> Episode:
    """A case three weeks in, with a baseline: AKPS is due today."""
    made = make_screened_episode(by=clinician, opened_on=today - timedelta(weeks=3))
    make_akps(episode=made, on=made.opened_on, total=61)
    return made


@pytest.fixture
def client(signed_in: SignIn, clinician: User) -> Client:
    """The clinician's browser."""
    return signed_in(clinician)


def errors_of(response: Any) -> str:
    """Return the page of a refused form, checking that it was refused."""
    assert response.status_code == 422, response.content.decode()
    assert Visit.objects.count() == 0 or response.context["sheet"].visit
    return response.content.decode()


# One save for everything


def test_one_save_keeps_everything(
    client: Client, episode: Episode, today: date
) -> None:
    """Attendance, pain, response, screen, notes, next visit, questionnaire."""
    sent = attended(
        today,
        pain_worst="6",
        pain_usual="0",
        pain_stairs="4",
        pain_during="3",
        next_morning="mild_flare",
        note="Step-downs at home.\nShoes changed.",
        next_planned_on=str(today + timedelta(days=14)),
        **with_akps(74),
    )
    response = client.post(log_url(episode), sent)
    assert response.status_code == 302 and response.url == f"/cases/{episode.pk}/"
    visit = Visit.objects.get()
    assert (visit.attendance, visit.note) == ("attended", sent["note"])
    assert visit.next_planned_on == today + timedelta(days=14)
    assert visit.clinician == episode.clinician
    pain = PainScore.objects.get()
    assert (pain.worst, pain.usual, pain.stairs, pain.running) == (6, 0, 4, None)
    assert (visit.response.pain_during, visit.response.next_morning) == (
        3,
        "mild_flare",
    )
    made = Assessment.objects.get(visit=visit)
    assert (made.score, made.mode, made.language) == (74, "alone", "en")
    screen = at_visits().get()
    assert (screen.form, screen.is_positive, screen.visit) == ("short", False, visit)


def test_the_case_page_says_when_it_was_saved(
    client: Client, episode: Episode, today: date
) -> None:
    """The clinic's clock stands at ten."""
    response = client.post(log_url(episode), attended(today), follow=True)
    assert "Visit of 1 Jun 2026 saved at 10:00." in response.content.decode()


def test_the_line_after_the_save_says_what_was_saved(
    client: Client, episode: Episode, today: date
) -> None:
    """The score, or what is missing for one."""
    url, earlier = log_url(episode), today - timedelta(days=7)
    sent = attended(today, **with_akps(72))
    page = client.post(url, sent, follow=True).content.decode()
    assert "Visit of 1 Jun 2026 saved at 10:00. AKPS 72." in page
    sent = attended(earlier, **with_akps(72, without=["9"]))
    page = client.post(url, sent, follow=True).content.decode()
    assert "AKPS kept without a score: item 9 is missing." in page


@pytest.mark.parametrize(
    ("attendance", "words"),
    [("did_not_attend", "Non-attendance"), ("cancelled", "Cancellation")],
)
def test_what_was_no_visit_is_not_called_one(
    client: Client, episode: Episode, today: date, attendance: str, words: str
) -> None:
    """The line names what was logged."""
    sent = attended(today, attendance=attendance, **dict.fromkeys(no_to_all()))
    page = client.post(log_url(episode), sent, follow=True).content.decode()
    assert f"{words} of 1 Jun 2026 saved at 10:00." in page


def test_an_extra_visit_keeps_the_planned_day(
    client: Client, episode: Episode, today: date
) -> None:
    """It is filled in, with where it comes from; what has passed is not."""
    planned = today + timedelta(days=9)
    earlier = today - timedelta(days=5)
    make_visit(episode=episode, on=earlier, next_planned_on=planned)
    page = client.get(log_url(episode)).content.decode()
    assert (
        f'value="{planned}"' in page and "Planned at the visit of 27 May 2026" in page
    )
    sent = attended(today, next_planned_on=str(planned))
    client.post(log_url(episode), sent)
    assert Visit.objects.get(visited_on=today).next_planned_on == planned


@pytest.mark.parametrize("days", [0, -2])
def test_a_planned_day_that_has_come_is_not_planned_again(
    client: Client, episode: Episode, today: date, days: int
) -> None:
    """This is the planned visit, or the plan was missed."""
    planned = today + timedelta(days=days)
    earlier = today - timedelta(days=5)
    make_visit(episode=episode, on=earlier, next_planned_on=planned)
    page = client.get(log_url(episode)).content.decode()
    assert "Planned at the visit of" not in page
    assert 'name="next_planned_on" value=' not in page


def test_the_first_visit_asks_of_no_session_before_it(
    client: Client, episode: Episode, today: date
) -> None:
    """Only what was can be answered for; what was posted or stored stays in sight."""
    assert 'name="pain_during"' not in client.get(log_url(episode)).content.decode()
    sent = attended(today, pain_during="3", pain_worst="11")
    assert 'name="pain_during"' in client.post(log_url(episode), sent).content.decode()
    make_visit(episode=episode, on=today - timedelta(days=5))
    page = client.get(log_url(episode)).content.decode()
    assert 'name="pain_during"' in page and "took the last session" in page


def test_a_programme_before_the_first_visit_is_asked_for_by_its_name(
    client: Client, episode: Episode, today: date
) -> None:
    """There was no session here, but there were exercises."""
    began = today - timedelta(weeks=2)
    make_line(make_programme(episode, on=began), on=began)
    page = client.get(log_url(episode)).content.decode()
    assert "How the knee took the programme so far" in page


def test_the_languages_of_installed_wording_come_first(today: date) -> None:
    """All others stay within reach under a heading of their own."""
    setting = Setting(about=measure("akps"), languages=("de", "en"))
    groups = QuestionnaireForm(setting=setting).fields["language"].choices
    names = {name: [code for code, _ in choices] for name, choices in groups}
    assert names["Installed at this clinic"] == ["de", "en"]
    assert "fr" in names["Other"] and "de" not in names["Other"]
    plain = QuestionnaireForm(setting=Setting(about=measure("akps")))
    assert plain.fields["language"].choices[0] == ("en", "English")


def test_htmx_hears_that_the_save_arrived(
    client: Client, episode: Episode, today: date
) -> None:
    """The page's script drops its draft at this event, then the browser leaves."""
    response = client.post(log_url(episode), attended(today), headers=HTMX)
    assert response.status_code == 200
    assert response["HX-Redirect"] == f"/cases/{episode.pk}/"
    assert "form-saved" in response["HX-Trigger"]


@pytest.mark.parametrize("attendance", ["did_not_attend", "cancelled"])
def test_a_missed_appointment_needs_no_more_than_that(
    client: Client, episode: Episode, today: date, attendance: str
) -> None:
    """No screen is asked; what was not filled is not asked for."""
    sent = {"attendance": attendance, "visited_on": str(today), "note": "Rang at nine."}
    assert client.post(log_url(episode), sent).status_code == 302
    assert Visit.objects.get().attendance == attendance
    assert not at_visits().exists() and not PainScore.objects.exists()


def test_outcomes_of_a_missed_appointment_are_not_dropped_silently(
    client: Client, episode: Episode, today: date
) -> None:
    """The sentence names what was entered, and all of it is still in the form."""
    sent = attended(today, attendance="did_not_attend", pain_worst="5", **with_akps(70))
    page = errors_of(client.post(log_url(episode), sent))
    assert "You marked “Did not attend” but entered: worst pain, last week" in page
    assert "the red-flag screen, AKPS" in page
    assert 'id="id_pain_worst_5" value="5" checked' in page


# What the form shows


def test_the_due_questionnaire_is_open_and_nothing_is_chosen(
    client: Client, episode: Episode
) -> None:
    """No defaults but the day and the language."""
    page = client.get(log_url(episode)).content.decode()
    assert 'id="questionnaire-akps"' in page and 'id="questionnaire-lefs"' not in page
    assert "checked" not in page
    assert 'value="2026-06-01"' in page
    assert "Short labels for entry by a clinician, not wording for patients" in page


def test_others_are_added_by_address_or_by_button(
    client: Client, episode: Episode, today: date
) -> None:
    """The button keeps what was typed; nothing is saved by it."""
    page = client.get(log_url(episode) + "?also=lefs&also=nonsense").content.decode()
    assert 'id="questionnaire-lefs"' in page
    sent = attended(today, note="Half a sentence", also="groc", forms=["akps"])
    response = client.post(log_url(episode), sent)
    page = response.content.decode()
    assert response.status_code == 200 and not Visit.objects.exists()
    assert 'id="questionnaire-akps"' in page and 'id="questionnaire-groc"' in page
    assert "Half a sentence" in page and sent["form_key"] in page


@pytest.mark.parametrize("asked", [{"also": "groc"}, {"as_planned": "0"}])
def test_a_form_that_only_shows_more_complains_of_nothing(
    client: Client, episode: Episode, asked: dict[str, str]
) -> None:
    """Nobody has asked to save it yet."""
    half = {"forms": ["akps"], "akps-1": "a", "form_key": new_form_key(), **asked}
    page = client.post(log_url(episode), half).content.decode()
    assert "Error: " not in page and "is-wrong" not in page
    assert "1 of 13 answered" in page


def test_the_full_screen_comes_back_when_a_case_is_stalled(
    client: Client, clinician: User, today: date
) -> None:
    """Twelve weeks without any gain: more questions, and why."""
    stalled = make_screened_episode(by=clinician, opened_on=today - timedelta(weeks=12))
    for week in (0, 3, 6, 9):
        on = stalled.opened_on + timedelta(weeks=week)
        make_akps(episode=stalled, on=on, total=61)
    page = client.get(log_url(stalled)).content.decode()
    assert "Safety questions, full list" in page
    assert "screen-tumour" in page and "stalled or worsening" in page
    errors_of(client.post(log_url(stalled), attended(today)))
    sent = attended(today, **no_to_all(form="full"))
    assert client.post(log_url(stalled), sent).status_code == 302
    assert at_visits().get().form == "full"


# Bad input


@pytest.mark.parametrize(
    ("fields", "sentence"),
    [
        ({"attendance": None}, "Choose what became of the appointment."),
        ({"attendance": "maybe"}, "maybe is not offered here"),
        ({"visited_on": "2026-06-02"}, "This day is in the future"),
        ({"visited_on": "2026-05-10"}, "This case was opened on 11 May 2026"),
        ({"visited_on": "1/6/2026"}, "Write the day as year-month-day"),
        ({"visited_on": ""}, "Enter the day."),
        ({"pain_worst": "11"}, "Choose a whole number from 0 to 10"),
        ({"pain_running": "-1"}, "Choose a whole number from 0 to 10"),
        ({"pain_during": "lots"}, "Choose a whole number from 0 to 10"),
        ({"next_morning": "fine"}, "fine is not offered here"),
        ({"next_planned_on": "2026-06-01"}, "must be later than this one"),
        ({"screen-clot": None}, "Answer yes or no."),
        ({"screen-decision": "Sent on."}, "no question was answered with yes"),
        ({"note": "x" * 10_001}, "at most 10000 characters"),
        (with_akps(70, **{"akps-1": "z"}), "takes a letter: a, b or c"),
        (with_akps(70, **{"akps-14": "a"}), "AKPS has no item &#x27;14&#x27;"),
        (with_akps(70, **{"akps-mode": ""}), "Say how these answers were given."),
        (with_akps(70, **{"akps-language": "xx"}), "xx is not offered here"),
        ({"forms": ["kneeometer"]}, "There is no questionnaire “kneeometer”."),
        (
            {"forms": ["groc"], "groc-overall": "8", "groc-mode": "alone"},
            "from -7 to 7",
        ),
    ],
)
def test_bad_input_is_named_and_nothing_is_half_saved(
    client: Client,
    episode: Episode,
    today: date,
    fields: dict[str, Any],
    sentence: str,
) -> None:
    """Each has its sentence; the note that was typed is still there."""
    sent = attended(today, **{"note": "Kept in the form", **fields})
    page = errors_of(client.post(log_url(episode), sent))
    assert sentence in page
    assert "note" in fields or "Kept in the form" in page
    assert "data-focus" in page
    assert not at_visits().exists() and not PainScore.objects.exists()
    assert Assessment.objects.count() == 1  # the baseline


def test_a_second_visit_on_a_day_leads_to_the_first(
    client: Client, episode: Episode, today: date
) -> None:
    """One visit a day; the link opens the one that exists."""
    first = make_visit(episode=episode, on=today)
    response = client.post(log_url(episode), attended(today, note="Second"))
    page = response.content.decode()
    assert response.status_code == 422 and Visit.objects.get() == first
    assert "This case already has a visit on 1 Jun 2026." in page
    assert f'href="/visits/{first.pk}/"' in page and "Second" in page


def test_a_questionnaire_of_that_day_is_not_overwritten(
    client: Client, episode: Episode, today: date
) -> None:
    """It came from elsewhere: the link opens it."""
    there = make_akps(episode=episode, on=today, total=80)
    page = errors_of(client.post(log_url(episode), attended(today, **with_akps(70))))
    assert page.count("AKPS is already recorded for 1 Jun 2026.") == 2  # and on top
    assert f'href="/assessments/{there.pk}/"' in page


def test_after_discharge_nothing_later_is_logged(
    client: Client, clinician: User, episode: Episode, today: date
) -> None:
    """Late entry of an earlier visit is still possible."""
    gone = today - timedelta(days=3)
    Episode.objects.filter(pk=episode.pk).update(
        discharged_on=gone, discharge_reason="goals met"
    )
    page = errors_of(client.post(log_url(episode), attended(today)))
    assert "This case was discharged on 29 May 2026" in page
    assert client.post(log_url(episode), attended(gone)).status_code == 302


# Questionnaires


def test_a_half_answered_questionnaire_is_kept_with_the_reason(
    client: Client, episode: Episode, today: date
) -> None:
    """Stored without a total, never with a guess."""
    sent = attended(today, **with_akps(70, without=["12", "13"]))
    client.post(log_url(episode), sent)
    made = Assessment.objects.get(assessed_on=today)
    assert made.score is None and "items 12 and 13" in made.no_score_reason


def test_an_opened_questionnaire_may_stay_empty(
    client: Client, episode: Episode, today: date
) -> None:
    """Nothing answered, nothing stored, nothing asked."""
    sent = attended(today, forms=["akps", "lefs"])
    assert client.post(log_url(episode), sent).status_code == 302
    assert not Assessment.objects.filter(assessed_on=today).exists()


def test_activities_are_named_once_and_rated_again(
    client: Client, episode: Episode, today: date
) -> None:
    """The patient's words get a number and come back as a row to rate."""
    psfs = {"forms": ["psfs"], "psfs-mode": "read aloud", "psfs-language": "en"}
    earlier = today - timedelta(days=7)
    named = {"psfs-new1_words": "Kneeling at work", "psfs-new1": "3"}
    more = {"psfs-new2_words": "Stairs with the pram", "psfs-new2": "0"}
    client.post(log_url(episode), attended(earlier, **psfs, **named, **more))
    first = Assessment.objects.get(measure="psfs")
    assert first.answers == {"1": 3, "2": 0} and first.score == 1.5
    page = client.get(log_url(episode) + "?also=psfs").content.decode()
    assert "Kneeling at work" in page and 'name="psfs-2"' in page
    assert "0 unable" in page and "10 as before" in page
    assert "Period asked about: today." in page
    assert page.count("psfs-new") and 'name="psfs-new4"' not in page
    again = {"psfs-1": "6", "psfs-new1_words": "Running for the bus", "psfs-new1": "2"}
    client.post(log_url(episode), attended(today, **psfs, **again))
    second = Assessment.objects.get(measure="psfs", assessed_on=today)
    assert second.answers == {"1": 6, "3": 2}
    assert Activity.objects.count() == 3


@pytest.mark.parametrize(
    ("fields", "sentence"),
    [
        ({"psfs-new1": "4"}, "Name the activity that you rated."),
        ({"psfs-new1_words": "Hopping"}, "Rate “Hopping” from 0 to 10, or clear it."),
        (
            {
                "psfs-new1_words": "Hopping",
                "psfs-new1": "4",
                "psfs-new2_words": "hopping",
                "psfs-new2": "5",
            },
            "This activity is in the list already.",
        ),
        ({"psfs-7": "4"}, "No such activity."),
    ],
)
def test_activities_that_do_not_fit(
    client: Client,
    episode: Episode,
    today: date,
    fields: dict[str, str],
    sentence: str,
) -> None:
    """Each has its sentence, and no activity is named on the way."""
    sent = attended(today, forms=["psfs"], **{"psfs-mode": "alone"}, **fields)
    sent["psfs-language"] = "en"
    assert sentence in errors_of(client.post(log_url(episode), sent))
    assert not Activity.objects.exists()


def test_the_live_score_is_the_score_that_is_stored(
    client: Client, episode: Episode
) -> None:
    """One arithmetic; half a form says how far it is."""
    url = f"/cases/{episode.pk}/score/"
    some = client.post(url, {"measure": "akps", **with_akps(74, without=["2", "3"])})
    assert "11 of 13 answered: no total yet." in some.content.decode()
    full = client.post(url, {"measure": "akps", **with_akps(74)})
    assert ">74</strong>" in full.content.decode()
    assert "13 of 13 answered; higher is better." in full.content.decode()
    groc = client.post(url, {"measure": "groc", "groc-overall": "-2"})
    assert "−2</strong> slightly worse" in groc.content.decode()
    new = {"measure": "psfs", "psfs-new1_words": "Hopping", "psfs-new1": "4"}
    assert ">4</strong>" in client.post(url, new).content.decode()
    assert (
        "Nothing answered yet."
        in client.post(url, {"measure": "lefs"}).content.decode()
    )
    assert client.post(url, {"measure": "pain_worst"}).status_code == 404
    assert client.get(url).status_code == 405


def test_scoring_beside_a_save_does_not_undo_its_message(
    client: Client,
    episode: Episode,
    today: date,
    clock: Callable[[date], None],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """The score is asked before the save and answered after it."""
    url = f"/cases/{episode.pk}/score/"
    during = attended(today)

    def save_meanwhile(*_: Any) -> Any:
        monkeypatch.undo()
        clock(today)
        client.post(log_url(episode), during)
        return score_so_far(measure("akps"), {})

    monkeypatch.setattr(QuestionnaireForm, "score_so_far", save_meanwhile)
    assert client.post(url, {"measure": "akps"}).status_code == 200
    page = client.get(episode.get_absolute_url()).content.decode()
    assert "Visit of 1 Jun 2026 saved at 10:00." in page


def test_scoring_keeps_the_sign_in_alive(
    client: Client, episode: Episode, today: date, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Somebody who answers slowly is not signed out meanwhile."""
    before = Session.objects.get().expire_date
    later = timezone.now() + timedelta(minutes=14)
    monkeypatch.setattr(timezone, "now", lambda: later)
    client.post(f"/cases/{episode.pk}/score/", {"measure": "akps"})
    assert Session.objects.get().expire_date == before + timedelta(minutes=14)


# Red flags


def test_a_yes_without_a_decision_is_saved_and_stays_open(
    client: Client, episode: Episode, today: date
) -> None:
    """The route is shown after the save, with what is still open."""
    sent = attended(today, **{"screen-clot": "yes"})
    page = client.post(log_url(episode), sent, follow=True).content.decode()
    screen = at_visits().get()
    assert screen.is_positive and not screen.decision
    assert "Same-day medical assessment" in page
    assert "Your decision is not recorded yet" in page


def test_a_decision_in_words_goes_with_the_yes(
    client: Client, episode: Episode, today: date
) -> None:
    """Then nothing stays open."""
    sent = attended(today, **{"screen-clot": "yes", "screen-decision": "Rang the GP."})
    page = client.post(log_url(episode), sent, follow=True).content.decode()
    assert at_visits().get().decision == "Rang the GP."
    assert "Your decision is not recorded yet" not in page


# Sent twice


def test_a_double_tap_saves_once(client: Client, episode: Episode, today: date) -> None:
    """The second answer is the first one's."""
    sent = attended(today, note="Once", **with_akps(70))
    answers = [client.post(log_url(episode), sent) for _ in range(2)]
    assert [a.url for a in answers] == [f"/cases/{episode.pk}/"] * 2
    assert Visit.objects.count() == 1 and Submission.objects.count() == 1


def test_a_refused_form_can_be_mended_under_the_same_key(
    client: Client, episode: Episode, today: date
) -> None:
    """A refusal leaves no trace of the key."""
    sent = attended(today, pain_worst="11")
    page = errors_of(client.post(log_url(episode), sent))
    assert sent["form_key"] in page and not Submission.objects.exists()
    assert client.post(log_url(episode), {**sent, "pain_worst": "1"}).status_code == 302


def test_a_key_that_returns_with_other_content_is_told(
    client: Client, episode: Episode, today: date
) -> None:
    """What was typed last is kept, under a new key."""
    sent = attended(today, note="First")
    client.post(log_url(episode), sent)
    response = client.post(log_url(episode), {**sent, "note": "First, and more"})
    page = response.content.decode()
    assert response.status_code == 422
    assert "This form was received and saved before" in page
    assert "First, and more" in page and sent["form_key"] not in page
    assert Visit.objects.get().note == "First"


def test_two_people_who_log_the_same_day_at_once_make_one_visit(
    client: Client, episode: Episode, today: date, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The check saw nothing yet; the database refuses, and the form says why."""
    real, calls = VisitForm._refuse_second, []

    def blind_at_first(form: VisitForm, chosen: date) -> None:
        calls.append(chosen)
        if len(calls) > 1:
            real(form, chosen)

    make_visit(episode=episode, on=today)
    monkeypatch.setattr(VisitForm, "_refuse_second", blind_at_first)
    response = client.post(log_url(episode), attended(today, note="Mine"))
    page = response.content.decode()
    assert response.status_code == 422 and "Mine" in page
    assert "This case already has a visit on 1 Jun 2026." in page
    assert Visit.objects.count() == 1 and not Submission.objects.exists()


# Correcting


def change_form(visit: Visit, **fields: Any) -> dict[str, Any]:
    """Return the form of a change to a visit without outcomes."""
    return {
        "form_key": f"00000000-0000-4000-8000-{visit.version:012}",
        "version": str(visit.version),
        "attendance": visit.attendance,
        "visited_on": str(visit.visited_on),
        **fields,
    }


def test_a_change_starts_from_what_is_stored(
    client: Client, episode: Episode, today: date
) -> None:
    """Answers and notes are filled in; the screen is not asked again."""
    client.post(
        log_url(episode), attended(today, pain_worst="6", note="N1", **with_akps(74))
    )
    visit = Visit.objects.get()
    page = client.get(f"/visits/{visit.pk}/").content.decode()
    assert 'id="id_pain_worst_6" value="6" checked' in page
    assert "N1</textarea>" in page and 'value="alone" checked' in page
    assert "screen-clot" not in page and "no to all questions" in page
    assert ">74</strong>" in page
    sent = change_form(visit, pain_worst="2", **with_akps(80))
    assert client.post(f"/visits/{visit.pk}/", sent).status_code == 302
    visit.refresh_from_db()
    assert (visit.pain.worst, visit.note, visit.version) == (2, "", 2)
    corrected = Assessment.objects.standing().get(visit=visit)
    assert corrected.score == 80 and corrected.replaces.score == 74


def test_an_unchanged_questionnaire_stays_the_same_row(
    client: Client, episode: Episode, today: date
) -> None:
    """Only what differs is corrected."""
    client.post(log_url(episode), attended(today, **with_akps(74)))
    visit, made = Visit.objects.get(), Assessment.objects.get(assessed_on=today)
    client.post(f"/visits/{visit.pk}/", change_form(visit, note="New", **with_akps(74)))
    assert Assessment.objects.standing().get(assessed_on=today) == made


def test_clearing_every_answer_is_not_a_way_to_withdraw(
    client: Client, episode: Episode, today: date
) -> None:
    """Voiding is, with a reason."""
    client.post(log_url(episode), attended(today, **with_akps(74)))
    visit = Visit.objects.get()
    sent = change_form(visit, forms=["akps"], **{"akps-language": "en"})
    response = client.post(f"/visits/{visit.pk}/", sent)
    assert "void it instead" in response.content.decode()
    assert response.status_code == 422


# Withdrawing


def test_a_visit_is_voided_with_a_reason_and_all_its_parts(
    client: Client, episode: Episode, today: date
) -> None:
    """It stays on record; its page says who and why."""
    client.post(log_url(episode), attended(today, pain_worst="6", **with_akps(74)))
    visit = Visit.objects.get()
    url = f"/visits/{visit.pk}/void/"
    assert client.get(url).status_code == 200
    empty = client.post(url, {"version": "1", "why": " "})
    assert empty.status_code == 422 and "Say why" in empty.content.decode()
    assert client.post(url, {"version": "1", "why": "Wrong case"}).status_code == 302
    visit.refresh_from_db()
    assert visit.void_reason == "Wrong case"
    assert not PainScore.objects.standing().exists()
    assert not Assessment.objects.standing().filter(assessed_on=today).exists()
    gone = client.get(f"/visits/{visit.pk}/")
    assert gone.status_code == 404 and "Wrong case" in gone.content.decode()
    assert client.post(log_url(episode), attended(today)).status_code == 302


def test_a_visit_that_changed_meanwhile_is_not_voided(
    client: Client, episode: Episode, today: date
) -> None:
    """The person looks at it again first."""
    visit = make_visit(episode=episode, on=today)
    client.post(f"/visits/{visit.pk}/", change_form(visit, attendance="cancelled"))
    response = client.post(f"/visits/{visit.pk}/void/", {"version": "1", "why": "Slip"})
    assert response.url == f"/visits/{visit.pk}/"
    visit.refresh_from_db()
    assert visit.is_standing


def test_one_questionnaire_is_shown_and_voided(
    client: Client, signed_in: SignIn, colleague: User, episode: Episode, today: date
) -> None:
    """A colleague reads it; only who treats the case withdraws it."""
    client.post(log_url(episode), attended(today, **with_akps(74)))
    made = Assessment.objects.get(assessed_on=today)
    url = f"/assessments/{made.pk}/"
    page = client.get(url).content.decode()
    assert "Limp" in page and ">74 <small>of 100</small>" in page
    assert "Void it" in page
    seen = signed_in(colleague).get(url)
    assert seen.status_code == 200 and "Void it" not in seen.content.decode()
    assert signed_in(colleague).post(f"{url}void/", {"why": "x"}).status_code == 403
    client.post(f"{url}void/", {"why": "Wrong leg"})
    made.refresh_from_db()
    assert made.void_reason == "Wrong leg" and made.visit.is_standing
    assert "Wrong leg" in client.get(url).content.decode()
    assert AuditEvent.objects.filter(action="assessment.voided").count() == 1


# Who may


def test_who_may_log_a_visit(
    signed_in: SignIn,
    episode: Episode,
    clinician: User,
    colleague: User,
    lead: User,
    stranger: User,
    administrator: User,
    today: date,
) -> None:
    """The clinician, the lead, and a colleague while covering; nobody else."""
    url = log_url(episode)
    assert signed_in(clinician).get(url).status_code == 200
    assert signed_in(lead).get(url).status_code == 200
    assert signed_in(colleague).get(url).status_code == 403
    assert signed_in(colleague).post(url, attended(today)).status_code == 403
    assert signed_in(stranger).post(url, attended(today)).status_code == 404
    assert signed_in(administrator).get(url).status_code == 403
    cover_case(
        episode,
        by=lead,
        covered_by=colleague,
        from_on=today,
        until_on=today,
        reason="Leave",
    )
    assert signed_in(colleague).post(url, attended(today)).status_code == 302
    assert Visit.objects.get().clinician == colleague


def test_another_site_finds_no_visit_and_no_questionnaire(
    signed_in: SignIn, episode: Episode, stranger: User, today: date
) -> None:
    """Not found rather than refused."""
    visit = make_visit(episode=episode, on=today)
    made = Assessment.objects.get()
    for path in (
        f"/visits/{visit.pk}/",
        f"/visits/{visit.pk}/void/",
        f"/assessments/{made.pk}/",
        f"/assessments/{made.pk}/void/",
    ):
        assert signed_in(stranger).get(path).status_code == 404, path
    score = f"/cases/{episode.pk}/score/"
    assert signed_in(stranger).post(score, {"measure": "akps"}).status_code == 404
