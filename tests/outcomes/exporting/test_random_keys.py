"""Keys that are drawn, never derived."""

import ast
import re
from pathlib import Path

from outcomes.exporting import random_keys
from outcomes.exporting.csv_text import guarded
from outcomes.exporting.random_keys import new_key, shuffled_codes


def test_keys_are_128_bits_of_letters_and_digits() -> None:
    """No two alike, none that a spreadsheet takes for a formula, all of one length."""
    keys = {new_key() for _ in range(5000)}
    assert len(keys) == 5000
    assert all(re.fullmatch("[0-9A-Za-z]{22}", key) for key in keys)
    assert all(guarded(key) == key for key in keys)
    assert 62**random_keys.LENGTH > 2**random_keys.BITS


def test_a_key_takes_nothing_to_be_derived_from() -> None:
    """45 CFR 164.514(c): the module has no hash, and a key no argument."""
    tree = ast.parse(Path(random_keys.__file__).read_text(encoding="utf-8"))
    imported = {
        name.name
        for node in ast.walk(tree)
        if isinstance(node, ast.Import)
        for name in node.names
    }
    assert imported == {"secrets"}
    assert new_key.__code__.co_argcount == 0


def test_codes_are_numbered_in_a_drawn_order() -> None:
    """Codes are C1 to Cn without gaps; the order differs from draw to draw."""
    people = range(100, 120)
    draws = [shuffled_codes(people) for _ in range(20)]
    for codes in draws:
        assert set(codes) == set(people)
        assert set(codes.values()) == {f"C{place}" for place in range(1, 21)}
    # One in 20! for two alike, if each order is as likely as any other.
    assert len({tuple(codes[one] for one in people) for codes in draws}) == 20
    assert len({codes[100] for codes in draws}) > 1
