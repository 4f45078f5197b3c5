"""What a review policy costs: how often it prompts, ready for the page."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

from .science.policy import StallPolicy

if TYPE_CHECKING:
    from .science.simulate import Rate, Row

# Enough for a simulation error of at most 1.2 points of per cent, in about 2 s.
CASES = 2000


def share_words(share: float, error: float, *, cases: int) -> str:
    """Return a share with its error, all in per cent, or with its limit at either end.

    None of n cases: the share is below 3/n with 95 % confidence (rule of three).
    """
    limit = 100 * 3 / cases
    if share == 0:
        return f"< {limit:.2g}"
    if share == 100:
        return f"> {100 - limit:.4g}"
    return f"{share:.1f} ± {error:.1f}"


@dataclass(frozen=True, slots=True)
class CostCell:
    """A share and its simulation error, both in per cent."""

    share: float
    error: float

    @property
    def words(self) -> str:
        """Return the share with its error, or with its limit at either end."""
        return share_words(self.share, self.error, cases=CASES)


@dataclass(frozen=True, slots=True)
class CostRow:
    """How often one finding prompts: by true course, then in the assumed caseload."""

    title: str
    ever: tuple[CostCell, ...]
    at_week: tuple[CostCell, ...]
    needless: float | None


@dataclass(frozen=True, slots=True)
class Cost:
    """The prompts of a policy on courses whose truth is known."""

    truths: tuple[str, ...]
    rows: tuple[CostRow, ...]
    weeks: int
    at_week: int
    statements: tuple[str, ...]
    not_simulated: tuple[tuple[str, str], ...]


def policy_cost(policy: StallPolicy) -> Cost:
    """Simulate a policy on its own schedule; takes about two seconds."""
    from .science.simulate import characteristics

    found = characteristics(policy, cases=CASES)
    return Cost(
        truths=tuple(str(truth) for truth in found.truths),
        rows=tuple(_row(row) for row in found.rows),
        weeks=found.set_up.weeks,
        at_week=found.set_up.at_week,
        statements=found.statements,
        not_simulated=tuple((rule.title, why) for rule, why in found.not_simulated),
    )


def _row(row: "Row") -> CostRow:
    needless = None if row.needless is None else 100 * row.needless
    return CostRow(
        title=row.title,
        ever=_cells(*row.ever, row.caseload_ever),
        at_week=_cells(*row.at_week, row.caseload_at_week),
        needless=needless,
    )


def _cells(*rates: "Rate") -> tuple[CostCell, ...]:
    return tuple(CostCell(100 * rate.share, 100 * rate.error) for rate in rates)
