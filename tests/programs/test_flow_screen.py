"""The flow-restriction screen: what stops it, what needs words, when it ends."""

from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from clinic.sourced.strict_toml import DataFileError
from programs.dosing.flow_questions import FILE, questions, read_questions
from programs.dosing.flow_screen import (
    Blocked,
    Clear,
    Clearance,
    Expired,
    Missing,
    NeedsDecision,
    ScreenFacts,
    ScreenStatus,
    screen_status,
    valid_until,
)
from programs.dosing.limits import DosingPolicy

DAY = date(2031, 3, 3)
NOES = dict.fromkeys(questions().keys, "no")
CLEAN = ScreenFacts(answered_on=DAY, edition=1, answers=NOES, is_signed=True)
STOPPING = [each.key for each in questions().contraindications]
RISKS = [each.key for each in questions().risks]
LETTER = Clearance("Dr Invented", "May start.", DAY, DAY - timedelta(days=5))


def answered(*, decision: str = "", clearance: Clearance | None = None, **answers: str):
    """Give a signed screen with some answers changed."""
    return replace(
        CLEAN, answers=NOES | answers, decision=decision, clearance=clearance
    )


def status(
    facts: ScreenFacts | None, *, on: date = DAY, event_on: date | None = None
) -> ScreenStatus:
    """Judge a screen on a day."""
    return screen_status(facts, on=on, last_adverse_event_on=event_on)


def test_all_no_is_clear_for_three_months() -> None:
    assert status(CLEAN) == Clear(date(2031, 6, 3))
    assert isinstance(status(CLEAN, on=date(2031, 6, 3)), Clear)


def test_after_three_months_it_has_expired() -> None:
    found = status(CLEAN, on=date(2031, 6, 4))
    assert isinstance(found, Expired)
    assert found.ended_on == date(2031, 6, 3)
    assert "older than 3 months" in found.reason


@pytest.mark.parametrize(
    ("answered_on", "last_on"),
    [
        (date(2031, 1, 31), date(2031, 4, 30)),
        (date(2031, 11, 30), date(2032, 2, 29)),
        (date(2030, 11, 30), date(2031, 2, 28)),
        (date(2031, 10, 15), date(2032, 1, 15)),
    ],
)
def test_months_are_calendar_months(answered_on: date, last_on: date) -> None:
    assert valid_until(answered_on) == last_on


def test_a_site_may_shorten_it() -> None:
    policy = DosingPolicy.from_values({"screen_months": 1})
    assert valid_until(DAY, policy) == date(2031, 4, 3)


@pytest.mark.parametrize("key", STOPPING)
def test_any_contraindication_stops_it_with_its_reason(key: str) -> None:
    """Neither words, nor a signature, nor the word cleared alone go past it."""
    for answer in ("yes", "cleared"):
        found = status(answered(decision="I accept this.", **{key: answer}))
        assert isinstance(found, Blocked)
        assert found.keys == (key,)
        assert "new screen" in found.reason
        assert not found.is_open


def test_every_contraindication_is_named() -> None:
    found = status(answered(clot="yes", heart="yes"))
    assert isinstance(found, Blocked)
    assert found.keys == ("clot", "heart")
    for each in questions().contraindications[:1]:
        assert each.reason in found.reason


def test_a_contraindication_stops_an_old_or_unfinished_screen_too() -> None:
    part = replace(CLEAN, answers={"clot": "yes"}, is_signed=False)
    assert isinstance(status(part), Blocked)
    old = answered(clot="yes")
    assert isinstance(status(old, on=date(2032, 1, 1)), Blocked)
    assert isinstance(status(old, event_on=DAY), Blocked)


@pytest.mark.parametrize(
    "letter",
    [
        replace(LETTER, physician="  "),
        replace(LETTER, answer=""),
        replace(LETTER, answered_on=DAY + timedelta(days=1)),
        replace(LETTER, answered_on=DAY - timedelta(days=6)),
    ],
)
def test_a_clearance_that_is_not_whole_clears_nothing(letter: Clearance) -> None:
    """It names who and what, and lies between the stop and the new screen."""
    found = status(answered(clot="cleared", clearance=letter, decision="Start."))
    assert isinstance(found, Blocked)


def test_a_cleared_contraindication_still_needs_a_decision() -> None:
    found = status(answered(clot="cleared", clearance=LETTER))
    assert isinstance(found, NeedsDecision)
    assert found.risks == ("clot",)
    decided = answered(clot="cleared", clearance=LETTER, decision="Start low.")
    assert status(decided) == Clear(date(2031, 6, 3), ("clot",))


def test_a_clearance_covers_only_what_is_marked_cleared() -> None:
    found = status(answered(clot="cleared", cancer="yes", clearance=LETTER))
    assert isinstance(found, Blocked)
    assert found.keys == ("cancer",)


@pytest.mark.parametrize("key", RISKS)
def test_an_added_risk_needs_a_decision_in_words(key: str) -> None:
    for blank in ("", "   "):
        found = status(answered(decision=blank, **{key: "yes"}))
        assert isinstance(found, NeedsDecision)
        assert found.risks == (key,)
    assert status(answered(decision="Start at 40 per cent.", **{key: "yes"})) == Clear(
        date(2031, 6, 3), (key,)
    )


def test_an_added_risk_cannot_be_cleared() -> None:
    assert isinstance(status(answered(smoking="cleared", decision="Start.")), Missing)


@pytest.mark.parametrize("days", [0, 1, 40])
def test_an_adverse_event_on_or_after_the_day_ends_it(days: int) -> None:
    event_on = DAY + timedelta(days=days)
    found = status(CLEAN, on=DAY + timedelta(days=40), event_on=event_on)
    assert isinstance(found, Expired)
    assert found.ended_on == event_on


def test_an_adverse_event_before_the_screen_is_past() -> None:
    found = status(CLEAN, event_on=DAY - timedelta(days=1))
    assert isinstance(found, Clear)


def test_no_screen_is_missing() -> None:
    assert isinstance(status(None), Missing)


def test_an_open_question_is_missing_and_named() -> None:
    for answers in (
        {key: "no" for key in NOES if key != "bmi"},
        NOES | {"bmi": ""},
        NOES | {"bmi": "perhaps"},
    ):
        found = status(replace(CLEAN, answers=answers))
        assert isinstance(found, Missing)
        assert found.unanswered == ("bmi",)


def test_without_a_signature_it_is_missing() -> None:
    found = status(replace(CLEAN, is_signed=False))
    assert isinstance(found, Missing)
    assert "signed" in found.reason


def test_another_edition_or_a_day_to_come_is_missing() -> None:
    assert isinstance(status(replace(CLEAN, edition=0)), Missing)
    assert isinstance(status(CLEAN, on=DAY - timedelta(days=1)), Missing)


@given(
    yes=st.sets(st.sampled_from(questions().keys)),
    is_signed=st.booleans(),
    decision=st.sampled_from(["", "Start low."]),
    days=st.integers(-10, 200),
    event=st.none() | st.integers(-10, 200),
)
def test_it_opens_only_for_a_whole_signed_young_screen_without_a_stop(
    yes: set[str], is_signed: bool, decision: str, days: int, event: int | None
) -> None:
    facts = replace(
        answered(decision=decision, **dict.fromkeys(yes, "yes")), is_signed=is_signed
    )
    event_on = None if event is None else DAY + timedelta(days=event)
    found = status(facts, on=DAY + timedelta(days=days), event_on=event_on)
    may_open = (
        not yes & set(STOPPING)
        and (not yes or decision != "")
        and is_signed
        and 0 <= days <= 92  # 3 March to 3 June
        and (event is None or event < 0)
    )
    assert found.is_open is may_open
    assert isinstance(found, Clear) is may_open
    assert found.reason


def test_the_file_holds_the_whole_list_of_the_reference() -> None:
    """Eleven that rule it out, eight added risks, and the signs to stop."""
    asked = questions()
    assert (len(STOPPING), len(RISKS)) == (11, 8)
    words = " ".join(asked.asked.values()).casefold()
    for word in (
        "clot",
        "pregnant",
        "180",
        "110",
        "angina",
        "arteries",
        "sickle",
        "infection",
        "open fracture",
        "crush",
        "swelling after surgery",
        "dialysis",
        "graft",
        "lymph",
        "skull",
        "fever",
        "cancer",
        "varicose",
        "index above 30",
        "older than 60",
        "oestrogen",
        "diabetes",
        "smokes",
    ):
        assert word in words
    signs = " ".join(sign.sign for sign in asked.stop_signs).casefold()
    for word in ("numb", "colour", "calf", "chest", "breath", "dark urine"):
        assert word in signs


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('key = "heart"', 'key = "clot"'),
        ('source = "memory"', 'source = "nobody"'),
        ('mark = "confirmed"', 'mark = "certain"'),
        ("edition = 1", "edition = 1\nextra = 2"),
        ("edition = 1", ""),
        ('reason = "The limb already lacks blood."', ""),
        ("[[risks]]", "[[risk]]"),
        ("edition = 1", "edition = "),
    ],
)
def test_a_wrong_file_is_refused(old: str, new: str) -> None:
    text = FILE.read_text("utf-8")
    assert old in text
    with pytest.raises(DataFileError, match=FILE.name):
        read_questions(text.replace(old, new))
