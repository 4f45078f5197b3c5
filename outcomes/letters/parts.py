"""The parts that a letter is made of, and how they are kept."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from ..models import Letter


@dataclass(frozen=True, slots=True)
class Part:
    """One headed part; `ask` says what the clinician has to write, if anything."""

    heading: str
    text: str = ""
    ask: str = ""


def parts_of(letter: Letter) -> tuple[Part, ...]:
    """Return the parts of a letter, in its order."""
    return tuple(
        Part(part["heading"], part["text"], part.get("ask", ""))
        for part in letter.body["parts"]
    )


def kept(parts: Iterable[Part]) -> list[dict[str, str]]:
    """Return parts as the column of a draft holds them."""
    return [
        {"heading": part.heading, "text": part.text, "ask": part.ask} for part in parts
    ]


def frozen_body(parts: Iterable[Part], head: dict[str, Any]) -> dict[str, Any]:
    """Return what a signed letter holds: its words, and its head as it stood."""
    words = [{"heading": part.heading, "text": part.text} for part in parts]
    return {"head": head, "parts": words}
