"""Numbers, dates and changes in plain words, with their units."""

from __future__ import annotations

from datetime import date

Evidence = tuple[tuple[str, str], ...]

_MONTHS = "Jan Feb Mar Apr May Jun Jul Aug Sep Oct Nov Dec".split()


def day_words(day: float | date) -> str:
    """Return a date such as 3 Mar 2026, whatever the machine's language."""
    on = day if isinstance(day, date) else date.fromordinal(int(day))
    return f"{on.day} {_MONTHS[on.month - 1]} {on.year}"


def number_words(value: float, *, decimals: int = 1) -> str:
    """Return a number without needless zeros."""
    plain = f"{round(float(value), decimals) + 0.0:.{decimals}f}"
    if decimals:
        plain = plain.rstrip("0").rstrip(".")
    return plain.replace("-", "−")


def points_words(value: float) -> str:
    """Return a number of points with the unit."""
    text = number_words(value)
    return f"{text} point" if text in {"1", "−1"} else f"{text} points"


def pain_words(value: float) -> str:
    """Return a pain rating with its scale."""
    return f"{number_words(value)} of 10"


def signed_words(value: float) -> str:
    """Return a number with its sign; zero has none."""
    text = number_words(value)
    return f"+{text}" if value > 0 and text != "0" else text


def gain_words(gain: float) -> str:
    """Return a change in words, so that no sign has to be read."""
    if number_words(gain) == "0":
        return "no change"
    return f"a {'gain' if gain > 0 else 'loss'} of {points_words(abs(gain))}"


def rate_words(slope: float) -> str:
    """Return a slope with its unit."""
    return f"{number_words(slope, decimals=2)} points a week"
