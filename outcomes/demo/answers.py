"""Invented answers that add up to an intended score, spread over likely items."""

from __future__ import annotations

from functools import cache
from random import Random

from ..science.measures import Item, Measure, measure

# How much of the trouble each item carries, 1 where nothing is said: kneecap pain
# shows on stairs, in squats, running, jumping and sitting, hardly in a warm bath.
# Project assumption, for the demo only.
BURDEN = {
    "akps": {
        "1": 0.4, "2": 0.4, "3": 0.5, "4": 1.4, "5": 1.5, "6": 1.7, "7": 1.4,
        "8": 1.4, "9": 1.2, "10": 0.4, "11": 0.2, "12": 0.6, "13": 0.2,
    },
    "lefs": {
        "3": 0.4, "4": 0.2, "5": 0.4, "6": 1.8, "8": 0.4, "10": 0.6, "13": 1.5,
        "15": 1.3, "16": 1.8, "17": 2.0, "18": 1.8, "19": 1.8, "20": 0.4,
    },
}  # fmt: skip
VARIANTS = 6


def answers_for(key: str, score: float, *, rng: Random) -> dict[str, str | int]:
    """Return answers of a complete form whose score is nearest to the intended one."""
    about = measure(key)
    trouble = _trouble(about, score)
    return dict(_spread(key, trouble, rng.randrange(VARIANTS)))


def ratings_for(score: float, *, count: int, rng: Random) -> dict[str, int]:
    """Return ratings 0 to 10 of numbered activities with the intended mean."""
    total = min(max(round(score * count), 0), 10 * count)
    even, left = divmod(total, count)
    ratings = [even + (place < left) for place in range(count)]
    if count > 1 and 0 < ratings[-1] and ratings[0] < 10 and rng.random() < 0.6:
        ratings[0], ratings[-1] = ratings[0] + 1, ratings[-1] - 1
    return {str(place + 1): rating for place, rating in enumerate(ratings)}


def _trouble(about: Measure, score: float) -> int:
    """Return the points of trouble that a score stands for: 0 is the best form."""
    most = sum(item.most_points for item in about.items)
    share = (about.high - score) / (about.high - about.low)
    return round(min(max(share, 0.0), 1.0) * most)


@cache
def _spread(key: str, trouble: int, variant: int) -> tuple[tuple[str, str | int], ...]:
    """Choose one answer an item so that the points of trouble add up exactly.

    Walks through the items and keeps, for each total so far, the likeliest way
    there: the one nearest to each item's usual share, with some chance in it.
    """
    about = measure(key)
    rng = Random(f"{key} {trouble} {variant}")  # noqa: S311 - invented answers
    shares = _shares(about, trouble)
    best: dict[int, tuple[float, tuple[tuple[str, str | int], ...]]] = {0: (0.0, ())}
    for item in about.items:
        reached: dict[int, tuple[float, tuple[tuple[str, str | int], ...]]] = {}
        for option, points in _options(about, item):
            miss = (points - shares[item.key]) ** 2 / item.most_points
            miss += rng.random() * 0.6
            for total, (cost, way) in best.items():
                at = total + points
                if at <= trouble and cost + miss < reached.get(at, (1e9, ()))[0]:
                    reached[at] = (cost + miss, (*way, (item.key, option)))
        best = reached
    return best[max(best)][1]


def _options(about: Measure, item: Item) -> list[tuple[str | int, int]]:
    """Return each answer with its points of trouble."""
    if about.method == "scaled_mean":  # points count trouble already
        return [(option.code, int(option.points)) for option in item.options]
    most = item.most_points
    return [(option.code, int(most - option.points)) for option in item.options]


def _shares(about: Measure, trouble: int) -> dict[str, float]:
    weights = BURDEN.get(about.key, {})
    sizes = {i.key: weights.get(i.key, 1.0) * i.most_points for i in about.items}
    whole = sum(sizes.values())
    return {key: trouble * size / whole for key, size in sizes.items()}
