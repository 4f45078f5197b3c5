"""Copies of the whole database: made while in use, encrypted, and brought back.

A backup is one file: a line of JSON that anybody may read (`header.py`), the sealed
part (an age file that holds a compressed tar of the database and its table of
checksums), and a last line with the SHA-256 of everything before it (`file.py`).
"""
