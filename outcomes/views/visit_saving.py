"""Show the visit form, save it once, or hand it back with the typing kept."""

from collections.abc import Callable, Iterator
from typing import Any, cast

from django.contrib import messages
from django.db import IntegrityError
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django_htmx.http import HttpResponseClientRedirect, trigger_client_event

from clinic import screening
from clinic.draft_keys import draft_key
from clinic.htmx import AppRequest, page_or_fragment, wants_fragment
from clinic.models import Episode, Submission, Visit
from clinic.posting import posted_version
from clinic.submissions import KeyReused, form_key_of, new_form_key, save_once
from clinic.templatetags.clinic_format import day, score, signed
from clinic.versions import StaleEdit

from ..models import Assessment
from ..science.measures import measure
from ..science.scoring import Unscorable
from ..science.scoring import score as score_of
from ..visit_differences import differences, last_change
from ..visit_sheet import VisitSheet

Keep = Callable[[VisitSheet], Visit]

SAVED_AS: dict[str, str] = {
    Visit.Attendance.DID_NOT_ATTEND: "Non-attendance",
    Visit.Attendance.CANCELLED: "Cancellation",
}
SAVED = "form-saved"  # the page's script drops the draft when it hears this


class NotReady(Exception):
    """The form has something to mend; nothing was saved."""


def sheet_for(request: AppRequest, episode: Episode, visit: Visit | None) -> VisitSheet:
    """Return the form as it was posted, or fresh."""
    return VisitSheet(
        episode=episode,
        on=timezone.localdate(),
        visit=visit,
        typed=request.POST if request.method == "POST" else None,
        also=[*request.GET.getlist("also"), *request.POST.getlist("also")],
    )


def ask_or_save(
    request: AppRequest,
    episode: Episode,
    keep: Keep,
    visit: Visit | None = None,
) -> HttpResponse:
    """Show the form, save it, or say why it was not saved, with the typing kept."""
    sheet = sheet_for(request, episode, visit)
    if request.method == "GET":
        return show(request, sheet)
    if sheet.is_only_shown:
        forget_complaints(sheet)
        return show(request, sheet)
    try:
        return save(request, sheet, keep)
    except IntegrityError:
        # Somebody saved the same day in the same moment: the check now sees it.
        again = sheet_for(request, episode, visit)
        if again.is_valid():
            raise
        return show(request, again, problems=again.problems(), status=422)


def forget_complaints(sheet: VisitSheet) -> None:
    """Take the complaints off a form that nobody has asked to save yet."""
    for form in sheet.forms:
        form.errors.clear()


def save(request: AppRequest, sheet: VisitSheet, keep: Keep) -> HttpResponse:
    """Save the form once; a repeat of it gets the first answer, valid or not."""

    def act() -> str:
        if not sheet.is_valid():
            raise NotReady
        tell(request, keep(sheet))
        return sheet.episode.get_absolute_url()

    try:
        return saved(request, save_once(request, act))
    except NotReady:
        return show(request, sheet, problems=sheet.problems(), status=422)
    except KeyReused:
        return show(request, sheet, earlier_url=first_outcome(request), status=422)
    except StaleEdit as stale:
        return show_both(request, sheet.episode, cast(Visit, stale.row))


def tell(request: AppRequest, visit: Visit) -> None:
    """Say what was saved and when, and what an open red-flag answer asks for."""
    name = SAVED_AS.get(visit.attendance, "Visit")
    at = timezone.localtime()
    first = f"{name} of {day(visit.visited_on)} saved at {at:%H:%M}."
    messages.success(request, " ".join([first, *scores_of(visit)]))
    screen = visit.screens.standing().first()
    if screen and screen.is_positive and not screen.decision:
        routes = " ".join(c.route for c in screening.positives(screen.answers))
        messages.warning(
            request,
            f"{routes} Your decision is not recorded yet; until then this case gets "
            "no progress advice.",
        )


def scores_of(visit: Visit) -> Iterator[str]:
    """Yield what each questionnaire of a visit came to."""
    for row in visit.assessments.standing().order_by("pk"):
        about = measure(row.measure)
        if row.score is not None:
            is_change = about.better is None
            yield f"{about.short_name} {(signed if is_change else score)(row.score)}."
        else:
            yield f"{about.short_name} kept without a score: {_why_not(row)}"


def _why_not(row: Assessment) -> str:
    """Return which answers a questionnaire lacks, or the reason it was kept with."""
    result = score_of(measure(row.measure), row.answers)
    return result.briefly if isinstance(result, Unscorable) else row.no_score_reason


def saved(request: AppRequest, url: str) -> HttpResponse:
    """Leave for the case page; the page's script hears that the save arrived."""
    if not wants_fragment(request):
        return redirect(url)
    return trigger_client_event(HttpResponseClientRedirect(url), SAVED)


def first_outcome(request: AppRequest) -> str:
    """Return where the first form with this key led to."""
    first = Submission.objects.get(by=request.user, key=form_key_of(request))
    return first.outcome


def show(
    request: AppRequest, sheet: VisitSheet, *, status: int = 200, **more: Any
) -> HttpResponse:
    """Show the form; a form that came back with the same content keeps its key."""
    is_new = sheet.typed is None or "earlier_url" in more
    context = {
        "sheet": sheet,
        "episode": sheet.episode,
        "on": sheet.on,
        "form_key": new_form_key() if is_new else str(form_key_of(request)),
        "version": posted_version(request) or getattr(sheet.visit, "version", 0),
        "draft_key": draft_key(request.user),
        **more,
    }
    return page_or_fragment(
        request, "outcomes/visit", "visit_form", context, status=status
    )


def show_voided(request: AppRequest, visit: Visit) -> HttpResponse:
    """Say that a visit was withdrawn, by whom and why."""
    return render(request, "outcomes/visit_voided.html", {"visit": visit}, status=404)


def show_both(request: AppRequest, episode: Episode, visit: Visit) -> HttpResponse:
    """Show what is stored now beside what was typed; the next save replaces it."""
    if not visit.is_standing:
        return show_voided(request, visit)
    sheet = sheet_for(request, episode, visit)
    found, change = differences(sheet), last_change(visit)
    return show(
        request,
        sheet,
        status=409,
        differences=found,
        is_same=not found,
        changed_by=change.by_name,
        changed_at=change.at,
        version=visit.version,
    )
