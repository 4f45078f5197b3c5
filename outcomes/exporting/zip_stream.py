"""A zip that is read while it is written: constant memory at any size."""

from __future__ import annotations

import hashlib
import zipfile
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

# The one date of every member: the hour of writing says nothing about anybody.
MEMBER_DATE = (1980, 1, 1, 0, 0, 0)
# Enough for the network to be busy, small beside everything else in memory.
CHUNK_BYTES = 64 * 1024


@dataclass(frozen=True, slots=True)
class Written:
    """One member as it was written: its size in bytes and the print of its text."""

    name: str
    size: int
    sha256: str


class Sink:
    """Where the zip writer leaves its bytes; it cannot go back in them."""

    def __init__(self) -> None:
        self.waiting = bytearray()
        self.digest = hashlib.sha256()
        self.size = 0

    def write(self, data: bytes) -> int:
        """Keep bytes until they are drained."""
        self.waiting += data
        return len(data)

    def flush(self) -> None:
        """Do nothing: what was written waits to be drained."""

    def drain(self, *, at_least: int = 1) -> Iterator[bytes]:
        """Yield what waits, once it is enough."""
        if len(self.waiting) < at_least:
            return
        chunk = bytes(self.waiting)
        self.waiting.clear()
        self.digest.update(chunk)
        self.size += len(chunk)
        yield chunk


class ZipStream:
    """Members of a zip one after the other; `sha256` is of what was yielded."""

    def __init__(self) -> None:
        self._sink = Sink()
        self._zip = zipfile.ZipFile(self._sink, "w", zipfile.ZIP_DEFLATED)  # type: ignore[call-overload]
        self.members: list[Written] = []

    @property
    def sha256(self) -> str:
        """Return the print of all bytes so far; whole after `finish`."""
        return self._sink.digest.hexdigest()

    @property
    def size(self) -> int:
        """Return how many bytes were yielded so far."""
        return self._sink.size

    def member(self, name: str, parts: Iterable[bytes]) -> Iterator[bytes]:
        """Write one member from its parts, yielding the bytes of the zip."""
        digest, size = hashlib.sha256(), 0
        with self._zip.open(described(name), "w", force_zip64=True) as member:
            for part in parts:
                member.write(part)
                digest.update(part)
                size += len(part)
                yield from self._sink.drain(at_least=CHUNK_BYTES)
        yield from self._sink.drain()
        self.members.append(Written(name, size, digest.hexdigest()))

    def finish(self) -> Iterator[bytes]:
        """Write the list of members, which ends the zip."""
        self._zip.close()
        yield from self._sink.drain()


def described(name: str) -> zipfile.ZipInfo:
    """Describe a member: the same for every machine, user and hour."""
    info = zipfile.ZipInfo(name, MEMBER_DATE)
    info.compress_type = zipfile.ZIP_DEFLATED
    info.create_system = 3
    info.external_attr = 0o600 << 16
    return info
