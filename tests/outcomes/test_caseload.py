"""The caseload: rows, findings, resting reviews, scope, and its number of queries."""

from datetime import date, timedelta
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils.html import escape

from clinic.admitting import cover_case, discharge
from clinic.models import Episode, User
from clinic.screening import answer_screen
from outcomes.caseload import CaseRow, full_screen_because, read_case
from outcomes.frames import as_courses, read_courses
from outcomes.reviewing import review_case
from outcomes.science.policy import StallPolicy
from outcomes.science.stall import evaluate
from tests.factories import (
    make_akps,
    make_episode,
    make_patient,
    make_visit,
)

OPENED = date(2026, 3, 9)  # twelve weeks before the tests' today
POLICY = StallPolicy()


def stalled(by: User, **details: Any) -> Episode:
    """Make case E of the clinical reference, section 10.3: 58, 60, 59; pain 7."""
    episode = make_episode(by=by, opened_on=OPENED, **details)
    for week, total in ((0, 58), (6, 60), (12, 59)):
        on = OPENED + timedelta(weeks=week)
        make_visit(episode=episode, on=on, pain={"worst": 7})
        make_akps(episode=episode, on=on, total=total)
    return episode


def keys(row: CaseRow) -> list[str]:
    """Return the keys of the findings that ask for a review."""
    return [finding.rule.key for finding in row.findings]


def test_a_stalled_case_says_why_and_since_when(clinician: User, today: date) -> None:
    """Case E has the two findings that section 10.2 gives it at week 12."""
    row = read_case(stalled(clinician), policy=POLICY, on=today)
    assert keys(row) == ["target_not_reached", "no_measurable_progress"]
    assert row.gain == 1
    assert row.weeks == 12
    assert row.last_seen_on == today
    assert row.change is not None
    assert row.change.label == "no detectable change"


def test_an_empty_caseload_is_no_error(db: None, today: date) -> None:
    """Nothing in, nothing out, whatever the arrays' shapes."""
    readings = read_courses([])
    assert len(evaluate(as_courses(readings, POLICY), policy=POLICY, on=today)) == 0


def test_a_case_without_anything_yet_is_shown(clinician: User, today: date) -> None:
    """A case opened today has no score, no change and nothing to review."""
    row = read_case(
        make_episode(by=clinician, opened_on=today), policy=POLICY, on=today
    )
    assert (row.baseline, row.latest, row.change, row.findings) == (None,) * 3 + ((),)
    assert "no score yet" in row.strip.label


def test_what_was_voided_does_not_count(
    clinician: User, today: date, signed_in: Any
) -> None:
    """A voided score leaves the course."""
    from outcomes.voiding import void_assessment

    episode = stalled(clinician)
    latest = episode.assessments.in_order().last()
    void_assessment(latest, by=clinician, why="wrong person")
    row = read_case(episode, policy=POLICY, on=today)
    assert row.latest is not None
    assert row.latest.value == 60


def test_a_persons_measure_shows_in_both_knees(clinician: User, today: date) -> None:
    """LEFS belongs to the person: asked in one episode, it counts in the other."""
    from outcomes.recording import FilledForm, record_assessment

    patient = make_patient(by=clinician)
    knees = [
        make_episode(
            by=clinician,
            patient=patient,
            side=side,
            opened_on=OPENED,
            primary_measure="lefs",
        )
        for side in ("left", "right")
    ]
    answers = {str(n): 2 for n in range(1, 21)}
    form = FilledForm(measure="lefs", answers=answers, mode="alone")
    record_assessment(episode=knees[0], by=clinician, form=form, assessed_on=OPENED)
    values = [
        row.latest.value
        for knee in knees
        if (row := read_case(knee, policy=POLICY, on=today)).latest
    ]
    assert values == [40, 40]


def test_a_review_rests_its_findings_until_the_day(
    clinician: User, today: date
) -> None:
    """The flag rests until the day to look again, and comes back by itself."""
    episode = stalled(clinician)
    seen = keys(read_case(episode, policy=POLICY, on=today))
    review_case(
        episode,
        by=clinician,
        on=today,
        decision="change",
        why="More load.",
        look_again_on=today + timedelta(days=14),
        findings=seen,
    )
    resting = read_case(episode, policy=POLICY, on=today + timedelta(days=13))
    assert not {"target_not_reached", "no_measurable_progress"} & set(keys(resting))
    assert [f.rule.key for f in resting.resting] == seen
    back = read_case(episode, policy=POLICY, on=today + timedelta(days=14))
    assert set(seen) <= set(keys(back))


def test_a_new_finding_breaks_through_a_resting_review(
    clinician: User, today: date
) -> None:
    """Only what was seen rests: not being seen afterwards asks again."""
    episode = stalled(clinician)
    review_case(
        episode,
        by=clinician,
        on=today,
        decision="continue",
        why="Agreed.",
        look_again_on=today + timedelta(days=60),
        findings=keys(read_case(episode, policy=POLICY, on=today)),
    )
    later = read_case(episode, policy=POLICY, on=today + timedelta(days=30))
    assert "not_seen" in keys(later)


def test_an_undecided_red_flag_never_rests(clinician: User, today: date) -> None:
    """Rank 1 stands and withholds progress advice, whatever was decided before."""
    episode = stalled(clinician)
    answer_screen(
        episode=episode, by=clinician, form="short", answers={"clot": True}, on=today
    )
    review_case(
        episode,
        by=clinician,
        on=today,
        decision="continue",
        why="—",
        look_again_on=today + timedelta(days=60),
        findings=["red_flag"],
    )
    row = read_case(episode, policy=POLICY, on=today)
    assert keys(row) == ["red_flag"]


def test_the_full_screen_comes_back_for_a_stalled_case_once(
    clinician: User, today: date
) -> None:
    """Stalled since the last full screen: ask it; asked since: do not ask again."""
    episode = stalled(clinician)
    assert full_screen_because(episode, policy=POLICY, on=today)
    answer_screen(episode=episode, by=clinician, form="full", answers={}, on=today)
    assert not full_screen_because(episode, policy=POLICY, on=today)


def test_caseload_queries_do_not_grow(
    clinician: User, query_count: Any, signed_in: Any, clock: Any
) -> None:
    """Ten more cases cost no more queries (14 when written)."""
    client = signed_in(clinician)
    stalled(clinician)
    few = query_count(client, "/")
    for _ in range(10):
        stalled(clinician)
    assert query_count(client, "/") == few


def test_case_page_queries_do_not_grow(
    clinician: User, query_count: Any, signed_in: Any, clock: Any, today: date
) -> None:
    """A longer course costs no more queries."""
    client = signed_in(clinician)
    episode = stalled(clinician)
    page = f"/cases/{episode.pk}/"
    few = query_count(client, page)
    for days in range(1, 9):
        make_visit(episode=episode, on=OPENED + timedelta(days=days), pain={"worst": 5})
        make_akps(episode=episode, on=OPENED + timedelta(days=days), total=60)
    assert query_count(client, page) == few


@pytest.fixture
def page(signed_in: Any, clock: Any) -> Any:
    """Return the text of the caseload for a person."""

    def read(person: User, query: str = "", find: str | None = None) -> str:
        client: Client = signed_in(person)
        if find is None:
            return client.get(f"/{query}").content.decode()
        return client.post(f"/{query}", {"find": find}).content.decode()

    return read


def test_a_clinician_sees_their_own_and_covered_cases(
    clinician: User, colleague: User, page: Any, today: date
) -> None:
    """The caseload opens with one's own; cover adds a colleague's case."""
    mine = stalled(clinician)
    theirs = make_episode(by=colleague, opened_on=today)
    assert mine.patient.family_name in page(clinician)
    assert theirs.patient.family_name not in page(clinician)
    cover_case(
        theirs,
        by=colleague,
        covered_by=clinician,
        from_on=today,
        until_on=today,
        reason="Leave",
    )
    assert theirs.patient.family_name in page(clinician)
    assert theirs.patient.family_name in page(clinician, "?whose=site")


def test_another_sites_cases_never_show(
    clinician: User, stranger: User, page: Any, today: date
) -> None:
    """Neither in the list, nor by finding, nor in a count."""
    patient = make_patient(by=stranger, family_name="Elsewhereson")
    make_episode(by=stranger, patient=patient, opened_on=today)
    assert "Elsewhereson" not in page(clinician, "?whose=site")
    assert "0 open cases found" in page(clinician, find="Elsewhereson")


def test_find_looks_by_name_and_number_in_the_body_only(
    clinician: User, page: Any, today: date
) -> None:
    """Words in any order; the address stays free of them."""
    patient = make_patient(by=clinician, family_name="Zephyrine", given_name="Odo")
    make_episode(by=clinician, patient=patient, opened_on=today)
    for words in ("zeph", "odo zeph", patient.record_number):
        assert "Zephyrine" in page(clinician, find=words)
    assert "Zephyrine" not in page(clinician, find="odo nobody")


def discharged(by: User, **details: Any) -> Episode:
    """Make a person whose only episode has ended."""
    patient = make_patient(by=by, **details)
    episode = make_episode(by=by, patient=patient, opened_on=OPENED)
    discharge(
        episode,
        by=by,
        on=OPENED + timedelta(weeks=6),
        reason=Episode.Reason.choices[0][0],
        note="",
        version=episode.version,
    )
    return episode


def test_find_covers_people_without_a_case_in_care(
    clinician: User, stranger: User, page: Any, today: date
) -> None:
    """Open cases come first, then everybody else of the clinic, and nobody else."""
    stalled(clinician, patient=make_patient(by=clinician, family_name="Zephyrine"))
    left = discharged(clinician, family_name="Zephyrton")
    never = make_patient(by=clinician, family_name="Zephyrsen")
    discharged(stranger, family_name="Zephyrelse")
    text = page(clinician, find="zephyr")
    assert "1 open case and 2 other people found" in text
    assert text.index("Zephyrine") < text.index("Discharged or without an episode")
    for person in (left.patient, never):
        assert f'href="{person.get_absolute_url()}"' in text
    assert "last discharged" in text
    assert "no episode in care" in text
    assert "Zephyrelse" not in text


def test_the_caseload_itself_lists_nobody_who_left(
    clinician: User, page: Any, today: date
) -> None:
    """Without a search only cases in care are shown; nor does an address search."""
    discharged(clinician, family_name="Zephyrton")
    assert "Zephyrton" not in page(clinician, "?whose=site")
    assert "Zephyrton" not in page(clinician, "?find=zephyrton")


def test_who_is_not_found_is_not_of_this_clinic(clinician: User, page: Any) -> None:
    """The empty text says what was searched."""
    text = page(clinician, find="nobody")
    assert "Nobody of this clinic, in care or discharged" in text


def test_find_shows_fifty_and_says_so(clinician: User, page: Any, today: date) -> None:
    """A search that finds more asks for more of the name."""
    for number in range(51):
        make_patient(by=clinician, family_name=f"Zephyr{number:02}")
    text = page(clinician, find="zephyr")
    assert "more than 50 other people found" in text
    assert "Only the first 50 of them are shown" in text
    assert text.count('class="row-link"') == 50


def test_find_queries_do_not_grow(clinician: User, signed_in: Any, clock: Any) -> None:
    """Ten more people found cost no more queries."""
    client = signed_in(clinician)

    def count() -> int:
        with CaptureQueriesContext(connection) as caught:
            client.post("/", {"find": "zephyr"})
        return len(caught)

    discharged(clinician, family_name="Zephyr")
    few = count()
    for _ in range(10):
        discharged(clinician, family_name="Zephyr")
    assert count() == few


def test_only_the_first_finding_is_told_in_full(
    clinician: User, page: Any, today: date
) -> None:
    """Further findings are one short line."""
    episode = stalled(clinician)
    first, second = read_case(episode, policy=POLICY, on=today).findings
    text = page(clinician)
    assert escape(first.sentence) in text
    assert escape(second.sentence) not in text
    assert f"Also: {second.title.lower()}." in text


def test_a_strip_keeps_the_whole_scale_in_every_size(
    clinician: User, today: date
) -> None:
    """Low in a quiet row, large on the case page; a score keeps its share."""
    row = read_case(stalled(clinician), policy=POLICY, on=today)
    shares = {
        round(strip.points[0][1] / strip.height, 2)
        for strip in (row.strip, row.row_strip, row.large_strip)
    }
    assert shares == {0.42}
    assert row.large_strip.height > row.row_strip.height
    quiet = read_case(
        make_episode(by=clinician, opened_on=today), policy=POLICY, on=today
    )
    assert quiet.row_strip.height < row.row_strip.height


@pytest.mark.parametrize("query", ["?whose=999999", "?whose=x", "?order=x", "?show=x"])
def test_a_crafted_choice_counts_as_the_default(
    clinician: User, page: Any, query: str
) -> None:
    """A choice that was not offered neither breaks the page nor widens it."""
    assert stalled(clinician).patient.family_name in page(clinician, query)


def test_only_what_needs_a_review_can_be_shown(
    clinician: User, page: Any, today: date
) -> None:
    """The filter leaves out cases that ask for nothing."""
    make_episode(
        by=clinician,
        patient=make_patient(by=clinician, family_name="Quietson"),
        opened_on=today,
    )
    flagged = stalled(clinician).patient.family_name
    text = page(clinician, "?show=review")
    assert flagged in text
    assert "Quietson" not in text


def test_orders_put_the_right_case_first(
    clinician: User, page: Any, today: date
) -> None:
    """By name, A before Z; by need of review, the flagged one before the quiet one."""
    make_episode(
        by=clinician,
        patient=make_patient(by=clinician, family_name="Aaronsen"),
        opened_on=today,
    )
    stalled(clinician, patient=make_patient(by=clinician, family_name="Zimmeren"))
    pressing = page(clinician)
    assert pressing.index("Zimmeren") < pressing.index("Aaronsen")


def test_htmx_gets_the_table_alone(clinician: User, signed_in: Any, clock: Any) -> None:
    """The same address answers with its part, and says that it varies."""
    client = signed_in(clinician)
    answer = client.get("/", headers={"HX-Request": "true"})
    assert "<html" not in answer.content.decode()
    assert 'id="caseload-table"' in answer.content.decode()
    assert "HX-Request" in answer["Vary"]
    assert "no-store" in answer["Cache-Control"]
