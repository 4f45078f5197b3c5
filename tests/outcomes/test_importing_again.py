"""Bringing records in once more: what is new, known, voided or contradicted."""

from datetime import date

import pytest

from clinic.admitting import hand_over
from clinic.models import AuditEvent, Episode, Patient, User, Visit
from clinic.screening import answer_screen
from outcomes.models import Activity, Assessment, PainScore
from outcomes.recording import (
    FilledForm,
    VisitEntry,
    change_visit,
    record_assessment,
)
from outcomes.voiding import void_assessment, void_episode, void_visit
from programs.models import SessionResponse
from tests.factories import make_episode
from tests.outcomes.import_files import AKPS, bring, episodes, facts, form, pain, places

MODELS = (Patient, Episode, Visit, SessionResponse, PainScore, Assessment, Activity)
APRIL = {"observed_on": "2026-04-02"}
DISCHARGE = {"discharged_on": "2026-06-01", "discharge_reason": "goals met"}
MARCH = [
    {},
    {"item": "note", "value": "First visit"},
    {"item": "next_day", "value": "settled"},
    pain("worst", "6"),
    *form("akps", AKPS),
    *form("psfs", {"Run 5 km": "2"}),
]


def stored() -> list[int]:
    """Count the clinical rows."""
    return [model.objects.count() for model in (*MODELS, AuditEvent)]


@pytest.fixture
def owner(lead: User, clinician: User) -> User:
    """The lead, with Ada's first visit brought in."""
    assert bring(episodes(), facts(*MARCH), by=lead).is_stored
    return lead


def test_a_longer_log_adds_what_is_new(owner: User) -> None:
    """Later days and another knee come in; what was there stays as it was."""
    first = Visit.objects.get()
    later = [
        {**APRIL},
        pain("worst", "3", **APRIL),
        *form("psfs", {"run 5 KM": "5"}, **APRIL),
    ]
    report = bring(episodes({}, {"side": "right"}), facts(*MARCH, *later), by=owner)
    assert report.problems == ()
    assert report.added == {"episodes": 1, "visits": 1, "pain": 1, "psfs": 1}
    assert report.known == {
        "patients": 1,
        "episodes": 1,
        "visits": 1,
        "pain": 1,
        "akps": 1,
        "psfs": 1,
    }
    assert Visit.objects.get(visited_on=first.visited_on) == first
    assert Activity.objects.get().words == "Run 5 km"


def test_observations_may_come_without_their_episode_row(
    lead: User, owner: User
) -> None:
    """An episode that the app holds need not stand in the file again."""
    other = episodes({"record_number": "K2"})
    report = bring(other, facts({**APRIL}), by=owner)
    assert report.is_stored
    assert Visit.objects.filter(episode__patient__record_number="K1").count() == 2


def test_a_discharge_is_added_to_an_open_episode(owner: User) -> None:
    """It is on record like any other, and the knee may open again."""
    again = {"opened_on": "2026-07-01"}
    report = bring(episodes(DISCHARGE, again), facts({}), by=owner)
    assert report.is_stored
    assert report.added == {"discharges": 1, "episodes": 1}
    earlier, later = Episode.objects.order_by("opened_on")
    assert earlier.discharged_on == date(2026, 6, 1)
    assert later.continues == earlier
    assert AuditEvent.objects.filter(action="episode.discharged").count() == 1
    before = stored()
    assert not bring(episodes(DISCHARGE, again), facts({}), by=owner).added
    assert stored() == before


def test_two_rows_for_one_stored_episode_are_named(owner: User) -> None:
    """One of them says that it ended, the other does not."""
    report = bring(episodes({}, DISCHARGE), facts({}), by=owner)
    assert places(report) == [("patients.csv", 3, "opened_on")]


def test_a_discharge_before_a_stored_entry_is_named(owner: User) -> None:
    """The app knows of a visit after that day."""
    bring(episodes(), facts({**APRIL}), by=owner)
    early = {**DISCHARGE, "discharged_on": "2026-03-09"}
    report = bring(episodes(early), facts({}), by=owner)
    assert places(report) == [("patients.csv", 2, "discharged_on")]


def test_a_discharge_waits_for_the_decision_on_a_red_flag(owner: User) -> None:
    """The row is named; nothing is stored."""
    answer_screen(
        episode=Episode.objects.get(),
        by=owner,
        form="short",
        answers={"clot": True},
        on=date(2026, 3, 9),
    )
    report = bring(episodes(DISCHARGE), facts({}), by=owner)
    assert places(report) == [("patients.csv", 2, "discharged_on")]
    assert Episode.objects.get().is_open


def test_the_older_file_does_not_take_a_discharge_back(owner: User) -> None:
    """An empty cell contradicts nothing."""
    bring(episodes(DISCHARGE), facts({}), by=owner)
    assert not bring(episodes(), facts(*MARCH), by=owner).problems
    assert Episode.objects.get().discharged_on == date(2026, 6, 1)
    report = bring(episodes(), facts({"observed_on": "2026-06-02"}), by=owner)
    assert places(report) == [("observations.csv", 2, "observed_on")]


@pytest.mark.parametrize(
    ("change", "column"),
    [
        ({"family_name": "Else"}, "family_name"),
        ({"birth_date": "1994-05-07"}, "birth_date"),
        ({"symptom_onset": "2026-01-11"}, "symptom_onset"),
        ({"opened_on": "2026-03-03"}, "discharged_on"),
        ({**DISCHARGE, "opened_on": "2026-02-02"}, "opened_on"),
    ],
)
def test_an_episode_that_contradicts_what_is_stored_is_named(
    owner: User, change: dict[str, str], column: str
) -> None:
    """The app holds something else; nothing is changed."""
    before = stored()
    report = bring(episodes(change), facts(*MARCH), by=owner)
    assert places(report) == [("patients.csv", 2, column)]
    assert stored() == before


def test_a_case_that_was_handed_over_is_named(owner: User, colleague: User) -> None:
    """The file names the clinician of before."""
    episode = Episode.objects.get()
    hand_over(episode, by=owner, to=colleague, reason="Holiday", version=1)
    report = bring(episodes(), facts(*MARCH), by=owner)
    assert places(report) == [("patients.csv", 2, "clinician")]
    assert "d.brellow" in report.problems[0].sentence


@pytest.mark.parametrize(
    "change",
    [
        {"value": "cancelled"},
        {"item": "note", "value": "Another first visit"},
        {"item": "next_day", "value": "flare"},
        pain("worst", "7"),
        pain("stairs", "4"),
        form("akps", {"1": "b"})[0],
        form("psfs", {"Run 5 km": "3"})[0],
        form("psfs", {"Another activity": "3"})[0],
    ],
)
def test_an_observation_that_contradicts_what_is_stored_is_named(
    owner: User, change: dict[str, str]
) -> None:
    """Another value, or one that the stored day lacks; nothing is changed."""
    before = stored()
    report = bring(episodes(), facts(change), by=owner)
    assert places(report) == [("observations.csv", 2, "value")]
    assert stored() == before


def test_pain_may_be_added_to_a_stored_visit(owner: User) -> None:
    """A visit that was logged without pain takes the pain of the file."""
    bring(episodes(), facts({**APRIL}), by=owner)
    rows = [pain("worst", "3", **APRIL), *form("groc", {"overall": "2"}, **APRIL)]
    report = bring(episodes(), facts(*rows), by=owner)
    assert report.added == {"pain": 1, "groc": 1}
    visit = Visit.objects.get(visited_on="2026-04-02")
    assert visit.pain.worst == 3
    assert Assessment.objects.get(measure="groc").visit == visit


def test_what_was_voided_stays_voided(owner: User) -> None:
    """The same rows again bring nothing back, and are counted."""
    void_visit(Visit.objects.get(), by=owner, why="Wrong person", version=1)
    before = stored()
    report = bring(episodes(), facts(*MARCH), by=owner)
    assert report.problems == ()
    assert not report.added
    assert report.withdrawn == 4  # visit, pain, akps, psfs
    assert stored() == before
    assert not Visit.objects.standing().exists()


def test_a_corrected_file_replaces_what_was_voided(owner: User) -> None:
    """Other rows of the same day are new."""
    void_visit(Visit.objects.get(), by=owner, why="Wrong values", version=1)
    corrected = [{}, pain("worst", "2"), *form("akps", {**AKPS, "1": "b"})]
    corrected.append({"item": "note", "value": "Other words"})
    report = bring(episodes(), facts(*corrected), by=owner)
    assert report.added == {"visits": 1, "pain": 1, "akps": 1}
    assert PainScore.objects.standing().get().worst == 2


def test_a_form_that_was_corrected_in_the_app_stays_corrected(owner: User) -> None:
    """The file still holds the first answers; they are known as voided."""
    record_assessment(
        episode=Episode.objects.get(),
        by=owner,
        form=FilledForm(measure="akps", answers={**AKPS, "1": "c"}, mode="unknown"),
        assessed_on=date(2026, 3, 2),
    )
    report = bring(episodes(), facts(*MARCH), by=owner)
    assert report.problems == ()
    assert report.withdrawn == 1
    assert Assessment.objects.standing().get(measure="akps").answers["1"] == "c"


def test_a_voided_form_alone_does_not_come_back(owner: User) -> None:
    """Only the form was withdrawn; the visit is still known."""
    held = Assessment.objects.get(measure="akps")
    void_assessment(held, by=owner, why="Not hers")
    report = bring(episodes(), facts(*MARCH), by=owner)
    assert (report.withdrawn, report.known["visits"]) == (1, 1)


def test_a_voided_episode_does_not_come_back(lead: User, clinician: User) -> None:
    """Neither it nor its observations."""
    assert bring(episodes(), facts(), by=lead).is_stored
    void_episode(Episode.objects.get(), by=lead, why="Wrong knee", version=1)
    before = stored()
    report = bring(episodes(), facts(*MARCH), by=lead)
    assert report.problems == ()
    assert report.withdrawn == 4 + 1
    assert stored() == before
    right = bring(
        episodes({**DISCHARGE}, {"opened_on": "2026-06-02"}), facts(), by=lead
    )
    assert right.added["episodes"] == 1


def test_a_visit_changed_in_the_app_contradicts_the_file(owner: User) -> None:
    """The file is not newer than the app."""
    visit = Visit.objects.get()
    entry = VisitEntry(
        visited_on=visit.visited_on,
        attendance="attended",
        note="Corrected",
        pain={"worst": 5},
        next_morning="settled",
    )
    change_visit(visit, by=owner, entry=entry, version=1)
    report = bring(episodes(), facts(*MARCH), by=owner)
    assert places(report) == [
        ("observations.csv", 3, "value"),
        ("observations.csv", 5, "value"),
    ]


def test_a_case_opened_in_the_app_overlaps(lead: User, clinician: User) -> None:
    """The same knee cannot be in care twice at a time."""
    patient = make_episode(by=clinician, opened_on=date(2026, 2, 2)).patient
    known = {
        "record_number": patient.record_number,
        "family_name": patient.family_name,
    }
    report = bring(episodes(known), facts(), by=lead)
    assert places(report) == [("patients.csv", 2, "discharged_on")]
    assert "already stored" in report.problems[0].sentence
