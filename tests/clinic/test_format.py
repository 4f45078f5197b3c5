"""Filters that put dates, scores and words on a page."""

from datetime import UTC, date, datetime
from decimal import Decimal
from types import SimpleNamespace

import pytest
from django import forms
from django.template.loader import render_to_string

from clinic.templatetags import clinic_format as shown

ON = date(2026, 3, 23)


class Knee(forms.Form):
    """A form with one field of each kind that a label treats differently."""

    note = forms.CharField(help_text="In words.")
    side = forms.ChoiceField(
        choices=[("left", "Left knee"), ("right", "Right knee")],
        widget=forms.RadioSelect,
    )


def test_a_day_is_written_without_a_leading_zero():
    assert shown.day(date(2026, 3, 3)) == "3 Mar 2026"


def test_a_day_that_is_not_recorded_is_a_dash():
    assert shown.day(None) == "–"


def test_a_moment_is_put_on_the_clinics_clock(settings):
    settings.TIME_ZONE = "Australia/Sydney"
    late = datetime(2026, 3, 2, 15, 30, tzinfo=UTC)
    assert shown.day(late) == "3 Mar 2026"
    assert shown.moment(late) == "3 Mar 2026, 02:30"


@pytest.mark.parametrize(
    ("opened", "weeks", "words"),
    [
        (date(2026, 3, 23), 0, "under a week"),
        (date(2026, 3, 17), 0, "under a week"),
        (date(2026, 3, 16), 1, "1 week"),
        (date(2026, 2, 9), 6, "6 weeks"),
    ],
)
def test_weeks_are_completed_weeks(opened, weeks, words):
    assert shown.weeks_since(opened, ON) == weeks
    assert shown.weeks_words(opened, ON) == words


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (72, "72"),
        (72.0, "72"),
        (71.99999999999, "72"),
        (54.5, "54.5"),
        (54.25, "54.3"),
        (54.96, "55.0"),
        (Decimal("50.00"), "50"),
        (100, "100"),
        (0, "0"),
        (-4, "−4"),
        (None, "–"),
    ],
)
def test_a_score_shows_one_decimal_only_where_it_is_not_whole(value, text):
    assert shown.score(value) == text


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (11, "+11"),
        (-4, "−4"),
        (-16.5, "−16.5"),
        (7.25, "+7.3"),
        (0, "0"),
        (-0.0, "0"),
        (-0.04, "0.0"),
        (None, "–"),
    ],
)
def test_a_change_carries_its_sign(value, text):
    assert shown.signed(value) == text


def test_small_words():
    assert shown.side("left") == "Left knee"
    assert shown.plural(1, "visit") == "1 visit"
    assert shown.plural(0, "visit") == "0 visits"
    assert shown.plural(2, "diagnosis,diagnoses") == "2 diagnoses"
    assert shown.percent(-29.5) == "−30\N{NO-BREAK SPACE}%"
    assert [shown.yes_no(value) for value in (True, False, None)] == ["yes", "no", "–"]


def test_zero_is_an_answer_and_nothing_is_none():
    assert shown.is_chosen(0, "0")
    assert shown.is_chosen("0", 0)
    assert not shown.is_chosen(None, 0)
    assert not shown.is_chosen("", 0)


def test_every_verdict_has_a_shape():
    mcid = pytest.importorskip("outcomes.science.mcid")
    assert {str(verdict) for verdict in mcid.Verdict} == set(shown.VERDICT_MARKS)


def test_the_rank_of_a_finding_is_weight_and_word():
    assert [shown.rank_word(rank) for rank in (1, 2, 3, 7, 8, 10)] == [
        "Look first",
        "Look first",
        "Review",
        "Review",
        "Catch up",
        "Catch up",
    ]


def test_a_scale_offers_eleven_answers_and_chooses_none():
    page = render_to_string(
        "components/_scale.html", {"name": "pain", "legend": "Worst"}
    )
    assert page.count('type="radio"') == 11
    assert "checked" not in page


def test_a_scale_keeps_a_zero_that_came_back():
    context = {"name": "pain", "legend": "Worst", "value": "0"}
    page = render_to_string("components/_scale.html", context)
    assert page.count("checked") == 1
    assert 'value="0" checked' in page


def test_the_error_summary_leads_to_the_fields():
    form = Knee({})
    page = render_to_string("components/_errors.html", {"form": form})
    assert 'href="#id_note"' in page
    assert 'href="#id_side_0"' in page
    assert "checked" not in page


def test_one_summary_serves_several_forms():
    page = render_to_string("components/_errors.html", {"forms": [Knee({}), Knee({})]})
    assert page.count('class="error-summary"') == 1
    assert page.count('href="#id_note"') == 2


def test_no_summary_without_errors():
    page = render_to_string("components/_errors.html", {"form": Knee()})
    assert page.strip() == ""


def test_a_field_names_its_help_and_its_error():
    page = render_to_string("components/_field.html", {"field": Knee({})["note"]})
    assert 'aria-describedby="id_note_helptext id_note_error"' in page
    assert 'id="id_note_helptext"' in page
    assert 'id="id_note_error"' in page
    assert 'aria-invalid="true"' in page


def test_a_strip_says_its_course_in_words():
    strip = SimpleNamespace(
        width=160,
        height=72,
        points=[(4, 40.5), (60, 30)],
        polyline="4,40.5 60,30",
        error_top=30,
        error_height=20,
        important_y=None,
        baseline_y=40,
        label="64, then 79; higher is better",
        low_label="0",
        high_label="100",
    )
    page = render_to_string("components/_strip.html", {"strip": strip})
    assert 'aria-label="64, then 79; higher is better"' in page
    assert page.count('class="strip-last"') == 1
    assert "strip-important" not in page


def test_a_figure_cannot_close_its_script():
    chart = {
        "id": "course",
        "title": "Course",
        "json": {"data": [], "layout": {"title": "</script><b>"}},
        "table_head": ["Date"],
        "table_rows": [],
    }
    page = render_to_string("components/_chart.html", {"chart": chart})
    assert "</script><b>" not in page
    assert 'id="course-data"' in page


def test_a_title_in_mid_sentence_keeps_its_months() -> None:
    """Only the first letter changes."""
    title = "Not seen for 22 days (last 3 Nov 2026)"
    assert shown.lower_first(title) == "not seen for 22 days (last 3 Nov 2026)"
