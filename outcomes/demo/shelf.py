"""What the invented clinic keeps at hand: its templates and its own exercises."""

from __future__ import annotations

from dataclasses import asdict, dataclass, field
from datetime import date

from clinic.models import Episode, User
from programs.copying import copy_programme, save_as_template
from programs.models import ClinicExercise, Phase, Programme
from programs.own_exercises import add_exercise, retire_exercise
from programs.planning import add_phase, change_phase, start_programme
from programs.prescribing import prescribe

from .beside import OWN_ENTRIES, RETIRED
from .blueprints import Blueprint, PhaseDraft, blueprints


@dataclass(slots=True)
class Shelf:
    """Templates are kept from the first case that needs one, then copied."""

    lead: User
    own: dict[str, ClinicExercise] = field(init=False)
    templates: dict[str, Programme] = field(default_factory=dict)

    def __post_init__(self) -> None:
        """Add the clinic's own exercises to its library."""
        self.own = {
            entry.name: add_exercise(by=self.lead, **asdict(entry))
            for entry in OWN_ENTRIES
        }

    def retire(self) -> None:
        """Take out what is no longer used for new programmes."""
        for name in RETIRED:
            retire_exercise(self.own[name], by=self.lead)

    def begin(
        self,
        key: str,
        *,
        episode: Episode,
        by: User,
        on: date,
        earlier: Programme | None = None,
    ) -> Programme:
        """Return a programme: a copy of an earlier one or of the template."""
        source = earlier or self.templates.get(key)
        if source:
            return copy_programme(source, episode=episode, by=by, on=on).programme
        draft = blueprints()[key]
        made = _by_hand(draft, episode=episode, by=by, on=on)
        kept = save_as_template(made, by=self.lead, title=draft.title)
        self.templates[key] = kept
        return made


def _by_hand(draft: Blueprint, *, episode: Episode, by: User, on: date) -> Programme:
    """Write a programme down line by line; later phases wait."""
    first, *later = draft.phases
    made = start_programme(
        episode,
        by=by,
        starts_on=on,
        title=draft.title,
        aim=draft.aim,
        first_phase=first.title,
    )
    phase = made.phases.get()
    change_phase(phase, by=by, on=on, version=made.version, aim=first.aim)
    _fill(phase, first, by=by, on=on)
    for one in later:
        phase = add_phase(made, by=by, title=one.title, aim=one.aim)
        _fill(phase, one, by=by, on=on)
    return made


def _fill(phase: Phase, draft: PhaseDraft, *, by: User, on: date) -> None:
    for line in draft.lines:
        prescribe(phase, by=by, line=line, on=on)
