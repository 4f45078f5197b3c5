"""The parts of the visit form: what they ask, what they make of the answers."""

from datetime import date, timedelta
from typing import Any

import pytest
from django.http import QueryDict
from django.utils.datastructures import MultiValueDict

from clinic.draft_keys import draft_key
from clinic.models import Episode, User
from outcomes.live_scores import score_so_far
from outcomes.models import Assessment, PainScore, Wording
from outcomes.questionnaire_form import QuestionnaireForm, Setting
from outcomes.recording import record_visit
from outcomes.science.measures import measure
from outcomes.screen_form import ScreenForm
from outcomes.visit_form import VisitForm
from outcomes.visit_sheet import VisitSheet
from tests.factories import akps_answers, make_akps, make_patient, make_screened_episode

from .visit_pages import attended, no_to_all, with_akps


@pytest.fixture
def episode(clinician: User, today: date) -> Episode:
    """A case opened three weeks ago."""
    return make_screened_episode(by=clinician, opened_on=today - timedelta(weeks=3))


def posted(**fields: Any) -> QueryDict:
    """Return fields as a browser posts them."""
    form = QueryDict(mutable=True)
    lists = {k: v if isinstance(v, list) else [str(v)] for k, v in fields.items()}
    form.update(MultiValueDict(lists))
    return form


def sheet(episode: Episode, on: date, **fields: Any) -> VisitSheet:
    """Return a typed visit form."""
    return VisitSheet(episode=episode, on=on, typed=posted(**fields))


# Ratings


@pytest.mark.parametrize(
    ("raw", "value"), [("", None), ("0", 0), ("10", 10), (" 7 ", 7), ("07", 7)]
)
def test_zero_is_an_answer_and_nothing_is_not(
    episode: Episode, today: date, raw: str, value: int | None
) -> None:
    """An untouched scale stays empty."""
    form = VisitForm(posted(pain_worst=raw), episode=episode, on=today)
    form.full_clean()
    assert form.cleaned_data["pain_worst"] == value


@pytest.mark.parametrize("raw", ["11", "-1", "3.5", "ten", "٣", "1e1"])
def test_what_is_off_the_scale_is_refused(
    episode: Episode, today: date, raw: str
) -> None:
    """Whole numbers 0 to 10, nothing else."""
    form = VisitForm(posted(pain_worst=raw), episode=episode, on=today)
    assert "pain_worst" in form.errors


def test_pain_of_the_day_from_elsewhere_is_not_doubled(
    episode: Episode, today: date
) -> None:
    """One row a day; the sentence says so."""
    PainScore.objects.create(
        site=episode.site, episode=episode, rated_on=today, worst=4
    )
    form = VisitForm(
        posted(attendance="attended", visited_on=today, pain_usual="3"),
        episode=episode,
        on=today,
    )
    assert "already recorded for 1 Jun 2026" in str(form.errors["pain_worst"])


# The screen


def test_the_short_screen_asks_the_young_about_the_hip(
    clinician: User, today: date
) -> None:
    """Under 18 the hip is always asked (clinical reference 12)."""
    young = make_screened_episode(
        by=clinician,
        patient=make_patient(by=clinician, birth_date=date(2012, 3, 4)),
        opened_on=today,
    )
    asked = VisitSheet(episode=young, on=today).screen
    assert asked and "hip" in {c.key for c, _ in asked.questions()}
    adult = ScreenForm(kind="short", age=18)
    assert "hip" not in {c.key for c, _ in adult.questions()}


def test_every_question_needs_its_own_answer() -> None:
    """No is not assumed."""
    answers = {**no_to_all(), "screen-clot": "yes", "screen-decision": "Sent on."}
    form = ScreenForm(posted(**answers), kind="short", age=30)
    form.full_clean()
    form.require_all()
    assert not form.errors and form.answers()["clot"] and not form.answers()["septic"]
    empty = ScreenForm(posted(), kind="short", age=30)
    empty.full_clean()
    empty.require_all()
    assert len(empty.errors) == len(empty.questions()) == 5
    assert empty.answers() == {}


# Questionnaires


def test_answers_are_stored_as_the_scoring_code_spells_them() -> None:
    """Letters small, numbers as numbers, the rest left out."""
    form = QuestionnaireForm(
        posted(**{"akps-1": "A", "akps-2": "", "akps-mode": "alone"}),
        setting=Setting(about=measure("akps")),
    )
    form.full_clean()
    assert form.answers() == {"1": "a"}
    change = QuestionnaireForm(
        posted(**{"groc-overall": "+5"}), setting=Setting(about=measure("groc"))
    )
    change.full_clean()
    assert change.answers() == {"overall": 5}


@pytest.mark.parametrize(
    ("key", "answers", "value", "sentence"),
    [
        ("akps", akps_answers(74), 74, "13 of 13 answered; higher is better."),
        ("akps", {"1": "a"}, None, "1 of 13 answered: no total yet."),
        ("koos_pf", {str(n): 1 for n in range(1, 7)}, 75, "6 of 11 answered"),
        ("koos_pf", {str(n): 1 for n in range(1, 6)}, None, "5 of 11 answered"),
        ("psfs", {"3": 4, "5": 7}, 5.5, "2 of 2 answered"),
        ("psfs", {str(n): 4 for n in range(1, 7)}, None, "at most 5 activities"),
        ("lefs", {}, None, "Nothing answered yet."),
        ("groc", {"overall": -3}, -3, ""),
    ],
)
def test_the_score_so_far(
    key: str, answers: dict[str, Any], value: float | None, sentence: str
) -> None:
    """KOOS-PF needs half of its 11 items: 100 - 1 x 25 = 75 (KOOS scoring 2012)."""
    so_far = score_so_far(measure(key), answers)
    assert so_far.value == value and sentence in so_far.sentence


def test_short_answers_share_a_line() -> None:
    """Where all labels of a measure are short; installed wording may be long."""
    assert QuestionnaireForm(setting=Setting(about=measure("akps"))).layout == "buttons"


def test_one_long_answer_changes_the_layout_of_all_questions(lead: User) -> None:
    """Every question of a measure has the same layout."""
    options = {str(code): "short" for code in range(5)}
    items = {str(n): {"prompt": f"Q {n}", "options": options} for n in range(1, 21)}
    items["20"] = {"prompt": "Q 20", "options": {**options, "4": "a long answer " * 3}}
    wording = install(lead, texts={"intro": "", "items": items})
    form = QuestionnaireForm(setting=Setting(about=measure("lefs"), wording=wording))
    assert form.layout == "columns"


def install(lead: User, **columns: Any) -> Wording:
    """Install an invented wording of the LEFS at the lead's site."""
    items = {
        str(n): {
            "prompt": f"Invented question {n}",
            "options": {
                str(c): f"answer {c} to an invented question" for c in range(5)
            },
        }
        for n in range(1, 21)
    }
    defaults = {
        "measure": "lefs",
        "edition": 1,
        "name": "Invented wording",
        "permission": "Invented",
        "texts": {"intro": "Invented intro", "items": items},
    }
    return Wording.objects.create(
        site=lead.site, installed_by=lead, **{**defaults, **columns}
    )


def test_the_wording_that_was_shown_is_stored(
    episode: Episode, lead: User, clinician: User, today: date
) -> None:
    """Also when the lead installs another one between showing and saving."""
    shown = install(lead, is_demonstration=True)
    page = VisitSheet(episode=episode, on=today, also=["lefs"])
    lefs = page.questionnaires[-1]
    assert lefs.setting.texts.note == "Demonstration wording, not the validated text"
    assert lefs.questions()[0].prompt == "Invented question 1"
    assert lefs.layout == "columns"
    Wording.objects.update(retired_at="2026-06-01T00:00:00Z")
    install(lead, name="A later wording")
    answers = {f"lefs-{n}": "4" for n in range(1, 21)}
    details = {"lefs-mode": "alone", "lefs-language": "en", "lefs-wording": shown.pk}
    typed = sheet(
        episode, today, **attended(today, forms=["lefs"], **answers, **details)
    )
    assert typed.is_valid(), typed.problems()
    record_visit(episode=episode, by=clinician, entry=typed.to_entry())
    made = Assessment.objects.get()
    assert (made.wording, made.score) == (shown, 80)


def test_a_wording_of_another_site_cannot_be_claimed(
    episode: Episode, stranger: User, today: date
) -> None:
    """A crafted number means no wording."""
    other = install(stranger)
    details = {"lefs-language": "en", "lefs-wording": other.pk}
    typed = sheet(episode, today, **attended(today, forms=["lefs"], **details))
    assert typed.questionnaires[0].setting.wording is None


def test_the_questions_can_be_shown_in_another_installed_language(
    episode: Episode, lead: User, today: date
) -> None:
    """Choosing a language and asking for it changes the texts, not the answers."""
    install(lead)
    german = install(lead, language="de", name="Erfunden")
    fields = {"forms": ["lefs"], "lefs-language": "de", "lefs-1": "3", "also": "lefs"}
    typed = sheet(episode, today, **attended(today, **fields))
    form = typed.questionnaires[0]
    assert typed.also_was_asked and form.setting.wording == german
    assert form.questions()[0].value == "3"


# The whole


def test_the_form_does_not_ask_twice_what_is_held(
    episode: Episode, clinician: User, today: date
) -> None:
    """A case measured today has nothing due; the list still offers it."""
    make_akps(episode=episode, on=today, total=70)
    page = VisitSheet(episode=episode, on=today)
    assert page.questionnaires == [] and page.to_add[0].key == "akps"


def test_problems_point_to_where_they_are(episode: Episode, today: date) -> None:
    """In the order of the page, each with a place to jump to."""
    fields = attended(today, pain_worst="11", **{"screen-clot": None})
    fields |= with_akps(70, **{"akps-4": "q"})
    found = sheet(episode, today, **fields)
    assert not found.is_valid()
    assert [(p.anchor, p.label) for p in found.problems()] == [
        ("id_pain_worst", "Worst pain, last week"),
        (
            "id_screen-clot",
            "Swollen, tender or warm calf or thigh, or any suspicion of a clot",
        ),
        ("id_akps-4", "Stairs"),
    ]


def test_the_key_of_drafts_is_each_persons_own(
    clinician: User, colleague: User, settings: Any
) -> None:
    """256 bits, the same on every visit, another for everybody else."""
    mine = draft_key(clinician)
    assert len(mine) == 44 and mine == draft_key(clinician) != draft_key(colleague)
    settings.SECRET_KEY = "another installation"
    assert draft_key(clinician) != mine
