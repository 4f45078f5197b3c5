"""Letters about a case: drafted from the record, edited, signed, kept as sent.

`record` reads what a letter may say; `course`, `care`, `plain` and `words` put it in
words; `draft` makes the parts; `acts` keeps, changes, signs and voids; `sheet` lays
out.
"""
