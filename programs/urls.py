"""Addresses of the programme pages; no name or number of a person is part of one."""

from django.urls import path

from .views import (
    dosing_policy,
    handout,
    library,
    prescribing,
    programme,
    safety,
    suggestions,
    voiding,
)

app_name = "programs"
urlpatterns = [
    path("cases/<int:pk>/programme/", programme.programme, name="programme"),
    path(
        "cases/<int:pk>/programme/new/", programme.new_programme, name="new_programme"
    ),
    path("programmes/<int:pk>/end/", programme.end_programme, name="end_programme"),
    path("programmes/<int:pk>/void/", voiding.void_programme, name="void_programme"),
    path(
        "programmes/<int:pk>/template/", programme.make_template, name="make_template"
    ),
    path("programmes/<int:pk>/phases/new/", programme.add_phase, name="add_phase"),
    path("phases/<int:pk>/", programme.change_phase, name="change_phase"),
    path("phases/<int:pk>/prescribe/", prescribing.prescribe, name="prescribe"),
    path(
        "prescriptions/<int:pk>/change/",
        prescribing.change_prescription,
        name="change_prescription",
    ),
    path(
        "prescriptions/<int:pk>/stop/",
        prescribing.stop_prescription,
        name="stop_prescription",
    ),
    path("cases/<int:pk>/dose/", prescribing.dose_help, name="dose_help"),
    path(
        "prescriptions/<int:pk>/suggestion/",
        suggestions.suggestion,
        name="suggestion",
    ),
    path("exercises/", library.exercises, name="exercises"),
    path("exercises/own/new/", library.add_own, name="add_own"),
    path("exercises/own/<int:pk>/retire/", library.retire_own, name="retire_own"),
    path("exercises/<slug:key>/", library.exercise, name="exercise"),
    path("cases/<int:pk>/flow-screen/", safety.flow_screen, name="flow_screen"),
    path(
        "flow-screens/<int:pk>/void/",
        safety.void_flow_screen,
        name="void_flow_screen",
    ),
    path("cases/<int:pk>/events/new/", safety.report_event, name="report_event"),
    path("events/<int:pk>/void/", safety.void_event, name="void_event"),
    path("cases/<int:pk>/other-care/", safety.add_other_care, name="add_other_care"),
    path("other-care/<int:pk>/end/", safety.end_other_care, name="end_other_care"),
    path("other-care/<int:pk>/void/", safety.void_other_care, name="void_other_care"),
    path("dosing/", dosing_policy.dosing_policy, name="dosing_policy"),
    path("cases/<int:pk>/handout/", handout.handout, name="handout"),
    path("cases/<int:pk>/handout.pdf", handout.handout_pdf, name="handout_pdf"),
]
