"""A red-flag answer from the yes to the decision: nothing goes past it."""

import uuid
from datetime import date, timedelta
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from clinic.admitting import cover_case, discharge
from clinic.models import Episode, Screen, User
from clinic.screening import UndecidedRedFlag, answer_screen, decide
from outcomes.models import CaseReview
from outcomes.reviewing import review_case
from tests.factories import (
    make_akps,
    make_episode,
    make_patient,
    make_screened_episode,
    make_visit,
)

pytestmark = pytest.mark.usefixtures("clock")

CLOT = "Swollen, tender or warm calf"
CLOT_ROUTE = "Same-day medical assessment"
PAIN_BEFORE, PAIN_AFTER = {"worst": 3}, {"worst": 8}


@pytest.fixture
def case(clinician: User, today: date) -> Episode:
    """A case of ten weeks, screened at its opening."""
    return make_screened_episode(by=clinician, opened_on=today - timedelta(weeks=10))


@pytest.fixture
def client(clinician: User, signed_in: Any) -> Client:
    """The clinician's browser."""
    return signed_in(clinician)


@pytest.fixture
def flag(case: Episode, clinician: User, today: date) -> Screen:
    """A yes of yesterday that nobody decided on."""
    return raise_flag(case, by=clinician, on=today - timedelta(days=1))


def raise_flag(case: Episode, *, by: User, on: date) -> Screen:
    """Answer the question about a clot with yes."""
    return answer_screen(
        episode=case, by=by, form="short", answers={"clot": True}, on=on
    )


def end(case: Episode, *, by: User, on: date) -> None:
    """Discharge a case by the act."""
    discharge(case, by=by, on=on, reason="other", note="", version=case.version)


def worsening(by: User, today: date) -> Episode:
    """Make a case that is worse at its last two looks."""
    episode = make_screened_episode(by=by, opened_on=today - timedelta(weeks=8))
    for week, total in ((0, 80), (5, 60), (8, 58)):
        on = episode.opened_on + timedelta(weeks=week)
        pain = PAIN_AFTER if week else PAIN_BEFORE
        make_visit(episode=episode, on=on, pain=pain)
        make_akps(episode=episode, on=on, total=total)
    return episode


def review(today: date, **changes: str) -> dict[str, str]:
    """Return a complete review, as it is posted."""
    filled = {
        "decision": "refer",
        "why": "Worse than at the start.",
        "look_again_on": (today + timedelta(days=21)).isoformat(),
        "form_key": str(uuid.uuid4()),
    }
    return {**filled, **changes}


def ending(today: date) -> dict[str, str]:
    """Return a filled discharge, as it is posted."""
    return {
        "reason": "goals met",
        "discharged_on": today.isoformat(),
        "note": "Goes on alone.",
        "is_without_measures": "on",
        "without_because": "seen by telephone",
        "version": "1",
        "form_key": str(uuid.uuid4()),
    }


def text(answer: Any) -> str:
    """Return the text of an answer."""
    return answer.content.decode()


# Discharge


def test_the_act_refuses_a_discharge_while_a_yes_is_undecided(
    case: Episode, flag: Screen, clinician: User, today: date
) -> None:
    """It names the answer, changes nothing, and goes through once it is decided."""
    with pytest.raises(UndecidedRedFlag, match=CLOT):
        end(case, by=clinician, on=today)
    case.refresh_from_db()
    assert case.is_open and case.version == 1
    decide(flag, by=clinician, decision="Seen the same day; no clot (invented).")
    end(case, by=clinician, on=today)
    assert not case.is_open


def test_the_discharge_page_asks_for_the_decision_and_comes_back(
    client: Client, case: Episode, flag: Screen, today: date
) -> None:
    """The answers are named with their route; the decision leads back here."""
    page = f"/cases/{case.pk}/discharge/"
    shown = text(client.get(page))
    way = f"/screens/{flag.pk}/decide/?then=discharge"
    assert CLOT in shown and CLOT_ROUTE in shown and f'href="{way}"' in shown
    assert 'name="discharged_on"' not in shown
    refused = client.post(page, ending(today))
    assert refused.status_code == 422
    assert CLOT in text(refused) and "Goes on alone." in text(refused)
    case.refresh_from_db()
    assert case.is_open
    decision = {"decision": "No clot.", "form_key": str(uuid.uuid4())}
    assert client.post(way, decision).url == page
    assert client.post(page, ending(today)).url == f"/cases/{case.pk}/"


@pytest.mark.parametrize("then", ["", "//elsewhere.example", "caseload"])
def test_a_decision_comes_back_only_to_pages_of_the_case(
    client: Client, case: Episode, flag: Screen, then: str
) -> None:
    """Whatever else stands in the address leads to the case."""
    sent = {"decision": "No clot.", "form_key": str(uuid.uuid4())}
    answer = client.post(f"/screens/{flag.pk}/decide/?then={then}", sent)
    assert answer.url == f"/cases/{case.pk}/"


def test_an_undecided_yes_of_a_discharged_case_stays_on_the_caseload(
    client: Client, case: Episode, clinician: User, today: date
) -> None:
    """It is marked as discharged, and leaves with the decision."""
    end(case, by=clinician, on=today)
    name = case.patient.family_name
    assert name not in text(client.get("/"))
    late = raise_flag(case, by=clinician, on=today)
    shown = text(client.get("/"))
    assert name in shown and "<strong>discharged</strong>" in shown
    assert "Red-flag answer awaits a decision" in shown
    assert f'href="/screens/{late.pk}/decide/"' in shown
    assert "Decide in words" in text(client.get(f"/cases/{case.pk}/"))
    sent = {"decision": "No clot.", "form_key": str(uuid.uuid4())}
    client.post(f"/screens/{late.pk}/decide/", sent)
    assert name not in text(client.get("/"))


# One way to decide


def test_the_review_is_not_offered_before_the_red_flag_is_decided(
    client: Client, case: Episode, flag: Screen, today: date
) -> None:
    """Its page says so and leads there; a review that is sent all the same waits."""
    page = f"/cases/{case.pk}/review/"
    shown = text(client.get(page))
    assert f"/screens/{flag.pk}/decide/?then=review" in shown
    assert 'name="look_again_on"' not in shown
    refused = client.post(page, review(today))
    assert refused.status_code == 409
    assert "Worse than at the start." in text(refused)
    assert not CaseReview.objects.exists()


def test_decide_leads_to_the_red_flag_where_one_is_open(
    client: Client, case: Episode, clinician: User, today: date
) -> None:
    """On the caseload and on the case; to the review where none is."""
    to_review = f'href="/cases/{case.pk}/review/"'
    assert to_review in text(client.get("/"))
    assert to_review in text(client.get(f"/cases/{case.pk}/"))
    to_flag = f"/screens/{raise_flag(case, by=clinician, on=today).pk}/decide/"
    for page in ("/", f"/cases/{case.pk}/"):
        shown = text(client.get(page))
        assert to_flag in shown and to_review not in shown


def test_a_reader_is_not_offered_a_decision_on_the_caseload(
    colleague: User, signed_in: Any, case: Episode
) -> None:
    """A colleague reads the row; deciding belongs to who treats."""
    shown = text(signed_in(colleague).get("/?whose=site"))
    assert case.patient.family_name in shown
    assert f"/cases/{case.pk}/review/" not in shown


# What a review says and does


def test_the_message_says_what_rests_and_what_does_not(
    client: Client, clinician: User, today: date
) -> None:
    """A worsening stays in sight, and the message does not claim otherwise."""
    case = worsening(clinician, today)
    client.post(f"/cases/{case.pk}/review/", review(today))
    shown = text(client.get(f"/cases/{case.pk}/"))
    assert "“Worsening, review” does not rest" in shown
    assert "The flag rests" not in shown


def test_the_message_names_each_finding_that_rests(
    client: Client, case: Episode, today: date
) -> None:
    """Each with its day."""
    answer = client.post(f"/cases/{case.pk}/review/", review(today), follow=True)
    assert "“Baseline missing or late” rests until 22 Jun 2026." in text(answer)
    assert "“Re-measure overdue” rests until 22 Jun 2026." in text(answer)


def test_a_decision_stands_beside_the_finding_that_does_not_rest(
    client: Client, clinician: User, today: date
) -> None:
    """On the case and on the caseload, until the day to look again."""
    case = worsening(clinician, today)
    note = "Decided 1 Jun 2026: refer on, look again 22 Jun 2026"
    for page in ("/", f"/cases/{case.pk}/"):
        assert note not in text(client.get(page))
    client.post(f"/cases/{case.pk}/review/", review(today))
    for page in ("/", f"/cases/{case.pk}/"):
        assert text(client.get(page)).count(note) == 1


def test_a_decision_to_discharge_rests_nothing_until_it_is_done(
    client: Client, case: Episode, today: date
) -> None:
    """Left halfway, the case goes on asking; the message says so."""
    sent = review(today, decision="discharge")
    answer = client.post(f"/cases/{case.pk}/review/", sent, follow=True)
    assert "Nothing rests until the case is discharged" in text(answer)
    shown = text(client.get("/"))
    assert "1 to review, 0 resting" in shown
    assert "Decided 1 Jun 2026: discharge" in shown


# Discharged cases


def test_a_discharged_case_prompts_for_nothing(
    client: Client, case: Episode, clinician: User, today: date
) -> None:
    """No finding, and only the acts that still make sense."""
    assert "To review" in text(client.get(f"/cases/{case.pk}/"))
    end(case, by=clinician, on=today)
    shown = text(client.get(f"/cases/{case.pk}/"))
    assert "To review" not in shown and "Re-measure overdue" not in shown
    here = f'href="/cases/{case.pk}/'
    for kept in ("take-back/", "events/new/"):
        assert f"{here}{kept}" in shown
    for gone in ("cover/", "hand-over/", "review/", "screen/", "handout/", "visits/"):
        assert f"{here}{gone}" not in shown


def test_a_discharged_case_is_not_reviewed(
    client: Client, case: Episode, clinician: User, today: date
) -> None:
    """The page turns back and says why."""
    end(case, by=clinician, on=today)
    answer = client.post(f"/cases/{case.pk}/review/", review(today), follow=True)
    assert "This case is discharged" in text(answer)
    assert not CaseReview.objects.exists()


# The visit form


def test_an_open_red_flag_stands_on_top_of_the_visit_form(
    client: Client, case: Episode, flag: Screen
) -> None:
    """With its question, its route, and the way to the decision and back."""
    shown = text(client.get(f"/cases/{case.pk}/visits/new/"))
    way = f'href="/screens/{flag.pk}/decide/?then=visit"'
    assert way in shown and CLOT_ROUTE in shown
    assert shown.index(way) < shown.index('id="id_attendance')


def test_the_other_knees_open_red_flag_stands_there_too(
    client: Client, case: Episode, flag: Screen, clinician: User, today: date
) -> None:
    """It is the same person who sits there; the heading says whose case it is."""
    other = make_screened_episode(
        by=clinician, patient=case.patient, side="right", opened_on=today
    )
    shown = text(client.get(f"/cases/{other.pk}/visits/new/"))
    assert "(the case of the left knee)" in shown
    assert f'href="/screens/{flag.pk}/decide/"' in shown


def test_without_a_full_screen_on_record_the_visit_asks_it(
    client: Client, clinician: User, today: date
) -> None:
    """A case that was brought in never had one."""
    case = make_episode(by=clinician, opened_on=today - timedelta(weeks=3))
    shown = text(client.get(f"/cases/{case.pk}/visits/new/"))
    assert "Safety questions, full list" in shown and "screen-tumour" in shown
    assert "has no full red-flag screen on record" in shown


def test_the_case_says_that_no_screen_is_on_record(
    client: Client, clinician: User, case: Episode, today: date
) -> None:
    """With the way to it; a screened case says nothing."""
    sentence = "red-flag screen on record."
    assert sentence not in text(client.get(f"/cases/{case.pk}/"))
    bare = make_episode(by=clinician, opened_on=today)
    shown = text(client.get(f"/cases/{bare.pk}/"))
    assert f"No {sentence}" in shown and f'href="/cases/{bare.pk}/screen/"' in shown
    answer_screen(episode=bare, by=clinician, form="short", answers={}, on=today)
    assert f"No full {sentence}" in text(client.get(f"/cases/{bare.pk}/"))


@pytest.mark.parametrize(("born", "is_told"), [(2008, False), (2009, True)])
def test_the_young_are_asked_about_the_hip_on_every_page(
    client: Client, clinician: User, today: date, born: int, is_told: bool
) -> None:
    """Under 18 the caution stands on the case and on the visit form."""
    patient = make_patient(by=clinician, birth_date=date(born, 5, 6))
    case = make_screened_episode(by=clinician, patient=patient, opened_on=today)
    for page in (f"/cases/{case.pk}/", f"/cases/{case.pk}/visits/new/"):
        assert ("ask about the hip" in text(client.get(page))) is is_told


# Cover


def test_a_covered_case_says_whom_it_is_covered_for(
    client: Client, clinician: User, colleague: User, today: date
) -> None:
    """And any number of them costs no more queries."""

    def queries() -> int:
        with CaptureQueriesContext(connection) as made:
            client.get("/")
        return len(made)

    def cover() -> None:
        cover_case(
            make_episode(by=colleague, opened_on=today),
            by=colleague,
            covered_by=clinician,
            from_on=today,
            until_on=today,
            reason="Leave",
        )

    cover()
    assert f'covering for <bdi dir="auto">{colleague}' in text(client.get("/"))
    few = queries()
    for _ in range(4):
        cover()
    assert queries() == few


def test_a_refused_colleague_is_led_to_cover(
    colleague: User, signed_in: Any, case: Episode, flag: Screen
) -> None:
    """From any address of the case; elsewhere the page speaks of roles."""
    browser = signed_in(colleague)
    cover = f'href="/cases/{case.pk}/cover/"'
    for page in (f"/cases/{case.pk}/visits/new/", f"/screens/{flag.pk}/decide/"):
        answer = browser.get(page)
        assert answer.status_code == 403 and cover in text(answer)
    answer = browser.get("/policy/")
    assert answer.status_code == 403 and "/cover/" not in text(answer)


def test_nobody_is_led_to_cover_a_discharged_case(
    colleague: User, clinician: User, signed_in: Any, case: Episode, today: date
) -> None:
    """Its page would turn them back."""
    end(case, by=clinician, on=today)
    answer = signed_in(colleague).get(f"/cases/{case.pk}/take-back/")
    assert answer.status_code == 403
    assert f"/cases/{case.pk}/cover/" not in text(answer)


def test_further_acts_stand_beside_log_a_visit(client: Client, case: Episode) -> None:
    """In a details element, which opens without a script, before the record."""
    shown = text(client.get(f"/cases/{case.pk}/"))
    more = shown.index('<details class="case-more">')
    assert shown.index("Log a visit") < more < shown.index("Where it stands")
    assert shown.count(f'href="/cases/{case.pk}/hand-over/"') == 1


def test_review_case_keeps_what_was_seen(
    case: Episode, clinician: User, today: date
) -> None:
    """Stored decisions to discharge of before rest nothing either."""
    from outcomes.caseload import read_case
    from outcomes.science.policy import StallPolicy

    review_case(
        case,
        by=clinician,
        on=today,
        decision="discharge",
        why="Done.",
        look_again_on=today + timedelta(days=21),
        findings=["not_seen", "remeasure_overdue"],
    )
    row = read_case(case, policy=StallPolicy(), on=today)
    assert not row.resting
    assert row.decided == {"not_seen", "remeasure_overdue"}
