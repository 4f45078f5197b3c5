"""Deny by default, keep nothing in caches, give each request a name."""

import uuid
from collections.abc import Callable
from http import HTTPStatus
from typing import Any

from django.conf import settings
from django.contrib.auth import logout
from django.contrib.auth.middleware import LoginRequiredMiddleware
from django.contrib.auth.views import redirect_to_login
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.http.response import HttpResponseBase
from django.urls import reverse
from django.utils import timezone
from django_htmx.http import HttpResponseClientRedirect

from .held import ask_to_sign_in, hold_form
from .looking import looking, put_looks_on_record, put_refusal_on_record
from .own_sessions import is_in_force
from .request_names import named
from .views.health import health, ready

Respond = Callable[[HttpRequest], HttpResponse]
SIGNED_IN_AT = "signed_in_at"
MUST_SET_UP = "must_set_up_second_step"


class RequestId:
    """Give each request a random name that error pages and the audit show."""

    def __init__(self, respond: Respond) -> None:
        self.respond = respond

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Name the request and say the name in the answer."""
        request.request_id = str(uuid.uuid4())  # type: ignore[attr-defined]
        with named(request.request_id):  # type: ignore[attr-defined]
            response = self.respond(request)
        response["X-Request-Id"] = request.request_id  # type: ignore[attr-defined]
        return response


class Watched:
    """Answer whoever watches the installation before any session is looked up."""

    def __init__(self, respond: Respond) -> None:
        self.respond = respond

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Answer the two addresses; they work while the database is away."""
        view = {"/health/": health, "/ready/": ready}.get(request.path_info)
        return view(request) if view else self.respond(request)


class SignInRequired(LoginRequiredMiddleware):
    """Ask for a sign-in everywhere; end sessions that are too old."""

    def process_view(
        self, request: HttpRequest, view_func: Any, view_args: Any, view_kwargs: Any
    ) -> HttpResponseBase | None:
        """Sign out past the absolute limit or when ended, then deny by default."""
        began = request.session.get(SIGNED_IN_AT)
        now = timezone.now().timestamp()
        if began and now - began > settings.SESSION_ABSOLUTE_SECONDS:
            logout(request)
        if request.user.is_authenticated and not is_in_force(request):
            logout(request)
        if request.user.is_authenticated and request.session.get(MUST_SET_UP):
            is_public = not getattr(view_func, "login_required", True)
            if not is_public and not hasattr(view_func, "is_open_before_set_up"):
                return redirect_to_set_up(request)
        return super().process_view(request, view_func, view_args, view_kwargs)

    def handle_no_permission(self, request: HttpRequest, view_func: Any) -> Any:
        """Ask for a sign-in; what a form carried is handed back, not dropped."""
        htmx = request.htmx  # type: ignore[attr-defined]
        if htmx:
            page = htmx.current_url_abs_path or "/"
            target = redirect_to_login(page, settings.LOGIN_URL).url
            return HttpResponseClientRedirect(target)
        if request.method == "POST":
            is_never_held = getattr(view_func, "is_never_held", False)
            return ask_to_sign_in(request) if is_never_held else hold_form(request)
        return super().handle_no_permission(request, view_func)


def redirect_to_set_up(request: HttpRequest) -> HttpResponse:
    """Lead to the second step: with the passphrase alone no page opens."""
    target = reverse("second_step")
    if request.htmx:  # type: ignore[attr-defined]
        return HttpResponseClientRedirect(target)
    return HttpResponseRedirect(target)


def open_before_set_up(view: Any) -> Any:
    """Mark a view that a person may use before the second step is set up."""
    view.is_open_before_set_up = True
    return view


class NoStore:
    """Keep signed-in pages out of every cache."""

    def __init__(self, respond: Respond) -> None:
        self.respond = respond

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Mark answers that may hold clinical data; after a failure, ask nobody."""
        response = self.respond(request)
        has_failed = response.status_code >= HTTPStatus.INTERNAL_SERVER_ERROR
        if has_failed or request.user.is_authenticated or request.method == "POST":
            response["Cache-Control"] = "no-store"
        return response


class OnRecord:
    """Put on record who opened whose record, and who was refused.

    An answer whose line cannot be written is not given.
    """

    def __init__(self, respond: Respond) -> None:
        self.respond = respond

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Watch which records the answer was made from."""
        with looking() as opened:
            response = self.respond(request)
        status, is_look = response.status_code, request.method == "GET"
        # After a failure nobody is asked for: the database may be away.
        if status in (403, 404) and request.user.is_authenticated:
            put_refusal_on_record(request, opened, status)
        elif status == 200 and is_look and request.user.is_authenticated:
            put_looks_on_record(request, opened)
        return response
