"""What must hold in the library beyond the type of each value."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import pairwise

from clinic.sourced.strict_toml import DataFileError, Table

from .library_entries import Exercise, Group, Load, Tier, TierMeasure

FEWEST_RUNGS = 4
DEEPEST_KNEE_BEND = 140  # degrees; a guard against typing errors
HOW_SENTENCES = (2, 4)
UNSOURCED = "practice"


def check_entry(entry: Exercise, table: Table) -> None:
    """Refuse an entry that lacks what its kind needs."""
    fewest, most = HOW_SENTENCES
    if not fewest <= len(entry.how) <= most:
        raise table.fail("how", f"must have {fewest} to {most} sentences")
    if not entry.evidence:
        raise table.fail("evidence", "is missing, in the entry and in its file")
    if len(set(entry.evidence)) != len(entry.evidence):
        raise table.fail("evidence", "repeats a statement of the file")
    if not entry.irritability:
        raise table.fail("irritability", "is missing")
    if entry.knee_range and entry.knee_range[1] > DEEPEST_KNEE_BEND:
        raise table.fail("knee_range", f"goes past {DEEPEST_KNEE_BEND} degrees")
    if entry.is_bfr != ("cuff" in entry.equipment):
        raise table.fail("is_bfr", "must be set where, and only where, a cuff is used")
    if entry.kind.is_laddered:
        _check_rung(entry, table)


def _check_rung(entry: Exercise, table: Table) -> None:
    if entry.dose is None:
        raise table.fail("dose", "is missing")
    if entry.load is None:
        raise table.fail("load", "is missing")


def check_load(load: Load, table: Table) -> None:
    """Refuse a load whose tier does not follow from what it says it rests on."""
    if (load.measure is TierMeasure.JUDGED) != (load.source.key == UNSOURCED):
        raise table.fail("measure", "is judged where, and only where, no source")
    if (load.measure is TierMeasure.PEAK) != (load.times_body_weight is not None):
        raise table.fail("times_body_weight", "stands with, and only with, a peak")
    if load.times_body_weight and Tier.of_peak(load.times_body_weight) != load.tier:
        raise table.fail("tier", "does not follow from times_body_weight")


def check_group(group: Group, table: Table) -> None:
    """Refuse a ladder that is short, starts late, ends early, or sinks."""
    if not group.kind.is_laddered:
        return
    entries = group.entries
    if len(entries) < FEWEST_RUNGS:
        raise table.fail("entries", f"a ladder has {FEWEST_RUNGS} rungs or more")
    if "high" not in entries[0].irritability:
        raise table.fail("entries", "the first rung must suit an irritable knee")
    if entries[-1].irritability != ("low",):
        raise table.fail("entries", "the last rung is for low irritability alone")
    for lower, upper in pairwise(entries):
        if _sinks(lower, upper) != bool(upper.lower_load_reason):
            where = f"entries[{upper.key}].lower_load_reason"
            raise table.fail(where, "must stand where, and only where, the tier falls")


def _sinks(lower: Exercise, upper: Exercise) -> bool:
    if lower.load is None or upper.load is None:
        return False
    return upper.load.tier < lower.load.tier


def check_whole(groups: Sequence[Group]) -> None:
    """Refuse keys that occur twice, links into nothing, and ways that lead back."""
    _check_unique([group.key for group in groups])
    entries = [entry for group in groups for entry in group.entries]
    _check_unique([entry.key for entry in entries])
    known = {entry.key: entry for entry in entries}
    for entry in entries:
        for target in entry.leads_to:
            where = (f"{entry.group}.toml", f"entries[{entry.key}].leads_to")
            if target not in known:
                raise DataFileError(*where, f"{target!r} is not in the library")
            if known[target].group == entry.group:
                raise DataFileError(*where, f"{target!r} is on the same ladder")
    _check_acyclic(groups)


def _check_unique(keys: Sequence[str]) -> None:
    for key in keys:
        if keys.count(key) > 1:
            raise DataFileError("exercises", key, "occurs twice")


def _check_acyclic(groups: Iterable[Group]) -> None:
    """Take away, again and again, what nothing leads to; a circle remains."""
    ways: dict[str, set[str]] = {}
    for group in groups:
        for entry in group.entries:
            ways[entry.key] = set(entry.leads_to)
        if group.kind.is_laddered:
            for lower, upper in pairwise(group.entries):
                ways[lower.key].add(upper.key)
    while ways:
        reached = set().union(*ways.values())
        free = ways.keys() - reached
        if not free:
            circle = ", ".join(sorted(ways))
            raise DataFileError("exercises", "leads_to", f"goes in a circle: {circle}")
        ways = {key: to for key, to in ways.items() if key not in free}
