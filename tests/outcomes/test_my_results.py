"""My results: a clinician's own figures; no colleague has a name there."""

from datetime import date, timedelta
from typing import Any

import pytest
from django.utils.html import escape

from clinic.models import User
from outcomes.science.policy import StallPolicy
from outcomes.trends.between import standing_choice
from tests.factories import make_akps, make_episode

pytestmark = pytest.mark.usefixtures("clock")

PAGE = "/results/"


def treated(by: User, opened_on: date, *, cases: int) -> None:
    """Make measured cases of one clinician, all with an important gain."""
    for _ in range(cases):
        episode = make_episode(by=by, opened_on=opened_on)
        make_akps(episode=episode, on=opened_on, total=60)
        make_akps(episode=episode, on=opened_on + timedelta(days=84), total=84)


def test_own_figures_stand_without_the_name_of_a_colleague(
    clinician: User, colleague: User, signed_in: Any, today: date
) -> None:
    """With one colleague there is nobody to hide among: only the own count."""
    opened_on = standing_choice(StallPolicy(), on=today).until_on - timedelta(days=30)
    treated(clinician, opened_on, cases=3)
    treated(colleague, opened_on, cases=11)
    text = signed_in(clinician).get(PAGE).content.decode()
    assert "3 of 3 of your cases reached an important gain" in text
    assert "11" not in text.split("Your own results")[1].split("</section>")[0]
    assert escape(str(colleague)) not in text


def test_the_page_opens_on_the_period_in_which_colleagues_are_drawn(
    clinician: User, signed_in: Any, today: date
) -> None:
    """Another period says why colleagues are missing there."""
    standing = standing_choice(StallPolicy(), on=today)
    client = signed_in(clinician)
    text = client.get(PAGE).content.decode()
    assert f'value="{standing.from_on}"' in text
    assert f'value="{standing.until_on}"' in text
    assert "one period only" not in text
    other = {"opened_from": "2026-01-01", "opened_until": "2026-05-01"}
    assert "one period only" in client.get(PAGE, other).content.decode()
