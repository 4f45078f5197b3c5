"""Addresses; the clinical pages are those of the outcomes app."""

from django.urls import include, path

from .views import confirming, health, people, signing_in

handler403 = "clinic.views.errors.refused"
handler500 = "clinic.views.errors.server_error"

urlpatterns = [
    path("health/", health.health, name="health"),
    path("ready/", health.ready, name="ready"),
    path("sign-in/", signing_in.sign_in, name="sign_in"),
    path("sign-out/", signing_in.sign_out, name="sign_out"),
    path(
        "first-sign-in/<uidb64>/<token>/",
        signing_in.first_sign_in,
        name="first_sign_in",
    ),
    path("passphrase/", signing_in.change_passphrase, name="change_passphrase"),
    path("confirm/", confirming.confirm_passphrase, name="confirm_passphrase"),
    path("set-up/", people.set_up, name="set_up"),
    path("people/", people.people, name="people"),
    path("people/<int:pk>/one-time/", people.new_one_time, name="new_one_time"),
    path("people/<int:pk>/deactivate/", people.deactivate, name="deactivate"),
    path("people/<int:pk>/let-back-in/", people.let_back_in, name="let_back_in"),
    path("sites/new/", people.add_site, name="add_site"),
    path("", include("programs.urls")),
    path("", include("outcomes.urls")),
]
