"""Brings a clinic's spreadsheets in: all of it, or nothing and every fault named.

`reading` turns bytes into rows; `patients` and `observations` check each row by
itself and put the facts into `scratch`, a table on disk, so that memory stays
flat; `matching` sets the episodes against each other and against what is stored;
`days` does the same for one person's day; `storing` writes; `caseload` is the
whole act.
"""
