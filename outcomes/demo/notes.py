"""Invented sentences for visits: what was said, never advice."""

from __future__ import annotations

from random import Random

from .stories import Story

START = (
    "Pain around the kneecap, worst on stairs and after long sitting.",
    "Came on slowly, no single event. Squat hurts at about 60 degrees.",
    "Front of the knee, cannot point to one spot. Walking on the flat is fine.",
    "Has rested for weeks; it came back with the first run.",
    "Worried that the knee is wearing out. Talked about what pain means.",
)
BETTER = (
    "Stairs easier. Did the home programme most days.",
    "Step-downs went well; soreness gone by the evening.",
    "Back at short runs on the flat, fine the next day.",
    "Sat through a whole train journey without getting up.",
    "Stronger on the sore side, wants to do more. Kept to the plan.",
    "Managed the long stairs at work without holding the rail.",
)
SLOW = (
    "A little better each time, not as fast as hoped.",
    "Programme done twice of four times; busy week.",
    "Stairs still sore, but not every day now.",
    "Feels stronger. The pain follows more slowly.",
)
FLAT = (
    "Same as last time.",
    "Does the exercises, sees no difference lately.",
    "Stairs and sitting unchanged. Sleep is fine.",
    "Asks whether this is as good as it gets.",
)
FLARE = (
    "Flared up after a weekend of hill walking; sore the next morning as well.",
    "Much sorer since a move of house: boxes, stairs, two days running.",
)
WORSE = (
    "Sorer than at the start. Avoids stairs now.",
    "Gave up running altogether; sitting is sore too.",
    "A bad fortnight. No new event, no swelling.",
)
LIGHT = (
    "Only sore after long matches; ordinary days are fine.",
    "Wants to keep it away. Hardly any trouble this week.",
)
MISSED = ("Did not come and did not call.", "Forgot; said sorry by message.")
CANCELLED = ("Called off in the morning: ill.", "Called off: exam week.")
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


def note_for(story: Story, *, week: int, attendance: str, rng: Random) -> str:
    """Return a sentence that fits the story at that week."""
    if attendance == "did_not_attend":
        return rng.choice(MISSED)
    if attendance == "cancelled":
        return rng.choice(CANCELLED)
    if week == 0:
        return rng.choice(START)
    if week in story.flare_weeks:
        return FLARE[week % 2]
    turned, from_week = TURNS.get(story.key, (BETTER, 99))
    if week >= from_week:
        return rng.choice(turned)
    return rng.choice(VOICES.get(story.key, BETTER))
