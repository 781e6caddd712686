"""The log at its edges: ids, answers and outcomes as they are kept."""

from __future__ import annotations

import pytest
from log_edges import FIXED, entry
from msgspec.structs import replace

from diagnose.errors import InputError
from diagnose.knowledge import Knowledge
from diagnose.logbook.book import New, put_in
from diagnose.logbook.entry import case_of, checked, entry_of
from diagnose.logbook.ids import encode, is_sound
from diagnose.logbook.store import Store
from diagnose.reasoning.network import NOT_LISTED


def test_the_first_id_of_a_length_is_all_twos() -> None:
    """Four signs for 31^4 parts, five for 31^5 more; each length begins anew, and each begins with its check at a two as well (a sum of zeros)."""
    assert encode(0) == "22222"
    assert encode(31**4) == "222222"
    assert encode(31**4 + 31**5) == "2222222"
    assert [len(encode(number)) for number in (31**4 - 1, 31**4 + 31**5 - 1)] == [5, 6]
    for first in (0, 31**4, 31**4 + 31**5):
        near = [encode(first + i) for i in range(50)]
        assert len(set(near)) == 50
        assert all(is_sound(name) for name in near)
    with pytest.raises(ValueError, match="0 or more"):
        encode(-1)


def test_the_next_free_id_is_given(file_store: Store, knowledge: Knowledge) -> None:
    """Where the next one is taken, the very next after it: no number is left out."""
    with file_store.writing() as connection:
        put_in(connection, [New(entry(knowledge))])
        following = connection.exec_driver_sql("SELECT value FROM log WHERE key = 'next'").scalar()
        assert isinstance(following, int)
        put_in(connection, [New(entry(knowledge), id=encode(following + 1))])
        mine = put_in(connection, [New(entry(knowledge))] * 3)
        assert mine == [encode(following + n) for n in (2, 3, 4)]
        assert connection.exec_driver_sql("SELECT value FROM log WHERE key = 'next'").scalar() == following + 5


def test_a_number_is_kept_to_ten_digits(knowledge: Knowledge) -> None:
    """70 degF are 38 / 1.8 degC, kept as 21.11111111; a whole number as it is."""
    for told, kept in (("70 degF", "21.11111111"), ("21 degC", "21")):
        case = case_of({"case": 1, "answers": {"mold_temperature": told}}, knowledge)
        assert ("mold_temperature", kept) in [answer[:2] for answer in entry_of(case, knowledge).answers]


def test_it_was_none_of_them_or_it_was_one_of_them(knowledge: Knowledge) -> None:
    """Off the list stands alone; a name stands once; each cause, remedy and word is one that is known."""
    alone = replace(FIXED, causes=(NOT_LISTED,))
    assert checked(alone, knowledge) is alone
    two = replace(FIXED, causes=("mold_cold", "a_rich"))
    assert checked(two, knowledge) is two
    for change, message in (
        (
            {"causes": (NOT_LISTED, "mold_cold")},
            "not_listed beside mold_cold: it was none of them, or it was one of them",
        ),
        (
            {"causes": ("mold_cold", NOT_LISTED)},
            "not_listed beside mold_cold: it was none of them, or it was one of them",
        ),
        ({"causes": ("mold_cold", "mold_cold")}, "cause 'mold_cold' stands twice"),
        ({"causes": ()}, "expected at least one cause, or not_listed"),
        ({"causes": ("mold_kold",)}, "no cause 'mold_kold'"),
        ({"remedies": ("pray",)}, "no remedy 'pray'"),
        ({"how": "guessed"}, "outcome.how: 'guessed', expected one of looked, tested, fixed, opinion"),
        ({"next": "fine"}, "outcome.next: 'fine', expected one of good, bad, not_poured"),
    ):
        with pytest.raises(InputError, match=message):
            checked(replace(FIXED, **change), knowledge)
