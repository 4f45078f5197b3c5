"""The one set of filters that puts dates, scores and words on a page."""

from collections.abc import Iterable
from datetime import date, datetime
from decimal import ROUND_HALF_UP, Decimal
from typing import Any

from django import template
from django.forms import BoundField
from django.utils import timezone

register = template.Library()

DASH = "\N{EN DASH}"  # stands for "not recorded"
MINUS = "\N{MINUS SIGN}"
MONTHS = "Jan Feb Mar Apr May Jun Jul Aug Sep Oct Nov Dec".split()
NEARLY_WHOLE = Decimal("1e-9")  # float arithmetic leaves crumbs: 71.99999999999 is 72


@register.filter
def day(value: date | datetime | None) -> str:
    """Return a day as "3 Mar 2026"; a moment is first put on the clinic's clock."""
    if not value:
        return DASH
    if isinstance(value, datetime) and timezone.is_aware(value):
        value = timezone.localtime(value)
    return f"{value.day} {MONTHS[value.month - 1]} {value.year}"


@register.filter
def moment(value: datetime | None) -> str:
    """Return a moment as "3 Mar 2026, 14:05" on the clinic's clock."""
    if not value:
        return DASH
    local = timezone.localtime(value) if timezone.is_aware(value) else value
    return f"{day(local)}, {local:%H:%M}"


@register.filter
def weeks_since(value: date | None, on: date) -> int | str:
    """Return the completed weeks from one day to another."""
    return (on - value).days // 7 if value else DASH


@register.filter
def weeks_words(value: date | None, on: date) -> str:
    """Return the completed weeks from one day to another as "6 weeks"."""
    if not value:
        return DASH
    weeks = (on - value).days // 7
    return "under a week" if weeks == 0 else plural(weeks, "week")


@register.filter
def score(value: float | Decimal | None) -> str:
    """Return whole scores as "72", all others with one decimal, halves upwards."""
    if value is None or value == "":
        return DASH
    exact = Decimal(str(value))
    whole = exact.to_integral_value()
    if abs(exact - whole) < NEARLY_WHOLE:
        text = str(whole)
    else:
        text = str(exact.quantize(Decimal("0.1"), rounding=ROUND_HALF_UP))
    return text.removeprefix("-") if Decimal(text) == 0 else text.replace("-", MINUS)


@register.filter
def signed(value: float | Decimal | None) -> str:
    """Return a change as "+11" or, with a true minus sign, "-4"; no change is "0"."""
    text = score(value)
    return f"+{text}" if text[0].isdigit() and text not in ("0", "0.0") else text


@register.filter
def percent(value: float | None) -> str:
    """Return a percentage, already in per cent, without decimals."""
    if value is None:
        return DASH
    whole = Decimal(str(value)).quantize(Decimal(1), rounding=ROUND_HALF_UP)
    return f"{whole}\N{NO-BREAK SPACE}%".replace("-", MINUS)


@register.filter
def side(value: str) -> str:
    """Return "Left knee" or "Right knee"."""
    return f"{str(value).capitalize()} knee" if value else DASH


@register.filter
def lower_first(words: str) -> str:
    """Return words for the middle of a sentence; months keep their capital."""
    return words[:1].lower() + words[1:]


@register.filter
def plural(count: int, word: str) -> str:
    """Return "1 visit" or "3 visits"; an irregular plural follows a comma."""
    one, _, many = word.partition(",")
    return f"{count} {one if count == 1 else many or one + 's'}"


@register.filter
def clinician(person: Any) -> str:
    """Return who treats, and whether they left."""
    return f"{person}" if person.is_active else f"{person} (no longer signs in)"


@register.filter
def yes_no(value: bool | None) -> str:
    """Return "yes", "no", or a dash where nobody answered."""
    return DASH if value is None else "yes" if value else "no"


@register.filter
def up_to(high: int) -> range:
    """Return 0, 1, ... up to and including `high`."""
    return range(int(high) + 1)


@register.filter
def is_chosen(value: Any, option: Any) -> bool:
    """Tell whether a posted or stored answer is this option; no answer is none."""
    return value is not None and value != "" and str(value) == str(option)


@register.filter
def first_input_id(field: BoundField) -> str:
    """Return the id an error summary jumps to: of the first button in a group."""
    return f"{field.auto_id}_0" if field.use_fieldset else str(field.auto_id)


@register.filter
def has_errors(forms: Iterable[Any] | None) -> bool:
    """Tell whether any of several forms came back with something to mend."""
    return any(form.errors for form in forms or ())


# Shapes for the verdicts on a change; the words beside them carry the meaning.
VERDICT_MARKS = {
    "improved": "\N{BLACK UP-POINTING TRIANGLE}",
    "real_not_important": "\N{WHITE UP-POINTING TRIANGLE}",
    "possible": "\N{WHITE DIAMOND}",
    "points_only": "\N{WHITE DIAMOND}",
    "percent_only": "\N{WHITE DIAMOND}",
    "none": "\N{WHITE CIRCLE}",
    "possible_loss": "\N{WHITE DIAMOND}",
    "real_loss_not_important": "\N{WHITE DOWN-POINTING TRIANGLE}",
    "worse": "\N{BLACK DOWN-POINTING TRIANGLE}",
    "cannot_say": DASH,
}


@register.filter
def verdict_mark(verdict: str) -> str:
    """Return the shape beside a verdict: up, down, diamond or circle."""
    return VERDICT_MARKS.get(str(verdict), DASH)


# How heavily a finding is set: its rank decides (review policy, ranks 1 to 10).
LAST_OF_FIRST, LAST_OF_REVIEW = 2, 7


@register.filter
def rank_weight(rank: int) -> str:
    """Return the weight of the ink bar beside a finding: first, review or tidy."""
    if int(rank) <= LAST_OF_FIRST:
        return "first"
    return "review" if int(rank) <= LAST_OF_REVIEW else "tidy"


@register.filter
def rank_word(rank: int) -> str:
    """Return the word above a finding, so that its weight is not only seen."""
    words = {"first": "Look first", "review": "Review", "tidy": "Catch up"}
    return words[rank_weight(rank)]
