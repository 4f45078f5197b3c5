"""Where usual pain comes from: scores live above this app, which never imports them.

The app that keeps pain scores names its reader when Django starts; without one, usual
pain counts as not recorded.
"""

from collections.abc import Callable, Mapping

from clinic.models import Episode

Reader = Callable[[Episode], Mapping[int, float]]

_readers: list[Reader] = []


def read_usual_pain_with(reader: Reader) -> None:
    """Name the function that returns usual pain of a case by visit."""
    _readers[:] = [reader]


def usual_pain(episode: Episode) -> Mapping[int, float]:
    """Return usual pain of the last week (0 to 10) by the visit that it was told at."""
    return _readers[0](episode) if _readers else {}
