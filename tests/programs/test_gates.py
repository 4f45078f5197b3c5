"""The gates of a case: the flow-restriction screen, red flags, advice."""

from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

import pytest

from clinic import screening
from clinic.models import AuditEvent, Episode, Screen, Site, User
from programs import gates, safety
from programs.dosing.flow_questions import AddedRisk, Contraindication, questions
from programs.dosing.flow_screen import (
    Blocked,
    Clear,
    Clearance,
    Expired,
    Missing,
    NeedsDecision,
)
from programs.dosing.limits import DosingPolicy
from programs.dosing_policies import change_dosing
from programs.flow_answers import ScreenRefused
from programs.flow_words import flow_words
from programs.models import FlowScreen
from tests.factories import (
    flow_answers,
    make_episode,
    make_event,
    make_flow_screen,
    make_patient,
)

pytestmark = pytest.mark.usefixtures("clock")

MONTH = timedelta(days=31)


@pytest.fixture
def case(clinician: User, today: date) -> Episode:
    """A case that has been open long enough for a screen to grow old."""
    return make_episode(by=clinician, opened_on=today - 7 * MONTH)


def said(stopped_on: date, answered_on: date) -> Clearance:
    """Return an invented physician's clearance."""
    return Clearance("Dr Inventa", "May train with a cuff.", answered_on, stopped_on)


# The flow-restriction screen


def test_a_fresh_screen_opens_the_gate(case: Episode, today: date) -> None:
    """Answered no throughout and signed: valid for three months, that day included."""
    make_flow_screen(episode=case, on=today)
    status = gates.flow_status(case, on=today)
    assert isinstance(status, Clear)
    assert status.until_on == date(2026, 9, 1)
    assert isinstance(gates.flow_status(case, on=status.until_on), Clear)


def test_no_screen_keeps_it_closed(case: Episode, today: date) -> None:
    """Nobody has asked."""
    assert isinstance(gates.flow_status(case, on=today), Missing)


@pytest.mark.parametrize("item", questions().contraindications, ids=lambda i: i.key)
def test_every_contraindication_blocks_with_its_reason(
    case: Episode, today: date, item: Contraindication
) -> None:
    """A decision in words does not lift it."""
    make_flow_screen(
        episode=case, on=today, answers={item.key: "yes"}, decision="I decide so."
    )
    status = gates.flow_status(case, on=today)
    assert isinstance(status, Blocked)
    assert status.keys == (item.key,)
    assert item.reason in flow_words(status).lines[0]


@pytest.mark.parametrize("item", questions().risks, ids=lambda i: i.key)
def test_every_added_risk_needs_a_decision(
    case: Episode, today: date, item: AddedRisk
) -> None:
    """Without words it stays closed; with words it opens."""
    make_flow_screen(episode=case, on=today, answers={item.key: "yes"})
    status = gates.flow_status(case, on=today)
    assert isinstance(status, NeedsDecision)
    assert status.risks == (item.key,)
    make_flow_screen(
        episode=case, on=today, answers={item.key: "yes"}, decision="Short sets first."
    )
    assert isinstance(gates.flow_status(case, on=today), Clear)


def test_a_screen_ends_after_the_months_of_the_policy(
    case: Episode, today: date, lead: User
) -> None:
    """The site's own shorter validity counts as well."""
    make_flow_screen(episode=case, on=today - 2 * MONTH)
    assert isinstance(gates.flow_status(case, on=today), Clear)
    assert isinstance(gates.flow_status(case, on=today + 2 * MONTH), Expired)
    change_dosing(
        site=case.site,
        by=lead,
        values={"screen_months": 1},
        is_advice_on=True,
        version=0,
    )
    assert isinstance(gates.flow_status(case, on=today), Expired)


@pytest.mark.parametrize("days_later", [0, 1, 5])
def test_an_event_ends_the_screen(case: Episode, today: date, days_later: int) -> None:
    """On the day of the screen or later; a new screen on a later day opens it again."""
    screened_on = today - timedelta(days=10)
    make_flow_screen(episode=case, on=screened_on)
    assert isinstance(gates.flow_status(case, on=today), Clear)
    make_event(episode=case, on=screened_on + timedelta(days=days_later))
    assert isinstance(gates.flow_status(case, on=today), Expired)
    make_flow_screen(episode=case, on=today)
    assert isinstance(gates.flow_status(case, on=today), Clear)


def test_any_event_ends_it(case: Episode, today: date) -> None:
    """Also one that was not during exercise with a cuff."""
    make_flow_screen(episode=case, on=today)
    make_event(episode=case, on=today, is_during_flow_restriction=False)
    assert isinstance(gates.flow_status(case, on=today), Expired)


def test_an_event_told_later_ends_it_too(
    case: Episode, today: date, clock: Callable[[date], None]
) -> None:
    """It happened before the screen, but nobody knew when the screen was signed."""
    make_flow_screen(episode=case, on=today)
    clock(today + timedelta(days=2))
    make_event(episode=case, on=today - timedelta(days=3))
    on = today + timedelta(days=2)
    assert isinstance(gates.flow_status(case, on=on), Expired)
    make_flow_screen(episode=case, on=on)
    assert isinstance(gates.flow_status(case, on=on), Clear)


def test_an_event_before_the_screen_does_not_end_it(
    case: Episode, today: date, clock: Callable[[date], None]
) -> None:
    """It was known when the screen was signed."""
    clock(today - timedelta(days=3))
    make_event(episode=case, on=today - timedelta(days=3))
    clock(today)
    make_flow_screen(episode=case, on=today)
    assert isinstance(gates.flow_status(case, on=today), Clear)


def test_a_voided_event_ends_nothing(
    case: Episode, today: date, clinician: User
) -> None:
    """It was reported by mistake."""
    make_flow_screen(episode=case, on=today)
    event = make_event(episode=case, on=today)
    assert isinstance(gates.flow_status(case, on=today), Expired)
    safety.void_event(event, by=clinician, why="Another patient.")
    assert isinstance(gates.flow_status(case, on=today), Clear)


def test_another_episodes_screen_and_event_do_not_count(
    case: Episode, today: date, clinician: User
) -> None:
    """Not even of the same person's other knee."""
    other = make_episode(
        by=clinician, patient=case.patient, side="right", opened_on=case.opened_on
    )
    make_flow_screen(episode=other, on=today)
    assert isinstance(gates.flow_status(other, on=today), Clear)
    assert isinstance(gates.flow_status(case, on=today), Missing)
    make_flow_screen(episode=case, on=today)
    make_event(episode=other, on=today)
    assert isinstance(gates.flow_status(case, on=today), Clear)
    assert isinstance(gates.flow_status(other, on=today), Expired)


def test_a_voided_screen_does_not_count(
    case: Episode, today: date, clinician: User
) -> None:
    """The one before counts again, and without one nothing does."""
    screen = make_flow_screen(episode=case, on=today)
    assert isinstance(gates.flow_status(case, on=today), Clear)
    safety.void_flow_screen(screen, by=clinician, why="Another patient.")
    assert isinstance(gates.flow_status(case, on=today), Missing)


def test_the_newest_screen_alone_counts(case: Episode, today: date) -> None:
    """A valid one of yesterday does not outlive today's refusal."""
    make_flow_screen(episode=case, on=today - timedelta(days=1))
    make_flow_screen(episode=case, on=today, answers={"clot": "yes"})
    assert isinstance(gates.flow_status(case, on=today), Blocked)


def test_questions_of_another_edition_do_not_count(case: Episode, today: date) -> None:
    """The screen is asked again when its questions have changed."""
    make_flow_screen(episode=case, on=today)
    FlowScreen.objects.update(edition=questions().edition + 1)
    assert isinstance(gates.flow_status(case, on=today), Missing)


# Clearance


def test_a_clearance_opens_it_with_a_decision(case: Episode, today: date) -> None:
    """The physician's answer, and then the clinician's own words."""
    stopped_on = today - timedelta(days=9)
    make_flow_screen(episode=case, on=stopped_on, answers={"clot": "yes"})
    cleared: dict[str, Any] = {
        "answers": {"clot": "cleared"},
        "clearance": said(stopped_on, today - timedelta(days=2)),
    }
    make_flow_screen(episode=case, on=today, **cleared)
    assert isinstance(gates.flow_status(case, on=today), NeedsDecision)
    make_flow_screen(episode=case, on=today, decision="Low pressure.", **cleared)
    status = gates.flow_status(case, on=today)
    assert isinstance(status, Clear)
    assert status.risks == ("clot",)


def refused(case: Episode, on: date, **details: Any) -> dict[str, str]:
    """Return why a screen is not kept."""
    before = FlowScreen.objects.count()
    with pytest.raises(ScreenRefused) as caught:
        make_flow_screen(episode=case, on=on, **details)
    assert FlowScreen.objects.count() == before
    return caught.value.errors


def test_a_no_does_not_lift_what_had_stopped_it(
    case: Episode, today: date, clinician: User
) -> None:
    """Asking again until the answer suits is no way round; voiding a slip is."""
    stop = make_flow_screen(
        episode=case, on=today - timedelta(days=1), answers={"clot": "yes"}
    )
    assert set(refused(case, today)) == {"clot"}
    assert isinstance(gates.flow_status(case, on=today), Blocked)
    safety.void_flow_screen(stop, by=clinician, why="Read the wrong line.")
    make_flow_screen(episode=case, on=today)
    assert isinstance(gates.flow_status(case, on=today), Clear)


def test_nothing_is_cleared_that_had_not_stopped_it(case: Episode, today: date) -> None:
    """Clearance is a new screen after the one that was stopped."""
    answers = {"clot": "cleared"}
    assert set(refused(case, today, answers=answers)) == {"clot"}
    make_flow_screen(episode=case, on=today, answers={"heart": "yes"})
    wrong = {"clot": "cleared", "heart": "cleared"}
    found = refused(case, today, answers=wrong, clearance=said(today, today))
    assert set(found) == {"clot"}


@pytest.mark.parametrize(
    ("days", "field"),
    [
        ({"answered": -6}, "physician_answered_on"),
        ({"answered": 1}, "physician_answered_on"),
        ({"stopped": -8}, "stopped_on"),
    ],
)
def test_a_clearance_fits_its_stop(
    case: Episode, today: date, days: dict[str, int], field: str
) -> None:
    """After the screen that was stopped, not after this one, and naming it."""
    stopped = today - timedelta(days=5)
    make_flow_screen(episode=case, on=stopped, answers={"clot": "yes"})
    clearance = said(
        today + timedelta(days=days.get("stopped", -5)),
        today + timedelta(days=days.get("answered", -1)),
    )
    answers = {"clot": "cleared"}
    assert set(refused(case, today, answers=answers, clearance=clearance)) == {field}
    make_flow_screen(
        episode=case,
        on=today,
        answers=answers,
        clearance=said(stopped, today - timedelta(days=1)),
    )
    assert isinstance(gates.flow_status(case, on=today), NeedsDecision)


def test_an_old_clearance_does_not_lift_a_new_stop(case: Episode, today: date) -> None:
    """The physician has to have answered after the last yes."""
    first, second = today - timedelta(days=20), today - timedelta(days=5)
    make_flow_screen(episode=case, on=first, answers={"clot": "yes"})
    make_flow_screen(episode=case, on=second, answers={"clot": "yes"})
    old = said(first, today - timedelta(days=18))
    found = refused(case, today, answers={"clot": "cleared"}, clearance=old)
    assert set(found) == {"physician_answered_on"}


@pytest.mark.parametrize("blank", ["physician", "answer"])
def test_a_clearance_is_whole(case: Episode, today: date, blank: str) -> None:
    """It names the physician and the answer."""
    make_flow_screen(episode=case, on=today, answers={"clot": "yes"})
    words = {"physician": "Dr Inventa", "answer": "Yes."} | {blank: " "}
    clearance = Clearance(**words, answered_on=today, stopped_on=today)
    answers = {"clot": "cleared"}
    found = refused(case, today, answers=answers, clearance=clearance)
    assert set(found) == {"physician" if blank == "physician" else "physician_answer"}
    assert set(refused(case, today, answers=answers)) >= {"physician", "stopped_on"}


def test_a_clearance_of_nothing_is_refused(case: Episode, today: date) -> None:
    """A physician's answer without an answer marked as cleared is a slip."""
    found = refused(case, today, clearance=said(today, today))
    assert set(found) == {"physician"}


def test_open_and_unknown_questions_are_refused(
    case: Episode, today: date, clinician: User
) -> None:
    """Nothing is answered by default."""
    answers = flow_answers(appetite="no")
    del answers["smoking"]
    with pytest.raises(ScreenRefused) as caught:
        safety.sign_flow_screen(episode=case, by=clinician, on=today, answers=answers)
    assert set(caught.value.errors) == {"smoking", "appetite"}


# The other gates


def test_an_undecided_red_flag_closes_the_gate(
    case: Episode, today: date, clinician: User
) -> None:
    """Until it is decided in words; the person's other knee counts too."""
    other = make_episode(by=clinician, patient=case.patient, side="right")
    positive = screening.answer_screen(
        episode=other,
        by=clinician,
        form=Screen.Form.FULL,
        answers={"septic": True},
        on=today,
    )
    for episode in (case, other):
        found = gates.gates_for(episode, on=today, is_flow_restricted=False)
        assert found.is_red_flag_undecided
    screening.decide(positive, by=clinician, decision="Seen today; not septic.")
    assert not gates.is_red_flag_undecided(case)


def test_somebody_elses_red_flag_does_not_count(
    case: Episode, today: date, clinician: User
) -> None:
    """Nor does a negative screen of one's own."""
    for episode, answers in (
        (make_episode(by=clinician, patient=make_patient(by=clinician)), True),
        (case, False),
    ):
        screening.answer_screen(
            episode=episode,
            by=clinician,
            form=Screen.Form.FULL,
            answers={"septic": answers},
            on=today,
        )
    assert not gates.is_red_flag_undecided(case)


def test_advice_is_on_until_the_site_turns_it_off(
    case: Episode, today: date, site: Site, other_site: Site, lead: User
) -> None:
    """For that site alone."""
    assert gates.gates_for(case, on=today, is_flow_restricted=False).is_advice_on
    change_dosing(site=site, by=lead, values={}, is_advice_on=False, version=0)
    case.refresh_from_db()
    assert not gates.gates_for(case, on=today, is_flow_restricted=False).is_advice_on
    assert gates.is_advice_on(other_site)


def test_the_flow_screen_is_a_gate_only_where_it_is_used(
    case: Episode, today: date
) -> None:
    """A line without a cuff is not held up by it."""
    without = gates.gates_for(case, on=today, is_flow_restricted=False)
    assert without.flow_screen is None
    with_cuff = gates.gates_for(case, on=today, is_flow_restricted=True)
    assert isinstance(with_cuff.flow_screen, Missing)


def test_a_sites_numbers_are_its_own(site: Site, other_site: Site, lead: User) -> None:
    """What a site did not change stays at the default."""
    change_dosing(
        site=site, by=lead, values={"easy_pain": 1.0}, is_advice_on=True, version=0
    )
    assert gates.dosing_for(site) == DosingPolicy(easy_pain=1.0)
    assert gates.dosing_for(other_site) == DosingPolicy()


# On the record


def test_acts_of_safety_go_on_the_record(
    case: Episode, today: date, clinician: User
) -> None:
    """One line each, with who and which patient."""
    screen = make_flow_screen(episode=case, on=today)
    event = make_event(episode=case, on=today)
    care = safety.record_other_care(
        episode=case, by=clinician, what="injection", began_on=today, words="Invented."
    )
    safety.end_other_care(care, by=clinician, on=today)
    safety.void_flow_screen(screen, by=clinician, why="slip")
    safety.void_event(event, by=clinician, why="slip")
    safety.void_other_care(care, by=clinician, why="slip")
    lines = AuditEvent.objects.filter(patient=case.patient, by=clinician)
    actions = lines.order_by("pk").values_list("action", flat=True)
    assert list(actions)[-7:] == [
        "flow_screen.signed",
        "event.reported",
        "other_care.recorded",
        "other_care.ended",
        "flow_screen.voided",
        "event.voided",
        "other_care.voided",
    ]


@pytest.mark.parametrize("act", ["sign", "report", "record"])
def test_an_act_without_its_line_does_not_happen(
    case: Episode,
    today: date,
    clinician: User,
    monkeypatch: pytest.MonkeyPatch,
    act: str,
) -> None:
    """Row and audit line are one transaction."""
    acts: dict[str, Callable[[], object]] = {
        "sign": lambda: make_flow_screen(episode=case, on=today),
        "report": lambda: make_event(episode=case, on=today),
        "record": lambda: safety.record_other_care(
            episode=case, by=clinician, what="illness", began_on=today, words="x"
        ),
    }

    def fail(*args: object, **kwargs: object) -> None:
        raise RuntimeError("no line")

    with monkeypatch.context() as patch:
        patch.setattr("clinic.models.record.AuditQuerySet.record", fail)
        with pytest.raises(RuntimeError):
            acts[act]()
    rows = [case.flow_screens, case.adverse_events, case.other_care]
    assert [row.count() for row in rows] == [0, 0, 0]
    acts[act]()
    assert sum(row.count() for row in rows) == 1
