"""Verdicts on change: both questions, at the limits and on a caseload."""

from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

import pytest

from outcomes.science import measurement_error as error
from outcomes.science.comparison import Point
from outcomes.science.mcid import Change, classify_change, reading_of_groc
from outcomes.science.measures import measure
from outcomes.science.policy import StallPolicy
from outcomes.science.primary import limits_shown
from outcomes.science.scoring import BadAnswer, score
from outcomes.science.verdicts import Verdict, number
from tests.outcomes.vectors import vectors

CHANGES = vectors("changes")
ERRORS = vectors("measurement_error")
Ratings = dict[int, int | None]
OPENED = date(2026, 3, 3)


def point(value: float, *, on: date = OPENED, **other: Any) -> Point:
    conditions = {"edition": 1, "mode": "alone", "language": "en"} | other
    return Point(value=value, on=on, **conditions)


def change(measure: str, before: float, after: float, **limits: float) -> Change:
    """The change between two scores eight weeks apart."""
    later = point(after, on=OPENED + timedelta(weeks=8))
    return classify_change(measure, point(before), later, opened_on=OPENED, **limits)


def psfs_change(before: Ratings, after: Ratings, **limits: Any) -> Change:
    """The change between two sets of rated activities."""
    first, later = (
        {str(key): rating for key, rating in ratings.items()}
        for ratings in (before, after)
    )
    value = [score(measure("psfs"), answers).value for answers in (first, later)]
    return classify_change(
        "psfs",
        point(value[0], answers=first),
        point(value[1], answers=later, on=OPENED + timedelta(weeks=8)),
        opened_on=OPENED,
        **limits,
    )


def readable(row: dict[str, Any]) -> str:
    return f"{row.get('measure', 'pain')} {row['from']} to {row['to']}"


@pytest.mark.parametrize("row", CHANGES["scores"], ids=readable)
def test_a_change_at_the_limits_gets_its_verdict(row: dict[str, Any]) -> None:
    limits = {key: row[key] for key in ("mdc", "mcid") if key in row}
    result = change(row["measure"], row["from"], row["to"], **limits)
    assert result.verdict == row["verdict"]


@pytest.mark.parametrize("row", CHANGES["pain"], ids=readable)
def test_a_change_of_worst_pain_asks_for_points_and_per_cent(
    row: dict[str, Any],
) -> None:
    result = change("pain_worst", row["from"], row["to"])
    assert result.verdict == row["verdict"]
    assert result.gain == row["from"] - row["to"]
    if "percent" in row:
        assert result.percent == pytest.approx(row["percent"], abs=0.05)
    else:
        assert result.percent is None


@pytest.mark.parametrize("case", vectors("caseload")["cases"], ids=lambda c: c["name"])
def test_the_caseload_gets_the_verdicts_written_for_week_12(
    case: dict[str, Any],
) -> None:
    start, middle, end = case["akps"]
    assert [change("akps", start, s).gain for s in (middle, end)] == case["gains"]
    assert change("akps", start, end).verdict == case["akps_verdict"]
    pain = change("pain_worst", case["worst_pain"][0], case["worst_pain"][-1])
    assert pain.verdict == case["pain_verdict"]


def test_the_caseload_has_five_at_the_mcid_and_three_beyond_error_too() -> None:
    cases = [
        change("akps", c["akps"][0], c["akps"][-1])
        for c in vectors("caseload")["cases"]
    ]
    gained = [c for c in cases if c.gain > 0 and c.is_important]
    assert len(gained) == 5
    assert sum(c.is_detectable for c in gained) == 3


@pytest.mark.parametrize(
    ("raw_points", "verdict"), [(7, Verdict.NONE), (8, Verdict.IMPROVED)]
)
def test_seven_raw_points_of_the_koos_pf_are_too_few_and_eight_enough(
    raw_points: int, verdict: Verdict
) -> None:
    """Derived: 7 x 100/44 = 15.91 and 8 x 100/44 = 18.18; limits Crossley 2018."""
    answers = {str(n): 2 for n in range(1, 12)}
    better = answers | {str(n): 1 for n in range(1, raw_points + 1)}
    about = measure("koos_pf")
    before, after = score(about, answers).value, score(about, better).value
    assert change("koos_pf", before, after).verdict == verdict


def test_both_questions_are_answered_in_words_with_numbers_and_sources() -> None:
    assert change("akps", 70, 81).sentence == (
        "Up 11 points since 3 March: large enough to matter (10 or more, Crossley "
        "2004), not beyond measurement error (13, 95 % level, Norwegian version 2021)."
    )


def test_a_loss_is_said_to_be_for_the_worse() -> None:
    assert change("lefs", 45, 36).sentence == (
        "Down 9 points since 3 March, for the worse: large enough to matter (9 or "
        "more, Binkley 1999) and beyond measurement error (9, 90 % level, Binkley "
        "1999)."
    )


def test_a_fall_of_pain_is_said_to_be_for_the_better() -> None:
    assert change("pain_worst", 7, 5).sentence == (
        "Down 2 points (29 %) since 3 March, for the better: large enough to matter "
        "in points (2 or more), not in per cent (30 % or more) (Crossley 2004, Farrar "
        "2001); beyond the assumed error (2, project assumption)."
    )


def test_points_alone_may_still_lie_within_a_clinics_own_error() -> None:
    sentence = change("pain_worst", 7, 5, mdc=3).sentence
    assert "not beyond measurement error (3, no level stated, set by this" in sentence


def test_one_point_is_not_points() -> None:
    assert change("pain_usual", 5, 4).sentence.startswith("Down 1 point (20 %) since")


def test_no_change_is_said_plainly() -> None:
    assert change("akps", 72, 72).sentence == (
        "No change since 3 March (72 both times)."
    )


def test_the_year_is_given_where_it_differs() -> None:
    old = point(70, on=date(2025, 12, 1))
    result = classify_change("akps", old, point(80), opened_on=date(2025, 12, 1))
    assert "since 1 December 2025:" in result.sentence


def test_a_gain_just_short_of_a_limit_is_not_printed_as_the_limit() -> None:
    assert change("koos_pf", 50, 66.36).sentence.startswith("Up 16.36 points")
    assert number(16.36) == "16.4"
    assert number(16.36, beside=(16.4,)) == "16.36"
    assert number(100.0) == "100"


@pytest.mark.parametrize("verdict", list(Verdict))
def test_every_verdict_has_a_label_and_a_sentence(verdict: Verdict) -> None:
    assert verdict.label and verdict.sentence.endswith(".")


def test_no_verdict_within_error_is_called_improved_outright() -> None:
    assert Verdict.POSSIBLE.label == "possibly improved, within error"
    assert "may be measurement error" in Verdict.POSSIBLE.sentence


# A clinic's own limits


def test_a_clinics_published_choice_keeps_its_source() -> None:
    result = change("akps", 70, 79, mdc=9)
    assert (result.mdc.value, result.mdc.source.short) == (9, "Esculier 2013")
    assert result.mdc.level is None


def test_a_clinics_own_number_is_marked_as_its_own() -> None:
    result = change("akps", 70, 82, mdc=12)
    assert result.verdict is Verdict.IMPROVED
    assert "(12, no level stated, set by this clinic)" in result.sentence


# What cannot be judged


def test_a_missing_first_score_is_said() -> None:
    result = classify_change("akps", None, point(80), opened_on=OPENED)
    assert result.verdict is Verdict.CANNOT_SAY
    assert result.sentence == "There is no first score to compare."
    assert (result.gain, result.is_detectable, result.is_important) == (None,) * 3


def test_a_missing_later_score_is_said() -> None:
    result = classify_change("akps", point(80), None, opened_on=OPENED)
    assert result.sentence == "There is no later score to compare."


def test_one_score_is_compared_with_nothing() -> None:
    only = point(80)
    result = classify_change("akps", only, only, opened_on=OPENED)
    assert result.verdict is Verdict.CANNOT_SAY
    assert "One score so far, on 3 March 2026" in result.sentence


@pytest.mark.parametrize(
    ("changed", "reason"),
    [({"edition": 2}, "editions"), ({"language": "cy"}, "languages")],
)
def test_scores_of_another_edition_or_language_are_not_compared(
    changed: dict[str, Any], reason: str
) -> None:
    later = point(90, on=OPENED + timedelta(weeks=8), **changed)
    result = classify_change("akps", point(70), later, opened_on=OPENED)
    assert result.verdict is Verdict.CANNOT_SAY
    assert reason in result.sentence


def test_a_current_score_older_than_the_baseline_is_an_error() -> None:
    early = point(70, on=OPENED - timedelta(days=1))
    with pytest.raises(ValueError, match="older"):
        classify_change("akps", point(70), early, opened_on=OPENED)


def test_a_global_rating_is_not_compared_with_an_earlier_one() -> None:
    result = change("groc", 2, 5)
    assert result.verdict is Verdict.CANNOT_SAY
    assert "itself a judgement of change" in result.sentence


# Notes beside the verdict


def test_a_plain_change_has_no_notes() -> None:
    assert change("akps", 70, 83).notes == ()


@pytest.mark.parametrize(
    ("changed", "note"),
    [
        ({"mode": "read_aloud"}, "Answered differently: alone, then read aloud."),
        ({"wording": "b"}, "The two were answered on different wordings."),
    ],
)
def test_a_change_of_mode_or_wording_stands_beside_the_verdict(
    changed: dict[str, Any], note: str
) -> None:
    later = point(83, on=OPENED + timedelta(weeks=8), **changed)
    result = classify_change("akps", point(70), later, opened_on=OPENED)
    assert result.verdict is Verdict.IMPROVED
    assert result.notes == (note,)


@pytest.mark.parametrize(
    ("measure", "before", "note"),
    [
        ("akps", 91, "matters (10) cannot occur: the scale ends at 100."),
        ("akps", 88, "beyond error (13) cannot occur: the scale ends at 100."),
        ("lefs", 72, "matters (9) cannot occur: the scale ends at 80."),
        ("pain_worst", 1, "matters (2) cannot occur: the scale ends at 0."),
    ],
)
def test_a_baseline_without_room_for_a_gain_is_said(
    measure: str, before: float, note: str
) -> None:
    assert note in change(measure, before, before).notes[0]


def test_a_baseline_with_just_enough_room_is_passed_over() -> None:
    assert change("akps", 87, 87).notes == ()


@pytest.mark.parametrize(("days", "is_late"), [(14, False), (15, True)])
def test_a_late_first_score_is_said(days: int, is_late: bool) -> None:
    first = point(70, on=OPENED + timedelta(days=days))
    later = point(83, on=OPENED + timedelta(weeks=12))
    result = classify_change("akps", first, later, opened_on=OPENED)
    assert result.verdict is Verdict.IMPROVED
    assert any(f"{days} days after" in note for note in result.notes) is is_late


def test_from_no_pain_a_percentage_means_nothing() -> None:
    result = change("pain_worst", 0, 2)
    assert result.percent is None
    assert "%" not in result.sentence
    assert "a percentage means nothing" in result.notes[-1]


def test_from_a_low_rating_a_percentage_is_unsteady() -> None:
    assert "unsteady" in change("pain_worst", 3, 1).notes[-1]
    assert change("pain_worst", 4, 1).notes == ()


# Activities that the patient names


def test_three_common_activities_are_judged_as_an_average() -> None:
    result = psfs_change({1: 3, 2: 2, 3: 4}, {1: 6, 2: 5, 3: 6})
    assert result.gain == pytest.approx(2.67, abs=5e-3)
    assert result.verdict is Verdict.IMPROVED
    assert result.mdc.applies_to == "average"


def test_a_mean_gain_within_error_still_names_the_activity_beyond_it() -> None:
    before, after = {1: 4, 2: 3, 3: 2, 4: 5}, {1: 5, 2: 6, 3: 3, 4: 6}
    result = psfs_change(before, after)
    assert result.gain == 1.5
    assert result.verdict is Verdict.NONE
    assert result.notes == (
        "Activity 2 alone: better by 3, the error of one activity being 3.",
    )
    small = psfs_change(before, after, mcid=1.3)  # Abbott & Schmitt 2014, small
    assert small.verdict is Verdict.POSSIBLE


def test_an_activity_goes_by_the_patients_own_words() -> None:
    """Where they are known; without them it is its number."""
    before, after = {1: 4, 2: 3, 3: 2}, {1: 8, 2: 6, 3: 2}
    notes = psfs_change(before, after, words={"2": "Kneel"}).notes
    assert [note.split(" alone")[0] for note in notes] == ["Activity 1", "“Kneel”"]


@pytest.mark.parametrize(
    ("before", "after", "limit"),
    [
        ({1: 2, 2: 2, 3: 2}, {1: 4, 2: 4, 3: 4}, 2),
        ({1: 2, 2: 2}, {1: 4, 2: 4}, 3),
        ({1: 2, 2: 2, 3: 2}, {1: 4, 2: 4}, None),
        ({1: 2, 2: 2}, {3: 4}, None),
        ({1: 2}, None, 3),
    ],
)
def test_the_limits_drawn_are_those_of_the_verdict(
    before: Ratings, after: Ratings | None, limit: float | None
) -> None:
    """Of the average, of one activity, or none where the activities differ."""
    points = [
        point(
            0,
            on=OPENED + timedelta(weeks=at),
            answers={str(k): v for k, v in r.items()},
        )
        for at, r in enumerate((before, after))
        if r
    ]
    judged = psfs_change(before, after) if after else None
    limits = limits_shown(measure("psfs"), points, judged, StallPolicy())
    assert (limits and (limits[0].value, limits[1].value)) == (limit and (limit, limit))


def test_an_average_gain_of_exactly_two_is_enough() -> None:
    """17/3 - 11/3 falls short of 2 in binary arithmetic."""
    result = psfs_change({1: 3, 2: 4, 3: 4}, {1: 5, 2: 6, 3: 6})
    assert result.gain == 2
    assert result.verdict is Verdict.IMPROVED
    assert error.reaches(17 / 3 - 11 / 3, 2)
    assert not error.reaches(1.9999, 2)


def test_only_activities_rated_both_times_are_compared() -> None:
    result = psfs_change({1: 2, 2: 2, 3: 2}, {1: 5, 2: 5, 3: 5, 4: 0})
    assert result.gain == 3
    assert "rated both times are compared: 3." in result.notes[0]


def test_fewer_than_three_common_activities_fall_under_the_single_limits() -> None:
    result = psfs_change({1: 2, 2: 2, 3: 2}, {1: 4, 2: 4, 4: 9})
    assert (result.gain, result.mdc.value, result.mcid.value) == (2, 3, 3)
    assert result.verdict is Verdict.NONE
    assert any("limits of a single activity" in note for note in result.notes)


def test_a_clinics_limits_for_the_average_leave_the_single_ones_alone() -> None:
    result = psfs_change({1: 2}, {1: 4}, mdc=1.5, mcid=1.3)
    assert (result.mdc.value, result.mcid.value) == (3, 3)


@pytest.mark.parametrize("later", [{4: 8}, {1: None, 4: 8}])
def test_without_a_common_activity_change_cannot_be_judged(
    later: dict[int, int | None],
) -> None:
    result = psfs_change({1: 2, 2: 3}, later)
    assert result.verdict is Verdict.CANNOT_SAY
    assert result.sentence == "No activity was rated at both times."


# Global rating of change


@pytest.mark.parametrize(
    ("value", "at_least", "is_meaningful"),
    [(5, None, True), (5, 5, True), (4, None, True), (4, 5, False), (3, None, False)],
)
def test_a_global_rating_is_read_against_its_limit(
    value: int, at_least: float | None, is_meaningful: bool
) -> None:
    """+4 by default and +5 strict: convention, from memory."""
    assert reading_of_groc(value, at_least=at_least).is_meaningful is is_meaningful


@pytest.mark.parametrize(
    ("value", "label"),
    [
        (4, "better, meaningful"),
        (3, "better, below meaningful"),
        (0, "same"),
        (-2, "worse by own rating"),
    ],
)
def test_a_global_rating_has_a_short_label(value: int, label: str) -> None:
    assert reading_of_groc(value).label == label


@pytest.mark.parametrize(
    ("value", "words"),
    [
        (-5, "−5 since the first visit: clearly worse."),
        (0, "0 since the first visit: same."),
    ],
)
def test_a_rating_that_is_no_gain_says_what_it_says(value: int, words: str) -> None:
    """Nobody who reports worse is told that an improvement was missed."""
    assert reading_of_groc(value).sentence == f"Rated {words}"


def test_the_limit_of_a_global_rating_is_marked_as_from_memory() -> None:
    assert reading_of_groc(5).sentence == (
        "Rated +5 since the first visit: clearly better, which reaches the level of a "
        "meaningful improvement (+4, convention, from memory)."
    )


def test_a_global_rating_out_of_range_is_refused() -> None:
    with pytest.raises(BadAnswer):
        reading_of_groc(8)


# Measurement error


@pytest.mark.parametrize("row", ERRORS["errors"])
def test_sem_and_mdc_follow_from_sd_and_icc(row: dict[str, Any]) -> None:
    sem = error.sem(row["sd"], row["icc"])
    assert sem == pytest.approx(row["sem"], abs=5e-4)
    assert error.mdc(sem, 95) == pytest.approx(row["mdc95"], abs=5e-3)
    if "mdc90" in row:
        assert error.mdc(sem, 90) == pytest.approx(row["mdc90"], abs=5e-3)


@pytest.mark.parametrize("row", ERRORS["implied"])
def test_a_published_mdc_implies_a_sem(row: dict[str, Any]) -> None:
    implied = error.sem_from_mdc(row["mdc"], row["level"])
    assert implied == pytest.approx(row["sem"], abs=5e-3)


@pytest.mark.parametrize("row", ERRORS["reliable_change"])
def test_the_reliable_change_index_is_as_written(row: dict[str, Any]) -> None:
    sem = error.sem(row["sd"], row["icc"])
    rci = error.reliable_change_index(row["before"], row["after"], error=sem)
    assert rci == pytest.approx(row["rci"], abs=5e-3)
    assert (abs(rci) > 1.96) is row["is_reliable"]


def test_retest_differences_of_the_dutch_akps_give_its_error() -> None:
    """SD of differences 5.51 (Ummels): SEM 3.90, MDC95 10.8; derived."""
    sem = error.sem_from_differences(5.51)
    assert sem == pytest.approx(3.90, abs=5e-3)
    assert error.mdc(sem) == pytest.approx(10.8, abs=5e-2)


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: error.sem(-1, 0.9),
        lambda: error.sem(10, 1.1),
        lambda: error.mdc(4, 80),
        lambda: error.reliable_change_index(60, 70, error=0),
    ],
)
def test_an_impossible_input_is_an_error(wrong: Callable[[], float]) -> None:
    with pytest.raises(ValueError, match="must be"):
        wrong()
