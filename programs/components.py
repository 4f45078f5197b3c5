"""What a line of a programme counts as, in a few words of the trade.

Families of exercise go by what they are for, so that the library's entries and a
clinic's own count alike. Work under a cuff counts as that, and for its target too.
"""

from __future__ import annotations

from collections.abc import Iterator

from . import library
from .library_entries import Kind

FLOW_RESTRICTION = "work under a cuff (flow restriction)"
ORTHOSES = "foot orthoses"
# By target, in the order in which they are listed.
BY_TARGET = {
    "hip abductors": "hip exercise",
    "hip extensors": "hip exercise",
    "quadriceps": "quadriceps exercise",
    "foot": "foot exercise",
    "calf": "calf exercise",
    "trunk": "trunk exercise",
    "landing": "landing practice",
    "running": "running retraining or return to running",
    "kneecap": "taping or other care of the kneecap",
    "understanding": "education",
}
EXERCISE = (
    "hip exercise",
    "quadriceps exercise",
    "foot exercise",
    "calf exercise",
    "trunk exercise",
    "landing practice",
    "running retraining or return to running",
    FLOW_RESTRICTION,
)
BESIDE = ("education", "taping or other care of the kneecap", ORTHOSES)


def components(
    exercise: str, own_target: str | None = None, *, has_cuff: bool = False
) -> Iterator[str]:
    """Yield what a line counts as; `own_target` is that of a clinic's own entry.

    A key that is in neither library counts as nothing.
    """
    entry = library.library().get(exercise)
    target = entry.target if entry else own_target
    if entry and entry.kind is Kind.ADJUNCT and entry.target == "foot":
        yield ORTHOSES
    elif target in BY_TARGET:
        yield BY_TARGET[target]
    if has_cuff or (entry and entry.is_bfr):
        yield FLOW_RESTRICTION
