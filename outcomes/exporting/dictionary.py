"""The data dictionary as JSON: one Table Schema for each file, in a data package.

Made for one export: its level narrows what a column may hold, and says which are empty.
"""

from __future__ import annotations

import json

from .columns import tables
from .dictionary_page import as_html
from .levels_shown import allowed_at, is_empty_at
from .manifest import Manifest
from .table_shape import Column, Table, Type

__all__ = ["as_html", "as_json"]

# RFC 4180, as csv_text writes it.
DIALECT = {
    "delimiter": ",",
    "lineTerminator": "\r\n",
    "quoteChar": '"',
    "doubleQuote": True,
    "skipInitialSpace": False,
    "header": True,
}


def as_json(manifest: Manifest) -> str:
    """Return dictionary.json: a data package with one Table Schema per file."""
    package = {
        "profile": "tabular-data-package",
        "name": "audit-export",
        "title": f"Export for audit, {manifest.wording.word}",
        "description": manifest.wording.sentence,
        "resources": [_resource(table, manifest) for table in tables().values()],
    }
    return json.dumps(package, indent=2, ensure_ascii=False) + "\n"


def _resource(table: Table, manifest: Manifest) -> dict[str, object]:
    """Describe one file, with its size and its print where it was written."""
    written = {one.name: one for one in manifest.files}.get(table.file_name)
    facts: dict[str, object] = {
        "profile": "tabular-data-resource",
        "name": table.name,
        "path": table.file_name,
        "title": table.title,
        "description": f"{table.row_is} Order of rows: {table.order}",
        "format": "csv",
        "mediatype": "text/csv",
        # Without a byte order mark.
        "encoding": "utf-8",
        "dialect": DIALECT,
        "schema": table_schema(table, manifest.plan.level.number),
    }
    if written is not None:
        facts |= {
            "rows": written.rows,
            "bytes": written.size,
            "hash": f"sha256:{written.sha256}",
        }
    return facts


def table_schema(table: Table, level: int) -> dict[str, object]:
    """Return the Table Schema of one file at a level."""
    schema: dict[str, object] = {
        "fields": [_field(column, level) for column in table.columns],
        "missingValues": [""],
    }
    if table.unique:
        schema["primaryKey"] = list(table.unique)
    if table.name != "episodes":
        schema["foreignKeys"] = [
            {
                "fields": ["episode_key"],
                "reference": {"resource": "episodes", "fields": ["episode_key"]},
            }
        ]
    return schema


def _field(column: Column, level: int) -> dict[str, object]:
    """Describe one column by the names of Table Schema, and by a few of our own."""
    field: dict[str, object] = {
        "name": column.name,
        "title": column.title,
        "type": column.type.value,
        "description": _description(column, level),
        "constraints": _constraints(column, level),
        "rule": column.rule,
        "source": column.source,
    }
    if column.unit:
        field["unit"] = column.unit
    if column.direction:
        field["direction"] = column.direction
    return field


def _description(column: Column, level: int) -> str:
    if is_empty_at(column, level):
        return f"{column.title}. Empty in this export."
    return f"{column.title}."


def _constraints(column: Column, level: int) -> dict[str, object]:
    """Return what a cell may hold; a year takes no pattern in Table Schema."""
    found: dict[str, object] = {}
    if column.is_required:
        found["required"] = True
    if is_empty_at(column, level):
        return {"maxLength": 0} if column.type is Type.TEXT else {}
    if allowed := allowed_at(column, level):
        found["enum"] = list(allowed)
    if column.pattern and column.type is Type.TEXT:
        found["pattern"] = f"^(?:{column.pattern})$"
    if column.low is not None:
        found["minimum"] = column.low
    if column.high is not None:
        found["maximum"] = column.high
    return found
