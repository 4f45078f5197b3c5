"""What an export holds and what was done to it, in a file that goes with it.

It tells no date of a person: the period by its years, the moment of extraction in the
short form of ISO 8601, and a count of people below k only as that.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime

from ..science.measures import catalogue
from .anonymity import Plan
from .columns import SENSITIVE
from .csv_text import Written
from .generalising import LEVELS, Shown
from .jurisdictions import JURISDICTIONS, Wording, wording

# Why a row of an episode that leaves stays behind all the same.
NOT_IN_IT = (
    "Of several ratings in one window of weeks only the nearest leaves; what lies "
    "outside of every window leaves with none. These rows are of episodes that are in "
    "the file; the rows of episodes that were held back are not counted here."
)

__all__ = ["JURISDICTIONS", "Manifest", "Wording", "wording"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Manifest:
    """The facts of one export; `as_json` is manifest.json."""

    files: tuple[Written, ...]
    plan: Plan
    jurisdiction: str
    app_version: str
    extracted_at: datetime  # aware, else ValueError
    declined: int  # people left out because they decline
    left_out: Mapping[str, int]  # rows for which NOT_IN_IT holds, by table name
    years: tuple[int, int]  # first and last year of the period
    # Numbers of the site's review policy that differ from the defaults; they move
    # verdicts.
    policy: Mapping[str, object] = field(default_factory=dict)

    def __post_init__(self) -> None:
        """Refuse a moment without a time zone."""
        if self.extracted_at.utcoffset() is None:
            raise ValueError("The moment of extraction needs a time zone.")

    @property
    def wording(self) -> Wording:
        """Return what such a file is called where the clinic works."""
        return wording(self.jurisdiction)

    @property
    def moment(self) -> str:
        """Return the moment of extraction in UTC, such as 20250314T101500Z."""
        return self.extracted_at.astimezone(UTC).strftime("%Y%m%dT%H%M%SZ")

    @property
    def period(self) -> str:
        """Return the years of the period in words."""
        first, last = self.years
        return str(first) if first == last else f"{first} to {last}"

    def as_dict(self) -> dict[str, object]:
        """Return what manifest.json says."""
        return {
            "title": f"Export for audit, {self.wording.word}",
            "word": self.wording.word,
            "what_that_means": self.wording.sentence,
            "jurisdiction": self.jurisdiction,
            "extracted_at_utc": self.moment,
            "years": self.period,
            "versions": {
                "trochlea": self.app_version,
                "measures": {key: one.edition for key, one in catalogue().items()},
            },
            "review_policy_changed": dict(self.policy),
            "rule": self._rule(),
            "level": self._level(),
            "held_back": {
                "rows": self.plan.suppressed_rows,
                "people_at_least": self.plan.suppressed_people,
                "why": self.plan.because,
            },
            "people_who_decline_left_out": people_shown(self.declined, k=self.plan.k),
            "why_rows_are_not_in_a_file": NOT_IN_IT,
            "files": [self._file(one) for one in self.files],
        }

    def as_json(self) -> str:
        """Return manifest.json; it holds no date of a person and no small count."""
        return json.dumps(self.as_dict(), indent=2, ensure_ascii=False) + "\n"

    def _rule(self) -> dict[str, object]:
        return {
            "k": self.plan.k,
            "k_counts": "people, not rows: one person may have two knees",
            "l": self.plan.l_values,
            "l_counts": list(SENSITIVE),
            "most_rows_held_back": self.plan.most_suppressed,
            "known_to_a_stranger": list(Shown._fields),
        }

    def _level(self) -> dict[str, object]:
        held = {level.number: rows for level, rows in self.plan.tried}
        return {
            "number": self.plan.level.number,
            "name": self.plan.level.name,
            "order": [
                {
                    "number": level.number,
                    "name": level.name,
                    "sentence": level.sentence,
                    "rows_held_back": held.get(level.number, "not tried"),
                }
                for level in LEVELS
            ],
        }

    def _file(self, one: Written) -> dict[str, object]:
        return {
            "name": one.name,
            "rows": one.rows,
            "bytes": one.size,
            "sha256": one.sha256,
            "rows_not_in_it": self.left_out.get(one.name.split(".")[0], 0),
        }


def people_shown(count: int, *, k: int) -> int | str:
    """Return a count of people; one below k only as that, and 0 as it is."""
    return f"fewer than {k}" if 0 < count < k else count
