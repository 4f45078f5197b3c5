"""Acts on physical tests: record one with both sides, void a result."""

from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from django.db import transaction

from clinic.models import AuditEvent, Episode, User, Visit
from clinic.voiding import void_on_record

from . import audit
from .models import PhysicalResult
from .science.physical_file import physical_tests
from .science.physical_tests import (
    NoResult,
    PhysicalTest,
    Summary,
    Takes,
    Trial,
    in_newtons,
    summarise,
    torque,
)

FORCE_UNITS = ("N", "kg")
SIDES = ("left", "right")
PERSON = ("",)


@dataclass(frozen=True, slots=True, kw_only=True)
class SideEntry:
    """One side of a test: its trials as the device showed them."""

    side: str
    trials: tuple[Trial, ...]
    lever_arm_m: float | None = None
    pain: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PhysicalEntry:
    """Everything that one save of the test form carries."""

    test: str
    tested_on: date
    unit: str
    sides: tuple[SideEntry, ...]
    body_kg: float | None = None
    done_how: str = ""


class ImpossibleEntry(ValueError):
    """An entry that no form lets through; the message says what is wrong."""


def units_of(about: PhysicalTest) -> tuple[str, ...]:
    """Return the units that a device may show for this test."""
    return FORCE_UNITS if about.quantity == "force" else (about.unit,)


def sides_of(about: PhysicalTest) -> tuple[str, ...]:
    """Return the sides that a test is done on; the person as a whole is ""."""
    return SIDES if about.takes is Takes.BOTH_SIDES else PERSON


def in_test_unit(about: PhysicalTest, value: float, unit: str) -> float:
    """Return a trial in the test's own unit, which for a force is N."""
    if about.quantity != "force":
        return value
    force = in_newtons(value, unit)
    if isinstance(force, NoResult):
        raise ImpossibleEntry(force.reason)
    return force


def result_of(
    about: PhysicalTest, trials: tuple[Trial, ...], unit: str
) -> Summary | NoResult:
    """Summarise trials as entered; raises ImpossibleEntry outside the test's range."""
    if unit not in units_of(about):
        raise ImpossibleEntry(f"{about.short_name} is not measured in {unit}.")
    own = [replace(t, value=in_test_unit(about, t.value, unit)) for t in trials]
    # Pain that stopped every trial is a result to keep; a number outside is not.
    within = summarise(about, [Trial(trial.value) for trial in own])
    if isinstance(within, NoResult):
        raise ImpossibleEntry(within.reason)
    return summarise(about, own)


@transaction.atomic
def record_physical_test(
    *, episode: Episode, by: User, entry: PhysicalEntry
) -> list[PhysicalResult]:
    """Keep one test, a row for each side that was tested."""
    about = physical_tests()[entry.test]
    if not entry.sides:
        raise ImpossibleEntry("At least one side must have been tested.")
    visit = Visit.objects.standing().filter(episode=episode, visited_on=entry.tested_on)
    at_visit = visit.first()
    rows = [_row(about, episode, entry, side) for side in entry.sides]
    for row in rows:
        row.visit, row.recorded_by = at_visit, by
        row.save()
    AuditEvent.objects.record(
        audit.PHYSICAL_TEST_RECORDED,
        by=by,
        patient=episode.patient,
        test=about.key,
        results=[row.pk for row in rows],
    )
    return rows


def _row(
    about: PhysicalTest, episode: Episode, entry: PhysicalEntry, side: SideEntry
) -> PhysicalResult:
    """Return an unsaved result of one side, or raise ImpossibleEntry."""
    if side.side not in sides_of(about):
        raise ImpossibleEntry(f"{about.short_name} has no side “{side.side}”.")
    result = result_of(about, side.trials, entry.unit)
    _refuse_impossible_arm(about, side.lever_arm_m, entry.body_kg)
    is_result = isinstance(result, Summary)
    return PhysicalResult(
        site_id=episode.site_id,
        episode=episode,
        patient_id=episode.patient_id,
        test=about.key,
        edition=about.edition,
        tested_on=entry.tested_on,
        side=side.side,
        trials=[_stored(trial) for trial in side.trials],
        unit=entry.unit,
        lever_arm_m=side.lever_arm_m,
        body_kg=entry.body_kg,
        pain=side.pain,
        done_how=entry.done_how,
        value=result.value if is_result else None,  # type: ignore[union-attr]
        no_value_reason="" if is_result else result.reason,  # type: ignore[union-attr]
    )


def _stored(trial: Trial) -> dict[str, Any]:
    return {"value": trial.value, "is_stopped_by_pain": trial.is_stopped_by_pain}


def _refuse_impossible_arm(
    about: PhysicalTest, lever_arm_m: float | None, body_kg: float | None
) -> None:
    """Hold lever arm and body weight to their guards, at any possible force."""
    if lever_arm_m is None and body_kg is None:
        return
    arm = about.lever_arm
    asked = arm.low if arm and lever_arm_m is None else lever_arm_m
    found = torque(about, force_n=about.low, lever_arm_m=asked, body_kg=body_kg)
    if isinstance(found, NoResult):
        raise ImpossibleEntry(found.reason)


@transaction.atomic
def void_physical_result(result: PhysicalResult, *, by: User, why: str) -> None:
    """Withdraw one side of a test from every page, keeping it on record."""
    void_on_record(
        result,
        by=by,
        why=why,
        action=audit.PHYSICAL_RESULT_VOIDED,
        episode=result.episode,
    )
