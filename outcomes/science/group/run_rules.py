"""Whether a row of months has shifted: one family of run rules, not all of them.

Anhøj & Olesen 2014, PLoS ONE 9:e113825 (confirmed; the formulas are from memory): a
shift shows as an unusually long run on one side of the centre or as unusually few
crossings of it. Together they cry wolf in about 5 of 100 rows without a shift; each
further rule would add to that, and the rule of rising points is nearly useless.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby
from math import log2

from scipy.stats import binom

# Fewer useful points cannot tell a shift from luck (from memory).
FEWEST_USEFUL = 10
# A share and the centre may be one number and differ in the last binary digit.
ON_THE_CENTRE = 1e-9
CROSSINGS_CENTILE = 0.05


@dataclass(frozen=True, slots=True)
class Runs:
    """What the runs of a row say; `useful` are the points off the centre."""

    useful: int
    longest: int
    crossings: int
    longest_expected: int
    fewest_expected: int

    @property
    def can_be_judged(self) -> bool:
        """Tell whether there are points enough."""
        return self.useful >= FEWEST_USEFUL

    @property
    def is_shift(self) -> bool:
        """Tell whether the row moved other than by chance."""
        return self.can_be_judged and (
            self.longest > self.longest_expected
            or self.crossings < self.fewest_expected
        )


def runs(values: Sequence[float], centre: float) -> Runs:
    """Return the runs of a row around a centre; points on the centre are skipped.

    Longest run expected: log2(n) + 3, rounded to the nearest whole number. Fewest
    crossings expected: the 5th centile of Binomial(n - 1, 0.5). n counts useful points.
    """
    off = (value - centre for value in values)
    sides = [step > 0 for step in off if abs(step) > ON_THE_CENTRE]
    lengths = [len(list(run)) for _, run in groupby(sides)]
    n = len(sides)
    return Runs(
        useful=n,
        longest=max(lengths, default=0),
        crossings=max(0, len(lengths) - 1),
        longest_expected=round(log2(n) + 3) if n else 0,
        fewest_expected=int(binom.ppf(CROSSINGS_CENTILE, n - 1, 0.5)) if n > 1 else 0,
    )
