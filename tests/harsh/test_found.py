"""What the fuzzer, the flips and the kills found, each with its smallest input; and a short seeded run of the same changes.

`python -m tests.harsh.fuzz` looks for more, guided by coverage.
"""

from __future__ import annotations

import json
import os
import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest

from diagnose.casebook import case_from_bytes, case_text
from diagnose.errors import FileFaults, InputError
from diagnose.interview.autosave import Draft
from diagnose.knowledge.files import SourceFile, files_in_use
from diagnose.knowledge.reader import compile_files
from diagnose.knowledge.yaml_reader import read_node
from diagnose.logbook import schema
from diagnose.logbook.book import kept, listed
from diagnose.logbook.exchange import LineReader, take
from diagnose.logbook.movers import back_up, picture, restore
from diagnose.logbook.places import where_of
from diagnose.logbook.store import LogError, open_log
from diagnose.prose.text import clean
from tests.harsh.flips import filled
from tests.harsh.mutate import mutated
from tests.harsh.readers import READERS, ROOT, models, read_knowledge_bytes, shipped

CASE: dict[str, Any] = {"case": 1, "answers": {"build": "bare_foam"}}
#: rounds of each reader in the suite; `DIAGNOSE_FUZZ` sets more
ROUNDS = {"case": 250, "yaml": 600, "knowledge": 40, "returned": 120, "log": 80}


@pytest.mark.parametrize("name", list(ROUNDS))
def test_changed_files_are_read_or_refused(name: str) -> None:
    """Seeded, from the files that the fuzzer begins with."""
    reader = READERS[name]
    seeds = list(reader.seeds())
    rounds = int(os.environ.get("DIAGNOSE_FUZZ", "0")) or ROUNDS[name]
    read = sum(reader.read(mutated(seeds[n % len(seeds)], n)) for n in range(rounds))
    assert 0 < read < rounds


@pytest.mark.parametrize("sign", ["\x85", "\u2028", "\u2029"])
@pytest.mark.parametrize("key", ["title", "x_note", "about"])
def test_a_line_end_of_unicode_is_not_turned_into_a_blank(sign: str, key: str) -> None:
    """Between single quotes YAML folds it; a case written and read again is the same case."""
    told: Any = {"remarks": f"it{sign}sank"} if key == "about" else f"it{sign}sank"
    case = case_from_bytes(json.dumps({**CASE, key: told}).encode(), "case.json", shipped())
    text = case_text(case, shipped())
    again = case_from_bytes(text.encode(), "case.yaml", shipped())
    assert case_text(again, shipped()) == text
    assert (again.title, again.about, again.extra) == (case.title, case.about, case.extra)


def test_such_a_line_end_in_another_programs_bare_text_is_kept() -> None:
    """Where it stood without quotes."""
    data = "case: 1\nanswers: {build: bare_foam}\nx_opening: [bu\u2028 painted, symptoms]\n".encode()
    text = case_text(case_from_bytes(data, "case.yaml", shipped()), shipped())
    assert case_text(case_from_bytes(text.encode(), "case.yaml", shipped()), shipped()) == text


@pytest.mark.parametrize("key", ["title", "about"])
def test_a_zero_character_is_refused(key: str) -> None:
    """It would end a name of a file, a cell of a table and a text of PostgreSQL."""
    told: Any = {"photos": ["a\0.jpg"]} if key == "about" else "a\0b"
    with pytest.raises(FileFaults, match="holds a zero character, expected plain text"):
        case_from_bytes(json.dumps({**CASE, key: told}).encode(), "case.yaml", shipped())


@pytest.mark.parametrize("text", ["&{} x", "*{}", "!{} x"])
def test_a_long_anchor_alias_or_tag_is_quoted_short(text: str) -> None:
    """The refusal stays a line that can be read."""
    node, faults = read_node(text.format("a" * 5000), "a.yaml")
    assert node is None
    assert len(str(faults[0])) < 300


def test_what_unicode_does_not_know_is_shown_as_missing() -> None:
    """So that everything that is printed can be printed."""
    assert clean("a\uffffb") == "a\ufffdb"
    assert clean("a\uffffb").isprintable()


@pytest.mark.parametrize(
    ("change", "message"),
    [
        (
            {"said": {"knowledge": "k", "causes": [{"id": "\ud800", "probability": 0.5}]}},
            "said: expected the knowledge",
        ),
        ({"said": {"knowledge": "k", "causes": [{"id": "a", "probability": 10**400}]}}, "said: expected the knowledge"),
        ({"said": {"knowledge": "k" * 300, "causes": []}}, "said: expected the knowledge"),
        (
            {"outcome": {"causes": ["mold_cold"], "how": "fixed", "next": "good", "cost": 10**400}},
            "cost: expected an amount",
        ),
        (
            {"outcome": {"causes": ["mold_cold"], "how": "fixed", "next": "good", "cost": 1e308}},
            "cost: expected an amount",
        ),
    ],
)
def test_an_imported_line_with_an_impossible_number_or_text_is_refused(change: dict[str, Any], message: str) -> None:
    """With its line; it is no error of the program, and costs can always be added up."""
    reader = LineReader("export.jsonl", models())
    line = json.dumps(
        {"log": 1, "case": {**CASE, "answers": {"build": "bare_foam", "symptoms": ["thin_skin"]}}, **change}
    )
    assert list(reader.read([line.encode()])) == []
    assert message in str(reader.faults[0])


def test_a_backup_of_no_log_does_not_take_the_place_of_one(tmp_path: Path) -> None:
    """The log is gone, or its name was misspelt: the old backup stays."""
    old = tmp_path / "backup.db"
    old.write_bytes(b"the last good one")
    store = open_log(where_of(str(tmp_path / "log.db")))
    with pytest.raises(InputError, match="there is no log yet, so nothing to back up"):
        back_up(store, old)
    store.close()
    assert old.read_bytes() == b"the last good one"


def test_an_empty_name_of_a_shop_file_is_none(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """`DIAGNOSE_SHOP=` is as good as unset."""
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    monkeypatch.setenv("DIAGNOSE_SHOP", "")
    assert files_in_use(str(ROOT / "knowledge"))


def test_a_copy_of_a_case_by_hand_is_whole_or_none(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A copy that was cut short would be taken for the whole one ever after."""
    path = tmp_path / "hand.yaml"
    path.write_text("# by hand\ncase: 1\nanswers: {build: bare_foam}\n")
    draft, _ = Draft.of(path, shipped())

    def fail(handle: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("diagnose.files.os.fsync", fail)
    with pytest.raises(OSError, match="No space left"):
        draft.keep_copy()
    assert [each.name for each in tmp_path.iterdir()] == ["hand.yaml"]


def test_without_atheris_the_fuzzer_says_what_it_wants() -> None:
    """One line, whatever else is installed."""
    words = "import sys; sys.modules['atheris'] = None; sys.argv[1:] = ['case']; from tests.harsh.fuzz import main; sys.exit(main())"
    done = subprocess.run([sys.executable, "-c", words], capture_output=True, text=True, check=False, cwd=ROOT)
    assert done.returncode == 2
    assert done.stderr == "fuzzing needs atheris, expected the extra: pip install -e '.[fuzz]'\n"


def test_a_case_of_the_log_that_is_not_as_it_was_kept_is_named(tmp_path: Path) -> None:
    """A letter turned inside a text: the database sees nothing, the digest does."""
    path = tmp_path / "log.db"
    store = open_log(where_of(str(path)), write=True)
    line = json.dumps({"log": 1, "id": "x7k2m", "case": {**CASE, "title": "Owl mask"}, "good": True}).encode()
    with store.writing() as connection:
        take(connection, LineReader("x", models()).read([line]))
        connection.exec_driver_sql("UPDATE documents SET case_json = replace(case_json, 'Owl', 'Awl')")
    with pytest.raises(LogError, match="the log is damaged: case x7k2m is not as it was kept; a backup comes back by"):
        kept(store, "x7k2m")
    store.close()


def test_a_photo_of_the_log_that_is_not_as_it_was_kept_is_not_shown(tmp_path: Path) -> None:
    """Its name in the log is the digest of its bytes."""
    store = open_log(where_of(str(tmp_path / "log.db")), write=True)
    with store.writing() as connection:
        row = {"digest": "0" * 64, "width": 1, "height": 1, "data": b"turned"}
        connection.execute(schema.photos.insert(), [row])
    with pytest.raises(LogError, match="a photo is not as it was kept"):
        picture(store, "0" * 64)
    store.close()


def test_a_text_of_the_log_that_is_none_is_told_as_damage(tmp_path: Path) -> None:
    """The driver's own words for it hold what stands in the file, and would steer the terminal."""
    path = tmp_path / "log.db"
    filled(path)
    with closing(sqlite3.connect(path)) as raw, raw:
        raw.execute("UPDATE cases SET title = CAST(x'1b5b324aff' AS TEXT)")
    store = open_log(where_of(str(path)))
    with pytest.raises(LogError, match=r"log\.db: is damaged or no log; it was left as it was, a backup comes back by"):
        listed(store)
    store.close()


@pytest.mark.parametrize("name", ["house#2.db", "what?.db", "a%20b.db"])
def test_signs_of_an_address_in_a_name_are_only_letters(tmp_path: Path, name: str) -> None:
    """Neither the backup nor the log that is set aside is looked for under another name, where an empty one would be made."""
    folder = tmp_path / name
    folder.mkdir()
    cases = filled(folder / "log.db")
    store = open_log(where_of(str(folder / "log.db")))
    back_up(store, folder / name)
    store.close()
    aside = restore(folder / name, where_of(str(folder / "log.db")))
    assert aside is not None
    for path in (folder / "log.db", aside):
        store = open_log(where_of(str(path)))
        assert {case.id for case in listed(store)} == set(cases)
        store.close()
    assert [path.name for path in tmp_path.iterdir()] == [name]


# -- the knowledge -------------------------------------------------------------------------------------------------

SMALL = (ROOT / "tests" / "knowledge" / "small" / "trade.yaml").read_text(encoding="utf-8")
WORDS = (ROOT / "knowledge" / "words.yaml").read_text(encoding="utf-8")


def refusals(small: str = SMALL, words: str = WORDS, shop: str = "") -> list[str]:
    """What is said of a small trade, its words and a shop's own file."""
    files = [SourceFile("trade.yaml", small.encode(), "k"), SourceFile("words.yaml", words.encode(), "k")]
    with pytest.raises(FileFaults) as caught:
        compile_files([*files, *([SourceFile("shop.yaml", shop.encode(), shop=True)] if shop else [])])
    return [str(fault) for fault in caught.value.faults]


def test_a_shops_costs_do_not_stand_for_the_trades() -> None:
    """Where the trade's table is missing, one cost of the shop's own would have been all of them."""
    words = "\n".join(WORDS.split("  costs:\n")[0].splitlines())
    shop = "words: {costs: {values: {another bad part: 220}}}\n"
    assert refusals(words=words, shop=shop) == ["k/trade.yaml: words.costs: the table is missing from all files"]


def test_a_quantity_beyond_all_sense_is_refused() -> None:
    """Two of them on one curve made numbers that are none."""
    small = SMALL.replace(
        "face_temperature: {10 degC: strong for, 20 degC: neutral, 30 degC: against}",
        "face_temperature: {-1e308: strong for, 1e308: against}",
    )
    assert "'-1e308' is out of all range, expected at most 1e+12" in refusals(small)[0]
    assert read_knowledge_bytes(b"trade\n" + SMALL.replace("12 degC: occ", "-1e308 degC: occ").encode()) is False


def test_words_that_are_long_are_told_short() -> None:
    """A refusal that lists a table of words stays a line that can be read."""
    long = ", ".join(f"{letter * 900}: 0.3" for letter in "xyz")
    words = WORDS.replace("always: 0.95,", f"always: 0.95, {long},", 1)
    told = refusals(SMALL.replace("soft_face: usually", "soft_face: ususally"), words)
    assert max(map(len, told)) < 700


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("unknown", "the id is taken by the program: 'unknown' is no answer"),
        ("Holed", "expected an id of small letters, digits and underscores"),
        ('"\\e[2J"', "expected an id of small letters, digits and underscores"),
    ],
)
def test_the_id_of_an_answer_is_an_id(name: str, said: str) -> None:
    """`unknown` could never be answered, and what steers a terminal would stand in every listing."""
    choice = refusals(SMALL.replace("new_lot: {title", f"{name}: {{title").replace("{new_lot:", f"{{{name}:"))
    assert any(said in line and "facts.changed.choices." in line for line in choice), choice
    result = SMALL.replace("{id: holed", f"{{id: {name}").replace("{holed:", f"{{{name}:")
    assert any(said in line and "checks.cup.results." in line for line in refusals(result))
