"""Surrogate keys of an export: drawn at random, never derived from anything.

A hash of a record number is derived from it and can be tried out; a random draw cannot
(45 CFR 164.514(c), as the statistics reference quotes it). Keys hold for one export.
"""

from __future__ import annotations

import secrets
from collections.abc import Iterable
from string import ascii_letters, digits

BITS = 128
LENGTH = 22  # 62 ** 22 > 2 ** 128
# Letters and digits alone: safe in an address, and never the start of a formula.
_SIGNS = digits + ascii_letters


def new_key() -> str:
    """Draw a key: 128 random bits as 22 letters and digits."""
    number, signs = secrets.randbits(BITS), []
    for _ in range(LENGTH):
        number, place = divmod(number, len(_SIGNS))
        signs.append(_SIGNS[place])
    return "".join(reversed(signs))


def shuffled_codes(people: Iterable[int], *, prefix: str = "C") -> dict[int, str]:
    """Give each person a code such as C1, in an order drawn at random."""
    drawn = sorted(set(people))
    secrets.SystemRandom().shuffle(drawn)
    return {person: f"{prefix}{place}" for place, person in enumerate(drawn, start=1)}
