"""Holds the audit trail against its chain: what was written is what stands there."""

from collections.abc import Iterator
from dataclasses import dataclass

from .models import AuditChain, AuditEvent
from .sealing import NOTHING_BEFORE, digest_of, hash_of

AT_ONCE = 2_000


@dataclass(frozen=True, slots=True)
class Verified:
    """One chain as it was found; `fault` is empty for a whole one."""

    chain: AuditChain
    length: int
    head: str
    fault: str


def verify_chains(heads: set[str]) -> Iterator[Verified]:
    """Walk every chain; heads that are met are taken out of the set.

    Memory stays the same however long the trail is. Lines that are written meanwhile
    are no fault.
    """
    for chain in AuditChain.objects.select_related("site").order_by("pk"):
        yield _verified(chain, heads)


def _verified(chain: AuditChain, heads: set[str]) -> Verified:
    kept_length, kept_head = chain.length, chain.head
    position, previous, fault = 0, NOTHING_BEFORE, ""
    lines = AuditEvent.objects.filter(chain=chain).order_by("position", "pk")
    for line in lines.iterator(chunk_size=AT_ONCE):
        fault = fault_of(line, after=position, previous=previous)
        if not fault and line.position == kept_length and line.hash != kept_head:
            fault = f"{named(line)} is not the line that its site's head stands for."
        if fault:
            break
        position, previous = line.position, line.hash
        heads.discard(previous)
    return Verified(chain, position, previous, fault or _end(chain, position, previous))


def fault_of(line: AuditEvent, *, after: int, previous: str) -> str:
    """Say what is wrong with a line, or nothing."""
    if line.position != after + 1:
        gone = f"Line {after + 1} is missing"
        return f"{gone}: removed, or its place was changed. Next is {named(line)}."
    if line.previous != previous:
        return f"{named(line)} does not follow the line before it: inserted or moved."
    if line.digest != digest_of(line):
        return f"{named(line)} was edited: its name or detail is not what was written."
    if line.hash != hash_of(line):
        return f"{named(line)} was edited or moved: it is not what was written."
    return ""


def named(line: AuditEvent) -> str:
    """Name a line without what it says of anybody."""
    return f"Line {line.position} ({line.action}, {line.at:%Y-%m-%d %H:%M:%S} UTC)"


def _end(chain: AuditChain, position: int, previous: str) -> str:
    """Say whether the tail is cut or goes on past the head."""
    if position < chain.length:
        return (
            f"Line {position + 1} is missing: the tail was cut, {chain.length} lines "
            f"were written and {position} stand."
        )
    chain.refresh_from_db()
    if position > chain.length:
        return f"Line {chain.length + 1} was added without moving the head."
    if position == chain.length and previous != chain.head:
        return f"Line {position} is not the line that its site's head stands for."
    return ""
