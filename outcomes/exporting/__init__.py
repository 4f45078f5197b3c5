"""The de-identified export: who may leave, what of them, and the files.

The modules named here know no Django, no model and no setting, and hold one person's
rows at a time; what may leave is decided by them alone.

- `generalising`: `Quasi`, what a stranger may know of somebody; `LEVELS`, the stated
  order in which it is coarsened; `at_level`, what a row then shows.
- `anonymity`: `Tally` reads (person, quasi, sensitive values) once, in order of person;
  its `plan` is a `Plan` (level, classes that may leave, what is held back and why) or
  `Refused` with a sentence.
- `differencing`: `Overlap` of two exports, and whether one minus the other singles out.
- `windows`: `window_of` rounds a day after opening to a window of weeks; `nearest`
  keeps one row per window and counts the rest.
- `columns`: `tables()`, the allow-list: five files, and nothing that is not listed.
- `csv_text`: `write_table` streams rows of one table and gives `Written` (rows,
  SHA-256), `lines` gives it line by line; a missing, extra or unlisted value is
  `NotListed`.
- `dictionary`: `as_json`, `as_html`: what every column means in this export.
- `manifest`: `Manifest`, `wording(jurisdiction)`.
- `random_keys`: `new_key` for rows, `shuffled_codes` for clinicians.

Those that know the database, in the order in which an export passes through them:

- `choosing`: the episodes of the period that may be shared, in order of person.
- `beginning`: `begin_export` decides and puts it on the record, in one transaction.
- `overlapping`: whom earlier exports of the site share with it; `previewing` decides as
  `beginning` does and takes it back.
- `rows`: what stands in the five files, a few episodes at a time.
- `writing`: `export_chunks`, the zip piece by piece (`zip_stream`), and how it ends.
"""
