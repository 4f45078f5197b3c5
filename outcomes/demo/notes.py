"""Invented sentences for visits: what was said, never advice."""

from __future__ import annotations

from dataclasses import dataclass
from random import Random

from .stories import Story


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """What else is told at the visit; the sentence must not speak against it."""

    week: int
    attendance: str
    worst: int  # pain, 0 to 10
    sorer_by: int  # points of worst pain since the first visit
    next_morning: str
    is_runner: bool  # whose sport is on foot


@dataclass(frozen=True, slots=True, kw_only=True)
class Saying:
    """A sentence, and the knees that it fits."""

    words: str
    worst: tuple[int, int] = (0, 10)
    sorer_by: tuple[int, int] = (-10, 10)
    is_calm_morning: bool = False  # speaks of a settled next day
    is_of_sport: bool = False  # speaks of a sport on foot

    def fits(self, told: Told) -> bool:
        """Tell whether nothing else of the visit speaks against it."""
        low, high = self.worst
        least, most = self.sorer_by
        return (
            low <= told.worst <= high
            and least <= told.sorer_by <= most
            and (told.is_runner or not self.is_of_sport)
            and not (self.is_calm_morning and told.next_morning in SORE_MORNINGS)
        )


SORE_MORNINGS = ("mild_flare", "flare")
EASIER, NO_EASIER, SORER = (-10, -1), (0, 10), (1, 10)
START = (
    Saying(words="Pain around the kneecap, worst on stairs and after long sitting."),
    Saying(words="Came on slowly, no single event. Squat hurts at about 60 degrees."),
    Saying(words="Front of the knee, cannot point to one spot.", worst=(3, 10)),
    Saying(
        words="Has rested for weeks; it came back on the first day of sport.",
        is_of_sport=True,
    ),
    Saying(words="Wants to know what the pain means. Talked about load and rest."),
)
BETTER = (
    Saying(words="Did the home programme most days."),
    Saying(words="Kept to the plan. Not much different yet.", sorer_by=NO_EASIER),
    Saying(words="Stairs easier. Did the programme most days.", sorer_by=EASIER),
    Saying(
        words="Step-downs went well; soreness gone by the evening.",
        sorer_by=EASIER,
        is_calm_morning=True,
    ),
    Saying(
        words="Back at sport for short spells, fine the next day.",
        worst=(0, 4),
        sorer_by=EASIER,
        is_calm_morning=True,
        is_of_sport=True,
    ),
    Saying(words="Sat through a whole train journey without getting up.", worst=(0, 4)),
    Saying(words="Stronger on the sore side, wants to do more.", sorer_by=EASIER),
    Saying(words="Managed the long stairs without holding the rail.", worst=(0, 4)),
)
SLOW = (
    Saying(words="A little better each time, not as fast as hoped.", sorer_by=(-10, 0)),
    Saying(words="Programme done twice of four times; busy week."),
    Saying(words="Stairs still sore, but not every day now.", sorer_by=(-10, 0)),
    Saying(words="Feels stronger. The pain follows more slowly."),
)
FLAT = (
    Saying(words="Same as last time."),
    Saying(words="Does the exercises, sees no difference lately."),
    Saying(words="Stairs and sitting unchanged. Sleep is fine."),
    Saying(words="Asks whether this is as good as it gets."),
)
FLARE = (
    Saying(words="Flared up after a long weekend on hills; sore the next morning too."),
    Saying(words="Much sorer since a move of house: boxes, stairs, two days running."),
)
WORSE = (
    Saying(words="Sorer than at the start. Avoids stairs now.", sorer_by=SORER),
    Saying(
        words="Gave up sport for now; sitting is sore too.",
        worst=(6, 10),
        is_of_sport=True,
    ),
    Saying(words="No better. No new event, no swelling."),
    Saying(words="Did the programme; the knee liked it less than hoped."),
    Saying(words="Worried; sees no gain from the effort so far."),
    Saying(
        words="Sitting is sore too by now. Less on the feet than before.",
        sorer_by=SORER,
    ),
)
LIGHT = (
    Saying(words="Only sore after long days; ordinary ones are fine.", worst=(0, 5)),
    Saying(words="Wants to keep it away. Not much trouble this week.", worst=(0, 5)),
)
MISSED = ("Did not come and did not call.", "Forgot; said sorry by message.")
CANCELLED = ("Called off in the morning: ill.", "Called off: too much on this week.")
END = (
    "Last visit. Knows what to do if it comes back.",
    "Last visit. Home programme twice a week from here on.",
)
VOICES = {
    "slow": SLOW,
    "flat": FLAT,
    "lost": SLOW,
    "ceiling": LIGHT,
    "worsening": WORSE,
}
# Where the tone of a story changes once: the new sentences, from which week.
TURNS = {"early_flat": (FLAT, 6), "one_low": (WORSE, 9)}


def note_for(story: Story, told: Told, *, rng: Random) -> str:
    """Return a sentence that fits the story and what else is told at the visit."""
    if told.attendance == "did_not_attend":
        return rng.choice(MISSED)
    if told.attendance == "cancelled":
        return rng.choice(CANCELLED)
    if told.week in story.flare_weeks:
        return FLARE[told.week % 2].words
    fitting = [saying for saying in voice(story, told.week) if saying.fits(told)]
    return rng.choice(fitting).words


def voice(story: Story, week: int) -> tuple[Saying, ...]:
    """Return what is said in a story at a week."""
    if week == 0:
        return START
    turned, from_week = TURNS.get(story.key, (BETTER, 99))
    return turned if week >= from_week else VOICES.get(story.key, BETTER)
