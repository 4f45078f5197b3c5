"""Letters: true to the record, never more than it, and kept as they were signed."""

import re
from collections.abc import Iterator
from datetime import date, timedelta
from typing import Any

import pytest
from django.utils import timezone

from clinic.admitting import change_patient, discharge, open_episode
from clinic.models import AuditEvent, Episode, Screen, User
from clinic.screening import answer_screen, decide
from clinic.versions import StaleEdit
from outcomes import audit
from outcomes.demo.letters import ADDED
from outcomes.letters import acts
from outcomes.letters.acts import LetterRefused, sign_letter
from outcomes.letters.draft import ADVICE, GOES_ON, PLAN, draft_parts
from outcomes.letters.parts import Part, parts_of
from outcomes.letters.plain import LOCAL_RULES, PLAIN, SHIN_SIGN, WHAT_NOW, YOUNG_SIGN
from outcomes.letters.sheet import last_addressee, letters_of, read_sheet
from outcomes.letters.words import END_OF_ISOLATE, ISOLATE, MARK_OF_LEFT, listed
from outcomes.models import Letter
from outcomes.recording import FilledForm
from outcomes.reviewing import review_case
from outcomes.science.verdicts import Verdict
from outcomes.voiding import void_assessment
from programs.handout import CLINIC_SIGNS, EMERGENCY_SIGNS, SAME_DAY_SIGNS
from tests.factories import (
    make_akps,
    make_episode,
    make_event,
    make_letter,
    make_other_care,
    make_patient,
    make_screened_episode,
    make_visit,
)
from tests.programs.plans import make_line, make_programme

pytestmark = pytest.mark.usefixtures("clock")

PROGRESS, DISCHARGE, SUMMARY = Letter.Kind.values
OPENED = date(2026, 1, 5)


@pytest.fixture
def case(clinician: User) -> Episode:
    """A left knee in care since 5 January, with the full screen asked."""
    patient = make_patient(by=clinician, given_name="Ada", family_name="Inventson")
    return make_screened_episode(by=clinician, patient=patient)


def drafted(case: Episode, kind: str = PROGRESS, on: date = date(2026, 6, 1)) -> Any:
    """Return the parts of a draft by heading."""
    parts = draft_parts(case, kind=kind, on=on)
    return {part.heading: part for part in parts}


def text_of(case: Episode, kind: str = PROGRESS) -> str:
    """Return all that a draft says."""
    return "\n".join(part.text for part in drafted(case, kind).values())


def measured(case: Episode, first: int, last: int) -> None:
    """Record an AKPS at the opening and one twelve weeks on."""
    make_akps(episode=case, on=OPENED, total=first)
    make_akps(episode=case, on=OPENED + timedelta(weeks=12), total=last)


# The course


@pytest.mark.parametrize(
    ("first", "last", "said", "plain"),
    [
        (70, 83, "In short: improved.", Verdict.IMPROVED),
        (70, 81, "In short: possibly improved, within error.", Verdict.POSSIBLE),
        (70, 74, "In short: no detectable change.", Verdict.NONE),
        (83, 70, "In short: worse.", Verdict.WORSE),
        (81, 70, "In short: possibly worse, within error.", Verdict.POSSIBLE_LOSS),
    ],
)
def test_the_course_says_what_the_verdict_says(
    case: Episode, first: int, last: int, said: str, plain: Verdict
) -> None:
    """Boundaries of section 14.5 of the clinical reference; the patient in plain words.

    With MDC 13 and MCID 10 (AKPS): 70 to 83 improved, 70 to 80 possibly, within error.
    """
    measured(case, first, last)
    course = drafted(case)["Course"].text
    assert f"Scores: {first} on 5 January, {last} on 30 March 2026." in course
    assert "0 to 100, higher is better" in course
    assert said in course
    assert "groups of patients" in course
    words = drafted(case, SUMMARY)["How it went"].text
    assert f"On 5 January 2026 it was {first}." in words
    assert f"On 30 March 2026 it was {last}. {PLAIN[plain]}" in words


def test_no_change_at_all_is_the_same(case: Episode) -> None:
    """Nought is not "too small to tell"."""
    measured(case, 70, 70)
    course = drafted(case)["Course"].text
    assert "No change since 5 January (70 both times)." in course
    assert "That is the same." in drafted(case, SUMMARY)["How it went"].text


def test_without_a_second_measure_nothing_is_judged(case: Episode) -> None:
    """One score is a beginning, not a course."""
    make_akps(episode=case, on=OPENED, total=70)
    course = drafted(case)["Course"].text
    assert "Scores: 70 on 5 January 2026. There is no second score" in course
    assert "In short" not in course and "groups of patients" not in course
    words = drafted(case, SUMMARY)["How it went"].text
    assert "On 5 January 2026 it was 70. We have no later number" in words


def test_how_far_a_source_was_checked_is_told_in_words_for_outside(
    case: Episode,
) -> None:
    """Whoever gets the letter knows no project, and asks from whose memory."""
    groc = FilledForm(measure="groc", answers={"overall": 6}, mode="alone")
    make_visit(episode=case, on=OPENED, pain={"worst": 7})
    make_visit(episode=case, on=date(2026, 3, 30), pain={"worst": 4}, forms=(groc,))
    course = drafted(case)["Course"].text
    assert "beyond the assumed error (2, our assumption)" in course
    assert "(+4, convention, source not checked)" in course
    assert "from memory" not in course and "project" not in course


@pytest.mark.parametrize("reason", Episode.Reason.values)
def test_the_patient_hears_in_plain_words_how_care_ended(
    case: Episode, today: date, reason: str
) -> None:
    """A whole sentence to the person, not the word of a list."""
    Episode.objects.filter(pk=case.pk).update(
        discharged_on=today, discharge_reason=reason
    )
    case.refresh_from_db()
    parts = drafted(case, SUMMARY)
    told = parts["How your care ended"].text
    assert told.startswith("Your care with us ended on 1 June 2026.")
    assert told.endswith(".") and f": {reason}" not in told
    assert "What comes next" not in parts


def test_without_any_measure_the_letter_says_so(case: Episode) -> None:
    """No baseline: no number, no verdict, no guess."""
    course = drafted(case)["Course"].text
    assert "There is no score on record: no baseline, and no judgement." in course
    assert "It was never rated." in course
    words = drafted(case, SUMMARY)["How it went"].text
    assert "We have no full set of answers" in words
    assert "We have no rating of your worst pain." in words
    assert "We asked" not in words and "You rated" not in words


def test_what_was_voided_is_not_told(case: Episode, clinician: User) -> None:
    """A withdrawn score leaves the draft."""
    measured(case, 70, 83)
    wrong = case.assessments.get(score=83)
    void_assessment(wrong, by=clinician, why="other patient's form")
    assert "83" not in drafted(case)["Course"].text


def test_a_form_without_a_score_is_told_with_its_reason(case: Episode) -> None:
    """A number is never guessed from what is there."""
    make_akps(episode=case, on=OPENED, total=70)
    form = FilledForm(measure="akps", answers={"1": "a"}, mode="alone")
    make_visit(episode=case, on=date(2026, 3, 30), forms=(form,))
    course = drafted(case)["Course"].text
    assert "Answered on 30 March 2026 without a score: " in course


def test_another_language_is_not_compared(case: Episode) -> None:
    """The reason stands in the letter; the patient hears that it cannot be done."""
    make_akps(episode=case, on=OPENED, total=70)
    make_akps(episode=case, on=date(2026, 3, 30), total=90, language="nb")
    assert "must not be compared" in drafted(case)["Course"].text
    words = drafted(case, SUMMARY)["How it went"].text
    assert PLAIN[Verdict.CANNOT_SAY] in words


def test_pain_is_told_with_its_direction(case: Episode) -> None:
    """A fall of pain is for the better, in both letters."""
    make_visit(episode=case, on=OPENED, pain={"worst": 7})
    make_visit(episode=case, on=date(2026, 3, 30), pain={"worst": 4})
    course = drafted(case)["Course"].text
    assert "Worst pain, last week (0 to 10, lower is better)." in course
    assert "Down 3 points (43 %) since 5 January, for the better" in course
    words = drafted(case, SUMMARY)["How it went"].text
    assert "A lower number is better. On 5 January 2026 it was 7." in words
    assert f"it was 4. {PLAIN[Verdict.IMPROVED]}" in words


def test_the_patients_own_rating_is_told(case: Episode) -> None:
    """In the words of the scale."""
    groc = FilledForm(measure="groc", answers={"overall": -3}, mode="alone")
    make_visit(episode=case, on=date(2026, 3, 30), forms=(groc,))
    assert "Rated −3 since the first visit: a bit worse." in text_of(case)
    assert "compared with your first visit: a bit worse." in text_of(case, SUMMARY)


def test_many_ratings_are_told_by_their_range() -> None:
    """Nine or more would be a table, not a sentence."""
    days = [OPENED + timedelta(weeks=week) for week in range(10)]
    ratings = tuple((on, float(7 - at // 2)) for at, on in enumerate(days))
    expected = "7 on 5 January, then 8 more (between 3 and 7), and 3 on 9 March 2026"
    assert listed(ratings) == expected
    assert listed(tuple((on, 7.0) for on in days)).startswith(
        "7 on 5 January, then 8 more (each 7), and 7"
    )


def test_the_year_is_said_where_it_differs() -> None:
    """A course over New Year."""
    ratings = ((date(2025, 12, 29), 60.0), (date(2026, 1, 19), 64.5))
    assert listed(ratings) == "60 on 29 December 2025, 64.5 on 19 January 2026"


# Who, what was done, safety


def test_the_first_part_says_who_and_since_when(clinician: User) -> None:
    """The month of the first symptoms, for its day is rarely known."""
    patient = make_patient(by=clinician, given_name="Ada", family_name="Inventson")
    case = make_episode(
        by=clinician,
        patient=patient,
        side="right",
        is_bilateral=True,
        goals="Climb a hill.",
        sport="Hurling",
        activity_level="sport",
    )
    told = drafted(case)["Reason for care"].text
    assert told.startswith(
        "Ada Inventson, born 6 May 1994, has been in our care since 5 January 2026 for "
        "pain of the right knee. Symptoms began about September 2025."
    )
    assert "The other knee hurts as well. Activity: regular sport, Hurling." in told
    assert "Goals, in the patient’s own words: “Climb a hill.”" in told
    words = drafted(case, SUMMARY)["Your knee"].text
    assert "You have been in our care since 5 January 2026" in words
    assert "The other knee hurts too." in words


def test_a_recurrence_names_the_earlier_care(clinician: User) -> None:
    """The days of it, no more."""
    first = make_episode(by=clinician, opened_on=date(2025, 1, 6))
    on = date(2025, 4, 7)
    discharge(first, by=clinician, on=on, reason="goals met", note="", version=1)
    again = open_episode(
        patient=first.patient,
        by=clinician,
        side="left",
        symptom_onset_on=date(2025, 12, 1),
        opened_on=OPENED,
        clinician=clinician,
    )
    told = drafted(again)["Reason for care"].text
    assert "in care before, from 6 January 2025 to 7 April 2025." in told


@pytest.mark.parametrize(
    ("given", "family"),
    [("مريم", "الطويل"), ("נעמה", "בר־לב")],
    ids=["Arabic", "Hebrew"],
)
def test_a_name_from_right_to_left_keeps_to_itself(
    clinician: User, given: str, family: str
) -> None:
    """Without an isolate the comma and the day beside it would change places.

    Without a mark before it the whole part would run from the right.
    """
    patient = make_patient(by=clinician, given_name=given, family_name=family)
    case = make_episode(by=clinician, patient=patient)
    told = drafted(case)["Reason for care"].text
    assert told.startswith(
        f"{MARK_OF_LEFT}{ISOLATE}{given} {family}{END_OF_ISOLATE}, born"
    )
    letter = make_letter(episode=case, on=date(2026, 6, 1))
    assert read_sheet(letter).about[0] == ("About", f"{given} {family}")


def test_a_long_name_is_told_whole(clinician: User) -> None:
    """Nothing is cut."""
    name = "Invented-" * 13
    patient = make_patient(by=clinician, given_name=name, family_name=name)
    case = make_episode(by=clinician, patient=patient)
    assert f"{name} {name}, born" in text_of(case)


def test_visits_are_counted_by_what_became_of_them(case: Episode) -> None:
    """Came, missed, cancelled."""
    make_visit(episode=case, on=OPENED)
    make_visit(episode=case, on=date(2026, 1, 12), attendance="did_not_attend")
    make_visit(episode=case, on=date(2026, 1, 19), attendance="cancelled")
    make_visit(episode=case, on=date(2026, 1, 26))
    done = drafted(case)["What was done"].text
    expected = "2 visits attended (5 January 2026 to 26 January 2026), 1 missed, "
    assert f"{expected}1 cancelled." in done
    assert "You came to 2 visits." in text_of(case, SUMMARY)


def test_an_empty_case_says_what_is_not_there(case: Episode) -> None:
    """Every part stands, and none pretends."""
    done = drafted(case)["What was done"].text
    assert done == "There is no visit on record.\n\nThere is no programme on record."
    assert "no visit and no programme" in text_of(case, SUMMARY)
    assert drafted(case)["Plan"] == PLAN


def test_the_programme_is_told_by_its_phases(case: Episode, today: date) -> None:
    """What was prescribed is called so, never done."""
    programme = make_programme(case, on=today)
    make_line(programme, on=today)
    done = drafted(case)["What was done"].text
    assert f"Programme “{programme.title}”, from " in done
    assert "Phase 1, " in done and "There is no programme" not in done
    words = drafted(case, SUMMARY)
    assert "This was in your programme:\n– " in words["What we did"].text
    assert "Your programme now:\n– " in words["What comes next"].text
    assert drafted(case)["Plan"].text.startswith("In the programme now: ")


def test_other_care_takes_the_credit_from_the_programme(case: Episode) -> None:
    """A jump after an injection is not read as the programme's."""
    make_other_care(episode=case, on=date(2026, 2, 2))
    done = drafted(case)["What was done"].text
    assert "Injection, from 2 February 2026: Invented injection." in done
    assert "cannot be put down to the programme alone" in done


def test_a_screen_without_findings_rules_nothing_out(case: Episode) -> None:
    """Asked, nothing positive; and no more than that."""
    safety = drafted(case)["Safety"].text
    assert "were asked on 5 January 2026. Nothing positive. An answer of no" in safety
    assert "No adverse event is on record." in safety


def test_a_case_never_screened_says_so(clinician: User) -> None:
    """Silence would read as a no."""
    case = make_episode(by=clinician)
    assert "No red-flag questions are on record." in drafted(case)["Safety"].text


def test_a_decided_red_flag_is_told_with_its_decision(
    case: Episode, clinician: User, today: date
) -> None:
    """The question, the day, the decision; the patient's words are left to people."""
    flag = answer(case, clinician, today)
    decide(flag, by=clinician, decision="Seen the same day, no clot")
    safety = drafted(case)["Safety"].text
    assert "Answered yes on 1 June 2026: Swollen, tender or warm calf" in safety
    assert "Decision: Seen the same day, no clot." in safety
    assert "Nothing positive" not in safety
    asked = drafted(case, SUMMARY)["A warning sign that we looked at"]
    assert asked.text == "" and "1 June 2026" in asked.ask


def test_an_adverse_event_is_told(case: Episode) -> None:
    """In the letter as recorded; in the summary for people to put into words."""
    make_event(episode=case, on=date(2026, 2, 9))
    safety = drafted(case)["Safety"].text
    assert "Adverse event on 9 February 2026: Tingling in the foot" in safety
    asked = drafted(case, SUMMARY)["Something that went wrong"]
    assert asked.text == "" and "9 February 2026" in asked.ask


# What comes next


def test_advice_is_never_invented(case: Episode, clinician: User, today: date) -> None:
    """Where the record holds none, the part is empty and says what to write."""
    assert drafted(case)["Advice"] == ADVICE and ADVICE.text == ""
    assert drafted(case, SUMMARY)[WHAT_NOW.heading] == WHAT_NOW and WHAT_NOW.text == ""
    discharge(case, by=clinician, on=today, reason="goals met", note="", version=1)
    parts = drafted(case, DISCHARGE)
    assert parts["What the patient goes on with"] == GOES_ON and GOES_ON.text == ""
    assert parts["End of care"].text == "Care ended on 1 June 2026: goals met."


def test_the_note_of_the_discharge_is_the_advice(
    case: Episode, clinician: User, today: date
) -> None:
    """As written; the summary asks to put it in plain words."""
    note = "Stairs daily. Back if it swells."
    discharge(case, by=clinician, on=today, reason="goals met", note=note, version=1)
    assert drafted(case, DISCHARGE)["What the patient goes on with"].text == note
    todo = drafted(case, SUMMARY)[WHAT_NOW.heading]
    assert todo.text == note and "plain words" in todo.ask
    told = drafted(case, DISCHARGE)["Reason for care"].text
    assert "was in our care from 5 January 2026 to 1 June 2026" in told


def test_a_discharge_letter_of_a_case_in_care_asks_for_its_end(case: Episode) -> None:
    """It does not say that care ended."""
    assert drafted(case, DISCHARGE)["End of care"].text == ""


def test_the_next_visit_is_told_unless_it_is_past(case: Episode, today: date) -> None:
    """A day that went by is no plan."""
    make_visit(
        episode=case, on=date(2026, 5, 25), next_planned_on=today + timedelta(days=1)
    )
    told = "The next visit is planned for 2 June 2026."
    assert told in drafted(case)["Plan"].text
    late = draft_parts(case, kind=PROGRESS, on=today + timedelta(days=2))
    assert told not in "".join(part.text for part in late)


def test_a_decision_is_told_with_its_day_to_come(
    case: Episode, clinician: User, today: date
) -> None:
    """Once the day to look again has passed, it is no plan any more."""
    review_case(
        case,
        by=clinician,
        on=today,
        decision="change",
        why="Flat for six weeks",
        look_again_on=today + timedelta(weeks=3),
        findings=[],
    )
    told = drafted(case)["Plan"].text
    decided = "Decided on 1 June 2026: change the programme. Flat for six weeks."
    assert decided in told and "looked at again on 22 June 2026." in told
    late = drafted(case, on=today + timedelta(weeks=4))["Plan"].text
    assert decided in late and "looked at again" not in late


# The summary for the patient

JARGON = re.compile(
    r"MCID|MDC|AKPS|GROC|PSFS|\bsource|20\d\d\)|per cent|%|detectable|"
    r"measurement error|baseline|assessment|red.flag|irritab|threshold|patellofemoral",
    re.I,
)


def test_the_summary_holds_no_jargon(case: Episode, today: date) -> None:
    """No thresholds, no sources, no abbreviations."""
    measured(case, 70, 83)
    make_visit(episode=case, on=date(2026, 4, 6), pain={"worst": 3})
    assert JARGON.findall(text_of(case, SUMMARY)) == []
    assert JARGON.findall(" ".join(PLAIN.values())) == []
    assert JARGON.findall(" ".join(ADDED.values())) == []


def sentences(words: str) -> Iterator[str]:
    """Yield the sentences, and the lines of lists."""
    for line in words.splitlines():
        yield from filter(None, re.split(r"(?<=[.!?:]) ", line))


def test_the_sentences_of_the_summary_are_short(case: Episode) -> None:
    """At most 25 words each, about 10 on average (project assumption)."""
    measured(case, 70, 83)
    make_visit(episode=case, on=OPENED, pain={"worst": 7})
    lengths = [len(each.split()) for each in sentences(text_of(case, SUMMARY))]
    assert max(lengths) <= 25
    assert sum(lengths) / len(lengths) <= 11


def test_the_summary_says_when_to_get_help(case: Episode) -> None:
    """The signs of the home programme, each on its line; local rules come first."""
    told = drafted(case, SUMMARY)["When to get help"].text
    for sign in (*EMERGENCY_SIGNS, *SAME_DAY_SIGNS, *CLINIC_SIGNS, LOCAL_RULES):
        assert sign in told
    assert YOUNG_SIGN not in told


def test_under_18_pain_about_the_hip_is_for_the_same_day(clinician: User) -> None:
    """The hip concern of the checklist; no other line sends it elsewhere."""
    patient = make_patient(by=clinician, birth_date=date(2013, 3, 3))
    case = make_episode(by=clinician, patient=patient)
    told = drafted(case, SUMMARY)["When to get help"].text
    same_day = told.split("\n\n")[1]
    assert "same day" in same_day and YOUNG_SIGN in same_day
    assert told.count("hip") == 1 and SHIN_SIGN in told


def test_activities_that_differ_are_not_set_side_by_side(clinician: User) -> None:
    """The averages are of other things; only the verdict on what is common is told."""
    case = make_episode(by=clinician, primary_measure="psfs")
    for on, answers in (
        (OPENED, {"1": 3, "2": 2, "3": 4}),
        (date(2026, 3, 30), {"1": 8, "2": 8, "3": 7, "4": 1}),
    ):
        form = FilledForm(measure="psfs", answers=answers, mode="alone")
        make_visit(episode=case, on=on, forms=(form,))
    words = drafted(case, SUMMARY)["How it went"].text
    assert f"only what you rated both times. {PLAIN[Verdict.IMPROVED]}" in words
    assert "it was 6" not in words


# Signing and keeping


def answer(case: Episode, by: User, on: date) -> Screen:
    """Answer the question about a clot with yes."""
    return answer_screen(
        episode=case, by=by, form=Screen.Form.SHORT, answers={"clot": True}, on=on
    )


@pytest.fixture
def letter(case: Episode, today: date) -> Letter:
    """A draft with its advice written, ready to be signed."""
    measured(case, 70, 83)
    made = make_letter(episode=case, on=today)
    filled(made)
    return made


def filled(letter: Letter, **words: Any) -> None:
    """Write what the draft asks for."""
    parts = [
        part if part.text else Part(part.heading, "Invented advice.", part.ask)
        for part in parts_of(letter)
    ]
    sent = {
        "addressed_to": letter.addressed_to,
        "written_on": letter.written_on,
        "parts": parts,
        "version": letter.version,
    }
    acts.change_letter(letter, by=letter.drafted_by, **{**sent, **words})


def test_a_letter_is_kept_as_it_was_signed(
    letter: Letter, case: Episode, clinician: User, lead: User
) -> None:
    """Name, scores and signer change on record; the letter does not."""
    sign_letter(letter, by=clinician, version=letter.version)
    before = read_sheet(Letter.objects.get(pk=letter.pk))
    patient = case.patient
    change_patient(patient, by=lead, changes={"family_name": "Otherwise"})
    type(case.site).objects.filter(pk=case.site_id).update(name="Another name")
    User.objects.filter(pk=clinician.pk).update(first_name="Someone", last_name="Else")
    void_assessment(case.assessments.get(score=83), by=lead, why="wrong form")
    kept = Letter.objects.get(pk=letter.pk)
    after = read_sheet(kept)
    assert (after.about, after.clinic, after.parts) == (
        before.about,
        before.clinic,
        before.parts,
    )
    assert after.about[0] == ("About", "Ada Inventson")
    assert "83 on 30 March 2026" in after.parts[1].text
    assert kept.signed_name == "c.avermore"
    assert all(part.ask == "" for part in after.parts)


def test_each_act_leaves_one_line(
    letter: Letter, case: Episode, clinician: User
) -> None:
    """Drafted, changed, signed, made, voided; each with the letter's number."""
    sign_letter(letter, by=clinician, version=letter.version)
    acts.record_letter(letter, by=clinician, kind="pdf")
    acts.void_letter(letter, by=clinician, why="wrong knee", version=letter.version)
    lines = AuditEvent.objects.filter(action__startswith="letter.").order_by("pk")
    assert [line.action for line in lines] == [
        audit.LETTER_DRAFTED.code,
        audit.LETTER_CHANGED.code,
        audit.LETTER_SIGNED.code,
        audit.LETTER_MADE.code,
        audit.LETTER_VOIDED.code,
    ]
    assert {line.patient_id for line in lines} == {case.patient_id}
    assert lines[3].detail == {"letter": letter.pk, "kind": "pdf"}
    assert lines[4].detail["why"] == "wrong knee"


@pytest.mark.parametrize("knee", ["left", "right"])
def test_an_undecided_red_flag_of_either_knee_refuses_the_name(
    letter: Letter, case: Episode, clinician: User, today: date, knee: str
) -> None:
    """It is named, with the knee; once decided, the letter can be signed."""
    flagged = case
    if knee == "right":
        flagged = make_episode(by=clinician, patient=case.patient, side="right")
    flag = answer(flagged, clinician, today)
    with pytest.raises(LetterRefused, match=f"red-flag answer of the {knee} knee"):
        sign_letter(letter, by=clinician, version=letter.version)
    letter.refresh_from_db()
    assert letter.signed_at is None
    decide(flag, by=clinician, decision="Looked at.")
    sign_letter(letter, by=clinician, version=letter.version)
    assert letter.signed_by == clinician


def test_an_undecided_red_flag_stands_in_the_draft(
    case: Episode, clinician: User, today: date
) -> None:
    """A draft can be written meanwhile."""
    answer(case, clinician, today)
    assert "No decision yet." in drafted(case)["Safety"].text


def test_an_empty_part_is_filled_or_removed_before_the_name(
    case: Episode, clinician: User, today: date
) -> None:
    """The refusal names each."""
    letter = make_letter(episode=case, on=today)
    with pytest.raises(LetterRefused) as refused:
        sign_letter(letter, by=clinician, version=1)
    assert [reason[:8] for reason in refused.value.reasons] == ["“Plan” i", "“Advice”"]


@pytest.mark.parametrize("parts", [[], [Part("Heading only")]])
def test_an_empty_letter_is_not_signed(
    letter: Letter, clinician: User, parts: list[Part]
) -> None:
    """Nor one of headings alone."""
    filled(letter, parts=parts)
    with pytest.raises(LetterRefused, match="The letter is empty"):
        sign_letter(letter, by=clinician, version=letter.version)


def test_a_letter_to_nobody_is_not_signed(letter: Letter, clinician: User) -> None:
    """The patient's own summary needs no address."""
    filled(letter, addressed_to=" ")
    with pytest.raises(LetterRefused, match="to whom"):
        sign_letter(letter, by=clinician, version=letter.version)


def test_a_signed_letter_is_neither_changed_nor_signed_again(
    letter: Letter, clinician: User
) -> None:
    """Whatever version is claimed."""
    sign_letter(letter, by=clinician, version=letter.version)
    for version in (letter.version, letter.version - 1):
        with pytest.raises(LetterRefused, match="is signed"):
            filled(letter, version=version)
        with pytest.raises(LetterRefused, match="is signed"):
            sign_letter(letter, by=clinician, version=version)


def test_a_voided_letter_is_gone_from_the_case(
    letter: Letter, case: Episode, clinician: User
) -> None:
    """It stays on record and does nothing any more."""
    assert letters_of(case) == [letter]
    acts.void_letter(letter, by=clinician, why="mistake", version=letter.version)
    assert letters_of(case) == [] and Letter.objects.count() == 1
    with pytest.raises(LetterRefused, match="voided"):
        sign_letter(letter, by=clinician, version=letter.version)
    with pytest.raises(LetterRefused, match="voided"):
        acts.void_letter(letter, by=clinician, why="x", version=letter.version)


def test_two_people_do_not_overwrite_each_other(
    letter: Letter, clinician: User
) -> None:
    """The second is told, whether changing or signing."""
    for act in (
        lambda: filled(letter, version=1),
        lambda: sign_letter(letter, by=clinician, version=1),
    ):
        with pytest.raises(StaleEdit):
            act()
        letter.refresh_from_db()
    assert letter.signed_at is None


def test_letters_stand_newest_first_and_lend_their_address(
    letter: Letter, case: Episode, today: date
) -> None:
    """The next letter about the person goes to the same place, unless changed."""
    earlier = make_letter(
        episode=case, on=today - timedelta(days=9), addressed_to="Old"
    )
    make_letter(episode=case, on=today, kind=SUMMARY, addressed_to="")
    assert [each.written_on for each in letters_of(case)][-1] == earlier.written_on
    assert last_addressee(case) == "Dr Invented\n1 Made-up Road"


def test_the_moment_of_signing_is_kept(letter: Letter, clinician: User) -> None:
    """With the name as it stood."""
    sign_letter(letter, by=clinician, version=letter.version)
    assert letter.signed_at == timezone.now()
    assert letter.signed_name == str(clinician)
