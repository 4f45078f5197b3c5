"""From rows to sections: which there are, and what each of them reads."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from importlib import import_module
from typing import Any

from clinic.models import Episode, Site, User

from ..frames.cases import opened_in
from ..frames.flags import read_flags
from ..frames.given import read_given
from ..frames.period import PeriodData, read_frames
from ..models import ClinicChange, FrozenReference
from ..period_choice import Choice
from ..policies import policy_for
from .sections import Section

FLAGS, GIVEN = "flags", "given"


@dataclass(frozen=True, slots=True)
class Entry:
    """One section: the module that builds it, and the frames that only it needs.

    `shared` names the builder for a sheet that others will read.
    """

    module: str
    reads: frozenset[str] = frozenset()
    shared: str = "build"

    def build(self, data: PeriodData, *, is_shared: bool = False) -> Section:
        """Build the section; its statistics are loaded with it and not before."""
        module = import_module(f".{self.module}", __package__)
        section: Section = getattr(module, self.shared if is_shared else "build")(data)
        return section


SECTIONS: Mapping[str, Entry] = {
    "flow": Entry("flow"),
    "response": Entry("response"),
    "time": Entry("time_to_improve"),
    "adjusted": Entry("adjusted", shared="build_shared"),
    "clinicians": Entry("between", shared="build_shared"),
    "months": Entry("months"),
    "stalled": Entry("stalled", frozenset({FLAGS})),
    "given": Entry("given", frozenset({GIVEN})),
}


def build_sections(
    site: Site,
    choice: Choice,
    *,
    on: date,
    keys: Iterable[str],
    is_shared: bool = False,
) -> list[Section]:
    """Return the sections of these keys, all built from one reading."""
    wanted = [SECTIONS[key] for key in keys]
    reads = frozenset().union(*(entry.reads for entry in wanted))
    data = read_period(site, choice, on=on, reads=reads)
    return [entry.build(data, is_shared=is_shared) for entry in wanted]


def read_period(
    site: Site, choice: Choice, *, on: date, reads: frozenset[str] = frozenset()
) -> PeriodData:
    """Read a site's cases of a period, and what else is asked for."""
    policy = policy_for(site)
    episodes = Episode.objects.filter(site=site)
    frames = read_frames(episodes, choice, policy=policy, on=on)
    chosen, kept = opened_in(episodes, choice).shared(), frames["cases"].index
    if FLAGS in reads:
        still = chosen.open().select_related("patient")
        flags = read_flags(still, policy=policy, on=on)
        frames["flags"] = flags[flags["episode"].isin(kept)]
    if GIVEN in reads:
        given = read_given(chosen.values("pk"), on=on)
        frames["given"] = given[given["episode"].isin(kept)]
    return PeriodData(
        choice=choice,
        on=on,
        policy=policy,
        people=_people(site),
        changes=_changes(site),
        references=_references(site),
        **frames,
    )


def _people(site: Site) -> dict[int, str]:
    """Return the names of those who treat at the site, by key, in order of name."""
    treating = User.objects.filter(site=site, episodes__isnull=False).distinct()
    return {person.pk: str(person) for person in sorted(treating, key=str)}


def _changes(site: Site) -> tuple[tuple[date, str], ...]:
    rows = ClinicChange.objects.standing().filter(site=site).order_by("happened_on")
    return tuple(rows.values_list("happened_on", "words"))


def _references(site: Site) -> dict[str, Any]:
    """Return the reference periods in force, by subject."""
    rows = FrozenReference.objects.filter(site=site, retired_at__isnull=True)
    return {
        row.subject: {
            "from_on": row.from_on,
            "until_on": row.until_on,
            "numbers": row.numbers,
            "declared_on": row.declared_at.date(),
            "why": row.why,
        }
        for row in rows
    }
