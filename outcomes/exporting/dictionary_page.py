"""The data dictionary as a page to read: whole by itself, without any script."""

from __future__ import annotations

from html import escape

from programs.library import library

from ..science.verdicts import Verdict
from .columns import NOT_MEASURED, tables
from .generalising import LEVELS
from .levels_shown import allowed_at, is_empty_at
from .manifest import NOT_IN_IT, Manifest, people_shown
from .measures_told import measures_told
from .table_shape import Column, Table, Type

_LOOKS = (
    "body{font:1rem/1.5 system-ui,sans-serif;color:#1b1b1b;background:#fff;"
    "max-width:72rem;margin:0 auto;padding:1rem}"
    "div{overflow-x:auto}table{border-collapse:collapse;width:100%;margin:1rem 0}"
    "caption{text-align:left;font-weight:600;padding:.5rem 0}"
    "th,td{border:1px solid #767676;padding:.35rem .5rem;text-align:left;"
    "vertical-align:top}code{font-size:.95em;white-space:nowrap}"
    "@media print{body{max-width:none;font-size:9pt}tr{break-inside:avoid}}"
)
_KINDS = {
    Type.TEXT: "text",
    Type.WHOLE: "whole number",
    Type.NUMBER: "number",
    Type.YEAR: "year",
}
# A longer list, that of the exercises, stands at the end of the page.
MOST_LISTED = 12
TAKEN = " <strong>Taken in this export.</strong>"
HOW_READ = (
    "Each file is comma-separated text (RFC 4180): the first line names the columns, "
    "lines end in CR LF, the encoding is UTF-8 without a byte order mark; a "
    "spreadsheet that shows odd signs should be told “UTF-8” on opening. An empty cell "
    "is a missing value. Numbers have a decimal point. The rows of an episode belong "
    "together by episode_key; two knees of one person are not linked to each other."
)


def as_html(manifest: Manifest) -> str:
    """Return dictionary.html: one page, readable by itself, without any script."""
    title = f"Export for audit, {manifest.wording.word}: what every column means"
    parts = [
        f"<h1>{escape(title)}</h1>",
        _paragraph(manifest.wording.sentence),
        "<nav aria-label='Files'><ul>",
        *(
            f"<li><a href='#{table.name}'>{table.file_name}</a></li>"
            for table in tables().values()
        ),
        "</ul></nav>",
        _summary(manifest),
        "<h2>How to read the files</h2>",
        _paragraph(HOW_READ),
        _verdicts(),
        _measures(manifest),
        *(_table(table, manifest) for table in tables().values()),
        _exercises(),
    ]
    return (
        "<!doctype html>\n<html lang='en-GB'>\n<head>\n<meta charset='utf-8'>\n"
        "<meta name='viewport' content='width=device-width, initial-scale=1'>\n"
        f"<title>{escape(title)}</title>\n<style>{_LOOKS}</style>\n</head>\n"
        "<body>\n<main>\n" + "\n".join(parts) + "\n</main>\n</body>\n</html>\n"
    )


def _summary(manifest: Manifest) -> str:
    """Say what was done to the data before it left."""
    plan = manifest.plan
    kept = f"{plan.k} people or more, with {plan.l_values} different verdicts or more"
    declined = people_shown(manifest.declined, k=plan.k)
    sentences = (
        f"Episodes opened in {manifest.period}; extracted {manifest.moment} (UTC, "
        f"ISO 8601) by Trochlea, edition {manifest.app_version}.",
        f"Every episode stands among {kept}, by what a stranger may know: age, sex, "
        "side, duration, year and clinician. Counted are people, not knees.",
        plan.because,
        f"People left out because they decline the use of their data: {declined}.",
    )
    steps = "".join(
        f"<li>{escape(level.sentence)}{TAKEN if level == plan.level else ''}</li>"
        for level in LEVELS
    )
    return (
        "<h2>What was done before it left</h2>"
        + "".join(map(_paragraph, sentences))
        + "<p>The stated order in which values are coarsened, each step on top of "
        f"those before it:</p><ol start='0'>{steps}</ol>"
    )


def _verdicts() -> str:
    """Say what each verdict means."""
    told = "".join(
        f"<dt><code>{verdict.value}</code></dt><dd>{escape(verdict.sentence)}</dd>"
        for verdict in Verdict
    )
    return (
        f"<h2>What a verdict means</h2><dl>{told}<dt>{NOT_MEASURED}</dt>"
        "<dd>No later score can be held against a first one.</dd></dl>"
    )


def _measures(manifest: Manifest) -> str:
    """Say what each measure is, which way it improves, and from where verdicts come."""
    heads = ("Key", "Measure", "Range", "Edition", "Enough to matter", "Error")
    body = "".join(
        f"<tr><th scope='row'><code>{one.key}</code></th>"
        + "".join(f"<td>{escape(text)}</td>" for text in one.cells)
        + "</tr>"
        for one in measures_told(manifest.policy)
    )
    return (
        "<h2>The measures, and the limits that the verdicts were taken by</h2>"
        "<div tabindex='0' role='region' aria-label='Measures'><table>"
        "<caption>A change of that many points or more counts</caption><thead><tr>"
        + "".join(f"<th scope='col'>{name}</th>" for name in heads)
        + f"</tr></thead><tbody>{body}</tbody></table></div>"
    )


def _exercises() -> str:
    """Name every entry of the exercise library."""
    told = "".join(
        f"<dt><code>{key}</code></dt><dd>{escape(one.name)}</dd>"
        for key, one in library().items()
    )
    return f"<h2>The exercises by their keys</h2><dl>{told}</dl>"


def _table(table: Table, manifest: Manifest) -> str:
    """Describe one file and its columns."""
    written = {one.name: one for one in manifest.files}.get(table.file_name)
    rows = f" Rows: {written.rows}." if written else ""
    if stayed := manifest.left_out.get(table.name, 0):
        rows += f" Not in it: {stayed}. {NOT_IN_IT}"
    body = "\n".join(_row(one, manifest.plan.level.number) for one in table.columns)
    heads = ("Column", "What it is", "Kind and unit", "May hold", "Rule", "Source")
    head = "".join(f"<th scope='col'>{name}</th>" for name in heads)
    return (
        f"<section id='{table.name}'><h2>{table.file_name}</h2>"
        + _paragraph(f"{table.row_is} Order of rows: {table.order}{rows}")
        + f"<div tabindex='0' role='region' aria-label='{escape(table.title)}'>"
        f"<table><caption>Columns of {table.file_name}</caption>"
        f"<thead><tr>{head}</tr></thead><tbody>\n{body}\n</tbody></table></div></section>"
    )


def _row(column: Column, level: int) -> str:
    kind = ", ".join(filter(None, (_KINDS[column.type], column.unit)))
    cells = (
        " ".join(filter(None, (f"{column.title}.", column.direction))),
        kind,
        _may_hold(column, level),
        column.rule,
        column.source,
    )
    told = "".join(f"<td>{escape(text)}</td>" for text in cells)
    return f"<tr><th scope='row'><code>{column.name}</code></th>{told}</tr>"


def _may_hold(column: Column, level: int) -> str:
    """Say in words what a cell may hold in this export."""
    if is_empty_at(column, level):
        return "Nothing: empty in this export."
    allowed = [str(value) for value in allowed_at(column, level)]
    if len(allowed) > MOST_LISTED:
        words = f"{len(allowed)} listed words; see the end of this page"
    elif allowed:
        words = "; ".join(allowed)
    elif column.pattern:
        words = column.form
    else:
        words = _range(column)
    return words if column.is_required else f"{words}; or empty"


def _range(column: Column) -> str:
    if column.low is None:
        return ""
    top = "" if column.high is None else f" to {column.high:g}"
    return f"{column.low:g}{top}" if top else f"{column.low:g} or more"


def _paragraph(text: str) -> str:
    return f"<p>{escape(text)}</p>"
