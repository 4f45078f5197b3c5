"""An export from its beginning to its end: what is kept, what leaves, what stays."""

import hashlib
import json
from collections import Counter
from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

import pytest
from django.utils import timezone

from clinic.access import Role
from clinic.models import AuditEvent, Episode, User
from outcomes.exporting import beginning, writing
from outcomes.exporting.anonymity import is_k_anonymous, is_l_diverse
from outcomes.exporting.beginning import MOST_A_DAY, ExportRefused, begin_export
from outcomes.exporting.columns import tables
from outcomes.exporting.generalising import Shown
from outcomes.exporting.previewing import preview_export
from outcomes.exporting.writing import (
    ExportStopped,
    export_chunks,
    stop_abandoned,
)
from outcomes.models import AuditExport, ExportedCase
from tests.factories import make_akps, make_episode, make_user, make_visit
from tests.outcomes.exporting.exported import (
    OPENED_ON,
    TABLES,
    exported,
    make_cases,
    members,
    rows_of,
    wanted,
)


@pytest.fixture(autouse=True)
def _today(clock: Callable[[date], None]) -> None:
    """The clock stands still."""


@pytest.fixture
def cases(clinician: User) -> list[Episode]:
    """A dozen people who are alike for a stranger."""
    return make_cases(by=clinician, count=12)


def lines(action: str) -> list[AuditEvent]:
    """Return the lines of one act."""
    return list(AuditEvent.objects.filter(action=action).order_by("pk"))


def decline(case: Episode) -> None:
    """Let the person of a case decline the use for audit."""
    patient = case.patient
    patient.audit_declined_on, patient.audit_declined_how = OPENED_ON, "in person"
    patient.save()


# What it holds


def test_the_zip_holds_the_five_tables_and_what_explains_them(
    cases: list[Episode], lead: User
) -> None:
    """The manifest comes last, and its prints are those of the files."""
    found = exported(lead)
    tables_ = [f"{name}.csv" for name in TABLES]
    explained = ["dictionary.json", "dictionary.html", "manifest.json"]
    assert list(found) == [*tables_, *explained]
    manifest = json.loads(found["manifest.json"])
    for file in manifest["files"]:
        data = found[file["name"]]
        assert file["sha256"] == hashlib.sha256(data).hexdigest()
        assert file["bytes"] == len(data)
        assert file["rows"] == len(rows_of(data))
    assert [file["name"] for file in manifest["files"]] == tables_


def test_only_listed_columns_stand_in_the_files(
    cases: list[Episode], lead: User
) -> None:
    """The header is the allow-list, so that a new field of a model stays here."""
    found = exported(lead)
    for name, table in tables().items():
        header = found[f"{name}.csv"].decode().split("\r\n")[0]
        assert header.split(",") == [column.name for column in table.columns]


def test_the_written_rows_keep_k_and_l(clinician: User, lead: User) -> None:
    """Rare ones are held back until each row stands among five with two results."""
    make_cases(by=clinician, count=12)
    make_cases(by=clinician, count=7, side="right")
    make_cases(by=clinician, count=1, symptom_onset_on=date(2020, 1, 1))
    make_cases(by=clinician, count=2, opened_on=date(2026, 2, 2), side="right")
    rows = rows_of(exported(lead)["episodes.csv"])
    classes = [tuple(row[name] for name in Shown._fields) for row in rows]
    assert is_k_anonymous(classes, k=5)
    told = [row["last_verdict"] for row in rows]
    assert is_l_diverse(zip(classes, told, strict=True), l_values=2)
    assert 0 < len(rows) <= 22


def test_the_verdict_is_that_of_the_last_score_that_can_be_compared(
    clinician: User, lead: User
) -> None:
    """A last score in another language says nothing; the one before it counts."""
    cases = make_cases(by=clinician, count=10)
    for case in cases:
        on = OPENED_ON + timedelta(weeks=9)
        make_akps(episode=case, on=on, total=10, language="sv")
    make_episode(by=clinician)
    rows = rows_of(exported(lead)["episodes.csv"])
    verdicts = sorted(row["last_verdict"] for row in rows)
    assert verdicts == ["improved"] * 5 + ["none"] * 5 + ["not measured"]


def test_rows_come_in_the_order_of_keys_that_nothing_gives_away(
    cases: list[Episode], lead: User
) -> None:
    """A second export of the same people draws other keys."""
    first, second = exported(lead), exported(lead)
    keys = [row["episode_key"] for row in rows_of(first["episodes.csv"])]
    assert keys == sorted(keys) and len(set(keys)) == 12
    assert not set(keys) & {r["episode_key"] for r in rows_of(second["episodes.csv"])}
    for name in TABLES:
        of_rows = [row["episode_key"] for row in rows_of(first[f"{name}.csv"])]
        assert of_rows == sorted(of_rows) and set(of_rows) <= set(keys)


def test_more_cases_than_are_read_at_once_are_all_there(
    clinician: User, lead: User, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Reading in parts loses none and doubles none."""
    make_cases(by=clinician, count=11)
    monkeypatch.setattr("outcomes.exporting.rows.AT_ONCE", 3)
    found = exported(lead)
    assert len(rows_of(found["episodes.csv"])) == 11
    assert len(rows_of(found["assessments.csv"])) == 22


# Who is left out


def test_who_declines_is_in_no_file_and_counted(
    cases: list[Episode], lead: User
) -> None:
    """Neither the rows nor the cases kept here name them."""
    for case in cases[:6]:
        decline(case)
        make_visit(episode=case, on=OPENED_ON + timedelta(weeks=3))
    begun = begin_export(wanted(), by=lead)
    found = members(begun)
    assert begun.declined == 6
    assert len(rows_of(found["episodes.csv"])) == 6
    assert rows_of(found["visits.csv"]) == []
    assert json.loads(found["manifest.json"])["people_who_decline_left_out"] == 6
    declining = {case.patient_id for case in cases[:6]}
    kept = ExportedCase.objects.values_list("patient_id", flat=True)
    assert not declining & set(kept)


def test_another_sites_cases_never_leave(
    cases: list[Episode], stranger: User, lead: User
) -> None:
    """Neither in the rows nor in any number of the manifest."""
    alone = json.loads(exported(lead)["manifest.json"])
    make_cases(by=stranger, count=9)
    with_neighbours = json.loads(exported(lead)["manifest.json"])
    for file in (*alone["files"], *with_neighbours["files"]):
        # Keys differ with each export, and with them the prints.
        del file["sha256"]
    assert alone == with_neighbours


def test_voided_and_other_years_rows_stay(
    cases: list[Episode], lead: User, clinician: User
) -> None:
    """What was withdrawn and what opened outside of the period do not count."""
    make_cases(by=clinician, count=6, opened_on=date(2025, 3, 3))
    voided = cases[0]
    voided.voided_at, voided.voided_by = timezone.now(), lead
    voided.void_reason = "Invented"
    voided.save()
    assert len(rows_of(exported(lead)["episodes.csv"])) == 11


# The record


def test_it_is_on_the_record_before_its_first_byte(
    cases: list[Episode], lead: User
) -> None:
    """Beginning writes the line; nothing was taken from the file yet."""
    begun = begin_export(wanted(), by=lead, request_id="r-1")
    export_chunks(begun)
    (line,) = lines("export.begun")
    assert line.by == lead and line.request_id == "r-1"
    assert line.detail["recipient"] == "Invented audit office"
    assert line.detail["from_on"], line.detail["until_on"] == (
        "2026-01-01",
        "2026-05-31",
    )
    assert (line.detail["people"], line.detail["rows"]) == (12, 12)
    assert begun.export.state == AuditExport.State.WRITING
    assert lines("export.completed") == []


def test_an_export_without_its_line_does_not_begin(
    cases: list[Episode], lead: User, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The line and the export are one transaction."""

    def fail(*_: Any, **__: Any) -> None:
        raise RuntimeError

    monkeypatch.setattr(beginning, "record_begin", fail)
    with pytest.raises(RuntimeError):
        begin_export(wanted(), by=lead)
    assert not AuditExport.objects.exists() and not ExportedCase.objects.exists()


def test_its_end_is_on_the_record_and_wipes_the_keys(
    cases: list[Episode], lead: User
) -> None:
    """Afterwards nobody can tell which row was whose, this clinic included."""
    begun = begin_export(wanted(), by=lead)
    assert all(case.key and case.shown for case in ExportedCase.objects.all())
    data = b"".join(export_chunks(begun))
    export = AuditExport.objects.get()
    assert export.state == AuditExport.State.COMPLETE and export.ended_at
    assert export.sha256 == hashlib.sha256(data).hexdigest()
    assert export.manifest["files"][0]["rows"] == 12
    kept = ExportedCase.objects.values_list("key", "shown")
    assert len(kept) == 12 and set(map(str, kept)) == {"('', {})"}
    (line,) = lines("export.completed")
    assert line.detail["sha256"] == export.sha256
    assert line.detail["rows"]["episodes.csv"] == 12
    assert line.detail["bytes"] == len(data)


# How it ends early


def stopped() -> AuditEvent:
    """Return the line of the one stopped export, after looking at what is left."""
    assert AuditExport.objects.get().state == AuditExport.State.STOPPED
    assert not ExportedCase.objects.exclude(key="", shown={}).exists()
    (line,) = lines("export.stopped")
    return line


@pytest.mark.parametrize("taken", [0, 1])
def test_closed_early_it_is_stopped(
    cases: list[Episode], lead: User, taken: int
) -> None:
    """Whether or not anything was read of it."""
    pieces = export_chunks(begin_export(wanted(), by=lead))
    for _ in range(taken):
        next(pieces)
    pieces.close()
    pieces.close()
    assert stopped().detail["why"] == "cancelled"


def test_a_failure_stops_it(
    cases: list[Episode], lead: User, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The fault is raised on, and only its kind is on the record."""

    def fail(*_: Any) -> None:
        raise RuntimeError("words of a person")

    pieces = export_chunks(begin_export(wanted(), by=lead))
    monkeypatch.setattr(writing, "manifest_of", fail)
    with pytest.raises(RuntimeError):
        list(pieces)
    line = stopped()
    assert line.detail["why"] == "RuntimeError"
    assert "words of a person" not in json.dumps(line.detail)


def test_closing_a_whole_export_changes_nothing(
    cases: list[Episode], lead: User
) -> None:
    """A server closes every answer that it sent."""
    pieces = export_chunks(begin_export(wanted(), by=lead))
    list(pieces)
    pieces.close()
    assert AuditExport.objects.get().state == AuditExport.State.COMPLETE
    assert lines("export.stopped") == []


def test_somebody_who_declines_meanwhile_stops_it(
    cases: list[Episode], lead: User
) -> None:
    """Half-way there is no taking out a single person; it begins again."""
    pieces = export_chunks(begin_export(wanted(), by=lead))
    decline(cases[0])
    with pytest.raises(ExportStopped, match="somebody declined"):
        list(pieces)
    assert stopped().detail["why"] == "ExportStopped"


def test_an_export_whose_process_died_is_stopped(
    cases: list[Episode], lead: User, clock: Callable[[date], None], today: date
) -> None:
    """It is found the next time somebody looks; a young one is left alone."""
    begin_export(wanted(), by=lead)
    AuditExport.objects.update(made_at=timezone.now() - timedelta(hours=5))
    stop_abandoned(lead)
    assert AuditExport.objects.get().state == AuditExport.State.WRITING
    AuditExport.objects.update(made_at=timezone.now() - timedelta(hours=7))
    stop_abandoned(lead)
    assert stopped().detail["why"] == "abandoned"


# What is refused


def refusal(by: User, **changes: Any) -> str:
    """Return why an export is refused, after seeing that nothing was kept of it."""
    before = AuditExport.objects.count(), AuditEvent.objects.count()
    with pytest.raises(ExportRefused) as refused:
        begin_export(wanted(**changes), by=by)
    assert (AuditExport.objects.count(), AuditEvent.objects.count()) == before
    return str(refused.value)


def test_days_that_make_no_sense_are_refused(
    cases: list[Episode], lead: User, today: date
) -> None:
    """Each with what to do."""
    assert "Exchange its days" in refusal(lead, from_on=today, until_on=OPENED_ON)
    assert "in the future" in refusal(lead, until_on=today + timedelta(days=1))
    assert "has to lie in the future" in refusal(lead, destroy_by_on=today)


def test_too_few_people_are_refused(clinician: User, lead: User) -> None:
    """Nobody, and four."""
    assert "no case" in refusal(lead)
    make_cases(by=clinician, count=4)
    assert "longer period" in refusal(lead)


def test_alike_results_are_refused(clinician: User, lead: User) -> None:
    """Where everybody had the same result, being in the file tells it."""
    for _ in range(8):
        make_episode(by=clinician)
    assert "different results" in refusal(lead)


def test_the_most_a_day_is_the_most(cases: list[Episode], lead: User) -> None:
    """A second site has its own count."""
    for _ in range(MOST_A_DAY):
        exported(lead)
    assert "24 hours" in refusal(lead)
    AuditExport.objects.update(made_at=timezone.now() - timedelta(hours=25))
    exported(lead)


# Two exports held against each other


def test_one_person_more_is_refused(clinician: User, lead: User) -> None:
    """Export, treat one more, export again: the difference would be that person."""
    make_cases(by=clinician, count=12)
    exported(lead)
    make_cases(by=clinician, count=1)
    assert "1 person only in the new one" in refusal(lead)
    make_cases(by=clinician, count=4)
    assert len(rows_of(exported(lead)["episodes.csv"])) == 17


def test_one_person_fewer_is_refused(cases: list[Episode], lead: User) -> None:
    """Somebody who declines after an export is not found by the next one."""
    exported(lead)
    decline(cases[0])
    assert "1 person only in the earlier export" in refusal(lead)


def test_a_second_knee_is_a_difference(cases: list[Episode], lead: User) -> None:
    """The same people with one episode more single that episode out."""
    exported(lead)
    case = cases[0]
    make_episode(by=case.clinician, patient=case.patient, side="right")
    with pytest.raises(ExportRefused):
        begin_export(wanted(), by=lead)


def test_two_exports_together_are_held_against_a_third(
    clinician: User, lead: User
) -> None:
    """Each alone leaves enough people; both together leave one."""
    january, march = date(2026, 1, 5), date(2026, 3, 2)
    make_cases(by=clinician, count=10, opened_on=january)
    make_cases(by=clinician, count=10, opened_on=march)
    exported(lead, until_on=date(2026, 1, 31))
    exported(lead, from_on=date(2026, 3, 1))
    make_cases(by=clinician, count=1, opened_on=date(2026, 2, 2))
    assert "taken as one" in refusal(lead)


def test_a_shorter_period_leaves_no_group_too_small(
    clinician: User, lead: User
) -> None:
    """Six stand in the first file alone, but only one of them is of the right knee."""
    late = date(2026, 5, 4)
    make_cases(by=clinician, count=10)
    make_cases(by=clinician, count=10, side="right")
    make_cases(by=clinician, count=5, opened_on=late)
    make_cases(by=clinician, count=1, opened_on=late, side="right")
    exported(lead)
    shorter = {"until_on": date(2026, 4, 30)}
    assert "1 group of alike rows" in refusal(lead, **shorter)
    make_cases(by=clinician, count=4, opened_on=late, side="right")
    AuditExport.objects.update(state=AuditExport.State.STOPPED)
    exported(lead)
    assert len(rows_of(exported(lead, **shorter)["episodes.csv"])) == 20


def test_who_holds_both_files_finds_nobody_by_their_scores(
    clinician: User, lead: User
) -> None:
    """An attacker who takes out the courses of scores that both files hold.

    What is left in either file stands among five or more of the same look.
    """
    make_cases(by=clinician, count=20, opened_on=date(2025, 3, 3))
    make_cases(by=clinician, count=12)
    first = exported(lead, from_on=date(2025, 1, 1), until_on=date(2025, 12, 31))
    second = exported(lead, from_on=date(2025, 1, 1))
    looks = [
        Counter(
            (row["age_band"], row["sex"], row["side"], row["year_opened"])
            for row in rows_of(found["episodes.csv"])
        )
        for found in (first, second)
    ]
    left = (looks[1] - looks[0], looks[0] - looks[1])
    assert sum(left[0].values()) == 12
    assert all(count >= 5 for each in left for count in each.values())


def test_periods_that_share_nobody_may_stand_together(
    clinician: User, lead: User
) -> None:
    """There is nothing to subtract."""
    make_cases(by=clinician, count=6, opened_on=date(2026, 1, 5))
    make_cases(by=clinician, count=6, opened_on=date(2026, 3, 2))
    exported(lead, until_on=date(2026, 1, 31))
    assert len(rows_of(exported(lead, from_on=date(2026, 3, 1))["episodes.csv"])) == 6


def test_one_that_is_being_written_counts_and_a_stopped_one_does_not(
    clinician: User, lead: User
) -> None:
    """Two that are begun at once would not see each other otherwise."""
    make_cases(by=clinician, count=12)
    pieces = export_chunks(begin_export(wanted(), by=lead))
    make_cases(by=clinician, count=1)
    assert "1 person" in refusal(lead)
    pieces.close()
    exported(lead)


def test_another_sites_exports_do_not_count(
    cases: list[Episode], stranger: User, lead: User, other_site: Any
) -> None:
    """A neighbour's export neither hinders nor shows."""
    make_cases(by=stranger, count=12)
    exported(make_user(site=other_site, role=Role.LEAD))
    exported(lead)


# The preview


def test_a_preview_says_what_would_leave_and_keeps_nothing(
    cases: list[Episode], lead: User
) -> None:
    """The same decision, taken back."""
    decline(cases[0])
    preview = preview_export(wanted(), by=lead)
    assert (preview.people, preview.declined) == (11, 1)
    assert preview.most_rows["episodes"] == 11
    assert preview.most_rows["assessments"] == 22
    assert preview.sample[0]["age_band"] == "30 to 39"
    assert preview.refusal == "" and preview.neighbours == ()
    assert not AuditExport.objects.exists() and not ExportedCase.objects.exists()
    assert lines("export.begun") == []


def test_a_preview_shows_each_overlap_and_the_refusal(
    clinician: User, lead: User
) -> None:
    """With the earlier export, how many are shared, and what is wrong."""
    make_cases(by=clinician, count=12)
    exported(lead)
    make_cases(by=clinician, count=2)
    preview = preview_export(wanted(), by=lead)
    (neighbour,) = preview.neighbours
    overlap = neighbour.overlap
    assert (overlap.shared, overlap.only_earlier, overlap.only_later) == (12, 0, 2)
    assert "2 people only in the new one" in preview.refusal


def test_a_preview_counts_groups_that_grew_by_too_few(
    clinician: User, lead: User
) -> None:
    """The whole grew by six, one of its two groups by one: no such export is made."""
    make_cases(by=clinician, count=10)
    make_cases(by=clinician, count=10, side="right")
    exported(lead)
    make_cases(by=clinician, count=5)
    make_cases(by=clinician, count=1, side="right")
    preview = preview_export(wanted(), by=lead)
    assert preview.neighbours[0].thin == 1
    assert "1 group of alike rows" in preview.refusal == refusal(lead)
