"""The log at its edges: ids, answers and outcomes as they are kept."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from log_edges import FIXED, entry
from msgspec.structs import replace
from sqlalchemy import create_engine, text

from diagnose.casebook import Case
from diagnose.errors import DiagnoseError, InputError
from diagnose.knowledge import Knowledge
from diagnose.logbook.book import New, add, close, kept, listed, put_in
from diagnose.logbook.entry import about_of, case_of, checked, entry_of
from diagnose.logbook.files import written_whole
from diagnose.logbook.ids import SIGNS, encode, is_sound
from diagnose.logbook.learned import Learned, Seen
from diagnose.logbook.migrations import migrate
from diagnose.logbook.places import where_of
from diagnose.logbook.store import LogError, Store, open_log, version_of
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


def test_a_wrong_sign_at_any_place_is_noticed() -> None:
    """And any two neighbors that are swapped, where they differ: of one id all of them, signs and check."""
    name = encode(12_345)
    assert is_sound(name)
    for place in range(len(name)):
        wrong = [name[:place] + sign + name[place + 1 :] for sign in SIGNS if sign != name[place]]
        assert not any(is_sound(each) for each in wrong)
    swaps = [name[:i] + name[i + 1] + name[i] + name[i + 2 :] for i in range(len(name) - 1)]
    assert not any(is_sound(each) for each in swaps if each != name)
    assert not is_sound(name[:4])
    assert not is_sound(name.upper())


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
    for told, wanted in (("70 degF", "21.11111111"), ("21 degC", "21")):
        case = case_of({"case": 1, "answers": {"mold_temperature": told}}, knowledge)
        assert ("mold_temperature", wanted) in [answer[:2] for answer in entry_of(case, knowledge).answers]


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


@pytest.mark.parametrize("key", ["part", "mold", "lot_a", "lot_b", "person", "client"])
def test_a_short_name_has_two_hundred_characters(key: str) -> None:
    """And not one more; it is kept as it was told."""
    assert getattr(about_of(Case.of({}).with_about(**{key: "x" * 200})), key) == "x" * 200
    with pytest.raises(InputError, match=rf"^about.{key}: over 200 characters, expected a short name$"):
        about_of(Case.of({}).with_about(**{key: "x" * 201}))


def test_only_what_is_seen_is_a_fault(knowledge: Knowledge) -> None:
    """What is absent or not known is none; a good part may say so."""
    answers = {
        "build": "bare_foam",
        "symptoms": ["thin_skin"],
        "symptoms_absent": ["pinholes"],
        "symptoms_unknown": ["shrinkage"],
    }
    assert entry_of(case_of({"case": 1, "answers": answers}, knowledge), knowledge).symptoms == ("thin_skin",)
    good = entry_of(case_of({"case": 1, "answers": {"symptoms_absent": ["pinholes"]}}, knowledge), knowledge, good=True)
    assert (good.symptoms, good.good) == ((), True)
    assert [answer for answer in good.answers if answer[0] == "pinholes"] == [("pinholes", "absent", "seen")]


@pytest.mark.parametrize(
    ("wrong", "more"), [(("x",), ""), (("x", "y"), " (and 1 more)"), (("x", "y", "z"), " (and 2 more)")]
)
def test_the_first_fault_of_a_case_is_told_and_the_others_counted(
    wrong: tuple[str, ...], more: str, knowledge: Knowledge
) -> None:
    """In one line, for a line of an import has no room for more."""
    with pytest.raises(InputError) as found:
        case_of({"case": 1, "answers": dict.fromkeys(wrong, "1")}, knowledge)
    assert str(found.value).count(" more)") == bool(more)
    assert str(found.value).endswith(more)


#: what was said or advised of a case, put in place of what was kept
SAID = {
    "no list": "5",
    "no pair": '[["a"]]',
    "no JSON": "[torn",
    "no number": '[["a", "b"]]',
    "beyond any number": '[["a", ' + "9" * 400 + "]]",
    "too deep": "[" * 100_000,
}
DAMAGE = {
    "no document": "DELETE FROM documents",
    "not deflated": "UPDATE documents SET assessment = x'00'",
    "another case": "UPDATE documents SET case_json = '{}'",
    **{name: f"UPDATE documents SET said = '{text}'" for name, text in SAID.items()},
}


@pytest.mark.parametrize("statement", DAMAGE.values(), ids=DAMAGE.keys())
def test_whatever_is_not_as_it_was_kept_is_told_in_one_line(
    statement: str, file_store: Store, knowledge: Knowledge
) -> None:
    """Which case it is, and what brings it back."""
    name = add(file_store, New(entry(knowledge, "thin_skin"), (FIXED,)))
    with file_store.writing() as connection:
        connection.exec_driver_sql(statement)
    with pytest.raises(LogError) as found:
        kept(file_store, name)
    wanted = (
        f"the log is damaged: case {name} is not as it was kept; a backup comes back by: diagnose log restore BACKUP"
    )
    assert str(found.value) == wanted


def test_the_cases_of_one_client_are_theirs_alone(file_store: Store, knowledge: Knowledge) -> None:
    """Neither those of a client before nor behind by name; of the latest as many as are asked for."""
    with file_store.writing() as connection:
        put_in(
            connection,
            [
                New(entry(knowledge, "thin_skin", client=name, date=f"2026-01-0{i}"))
                for i, name in enumerate("abcbc", start=1)
            ],
        )
    assert [(each.client, each.date) for each in listed(file_store, client="b")] == [
        ("b", "2026-01-04"),
        ("b", "2026-01-02"),
    ]
    assert [each.date for each in listed(file_store, client="c", most=1)] == ["2026-01-05"]
    assert [each.client for each in listed(file_store, waiting=True)] == ["c", "b", "c", "b", "a"]


def test_closing_one_part_closes_no_other(file_store: Store, knowledge: Knowledge) -> None:
    """The outcomes and costs of the part before it and of the one behind it stay; the very first outcome is number one."""
    names = [add(file_store, New(entry(knowledge, "thin_skin"))) for _ in range(3)]
    for name in (names[0], names[2], names[1]):
        close(file_store, name, replace(FIXED, cost=10.0 * (1 + names.index(name))))
    with file_store.reading() as connection:
        outcomes = connection.exec_driver_sql("SELECT number, current, cost FROM outcomes ORDER BY number").all()
        costs = connection.exec_driver_sql("SELECT cost FROM faults ORDER BY case_number").scalars().all()
        shares = connection.exec_driver_sql("SELECT current, cost FROM outcome_causes ORDER BY outcome").all()
    assert [tuple(row) for row in outcomes] == [(1, 1, 10.0), (2, 1, 30.0), (3, 1, 20.0)]
    assert costs == [10.0, 20.0, 30.0]
    assert [tuple(row) for row in shares] == [(1, 10.0), (1, 30.0), (1, 20.0)]


def test_what_was_learned_lies_between_its_bounds() -> None:
    """A factor of two either way is one of a rate, a link or a result, and a fifth a spread: read as they were written."""
    told = Learned(
        9, "k", {"": {"a": 2.0, "b": 0.5}}, {"a": {"s": 2.0, "t": 0.5}}, {"c": {"r": 2.0, "q": 0.5}}, Seen(9, 4, {"a": 2}),
        {"mold": {"m": Seen(5, 3, {"a": 1})}, "lot_a": {}, "lot_b": {}}, {"mold": {"a": 0.2}},
    )  # fmt: skip
    assert Learned.from_plain(json.loads(json.dumps(told.to_plain()))) == told
    for change in ({"memory": {"person": {}}}, {"learned": 2}, {"learned": 0}):
        with pytest.raises(ValueError, match=r"a memory of something else|another format"):
            Learned.from_plain({**told.to_plain(), **change})
