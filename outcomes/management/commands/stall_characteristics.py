"""Prints how often a policy's findings prompt on courses whose truth is known."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from clinic.models import Site

from ...policies import policy_for
from ...policy_cost import share_words
from ...science.policy import StallPolicy

if TYPE_CHECKING:
    from ...science.simulate import Characteristics, Rate

TITLE_WIDTH = 49
CELL_WIDTH = 16


class Command(BaseCommand):
    """Simulates; it reads a site's policy and changes nothing."""

    help = (
        "Simulate how often each review finding prompts on flat, on-course, fast and "
        "worsening cases under a site's policy and schedule, and what share of a "
        "caseload that means. Without --site, the default policy."
    )
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        """Declare the size and the seed of the simulation."""
        parser.add_argument("--site", help="name of the site whose policy is judged")
        parser.add_argument("--cases", type=int, default=4000, help="per true course")
        parser.add_argument("--weeks", type=int, default=26, help="weeks followed")
        parser.add_argument("--seed", type=int, default=20260105)
        parser.add_argument(
            "--missed",
            type=float,
            default=0.0,
            help="share of re-measures missed at random, such as 0.1",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        """Print the table, or say which option cannot be simulated."""
        from ...science.simulate import characteristics

        wanted = ("cases", "weeks", "seed", "missed")
        chosen = {name: options[name] for name in wanted}
        try:
            found = characteristics(_policy(options["site"]), **chosen)
        except ValueError as error:
            raise CommandError(f"Cannot be simulated: {error}.") from error
        whose = options["site"] or "the default policy"
        self.stdout.write("\n".join(report(found, whose=whose)))


def _policy(site_name: str | None) -> StallPolicy:
    if site_name is None:
        return StallPolicy()
    site = Site.objects.filter(name=site_name).first()
    if site is None:
        raise CommandError(f"There is no site called {site_name!r}.")
    return policy_for(site)


def report(found: Characteristics, *, whose: str) -> Iterable[str]:
    """Yield the lines of the report; per cent with one standard error."""
    set_up = found.set_up
    yield f"How often review findings prompt: {whose}"
    yield ""
    yield "Set-up (invented cases, not patients)"
    yield from (f"  {sentence}" for sentence in found.statements)
    yield ""
    yield f"Prompted at least once by week {set_up.weeks}, % ± simulation error"
    yield from _table(found, at_week=False)
    yield ""
    yield f"Prompted at week {set_up.at_week}, % ± simulation error"
    yield from _table(found, at_week=True)
    yield ""
    yield "< and >: none or all of the cases; the 95 % limit of three in their number."
    yield ""
    yield from _remarks(found)


def _table(found: Characteristics, *, at_week: bool) -> Iterable[str]:
    heads = [*found.truths, "caseload"]
    yield " " * TITLE_WIDTH + "".join(head.rjust(CELL_WIDTH) for head in heads)
    for row in found.rows:
        rates = row.at_week if at_week else row.ever
        caseload = row.caseload_at_week if at_week else row.caseload_ever
        cells = [_cell(one, found.set_up.cases) for one in (*rates, caseload)]
        title = f"{row.rule.rank:>2} {row.title}" if row.rule else f"   {row.title}"
        yield title.ljust(TITLE_WIDTH) + "".join(x.rjust(CELL_WIDTH) for x in cells)


def _cell(rate: Rate, cases: int) -> str:
    return share_words(100 * rate.share, 100 * rate.error, cases=cases)


def _remarks(found: Characteristics) -> Iterable[str]:
    overall = found.rows[-1]
    if overall.needless is not None:
        yield (
            f"Of the cases prompted on progress at week {found.set_up.at_week}, "
            f"{overall.needless:.0%} are truly on course or improving fast."
        )
    yield "Not simulated:"
    for rule, reason in found.not_simulated:
        yield f"  {rule.rank:>2} {rule.title}: {reason}."
