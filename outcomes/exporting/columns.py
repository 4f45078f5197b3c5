"""The allow-list: every column that may leave the clinic, and nothing else.

A new column of a model leaves with no export until it is listed here, with its rule.
Two knees of one person are two rows that nothing links: the pair would be a pattern
that k does not cover, so no key of a person leaves.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum


class Type(StrEnum):
    """How a cell is written, by the names of Table Schema."""

    TEXT = "string"
    WHOLE = "integer"
    NUMBER = "number"


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """One column: what it means, what it may hold, and by which rule it may leave."""

    name: str
    title: str
    type: Type
    rule: str  # the de-identification rule applied
    source: str  # the model field or rule it comes from
    unit: str = ""
    direction: str = ""  # a sentence, for a scale
    allowed: tuple[str, ...] = ()
    pattern: str = ""
    low: float | None = None
    high: float | None = None
    required: bool = False  # never empty, except where a level drops it


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """One file of the export."""

    name: str  # without .csv
    title: str
    row_is: str
    order: str  # in which order rows are written, so that the order tells nothing
    columns: tuple[Column, ...]
    unique: tuple[str, ...] = ()  # primary key of Table Schema


def tables() -> Mapping[str, Table]:
    """The five files by name, in the order in which they are written.

    episodes: episode_key, age_band, sex, side, duration_band, year_opened,
    clinician_code, primary_measure, last_verdict, discharge_reason, discharge_window.
    assessments: episode_key, week_window, measure, edition, score, verdict,
    activity_1 to activity_5.
    pain_scores: episode_key, week_window, worst, usual, stairs, squatting, sitting,
    running. visits: episode_key, week_window, attendance, pain_during, next_morning.
    prescriptions: episode_key, start_window, stop_window, exercise, on_side, sets,
    repetitions, scheme, hold_seconds, minutes, rest_seconds, load, load_kg,
    load_percent, times_a_week, cuff_percent.
    """
    raise NotImplementedError
