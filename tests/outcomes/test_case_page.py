"""The case page: course, verdicts and visits in words, with tables beside charts."""

from datetime import date, timedelta
from typing import Any

import pytest

from clinic.models import Episode, User
from outcomes.recording import FilledForm, record_assessment
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
