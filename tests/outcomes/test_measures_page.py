"""The page that says what is measured and where each threshold comes from."""

from collections.abc import Callable
from html import unescape
from pathlib import Path

from django.test import Client

from clinic.models import Site, User
from outcomes.measure_cards import build_measure_cards
from outcomes.policies import change_policy
from outcomes.science.measures import catalogue
from outcomes.science.policy import StallPolicy
from outcomes.wording import install_wording
from outcomes.wording_file import read_wording

PAGE = "/measures/"
DEMO_FOLDER = Path(__file__).parent.parent.parent / "outcomes" / "wording_demo"
SignedIn = Callable[[User], Client]


def text_of(client: Client) -> str:
    """Return the page as text."""
    response = client.get(PAGE)
    assert response.status_code == 200
    return unescape(response.content.decode())


def test_every_threshold_stands_there_with_its_source(
    signed_in: SignedIn, clinician: User
) -> None:
    """Population, source and mark of each published or assumed number."""
    page = text_of(signed_in(clinician))
    for measure in catalogue().values():
        for threshold in measure.thresholds:
            assert threshold.population[1:] in page  # it begins a sentence
            assert threshold.method in page
            assert f">{threshold.value:g}" in page
            assert threshold.source.citation in page
            assert f"({threshold.source.mark})" in page


def test_every_measure_shows_rule_and_rights(
    signed_in: SignedIn, clinician: User
) -> None:
    """Missing-item rule, licence, ages and edition of each instrument."""
    page = text_of(signed_in(clinician))
    for measure in catalogue().values():
        for words in (measure.missing.note, measure.licence, measure.ages_note):
            assert words in page


def test_measures_that_are_judged_alike_share_a_card() -> None:
    """The AKPS has its own; five pain ratings share one, worst pain differs."""
    cards = build_measure_cards(policy=StallPolicy(), wordings=[])
    assert [card.key for card in cards] == [
        "akps",
        "koos_pf",
        "lefs",
        "psfs",
        "groc",
        "pain_worst",
        "pain_usual",
    ]


def test_direction_is_said_in_words(signed_in: SignedIn, clinician: User) -> None:
    """Higher is better for scores, lower for pain."""
    page = text_of(signed_in(clinician))
    assert page.count("<dd>higher is better</dd>") == 4
    assert page.count("<dd>lower is better</dd>") == 2
    assert page.count("<dd>itself a change</dd>") == 1


def test_a_number_of_the_clinics_own_is_shown(
    signed_in: SignedIn, clinician: User, lead: User
) -> None:
    """Beside the default that it replaces."""
    change_policy(site=lead.site, by=lead, values={"mcid_akps": 8}, version=0)
    page = text_of(signed_in(clinician))
    assert "default; this clinic uses another: 8" in page


def test_without_wording_the_page_says_so(signed_in: SignedIn, clinician: User) -> None:
    """The labels shown are for entry by a clinician."""
    assert text_of(signed_in(clinician)).count("None installed: the short labels") == 5


def test_demonstration_wording_is_marked(
    signed_in: SignedIn, site: Site, clinician: User, lead: User
) -> None:
    """Nobody can take it for the validated text."""
    Site.objects.filter(pk=site.pk).update(is_demo=True)
    site.refresh_from_db()
    install_wording(read_wording(DEMO_FOLDER / "akps.toml"), site=site, by=lead)
    page = text_of(signed_in(clinician))
    assert page.count("Demonstration wording, not the validated text.") == 1
    assert "Invented kneecap questions" in page


def test_another_sites_wording_is_not_shown(
    signed_in: SignedIn, site: Site, lead: User, stranger: User
) -> None:
    """It belongs to the clinic that may use it."""
    Site.objects.filter(pk=site.pk).update(is_demo=True)
    site.refresh_from_db()
    install_wording(read_wording(DEMO_FOLDER / "akps.toml"), site=site, by=lead)
    assert "Invented kneecap questions" in text_of(signed_in(lead))
    assert "Invented kneecap questions" not in text_of(signed_in(stranger))


def test_the_administrator_has_no_clinical_pages(
    signed_in: SignedIn, administrator: User, clinician: User
) -> None:
    """The page needs a role that sees cases."""
    assert signed_in(administrator).get(PAGE).status_code == 403
    assert signed_in(clinician).get(PAGE).status_code == 200


def test_how_far_a_period_was_checked_stands_on_this_page_only(
    signed_in: SignedIn, clinician: User
) -> None:
    """The form shows patients the period alone."""
    page = text_of(signed_in(clinician))
    assert "period: today (from memory)" in page
    assert all("(" not in measure.recall for measure in catalogue().values())
