"""The case page: course, verdicts and visits in words, with tables beside charts."""

from datetime import date, timedelta
from typing import Any

import pytest

from clinic.models import Episode, User
from outcomes.recording import FilledForm, name_activity, record_assessment
from tests.factories import make_akps, make_episode, make_visit

OPENED = date(2026, 3, 9)


@pytest.fixture
def improving(clinician: User) -> Episode:
    """Case A of the clinical reference, section 10.3: 68, 78, 84; pain 6, 4, 2."""
    episode = make_episode(by=clinician, opened_on=OPENED)
    for week, total, worst in ((0, 68, 6), (6, 78, 4), (12, 84, 2)):
        on = OPENED + timedelta(weeks=week)
        make_visit(
            episode=episode, on=on, pain={"worst": worst, "usual": 1}, note="Step-downs"
        )
        make_akps(episode=episode, on=on, total=total)
    return episode


@pytest.fixture
def text(signed_in: Any, clock: Any) -> Any:
    """Return the text of a case page for a person."""

    def read(person: User, episode: Episode) -> str:
        return signed_in(person).get(f"/cases/{episode.pk}/").content.decode()

    return read


def test_the_verdict_is_in_words_with_its_numbers(
    clinician: User, improving: Episode, text: Any
) -> None:
    """+16: beyond error (13) and large enough to matter (10); pain 6 to 2 as well."""
    page = text(clinician, improving)
    assert "improved" in page
    assert "+16" in page
    assert "Crossley 2004" in page
    assert "higher is better" in page
    assert "lower is better" in page


def test_every_chart_has_its_numbers_in_a_table(
    clinician: User, improving: Episode, text: Any
) -> None:
    """Each figure is followed by the same numbers."""
    page = text(clinician, improving)
    assert page.count("data-chart=") == page.count("The same numbers in a table") == 2
    assert "<td>84</td>" in page
    assert "<td>+16</td>" in page


def test_charts_say_nothing_in_inline_script(
    clinician: User, improving: Episode, text: Any
) -> None:
    """Figures travel as JSON; a crafted note cannot leave it."""
    make_visit(
        episode=improving,
        on=OPENED + timedelta(days=1),
        note="</script><script>alert(1)</script>",
    )
    page = text(clinician, improving)
    assert "<script>" not in page
    assert "&lt;/script&gt;" in page


def test_an_unscorable_form_says_what_is_missing(
    clinician: User, improving: Episode, text: Any
) -> None:
    """No guess: the form stands with the reason for no score."""
    record_assessment(
        episode=improving,
        by=clinician,
        form=FilledForm(measure="lefs", answers={"1": 4}, mode="alone"),
        assessed_on=OPENED,
    )
    assert "no score" in text(clinician, improving)


def test_a_colleague_reads_but_is_offered_cover_only(
    colleague: User, improving: Episode, text: Any
) -> None:
    """Writing belongs to the case's clinician, to cover and to the lead."""
    page = text(colleague, improving)
    assert "Cover this case" in page
    assert "Log a visit" not in page


def test_a_stranger_finds_nothing(
    stranger: User, improving: Episode, signed_in: Any
) -> None:
    """Another site's case does not exist."""
    assert signed_in(stranger).get(f"/cases/{improving.pk}/").status_code == 404


def test_an_empty_case_says_what_comes_first(
    clinician: User, text: Any, today: date
) -> None:
    """A fresh case shows where scores will stand."""
    page = text(clinician, make_episode(by=clinician, opened_on=today))
    assert "Nothing measured yet" in page
    assert "no score yet" in page


def test_names_in_any_script_are_isolated(
    clinician: User, text: Any, today: date
) -> None:
    """A right-to-left name does not turn its line around."""
    from tests.factories import make_patient

    patient = make_patient(by=clinician, given_name="نور", family_name="الهدى")
    page = text(clinician, make_episode(by=clinician, patient=patient, opened_on=today))
    assert '<bdi class="name" dir="auto">نور الهدى</bdi>' in page


def lefs(episode: Episode, on: date, each: int) -> None:
    """Record a LEFS with the same answer to all twenty items."""
    answers = {str(item): each for item in range(1, 21)}
    form = FilledForm(measure="lefs", answers=answers, mode="alone")
    record_assessment(episode=episode, by=episode.clinician, form=form, assessed_on=on)


@pytest.mark.parametrize(("later", "is_said"), [(2, True), (3, False)])
def test_another_measure_that_is_worse_stands_beside_a_low_score(
    clinician: User, text: Any, clock: Any, later: int, *, is_said: bool
) -> None:
    """LEFS 60 to 40 is beyond its error of 9; 60 to 60 says nothing."""
    episode = make_episode(by=clinician, opened_on=OPENED)
    for week, total, each in ((0, 60, 3), (3, 60, 3), (6, 47, later)):
        on = OPENED + timedelta(weeks=week)
        make_visit(episode=episode, on=on)
        make_akps(episode=episode, on=on, total=total)
        lefs(episode, on, each)
    clock(OPENED + timedelta(weeks=6))
    page = text(clinician, episode)
    assert "One low score, re-measure soon" in page
    assert ("LEFS also says worse, beyond error." in page) == is_said
    assert ("often noise" not in page) == is_said


def test_a_form_without_a_score_stands_under_its_measure(
    clinician: User, improving: Episode, text: Any
) -> None:
    """Not under pain, where nobody looks for it."""
    on = OPENED + timedelta(weeks=13)
    form = FilledForm(measure="akps", answers={"1": "a"}, mode="alone")
    record_assessment(episode=improving, by=clinician, form=form, assessed_on=on)
    lefs_answers = FilledForm(measure="lefs", answers={"1": 4}, mode="alone")
    record_assessment(
        episode=improving, by=clinician, form=lefs_answers, assessed_on=on
    )
    page = text(clinician, improving)
    course = page[page.index(">Course</h2>") :]
    places = [course.index(words) for words in ("AKPS, 8", "LEFS, 8", "chart-pain")]
    assert places == sorted(places)
    assert course.count(": no score.") == 2


def psfs(episode: Episode, on: date, ratings: dict[str, int]) -> None:
    """Record a PSFS by activity number."""
    form = FilledForm(measure="psfs", answers=ratings, mode="alone")
    record_assessment(episode=episode, by=episode.clinician, form=form, assessed_on=on)


def test_activities_go_by_the_patients_words_and_limits_of_one(
    clinician: User, text: Any
) -> None:
    """Two activities: the verdict, the band and its note share the single limits."""
    episode = make_episode(by=clinician, opened_on=OPENED, primary_measure="psfs")
    for words in ("Kneel to garden", "Run for the bus"):
        name_activity(episode=episode, words=words)
    psfs(episode, OPENED, {"1": 3, "2": 4})
    psfs(episode, OPENED + timedelta(weeks=3), {"1": 7, "2": 4})
    page = text(clinician, episode)
    assert "“Kneel to garden” alone: better by 4" in page
    assert "Activity 1" not in page
    assert "Hatched: measurement error of a single activity, 3 points" in page
    assert "the change that matters of a single activity, 3 points" in page


def test_other_activities_than_at_first_have_no_band(
    clinician: User, text: Any
) -> None:
    """The verdict covers the common ones, the first score does not."""
    episode = make_episode(by=clinician, opened_on=OPENED)
    psfs(episode, OPENED, {"1": 3, "2": 4, "3": 4})
    psfs(episode, OPENED + timedelta(weeks=3), {"1": 7, "2": 4, "4": 8})
    page = text(clinician, episode)
    assert "No band: other activities were rated than at first" in page
    assert "Activity 1 alone: better by 4" in page
