"""The acts on programmes that go on the record."""

from clinic.audit import Action, Kind

FLOW_SCREEN_SIGNED = Action("flow_screen.signed", "signed a flow-restriction screen")
FLOW_SCREEN_VOIDED = Action("flow_screen.voided", "voided a flow-restriction screen")
EVENT_REPORTED = Action("event.reported", "reported an adverse event")
EVENT_VOIDED = Action("event.voided", "voided an adverse event")
OTHER_CARE_RECORDED = Action("other_care.recorded", "recorded other care")
OTHER_CARE_ENDED = Action("other_care.ended", "recorded the end of other care")
OTHER_CARE_VOIDED = Action("other_care.voided", "voided other care")
DOSING_CHANGED = Action("dosing.changed", "changed the dosing policy")

PROGRAMME_STARTED = Action("programme.started", "started a programme")
PROGRAMME_COPIED = Action("programme.copied", "copied a programme")
PROGRAMME_ENDED = Action("programme.ended", "ended the programme")
PROGRAMME_VOIDED = Action("programme.voided", "voided the programme")
TEMPLATE_SAVED = Action("programme.template_saved", "saved a template")
PHASE_ADDED = Action("phase.added", "added a phase")
PHASE_CHANGED = Action("phase.changed", "changed a phase")
LINE_PRESCRIBED = Action("line.prescribed", "prescribed an exercise")
LINE_CHANGED = Action("line.changed", "changed a prescription")
LINE_STOPPED = Action("line.stopped", "stopped a prescription")
EXERCISE_ADDED = Action("exercise.added", "added an exercise to the library")
EXERCISE_RETIRED = Action("exercise.retired", "retired an exercise")

SUGGESTION_ANSWERED = Action("suggestion.answered", "answered a suggestion")
HANDOUT_MADE = Action(
    "handout.made", "made a home programme for the patient", Kind.GAVE_OUT
)
