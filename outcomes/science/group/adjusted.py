"""Follow-up expected from the starting point: fitted on a period, then frozen.

Ordinary least squares of the follow-up on the baseline and log2 of the duration in
months (statistics reference 2.6). Modelling the change instead would give the same
expectation; only the slope of the baseline would differ, by exactly 1.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import ceil, isfinite, sqrt
from typing import Any

import numpy as np
import statsmodels.api as sm
from numpy.typing import ArrayLike, NDArray
from scipy.stats import pearsonr

Array = NDArray[np.float64]

# At least 10 to 20 patients for each coefficient (statistics reference 2.6); the
# middle of it is a project assumption. The constant counts as a coefficient.
PER_COEFFICIENT = 15
# Project assumption: a shorter duration counts as half a month, since its logarithm
# runs away towards none.
SHORTEST_MONTHS = 0.5
# Points: what differs less differs by rounding alone.
NO_SPREAD = 1e-9
CONSTANT, BASELINE, DURATION = "constant", "baseline", "log2 months"


class TooFew(Exception):
    """A model was refused: `has` patients, where it needs `needs`."""

    def __init__(self, *, has: int, needs: int) -> None:
        super().__init__(f"{has} patients, where the model needs {needs}.")
        self.has, self.needs = has, needs


class NoSpread(Exception):
    """A model was refused: its terms do not vary, or not apart from each other."""


@dataclass(frozen=True, slots=True)
class Term:
    """One coefficient with its standard error."""

    name: str
    estimate: float
    se: float


@dataclass(frozen=True, slots=True)
class Model:
    """A fitted line; `covariance` is that of the coefficients, in their order."""

    terms: tuple[Term, ...]
    covariance: tuple[tuple[float, ...], ...]
    residual_sd: float
    n: int
    r2: float

    def predict(self, columns: Mapping[str, ArrayLike]) -> Array:
        """Return the expected outcome of each row; columns by the terms' names."""
        return self._design(columns) @ np.array([term.estimate for term in self.terms])

    def mean_error(self, columns: Mapping[str, ArrayLike]) -> float:
        """Return the standard error of the mean of observed less expected.

        The scatter of new patients around the line and the doubt about the line
        itself. For patients that the line was fitted on it is a little too wide.
        """
        design = self._design(columns)
        centre = design.mean(axis=0)
        line = float(centre @ np.array(self.covariance) @ centre)
        return sqrt(self.residual_sd**2 / len(design) + line)

    def to_plain(self) -> dict[str, Any]:
        """Return the model as plain JSON."""
        return {
            "terms": [[term.name, term.estimate, term.se] for term in self.terms],
            "covariance": [list(row) for row in self.covariance],
            "residual_sd": self.residual_sd,
            "n": self.n,
            "r2": self.r2,
        }

    @classmethod
    def from_plain(cls, plain: Mapping[str, Any]) -> Model:
        """Return the model that was kept as plain JSON."""
        return cls(
            terms=tuple(Term(*term) for term in plain["terms"]),
            covariance=tuple(tuple(row) for row in plain["covariance"]),
            residual_sd=plain["residual_sd"],
            n=plain["n"],
            r2=plain["r2"],
        )

    def _design(self, columns: Mapping[str, ArrayLike]) -> Array:
        given = {name: np.asarray(values, float) for name, values in columns.items()}
        rows = len(next(iter(given.values())))
        given[CONSTANT] = np.ones(rows)
        return np.column_stack([given[term.name] for term in self.terms])


def columns_of(baseline: ArrayLike, months: ArrayLike) -> dict[str, Array]:
    """Return the model's columns: baseline, scale points, and log2 of the months."""
    lasted = np.maximum(np.asarray(months, float), SHORTEST_MONTHS)
    return {BASELINE: np.asarray(baseline, float), DURATION: np.log2(lasted)}


def needed(coefficients: int = 3, per_coefficient: float = PER_COEFFICIENT) -> int:
    """Return how many patients a model of that many coefficients needs."""
    return ceil(coefficients * per_coefficient)


def fit(
    follow_up: ArrayLike,
    baseline: ArrayLike,
    months: ArrayLike,
    *,
    per_coefficient: float = PER_COEFFICIENT,
) -> Model:
    """Fit the follow-up on baseline and log2 of the months, one row a patient.

    Raises TooFew below `per_coefficient` patients for each of the three
    coefficients, NoSpread where the data cannot tell the terms apart.
    """
    return least_squares(
        follow_up, columns_of(baseline, months), per_coefficient=per_coefficient
    )


def least_squares(
    outcome: ArrayLike, columns: Mapping[str, ArrayLike], *, per_coefficient: float
) -> Model:
    """Fit an outcome on a constant and named columns; raises as `fit` does."""
    names = [CONSTANT, *columns]
    has, needs = len(np.asarray(outcome)), needed(len(names), per_coefficient)
    if has < needs or has <= len(names):
        raise TooFew(has=has, needs=max(needs, len(names) + 1))
    design = np.column_stack([np.ones(has), *columns.values()])
    _refuse_no_spread(design)
    fitted = sm.OLS(np.asarray(outcome, float), design).fit()
    estimates = zip(names, fitted.params.tolist(), fitted.bse.tolist(), strict=True)
    r2 = float(fitted.rsquared)
    return Model(
        terms=tuple(Term(*row) for row in estimates),
        covariance=tuple(map(tuple, fitted.cov_params().tolist())),
        residual_sd=sqrt(fitted.mse_resid),
        n=has,
        r2=r2 if isfinite(r2) else 0.0,
    )


def _refuse_no_spread(design: Array) -> None:
    """Refuse columns that are constant or follow from each other.

    Each is scaled to length 1 first, so that units do not decide.
    """
    scaled = design / np.maximum(np.linalg.norm(design, axis=0), 1e-300)
    if np.linalg.matrix_rank(scaled, tol=1e-9) < design.shape[1]:
        raise NoSpread("A term of the model does not vary apart from the others.")


@dataclass(frozen=True, slots=True)
class Compared:
    """Mean change of a group, observed and expected, and how far apart they are.

    `z` is the difference over its standard error. Scale points, positive is better
    where the scale's higher is.
    """

    n: int
    observed: float
    expected: float
    difference: float
    se: float
    z: float


def compare(
    model: Model, follow_up: ArrayLike, baseline: ArrayLike, months: ArrayLike
) -> Compared:
    """Hold a group's mean change against what its starting points let expect."""
    start, end = np.asarray(baseline, float), np.asarray(follow_up, float)
    columns = columns_of(start, months)
    observed = float((end - start).mean())
    expected = float((model.predict(columns) - start).mean())
    se = model.mean_error(columns)
    gap = observed - expected
    return Compared(len(start), observed, expected, gap, se, gap / se if se else 0.0)


# Change and baseline


@dataclass(frozen=True, slots=True)
class Correlation:
    """A correlation with its t, degrees of freedom and two-sided p."""

    r: float
    t: float
    df: int
    p: float


def oldham(baseline: ArrayLike, follow_up: ArrayLike) -> Correlation | None:
    """Correlate change with the mean of both scores; None where nothing varies.

    Oldham 1962. Its t is that of Pitman 1939 and Morgan 1939 for two equal
    variances, so it asks whether the spread of the scores changed, which a
    correlation of change with the baseline cannot.
    """
    start, end = np.asarray(baseline, float), np.asarray(follow_up, float)
    change, middle = end - start, (end + start) / 2
    if len(start) < 3 or min(np.ptp(change), np.ptp(middle)) < NO_SPREAD:
        return None
    tested, df = pearsonr(middle, change), len(start) - 2
    r, p = float(tested.statistic), float(tested.pvalue)
    left = 1 - r**2
    return Correlation(r, r * sqrt(df / left) if left > 0 else np.inf * r, df, p)


def coupled(r: float) -> float:
    """Return the correlation of change with baseline that arithmetic alone makes.

    -sqrt((1 - r) / 2) for two scores of equal spread that correlate by r.
    """
    return -sqrt((1 - r) / 2)
