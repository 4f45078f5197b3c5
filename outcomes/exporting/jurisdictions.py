"""What a de-identified file is called where the clinic works, and what that means.

From section 1 of the statistics reference, where each point is marked; whoever sends a
file re-checks the law. Where the app cannot know, the stricter word stands.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Wording:
    """What such a file is called where the clinic works, and what that means."""

    word: str  # "de-identified" or "pseudonymised"
    sentence: str


_WORDINGS = {
    # 45 CFR 164.514(b)(2) and (c): confirmed, the second limb from secondary sources.
    "united-states": Wording(
        "de-identified",
        "Prepared by the list of 45 CFR 164.514(b)(2): names, numbers, contacts, "
        "places, dates but the year and ages over 89 are left out, and keys are drawn "
        "at random. The clinic must also know of no way in which what is left could "
        "identify somebody.",
    ),
    # Confirmed from secondary sources: Art. 4(5), DPA 2018 s.171.
    "united-kingdom": Wording(
        "pseudonymised",
        "Treat it as personal data under the UK GDPR: with what others hold, somebody "
        "may still be singled out. To re-identify a person without the consent of the "
        "clinic is an offence (Data Protection Act 2018, section 171).",
    ),
    # Art. 4(5) and recital 26, from secondary sources.
    "european-union": Wording(
        "pseudonymised",
        "Treat it as personal data under the GDPR (Art. 4(5), recital 26): with what "
        "others hold, somebody may still be singled out.",
    ),
    "elsewhere": Wording(
        "pseudonymised",
        "Treat it as personal data, and follow the law of the place: with what others "
        "hold, somebody may still be singled out.",
    ),
}
JURISDICTIONS = tuple(_WORDINGS)


def wording(jurisdiction: str) -> Wording:
    """Return the wording of a jurisdiction; KeyError lists the known ones."""
    try:
        return _WORDINGS[jurisdiction]
    except KeyError:
        known = ", ".join(JURISDICTIONS)
        raise KeyError(f"No jurisdiction {jurisdiction!r}; known: {known}.") from None
