"""What two people typed of one thing, where the second save was refused."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Difference:
    """One entry that is stored in another way than it was typed."""

    label: str
    stored: str
    typed: str
