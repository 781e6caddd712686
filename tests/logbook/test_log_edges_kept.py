"""The log at its edges: ids, answers and outcomes as they are kept."""

from __future__ import annotations

from pathlib import Path

import pytest
from log_edges import FIXED, entry
from msgspec.structs import replace
from sqlalchemy import create_engine, text

from diagnose.errors import DiagnoseError, InputError
from diagnose.knowledge import Knowledge
from diagnose.logbook.book import New, put_in
from diagnose.logbook.entry import case_of, checked, entry_of
from diagnose.logbook.files import written_whole
from diagnose.logbook.ids import encode, is_sound
from diagnose.logbook.migrations import migrate
from diagnose.logbook.places import where_of
from diagnose.logbook.store import Store, open_log, version_of
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
        put_in(connection, [New(entry(knowledge), id=encode(following + 7))])
        mine = put_in(connection, [New(entry(knowledge))] * 3)
        assert mine == [encode(following + n) for n in (6, 8, 9)]


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


def broken_off(path: Path) -> None:
    """Begin to write, and stop in the midst of it."""
    with written_whole(path) as file:
        file.write("half of the new")
        raise KeyError


def test_a_file_that_can_not_be_written_is_told(tmp_path: Path) -> None:
    """Whatever was written of it goes; nothing is left lying about. What is no file is not written over."""
    target = tmp_path / "none" / "export.jsonl"
    with (
        pytest.raises(DiagnoseError, match=r"export\.jsonl: can't be written: No such file or directory$"),
        written_whole(target),
    ):
        pass
    with (
        pytest.raises(InputError, match="is no regular file, expected a new name or a file to write over"),
        written_whole(tmp_path),
    ):
        pass
    whole = tmp_path / "whole.jsonl"
    whole.write_text("the last one\n", encoding="utf-8")
    (tmp_path / "link.jsonl").symlink_to(whole)
    with pytest.raises(KeyError):
        broken_off(whole)
    assert whole.read_text("utf-8") == "the last one\n"
    with written_whole(tmp_path / "link.jsonl") as file:
        file.write("der n\u00e4chste\n")
    assert whole.read_bytes() == "der n\u00e4chste\n".encode()
    assert (tmp_path / "link.jsonl").is_symlink()
    assert sorted(each.name for each in tmp_path.iterdir()) == ["link.jsonl", "whole.jsonl"]


@pytest.mark.parametrize(
    ("content", "cases"),
    [
        ('{"cases": 30}', 30),
        ("{}", 0),
        ("[]", 0),
        ("null", 0),
        ('{"cases": "many"}', 0),
        ('{"cases": null}', 0),
        ("{torn", 0),
        ("", 0),
    ],
)
def test_a_damaged_learning_does_not_lock_the_log_out(content: str, cases: int, tmp_path: Path) -> None:
    """A log of schema 2 with a learning that can't be read is brought up all the same; from how many cases it was is then told as none."""
    path = tmp_path / "old.db"
    engine = create_engine(f"sqlite:///{path}")
    with engine.begin() as connection:
        migrate(connection, 0, 2)
        connection.execute(text("INSERT INTO learned VALUES (1, '2026-03-02', :content, 1)"), {"content": content})
        connection.execute(text("INSERT INTO log VALUES ('start', 0), ('next', 0)"))
    engine.dispose()
    store = open_log(where_of(str(path)), write=True)
    with store.reading() as connection:
        assert connection.execute(text("SELECT cases, content FROM learned")).all() == [(cases, content)]
    assert version_of(store) == 3
    store.close()
    assert [each.name for each in tmp_path.glob("*.schema-2")] == ["old.db.schema-2"]
