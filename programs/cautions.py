"""What to bear in mind before anything is prescribed in this case.

Cautions inform and never stop: the clinician decides, and local rules come first.
"""

from dataclasses import dataclass
from datetime import date

from clinic.models import Episode, Screen
from clinic.screening import age_on
from clinic.templatetags.clinic_format import day

from .gates import is_red_flag_undecided
from .models import OtherCare

ADULT_YEARS = 18


@dataclass(frozen=True, slots=True)
class Caution:
    """A short heading, what it means here, and where that comes from."""

    title: str
    words: str
    source: str


def cautions_for(episode: Episode, *, on: date) -> tuple[Caution, ...]:
    """Return the cautions of a case, the most urgent first; three queries."""
    found = (
        _red_flag(episode),
        _instability(episode),
        _surgery(episode),
        _age(episode, on),
        _irritability(episode),
    )
    return tuple(caution for caution in found if caution)


def _red_flag(episode: Episode) -> Caution | None:
    if not is_red_flag_undecided(episode):
        return None
    return Caution(
        "A red-flag answer awaits a decision",
        "Decide on it before any exercise is planned or raised.",
        "Project assumption.",
    )


def _instability(episode: Episode) -> Caution | None:
    screens = Screen.objects.standing().filter(episode=episode).order_by("-answered_on")
    told = screens.filter(answers__dislocation=True).first()
    if told is None:
        return None
    return Caution(
        "The kneecap may be unstable",
        f"A dislocation or a knee that swelled within hours was told on "
        f"{day(told.answered_on)}. Assess stability first; be slow with deep bends "
        "under load, turning, landing and running.",
        "Project assumption; from memory.",
    )


def _surgery(episode: Episode) -> Caution | None:
    surgery = (
        OtherCare.objects.standing()
        .filter(episode=episode, what=OtherCare.What.SURGERY)
        .order_by("-began_on")
        .first()
    )
    if surgery is None:
        return None
    return Caution(
        f"Surgery on {day(surgery.began_on)}",
        "The surgeon's limits of weight-bearing, range and load come first. Agree "
        "with the surgeon before work under a cuff: swelling, wounds and clots.",
        "Project assumption; the flow-restriction screen asks for wounds and clots.",
    )


def _age(episode: Episode, on: date) -> Caution | None:
    age = age_on(episode.patient.birth_date, on)
    if age >= ADULT_YEARS:
        return None
    return Caution(
        f"Aged {age}",
        "Growth plates and tendon insertions are sensitive to load: count jumps and "
        "sport into the week. The formulas for repetition maximum and the doses under "
        "a cuff were not studied at this age. Experts were uncertain about combined "
        "treatment of adolescents with long-term pain. Agree the plan with those who "
        "care for them, and bear the hip in mind.",
        "Consensus of 2017 (Collins 2018), confirmed; otherwise from memory.",
    )


def _irritability(episode: Episode) -> Caution | None:
    if episode.irritability != Episode.Irritability.HIGH:
        return None
    return Caution(
        "High irritability",
        "Little load in short bouts, and much explaining. Choose first rungs, do not "
        "test to failure, and do not raise the load before it has settled.",
        "Levels after Maitland and Kelley 2013; from memory.",
    )
