"""What a line of a programme says, before and after it is prescribed."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, fields
from datetime import date
from typing import Any

from . import library
from .library_entries import Exercise
from .models import ClinicExercise, Prescription


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """An exercise with its dose; loads in kg, times in seconds, range in degrees.

    Change it with `dataclasses.replace`; the acts check it and keep it.
    """

    exercise: str = ""
    clinic_exercise: ClinicExercise | None = None
    on_side: str = Prescription.On.INDEX
    sets: int | None = None
    repetitions: int | None = None
    scheme: tuple[int, ...] = field(default=())
    hold_seconds: int | None = None
    minutes: int | None = None
    rest_seconds: int | None = None
    load: str = Prescription.Load.BODY
    load_kg: float | None = None
    band: str = ""
    load_percent: float | None = None
    one_rm_kg: float | None = None
    plate_step_kg: float | None = None
    empty_kg: float | None = None
    tempo: str = ""
    range_from: int | None = None
    range_to: int | None = None
    times_a_week: int | None = None
    occlusion_mmhg: int | None = None
    occlusion_side: str = ""
    occlusion_measured_on: date | None = None
    cuff_percent: int | None = None
    note: str = ""

    @property
    def entry(self) -> Exercise | ClinicExercise | None:
        """The library's entry, or the clinic's own; None if there is no such."""
        return self.clinic_exercise or library.library().get(self.exercise)

    @property
    def name(self) -> str:
        """The name of the exercise."""
        return self.entry.name if self.entry else self.exercise

    @property
    def is_flow_restricted(self) -> bool:
        """Whether it is done under a cuff: it says so, or its exercise does."""
        has_cuff = self.cuff_percent is not None or self.occlusion_mmhg is not None
        return has_cuff or bool(self.entry and self.entry.is_bfr)

    @property
    def columns(self) -> dict[str, Any]:
        """The values as the columns of a prescription."""
        found = {name: getattr(self, name) for name in LINE_FIELDS}
        return found | {"scheme": list(self.scheme)}


LINE_FIELDS = tuple(item.name for item in fields(Line))


def line_of(prescription: Prescription) -> Line:
    """Return what a prescription says."""
    values = {name: getattr(prescription, name) for name in LINE_FIELDS}
    return Line(**values | {"scheme": tuple(prescription.scheme)})


def name_of(prescription: Prescription) -> str:
    """Return the name of the exercise of a prescription."""
    return line_of(prescription).name


def chosen_entry(
    key: str, own: Iterable[ClinicExercise]
) -> Exercise | ClinicExercise | None:
    """Return the entry of a key: of the library, or "own-7" of the clinic's own."""
    if key.startswith("own-"):
        return next((one for one in own if key == own_key(one)), None)
    return library.library().get(key)


def own_key(entry: ClinicExercise) -> str:
    """Return the key of a clinic's own entry in addresses and forms."""
    return f"own-{entry.pk}"


def key_of(line: Line) -> str:
    """Return the key of a line's exercise, whichever library it comes from."""
    return own_key(line.clinic_exercise) if line.clinic_exercise else line.exercise
