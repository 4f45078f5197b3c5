"""What a stranger may know of somebody, and the stated order in which it is coarsened.

The quasi-identifiers and the order are those of the de-identification rules that this
export follows (recommendation of its statistics reference, 1.3); which bands are joined
where two or three are left is a project assumption, as is the joining at 40.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

from ..period_choice import DURATIONS

AGE_BANDS = ("under 18", "18 to 29", "30 to 39", "40 to 49", "50 and over")
AGE_THREE = ("under 18", "18 to 39", "40 and over")
AGE_TWO = ("under 40", "40 and over")
DURATION_TWO = ("up to 12 months", "over 12 months")
SEXES = ("F", "M", "X")
SIDES = ("left", "right")
# A value that this export does not show; it leaves as an empty cell.
DROPPED = ""
_THREE_OF = dict(zip(AGE_BANDS, (0, 1, 1, 2, 2), strict=True))
_TWO_OF = dict(zip(AGE_BANDS, (0, 0, 0, 1, 1), strict=True))


class Shown(NamedTuple):
    """The quasi-identifiers of one row as the file shows them; also its class."""

    age_band: str
    sex: str
    side: str
    duration_band: str
    year_opened: str
    clinician_code: str


@dataclass(frozen=True, slots=True)
class Quasi:
    """What a stranger may know of one episode, in the finest bands that may leave."""

    age_band: str
    sex: str
    side: str
    duration_band: str
    year_opened: int
    clinician_code: str


@dataclass(frozen=True, slots=True)
class Level:
    """One step of the stated order: its number, its short name, what it does."""

    number: int
    name: str
    sentence: str


LEVELS = tuple(
    Level(number, name, sentence)
    for number, (name, sentence) in enumerate(
        (
            ("full", "Nothing is coarsened further."),
            ("clinician dropped", "The clinician's code is left out."),
            (
                "duration in two bands",
                "Duration of symptoms is up to 12 months, or over 12 months.",
            ),
            ("duration dropped", "Duration of symptoms is left out."),
            ("side dropped", "The side is left out."),
            ("age in three bands", "Age is under 18, 18 to 39, or 40 and over."),
            ("age in two bands", "Age is under 40, or 40 and over."),
            ("years pooled", "The year of opening is left out: all years are one."),
            ("sex dropped", "Sex is left out; age in two bands is all that is left."),
        )
    )
)


def age_band(years: int) -> str:
    """Return the band of an age in whole years; 90 and above are inside the last."""
    if years < 0:
        raise ValueError("An age is not below 0.")
    return AGE_BANDS[sum(years >= first for first in (18, 30, 40, 50))]


def at_level(quasi: Quasi, level: int) -> Shown:
    """Return what a row shows at a level of LEVELS; each only coarsens the last."""
    return Shown(
        age_band=_age_at(quasi.age_band, level),
        sex=DROPPED if level >= 8 else quasi.sex,
        side=DROPPED if level >= 4 else quasi.side,
        duration_band=_duration_at(quasi.duration_band, level),
        year_opened=DROPPED if level >= 7 else str(quasi.year_opened),
        clinician_code=DROPPED if level >= 1 else quasi.clinician_code,
    )


def _age_at(band: str, level: int) -> str:
    if level >= 6:
        return AGE_TWO[_TWO_OF[band]]
    return AGE_THREE[_THREE_OF[band]] if level == 5 else band


def _duration_at(band: str, level: int) -> str:
    if level >= 3:
        return DROPPED
    if level == 2:
        return DURATION_TWO[band == DURATIONS[2]]
    return band
