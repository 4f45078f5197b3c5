"""Addresses of the clinical pages; no name or number of a person is part of one."""

from django.urls import path

from .views import (
    admission,
    care,
    case,
    caseload,
    discharge,
    importing,
    measures,
    physical,
    policy,
    review,
    screens,
    visits,
)

app_name = "outcomes"
urlpatterns = [
    path("", caseload.caseload, name="caseload"),
    path("patients/new/", admission.admit, name="admit"),
    path("patients/<int:pk>/", admission.patient, name="patient"),
    path("patients/<int:pk>/details/", admission.change_patient, name="change_patient"),
    path("patients/<int:pk>/episodes/new/", admission.open_case, name="open_case"),
    path("cases/<int:pk>/", case.case, name="case"),
    path("cases/<int:pk>/details/", admission.change_case, name="change_case"),
    path("cases/<int:pk>/void/", admission.void_case, name="void_case"),
    path("cases/<int:pk>/review/", review.review, name="review"),
    path("cases/<int:pk>/visits/new/", visits.log_visit, name="log_visit"),
    path("cases/<int:pk>/score/", visits.live_score, name="live_score"),
    path("visits/<int:pk>/", visits.change_visit, name="change_visit"),
    path("visits/<int:pk>/void/", visits.void_visit, name="void_visit"),
    path("assessments/<int:pk>/", visits.assessment, name="assessment"),
    path("assessments/<int:pk>/void/", visits.void_assessment, name="void_assessment"),
    path("cases/<int:pk>/screen/", screens.screen, name="screen"),
    path("screens/<int:pk>/decide/", screens.decide, name="decide"),
    path("cases/<int:pk>/cover/", care.cover, name="cover"),
    path("covers/<int:pk>/end/", care.end_cover, name="end_cover"),
    path("cases/<int:pk>/hand-over/", care.hand_over, name="hand_over"),
    path("cases/<int:pk>/contacts/new/", care.log_contact, name="log_contact"),
    path("cases/<int:pk>/tests/new/", physical.record_test, name="record_test"),
    path("tests/<int:pk>/void/", physical.void_result, name="void_result"),
    path("cases/<int:pk>/discharge/", discharge.discharge, name="discharge"),
    path("cases/<int:pk>/take-back/", discharge.take_back, name="take_back"),
    path("policy/", policy.policy, name="policy"),
    path("policy/cost/", policy.cost, name="policy_cost"),
    path("import/", importing.upload, name="import"),
    path("import/<int:pk>/", importing.preview, name="import_preview"),
    path("measures/", measures.measures, name="measures"),
]
