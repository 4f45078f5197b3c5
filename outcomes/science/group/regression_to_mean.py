"""What a second measurement does by itself: the pull of extreme scores to the mean."""

from __future__ import annotations

from math import exp, sqrt

from scipy.stats import norm


def expected_shift(
    *, sd: float, mean: float, cut: float, reliability: float, times: int = 1
) -> float:
    """Return the rise, in scale points, expected of those first seen below `cut`.

    Nobody has changed: it is measurement error alone. `reliability` is the share of
    the variance that is between people, `times` how many measurements were averaged
    to choose. Barnett, van der Pols & Dobson 2005 (Int J Epidemiol 34:215).
    """
    _check(sd, reliability)
    if times < 1:
        raise ValueError("At least one measurement is needed to choose by.")
    within = sd**2 * (1 - reliability) / times
    spread = sqrt(sd**2 * reliability + within)
    if not spread:
        return 0.0
    z = (mean - cut) / spread
    # phi / (1 - Phi) through logarithms: far out both are too small to divide.
    hazard = exp(float(norm.logpdf(z)) - float(norm.logsf(z)))
    return within / spread * hazard


def expected_retest(score: float, *, mean: float, reliability: float) -> float:
    """Return the score to expect of one person, measured again with no true change.

    The mean plus reliability times the distance from it (Barnett 2005).
    """
    _check(1, reliability)
    return mean + reliability * (score - mean)


def _check(sd: float, reliability: float) -> None:
    if sd < 0 or not 0 <= reliability <= 1:
        raise ValueError("The SD must be 0 or more, the reliability between 0 and 1.")
