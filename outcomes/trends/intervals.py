"""How an interval around a share or a change is written: never below the floor."""

from __future__ import annotations

from clinic.templatetags.clinic_format import DASH, percent, signed

from ..science.group.location import Mean, Typical
from ..science.group.proportions import Share
from ..science.group.small_numbers import Showing, share_shown


def is_enough(of: int) -> bool:
    """Tell whether so many cases carry a per cent, an interval or an effect size."""
    return share_shown(of) is Showing.PER_CENT


def share_ends(share: Share | None) -> str:
    """Return the interval of a share as "38 to 86 %", below the floor a dash."""
    if share is None or not is_enough(share.of):
        return DASH
    low = percent(100 * share.low).removesuffix("%").strip()
    return f"{low} to {percent(100 * share.high)}"


def change_ends(change: Typical | Mean | None) -> str:
    """Return the interval of a change as "+7 to +16", below the floor a dash.

    A dash too where all changed alike: an interval without width would claim that
    nothing is uncertain.
    """
    if change is None or not is_enough(change.n):
        return DASH
    if change.low is None or change.high is None or change.low == change.high:
        return DASH
    return f"{signed(change.low)} to {signed(change.high)}"
