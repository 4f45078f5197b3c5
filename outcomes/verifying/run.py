"""All checks, in the order in which their faults are told."""

from collections.abc import Iterator

from .courses import (
    corrected_assessments,
    days_in_order,
    known_measures,
    lines_of_one_case,
    one_at_a_time,
    wiped_keys,
)
from .database import database_itself
from .faults import Check, Counted, Fault
from .relations import replaced_rows, same_case, same_person, same_site
from .scores import physical_values, scores_from_answers, screens_from_answers

CHECKS: tuple[Check, ...] = (
    database_itself,
    scores_from_answers,
    physical_values,
    screens_from_answers,
    same_site,
    same_person,
    same_case,
    replaced_rows,
    corrected_assessments,
    lines_of_one_case,
    days_in_order,
    one_at_a_time,
    known_measures,
    wiped_keys,
)


def faults(counted: Counted) -> Iterator[Fault]:
    """Yield every fault of the stored data; counts what was looked at as it goes."""
    for check in CHECKS:
        yield from check(counted)
