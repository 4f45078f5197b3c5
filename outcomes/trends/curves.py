"""The shares of a group that improved, left or wait, week by week, and their words."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from clinic.templatetags.clinic_format import DASH, percent

from ..science.group.small_numbers import FLOOR
from ..science.group.time_to import (
    COMPETING,
    EVENT,
    FEW,
    Curve,
    cumulative_incidence,
    last_week,
    median_incidence,
    survival,
)


@dataclass(frozen=True, slots=True)
class Curves:
    """The shares of one ending, and the week where they stop being shown."""

    n: int
    improved: Curve
    left: Curve
    neither: Curve
    until: float | None  # None: too few for any share

    @classmethod
    def of(cls, ends: pd.DataFrame) -> Curves:
        """Return the curves; `until` where fewer than FEW would remain at risk."""
        weeks, end = ends["week"].to_numpy(), ends["end"].to_numpy()
        has_enough = len(ends) >= FLOOR
        return cls(
            len(ends),
            cumulative_incidence(weeks, end),
            cumulative_incidence(weeks, end, of=COMPETING),
            survival(weeks, np.isin(end, (EVENT, COMPETING))),
            last_week(weeks) if has_enough else None,
        )

    @property
    def notes(self) -> tuple[str, ...]:
        """Say where the shares end and why."""
        if self.until is None:
            return (
                f"Shares and a curve are shown from {FLOOR} cases; these are counts.",
            )
        return (
            f"Shares and the curve end with week {self.until:.0f}, the last with at "
            f"least {FEW} cases at risk.",
        )

    def shares(self, week: int) -> tuple[str, str, str, str]:
        """Return share improved, its limits, share that left, and neither, in words."""
        if self.until is None or week > self.until:
            return DASH, DASH, DASH, DASH
        value, low, high = self.improved.at(week, 0.0)
        left, neither = self.left.at(week, 0.0)[0], self.neither.at(week, 1.0)[0]
        return _percent(value), _limits(low, high), _percent(left), _percent(neither)

    def by_week(self, planned: int, what: str) -> str:
        """Say the share by the planned end of care, or by where the curve ends."""
        week = min(float(planned), self.until or 0.0)
        value, low, high = self.improved.at(week, 0.0)
        has_limits = np.isfinite(low)
        limits = f" (95 % limits {_limits(low, high)})" if has_limits else ""
        return f"By week {week:.0f}, {what} was seen in {_percent(value)}{limits}."

    def half(self) -> str:
        """Say by when half had improved, or that half did not while the curve lasts."""
        until = self.until or 0.0
        median = median_incidence(self.improved)
        if median.week > until:
            return f"Half is not reached: by week {until:.0f}, under half had one."
        limits = ""
        if np.isfinite(median.low):
            high = f"{median.high:.0f}" if median.high <= until else "not reached"
            limits = f" (95 % limits {median.low:.0f} to {high})"
        return f"Half had one by week {median.week:.0f}{limits}."


def _percent(share: float) -> str:
    # The library's product of shares ends a few 1e-16 beside nothing and all.
    return percent(100 * min(max(share, 0.0), 1.0))


def _limits(low: float, high: float) -> str:
    return f"{_percent(low)} to {_percent(high)}" if np.isfinite(low) else DASH
