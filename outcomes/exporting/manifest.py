"""What an export holds and what was done to it, in a file that goes with it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from .anonymity import Plan
from .csv_text import Written

JURISDICTIONS = ("united-states", "united-kingdom", "european-union", "elsewhere")


@dataclass(frozen=True, slots=True)
class Wording:
    """What such a file is called where the clinic works, and what that means."""

    word: str  # "de-identified" or "pseudonymised"
    sentence: str


def wording(jurisdiction: str) -> Wording:
    """Return the wording of a jurisdiction; KeyError lists the known ones."""
    raise NotImplementedError


@dataclass(frozen=True, slots=True, kw_only=True)
class Manifest:
    """The facts of one export; `as_json` is manifest.json."""

    files: tuple[Written, ...]
    plan: Plan
    jurisdiction: str
    app_version: str
    extracted_at: datetime  # aware
    declined: int  # people left out because they decline
    left_out: dict[str, int]  # rows without a window of their own, by table name
    years: tuple[int, int]  # first and last year of the period

    def as_json(self) -> str:
        """Return manifest.json; it holds no date of a person and no small count."""
        raise NotImplementedError
