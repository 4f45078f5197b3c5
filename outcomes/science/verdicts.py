"""The verdicts on a change, and the plain words for them."""

from __future__ import annotations

from datetime import date
from enum import StrEnum

from clinic.sourced.sources import ASSUMED

from .measurement_error import reaches
from .measures import Direction
from .thresholds import Threshold

MONTHS = (
    "January February March April May June July August September October November "
    "December"
).split()


class Verdict(StrEnum):
    """Two answers in one word: beyond error or not, large enough to matter or not."""

    IMPROVED = "improved"
    REAL_NOT_IMPORTANT = "real_not_important"
    POSSIBLE = "possible"
    POINTS_ONLY = "points_only"
    PERCENT_ONLY = "percent_only"
    NONE = "none"
    POSSIBLE_LOSS = "possible_loss"
    REAL_LOSS_NOT_IMPORTANT = "real_loss_not_important"
    WORSE = "worse"
    CANNOT_SAY = "cannot_say"

    @property
    def label(self) -> str:
        """A few words for a table cell."""
        return _WORDS[self][0]

    @property
    def sentence(self) -> str:
        """What the verdict means, without numbers."""
        return _WORDS[self][1]


_WORDS = {
    Verdict.IMPROVED: (
        "improved",
        "Better by enough to matter, and by more than measurement error.",
    ),
    Verdict.REAL_NOT_IMPORTANT: (
        "better beyond error, too little to matter",
        "Better by more than measurement error, but not by enough to matter.",
    ),
    Verdict.POSSIBLE: (
        "possibly improved, within error",
        "Better by enough to matter if it is real, but it may be measurement error.",
    ),
    Verdict.POINTS_ONLY: (
        "better in points, not in per cent",
        "The fall is large enough in points but not as a share of the first rating.",
    ),
    Verdict.PERCENT_ONLY: (
        "better in per cent, not in points",
        "The fall is large enough as a share of the first rating but not in points.",
    ),
    Verdict.NONE: (
        "no detectable change",
        "Too small to matter and not beyond measurement error.",
    ),
    Verdict.POSSIBLE_LOSS: (
        "possibly worse, within error",
        "Worse by enough to matter if it is real, but it may be measurement error.",
    ),
    Verdict.REAL_LOSS_NOT_IMPORTANT: (
        "worse beyond error, too little to matter",
        "Worse by more than measurement error, but not by enough to matter.",
    ),
    Verdict.WORSE: (
        "worse",
        "Worse by enough to matter, and by more than measurement error.",
    ),
    Verdict.CANNOT_SAY: ("cannot say", "Change cannot be judged."),
}


def day(on: date, *, beside: date | None = None) -> str:
    """A date in words; the year is left out where `beside` is of the same year."""
    words = f"{on.day} {MONTHS[on.month - 1]}"
    return words if beside and beside.year == on.year else f"{words} {on.year}"


def number(value: float, *, beside: tuple[float, ...] = ()) -> str:
    """A number for reading, to one decimal or as many as keep it honest.

    To one decimal a gain of 16.36 would be printed 16.4 and called less than 16.4.
    """
    for places in (1, 2, 3, 4):
        shown = f"{value:.{places}f}"
        if all(reaches(float(shown), at) == reaches(value, at) for at in beside):
            break
    return shown.rstrip("0").rstrip(".")


def signed(value: int) -> str:
    """A rating with its sign; zero has none."""
    return f"{value:+d}".replace("-", "−") if value else "0"


def moved(
    gain: float,
    *,
    better: Direction,
    percent: float | None,
    since: str,
    beside: tuple[float, ...],
) -> str:
    """ "Up 11 points since 3 March", saying better or worse where that is unclear."""
    rise = gain * better.sign
    amount = number(abs(gain), beside=beside)
    points = "point" if amount == "1" else "points"
    share = "" if percent is None else f" ({number(round(abs(percent)))} %)"
    words = f"{'Up' if rise > 0 else 'Down'} {amount} {points}{share} since {since}"
    if gain > 0 and better is Direction.HIGHER:
        return words
    return f"{words}, for the {'better' if gain > 0 else 'worse'}"


def important(threshold: Threshold, *, with_percent: bool = True) -> str:
    """ "10 or more, Crossley 2004"."""
    share = ""
    if threshold.percent is not None and with_percent:
        share = f" and {number(threshold.percent)} % or more"
    return f"{number(threshold.value)} or more{share}, {threshold.source.brief}"


def beyond_error(threshold: Threshold) -> str:
    """ "beyond measurement error (13, 95 % level, Norwegian version 2021)".

    An error that nobody measured, such as that of a pain rating, is called assumed.
    """
    if threshold.source.mark == ASSUMED:
        return f"beyond the assumed error ({number(threshold.value)}, {ASSUMED})"
    level = (
        "no level stated" if threshold.level is None else f"{threshold.level} % level"
    )
    named = f"{number(threshold.value)}, {level}, {threshold.source.brief}"
    return f"beyond measurement error ({named})"


def judged(verdict: Verdict, *, mdc: Threshold, mcid: Threshold, is_loss: bool) -> str:
    """The two answers with their numbers, to stand after a colon."""
    matters = f"large enough to matter ({important(mcid, with_percent=not is_loss)})"
    error = beyond_error(mdc)
    match verdict:
        case Verdict.IMPROVED | Verdict.WORSE:
            return f"{matters} and {error}"
        case Verdict.POSSIBLE | Verdict.POSSIBLE_LOSS:
            return f"{matters}, not {error}"
        case Verdict.REAL_NOT_IMPORTANT | Verdict.REAL_LOSS_NOT_IMPORTANT:
            return f"{error}, not {matters}"
    return f"neither {matters} nor {error}"


def judged_by_halves(
    verdict: Verdict, *, mdc: Threshold, mcid: Threshold, is_detectable: bool
) -> str:
    """The same where points and per cent of a pain rating disagree."""
    points = f"in points ({number(mcid.value)} or more)"
    share = f"in per cent ({number(mcid.percent or 0)} % or more)"
    met, unmet = (points, share) if verdict is Verdict.POINTS_ONLY else (share, points)
    error = beyond_error(mdc)
    return (
        f"large enough to matter {met}, not {unmet} ({mcid.source.brief}); "
        f"{error if is_detectable else f'not {error}'}"
    )
