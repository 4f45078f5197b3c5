"""The acts on programmes that go on the record."""

from clinic.audit import Action

FLOW_SCREEN_SIGNED = Action("flow_screen.signed", "signed a flow-restriction screen")
FLOW_SCREEN_VOIDED = Action("flow_screen.voided", "voided a flow-restriction screen")
EVENT_REPORTED = Action("event.reported", "reported an adverse event")
EVENT_VOIDED = Action("event.voided", "voided an adverse event")
OTHER_CARE_RECORDED = Action("other_care.recorded", "recorded other care")
OTHER_CARE_ENDED = Action("other_care.ended", "recorded the end of other care")
OTHER_CARE_VOIDED = Action("other_care.voided", "voided other care")
DOSING_CHANGED = Action("dosing.changed", "changed the dosing policy")
