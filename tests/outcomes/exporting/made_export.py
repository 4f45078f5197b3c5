"""A made-up export of a few rows, without a database."""

import random
from datetime import UTC, datetime
from pathlib import Path

from outcomes.exporting.anonymity import Plan, Tally
from outcomes.exporting.columns import tables
from outcomes.exporting.csv_text import Value, Written, write_table
from outcomes.exporting.generalising import AGE_BANDS, Quasi
from outcomes.exporting.manifest import Manifest
from outcomes.exporting.random_keys import new_key
from outcomes.exporting.table_shape import Column, Type
from outcomes.period_choice import DURATIONS

# One cell for each column that has a form of its own.
SAMPLES: dict[str, Value] = {
    "year_opened": "2024",
    "clinician_code": "C1",
    "activities": "A1=7 A12=10",
    "scheme": "30 15 15 15",
    "score": 97.72727272727273,
}


def made_plan(*, people: int = 200) -> Plan:
    """Return the plan of a made-up clinic: level 0 for 200 people, 3 for 16."""
    tally, draw = Tally(), random.Random(1)
    for person in range(people):
        quasi = Quasi(
            draw.choice(AGE_BANDS[1:3]), "F", "left", draw.choice(DURATIONS), 2024, "C1"
        )
        tally.add(person, quasi, (draw.choice(("improved", "none")),))
    plan = tally.plan()
    assert isinstance(plan, Plan)
    return plan


def made_manifest(files: tuple[Written, ...] = (), **facts: object) -> Manifest:
    """Return a manifest with made-up facts."""
    return Manifest(
        **{  # type: ignore[arg-type]
            "files": files,
            "plan": made_plan(),
            "jurisdiction": "united-kingdom",
            "app_version": "1",
            "extracted_at": datetime(2025, 3, 14, 10, 15, 9, tzinfo=UTC),
            "declined": 2,
            "left_out": {"assessments": 4},
            "years": (2023, 2024),
            **facts,
        }
    )


def cell_of(column: Column, key: str) -> Value:
    """Return a value that the column may hold."""
    if column.name == "episode_key":
        return key
    if column.name in SAMPLES:
        return SAMPLES[column.name]
    if column.allowed:
        return column.allowed[0]
    return 1 if column.type is Type.WHOLE else 2.5


def write_made_files(folder: Path, **changed: Value) -> tuple[Written, ...]:
    """Write the five files with one full and one bare row each."""
    keys = [new_key(), new_key()]
    written = []
    for table in tables().values():
        full = {
            column.name: changed.get(column.name, cell_of(column, keys[0]))
            for column in table.columns
        }
        bare = {
            column.name: cell_of(column, keys[1]) if column.is_required else None
            for column in table.columns
        }
        with (folder / table.file_name).open("wb") as file:
            written.append(write_table(file, table, [full, bare]))
    return tuple(written)
