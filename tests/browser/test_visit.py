"""Logging a visit on a tablet: by touch, with a bad connection, without JavaScript."""

import re
from collections.abc import Callable
from datetime import date, timedelta

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.contrib.sessions.models import Session
from django.utils import timezone
from playwright.sync_api import BrowserContext, Locator, Page, Route, expect

from clinic.models import Episode, Screen, User, Visit
from clinic.screening import questions
from outcomes.models import Assessment
from tests.factories import (
    PASSPHRASE,
    akps_answers,
    make_akps,
    make_screened_episode,
    make_visit,
)
from tests.programs.plans import make_line, make_programme

pytestmark = [pytest.mark.django_db(transaction=True)]
Open = Callable[[Page, User, str], Page]
TAPS = 14  # the commonest visit with three lines; DEVELOPERS.md says the same
SECRET = "Patient says the invented word marzipanicle"


@pytest.fixture
def on() -> date:
    """Today on the clinic's clock; the browser's date field follows the wall."""
    return timezone.localdate()


@pytest.fixture
def episode(clinician: User, on: date) -> Episode:
    """A case three weeks in: AKPS is due."""
    made = make_screened_episode(by=clinician, opened_on=on - timedelta(weeks=3))
    make_akps(episode=made, on=made.opened_on, total=61)
    return made


@pytest.fixture
def new_visit(page: Page, open_as: Open, clinician: User, episode: Episode) -> Page:
    """The empty visit form, opened by the case's clinician."""
    return open_as(page, clinician, f"/cases/{episode.pk}/visits/new/")


def tap(page: Page, *ids: str) -> None:
    """Tap the buttons of these inputs, as a finger does."""
    for dom_id in ids:
        page.locator(f'label:has(> [id="{dom_id}"])').tap()


def attended_without_flags(page: Page) -> None:
    """Tap attended, and no to each safety question."""
    tap(page, "id_attendance_attended")
    tap(page, *(f"id_screen-{c.key}_no" for c in questions("short", age=32)))


def notes(page: Page) -> Locator:
    """Return the field for notes."""
    return page.get_by_role("textbox", name="Notes")


def save(page: Page) -> None:
    """Tap the one primary button."""
    page.get_by_role("button", name="Save the visit").tap()


def status(page: Page) -> Locator:
    """Return the line in the save bar."""
    return page.locator("[data-save-status]")


def kept(page: Page) -> None:
    """Wait for the line to say that the typing is on the tablet."""
    expect(status(page)).to_contain_text("Kept on this tablet")


def saved(page: Page, episode: Episode) -> None:
    """Wait for the case page to say that the visit is saved."""
    page.wait_for_url(f"**/cases/{episode.pk}/")
    expect(page.locator("#messages")).to_contain_text(re.compile(r"saved at \d\d:\d\d"))


def sign_in_by_hand(page: Page, who: User) -> None:
    """Fill in the sign-in page."""
    page.get_by_label("User name").fill(who.username)
    page.get_by_label("Passphrase").fill(PASSPHRASE)
    page.get_by_role("button", name="Sign in").click()


@pytest.mark.every_database
def test_a_visit_is_logged_by_tapping(
    new_visit: Page, episode: Episode, on: date, screenshot: Callable[[Page, str], None]
) -> None:
    """Every part in one save, with the questionnaire's score as it is answered."""
    page = new_visit
    make_visit(episode=episode, on=on - timedelta(weeks=2))
    page.reload()
    attended_without_flags(page)
    tap(page, "id_pain_worst_6", "id_pain_usual_3", "id_pain_during_2")
    tap(page, "id_next_morning_settled")
    score = page.locator("#live-score-akps")
    answers = akps_answers(74)
    items = list(answers)
    tap(page, *(f"id_akps-{item}_{answers[item]}" for item in items[:-1]))
    expect(score).to_contain_text("12 of 13 answered: no total yet")
    tap(page, f"id_akps-{items[-1]}_{answers[items[-1]]}")
    expect(score).to_contain_text("74 of 100")
    tap(page, "id_akps-mode_alone")
    page.get_by_role("button", name="In 2 weeks").tap()
    notes(page).fill("Step-downs went well.")
    kept(page)
    screenshot(page, "visit-filled")
    save(page)
    saved(page, episode)
    visit = Visit.objects.get(visited_on=on)
    assert (visit.pain.worst, visit.pain.usual, visit.pain.stairs) == (6, 3, None)
    assert visit.response.next_morning == "settled"
    assert visit.next_planned_on == on + timedelta(days=14)
    assert Assessment.objects.get(visit=visit).score == 74
    assert (
        page.evaluate("Object.keys(localStorage).filter(k => k.startsWith('draft'))")
        == []
    )


def test_the_commonest_visit_stays_within_its_taps(
    page: Page, open_as: Open, clinician: User, episode: Episode, on: date
) -> None:
    """Attended, five safety answers, three ratings, the morning, three lines, save."""
    began = on - timedelta(weeks=2)
    programme = make_programme(episode, on=began)
    lines = [make_line(programme, on=began).pk for _ in range(3)]
    make_visit(episode=episode, on=on - timedelta(weeks=1))
    touched: list[str] = []
    page.expose_function("touched", lambda words: touched.append(words))
    open_as(page, clinician, f"/cases/{episode.pk}/visits/new/")
    page.evaluate(
        "addEventListener('touchstart', e => touched(e.target.textContent), true)"
    )
    attended_without_flags(page)
    tap(page, "id_pain_worst_6", "id_pain_usual_3", "id_pain_during_2")
    tap(page, "id_next_morning_settled")
    for pk in lines:
        page.locator(f"#line-{pk} [data-as-planned]").tap()
    save(page)
    saved(page, episode)
    visit = Visit.objects.get(visited_on=on)
    assert (visit.pain.worst, visit.response.pain_during) == (6, 2)
    assert visit.session_logs.count() == 3
    assert len(touched) <= TAPS, touched


def test_nothing_is_chosen_beforehand_and_a_tap_can_be_taken_back(
    new_visit: Page,
) -> None:
    """Eleven large buttons a scale, none of them pressed."""
    page = new_visit
    assert page.locator("input:checked").count() == 0
    scale = page.locator("#id_pain_worst .scale-point")
    assert scale.count() == 11
    sizes = scale.evaluate_all(
        "all => all.map(e => e.getBoundingClientRect()).map(r => [r.width, r.height])"
    )
    assert all(width >= 48 and height >= 48 for width, height in sizes)
    tap(page, "id_pain_worst_7")
    expect(page.locator("#id_pain_worst_7")).to_be_checked()
    page.locator("#id_pain_worst [data-clear]").tap()
    expect(page.locator("#id_pain_worst_7")).not_to_be_checked()


def test_a_yes_shows_its_route_at_once_and_asks_for_a_decision(
    new_visit: Page, episode: Episode
) -> None:
    """Saved without the decision, the case page says that it is open."""
    page = new_visit
    attended_without_flags(page)
    route = page.get_by_text("Same-day medical assessment")
    decision = page.get_by_label("Your decision, in words")
    expect(route).to_be_hidden()
    expect(decision).to_be_hidden()
    tap(page, "id_screen-clot_yes")
    expect(route).to_be_visible()
    expect(decision).to_be_visible()
    save(page)
    saved(page, episode)
    expect(page.locator("#messages")).to_contain_text(
        "Your decision is not recorded yet"
    )
    assert Screen.objects.get(form="short").is_positive


def test_an_appointment_that_did_not_happen_hides_the_rest(
    new_visit: Page, episode: Episode
) -> None:
    """Three taps; a part that holds an answer stays in sight."""
    page = new_visit
    tap(page, "id_attendance_did_not_attend")
    expect(page.locator("#visit-screen")).to_be_hidden()
    expect(page.locator("#id_pain_worst")).to_be_hidden()
    tap(page, "id_attendance_attended", "id_pain_worst_4", "id_attendance_cancelled")
    expect(page.locator("#id_pain_worst")).to_be_visible()
    expect(page.locator("#visit-screen")).to_be_hidden()
    page.locator("#id_pain_worst [data-clear]").tap()
    save(page)
    saved(page, episode)
    assert Visit.objects.get().attendance == "cancelled"


@pytest.mark.expected_console("422")
def test_a_refused_form_keeps_everything_and_says_what_to_mend(
    new_visit: Page, episode: Episode
) -> None:
    """The summary takes the focus; the same form is mended and saved."""
    page = new_visit
    tap(page, "id_attendance_attended", "id_pain_worst_5")
    notes(page).fill("Kept")
    save(page)
    summary = page.locator("#visit-problems")
    expect(summary).to_be_focused()
    expect(summary.get_by_role("link")).to_have_count(5)
    expect(notes(page)).to_have_value("Kept")
    expect(page.locator("#id_pain_worst_5")).to_be_checked()
    attended_without_flags(page)
    save(page)
    saved(page, episode)
    assert Visit.objects.get().note == "Kept"


@pytest.mark.every_database
def test_a_double_tap_saves_once(new_visit: Page, episode: Episode) -> None:
    """Two taps in the same breath."""
    page = new_visit
    attended_without_flags(page)
    page.get_by_role("button", name="Save the visit").dblclick()
    saved(page, episode)
    assert Visit.objects.count() == 1


@pytest.mark.expected_console("ERR_INTERNET_DISCONNECTED", "^htmx:")
def test_a_lost_connection_is_told_and_the_visit_is_sent_later(
    new_visit: Page, context: BrowserContext, episode: Episode
) -> None:
    """Offline at the moment of saving; back online it goes by itself, once."""
    page = new_visit
    attended_without_flags(page)
    context.set_offline(True)
    tap(page, "id_akps-1_a")
    expect(page.locator("#live-score-akps")).to_contain_text(
        "The score shows once the connection is back"
    )
    tap(page, "id_akps-mode_alone")
    save(page)
    expect(status(page)).to_contain_text("Not saved yet: no connection")
    expect(status(page)).to_contain_text("Kept on this tablet")
    assert Visit.objects.count() == 0
    context.set_offline(False)
    saved(page, episode)
    assert Visit.objects.count() == 1


@pytest.mark.every_database
@pytest.mark.expected_console("ERR_FAILED", "^htmx:")
def test_an_answer_lost_on_the_way_back_saves_once(
    new_visit: Page, episode: Episode
) -> None:
    """The server saved it, the tablet never heard: the repeat changes nothing."""
    page, sent = new_visit, []

    def lose_first_answer(route: Route) -> None:
        if route.request.method != "POST":
            route.continue_()
            return
        sent.append(route.request.post_data)
        if len(sent) > 1:
            route.continue_()
            return
        route.fetch(max_redirects=0)
        route.abort()

    page.route("**/visits/new/", lose_first_answer)
    attended_without_flags(page)
    save(page)
    saved(page, episode)
    assert len(sent) == 2 and Visit.objects.count() == 1


def test_a_reload_keeps_what_was_typed(new_visit: Page, episode: Episode) -> None:
    """Also a questionnaire that was added by hand; a fresh start is one tap away."""
    page = new_visit
    attended_without_flags(page)
    page.get_by_role("button", name="GROC").tap()
    tap(page, "id_groc-overall_5")
    expect(page.locator("#live-score-groc")).to_contain_text("clearly better")
    notes(page).fill(SECRET)
    kept(page)
    key = page.locator("[name=form_key]").input_value()
    page.goto(page.url)
    note = page.locator("[data-draft-note]")
    expect(note).to_contain_text(re.compile(r"what you had typed at \d\d:\d\d"))
    expect(notes(page)).to_have_value(SECRET)
    expect(page.locator("#id_groc-overall_5")).to_be_checked()
    expect(page.locator("#live-score-groc")).to_contain_text("clearly better")
    expect(page.locator("[name=form_key]")).to_have_value(key)
    note.get_by_role("button", name="Start fresh").tap()
    expect(notes(page)).to_have_value("")
    expect(note).to_be_hidden()


def test_an_expired_sign_in_loses_nothing(
    new_visit: Page, episode: Episode, clinician: User
) -> None:
    """Sign in again, find the form as it was, save it."""
    page = new_visit
    attended_without_flags(page)
    tap(page, "id_pain_worst_6")
    notes(page).fill(SECRET)
    kept(page)
    Session.objects.all().delete()
    save(page)
    page.wait_for_url("**/sign-in/**")
    sign_in_by_hand(page, clinician)
    expect(page.locator("[data-draft-note]")).to_be_visible()
    expect(notes(page)).to_have_value(SECRET)
    expect(page.locator("#id_pain_worst_6")).to_be_checked()
    save(page)
    saved(page, episode)
    visit = Visit.objects.get()
    assert (visit.note, visit.pain.worst) == (SECRET, 6)


def test_a_colleague_on_the_same_tablet_finds_nothing(
    new_visit: Page, open_as: Open, lead: User, episode: Episode
) -> None:
    """The draft belongs to who typed it, and only that person's pages open it."""
    page = new_visit
    notes(page).fill(SECRET)
    kept(page)
    open_as(page, lead, f"/cases/{episode.pk}/visits/new/")
    expect(notes(page)).to_have_value("")
    expect(page.locator("[data-draft-note]")).to_be_hidden()


def everything_stored(page: Page) -> str:
    """Return all that the browser keeps for this address, as one text."""
    return str(
        page.evaluate(
            """async () => {
              const bases = (await indexedDB.databases()).map((base) => base.name);
              const caches_ = await caches.keys();
              const stores = [{...localStorage}, {...sessionStorage}];
              return JSON.stringify([stores, bases, caches_]);
            }"""
        )
    )


@pytest.mark.parametrize("leave_from", ["the form", "another page"])
def test_the_draft_cannot_be_read_and_goes_with_the_sign_out(
    new_visit: Page, leave_from: str
) -> None:
    """No word of the note lies on the tablet in the clear, and none after sign-out."""
    page = new_visit
    notes(page).fill(SECRET)
    kept(page)
    stored = everything_stored(page)
    assert "draft:" in stored
    assert "marzipanicle" not in stored and "Inventson" not in stored
    assert page.locator("#visit-form").get_attribute("data-draft-key") not in stored
    if leave_from == "another page":
        page.goto(page.url.partition("/cases/")[0] + "/measures/")
        assert "draft:" in everything_stored(page)
    page.get_by_role("button", name="Sign out").tap()
    page.get_by_role("button", name="Sign out and lose it").tap()
    expect(page.get_by_role("heading", name="Signed out")).to_be_visible()
    assert "draft:" not in everything_stored(page)


def test_signing_out_asks_before_an_unsaved_visit_is_lost(
    new_visit: Page, episode: Episode
) -> None:
    """Stay keeps everything; a saved visit is not asked about."""
    page = new_visit
    sign_out = page.get_by_role("button", name="Sign out", exact=True)
    notes(page).fill(SECRET)
    kept(page)
    sign_out.tap()
    question = page.get_by_role("dialog", name="One visit is not saved yet")
    expect(question).to_contain_text("Stay, or sign out and lose it?")
    expect(question.get_by_role("button", name="Stay")).to_be_focused()
    assert Axe().run(page).response["violations"] == []
    question.get_by_role("button", name="Stay").tap()
    expect(question).to_have_count(0)
    expect(notes(page)).to_have_value(SECRET)
    attended_without_flags(page)
    save(page)
    saved(page, episode)
    sign_out.tap()
    expect(page.get_by_role("heading", name="Signed out")).to_be_visible()


@pytest.mark.expected_console("ERR_INTERNET_DISCONNECTED", "^htmx:")
def test_a_visit_that_waits_for_the_connection_is_not_saved(
    page: Page,
    context: BrowserContext,
    open_as: Open,
    clinician: User,
    episode: Episode,
) -> None:
    """Also where nothing is kept on the tablet: the page itself counts."""
    page.add_init_script(
        "Object.defineProperty(window, 'isSecureContext', { value: false })"
    )
    open_as(page, clinician, f"/cases/{episode.pk}/visits/new/")
    attended_without_flags(page)
    page.context.set_offline(True)
    save(page)
    expect(status(page)).to_contain_text("Not saved yet: no connection")
    page.get_by_role("button", name="Sign out", exact=True).tap()
    expect(page.get_by_role("dialog")).to_contain_text("One visit is not saved yet")
    page.get_by_role("button", name="Stay").tap()
    page.context.set_offline(False)
    saved(page, episode)


@pytest.mark.expected_console("422")
def test_a_complaint_goes_when_its_field_is_mended(
    new_visit: Page, on: date, screenshot: Callable[[Page, str], None]
) -> None:
    """With its mark for readers of the screen; its entry on top is struck."""
    page = new_visit
    tap(page, "id_attendance_attended")
    day = page.get_by_label("Day", exact=True)
    day.fill(str(on + timedelta(days=1)))
    save(page)
    summary = page.locator("#visit-problems")
    expect(summary).to_be_focused()
    expect(page.get_by_text("Answer yes or no.")).to_have_count(10)
    expect(day).to_have_attribute("aria-invalid", "true")
    clot = page.locator("#id_screen-clot")
    height = clot.evaluate("each => each.offsetHeight")
    tap(page, "id_screen-clot_no")
    expect(clot).not_to_contain_text("Answer yes or no.")
    assert clot.evaluate("each => each.offsetHeight") == height
    expect(page.locator("#id_screen-septic")).to_contain_text("Answer yes or no.")
    day.fill(str(on + timedelta(days=2)))
    expect(summary.locator(".is-mended")).to_have_count(1)
    day.fill(str(on))
    expect(day).not_to_have_attribute("aria-invalid", "true")
    expect(page.locator("#id_visited_on_error")).not_to_contain_text("in the future")
    expect(summary.locator(".is-mended")).to_have_count(2)
    screenshot(page, "visit-mended")


def test_a_chosen_day_stands_in_words_beside_its_field(
    new_visit: Page, on: date
) -> None:
    """Typed, tapped, or there from the start."""
    page = new_visit
    day = page.get_by_label("Day", exact=True)
    beside = day.locator("+ .day-words")
    expect(beside).to_have_text(f"{on:%a} {on.day} {on:%b %Y}")
    ahead = on + timedelta(days=14)
    page.get_by_role("button", name="In 2 weeks").tap()
    expect(page.locator("#id_next_planned_on + .day-words")).to_have_text(
        f"{ahead:%a} {ahead.day} {ahead:%b %Y}"
    )
    day.fill("")
    expect(beside).to_have_text("")


def test_without_encryption_nothing_is_written_to_the_tablet(
    page: Page, open_as: Open, clinician: User, episode: Episode
) -> None:
    """Plain http on a network: the page says so and keeps the typing to itself."""
    page.add_init_script(
        "Object.defineProperty(window, 'isSecureContext', { value: false })"
    )
    open_as(page, clinician, f"/cases/{episode.pk}/visits/new/")
    notes(page).fill(SECRET)
    expect(status(page)).to_contain_text("This connection is not encrypted")
    assert "draft:" not in everything_stored(page)
    attended_without_flags(page)
    save(page)
    saved(page, episode)


def test_the_form_is_accessible(new_visit: Page) -> None:
    """No serious fault by axe, empty and with every part open."""
    page = new_visit
    for name in ("KOOS-PF", "LEFS", "PSFS", "GROC"):
        page.get_by_role("button", name=name).tap()
    expect(page.locator(".questionnaire")).to_have_count(5)
    tap(page, "id_attendance_attended", "id_screen-clot_yes", "id_pain_worst_6")
    found = Axe().run(page).response["violations"]
    serious = [v for v in found if v["impact"] in ("critical", "serious")]
    assert [(v["id"], v["nodes"][0]["html"]) for v in serious] == []


@pytest.mark.every_database
@pytest.mark.expected_console("409")
def test_two_people_never_overwrite_each_other_silently(
    page: Page,
    new_context: Callable[..., BrowserContext],
    open_as: Open,
    clinician: User,
    lead: User,
    episode: Episode,
    on: date,
    screenshot: Callable[[Page, str], None],
) -> None:
    """The second sees both versions, typing kept, and decides."""
    visit = make_visit(episode=episode, on=on, note="First")
    mine = open_as(page, clinician, f"/visits/{visit.pk}/")
    theirs = open_as(new_context().new_page(), lead, f"/visits/{visit.pk}/")
    for one, words in ((theirs, "Theirs"), (mine, "Mine")):
        attended_without_flags(one)
        notes(one).fill(words)
    save(theirs)
    saved(theirs, episode)
    save(mine)
    both = mine.locator("#visit-problems")
    expect(both).to_contain_text("this visit changed while you had it open")
    expect(both.get_by_role("row", name="Notes")).to_contain_text("Theirs")
    expect(both.get_by_role("row", name="Notes")).to_contain_text("Mine")
    expect(notes(mine)).to_have_value("Mine")
    screenshot(mine, "visit-two-versions")
    visit.refresh_from_db()
    assert visit.note == "Theirs"
    notes(mine).fill("Theirs, and mine")
    save(mine)
    saved(mine, episode)
    visit.refresh_from_db()
    assert visit.note == "Theirs, and mine"


@pytest.mark.expected_console("401", "422")
def test_everything_works_without_javascript(
    no_js_page: Page, open_as: Open, clinician: User, episode: Episode
) -> None:
    """Add a questionnaire, be refused, lose the sign-in, and still save once."""
    page = open_as(no_js_page, clinician, f"/cases/{episode.pk}/visits/new/")
    tap(page, "id_attendance_attended", "id_pain_worst_5")
    notes(page).fill(SECRET)
    page.get_by_role("button", name="GROC").click()
    tap(page, "id_groc-overall_3", "id_groc-mode_alone")
    expect(notes(page)).to_have_value(SECRET)
    save(page)
    expect(page.locator("#visit-problems")).to_contain_text("Answer yes or no.")
    attended_without_flags(page)
    Session.objects.all().delete()
    save(page)
    expect(page.get_by_text("What you entered is kept.")).to_be_visible()
    sign_in_by_hand(page, clinician)
    page.get_by_role("button", name="Send what I entered").click()
    saved(page, episode)
    visit = Visit.objects.get()
    assert (visit.note, visit.pain.worst) == (SECRET, 5)
    assert Assessment.objects.get(visit=visit).score == 3
