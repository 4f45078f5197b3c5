"""The acts that go on the record: one code and one sentence each."""

from dataclasses import dataclass
from enum import StrEnum

ACTIONS: dict[str, "Action"] = {}


class Kind(StrEnum):
    """What a reader of the trail asks for."""

    LOOKED = "looked at"
    CHANGED = "changed"
    GAVE_OUT = "copied or sent"
    REFUSED = "refused"


@dataclass(frozen=True, slots=True)
class Action:
    """A kind of act; making a second one of the same code raises ValueError."""

    code: str
    sentence: str
    kind: Kind = Kind.CHANGED

    def __post_init__(self) -> None:
        if self.code in ACTIONS:
            raise ValueError(f"Audit action {self.code!r} exists already.")
        ACTIONS[self.code] = self


SITE_ADDED = Action("site.added", "added the site")
PERSON_INVITED = Action("person.invited", "invited a person")
PERSON_DEACTIVATED = Action("person.deactivated", "deactivated a person")
PERSON_REACTIVATED = Action("person.reactivated", "reactivated a person")
SIGN_IN_RESET = Action("person.sign_in_reset", "made a new one-time sign-in")
SIGNED_IN = Action("session.signed_in", "signed in")
SIGN_IN_FAILED = Action(
    "session.sign_in_failed", "somebody failed to sign in under this name", Kind.REFUSED
)
SIGNED_OUT = Action("session.signed_out", "signed out")
SESSION_ENDED = Action("session.ended", "ended a session of their own")
PERSON_SWITCHED = Action("session.switched", "handed the device to somebody else")
PASSPHRASE_CHANGED = Action("session.passphrase_changed", "changed their passphrase")
SECOND_STEP_SET_UP = Action("second_step.set_up", "set up the second step")
SECOND_STEP_REMOVED = Action("second_step.removed", "gave up the second step")
RECOVERY_CODES_MADE = Action("second_step.codes_made", "made new recovery codes")
SIGN_IN_POLICY_CHANGED = Action(
    "site.sign_in_policy_changed", "changed what the sign-in asks for"
)
PASSPHRASE_CONFIRMED = Action(
    "session.passphrase_confirmed", "confirmed their passphrase"
)
PASSPHRASE_NOT_CONFIRMED = Action(
    "session.passphrase_not_confirmed", "typed a wrong passphrase to confirm"
)
PATIENT_ADMITTED = Action("patient.admitted", "added the patient")
PATIENT_CHANGED = Action("patient.changed", "changed the patient's details")
AUDIT_DECLINED = Action(
    "patient.audit_declined", "kept that the patient declines the use for audit"
)
AUDIT_ALLOWED = Action(
    "patient.audit_allowed", "kept that the patient allows the use for audit again"
)
EPISODE_OPENED = Action("episode.opened", "opened the episode")
EPISODE_CHANGED = Action("episode.changed", "changed the episode")
EPISODE_DISCHARGED = Action("episode.discharged", "discharged the case")
EPISODE_REOPENED = Action("episode.reopened", "took back the discharge")
EPISODE_VOIDED = Action("episode.voided", "voided the episode")
CASE_TRANSFERRED = Action("case.transferred", "handed the case over")
CASE_COVERED = Action("case.covered", "arranged cover")
COVER_ENDED = Action("case.cover_ended", "ended the cover")
SCREEN_ANSWERED = Action("screen.answered", "answered the red-flag screen")
SCREEN_DECIDED = Action("screen.decided", "decided on a red-flag answer")
VISIT_RECORDED = Action("visit.recorded", "logged the visit")
VISIT_CHANGED = Action("visit.changed", "changed the visit")
VISIT_VOIDED = Action("visit.voided", "voided the visit")
CONTACT_LOGGED = Action("contact.logged", "logged a contact attempt")
RECORD_OPENED = Action("record.opened", "opened a page of the record", Kind.LOOKED)
RECORD_REFUSED = Action(
    "record.refused", "asked for a page and was refused", Kind.REFUSED
)
