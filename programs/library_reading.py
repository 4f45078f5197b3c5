"""From the files of the library to its entries, checked one by one and together."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TypeVar

from clinic.sourced.sources import MARKS
from clinic.sourced.strict_toml import Table, read_file

from .library_checks import check_entry, check_group, check_load, check_whole
from .library_entries import (
    EQUIPMENT,
    IRRITABILITY,
    STRENGTHS,
    TARGETS,
    Dose,
    Evidence,
    Exercise,
    Group,
    Kind,
    Load,
    Reference,
    Tier,
    TierMeasure,
    TimeLimit,
)

T = TypeVar("T")
TIERS = {tier.name.lower(): tier for tier in Tier}


@dataclass(frozen=True, slots=True)
class Shared:
    """What several entries refer to by key."""

    sources: Mapping[str, Reference]
    evidence: Mapping[str, Evidence]
    doses: Mapping[str, Dose]
    loads: Mapping[str, Load]


def read_library(folder: Path) -> dict[str, Group]:
    """Read and check every file of a folder; DataFileError names file and key."""
    shared = _shared(folder / "shared")
    groups = [_group(read_file(path), shared) for path in sorted(folder.glob("*.toml"))]
    check_whole(groups)
    return {group.key: group for group in groups}


def _shared(folder: Path) -> Shared:
    references = read_file(folder / "sources.toml").named()
    sources = {key: _reference(key, table) for key, table in references}
    statements = read_file(folder / "evidence.toml").named()
    doses = read_file(folder / "doses.toml").named()
    loads = read_file(folder / "loads.toml").named()
    return Shared(
        sources=sources,
        evidence={key: _evidence(key, table, sources) for key, table in statements},
        doses={key: _dose(key, table, sources) for key, table in doses},
        loads={key: _load(key, table, sources) for key, table in loads},
    )


def _reference(key: str, table: Table) -> Reference:
    doi = table.optional_text("doi")
    found = Reference(key, table.text("short"), table.text("citation"), doi)
    table.finish()
    return found


def _evidence(key: str, table: Table, sources: Mapping[str, Reference]) -> Evidence:
    found = Evidence(
        key=key,
        statement=table.text("statement"),
        strength=table.choice("strength", STRENGTHS),
        source=sources[table.choice("source", sources)],
        mark=table.choice("mark", MARKS),
    )
    table.finish()
    return found


def _dose(key: str, table: Table, sources: Mapping[str, Reference]) -> Dose:
    per_week = table.span("per_week")
    if per_week is None:
        raise table.fail("per_week", "is missing")
    found = Dose(
        key=key,
        sets=table.optional_whole("sets"),
        reps=table.span("reps"),
        scheme=table.whole_numbers("scheme"),
        hold_seconds=table.span("hold_seconds"),
        minutes=table.span("minutes"),
        rest_seconds=table.span("rest_seconds"),
        per_week=per_week,
        tempo=table.text("tempo", ""),
        source=sources[table.choice("source", sources)],
        mark=table.choice("mark", MARKS),
        note=table.text("note", ""),
    )
    if not (found.reps or found.scheme or found.hold_seconds or found.minutes):
        raise table.fail("reps", "or a scheme, a hold or minutes must be given")
    table.finish()
    return found


def _group(table: Table, shared: Shared) -> Group:
    kind = Kind(table.choice("kind", list(Kind)))
    head = {
        "key": table.text("key"),
        "name": table.text("name"),
        "target": table.choice("target", TARGETS),
        "order_note": table.text("order_note", None if kind.is_laddered else ""),
    }
    whole = _Whole(
        kind=kind,
        key=head["key"],
        target=head["target"],
        evidence=table.texts("evidence", shared.evidence),
        cautions=table.texts("cautions"),
        shared=shared,
    )
    rows = enumerate(table.tables("entries"), 1)
    entries = tuple(_entry(row, whole, at) for at, row in rows)
    table.finish()
    found = Group(kind=kind, entries=entries, **head)
    check_group(found, table)
    return found


@dataclass(frozen=True, slots=True)
class _Whole:
    """What a file says once for all of its entries."""

    kind: Kind
    key: str
    target: str
    evidence: tuple[str, ...]
    cautions: tuple[str, ...]
    shared: Shared


def _entry(table: Table, whole: _Whole, place: int) -> Exercise:
    is_laddered, shared = whole.kind.is_laddered, whole.shared
    found = Exercise(
        key=table.text("key"),
        name=table.text("name"),
        kind=whole.kind,
        target=whole.target,
        group=whole.key,
        ladder=whole.key if is_laddered else None,
        rung=place if is_laddered else None,
        is_weight_bearing=table.flag("is_weight_bearing", default=False),
        is_bfr=table.flag("is_bfr", default=False),
        knee_range=table.span("knee_range"),
        load=_chosen(table, "load", shared.loads),
        equipment=table.texts("equipment", EQUIPMENT),
        how=table.texts("how"),
        cautions=(*whole.cautions, *table.texts("cautions")),
        evidence=_statements(table, whole),
        irritability=table.texts("irritability", IRRITABILITY),
        dose=_chosen(table, "dose", shared.doses),
        time_limit=_time_limit(table, shared.sources),
        leads_to=table.texts("leads_to"),
        lower_load_reason=table.text("lower_load_reason", ""),
        drawing=table.optional_text("drawing"),
    )
    return _checked(found, table)


def _checked(entry: Exercise, table: Table) -> Exercise:
    table.finish()
    check_entry(entry, table)
    return entry


def _statements(table: Table, whole: _Whole) -> tuple[Evidence, ...]:
    known = whole.shared.evidence
    keys = (*whole.evidence, *table.texts("evidence", known))
    return tuple(known[key] for key in keys)


def _chosen(table: Table, key: str, known: Mapping[str, T]) -> T | None:
    return known[table.choice(key, known)] if table.has(key) else None


def _load(key: str, table: Table, sources: Mapping[str, Reference]) -> Load:
    found = Load(
        key=key,
        tier=TIERS[table.choice("tier", TIERS)],
        measure=TierMeasure(table.choice("measure", list(TierMeasure))),
        source=sources[table.choice("source", sources)],
        mark=table.choice("mark", MARKS),
        note=table.text("note", ""),
        times_body_weight=table.optional_number("times_body_weight"),
    )
    table.finish()
    check_load(found, table)
    return found


def _time_limit(table: Table, sources: Mapping[str, Reference]) -> TimeLimit | None:
    if not table.has("time_limit"):
        return None
    inner = table.table("time_limit")
    found = TimeLimit(
        weeks=inner.whole("weeks"),
        source=sources[inner.choice("source", sources)],
        mark=inner.choice("mark", MARKS),
    )
    inner.finish()
    return found
