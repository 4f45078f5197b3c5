"""The dose of a prescribed line: numbers alone, for notes and tempo are free text."""

from __future__ import annotations

from .table_shape import AS_IT_IS, Column, Type, whole, words

# As the model has them.
LOADS = ("body", "kg", "band", "percent", "none")
_SCHEME = Column(
    name="scheme",
    title="Repetitions set by set, in place of sets and repetitions",
    type=Type.TEXT,
    rule="Numbers with spaces between them.",
    source="Prescription.scheme",
    pattern=r"\d{1,3}( \d{1,3})*",
    form="such as 30 15 15 15",
)


def dose_columns() -> tuple[Column, ...]:
    """How much, how often and how heavy; a scheme stands in place of sets."""
    return (
        _dose("sets", "Sets"),
        _dose("repetitions", "Repetitions of each set"),
        _SCHEME,
        _dose("hold_seconds", "Hold of each repetition", unit="seconds"),
        _dose("minutes", "Time", unit="minutes"),
        _dose("rest_seconds", "Rest between sets", unit="seconds"),
        words("load", "What the load is given in", LOADS, source="Prescription.load"),
        _load("load_kg", "Load", unit="kg"),
        _load("load_percent", "Load", unit="% of one-repetition maximum", high=100),
        _dose("times_a_week", "Times a week"),
        whole(
            "cuff_percent",
            "Pressure of the cuff",
            "Prescription.cuff_percent",
            unit="% of the measured occlusion pressure",
            high=100,
        ),
    )


def _dose(name: str, title: str, unit: str = "") -> Column:
    return whole(name, title, f"Prescription.{name}", unit=unit)


def _load(name: str, title: str, *, unit: str, high: float | None = None) -> Column:
    return Column(
        name=name,
        title=title,
        type=Type.NUMBER,
        rule=AS_IT_IS,
        source=f"Prescription.{name}",
        unit=unit,
        low=0,
        high=high,
    )
