"""A backup file: header, sealed part, checksum; written whole or not at all."""

import hashlib
import os
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import BinaryIO

from .header import BackupError, Header, read_header

ENDING = ".backup"
MARK = b"\nsha256 "
LAST_LINE = len(MARK) + 64 + 1
BLOCK = 1 << 20
LONGEST_HEADER = 1 << 20  # bytes; a guard against reading any file as one line


class Summed:
    """A file to write to that takes the SHA-256 of what passes."""

    def __init__(self, file: BinaryIO) -> None:
        self.file, self.sum = file, hashlib.sha256()

    def write(self, data: bytes) -> int:
        """Write and count in."""
        self.sum.update(data)
        return self.file.write(data)

    def flush(self) -> None:
        """Pass on what is buffered."""
        self.file.flush()


def write_backup(
    path: Path, header: Header, seal_into: Callable[[Summed], None]
) -> None:
    """Write a backup under a name of its own, read it back, then give it its name.

    Raises BackupError where the disk does not hold what was written.
    """
    unfinished = path.with_suffix(".unfinished")
    try:
        with os.fdopen(_private(unfinished), "wb") as file:
            summed = Summed(file)
            summed.write(header.line())
            seal_into(summed)
            file.write(MARK + summed.sum.hexdigest().encode("ascii") + b"\n")
            file.flush()
            os.fsync(file.fileno())
        check_sum(unfinished)
        unfinished.rename(path)
        _sync_folder(path.parent)
    except OSError as error:
        raise BackupError(f"{path} cannot be written: {error.strerror}.") from error
    finally:
        unfinished.unlink(missing_ok=True)


def _private(path: Path) -> int:
    return os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)


def _sync_folder(folder: Path) -> None:
    """Let the new name reach the disk too, where the system can."""
    if os.name != "posix":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def check_sum(path: Path) -> Header:
    """Return the header of a file that is whole; raises BackupError otherwise."""
    try:
        with path.open("rb") as file:
            length = path.stat().st_size - LAST_LINE
            header_line = file.readline(LONGEST_HEADER)
            if not header_line.endswith(b"\n") or length < len(header_line):
                raise BackupError(f"{path} is cut short, or no backup of Trochlea.")
            sum_ = hashlib.sha256(header_line)
            for block in _blocks(file, length - len(header_line)):
                sum_.update(block)
            last = file.read()
    except OSError as error:
        raise BackupError(f"{path} cannot be read: {error.strerror}.") from error
    if last != MARK + sum_.hexdigest().encode("ascii") + b"\n":
        raise BackupError(
            f"{path} is damaged or cut short: its checksum does not fit. Take another "
            "copy of it, or an earlier backup."
        )
    return read_header(header_line)


def _blocks(file: BinaryIO, length: int) -> Iterator[bytes]:
    """Yield the next `length` bytes of a file, a block at a time."""
    while length > 0 and (block := file.read(min(BLOCK, length))):
        length -= len(block)
        yield block


class Sealed:
    """The sealed part of a checked file, to read from."""

    def __init__(self, path: Path, file: BinaryIO) -> None:
        self.file = file
        self.left = path.stat().st_size - LAST_LINE - len(file.readline())

    def read(self, size: int = -1) -> bytes:
        """Return up to `size` bytes, all that is left by default."""
        wanted = self.left if size < 0 else min(size, self.left)
        data = self.file.read(wanted)
        self.left -= len(data)
        return data


def backups_in(folder: Path) -> list[tuple[Path, Header]]:
    """Return the backups of a folder by their headers, newest first.

    What only looks like a backup is left out, so that nothing strange is rotated.
    """
    found = []
    for path in folder.glob(f"*{ENDING}"):
        with path.open("rb") as file:
            line = file.readline(LONGEST_HEADER)
        try:
            found.append((path, read_header(line)))
        except BackupError:
            continue
    return sorted(found, key=lambda one: one[1].moment, reverse=True)
