"""Two exports held against each other."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from outcomes.exporting.differencing import Overlap, thin_groups, thin_sentence

exports = st.dictionaries(st.integers(0, 40), st.integers(0, 40), max_size=30)


def released(*people: int) -> dict[int, int]:
    """Return an export in which each person has one episode of the same number."""
    return {person: person for person in people}


@pytest.mark.parametrize(
    ("left", "is_safe"), [(0, True), (1, False), (4, False), (5, True), (30, True)]
)
def test_a_difference_is_nobody_or_at_least_k(left: int, *, is_safe: bool) -> None:
    """1 to k - 1 people left over single somebody out, on either side."""
    assert Overlap(20, left, 0).is_safe() is is_safe
    assert Overlap(20, 0, left).is_safe() is is_safe


def test_exports_that_share_nobody_may_be_of_any_size() -> None:
    """There is nothing to take one from the other by."""
    assert Overlap(0, 2, 3).is_safe()


def test_an_attacker_who_shifts_the_period_by_a_day_is_refused() -> None:
    """Twelve people, then the same and one more: the thirteenth would stand alone."""
    found = Overlap.between(released(*range(12)), released(*range(13)))
    assert found == Overlap(shared=12, only_earlier=0, only_later=1)
    sentence = found.sentence()
    assert "1 person only in the new one" in sentence
    assert "Widen the period" in sentence


def test_an_attacker_who_shortens_the_period_is_refused() -> None:
    """Whoever left with the first days would stand alone in the earlier export."""
    found = Overlap.between(released(*range(12)), released(*range(3, 12)))
    assert "3 people only in the earlier export" in found.sentence()


def test_a_second_knee_that_is_new_is_a_difference() -> None:
    """The same people, but a knee more: that row is known to be the person's."""
    earlier = released(*range(12))
    found = Overlap.between(earlier, {**earlier, 99: 7})
    assert (found.shared, found.only_later) == (12, 1)
    assert not found.is_safe()


def test_two_exports_together_may_leave_one_of_a_third() -> None:
    """The caller holds the new one against all earlier ones taken together."""
    spring, autumn = released(*range(10)), released(*range(10, 20))
    year = released(*range(21))
    assert Overlap.between(spring, year).is_safe()
    assert Overlap.between(autumn, year).is_safe()
    assert not Overlap.between({**spring, **autumn}, year).is_safe()


def test_a_thin_group_is_found_though_the_whole_is_safe() -> None:
    """Six new people, of whom one stands alone among those alike."""
    new = [(person, "young") for person in range(5)]
    assert thin_groups(new) == 0 and thin_sentence(0) == ""
    assert thin_groups([*new, (5, "old")]) == 1
    assert "1 group of alike rows" in thin_sentence(1)
    assert "the turn of a year" in thin_sentence(2)


def test_two_knees_of_one_person_are_one_person_of_a_group() -> None:
    """Five rows of four people are too few."""
    assert thin_groups([(person, "old") for person in (1, 2, 2, 3, 4)]) == 1


@given(exports, exports)
def test_a_safe_pair_leaves_an_attacker_nobody_or_k(
    earlier: dict[int, int], later: dict[int, int]
) -> None:
    """What is left after taking one from the other is found by sets, not by counts."""
    earlier = {episode: episode // 2 for episode in earlier}
    later = {episode: episode // 2 for episode in later}
    found = Overlap.between(earlier, later)
    left = [
        {earlier[one] for one in set(earlier) - set(later)},
        {later[one] for one in set(later) - set(earlier)},
    ]
    singled_out = bool(set(earlier) & set(later)) and any(
        0 < len(people) < 5 for people in left
    )
    assert found.is_safe() is not singled_out
    assert bool(found.sentence()) is singled_out
