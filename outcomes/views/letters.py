"""Letters about a case: draft, edit, preview, sign, keep, print, void."""

from collections.abc import Callable

from django import forms
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from clinic.access import Capability, requires
from clinic.cases import find_case, find_case_to_treat, treats
from clinic.htmx import AppRequest
from clinic.models import Episode
from clinic.posting import posted, posted_version, saved, show_form
from clinic.refusals import refuse_voided

from ..care_forms import WhyForm
from ..letters import acts
from ..letters.form import NewLetterForm, letter_form, typed_parts
from ..letters.parts import parts_of
from ..letters.sheet import entered_since, last_addressee, read_sheet
from ..models import Letter


@requires(Capability.TREAT)
@require_http_methods(["GET", "POST"])
def new_letter(request: AppRequest, pk: int) -> HttpResponse:
    """Choose which letter; it is drafted from the record and opened to be edited."""
    on = timezone.localdate()
    case = find_case_to_treat(request.user, pk, on=on)
    if refusal := refuse_voided(request, case):
        return refusal
    kinds = Letter.Kind
    first = {
        "kind": kinds.PROGRESS if case.is_open else kinds.DISCHARGE,
        "addressed_to": last_addressee(case),
    }
    form = NewLetterForm(posted(request), initial=first)

    def act() -> str:
        typed = dict(form.cleaned_data)
        if typed["kind"] == kinds.SUMMARY:
            typed["addressed_to"] = ""
        made = acts.draft_letter(case, by=request.user, on=on, **typed)
        messages.success(request, "The letter is drafted. Read it, mend it, sign it.")
        return page_of(made)

    return saved(request, act, form) or show_form(
        request, "outcomes/letter_new.html", form, case=case
    )


def page_of(letter: Letter, name: str = "letter") -> str:
    """Return the address of a page of the letter."""
    return reverse(f"outcomes:{name}", args=[letter.pk])


def find_letter(request: AppRequest, pk: int, *, to_write: bool = False) -> Letter:
    """Return a letter of the person's site, voided or not, with its case.

    A colleague who does not treat the case is refused where it is to be written.
    """
    rows = Letter.objects.for_user(request.user).select_related(
        "signed_by", "drafted_by", "voided_by"
    )
    letter: Letter = get_object_or_404(rows, pk=pk)
    user, case = request.user, letter.episode_id
    letter.episode = (
        find_case_to_treat(user, case, on=timezone.localdate())
        if to_write
        else find_case(user, case)
    )
    return letter


def may_write(request: AppRequest, case: Episode) -> bool:
    """Tell whether the person treats the case today."""
    return treats(request.user, case, on=timezone.localdate())


@requires(Capability.SEE_CASES)
@require_http_methods(["GET", "POST"])
def letter(request: AppRequest, pk: int) -> HttpResponse:
    """Edit a draft, for those who treat the case; read it, for all others."""
    found = find_letter(request, pk, to_write=request.method == "POST")
    is_draft = found.is_standing and not found.signed_at
    if request.method == "POST" or (is_draft and may_write(request, found.episode)):
        return edit(request, found)
    return show(request, found)


def show(
    request: AppRequest, found: Letter, *, is_made: bool = False, status: int = 200
) -> HttpResponse:
    """Show a letter as it stands, with what may be done with it."""
    context = {
        "case": found.episode,
        "letter": found,
        "sheet": read_sheet(found),
        "is_made": is_made,
        "may_write": may_write(request, found.episode),
    }
    return render(request, "outcomes/letter.html", context, status=status)


def edit(request: AppRequest, found: Letter) -> HttpResponse:
    """Keep what was typed, or show it again beside what is stored."""
    form, parts = letter_form(posted(request), found, on=timezone.localdate())
    shown, version = (form, parts.management_form, *parts), posted_version(request)

    def act() -> str:
        acts.change_letter(
            found,
            by=request.user,
            version=version,
            parts=typed_parts(parts.forms),
            **form.cleaned_data,
        )
        messages.success(request, "The draft is saved.")
        return page_of(found, "letter_sign" if "preview" in request.POST else "letter")

    return saved_unless_refused(request, act, found, *shown) or show_form(
        request,
        "outcomes/letter_edit.html",
        *shown,
        case=found.episode,
        letter=found,
        parts=parts,
        since=entered_since(found),
        stored=parts_of(found) if hasattr(form, "stale_row") else (),
        version=version or found.version,
    )


def saved_unless_refused(
    request: AppRequest, act: Callable[[], str], found: Letter, *sent: forms.BaseForm
) -> HttpResponse | None:
    """Save, or put on the form why the letter cannot be had so."""
    try:
        return saved(request, act, *sent)
    except acts.LetterRefused as refused:
        found.refresh_from_db(fields=["version", "signed_at", "voided_at"])
        for reason in refused.reasons:
            sent[0].add_error(None, reason)
        return None


@requires(Capability.TREAT)
@require_http_methods(["GET", "POST"])
def sign(request: AppRequest, pk: int) -> HttpResponse:
    """Show the draft as on paper, and put one's name under it."""
    found = find_letter(request, pk, to_write=True)
    if request.method == "GET" and (found.signed_at or not found.is_standing):
        return redirect(page_of(found))
    form = forms.Form(posted(request))

    def act() -> str:
        acts.sign_letter(found, by=request.user, version=posted_version(request))
        messages.success(request, "The letter is signed and kept as it is.")
        return page_of(found)

    return saved_unless_refused(request, act, found, form) or show_form(
        request,
        "outcomes/letter_sign.html",
        form,
        case=found.episode,
        letter=found,
        sheet=read_sheet(found),
        since=entered_since(found),
        reasons=acts.reasons_against(found),
        version=found.version,
    )


@requires(Capability.TREAT)
@require_http_methods(["GET", "POST"])
def void_letter(request: AppRequest, pk: int) -> HttpResponse:
    """Withdraw a letter; it stays on record, with who, when and why."""
    found = find_letter(request, pk, to_write=True)
    if request.method == "GET" and not found.is_standing:
        return redirect(page_of(found))
    form, version = WhyForm(posted(request)), posted_version(request)

    def act() -> str:
        why = form.cleaned_data["why"]
        acts.void_letter(found, by=request.user, why=why, version=version)
        messages.success(request, "The letter is voided; it stays on record.")
        return found.episode.get_absolute_url()

    return saved_unless_refused(request, act, found, form) or show_form(
        request,
        "outcomes/letter_void.html",
        form,
        case=found.episode,
        letter=found,
        version=found.version,
    )
