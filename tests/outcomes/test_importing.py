"""Bringing records in: the sample log, its damaged twin, and the rules one by one."""

import csv
from io import BytesIO

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from clinic import audit as clinic_audit
from clinic.access import Role
from clinic.models import AuditEvent, Episode, Patient, Site, User, Visit
from outcomes import audit
from outcomes.importing import reading
from outcomes.importing.caseload import Report
from outcomes.importing.problems import Problems
from outcomes.importing.summary import missing_people
from outcomes.models import Activity, Assessment, PainScore
from programs.models import SessionResponse
from tests.factories import make_user
from tests.outcomes.import_files import (
    AKPS,
    SAMPLES,
    add_sample_clinicians,
    bring,
    bring_sample,
    episodes,
    facts,
    form,
    pain,
    places,
)

CLINICAL = (
    Patient,
    Episode,
    Visit,
    SessionResponse,
    PainScore,
    Assessment,
    Activity,
    AuditEvent,
)


def stored() -> dict[str, int]:
    """Count every clinical row."""
    return {model.__name__: model.objects.count() for model in CLINICAL}


def table(name: str) -> list[dict[str, str]]:
    """Read a table of the samples."""
    with (SAMPLES / name).open(encoding="utf-8-sig", newline="") as file:
        return list(csv.DictReader(file))


@pytest.fixture
def owner(lead: User, clinician: User) -> User:
    """The lead of the site at which c.avermore works."""
    return lead


@pytest.fixture
def sampled(lead: User) -> Report:
    """The sample log, brought in."""
    add_sample_clinicians(lead.site)
    return bring_sample(by=lead)


# The sample log


def test_the_sample_log_comes_in_whole(sampled: Report) -> None:
    """Every episode and every day of the log is stored."""
    rows = table("observations.csv")
    days = {
        (row["record_number"], row["side"], row["observed_on"], row["measure"])
        for row in rows
    }

    def number(measure: str) -> int:
        return sum(day[3] == measure for day in days)

    assert sampled.problems == ()
    assert sampled.is_stored
    assert Episode.objects.count() == 80
    assert Patient.objects.count() == len(
        {row["record_number"] for row in table("patients.csv")}
    )
    assert Visit.objects.count() == number("visit")
    assert PainScore.objects.count() == number("pain")
    for measure in ("akps", "koos_pf", "lefs", "psfs", "groc"):
        found = Assessment.objects.filter(measure=measure)
        assert found.count() == number(measure), measure


def test_scores_of_the_sample_agree_with_those_computed_apart(sampled: Report) -> None:
    """Each score of the independent table is stored, or there is a reason why not."""
    for row in table("expected_scores_part.csv"):
        found = Assessment.objects.get(
            episode__patient__record_number=row["record_number"],
            episode__side=row["side"],
            assessed_on=row["observed_on"],
            measure=row["measure"],
        )
        if row["score"]:
            # The table is rounded to one decimal.
            assert found.score == pytest.approx(float(row["score"]), abs=0.05), row
        else:
            assert found.score is None, row
            assert found.no_score_reason


def test_what_a_spreadsheet_does_not_say_is_not_made_up(sampled: Report) -> None:
    """Mode and wording stay unknown; who recorded it comes from the file."""
    kinds = Assessment.objects.values_list("mode", "wording").distinct()
    assert list(kinds) == [(Assessment.Mode.UNKNOWN, None)]
    assert set(Episode.objects.values_list("primary_measure", flat=True)) == {"akps"}
    first = Assessment.objects.get(
        episode__patient__record_number="K5000",
        assessed_on="2026-02-25",
        measure="akps",
    )
    assert first.recorded_by.username == "m.orrin"
    assert first.visit
    assert first.visit.visited_on == first.assessed_on


def test_a_later_episode_of_a_knee_continues_the_earlier_one(sampled: Report) -> None:
    """The recurrence is linked."""
    earlier, later = Episode.objects.filter(
        patient__record_number="K5025", side="right"
    ).order_by("opened_on")
    assert later.continues == earlier
    assert earlier.continues is None


def test_the_sample_brought_in_twice_adds_nothing(sampled: Report, lead: User) -> None:
    """The second time everything is there already."""
    before = stored()
    again = bring_sample(by=lead)
    assert again.problems == ()
    assert not again.added
    assert again.known["visits"] == sampled.added["visits"]
    assert stored() == before


def test_the_damaged_log_is_refused_row_by_row(lead: User) -> None:
    """Every damaged row is named, no other one is, and nothing is stored."""
    add_sample_clinicians(lead.site)
    before = stored()
    report = bring_sample(by=lead, folder=SAMPLES / "damaged")
    assert places(report) == [
        (row["file"], int(row["line"]), row["column"])
        for row in table("damaged/expected_errors.csv")
    ]
    assert stored() == before
    assert not report.is_stored


def test_an_import_is_on_record(sampled: Report, lead: User) -> None:
    """One line tells what came in, and each patient and episode has its own."""
    event = AuditEvent.objects.get(action=audit.RECORDS_IMPORTED.code)
    assert event.by == lead
    assert event.detail["added"]["episodes"] == 80
    assert len(event.detail["observations_sha256"]) == 64
    opened = AuditEvent.objects.filter(action=clinic_audit.EPISODE_OPENED.code)
    assert set(opened.values_list("patient", flat=True)) == set(
        Patient.objects.values_list("pk", flat=True)
    )
    assert {row.detail["episode"] for row in opened} == set(
        Episode.objects.values_list("pk", flat=True)
    )


def test_a_dry_run_counts_and_stores_nothing(lead: User) -> None:
    """What a dry run announces is what the import adds."""
    add_sample_clinicians(lead.site)
    before = stored()
    dry = bring_sample(by=lead, is_dry_run=True)
    assert stored() == before
    assert not dry.is_stored
    assert dry.added == bring_sample(by=lead).added


def test_a_file_brought_in_by_another_site_stays_there(
    sampled: Report, stranger: User
) -> None:
    """The same record numbers of another site are other people."""
    lead = make_user(site=stranger.site, role=Role.LEAD)
    report = bring(episodes(), facts(), by=lead)
    assert places(report) == [("patients.csv", 2, "clinician")]
    own = bring(
        episodes({"record_number": "K5000", "clinician": stranger.username}),
        facts({"record_number": "K5000", "recorded_by": stranger.username}),
        by=lead,
    )
    assert own.added["patients"] == 1


# Rows of patients.csv

ONE = {"discharged_on": "2026-05-01", "discharge_reason": "goals met"}


@pytest.mark.parametrize(
    ("change", "column"),
    [
        ({"record_number": ""}, "record_number"),
        ({"record_number": "9" * 41}, "record_number"),
        ({"family_name": ""}, "family_name"),
        ({"birth_date": "06/05/1994"}, "birth_date"),
        ({"birth_date": "1994-5-6"}, "birth_date"),
        ({"birth_date": "1994-02-30"}, "birth_date"),
        ({"birth_date": ""}, "birth_date"),
        ({"sex": "W"}, "sex"),
        ({"side": "both"}, "side"),
        ({"symptom_onset": "1994-05-06"}, "symptom_onset"),
        ({"opened_on": "2026-01-09"}, "opened_on"),
        ({"opened_on": "2026-11-26"}, "opened_on"),
        ({"clinician": "n.obody"}, "clinician"),
        ({**ONE, "discharged_on": "2026-03-01"}, "discharged_on"),
        ({**ONE, "discharged_on": ""}, "discharged_on"),
        ({**ONE, "discharge_reason": ""}, "discharge_reason"),
        ({**ONE, "discharge_reason": "bored"}, "discharge_reason"),
    ],
)
def test_a_faulty_episode_is_named(
    owner: User, change: dict[str, str], column: str
) -> None:
    """The fault is in its cell, and observations of that knee add none."""
    report = bring(episodes(change), facts({}), by=owner)
    assert places(report) == [("patients.csv", 2, column)]
    assert not Patient.objects.exists()


def test_an_administrator_has_no_cases(owner: User, administrator: User) -> None:
    """A case needs somebody who treats."""
    report = bring(episodes({"clinician": administrator.username}), facts(), by=owner)
    assert places(report) == [("patients.csv", 2, "clinician")]


def test_a_clinician_who_left_still_counts(owner: User, clinician: User) -> None:
    """Old records name people who are no longer active."""
    clinician.is_active = False
    clinician.save()
    assert bring(episodes(), facts(), by=owner).is_stored


@pytest.mark.parametrize(
    ("first", "second", "column"),
    [
        ({}, {"opened_on": "2026-06-01"}, "discharged_on"),
        (ONE, {"opened_on": "2026-05-01"}, "opened_on"),
        ({}, {**ONE, "opened_on": "2026-04-01"}, "opened_on"),
        (ONE, {"sex": "M", "side": "right"}, "sex"),
        (ONE, {"family_name": "Else", "opened_on": "2026-06-01"}, "family_name"),
    ],
)
def test_two_episodes_that_cannot_both_be_are_named(
    owner: User, first: dict[str, str], second: dict[str, str], column: str
) -> None:
    """Overlaps, two open episodes of a knee, and two people under one number."""
    report = bring(episodes(first, second), facts(), by=owner)
    assert places(report) == [("patients.csv", 3, column)]


def test_both_knees_and_a_recurrence_come_in(owner: User) -> None:
    """One person may have several episodes, and an identical row twice is harmless."""
    later = {"opened_on": "2026-05-02"}
    report = bring(episodes(ONE, ONE, later, {"side": "right"}), facts(), by=owner)
    assert report.is_stored
    assert Episode.objects.count() == 3
    assert Patient.objects.count() == 1


def test_days_may_come_first_where_that_is_said(owner: User) -> None:
    """31/12/2025 is read then, and ISO dates still are."""
    first = episodes({"symptom_onset": "31/12/2025", "birth_date": "6.5.1994"})
    second = facts({"observed_on": "02/03/2026"}, {"observed_on": "2026-03-09"})
    assert len(bring(first, second, by=owner).problems) == 3
    assert bring(first, second, by=owner, is_day_first=True).is_stored
    onset = Episode.objects.get().symptom_onset_on
    assert onset.isoformat() == "2025-12-31"


# Rows of observations.csv


@pytest.mark.parametrize(
    ("change", "column"),
    [
        ({"record_number": "K2"}, "record_number"),
        ({"side": "right"}, "side"),
        ({"side": "middle"}, "side"),
        ({"observed_on": "2026-03-01"}, "observed_on"),
        ({"observed_on": "2026-11-26"}, "observed_on"),
        ({"observed_on": "soon"}, "observed_on"),
        ({"measure": "kneescore"}, "measure"),
        ({"item": "mood"}, "item"),
        ({"value": "came"}, "value"),
        ({"recorded_by": "n.obody"}, "recorded_by"),
        ({"recorded_by": ""}, "recorded_by"),
        (pain("worst", "11"), "value"),
        (pain("worst", "-1"), "value"),
        (pain("worst", "3.5"), "value"),
        (pain("worst", "four"), "value"),
        (pain("worst", "٣"), "value"),
        (pain("hopping", "3"), "item"),
        (form("akps", {"1": "d"})[0], "value"),
        (form("akps", {"14": "a"})[0], "item"),
        (form("koos_pf", {"11": "5"})[0], "value"),
        (form("lefs", {"21": "4"})[0], "item"),
        (form("groc", {"overall": "8"})[0], "value"),
        (form("psfs", {"": "8"})[0], "item"),
        (form("psfs", {"Kneel" * 41: "8"})[0], "item"),
        (form("psfs", {"Kneel": "eight"})[0], "value"),
    ],
)
def test_a_faulty_observation_is_named(
    owner: User, change: dict[str, str], column: str
) -> None:
    """The fault is in its cell, and nothing is stored."""
    report = bring(episodes(), facts({}, change), by=owner)
    assert places(report) == [("observations.csv", 3, column)]
    assert not Patient.objects.exists()


def test_every_faulty_cell_of_a_row_is_named(owner: User) -> None:
    """One look at the list is enough to mend the row."""
    bad = {"side": "right", "item": "mood", "recorded_by": "n.obody"}
    report = bring(episodes(), facts(bad), by=owner)
    assert places(report) == [
        ("observations.csv", 2, "item"),
        ("observations.csv", 2, "recorded_by"),
        ("observations.csv", 2, "side"),
    ]


def test_a_missing_person_is_named_once_with_their_rows(owner: User) -> None:
    """Not row by row; other faults of the same rows still are."""
    by = {"recorded_by": "m.orrin"}
    rows = [pain("worst", "5", **by), pain("usual", "4", **by), pain("worst", "x")]
    report = bring(episodes({"clinician": "a.ghost"}), facts(by, *rows), by=owner)
    assert places(report) == [
        ("observations.csv", 2, "recorded_by"),
        ("observations.csv", 5, "value"),
        ("patients.csv", 2, "clinician"),
    ]
    assert missing_people(report) == (
        "2 people are missing here: m.orrin (3 rows), a.ghost (1 row)."
    )


def test_the_sentence_says_what_to_do(owner: User) -> None:
    """What is allowed comes first, then what stands there."""
    report = bring(episodes(), facts(pain("worst", "-1")), by=owner)
    assert [str(fault) for fault in report.problems] == [
        "observations.csv line 2, value: pain is a whole number from 0 to 10; "
        "here it says -1."
    ]


def test_observations_of_a_day_make_one_visit(owner: User) -> None:
    """Attendance, note, next morning and pain belong together."""
    rows = [
        {},
        {"item": "note", "value": 'Said "fine",\nthen left'},
        {"item": "next_day", "value": "mild_flare"},
        pain("worst", "6"),
        pain("stairs", "0"),
        pain("usual", ""),
    ]
    assert bring(episodes(), facts(*rows), by=owner).is_stored
    visit = Visit.objects.get()
    assert visit.note == 'Said "fine",\nthen left'
    assert visit.response.next_morning == "mild_flare"
    assert visit.pain.values() == {
        "worst": 6,
        "usual": None,
        "stairs": 0,
        "squatting": None,
        "sitting": None,
        "running": None,
    }


def test_pain_without_attendance_means_an_attended_visit(owner: User) -> None:
    """The report says how often that was assumed."""
    report = bring(episodes(), facts(pain("worst", "6")), by=owner)
    assert report.visits_assumed == 1
    assert Visit.objects.get().was_attended


def test_a_questionnaire_alone_makes_no_visit(owner: User) -> None:
    """It may have come by post."""
    assert bring(episodes(), facts(*form("akps", AKPS)), by=owner).is_stored
    found = Assessment.objects.get()
    assert (found.score, found.visit) == (100, None)
    assert not Visit.objects.exists()


def test_nothing_is_told_at_a_missed_visit(owner: User) -> None:
    """Pain and the next morning need somebody who came; a note does not."""
    rows = [
        {"value": "did_not_attend"},
        {"item": "note", "value": "Called in sick"},
        pain("worst", "6"),
        {"item": "next_day", "value": "settled"},
    ]
    report = bring(episodes(), facts(*rows), by=owner)
    assert places(report) == [
        ("observations.csv", 4, "observed_on"),
        ("observations.csv", 5, "observed_on"),
    ]


def test_rows_that_repeat_are_harmless_and_rows_that_disagree_are_not(
    owner: User,
) -> None:
    """Letters in either case are the same answer; the later row is at fault."""
    repeated = facts(*form("akps", AKPS), *form("akps", {"1": "A"}), {}, {})
    assert bring(episodes(), repeated, by=owner, is_dry_run=True).is_sound
    rows = [*form("akps", AKPS), {"item": "note", "value": "One"}]
    rows += [{"item": "note", "value": "Two"}, *form("akps", {"1": "b"})]
    report = bring(episodes(), facts(*rows), by=owner)
    assert places(report) == [
        ("observations.csv", 16, "value"),
        ("observations.csv", 17, "value"),
    ]


def test_rows_may_come_in_any_order(owner: User) -> None:
    """The rows of one form need not stand together."""
    forms = [*form("akps", AKPS), *form("akps", AKPS, observed_on="2026-04-02")]
    rows = [*forms[::2], {}, *forms[1::2]]
    assert bring(episodes(), facts(*rows), by=owner).is_stored
    assert list(Assessment.objects.values_list("score", flat=True)) == [100, 100]


def test_an_empty_value_is_a_missing_item(owner: User) -> None:
    """The form is kept without a score; a form without any answer is none."""
    rows = [*form("akps", {**AKPS, "3": ""}), *form("groc", {"overall": ""})]
    assert bring(episodes(), facts(*rows), by=owner).is_stored
    found = Assessment.objects.get()
    assert found.score is None
    assert "3" in found.no_score_reason
    assert "3" not in found.answers


def test_a_measure_of_the_person_is_kept_once(owner: User) -> None:
    """Entered for both knees alike it is one form; otherwise it is a fault."""
    knees = episodes({}, {"side": "right"})
    left, right = form("groc", {"overall": "+3"}), form("groc", {"overall": "3"})
    right = [{**row, "side": "right"} for row in right]
    report = bring(knees, facts(*left, *right), by=owner)
    assert report.added["groc"] == 1
    other = [{**row, "observed_on": "2026-04-02"} for row in (*left, *right)]
    other[1]["value"] = "4"
    report = bring(knees, facts(*other), by=owner)
    assert places(report) == [("observations.csv", 3, "value")]


def test_activities_are_numbered_per_person(owner: User) -> None:
    """The same words are the same activity, in either case and with spare spaces."""
    rows = [
        *form("psfs", {"Kneel to lay tiles": "3", "Run 5 km": "2"}),
        *form(
            "psfs",
            {"kneel  to lay tiles": "5", "Cycle": "4"},
            observed_on="2026-04-02",
        ),
    ]
    assert bring(episodes(), facts(*rows), by=owner).is_stored
    assert list(Activity.objects.values_list("number", "words")) == [
        (1, "Kneel to lay tiles"),
        (2, "Run 5 km"),
        (3, "Cycle"),
    ]
    forms = Assessment.objects.order_by("assessed_on")
    assert [row.answers for row in forms] == [{"1": 3, "2": 2}, {"1": 5, "3": 4}]


def test_too_many_activities_at_once_are_named(owner: User) -> None:
    """PSFS takes a handful of activities on a day."""
    rows = form("psfs", {f"Activity of day {n}": "3" for n in range(6)})
    report = bring(episodes(), facts(*rows), by=owner)
    assert places(report) == [("observations.csv", 2, "item")]


# Files


def test_spreadsheet_habits_are_ordinary(owner: User) -> None:
    """Line ends, marks, spaces, blank lines, other columns' order, empty columns."""
    lines = facts({}, pain("worst", "6")).decode().split("\r\n")
    header, came, hurt = (line.split(",") for line in lines[:3])
    header[0] = " Record Number "
    hurt[5] = f"  {hurt[5]} "
    turned = [[*row[::-1], "", ""] for row in (header, came, [""] * 7, hurt, hurt)]
    text = "\n\r\n".join(",".join(row) for row in turned)
    mac = episodes().decode().replace("\r\n", "\n")
    report = bring(mac.encode("utf-8-sig"), text.encode("utf-8-sig"), by=owner)
    assert report.problems == ()
    assert PainScore.objects.get().worst == 6


def test_lines_are_counted_as_an_editor_counts_them(owner: User) -> None:
    """A note of several lines moves what follows; a fault is where its row begins."""
    note = {"item": "note", "value": "One\nTwo\nThree"}
    late = {"item": "note", "value": "Four\nFive", "side": "up"}
    report = bring(episodes(), facts(note, late, pain("worst", "x")), by=owner)
    assert [(line, column) for _, line, column in places(report)] == [
        (5, "side"),
        (7, "value"),
    ]


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "must name the columns"),
        (b"\r\n\r\n", "must name the columns"),
        (b"PK\x03\x04\x14\x00rest", "spreadsheet workbook"),
        (b"\xd0\xcf\x11\xe0\xa1", "spreadsheet workbook"),
        ("record_number,side".encode("utf-16"), "UTF-16"),
        (b"%PDF-1.7", "PDF"),
        (b"\x00\x01\x02", "not a text file"),
        (b"record_number;side;observed_on", "semicolons"),
        (b"record_number\tside\tobserved_on", "tabs"),
        (b"a,b,c\r\n1,2,3", "must name the columns"),
        (b"record_number,side\rK1,left\r", "ends of the lines"),
        (b"x" * 100_000, "longer than 64 KiB"),
        (b'record_number,"side', "quotation marks"),
    ],
)
def test_a_file_of_another_kind_is_named(
    owner: User, content: bytes, words: str
) -> None:
    """One sentence says what it is and what to do, for either file."""
    report = bring(content, facts({}, {"record_number": "K7"}), by=owner)
    assert places(report) == [("patients.csv", 1, "")]
    assert words in report.problems[0].sentence
    report = bring(episodes(), content, by=owner)
    assert places(report) == [("observations.csv", 1, "")]
    assert words in report.problems[0].sentence


def test_wrong_columns_are_named(owner: User) -> None:
    """Each missing, unknown or repeated column is listed."""
    wrong = facts({}).replace(b"side,", b"knee,").replace(b"item,", b"value,")
    report = bring(episodes(), wrong, by=owner)
    assert places(report) == [
        ("observations.csv", 1, column) for column in ("item", "knee", "side", "value")
    ]


def test_rows_of_another_width_are_named(owner: User) -> None:
    """A cell too few or too many; their observations add no fault of their own."""
    lines = episodes({}, {"record_number": "K2"}).decode().split("\r\n")
    lines[1] = lines[1].removesuffix(",")
    lines[2] += ",more"
    second = facts({}, {"record_number": "K2"}, {"side": "right"})
    report = bring("\r\n".join(lines).encode(), second, by=owner)
    assert places(report) == [("patients.csv", 2, ""), ("patients.csv", 3, "")]


def test_other_encodings_are_not_guessed(owner: User) -> None:
    """The cell is named, and the rest is read on."""
    named = episodes({"given_name": "Zoë"}).decode().encode("cp1252")
    report = bring(named, facts({}, pain("worst", "x")), by=owner)
    assert places(report) == [
        ("observations.csv", 3, "value"),
        ("patients.csv", 2, "given_name"),
    ]


def test_quotation_marks_that_do_not_match_are_named(owner: User) -> None:
    """The row that opens the mark is named, and the rows after it are read."""
    lines = facts({}, {}, pain("worst", "x")).decode().split("\r\n")
    lines[1] = lines[1].replace("attended", '"atten"ded')
    report = bring(episodes(), "\r\n".join(lines).encode(), by=owner)
    assert [(line, column) for _, line, column in places(report)] == [
        (2, ""),
        (4, "value"),
    ]


def test_a_mark_never_closed_does_not_swallow_the_memory(owner: User) -> None:
    """Reading stops after 64 KiB and says where the row began."""
    opened = facts({}, {"item": "note", "value": "QQQ"}).replace(b"QQQ", b'"Q')
    report = bring(episodes(), opened + b"more,more\r\n" * 20_000, by=owner)
    assert places(report) == [("observations.csv", 3, "")]
    assert "64 KiB" in report.problems[0].sentence


def test_a_flood_of_faults_is_counted_and_cut(owner: User) -> None:
    """All are counted; the list keeps 10,000 of them."""
    bad = facts(pain("worst", "x"))
    header, row = bad.split(b"\r\n")[:2]
    report = bring(episodes(), header + b"\r\n" + (row + b"\r\n") * 10_050, by=owner)
    assert report.problem_count == 10_050
    assert len(report.problems) == 10_000


HEADER = b"one,two,three\n"
PIECES = st.sampled_from(
    [b",", b'"', b"\n", b"\r\n", b"\r", b"\0", b"a", "é".encode(), b"\xe9", b" ", b";"]
)


@settings(max_examples=150, suppress_health_check=[HealthCheck.too_slow])
@given(
    st.one_of(
        st.binary(max_size=300),
        st.lists(PIECES, max_size=60).map(lambda parts: HEADER + b"".join(parts)),
    )
)
def test_any_bytes_are_rows_or_faults_with_a_line(content: bytes) -> None:
    """Reading never fails: each row has its cells, each fault its line."""
    problems = Problems()
    sheet = reading.Sheet(
        BytesIO(content),
        name="any.csv",
        columns=("one", "two", "three"),
        problems=problems,
    )
    rows = list(sheet.rows())
    last = content.count(b"\n") + 1
    assert all(len(row.cells) == 3 for row in rows)
    assert all(1 < row.line <= last for row in rows)
    assert all(1 <= fault.line <= last for fault in problems.in_order())
    assert rows or problems or content.strip().lower().startswith(b"one")
    assert sum(not row.is_whole for row in rows) <= problems.total


def test_the_site_of_the_person_gets_the_records(owner: User, site: Site) -> None:
    """Every row carries the site."""
    rows = [{}, pain("worst", "6"), *form("psfs", {"Run": "3"})]
    assert bring(episodes(), facts(*rows), by=owner).is_stored
    for model in CLINICAL:
        assert set(model.objects.values_list("site", flat=True)) <= {site.pk}
