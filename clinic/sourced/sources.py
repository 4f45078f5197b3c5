"""Where a number comes from, and how far that was checked."""

from __future__ import annotations

from dataclasses import dataclass

from .strict_toml import Table

CONFIRMED = "confirmed"  # read in the named source
SECONDARY = "confirmed, secondary source"  # read in a page that quotes the source
DERIVED = "derived"  # arithmetic on confirmed numbers
MEMORY = "from memory"  # not checked against the source
ASSUMED = "project assumption"
COMMON = "common practice, no source"
CONSTRUCTED = "constructed"  # an example built by hand
SET_HERE = "set by this clinic"  # never in a file: a site's own number

# What a file of numbers may say of itself.
MARKS = (CONFIRMED, SECONDARY, DERIVED, MEMORY, ASSUMED, COMMON, CONSTRUCTED)
# A number that somebody published.
PUBLISHED_MARKS = (CONFIRMED, SECONDARY, DERIVED)


@dataclass(frozen=True, slots=True)
class Source:
    """A citation and its mark (see MARKS); `doi` where it is known."""

    citation: str
    mark: str
    doi: str | None = None
    short: str = ""

    @property
    def brief(self) -> str:
        """A few words for a sentence: "Crossley 2004", with any doubt said."""
        if not self.short:
            return self.mark
        return self.short if self.mark == CONFIRMED else f"{self.short}, {self.mark}"


def read_source(table: Table) -> Source:
    """Read a citation, its DOI if known, and how far it was checked."""
    source = Source(
        citation=table.text("citation"),
        mark=table.choice("mark", MARKS),
        doi=table.optional_text("doi"),
        short=table.text("short", ""),
    )
    table.finish()
    return source
