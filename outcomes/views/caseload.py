"""The caseload: who needs a review, and everybody else."""

from dataclasses import dataclass
from typing import Any

from django import forms
from django.http import HttpResponse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from clinic.access import Capability, Role, can, requires
from clinic.htmx import AppRequest, page_or_fragment
from clinic.models import Episode, Patient, User

from ..caseload import CaseRow, build_caseload
from ..policies import policy_for
from ..sorting import ORDERS, in_order

MOST_FOUND = 50  # people without a case in care; more than that is no search
SHOWN = {"review": "Needs review", "resting": "Resting", "": "Everyone"}


class CaseloadFilters(forms.Form):
    """Whose cases, which of them, in which order; nothing here names a patient."""

    whose = forms.ChoiceField(
        required=False,
        label="Cases of",
        choices=[("mine", "Mine and those I cover"), ("site", "The whole clinic")],
    )
    show = forms.ChoiceField(
        required=False, label="Show", choices=[(k, v) for k, v in SHOWN.items()]
    )
    order = forms.ChoiceField(
        required=False,
        label="Order",
        choices=[(key, order.label) for key, order in ORDERS.items()],
    )

    def __init__(self, *args: Any, by: User, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        people = by.site.people.filter(episodes__isnull=False).distinct()
        whose = self.fields["whose"]
        whose.choices += [  # type: ignore[attr-defined]
            (str(person.pk), str(person)) for person in people if person != by
        ]

    def chosen(self, name: str, default: str = "") -> str:
        """Return a choice; whatever was not offered counts as the default."""
        self.is_valid()
        return self.cleaned_data.get(name) or default


@dataclass(frozen=True, slots=True)
class Groups:
    """The caseload in three groups, in the order of the page."""

    review: list[CaseRow]
    resting: list[CaseRow]
    rest: list[CaseRow]


@dataclass(frozen=True, slots=True)
class Others:
    """People of the clinic who were found and have no case in care."""

    people: list[Patient]
    has_more: bool


@requires(Capability.SEE_CASES)
@require_http_methods(["GET", "POST"])
def caseload(request: AppRequest) -> HttpResponse:
    """Show open cases, or everybody found by name or number; that search is a POST."""
    words = request.POST.get("find", "").strip()
    filters = CaseloadFilters(request.GET, by=request.user)
    whose = "site" if words else filters.chosen("whose", default_whose(request.user))
    episodes = episodes_of(request.user, whose)
    if words:
        episodes = episodes.found_by(words)
    on = timezone.localdate()
    policy = policy_for(request.user.site)
    rows = in_order(
        build_caseload(episodes, policy=policy, on=on), filters.chosen("order")
    )
    context = {
        "filters": filters,
        **acted_on(request.user, rows),
        "groups": grouped(rows, "" if words else filters.chosen("show")),
        "count": sum(row.episode.is_open for row in rows),
        "ended": sum(not row.episode.is_open for row in rows),
        "find": words,
        "others": others_found(request.user, words, rows),
        "most_found": MOST_FOUND,
        "whose": whose,
        "on": on,
    }
    return page_or_fragment(request, "outcomes/caseload", "caseload_table", context)


def acted_on(user: User, rows: list[CaseRow]) -> dict[str, set[int]]:
    """Return the episodes that a person covers and may write in; one query."""
    covers = user.covers.active(timezone.localdate())
    covered = set(covers.values_list("episode_id", flat=True))
    is_for_all = can(user, Capability.TREAT_ANY)
    treated = {
        row.episode.pk
        for row in rows
        if is_for_all
        or row.episode.clinician_id == user.pk
        or row.episode.pk in covered
    }
    return {"covered": covered, "treated": treated}


def default_whose(user: User) -> str:
    """Return whose cases to open with: a lead looks at the whole clinic."""
    return "site" if user.role == Role.LEAD else "mine"


def episodes_of(user: User, whose: str) -> Any:
    """Return the episodes of a person, of oneself with cover, or of the site.

    Ended ones come along while a red-flag answer of theirs is undecided.
    """
    episodes = (
        Episode.objects.for_user(user)
        .open_or_undecided()
        .select_related("patient", "clinician")
        .order_by("patient__family_name", "patient__given_name", "pk")
    )
    if whose == "site":
        return episodes
    if whose == "mine":
        return episodes.on_caseload_of(user, timezone.localdate())
    return episodes.filter(clinician_id=int(whose))


def others_found(user: User, words: str, rows: list[CaseRow]) -> Others:
    """Return who of the clinic was found beside the cases in care; one query."""
    if not words:
        return Others([], has_more=False)
    people = (
        Patient.objects.for_user(user)
        .found_by(words)
        .exclude(pk__in={row.episode.patient_id for row in rows})
        .with_last_discharge()
        .order_by("family_name", "given_name", "pk")
    )
    found = list(people[: MOST_FOUND + 1])
    return Others(found[:MOST_FOUND], has_more=len(found) > MOST_FOUND)


def grouped(rows: list[CaseRow], show: str) -> Groups:
    """Part the rows; a chosen group empties the others."""
    review = [row for row in rows if row.findings]
    resting = [row for row in rows if not row.findings and row.resting]
    rest = [row for row in rows if not row.findings and not row.resting]
    if show == "review":
        return Groups(review, [], [])
    if show == "resting":
        return Groups([], resting, [])
    return Groups(review, resting, rest)
