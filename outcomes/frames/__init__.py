"""The one place where querysets become arrays and frames."""

from .courses import (
    Readings,
    as_courses,
    looks_by_episode,
    planned_on,
    read_courses,
    weeks,
)

__all__ = [
    "Readings",
    "as_courses",
    "looks_by_episode",
    "planned_on",
    "read_courses",
    "weeks",
]
