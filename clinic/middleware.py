"""Deny by default, keep nothing in caches, give each request a name."""

import uuid
from collections.abc import Callable
from http import HTTPStatus
from typing import Any

from django.conf import settings
from django.contrib.auth import logout
from django.contrib.auth.middleware import LoginRequiredMiddleware
from django.contrib.auth.views import redirect_to_login
from django.http import HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.utils import timezone
from django_htmx.http import HttpResponseClientRedirect

from .held import ask_to_sign_in, hold_form
from .views.health import health, ready

Respond = Callable[[HttpRequest], HttpResponse]
SIGNED_IN_AT = "signed_in_at"


class RequestId:
    """Give each request a random name that error pages and the audit show."""

    def __init__(self, respond: Respond) -> None:
        self.respond = respond

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Name the request and say the name in the answer."""
        request.request_id = str(uuid.uuid4())  # type: ignore[attr-defined]
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
        """Sign out past the absolute limit, then deny by default."""
        began = request.session.get(SIGNED_IN_AT)
        now = timezone.now().timestamp()
        if began and now - began > settings.SESSION_ABSOLUTE_SECONDS:
            logout(request)
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
