"""The acts on outcomes that go on the record."""

from clinic.audit import Action, Kind

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
EXPORT_BEGUN = Action("export.begun", "began an export for audit")
EXPORT_COMPLETED = Action("export.completed", "completed an export for audit")
EXPORT_STOPPED = Action("export.stopped", "stopped an export for audit")
CHANGE_NOTED = Action("change.noted", "noted a change in the clinic")
CHANGE_VOIDED = Action("change.voided", "voided a change in the clinic")
REFERENCE_DECLARED = Action("reference.declared", "declared a reference period")
BUNDLE_MADE = Action(
    "case.bundled", "made a file of the case for another system", Kind.GAVE_OUT
)

LETTER_DRAFTED = Action("letter.drafted", "drafted a letter")
LETTER_CHANGED = Action("letter.changed", "changed the draft of a letter")
LETTER_SIGNED = Action("letter.signed", "signed a letter")
LETTER_VOIDED = Action("letter.voided", "voided a letter")
LETTER_MADE = Action("letter.made", "made a letter for paper", Kind.GAVE_OUT)
ACCESS_ANSWERED = Action(
    "access.answered", "made a copy for an access request", Kind.GAVE_OUT
)
