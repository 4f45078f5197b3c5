"""What a passphrase may not be: a repeated piece, two common words, the clinic's name.

No rule asks for kinds of characters: length and not being guessable are what count
(NIST SP 800-63B rev. 4).
"""

from typing import Any

from django.contrib.auth.password_validation import CommonPasswordValidator
from django.core.exceptions import ValidationError

# Project assumptions: fewer different characters are a pattern; a shorter name of a
# clinic occurs in too many words.
FEWEST_CHARACTERS = 6
SHORTEST_NAME = 4

DO_THIS = "Take several words that have nothing to do with each other."


class RepetitionValidator:
    """Refuse one piece said again and again, and two common passphrases in a row."""

    def __init__(self) -> None:
        self.common: set[str] = CommonPasswordValidator().passwords

    def validate(self, password: str, user: Any = None) -> None:
        """Raise ValidationError with what to do instead."""
        text = bare(password)
        if is_repeated(text) or len(set(text)) < FEWEST_CHARACTERS:
            raise ValidationError(
                f"This password repeats the same word or characters. {DO_THIS}",
                code="password_repeats",
            )
        if self._is_two_common(text):
            raise ValidationError(
                "This password is put together from two that are commonly used. "
                f"{DO_THIS}",
                code="password_two_common",
            )

    def _is_two_common(self, text: str) -> bool:
        cuts = range(1, len(text))
        return any({text[:cut], text[cut:]} <= self.common for cut in cuts)

    def get_help_text(self) -> str:
        """Say the rule before anything is typed."""
        return "Do not repeat one word, and do not join two common ones."


class SiteNameValidator:
    """Refuse the name of the person's own clinic, alone or with something added."""

    def validate(self, password: str, user: Any = None) -> None:
        """Raise ValidationError with what to do instead."""
        site = getattr(user, "site", None)
        name, text = bare(site.name if site else ""), bare(password)
        if len(name) >= SHORTEST_NAME and (name in text or text in name):
            raise ValidationError(
                f"This password contains the name of the clinic. {DO_THIS}",
                code="password_site_name",
            )

    def get_help_text(self) -> str:
        """Say the rule before anything is typed."""
        return "Do not use the name of the clinic."


def bare(text: str) -> str:
    """Return letters and digits alone, in lower case; all of it if there are none."""
    kept = "".join(letter for letter in text.casefold() if letter.isalnum())
    return kept or text


def is_repeated(text: str) -> bool:
    """Tell whether a text is one shorter piece over and over, the last one cut off."""
    for size in range(1, len(text) // 2 + 1):
        if (text[:size] * (len(text) // size + 1)).startswith(text):
            return True
    return False
