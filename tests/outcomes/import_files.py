"""The two files of an import, written for a test."""

import csv
from datetime import date
from io import BytesIO, StringIO
from pathlib import Path
from typing import Any

from clinic.models import Site, User
from outcomes.importing import observations, patients
from outcomes.importing.caseload import Report, Source, bring_in
from tests.factories import make_user

SAMPLES = Path(__file__).parent / "samples"
ON = date(2026, 11, 25)
SAMPLE_CLINICIANS = ("m.orrin", "t.vasker", "l.adeyne")
# Ada's left knee, in care since the spring.
ADA = {
    "record_number": "K1",
    "family_name": "Inventson",
    "given_name": "Ada",
    "birth_date": "1994-05-06",
    "sex": "F",
    "side": "left",
    "symptom_onset": "2026-01-10",
    "opened_on": "2026-03-02",
    "clinician": "c.avermore",
    "discharged_on": "",
    "discharge_reason": "",
}
CAME = {
    "record_number": "K1",
    "side": "left",
    "observed_on": "2026-03-02",
    "measure": "visit",
    "item": "attendance",
    "value": "attended",
    "recorded_by": "c.avermore",
}
AKPS = {str(item): "a" for item in range(1, 14)}


def add_sample_clinicians(site: Site) -> None:
    """Add the people whom the sample log names."""
    for username in SAMPLE_CLINICIANS:
        make_user(site=site, username=username)


def as_csv(columns: tuple[str, ...], rows: list[dict[str, str]]) -> bytes:
    """Write rows with a header."""
    out = StringIO(newline="")
    writer = csv.DictWriter(out, columns)
    writer.writeheader()
    writer.writerows(rows)
    return out.getvalue().encode()


def episodes(*changes: dict[str, str]) -> bytes:
    """Write patients.csv: Ada's episode with each of the changes, or as it is."""
    return as_csv(patients.COLUMNS, [{**ADA, **change} for change in changes or ({},)])


def facts(*changes: dict[str, str]) -> bytes:
    """Write observations.csv: the first visit with each of the changes."""
    return as_csv(observations.COLUMNS, [{**CAME, **change} for change in changes])


def form(measure: str, answers: dict[str, str], **change: str) -> list[dict[str, str]]:
    """Return the changes that make one questionnaire."""
    return [
        {"measure": measure, "item": item, "value": value, **change}
        for item, value in answers.items()
    ]


def pain(kind: str, value: str, **change: str) -> dict[str, str]:
    """Return the change that makes one pain score."""
    return {"measure": "pain", "item": kind, "value": value, **change}


def bring(first: bytes, second: bytes, *, by: User, **options: Any) -> Report:
    """Bring two files in."""
    is_day_first = options.pop("is_day_first", False)
    source = Source(
        patients=BytesIO(first), observations=BytesIO(second), is_day_first=is_day_first
    )
    return bring_in(source, by=by, **{"on": ON, **options})


def bring_sample(*, by: User, folder: Path = SAMPLES, **options: Any) -> Report:
    """Bring the sample log in."""
    return bring(
        (folder / "patients.csv").read_bytes(),
        (folder / "observations.csv").read_bytes(),
        by=by,
        **options,
    )


def places(report: Report) -> list[tuple[str, int, str]]:
    """Return where the faults are."""
    return [(fault.file, fault.line, fault.column) for fault in report.problems]
