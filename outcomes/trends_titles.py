"""The questions that the review of the caseload answers, in their order."""

from collections.abc import Mapping

TITLES: Mapping[str, str] = {
    "flow": "Who was seen and re-measured",
    "response": "Who got better",
    "time": "How soon",
    "adjusted": "Against what was expected",
    "clinicians": "By clinician",
    "months": "Over the months",
    "stalled": "Stalled cases",
    "given": "What was given",
}
