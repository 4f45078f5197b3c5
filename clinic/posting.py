"""The way of every form: save it once and go on, or show it with what to mend."""

from collections.abc import Callable
from typing import Any

from django import forms
from django.db import IntegrityError
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render

from .models import Submission
from .submissions import KeyReused, fingerprint, form_key_of, new_form_key, save_once
from .versions import StaleEdit
from .views.errors import form_key_reused

CHANGED_MEANWHILE = (
    "Somebody changed this after you opened the page. Compare what is stored now "
    "with what you typed; saving again replaces it."
)
DOES_NOT_FIT = (
    "Somebody saved something meanwhile that does not go together with this. "
    "Look at the record, then try again."
)


def posted(request: HttpRequest) -> QueryDict | None:
    """Return what a form sent, even if nothing was filled in; None for a GET."""
    return request.POST if request.method == "POST" else None


def posted_version(request: HttpRequest) -> int:
    """Return the version that the form was opened with; 0 if it carries none."""
    typed = request.POST.get("version", "")
    return int(typed) if typed.isascii() and typed.isdigit() else 0


def saved(
    request: HttpRequest, act: Callable[[], str], *sent: forms.BaseForm
) -> HttpResponse | None:
    """Run the act once for a valid POST and go where it says.

    None means: show the forms, which now carry what has to be mended.
    """
    if request.method != "POST":
        return None
    if not all([form.is_valid() for form in sent]):
        earlier = saved_before(request)
        return redirect(earlier) if earlier else None
    try:
        return redirect(save_once(request, act))
    except KeyReused:
        return form_key_reused(request)
    except StaleEdit as stale:
        sent[0].stale_row = stale.row  # type: ignore[attr-defined]
        sent[0].add_error(None, CHANGED_MEANWHILE)
    except IntegrityError:
        sent[0].add_error(None, DOES_NOT_FIT)
    return None


def saved_before(request: HttpRequest) -> str:
    """Return where this very form led when it was saved already; else nothing.

    The second of two taps is judged after the first has saved, and then looks
    like a double entry.
    """
    sent = Submission.objects.filter(by_id=request.user.pk, key=form_key_of(request))
    earlier = sent.first()
    is_same = earlier and earlier.fingerprint == fingerprint(request.POST)
    return earlier.outcome if earlier and is_same else ""


def show_form(
    request: HttpRequest, template: str, *shown: forms.BaseForm, **context: Any
) -> HttpResponse:
    """Show a page with its first form as `form`, all of them as `forms`."""
    stale_rows = [form.stale_row for form in shown if hasattr(form, "stale_row")]
    has_errors = any(form.is_bound and form.errors for form in shown)
    status = 409 if stale_rows else 422 if has_errors else 200
    frame = {"form": shown[0], "forms": shown, "form_key": new_form_key()}
    if stale_rows:
        context["version"] = stale_rows[0].version
    return render(request, template, {**frame, **context}, status=status)
