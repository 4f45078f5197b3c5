"""From the files of the library to its entries, checked one by one and together."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TypeVar

from .library_checks import check_entry, check_group, check_load, check_whole
from .library_entries import (
    EQUIPMENT,
    IRRITABILITY,
    MARKS,
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
from .library_file import Fields, read_file

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
    """Read and check every file of a folder; LibraryError names file and key."""
    shared = _shared(folder / "shared")
    groups = [_group(read_file(path), shared) for path in sorted(folder.glob("*.toml"))]
    check_whole(groups)
    return {group.key: group for group in groups}


def _shared(folder: Path) -> Shared:
    references = read_file(folder / "sources.toml").named()
    sources = {key: _reference(key, fields) for key, fields in references}
    statements = read_file(folder / "evidence.toml").named()
    doses = read_file(folder / "doses.toml").named()
    loads = read_file(folder / "loads.toml").named()
    return Shared(
        sources=sources,
        evidence={key: _evidence(key, fields, sources) for key, fields in statements},
        doses={key: _dose(key, fields, sources) for key, fields in doses},
        loads={key: _load(key, fields, sources) for key, fields in loads},
    )


def _reference(key: str, fields: Fields) -> Reference:
    doi = fields.text("doi") if fields.has("doi") else None
    found = Reference(key, fields.text("short"), fields.text("citation"), doi)
    fields.finish()
    return found


def _evidence(key: str, fields: Fields, sources: Mapping[str, Reference]) -> Evidence:
    found = Evidence(
        key=key,
        statement=fields.text("statement"),
        strength=fields.choice("strength", STRENGTHS),
        source=sources[fields.choice("source", sources)],
        mark=fields.choice("mark", MARKS),
    )
    fields.finish()
    return found


def _dose(key: str, fields: Fields, sources: Mapping[str, Reference]) -> Dose:
    per_week = fields.span("per_week")
    if per_week is None:
        raise fields.fail("per_week", "is missing")
    found = Dose(
        key=key,
        sets=fields.take("sets", int) if fields.has("sets") else None,
        reps=fields.span("reps"),
        scheme=fields.numbers("scheme"),
        hold_seconds=fields.span("hold_seconds"),
        minutes=fields.span("minutes"),
        rest_seconds=fields.span("rest_seconds"),
        per_week=per_week,
        tempo=fields.text("tempo", ""),
        source=sources[fields.choice("source", sources)],
        mark=fields.choice("mark", MARKS),
        note=fields.text("note", ""),
    )
    if not (found.reps or found.scheme or found.hold_seconds or found.minutes):
        raise fields.fail("reps", "or a scheme, a hold or minutes must be given")
    fields.finish()
    return found


def _group(fields: Fields, shared: Shared) -> Group:
    kind = Kind(fields.choice("kind", list(Kind)))
    head = {
        "key": fields.text("key"),
        "name": fields.text("name"),
        "target": fields.choice("target", TARGETS),
        "order_note": fields.text("order_note", None if kind.is_laddered else ""),
    }
    whole = _Whole(
        kind=kind,
        key=head["key"],
        target=head["target"],
        evidence=fields.texts("evidence", shared.evidence),
        cautions=fields.texts("cautions"),
        shared=shared,
    )
    rows = enumerate(fields.tables("entries"), 1)
    entries = tuple(_entry(row, whole, at) for at, row in rows)
    fields.finish()
    found = Group(kind=kind, entries=entries, **head)
    check_group(found, fields)
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


def _entry(fields: Fields, whole: _Whole, place: int) -> Exercise:
    is_laddered, shared = whole.kind.is_laddered, whole.shared
    found = Exercise(
        key=fields.text("key"),
        name=fields.text("name"),
        kind=whole.kind,
        target=whole.target,
        group=whole.key,
        ladder=whole.key if is_laddered else None,
        rung=place if is_laddered else None,
        is_weight_bearing=fields.take("is_weight_bearing", bool, False),
        is_bfr=fields.take("is_bfr", bool, False),
        knee_range=fields.span("knee_range"),
        load=_chosen(fields, "load", shared.loads),
        equipment=fields.texts("equipment", EQUIPMENT),
        how=fields.texts("how"),
        cautions=(*whole.cautions, *fields.texts("cautions")),
        evidence=_statements(fields, whole),
        irritability=fields.texts("irritability", IRRITABILITY),
        dose=_chosen(fields, "dose", shared.doses),
        time_limit=_time_limit(fields, shared.sources),
        leads_to=fields.texts("leads_to"),
        lower_load_reason=fields.text("lower_load_reason", ""),
        drawing=fields.text("drawing") if fields.has("drawing") else None,
    )
    return _checked(found, fields)


def _checked(entry: Exercise, fields: Fields) -> Exercise:
    fields.finish()
    check_entry(entry, fields)
    return entry


def _statements(fields: Fields, whole: _Whole) -> tuple[Evidence, ...]:
    known = whole.shared.evidence
    keys = (*whole.evidence, *fields.texts("evidence", known))
    return tuple(known[key] for key in keys)


def _chosen(fields: Fields, key: str, known: Mapping[str, T]) -> T | None:
    return known[fields.choice(key, known)] if fields.has(key) else None


def _load(key: str, fields: Fields, sources: Mapping[str, Reference]) -> Load:
    found = Load(
        key=key,
        tier=TIERS[fields.choice("tier", TIERS)],
        measure=TierMeasure(fields.choice("measure", list(TierMeasure))),
        source=sources[fields.choice("source", sources)],
        mark=fields.choice("mark", MARKS),
        note=fields.text("note", ""),
        times_body_weight=fields.take("times_body_weight", float)
        if fields.has("times_body_weight")
        else None,
    )
    fields.finish()
    check_load(found, fields)
    return found


def _time_limit(fields: Fields, sources: Mapping[str, Reference]) -> TimeLimit | None:
    if not fields.has("time_limit"):
        return None
    table = fields.table("time_limit")
    found = TimeLimit(
        weeks=table.take("weeks", int),
        source=sources[table.choice("source", sources)],
        mark=table.choice("mark", MARKS),
    )
    table.finish()
    return found
