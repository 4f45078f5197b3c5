"""Which programme fits a story, and what stands beside it: plain values, no rows.

The random numbers are the episode's own, so that everything else of the demo stays
as it is. All courses are constructed.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from random import Random
from types import MappingProxyType
from zlib import crc32

from .beside import BESIDE, ORTHOSES, TAPE, Beside
from .blueprints import blueprint_for
from .plans import EpisodePlan, PersonPlan, VisitPlan

CaseKey = tuple[str, date, str]  # record number, first day, side
Groups = dict[tuple[str, bool], list[tuple[PersonPlan, EpisodePlan]]]
WITHOUT_YET = 2  # of the newest cases: the first visit was spent on explaining
ENDED_SHARE = 0.4  # of the discharged cases have a programme on record
TAPED, IN_ORTHOSES = 0.15, 0.1  # of the cases without anything else beside
SORE_FROM = 3  # pain told for the whole session, where one exercise hurt too much


@dataclass(frozen=True, slots=True, kw_only=True)
class Track:
    """How a programme goes on in one story; weeks count from the first visit.

    `done` is the share of planned sessions that are done, `over` how often the target
    is beaten, `sore_from` the week from which thigh work hurts too much.
    """

    phases: tuple[int, ...] = ()
    goes_up: tuple[int, ...] = ()
    keeps: tuple[int, ...] = ()
    done: float = 0.85
    over: float = 0.9
    sore_from: int | None = None


RISING = Track(phases=(4,), goes_up=(3, 9), done=0.95)
TRACKS: Mapping[str, Track] = MappingProxyType(
    {
        "steady": Track(phases=(4, 9), goes_up=(7, 12), done=0.95),
        "slow": Track(phases=(6,), goes_up=(9,), keeps=(4,), done=0.6, over=0.4),
        "early_flat": Track(phases=(4,), goes_up=(3,), keeps=(7,), over=0.3),
        "flat": Track(phases=(6,), keeps=(9,), done=0.8, over=0.1),
        "flare": Track(phases=(4,), goes_up=(10,), done=0.8),
        "worsening": Track(done=0.5, over=0.0, sore_from=6),
        "one_low": Track(phases=(4,), goes_up=(3,), sore_from=9),
        "never_remeasured": RISING,
        "lost": Track(done=0.4, over=0.5),
        "ceiling": RISING,
        "bilateral": RISING,
        "adolescent": RISING,
        "late_baseline": RISING,
        "again": RISING,
    }
)
# Kept whole, so that the same knee's next episode can take it over.
COPIED_LATER = Track(goes_up=(3, 7), done=0.95)
# Open cases of these stories in which the last visit told of too much pain.
SORE_LAST: Mapping[str, int] = MappingProxyType(
    {"flat": 3, "early_flat": 4, "slow": 4, "steady": 3}
)


@dataclass(frozen=True, slots=True, kw_only=True)
class ProgrammePlan:
    """The programme of one case, as the story wants it."""

    blueprint: str
    track: Track
    beside: Beside
    seed: int
    is_open: bool
    is_copied_from_earlier: bool
    last_on: date  # the last visit that was attended
    is_sore_at_last: bool = False

    @property
    def rng(self) -> Random:
        """The random numbers of this case."""
        return Random(self.seed)  # noqa: S311 - invented people


def case_key(person: PersonPlan, knee: EpisodePlan) -> CaseKey:
    """Return what names one case of the caseload."""
    return person.record_number, knee.opened_on, knee.side


def plan_programmes(people: Iterable[PersonPlan]) -> dict[CaseKey, ProgrammePlan]:
    """Return the programmes of a caseload; a few cases have none."""
    found: dict[CaseKey, ProgrammePlan] = {}
    for (story, is_open), cases in _groups(people).items():
        sore = SORE_LAST.get(story, 0) if is_open else 0
        for place, (person, knee) in enumerate(cases):
            plan = _plan(person, knee, place)
            if plan is None or _is_too_new(knee, place, len(cases)):
                continue
            if sore and plan.beside.is_empty and _may_be_sore(knee):
                plan, sore = replace(plan, is_sore_at_last=True), sore - 1
            found[case_key(person, knee)] = plan
    return found


def _groups(people: Iterable[PersonPlan]) -> Groups:
    """Return the cases by story and whether in care, the longest in care first."""
    found: Groups = defaultdict(list)
    for person in people:
        for knee in person.episodes:
            found[knee.story, knee.discharged_on is None].append((person, knee))
    for cases in found.values():
        cases.sort(key=lambda case: (case[1].opened_on, case[0].record_number))
    return found


def _plan(person: PersonPlan, knee: EpisodePlan, place: int) -> ProgrammePlan | None:
    """Return the programme of one case; None for some that ended long ago."""
    is_open = knee.discharged_on is None
    seed = crc32(f"{person.record_number} {knee.side} {is_open}".encode())
    rng = Random(seed + 1)  # noqa: S311 - invented people
    is_before = not is_open and any(each.story == "again" for each in person.episodes)
    named = BESIDE.get((knee.story, is_open, place))
    is_kept = is_open or is_before or named or rng.random() < ENDED_SHARE
    if not is_kept:
        return None
    return ProgrammePlan(
        blueprint=blueprint_for(knee),
        track=COPIED_LATER if is_before else TRACKS[knee.story],
        beside=named or _common(rng),
        seed=seed,
        is_open=is_open,
        is_copied_from_earlier=knee.story == "again",
        last_on=_attended(knee)[-1].on,
    )


def _common(rng: Random) -> Beside:
    """Return what many have: tape or orthoses for the first weeks, or nothing."""
    share = rng.random()
    if share < TAPED:
        return Beside(adjuncts=(TAPE,))
    is_in_orthoses = share < TAPED + IN_ORTHOSES
    return Beside(adjuncts=(ORTHOSES,)) if is_in_orthoses else Beside()


def _is_too_new(knee: EpisodePlan, place: int, count: int) -> bool:
    is_new = knee.story == "steady" and knee.discharged_on is None
    return is_new and place >= count - WITHOUT_YET


def _may_be_sore(knee: EpisodePlan) -> bool:
    """Tell whether the last visit already told of some pain during exercise."""
    last = _attended(knee)[-1]
    return (last.pain_during or 0) >= SORE_FROM and last.next_morning == "settled"


def _attended(knee: EpisodePlan) -> list[VisitPlan]:
    return [visit for visit in knee.visits if visit.attendance == "attended"]
