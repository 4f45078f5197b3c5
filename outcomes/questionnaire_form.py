"""One questionnaire on a page: its questions, what was answered, its score so far."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from django import forms
from django.conf.locale import LANG_INFO
from django.core.exceptions import ValidationError

from clinic.models import Episode

from .live_scores import ScoreSoFar, score_so_far
from .models import Activity, Assessment, Wording
from .recording import FilledForm, name_activity
from .science.measures import Measure
from .science.scoring import BadAnswer, parse_answer, score
from .wording import MeasureTexts, texts_for

# Public forms ask for up to three activities (confirmed); up to five are common
# (from memory), and the catalogue scores five.
MOST_ACTIVITIES = 5
# A label of up to this many characters fits three answers on a line.
SHORT_LABEL = 26
LANGUAGES = [
    ("en", "English"),
    *sorted(
        (
            (code, str(about["name"]))
            for code, about in LANG_INFO.items()
            if "name" in about and not code.startswith("en")
        ),
        key=lambda pair: pair[1],
    ),
]
MODES = [
    (mode.value, mode.label)
    for mode in Assessment.Mode
    if mode is not Assessment.Mode.UNKNOWN
]


class AnswerField(forms.CharField):
    """One answer, read by the parser of the scoring code; empty stays empty."""

    def __init__(self, *, about: Measure, item: str, label: str) -> None:
        super().__init__(required=False, label=label)
        self.about, self.item = about, item
        self.choices = [
            (str(option.code), option.label or str(option.code))
            for option in about.item(item).options  # type: ignore[union-attr]
        ]

    def clean(self, value: Any) -> str | int | None:
        """Return the stored code of an answer."""
        if not (raw := str(value or "").strip()):
            return None
        try:
            return parse_answer(self.about, self.item, raw)
        except BadAnswer as bad:
            raise ValidationError(bad.message) from None


@dataclass(frozen=True, slots=True)
class Question:
    """One question as a template shows it."""

    name: str
    dom_id: str
    number: str
    prompt: str
    options: tuple[tuple[str | int, str], ...]
    value: Any
    error: str

    @property
    def last(self) -> tuple[str | int, str]:
        """Return the last answer."""
        return self.options[-1]

    @property
    def middle(self) -> str:
        """Return the label in the middle of the answers."""
        return self.options[len(self.options) // 2][1]


@dataclass(frozen=True, slots=True, kw_only=True)
class Setting:
    """What a questionnaire is asked with: its texts, and what is held already."""

    about: Measure
    wording: Wording | None = None
    held: Assessment | None = None
    activities: tuple[Activity, ...] = ()
    languages: tuple[str, ...] = ()

    @property
    def texts(self) -> MeasureTexts:
        """Return the texts to show."""
        return texts_for(self.wording, self.about)

    @property
    def new_slots(self) -> tuple[str, ...]:
        """Return the places for activities that the patient names today."""
        if not self.about.has_own_items:
            return ()
        free = max(0, MOST_ACTIVITIES - len(self.activities))
        return tuple(f"new{place}" for place in range(1, free + 1))

    def initial(self) -> dict[str, Any]:
        """Return what is stored, by field."""
        if not self.held:
            return {"language": self.wording.language if self.wording else "en"}
        details = {"mode": self.held.mode, "language": self.held.language}
        return {**self.held.answers, **details}


class QuestionnaireForm(forms.Form):
    """The answers to one measure; its fields are named measure-item."""

    def __init__(self, data: Any = None, *, setting: Setting) -> None:
        self.setting, self.about = setting, setting.about
        super().__init__(data, prefix=self.about.key, initial=setting.initial())
        for key, label in self._items().items():
            self.fields[key] = AnswerField(about=self.about, item=key, label=label)
        for slot in setting.new_slots:
            words = forms.CharField(
                required=False, max_length=200, label="Activity, in the patient's words"
            )
            rating = AnswerField(about=self.about, item="1", label="How well it goes")
            self.fields[f"{slot}_words"], self.fields[slot] = words, rating
        self.fields["mode"] = forms.ChoiceField(
            choices=self._modes(), required=False, label="How the answers were given"
        )
        self.fields["language"] = forms.ChoiceField(
            choices=self._languages(), required=False, label="Language of the answers"
        )

    def _items(self) -> dict[str, str]:
        if self.about.has_own_items:
            return {str(a.number): a.words for a in self.setting.activities}
        return {item.key: item.label for item in self.about.items}

    def _modes(self) -> list[tuple[str, str]]:
        unknown = Assessment.Mode.UNKNOWN
        if self.setting.held and self.setting.held.mode == unknown:
            return [*MODES, (unknown.value, unknown.label)]
        return MODES

    def _languages(self) -> list[tuple[str, Any]]:
        """Return those the clinic has wording in, then every other one."""
        known, first = dict(LANGUAGES), dict.fromkeys(self.setting.languages)
        used = [self.setting.held.language] if self.setting.held else []
        others = [c for c in dict.fromkeys([*known, *used]) if c not in first]
        installed, rest = ([(c, known.get(c, c)) for c in of] for of in (first, others))
        if not installed:
            return rest
        return [("Installed at this clinic", installed), ("Other", rest)]

    def clean(self) -> dict[str, Any]:
        """Check what holds between the answers."""
        cleaned = super().clean() or self.cleaned_data
        for key in self._unknown_items():
            self._complain_of(key)
        self._check_new_activities(cleaned)
        if self.errors:
            return cleaned
        try:
            score(self.about, self.answers())
        except BadAnswer as bad:
            self.add_error(None, bad.message)
        if self.is_answered and not cleaned.get("mode"):
            self.add_error("mode", "Say how these answers were given.")
        if self.is_answered and not cleaned.get("language"):
            self.add_error("language", "Choose the language of the answers.")
        if self.setting.held and not self.is_answered:
            self.add_error(None, "To withdraw this questionnaire, void it instead.")
        return cleaned

    def _unknown_items(self) -> Iterable[str]:
        start = f"{self.prefix}-"
        names = (
            name.removeprefix(start) for name in self.data if name.startswith(start)
        )
        return [n for n in names if n not in self.fields and n != "wording"]

    def _complain_of(self, key: str) -> None:
        """Say that a posted question does not exist; only a crafted form has one."""
        try:
            parse_answer(self.about, key, "")
        except BadAnswer as bad:
            message = bad.message if bad.what == "item" else "No such activity."
            self.add_error(None, message)

    def _check_new_activities(self, cleaned: Mapping[str, Any]) -> None:
        taken = {a.words.casefold(): a.words for a in self.setting.activities}
        for slot in self.setting.new_slots:
            words = (cleaned.get(f"{slot}_words") or "").strip()
            rating = cleaned.get(slot)
            if rating is not None and not words:
                self.add_error(f"{slot}_words", "Name the activity that you rated.")
            if words and rating is None and slot not in self.errors:
                self.add_error(slot, f"Rate “{words}” from 0 to 10, or clear it.")
            if words.casefold() in taken:
                self.add_error(f"{slot}_words", "This activity is in the list already.")
            elif words:
                taken[words.casefold()] = words

    def answers(self, numbers: Mapping[str, int] | None = None) -> dict[str, Any]:
        """Return what was answered; `numbers` are those of new activities by slot."""
        given = {key: self.cleaned_data.get(key) for key in self._items()}
        for slot, number in (numbers or self._next_numbers()).items():
            given[str(number)] = self.cleaned_data.get(slot)
        return {key: answer for key, answer in given.items() if answer is not None}

    def _named(self) -> dict[str, str]:
        """Return the words of each new activity by slot."""
        words = {s: self.cleaned_data.get(f"{s}_words") for s in self.setting.new_slots}
        return {slot: text for slot, text in words.items() if text}

    def _next_numbers(self) -> dict[str, int]:
        start = 1 + max((a.number for a in self.setting.activities), default=0)
        return {slot: start + place for place, slot in enumerate(self._named())}

    @property
    def is_answered(self) -> bool:
        """Whether anything was answered; only after validation."""
        return bool(self.answers())

    def to_filled(self, episode: Episode) -> FilledForm:
        """Return the valid form for recording; names new activities on the way."""
        numbers = {
            slot: name_activity(episode=episode, words=words).number
            for slot, words in self._named().items()
        }
        return FilledForm(
            measure=self.about.key,
            answers=self.answers(numbers),
            mode=self.cleaned_data["mode"],
            language=self.cleaned_data["language"],
            wording=self.setting.wording,
        )

    # What templates show

    def questions(self) -> list[Question]:
        """Return the questions with their values and errors."""
        texts = self.setting.texts
        return [
            self._question(key, texts, prompt=label if self.is_own else "")
            for key, label in self._items().items()
        ]

    @property
    def layout(self) -> str:
        """Return how the answers stand, alike for every question of the measure.

        "buttons" where all are short enough to share lines, else "columns".
        """
        labels = [label for one in self.questions() for _, label in one.options]
        longest = max(map(len, labels), default=0)
        return "buttons" if longest <= SHORT_LABEL else "columns"

    def new_activities(self) -> list[tuple[forms.BoundField, Question]]:
        """Return the places for new activities: words, and the rating."""
        texts = self.setting.texts
        return [
            (
                self[f"{slot}_words"],
                self._question(slot, texts, prompt="How well it goes"),
            )
            for slot in self.setting.new_slots
        ]

    def _question(self, key: str, texts: MeasureTexts, *, prompt: str) -> Question:
        bound, text = self[key], texts.item(key)
        return Question(
            name=bound.html_name,
            dom_id=str(bound.auto_id),
            number=key,
            prompt=prompt or text.prompt,
            options=tuple((option.code, option.label) for option in text.options),
            value=bound.value(),
            error=" ".join(str(error) for error in bound.errors),
        )

    @property
    def is_own(self) -> bool:
        """Whether the patient names the items."""
        return self.about.has_own_items

    def score_so_far(self) -> ScoreSoFar:
        """Return the score of what is answered so far."""
        if self.is_bound:
            self.is_valid()  # unlike `full_clean`, keeps what was added since
            return score_so_far(self.about, self.answers())
        held = self.setting.held
        return score_so_far(self.about, held.answers if held else {})
