"""The acts on outcomes that go on the record."""

from clinic.audit import Action

ASSESSMENT_RECORDED = Action("assessment.recorded", "recorded an assessment")
ASSESSMENT_CORRECTED = Action("assessment.corrected", "corrected an assessment")
ASSESSMENT_VOIDED = Action("assessment.voided", "voided an assessment")
PHYSICAL_TEST_RECORDED = Action("physical_test.recorded", "recorded a physical test")
PHYSICAL_RESULT_VOIDED = Action(
    "physical_result.voided", "voided a result of a physical test"
)
CASE_REVIEWED = Action("case.reviewed", "reviewed the flagged case")
POLICY_CHANGED = Action("policy.changed", "changed the review policy")
WORDING_INSTALLED = Action("wording.installed", "installed questionnaire wording")
RECORDS_IMPORTED = Action("records.imported", "brought in records")
REFERENCE_DECLARED = Action("reference.declared", "declared a reference period")
BUNDLE_MADE = Action("case.bundled", "made a file of the case for another system")
