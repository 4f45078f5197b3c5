"""Two uploaded files between the browser's upload and the person's yes."""

from datetime import date, timedelta
from io import BytesIO
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import UploadedFile
from django.utils import timezone

from clinic.models import User

from ..models import PendingImport
from .caseload import Report, Source, bring_in
from .summary import sentence

# Project assumption: a browser's upload; the command line takes any size.
MOST_BYTES = 20 * 1024 * 1024
KEPT_FOR = timedelta(days=1)
LONGEST_NAME: int = PendingImport._meta.get_field("patients_name").max_length or 0
LONGEST_RESULT: int = PendingImport._meta.get_field("result").max_length or 0


class UploadForm(forms.Form):
    """The two files, and how their dates are written."""

    patients = forms.FileField(
        label="patients.csv", help_text="One row an episode of care (one knee)."
    )
    observations = forms.FileField(
        label="observations.csv", help_text="One row an observation."
    )
    is_day_first = forms.BooleanField(
        label="Dates have the day first, like 31/12/2026",
        help_text="Leave this empty if every date looks like 2026-12-31.",
        required=False,
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name in ("patients", "observations"):
            self.fields[name].error_messages |= {
                "required": "Choose the file.",
                "empty": "This file is empty. Choose another one.",
            }
            self.fields[name].widget.attrs["accept"] = ".csv,text/csv"

    def clean_patients(self) -> UploadedFile:
        """Refuse a file that is too large."""
        return check_size(self.cleaned_data["patients"])

    def clean_observations(self) -> UploadedFile:
        """Refuse a file that is too large."""
        return check_size(self.cleaned_data["observations"])


def check_size(file: UploadedFile) -> UploadedFile:
    """Return a file that fits; raises ValidationError."""
    if (file.size or 0) > MOST_BYTES:
        raise ValidationError(
            f"This file is larger than {MOST_BYTES // 1024**2} MB. Check that it is "
            "the right one; whoever looks after this installation can bring in larger "
            "files with manage.py import_caseload."
        )
    return file


def uploaded(form: UploadForm, *, by: User) -> PendingImport:
    """Return the files as they were uploaded, not kept yet."""
    files = form.cleaned_data
    return PendingImport(
        site=by.site,
        by=by,
        patients_csv=files["patients"].read(),
        observations_csv=files["observations"].read(),
        patients_name=short_name(files["patients"]),
        observations_name=short_name(files["observations"]),
        is_day_first=files["is_day_first"],
        uploaded_at=timezone.now(),
    )


def short_name(file: UploadedFile) -> str:
    """Return the name of a file as far as it is kept."""
    return (file.name or "")[:LONGEST_NAME]


def keep_upload(pending: PendingImport, report: Report) -> None:
    """Keep sound files until the person has seen what they would add."""
    pending.result = found(report)
    pending.save()


def found(report: Report) -> str:
    """Return what sound files would add, in a sentence that fits its column."""
    return sentence(report)[:LONGEST_RESULT]


def own_uploads(user: User) -> Any:
    """Return the person's own uploads of the last day; nobody else sees them."""
    since = timezone.now() - KEPT_FOR
    return PendingImport.objects.for_user(user).filter(by=user, uploaded_at__gte=since)


def clear_old_uploads() -> None:
    """Delete what nobody decided on within a day."""
    since = timezone.now() - KEPT_FOR
    PendingImport.objects.filter(uploaded_at__lt=since).delete()


def bring_in_upload(
    pending: PendingImport,
    *,
    by: User,
    on: date,
    is_dry_run: bool,
    request_id: str = "",
) -> Report:
    """Check or store what was uploaded."""
    source = Source(
        patients=BytesIO(pending.patients_csv),
        observations=BytesIO(pending.observations_csv),
        is_day_first=pending.is_day_first,
    )
    return bring_in(source, by=by, on=on, is_dry_run=is_dry_run, request_id=request_id)
