"""The allow-list: every column that may leave the clinic, and nothing else.

A new column of a model leaves with no export until it is listed here, with its rule.
Two knees of one person are two rows that nothing links: the pair would be a pattern
that k does not cover, so no key of a person leaves. How a questionnaire was answered
and in which language stay behind too: they are rare enough to single somebody out.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from types import MappingProxyType

from programs.library import library

from ..period_choice import DURATIONS
from ..science.measures import PAIN_KINDS, PRIMARY_KEYS, QUESTIONNAIRES, catalogue
from ..science.verdicts import Verdict
from .dose_columns import dose_columns
from .generalising import AGE_BANDS, AGE_THREE, AGE_TWO, DURATION_TWO, SEXES, SIDES
from .table_shape import (
    AS_IT_IS,
    BANDED,
    CODED,
    Column,
    Table,
    Type,
    pain,
    whole,
    window,
    words,
)

NOT_MEASURED = "not measured"
CLINIC_MADE = "clinic-made"
# As the models have them; a value that a model gains does not leave until listed here.
DISCHARGE_REASONS = (
    "goals met",
    "no further benefit",
    "stopped attending",
    "referred on",
    "moved away",
    "other",
)
ATTENDANCES = ("attended", "did_not_attend", "cancelled")
NEXT_MORNINGS = ("settled", "mild_flare", "flare")
VERDICTS = tuple(verdict.value for verdict in Verdict)
ON_SIDES = ("index", "other", "both")
# The columns that l-diversity watches: what a stranger would want to learn.
SENSITIVE = ("last_verdict",)

__all__ = ["SENSITIVE", "Column", "Table", "Type", "tables"]

_KEY = Column(
    name="episode_key",
    title="Random key of the episode in this export",
    type=Type.TEXT,
    rule="128 bits drawn at random for this export; derived from nothing.",
    source="drawn",
    pattern="[0-9A-Za-z]{22}",
    form="22 letters and digits",
    is_required=True,
)
_YEAR = Column(
    name="year_opened",
    title="Year in which the episode opened",
    type=Type.YEAR,
    rule="The year alone; the level of the export may drop it.",
    source="Episode.opened_on",
    pattern=r"\d{4}",
    form="four digits",
)
_CLINICIAN = Column(
    name="clinician_code",
    title="Code of the clinician in this export",
    type=Type.TEXT,
    rule="Numbered in an order drawn at random; the level may drop it.",
    source="Episode.clinician",
    pattern=r"C\d+",
    form="C and a number",
)
_ACTIVITIES = Column(
    name="activities",
    title="Ratings 0 to 10 of the patient's own activities, by code",
    type=Type.TEXT,
    rule="A1, A2 and so on; the patient's words stay in the clinic.",
    source="Assessment.answers",
    direction="Higher is better.",
    pattern=r"A\d{1,2}=\d{1,2}( A\d{1,2}=\d{1,2})*",
    form="such as A1=7 A2=5",
)
_VERDICT = words(
    "verdict",
    "Verdict on this score against the first; empty for the first",
    VERDICTS,
    source="outcomes.science.mcid",
)


@cache
def tables() -> Mapping[str, Table]:
    """The five files by name, in the order in which they are written."""
    made = (_episodes(), _assessments(), _pain_scores(), _visits(), _prescriptions())
    return MappingProxyType({table.name: table for table in made})


def _episodes() -> Table:
    return Table(
        name="episodes",
        title="Episodes",
        row_is="One episode of care for one knee.",
        order="By random key.",
        columns=(_KEY, *_quasi_columns(), *_course_columns()),
        unique=("episode_key",),
    )


def _quasi_columns() -> tuple[Column, ...]:
    bands = tuple(dict.fromkeys((*AGE_BANDS, *AGE_THREE, *AGE_TWO)))
    durations = tuple(dict.fromkeys((*DURATIONS, *DURATION_TWO)))
    return (
        words(
            "age_band",
            "Age at opening, in whole years",
            bands,
            rule=f"{BANDED} 90 and above are inside the last band.",
            source="Patient.birth_date",
            is_required=True,
        ),
        words("sex", "Sex as recorded", SEXES, rule=BANDED, source="Patient.sex"),
        words("side", "The knee", SIDES, rule=BANDED, source="Episode.side"),
        words(
            "duration_band",
            "How long there were symptoms at opening",
            durations,
            rule=BANDED,
            source="Episode.symptom_onset_on",
        ),
        _YEAR,
        _CLINICIAN,
    )


def _course_columns() -> tuple[Column, ...]:
    return (
        words(
            "primary_measure",
            "Measure that the episode is judged by",
            PRIMARY_KEYS,
            source="Episode.primary_measure",
            is_required=True,
        ),
        words(
            "last_verdict",
            "Verdict on the last score of that measure against the first",
            (*VERDICTS, NOT_MEASURED),
            rule=f"{CODED} Each class of rows holds several different ones.",
            source="outcomes.science.mcid",
            is_required=True,
        ),
        words(
            "discharge_reason",
            "Why care ended; empty while it goes on",
            DISCHARGE_REASONS,
            source="Episode.discharge_reason",
        ),
        window("discharge_window", "When care ended", "Episode.discharged_on"),
    )


def _assessments() -> Table:
    return Table(
        name="assessments",
        title="Questionnaires and ratings",
        row_is="One measure of an episode in one window: the one nearest to it.",
        order="By episode key, then measure, then window.",
        columns=(
            _KEY,
            window("week_window", "When", "Assessment.assessed_on", is_required=True),
            words(
                "measure",
                "Measure",
                QUESTIONNAIRES,
                source="Assessment.measure",
                is_required=True,
            ),
            whole("edition", "Edition of its scoring key", "Assessment.edition", low=1),
            _score(),
            _VERDICT,
            _ACTIVITIES,
        ),
        unique=("episode_key", "measure", "week_window"),
    )


def _score() -> Column:
    return Column(
        name="score",
        title="Score",
        type=Type.NUMBER,
        rule=AS_IT_IS,
        source="Assessment.score",
        unit="points",
        direction=_directions(),
        low=min(catalogue()[key].low for key in QUESTIONNAIRES),
        high=max(catalogue()[key].high for key in QUESTIONNAIRES),
    )


def _pain_scores() -> Table:
    return Table(
        name="pain_scores",
        title="Pain",
        row_is="The pain ratings of an episode in one window: the day nearest to it.",
        order="By episode key, then window.",
        columns=(
            _KEY,
            window("week_window", "When", "PainScore.rated_on", is_required=True),
            *(
                pain(kind, catalogue()[f"pain_{kind}"].name, "PainScore")
                for kind in PAIN_KINDS
            ),
        ),
        unique=("episode_key", "week_window"),
    )


def _visits() -> Table:
    return Table(
        name="visits",
        title="Visits",
        row_is="One appointment of an episode; several may share a window.",
        order="By episode key, then window, then the cells from left to right.",
        columns=(
            _KEY,
            window("week_window", "When", "Visit.visited_on", is_required=True),
            words(
                "attendance",
                "What became of the appointment",
                ATTENDANCES,
                source="Visit.attendance",
                is_required=True,
            ),
            pain("pain_during", "Pain during exercise", "SessionResponse"),
            words(
                "next_morning",
                "The morning after: mild flare is up by 1; flare by 2, or for longer",
                NEXT_MORNINGS,
                source="SessionResponse.next_morning",
            ),
        ),
    )


def _prescriptions() -> Table:
    return Table(
        name="prescriptions",
        title="Prescribed exercises",
        row_is="One line of a programme; a change of dose is a line of its own.",
        order="By episode key, then the cells from left to right.",
        columns=(
            _KEY,
            window("start_window", "When the line began", "Prescription.starts_on"),
            window("stop_window", "When the line ended", "Prescription.stops_on"),
            _exercise(),
            words(
                "on_side",
                "Which side does it, seen from the treated knee",
                ON_SIDES,
                source="Prescription.on_side",
                is_required=True,
            ),
            *dose_columns(),
        ),
    )


def _exercise() -> Column:
    return words(
        "exercise",
        "Entry of the exercise library, or clinic-made",
        (*library(), CLINIC_MADE),
        rule=f"{CODED} An exercise of the clinic's own is “{CLINIC_MADE}”.",
        source="Prescription.exercise",
        is_required=True,
    )


def _directions() -> str:
    """Say in which direction each measure improves, with its range."""
    return " ".join(
        f"{one.key} {one.low:g} to {one.high:g}, "
        f"{one.better.sentence if one.better else 'above 0 is better, as a change'}."
        for one in (catalogue()[key] for key in QUESTIONNAIRES)
    )
