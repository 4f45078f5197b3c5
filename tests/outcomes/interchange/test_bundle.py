"""A case as an HL7 FHIR R4 bundle, held against a library's models of R4."""

import json
from collections.abc import Callable, Iterator
from datetime import date, timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from fhirclient.models.bundle import Bundle
from fhirclient.models.fhirabstractbase import FHIRValidationError

from clinic.admitting import discharge
from clinic.models import AuditEvent, Episode, Site, User
from outcomes import audit
from outcomes.interchange.bundle import build_bundle
from outcomes.interchange.coding import KNEE_CODES
from outcomes.interchange.reading import read_content
from outcomes.models import Assessment
from outcomes.recording import FilledForm, name_activity, record_assessment
from outcomes.science.measures import catalogue, measure
from outcomes.voiding import void_assessment
from tests.factories import make_akps, make_episode, make_patient, make_visit

pytestmark = pytest.mark.usefixtures("clock")

# Value sets of R4 (4.0.1) with the binding "required"; from memory.
STATUSES = {
    "Observation": {
        *("registered", "preliminary", "final", "amended", "corrected"),
        *("cancelled", "entered-in-error", "unknown"),
    },
    "QuestionnaireResponse": {
        *("in-progress", "completed", "amended", "entered-in-error", "stopped"),
    },
    "EpisodeOfCare": {
        *("planned", "waitlist", "active", "onhold", "finished", "cancelled"),
        "entered-in-error",
    },
    "CodeSystem": {"draft", "active", "retired", "unknown"},
}
GENDERS = {"male", "female", "other", "unknown"}
OPEN_SYSTEMS = {
    "http://hl7.org/fhir/sid/icd-10-cm",
    "http://unitsofmeasure.org",
    "http://terminology.hl7.org/CodeSystem/observation-category",
    "http://terminology.hl7.org/CodeSystem/condition-category",
    "http://terminology.hl7.org/CodeSystem/condition-clinical",
}
ACTIVITY = "Canary stairs at the invented mill"
NOTE = "Canary note of a visit"


@pytest.fixture
def case(clinician: User, today: date) -> Episode:
    """A left knee with an AKPS, a corrected one, a PSFS, an unscored form and pain."""
    opened_on = today - timedelta(days=60)
    patient = make_patient(by=clinician, given_name="Ada", family_name="Inventson")
    case = make_episode(
        by=clinician,
        patient=patient,
        opened_on=opened_on,
        goals="Canary goal",
        sport="Canary sport",
    )
    make_akps(episode=case, on=opened_on, total=60)
    later = opened_on + timedelta(days=21)
    make_akps(episode=case, on=later, total=70)
    make_akps(episode=case, on=later, total=75)
    number = name_activity(episode=case, words=ACTIVITY).number
    for key, answers, mode in (
        ("psfs", {str(number): 4}, "alone"),
        ("groc", {"overall": -2}, "proxy"),
        ("lefs", {"1": 3}, "alone"),
    ):
        form = FilledForm(measure=key, answers=answers, mode=mode)
        record_assessment(episode=case, by=clinician, form=form, assessed_on=later)
    make_visit(episode=case, on=later, note=NOTE, pain={"worst": 6, "stairs": 0})
    return case


def built(case: Episode) -> dict[str, Any]:
    """Return the bundle of a case."""
    content = read_content(Episode.objects.get(pk=case.pk), at=timezone.now())
    return json.loads(json.dumps(build_bundle(content)))


def of_kind(bundle: dict[str, Any], kind: str) -> list[dict[str, Any]]:
    """Return the resources of one kind."""
    found = [entry["resource"] for entry in bundle["entry"]]
    return [one for one in found if one["resourceType"] == kind]


def every(part: Any, key: str) -> Iterator[Any]:
    """Yield every value of a key, however deep."""
    if isinstance(part, dict):
        for name, value in part.items():
            if name == key:
                yield value
            yield from every(value, key)
    elif isinstance(part, list):
        for one in part:
            yield from every(one, key)


def score_of(bundle: dict[str, Any], key: str) -> list[dict[str, Any]]:
    """Return the observations of one measure."""
    found = of_kind(bundle, "Observation")
    return [one for one in found if one["code"]["coding"][0]["code"] == key]


# The standard


def test_the_library_reads_it_strictly_and_writes_the_same(case: Episode) -> None:
    """Every part is valid by the models of R4, and comes back as it went in."""
    bundle = built(case)
    assert Bundle(bundle, strict=True).as_json() == bundle


def test_the_library_would_refuse_a_fault(case: Episode) -> None:
    """The check can fail: without its status an observation is refused."""
    bundle = built(case)
    del of_kind(bundle, "Observation")[0]["status"]
    with pytest.raises(FHIRValidationError):
        Bundle(bundle, strict=True)


def test_a_case_without_anything_is_a_bundle_too(clinician: User) -> None:
    """A case of the first day has a person, a knee and an episode."""
    bundle = built(make_episode(by=clinician))
    assert Bundle(bundle, strict=True).as_json() == bundle
    assert {entry["resource"]["resourceType"] for entry in bundle["entry"]} == {
        "Patient",
        "Condition",
        "EpisodeOfCare",
    }


def test_an_invented_person_is_marked_as_test_data(case: Episode) -> None:
    """A demonstration cannot pass for a real case in another system."""
    assert "meta" not in built(case)
    Site.objects.filter(pk=case.site_id).update(is_demo=True)
    bundle = built(case)
    assert bundle["meta"]["security"][0]["code"] == "HTEST"
    assert Bundle(bundle, strict=True).as_json() == bundle


def test_it_is_a_collection_of_names_that_are_used_once(case: Episode) -> None:
    """It tells no server what to store; every part has a name of its own."""
    bundle = built(case)
    assert bundle["type"] == "collection"
    urls = [entry["fullUrl"] for entry in bundle["entry"]]
    assert len(urls) == len(set(urls))
    assert all(url.startswith("urn:uuid:") for url in urls)
    assert not set(urls) & {entry["fullUrl"] for entry in built(case)["entry"]}


def test_references_resolve_inside_and_say_what_they_lead_to(case: Episode) -> None:
    """No reference leaves the bundle."""
    bundle = built(case)
    kinds = {e["fullUrl"]: e["resource"]["resourceType"] for e in bundle["entry"]}
    found = list(every(bundle, "reference"))
    assert len(found) > len(bundle["entry"])
    assert set(found) <= set(kinds)
    for subject in every(bundle, "subject"):
        assert kinds[subject["reference"]] == subject["type"] == "Patient"
    for told in every(bundle, "derivedFrom"):
        assert kinds[told[0]["reference"]] == "QuestionnaireResponse"


def test_every_code_system_is_open_or_local(case: Episode) -> None:
    """No code is borrowed from a system under licence."""
    systems = set(every(built(case), "system"))
    assert {one for one in systems if not one.startswith("urn:trochlea:")} <= (
        OPEN_SYSTEMS
    )
    assert not any("snomed" in one or "loinc" in one for one in systems)


def test_every_status_is_one_of_the_standards(case: Episode) -> None:
    """Also for a case that has ended."""
    ended = make_episode(by=case.clinician, opened_on=case.opened_on)
    discharge(
        ended,
        by=case.clinician,
        on=case.opened_on + timedelta(days=3),
        reason="moved away",
        note="",
        version=1,
    )
    for bundle in (built(case), built(ended)):
        for kind, allowed in STATUSES.items():
            assert {one["status"] for one in of_kind(bundle, kind)} <= allowed
        assert of_kind(bundle, "Patient")[0]["gender"] in GENDERS
    (care,) = of_kind(built(ended), "EpisodeOfCare")
    assert care["status"] == "finished"
    assert care["period"]["end"] > care["period"]["start"]
    assert "clinicalStatus" not in of_kind(built(ended), "Condition")[0]


# The content


@pytest.mark.parametrize("side", ["left", "right"])
def test_the_knee_has_the_code_of_its_side(clinician: User, side: str) -> None:
    """M22.2X1 is the right knee and M22.2X2 the left (confirmed, secondary source)."""
    assert KNEE_CODES == {"right": "M22.2X1", "left": "M22.2X2"}
    (knee,) = of_kind(built(make_episode(by=clinician, side=side)), "Condition")
    assert knee["code"]["coding"] == [
        {"system": "http://hl7.org/fhir/sid/icd-10-cm", "code": KNEE_CODES[side]}
    ]
    assert knee["bodySite"] == [{"text": f"{side.capitalize()} knee"}]


def test_a_score_says_what_it_is_and_where_it_is_from(case: Episode) -> None:
    """Category survey, local code with its edition, scale points, and its response."""
    bundle = built(case)
    first, corrected = score_of(bundle, "akps")
    assert first["valueQuantity"]["value"] == 60
    assert first["valueQuantity"]["unit"] == "{score}"
    assert first["category"][0]["coding"][0]["code"] == "survey"
    assert first["code"]["coding"][0]["system"] == "urn:trochlea:measure"
    assert first["code"]["coding"][0]["version"] == str(measure("akps").edition)
    assert first["effectiveDateTime"] == case.opened_on.isoformat()
    assert first["status"] == "final"
    assert corrected["status"] == "corrected"
    assert corrected["valueQuantity"]["value"] == 75


def test_a_correction_is_amended_and_what_it_replaced_is_not_sent(
    case: Episode,
) -> None:
    """Two AKPS stand; the voided one of 70 points is nowhere."""
    bundle = built(case)
    told = [
        one
        for one in of_kind(bundle, "QuestionnaireResponse")
        if one["questionnaire"] == "urn:trochlea:questionnaire:akps|1"
    ]
    assert [one["status"] for one in told] == ["completed", "amended"]
    assert 70 not in [one["valueQuantity"]["value"] for one in score_of(bundle, "akps")]


def test_what_was_voided_is_not_sent(case: Episode) -> None:
    """Neither the response nor its score."""
    for form in Assessment.objects.standing().filter(measure="akps"):
        void_assessment(form, by=case.clinician, why="Wrong person (invented).")
    assert score_of(built(case), "akps") == []
    assert "questionnaire:akps" not in json.dumps(built(case))


def test_a_form_without_a_score_is_sent_without_one(case: Episode) -> None:
    """No number is made up for a form that cannot be scored."""
    bundle = built(case)
    assert score_of(bundle, "lefs") == []
    assert "urn:trochlea:questionnaire:lefs|1" in list(every(bundle, "questionnaire"))


def test_a_letter_carries_its_points_and_a_number_is_itself(case: Episode) -> None:
    """The items are numbered as the questionnaire numbers them."""
    bundle = built(case)
    akps = of_kind(bundle, "QuestionnaireResponse")[0]
    assert [item["linkId"] for item in akps["item"]] == [str(n) for n in range(1, 14)]
    points = sum(every(akps, "valueDecimal"))
    assert points == 60
    (groc,) = score_of(bundle, "groc")
    assert groc["valueQuantity"]["value"] == -2
    assert -2 in list(every(bundle, "valueInteger"))


def test_pain_has_a_local_code_for_what_was_rated(case: Episode) -> None:
    """No pain is a rating like any other; nothing stands for what was not rated."""
    bundle = built(case)
    assert score_of(bundle, "pain_worst")[0]["valueQuantity"]["value"] == 6
    assert score_of(bundle, "pain_stairs")[0]["valueQuantity"]["value"] == 0
    assert score_of(bundle, "pain_usual") == []


def test_the_local_codes_are_explained_inside(case: Episode) -> None:
    """A receiver finds the range and the direction of each measure."""
    bundle = built(case)
    (codes,) = of_kind(bundle, "CodeSystem")
    used = {one["code"]["coding"][0]["code"] for one in of_kind(bundle, "Observation")}
    described = {one["code"]: one["definition"] for one in codes["concept"]}
    assert used <= set(described)
    assert described["akps"] == "0 to 100, higher is better."
    assert described["pain_worst"] == "0 to 10, lower is better."


def test_neither_free_text_nor_wording_nor_names_of_colleagues(case: Episode) -> None:
    """Activities go by number; no item has a text; a performer is a number."""
    case.clinician.last_name = "Canary-Colleague"
    case.clinician.save()
    bundle = built(case)
    assert "Canary" not in json.dumps(bundle)
    told = of_kind(bundle, "QuestionnaireResponse")
    assert not list(every(told, "text"))
    labels = {item.label for one in catalogue().values() for item in one.items}
    assert not labels & set(every(bundle, "display"))
    for performer in every(bundle, "performer"):
        assert set(performer[0]) == {"type", "identifier"}


def test_a_proxys_form_names_no_source(case: Episode) -> None:
    """Only where the patient answered is the patient the source."""
    told = of_kind(built(case), "QuestionnaireResponse")
    from_whom = {one["questionnaire"].split(":")[3]: "source" in one for one in told}
    assert from_whom["groc|1"] is False
    assert from_whom["akps|1"] is True


def test_it_takes_the_same_queries_however_long_the_case(
    case: Episode, today: date, django_assert_num_queries: Any
) -> None:
    """Two: the questionnaires and the pain."""
    for days in range(1, 9):
        make_akps(episode=case, on=today - timedelta(days=days), total=50)
    found = Episode.objects.select_related("patient", "site").get(pk=case.pk)
    with django_assert_num_queries(2):
        read_content(found, at=timezone.now())


# The page


def test_the_file_comes_as_an_attachment_and_is_on_record(
    case: Episode, clinician: User, signed_in: Callable[[User], Client]
) -> None:
    """The name of the file names nobody; the line says who gets it."""
    path = reverse("outcomes:bundle", args=[case.pk])
    response = signed_in(clinician).post(path, {"recipient": "Invented surgery"})
    assert response["Content-Type"] == "application/fhir+json"
    assert response["Content-Disposition"] == (
        'attachment; filename="case-2026-06-01.json"'
    )
    assert response["Cache-Control"] == "no-store"
    Bundle(json.loads(response.content), strict=True)
    line = AuditEvent.objects.get(action=audit.BUNDLE_MADE.code)
    assert line.patient_id == case.patient_id
    assert line.detail["recipient"] == "Invented surgery"
    assert line.detail["questionnaires"] == 5
    assert line.detail["scores"] == 4


def test_a_page_says_what_it_holds_and_nothing_leaves_without_a_recipient(
    case: Episode, clinician: User, signed_in: Callable[[User], Client]
) -> None:
    """Reading the page makes no file, and neither does an empty form."""
    client, path = signed_in(clinician), reverse("outcomes:bundle", args=[case.pk])
    page = client.get(path).content.decode()
    assert "5 questionnaires" in page
    assert "4 scores" in page
    assert "2 pain ratings" in page
    assert client.post(path, {"recipient": " "}).status_code == 422
    assert not AuditEvent.objects.filter(action=audit.BUNDLE_MADE.code).exists()


def test_without_its_line_there_is_no_file(
    case: Episode,
    clinician: User,
    signed_in: Callable[[User], Client],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """A trail that cannot be written keeps the file back."""

    def fails(*args: Any, **kwargs: Any) -> None:
        raise RuntimeError("The trail is full (invented).")

    monkeypatch.setattr("clinic.models.record.AuditQuerySet.record", fails)
    client = signed_in(clinician)
    client.raise_request_exception = False
    path = reverse("outcomes:bundle", args=[case.pk])
    response = client.post(path, {"recipient": "Invented surgery"})
    assert response.status_code == 500
    assert b"Inventson" not in response.content
