"""Between a stored line and the response rules: its sessions, its dose, its change."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace

from . import library
from .adherence import prescribed_sets
from .dosing.loading import Muscle, Plates
from .dosing.next_step import Change, Dose, Rung
from .dosing.response import NextMorning, Session
from .library_entries import Exercise
from .lines import Line
from .models import Prescription, SessionLog
from .proposals import proposed

# Which targets are large muscle groups (project assumption); all others take the
# smaller step, which is the careful one.
LARGE_TARGETS = ("quadriceps", "hip extensors")
COUNTED = ("repetitions", "hold_seconds", "minutes", "scheme")


def sessions_of(
    line: Prescription, logs: Iterable[SessionLog], *, usual: Mapping[int, float]
) -> list[Session]:
    """Return the logged sessions of one line; visits at which none was done are none.

    Where the line has no pain of its own, pain told for the whole session counts.
    """
    return [_session(line, log, usual) for log in logs if log.sessions_done != 0]


def _session(
    line: Prescription, log: SessionLog, usual: Mapping[int, float]
) -> Session:
    response = getattr(log.visit, "response", None)
    whole = response.pain_during if response else None
    morning = response.next_morning if response else ""
    prescribed, done = _sets(line, log)
    return Session(
        done_on=log.visit.visited_on,
        pain_during=whole if log.pain_during is None else log.pain_during,
        next_morning=NextMorning(morning) if morning else None,
        usual_pain=usual.get(log.visit_id),
        sets_prescribed=prescribed,
        sets_done=done,
        repetitions_over=log.repetitions_over,
    )


def _sets(line: Prescription, log: SessionLog) -> tuple[int | None, int | None]:
    """Return sets prescribed and done; a set that pain stopped is not done.

    A line by time alone is one set, done when a session was.
    """
    prescribed, done = prescribed_sets(line), log.sets_done
    if prescribed is None and line.minutes:
        prescribed, done = 1, 1 if log.sessions_done else None
    if log.is_stopped_by_pain and prescribed is not None:
        done = min(prescribed - 1, prescribed if done is None else done)
    return prescribed, done


def dose_of(line: Line) -> Dose:
    """Return a line as the response rules read it."""
    key = line.exercise
    lower, upper = (library.easier(key), library.harder(key)) if key else (None, None)
    target = line.entry.target if line.entry else ""
    step = line.plate_step_kg
    return Dose(
        sets=line.sets,
        repetitions=line.repetitions,
        muscle=Muscle.LARGE if target in LARGE_TARGETS else Muscle.SMALL,
        load_kg=line.load_kg,
        plates=Plates(step, line.empty_kg or 0.0) if step else None,
        easier=Rung(lower.key, lower.name) if lower else None,
        harder=Rung(upper.key, upper.name) if upper else None,
        is_flow_restricted=line.is_flow_restricted,
        one_rm_kg=line.one_rm_kg,
    )


def changed_line(line: Line, change: Change | None) -> Line | None:
    """Return the line with the one change; None where it has no exact value."""
    if change is None:
        return None
    if change.rung:
        return _on_rung(line, library.exercise(change.rung.key))
    if change.load:
        kilograms = Prescription.Load.KG
        return replace(
            line, load=kilograms, load_kg=change.load.to_kg, load_percent=None
        )
    if change.volume is None:
        return None
    if line.scheme:
        return replace(line, scheme=line.scheme[:-1]) if line.scheme[1:] else None
    return replace(line, sets=change.volume.sets, repetitions=change.volume.repetitions)


def _on_rung(line: Line, entry: Exercise) -> Line | None:
    """Return the line on another rung, all else as it was; None where that cannot be.

    Repetitions do not turn into seconds by themselves, and a limit of the range is
    never dropped on the way.
    """
    there, moved = proposed(entry), replace(line, exercise=entry.key)
    if [bool(getattr(there, name)) for name in COUNTED] != [
        bool(getattr(line, name)) for name in COUNTED
    ]:
        return None
    least, most = entry.knee_range or (0, 180)
    bends = (line.range_from, line.range_to)
    is_fit = all(bend is None or least <= bend <= most for bend in bends)
    return moved if is_fit else None
