"""Lines of a programme, sessions and gates for the tests of the response advice."""

from collections.abc import Sequence
from datetime import date, timedelta
from typing import Any

from programs.dosing.flow_screen import (
    Blocked,
    Clear,
    Expired,
    Missing,
    NeedsDecision,
    ScreenStatus,
)
from programs.dosing.loading import Irritability, Muscle, Plates
from programs.dosing.next_step import Dose, Rung
from programs.dosing.response import Gates, NextMorning, Session, Suggestion, suggest

DAY = date(2031, 3, 20)
SCREENS: dict[str, ScreenStatus] = {
    "clear": Clear(DAY),
    "missing": Missing("Some questions are open."),
    "blocked": Blocked("Ruled out.", ("clot",)),
    "expired": Expired("Too old.", DAY),
    "undecided": NeedsDecision("Added risk.", ("age",)),
}


def known(value: Any) -> Any:
    """Read a dash as not recorded."""
    return None if value == "-" else value


def sessions_of(rows: Sequence[Sequence[Any]]) -> list[Session]:
    """Give sessions two days apart, the last on the day."""
    first = DAY - timedelta(days=2 * (len(rows) - 1))
    return [
        Session(
            done_on=first + timedelta(days=2 * at),
            pain_during=known(pain),
            next_morning=None if morning == "-" else NextMorning(morning),
            usual_pain=known(usual),
            sets_prescribed=3,
            sets_done=known(done),
            repetitions_over=known(over),
        )
        for at, (pain, morning, usual, done, over) in enumerate(rows)
    ]


def dose_of(
    *, plate: Any = 1, easier: str = "easier", harder: str = "harder", **more: Any
) -> Dose:
    """Give 3 x 10 with 40 kg, changed where asked."""
    given = {"sets": 3, "repetitions": 10, "muscle": "large", "load_kg": 40} | more
    given = {key: known(value) for key, value in given.items()}
    return Dose(
        **given | {"muscle": Muscle(given["muscle"])},
        plates=None if plate == "-" else Plates(plate),
        easier=Rung(easier, "the easier one") if easier else None,
        harder=Rung(harder, "the harder one") if harder else None,
    )


def gates_of(*, flow_screen: str = "", **more: Any) -> Gates:
    """Give open gates, changed where asked."""
    given = {"is_advice_on": True, "is_red_flag_undecided": False} | more
    return Gates(**given, flow_screen=SCREENS.get(flow_screen))


def suggested(row: dict[str, Any]) -> Suggestion:
    """Ask for the suggestion of one row of the table."""
    word = known(row.get("irritability", "low"))
    return suggest(
        sessions=sessions_of(row["sessions"]),
        dose=dose_of(**row.get("dose", {})),
        irritability=None if word is None else Irritability(word),
        gates=gates_of(**row.get("gates", {})),
        on=DAY + timedelta(days=row.get("days_later", 0)),
    )
