"""The frames of a period: who is in it, what counts as the outcome, and what state."""

from datetime import date, timedelta
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from clinic.models import Episode, Patient, User
from clinic.sharing import decline_audit
from outcomes.frames.period import read_frames
from outcomes.period_choice import Choice
from outcomes.recording import FilledForm, record_assessment
from outcomes.science.policy import StallPolicy
from outcomes.voiding import void_assessment
from tests.factories import make_akps, make_episode, make_patient

from .period_data import Case, period_data

OPENED = date(2026, 1, 5)
ON = date(2026, 6, 1)
YEAR = Choice(from_on=date(2026, 1, 1), until_on=ON)
FOLLOWED = {"scores": [(0, 60), (84, 75)]}


def frames(user: User, choice: Choice = YEAR, on: date = ON) -> dict[str, Any]:
    """Read the frames of a person's site."""
    episodes = Episode.objects.filter(site=user.site)
    return read_frames(episodes, choice, policy=StallPolicy(), on=on)


def case_of(user: User, *scores: tuple[int, int], **details: Any) -> Episode:
    """Open a case with AKPS totals by day after opening."""
    episode = make_episode(by=user, opened_on=OPENED, **details)
    for day, total in scores:
        make_akps(episode=episode, on=OPENED + timedelta(days=day), total=total)
    return episode


def state(*scores: tuple[int, float], **more: Any) -> str:
    """Return the state of one hand-made case."""
    case = Case(**{"opened_on": OPENED, "scores": scores, **more})
    return str(period_data([case], on=ON).cases["state"].iloc[0])


# Which score is the outcome


@pytest.mark.parametrize(
    ("days", "outcome_day"),
    [
        ((0, 70, 84, 100), 84),  # the planned day itself
        ((0, 70, 112), 70),  # both edges: 14 days before is nearer than 28 after
        ((0, 77, 91), 77),  # equally near: the earlier
        ((0, 112), 112),
    ],
)
def test_the_outcome_is_the_score_nearest_to_the_planned_end(
    days: tuple[int, ...], outcome_day: int
) -> None:
    """From two weeks before twelve weeks to four weeks after (project assumption)."""
    scores = [(day, 60 + place) for place, day in enumerate(days)]
    cases = period_data([Case(opened_on=OPENED, scores=scores)], on=ON).cases
    assert cases["outcome_day"].iloc[0] == outcome_day


@pytest.mark.parametrize("day", [69, 113])
def test_a_score_outside_the_window_is_no_outcome(day: int) -> None:
    """A day too early or too late, and the case counts as lost."""
    assert state((0, 60), (day, 80)) == "lost"


def test_an_early_discharge_is_judged_by_its_last_score() -> None:
    """Three weeks or more after opening, at most a fortnight before the last day."""
    ended = {"discharged_on": OPENED + timedelta(days=50), "reason": "goals met"}
    assert state((0, 60), (36, 80), **ended) == "measured"
    assert state((0, 60), (35, 80), **ended) == "lost"
    early = {**ended, "discharged_on": OPENED + timedelta(days=25)}
    assert state((0, 60), (20, 80), **early) == "lost"


def test_a_score_in_the_window_goes_before_the_last_score_of_care() -> None:
    """However much nearer the other is to what it is measured by."""
    ended = {"discharged_on": OPENED + timedelta(days=60), "reason": "goals met"}
    case = Case(opened_on=OPENED, scores=[(0, 60), (60, 80), (100, 70)], **ended)
    framed = period_data([case], on=ON).cases
    assert framed[["outcome", "outcome_day"]].iloc[0].tolist() == [70, 100]


def test_the_states_of_a_case() -> None:
    """What can be said depends on the baseline, the time and what was measured."""
    assert state((0, 60), (84, 75)) == "measured"
    assert state((0, 60)) == "lost"
    assert state() == "without a baseline"
    late = ON - timedelta(days=111)
    assert state((0, 60), opened_on=late) == "under way"
    assert state((0, 60), opened_on=late - timedelta(days=1)) == "lost"


def test_gains_are_judged_in_the_direction_and_by_the_thresholds_of_the_measure() -> (
    None
):
    """AKPS: 10 matters (Crossley 2004), 13 is beyond error (Norwegian version 2021)."""
    gains = [9, 10, 12, 13]
    cases = [Case(opened_on=OPENED, scores=[(0, 60), (84, 60 + g)]) for g in gains]
    framed = period_data(cases, on=ON).cases
    assert framed["gain"].tolist() == gains
    assert framed["is_important"].tolist() == [0, 1, 1, 1]
    assert framed["is_detectable"].tolist() == [0, 0, 0, 1]


def test_a_baseline_without_room_is_said() -> None:
    """From 91 of 100 no gain of 10 can occur; from 90 it can."""
    cases = [Case(opened_on=OPENED, scores=[(0, score)]) for score in (90, 91)]
    assert period_data(cases, on=ON).cases["has_room"].tolist() == [1, 0]


def test_one_knee_a_person_is_the_first_that_is_left() -> None:
    """Which knee is first follows what was chosen."""
    both = [
        Case(opened_on=OPENED, patient=7, side="left", **FOLLOWED),
        Case(opened_on=OPENED + timedelta(days=1), patient=7, side="right", **FOLLOWED),
    ]
    assert period_data(both, on=ON).cases["is_first"].tolist() == [True, False]
    longer = [both[0], Case(opened_on=OPENED, patient=7, months=20, **FOLLOWED)]
    narrow = Choice(
        from_on=YEAR.from_on, until_on=YEAR.until_on, duration="over 12 months"
    )
    framed = period_data(longer, on=ON, choice=narrow).cases
    assert (framed.index.tolist(), framed["is_first"].tolist()) == ([2], [True])


def test_thirds_of_the_scale_follow_its_direction() -> None:
    """The worse third of the AKPS is the low one."""
    scores = (33, 34, 66, 67)
    cases = [Case(opened_on=OPENED, scores=[(0, score)]) for score in scores]
    bands = period_data(cases, on=ON).cases["baseline_band"].tolist()
    assert bands == ["worse third", "middle third", "middle third", "better third"]


def test_a_score_at_the_edge_of_a_third_is_in_the_middle_one() -> None:
    """Both edges of a scale to 100 lie on no binary number."""
    cases = [
        Case(opened_on=OPENED, measure="koos_pf", scores=[(0, score)])
        for score in (100 / 3, 200 / 3)
    ]
    bands = period_data(cases, on=ON).cases["baseline_band"].tolist()
    assert bands == ["middle third", "middle third"]


# Who is in the period


def test_the_rows_agree_with_a_hand_made_period(clinician: User) -> None:
    """The database and the hand-made frames give the same columns and values."""
    episode = case_of(clinician, (0, 60), (84, 75))
    framed = frames(clinician)["cases"].loc[episode.pk]
    assert framed["state"] == "measured"
    assert (framed["baseline"], framed["outcome"], framed["gain"]) == (60, 75, 15)
    made = period_data([Case(opened_on=OPENED, **FOLLOWED)], on=ON)
    assert set(frames(clinician)["cases"].columns) == set(made.cases.columns)


def test_only_what_opened_in_the_period_counts(clinician: User) -> None:
    """Both of its days belong to it."""
    episode = case_of(clinician)
    day = timedelta(days=1)
    for first, last, is_in in [
        (OPENED, OPENED, True),
        (OPENED + day, ON, False),
        (OPENED - 9 * day, OPENED - day, False),
    ]:
        choice = Choice(from_on=first, until_on=last)
        assert (episode.pk in frames(clinician, choice)["cases"].index) is is_in


def test_the_choice_narrows(clinician: User, colleague: User) -> None:
    """By clinician, side, duration and where the first score lies."""
    mine = case_of(clinician, (0, 30), side="left")
    theirs = case_of(
        colleague, (0, 80), side="right", symptom_onset_on=OPENED - timedelta(days=30)
    )
    for narrow, left in [
        ({"clinician": clinician.pk}, mine),
        ({"side": "right"}, theirs),
        ({"duration": "under 3 months"}, theirs),
        ({"baseline": "worse third"}, mine),
    ]:
        choice = Choice(from_on=YEAR.from_on, until_on=YEAR.until_on, **narrow)
        found = frames(clinician, choice)
        assert found["cases"].index.tolist() == [left.pk], narrow
        assert set(found["looks"]["episode"]) == {left.pk}


def test_another_sites_cases_are_not_there(clinician: User, stranger: User) -> None:
    """Not in the rows, nor in any count."""
    case_of(stranger, (0, 60), (84, 75))
    found = frames(clinician)
    assert (len(found["cases"]), len(found["looks"]), found["declined"]) == (0, 0, 0)


def test_who_declines_is_left_out_and_counted(clinician: User) -> None:
    """A person with two knees is one person."""
    patient = make_patient(by=clinician)
    for side in ("left", "right"):
        case_of(clinician, (0, 60), patient=patient, side=side)
    told = Patient.Told.IN_WRITING
    decline_audit(patient, by=clinician, on=OPENED, how=told)
    found = frames(clinician)
    assert (len(found["cases"]), len(found["looks"]), found["declined"]) == (0, 0, 1)


def test_voided_scores_do_not_count(clinician: User) -> None:
    """Neither as baseline nor as outcome."""
    episode = case_of(clinician, (0, 60))
    wrong = make_akps(episode=episode, on=OPENED + timedelta(days=84), total=75)
    void_assessment(wrong, by=clinician, why="wrong person")
    assert frames(clinician)["cases"]["state"].tolist() == ["lost"]


def test_another_language_is_not_compared(clinician: User) -> None:
    """The outcome stands, but its change is not counted."""
    episode = case_of(clinician, (0, 60))
    day = OPENED + timedelta(days=84)
    make_akps(episode=episode, on=day, total=75, language="nb")
    row = frames(clinician)["cases"].iloc[0]
    assert row["state"] == "not comparable"
    assert row["gain"] != row["gain"]


def test_a_persons_own_activities_are_compared_one_by_one(clinician: User) -> None:
    """Two activities rated both times: the limits of a single activity hold."""
    episode = make_episode(by=clinician, opened_on=OPENED, primary_measure="psfs")
    for day, first, second in ((0, 3, 4), (84, 6, 7)):
        record_assessment(
            episode=episode,
            by=clinician,
            form=FilledForm(
                measure="psfs", answers={"1": first, "2": second}, mode="alone"
            ),
            assessed_on=OPENED + timedelta(days=day),
        )
    row = frames(clinician)["cases"].iloc[0]
    assert (row["state"], row["gain"]) == ("measured", 3)


def test_an_empty_clinic_has_empty_frames_of_the_same_shape(clinician: User) -> None:
    """Sections can count nothing."""
    found = frames(clinician)
    made = period_data([])
    assert len(found["cases"]) == len(found["reviews"]) == 0
    assert set(found["cases"].columns) == set(made.cases.columns)


def test_queries_do_not_grow_with_cases(clinician: User) -> None:
    """The count is the same for one case and for six."""
    counts = []
    for more in (1, 5):
        for _ in range(more):
            case_of(clinician, (0, 60), (84, 75))
        with CaptureQueriesContext(connection) as queries:
            frames(clinician)
        counts.append(len(queries))
    assert counts[0] == counts[1]
