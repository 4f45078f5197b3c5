"""Which codes a bundle speaks in: open ones where they exist, else our own.

The project has no address on the web, so its code systems are urns. What was decided:

- Knee: ICD-10-CM, in the public domain (codes: confirmed, secondary source). No SNOMED
  CT: its licence differs from country to country, and a bundle does not know where it
  is read.
- Questionnaires: no LOINC code was found for AKPS and KOOS-PF, and none was checked for
  LEFS, PSFS and the global rating, so all have local codes. The code of the long KOOS
  form is not borrowed for its patellofemoral part.
- Pain: LOINC 72514-3 names pain severity told aloud as a number, without a period or an
  activity. Our six ratings each have one of these, and how they were given is not kept;
  the code would claim what nobody recorded. They have local codes.
"""

from typing import Any

from ..science.measures import Measure

LOCAL = "urn:trochlea"
MEASURE_SYSTEM = f"{LOCAL}:measure"
ICD_10_CM = "http://hl7.org/fhir/sid/icd-10-cm"
UNITS = "http://unitsofmeasure.org"
TERMINOLOGY = "http://terminology.hl7.org/CodeSystem"
SURVEY_SYSTEM = f"{TERMINOLOGY}/observation-category"
CLINICAL_SYSTEM = f"{TERMINOLOGY}/condition-clinical"
CONDITION_CATEGORY = f"{TERMINOLOGY}/condition-category"
# The points of an answer, in R4 (its later replacement is not part of R4).
POINTS_EXTENSION = "http://hl7.org/fhir/StructureDefinition/ordinalValue"

# Says that a receiver must not take an invented person for a real one (from memory).
TEST_DATA = {"system": f"{TERMINOLOGY}/v3-ActReason", "code": "HTEST"}

# Patellofemoral disorders by side (confirmed, secondary source).
KNEE_CODES = {"right": "M22.2X1", "left": "M22.2X2"}
# As the clinic records it, in the words of the standard.
GENDERS = {"F": "female", "M": "male", "X": "unknown"}
SCORE_UNIT = "{score}"

Resource = dict[str, Any]


def concept(system: str, code: str, *, display: str = "", text: str = "") -> Resource:
    """Return a concept of one coding; what is empty is left out."""
    coding = {"system": system, "code": code}
    if display:
        coding["display"] = display
    return {"coding": [coding]} | ({"text": text} if text else {})


def measure_concept(about: Measure, *, edition: int) -> Resource:
    """Return the local code of a measure, with the edition that it was scored by."""
    found = concept(
        MEASURE_SYSTEM, about.key, display=about.short_name, text=about.name
    )
    found["coding"][0]["version"] = str(edition)
    return found


def knee_concept(side: str) -> Resource:
    """Return what the knee is treated as."""
    text = f"Pain around the kneecap, {side} knee"
    return concept(ICD_10_CM, KNEE_CODES[side], text=text)


def questionnaire(key: str, edition: int) -> str:
    """Return the local canonical of a questionnaire, with its edition as version."""
    return f"{LOCAL}:questionnaire:{key}|{edition}"


def answer_system(key: str) -> str:
    """Return the local code system of a questionnaire's lettered answers."""
    return f"{LOCAL}:answer:{key}"


def identifier(kind: str, value: object, *, site: int) -> Resource:
    """Return a number that means something at one site of one installation."""
    return {"system": f"{LOCAL}:site-{site}:{kind}", "value": str(value)}


def colleague(row: int, *, site: int) -> Resource:
    """Return a person of the clinic by local number only, without a name."""
    return {"type": "Practitioner", "identifier": identifier("person", row, site=site)}


def knee_site(side: str) -> Resource:
    """Return the body site in words; its open codes are under licence."""
    return {"text": f"{side.capitalize()} knee"}
