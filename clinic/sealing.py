"""The hash that ties each line of the audit trail to the line before it.

Canonical form, stated once: JSON in ASCII with sorted keys and no spaces; moments in
UTC with six decimals; a whole number is written without decimals. The hash of a line
is the SHA-256 of a list: hash of the line before, number of the chain, position, site,
action, moment, person, patient, request, content digest. The content digest is the
SHA-256 of the line's own random salt, the name and the detail: without the salt it
says nothing of them, so that a line can one day lose its content and keep its place.
"""

import hashlib
import json
from datetime import UTC, datetime
from typing import Any

# What the first line of a chain follows.
NOTHING_BEFORE = "0" * 64


def canonical(value: Any) -> str:
    """Return the one text of a value; equal values have equal texts."""
    return json.dumps(
        _plain(value), sort_keys=True, ensure_ascii=True, separators=(",", ":")
    )


def _plain(value: Any) -> Any:
    """Return the value as a database gives JSON back: 70.0 is the number 70."""
    if isinstance(value, float) and value.is_integer():
        return int(value)
    if isinstance(value, dict):
        return {str(key): _plain(one) for key, one in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(one) for one in value]
    return value


def digest_of(line: Any) -> str:
    """Return the digest of what a line says: its name and detail."""
    return _sha256(canonical([line.salt, line.by_name, line.detail]))


def hash_of(line: Any) -> str:
    """Return the hash of a line: its own columns and the hash of the line before."""
    return _sha256(
        canonical(
            [
                line.previous,
                line.chain_id,
                line.position,
                line.site_id,
                line.action,
                _moment(line.at),
                line.by_id,
                line.patient_id,
                line.request_id,
                line.digest,
            ]
        )
    )


def _moment(at: datetime) -> str:
    return at.astimezone(UTC).isoformat(timespec="microseconds")


def _sha256(text: str) -> str:
    return hashlib.sha256(text.encode("ascii")).hexdigest()
