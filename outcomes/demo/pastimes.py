"""What the invented patients do all day, want back, and find hard."""

from __future__ import annotations

from dataclasses import dataclass
from random import Random

from .plans import Facts


@dataclass(frozen=True, slots=True)
class Pastime:
    """A way of life: how much the knee is asked to do, and in which words."""

    activity_level: str
    sport: str
    goals: str
    activities: tuple[str, ...]


PASTIMES = (
    Pastime(
        "sport",
        "Running",
        "Run 10 km without paying for it the next day.",
        ("Running downhill", "Sitting through a meeting", "Taking the stairs at work"),
    ),
    Pastime(
        "recreation",
        "Hill walking",
        "Walk down from a hill without sticks.",
        ("Walking down a steep path", "Getting up from the floor"),
    ),
    Pastime(
        "competition",
        "Handball",
        "Back in the team before the season ends.",
        ("Landing after a jump", "Sudden stops", "Squatting with weight"),
    ),
    Pastime(
        "daily",
        "",
        "Carry the child up to the third floor.",
        ("Carrying the child upstairs", "Kneeling to play", "Long car journeys"),
    ),
    Pastime(
        "recreation",
        "Cycling",
        "Ride to work and back all week.",
        ("Cycling up the bridge", "Standing up after a film"),
    ),
    Pastime(
        "sport",
        "Volleyball",
        "Train twice a week without tape.",
        ("Jumping at the net", "Deep lunges", "Stairs after training"),
    ),
    Pastime(
        "daily",
        "",
        "Work a full shift on the ward without the knee taking over.",
        ("Standing a whole shift", "Squatting to low shelves", "Walking fast"),
    ),
    Pastime(
        "recreation",
        "Dancing",
        "Dance a whole evening.",
        ("Turning on one leg", "Kneeling", "Going down stairs"),
    ),
    Pastime(
        "competition",
        "Orienteering",
        "Start at the spring relay.",
        ("Running on rough ground", "Crouching at a control", "Long descents"),
    ),
)
YOUNG = (
    Pastime(
        "sport",
        "Football",
        "Play both halves, and cycle to school.",
        ("Kicking hard", "Cycling to school", "Sitting in class"),
    ),
    Pastime(
        "competition",
        "Gymnastics",
        "Land the vault without thinking of the knee.",
        ("Landing", "Running up", "Squatting down"),
    ),
)


def choose_pastime(*, is_young: bool, rng: Random) -> Pastime:
    """Return a way of life that fits the age."""
    return rng.choice(YOUNG if is_young else PASTIMES)


def facts_for(pastime: Pastime, *, worst_pain: int) -> Facts:
    """Return the facts at opening; irritability agrees with the pain that is told.

    The three levels follow the clinical reference, 11.2; its cut-offs are from memory.
    """
    provoked_by, settles_in, level = ("moderate", "hour", "moderate")
    if worst_pain >= 7:
        provoked_by, settles_in, level = ("light", "day", "high")
    elif worst_pain <= 3:
        provoked_by, settles_in, level = ("heavy", "minutes", "low")
    return Facts(
        activity_level=pastime.activity_level,
        sport=pastime.sport,
        goals=pastime.goals,
        provoked_by=provoked_by,
        pain_when_provoked=worst_pain,
        settles_in=settles_in,
        irritability=level,
    )
