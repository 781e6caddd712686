"""In and out: the same lines both ways, every wrong line named, nobody named who shouldn't be."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest
from shop import Shop

from diagnose.assessment.consultation import ModelCache
from diagnose.errors import FileFaults
from diagnose.knowledge import Knowledge
from diagnose.logbook.book import add, close, counted, kept, listed, put_in
from diagnose.logbook.entry import Outcome
from diagnose.logbook.exchange import export_lines, export_table, import_file
from diagnose.logbook.movers import back_up, merge, restore
from diagnose.logbook.places import where_of
from diagnose.logbook.store import Store, open_log

LINE: dict[str, Any] = {
    "log": 1,
    "id": "x7k2m",
    "case": {
        "case": 1,
        "title": "Owl for the Lindqvist film",
        "answers": {"build": "bare_foam", "painted": "no", "symptoms": ["thin_skin"], "mold_temperature": "52 degF"},
        "about": {
            "date": "2026-03-01",
            "part": "owl",
            "mold": "owl 2",
            "person": "Ragnhild",
            "client": "northlight",
            "remarks": "Ragnhild says it was cold",
            "photos": ["ragnhild.jpg"],
        },
    },
    "good": False,
    "outcome": {
        "causes": ["mold_cold"],
        "how": "fixed",
        "next": "good",
        "remedies": [],
        "cost": 120.0,
        "date": "2026-03-02",
    },
}


def written(tmp_path: Path, *lines: Mapping[str, Any] | str) -> Path:
    path = tmp_path / "lines.jsonl"
    texts = [line if isinstance(line, str) else json.dumps(line) for line in lines]
    path.write_text("\n".join(texts) + "\n", encoding="utf-8")
    return path


def exported(store: Store, anonymous: bool = False, client: str | None = None) -> str:
    out = io.StringIO()
    export_lines(store, out, anonymous, client)
    return out.getvalue()


def test_a_line_comes_out_as_it_went_in(store: Store, models: ModelCache, tmp_path: Path) -> None:
    """Id, case, outcome and day are kept; what the knowledge says of it is added once."""
    taken = import_file(store, written(tmp_path, LINE), models)
    assert (taken.added, taken.already, taken.renamed) == (1, 0, {})
    line = json.loads(exported(store))
    assert {key: line[key] for key in LINE} == LINE
    assert len(line["said"]["causes"]) == 5


def test_export_then_import_gives_the_same_export(
    store: Store, models: ModelCache, knowledge: Knowledge, tmp_path: Path
) -> None:
    """A whole shop with outcomes, corrections and good parts; byte for byte."""
    shop = open_log(where_of(str(tmp_path / "shop.db")), write=True)
    with shop.writing() as connection:
        put_in(connection, list(Shop(knowledge).parts(60)))
    (tmp_path / "shop.jsonl").write_text(exported(shop), encoding="utf-8")
    shop.close()
    assert import_file(store, tmp_path / "shop.jsonl", models).added == 60
    bad = next(case.id for case in listed(store) if case.state == "closed")
    close(store, bad, Outcome(("a_rich",), "looked", "bad", ("warm_the_mold",), 12.5, "2027-01-01"))
    first = exported(store)
    assert '"earlier"' in first
    (tmp_path / "first.jsonl").write_text(first, encoding="utf-8")
    other = open_log(where_of(str(tmp_path / "other.db")), write=True)
    assert import_file(other, tmp_path / "first.jsonl", models).added == 60
    assert exported(other) == first
    assert import_file(other, tmp_path / "first.jsonl", models).already == 60
    assert exported(other) == first
    other.close()


def test_another_case_under_a_taken_id_gets_a_new_one(store: Store, models: ModelCache, tmp_path: Path) -> None:
    """It is said which; and it is known again under its old id."""
    other = {**LINE, "case": {**LINE["case"], "title": "Another owl"}}
    import_file(store, written(tmp_path, LINE), models)
    taken = import_file(store, written(tmp_path, other), models)
    assert list(taken.renamed) == ["x7k2m"]
    assert kept(store, taken.renamed["x7k2m"]).case["title"] == "Another owl"
    again = import_file(store, written(tmp_path, other), models)
    assert (again.added, again.already) == (0, 1)


def test_an_outcome_that_comes_later_closes_the_case(store: Store, models: ModelCache, tmp_path: Path) -> None:
    """The same case comes again with its outcome."""
    waiting = {key: value for key, value in LINE.items() if key != "outcome"}
    import_file(store, written(tmp_path, waiting), models)
    assert counted(store)["open"] == 1
    taken = import_file(store, written(tmp_path, LINE), models)
    assert (taken.added, taken.already, taken.closed) == (0, 1, 1)
    assert counted(store)["closed"] == 1


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ("{", "is no JSON"),
        ("[1]", "expected a JSON object, a case a line"),
        ('{"log": 1, "log": 1}', "a key stands twice"),
        ('{"log": NaN}', "NaN is no number"),
        ({"log": 2}, "log: expected 1"),
        ({"log": True}, "log: expected 1"),
        ({"extra": 1}, "extra: unknown key, expected one of log, id, case, good, outcome, earlier, said"),
        ({"case": None}, "case: expected a case as in a case file"),
        ({"good": "yes"}, "good: expected true or false"),
        ({"good": True}, "a good part, yet thin_skin is seen on it"),
        ({"id": "../etc"}, "id: expected letters and digits"),
        (
            {"case": {"case": 1, "answers": {"mold_temperature": "61 lb"}}},
            "mold_temperature: '61 lb' is a mass, expected a temperature",
        ),
        ({"case": {"case": 1, "answers": {}, "about": {"date": "May"}}}, "about.date: 'May' is no day"),
        ({"outcome": {"causes": [], "how": "fixed", "next": "good"}}, "expected at least one cause"),
        (
            {"outcome": {"causes": ["mold_cold"], "how": "fixed", "next": "good", "cost": -1}},
            "cost: expected an amount of 0 or more",
        ),
        (
            {"outcome": {"causes": "mold_cold", "how": "fixed", "next": "good"}},
            "outcome.causes: expected a list of ids",
        ),
        ({"outcome": 7}, "outcome: expected causes, how and next"),
        ({"said": {"causes": [{"id": "mold_cold", "probability": 3}]}}, "said: expected the knowledge and causes"),
    ],
)
def test_a_line_that_can_not_be_used_is_refused_with_its_number(
    change: Any, message: str, file_store: Store, models: ModelCache, tmp_path: Path
) -> None:
    """Nothing goes in; with partial the others do."""
    bad = change if isinstance(change, str) else {**LINE, "id": "y", **change}
    path = written(tmp_path, LINE, bad)
    with pytest.raises(FileFaults) as refused:
        import_file(file_store, path, models)
    assert str(refused.value).startswith(f"{path}:2: ")
    assert message in str(refused.value)
    assert counted(file_store) == {"open": 0, "closed": 0, "good": 0}
    taken = import_file(file_store, path, models, partial=True)
    assert (taken.added, taken.refused_count) == (1, 1)


def test_an_id_twice_in_one_file_is_refused(file_store: Store, models: ModelCache, tmp_path: Path) -> None:
    """Which of the two would it be?"""
    with pytest.raises(FileFaults, match="'x7k2m' stands already on line 1"):
        import_file(file_store, written(tmp_path, LINE, {**LINE, "good": False}), models)


def test_a_refused_line_takes_no_id_from_a_good_one(file_store: Store, models: ModelCache, tmp_path: Path) -> None:
    """One fault is told, and with partial the good line goes in under its id."""
    path = written(tmp_path, {**LINE, "case": None}, LINE)
    with pytest.raises(FileFaults) as refused:
        import_file(file_store, path, models)
    assert len(str(refused.value).splitlines()) == 1
    taken = import_file(file_store, path, models, partial=True)
    assert (taken.added, taken.refused_count) == (1, 1)


def test_an_anonymous_export_names_nobody(store: Store, models: ModelCache, tmp_path: Path) -> None:
    """No person, client, title, photo or free text; molds keep a number, so that what they teach is kept."""
    import_file(store, written(tmp_path, LINE), models)
    text = exported(store, anonymous=True)
    for word in ("Ragnhild", "ragnhild", "northlight", "Lindqvist", "Owl", '"owl', "was cold"):
        assert word not in text
    line = json.loads(text)
    assert line["case"]["about"] == {"date": "2026-03-01", "part": "part 1", "mold": "mold 1"}
    assert line["outcome"] == LINE["outcome"]
    assert "id" in line
    other = open_log(where_of(str(tmp_path / "other.db")), write=True)
    assert import_file(other, written(tmp_path, text.strip()), models).added == 1
    other.close()


def test_an_anonymous_export_takes_out_all_that_is_free_text(
    file_store: Store, models: ModelCache, knowledge: Knowledge, tmp_path: Path
) -> None:
    """Ids that others gave, keys of other programs, the photos' names, in lines and in the table; corrected outcomes come along."""
    about = {**LINE["case"]["about"], "lot_a": "Ragnhild's drum", "lot_b": "B for northlight"}
    named = {
        **LINE,
        "id": "northlight-7",
        "case": {**LINE["case"], "about": about, "x_desk": {"caller": "Ragnhild"}},
        "earlier": [{**LINE["outcome"], "causes": ["material_cold"]}],
    }
    second = {**LINE, "id": "Ragnhild2", "case": {**LINE["case"], "about": {**about, "client": "southgate"}}}
    import_file(file_store, written(tmp_path, named, second), models)
    table = io.StringIO()
    assert export_table(file_store, table, knowledge, anonymous=True) == 2
    for text in (exported(file_store, anonymous=True), table.getvalue()):
        for word in ("Ragnhild", "ragnhild", "northlight", "southgate", "Lindqvist", "Owl", "was cold", "x_desk"):
            assert word not in text
    first, other = map(json.loads, exported(file_store, anonymous=True).splitlines())
    assert (first["id"], other["id"]) == ("case-1", "case-2")
    assert (first["case"]["about"]["mold"], other["case"]["about"]["mold"]) == ("mold 1", "mold 2"), "each client's own"
    assert first["case"]["about"]["lot_a"] == other["case"]["about"]["lot_a"] == "lot 1", "a drum is a drum"
    assert first["earlier"][0]["causes"] == ["material_cold"]


def test_an_export_for_one_client_holds_only_theirs(store: Store, models: ModelCache, tmp_path: Path) -> None:
    """One client never sees another's."""
    other = {**LINE, "id": "abc", "case": {**LINE["case"], "about": {"client": "southgate", "mold": "hawk"}}}
    import_file(store, written(tmp_path, LINE, other), models)
    text = exported(store, client="southgate")
    assert "southgate" in text
    assert "northlight" not in text
    assert len(text.splitlines()) == 1


def test_the_table_has_a_row_for_each_case_and_a_column_for_each_question(
    store: Store, models: ModelCache, knowledge: Knowledge, tmp_path: Path
) -> None:
    """And no cell that a spreadsheet would work out."""
    trap = {**LINE, "id": "trap", "case": {**LINE["case"], "title": '=HYPERLINK("http://x")'}}
    import_file(store, written(tmp_path, LINE, trap), models)
    out = io.StringIO()
    assert export_table(store, out, knowledge) == 2
    first, second = csv.DictReader(io.StringIO(out.getvalue()))
    assert (first["id"], first["state"], first["mold_temperature"], first["thin_skin"]) == (
        "x7k2m",
        "closed",
        "52 degF",
        "seen",
    )
    assert (first["causes"], first["cost"], first["closed"]) == ("mold_cold", "120", "2026-03-02")
    assert second["title"] == '\'=HYPERLINK("http://x")'
    assert {*knowledge.symptoms, *knowledge.checks} <= set(first)


def test_two_logs_are_merged_without_doubles(store: Store, knowledge: Knowledge, tmp_path: Path) -> None:
    """What is new comes over whole, ids that clash are given anew, and doing it again changes nothing."""
    parts = list(Shop(knowledge, seed=1).parts(20))
    with store.writing() as connection:
        put_in(connection, parts[:12])
    other = open_log(where_of(str(tmp_path / "other.db")), write=True)
    with other.writing() as connection:
        put_in(connection, list(Shop(knowledge, seed=2).parts(8)))
    taken = merge(store, other)
    assert taken.added == 8
    assert sum(counted(store).values()) == 20
    assert merge(store, other).already == 8
    assert sum(counted(store).values()) == 20
    whole, theirs = exported(store), [json.loads(line)["case"] for line in exported(other).splitlines()]
    assert [json.loads(line)["case"] for line in whole.splitlines()][12:] == theirs
    other.close()


def test_a_merge_closes_what_waits_here_and_is_closed_there(store: Store, models: ModelCache, tmp_path: Path) -> None:
    """The same case in both logs stays one; the outcome that came later holds, ours stays where it is the later."""
    waiting = {key: value for key, value in LINE.items() if key != "outcome"}
    import_file(store, written(tmp_path, waiting), models)
    other = open_log(where_of(str(tmp_path / "other.db")), write=True)
    import_file(other, written(tmp_path, LINE), models)
    taken = merge(store, other)
    assert (taken.added, taken.already, taken.closed) == (0, 1, 1)
    close(store, "x7k2m", Outcome(("a_rich",), "looked", "bad", date="2026-04-01"))
    assert merge(store, other).closed == 0
    assert kept(store, "x7k2m").outcomes[0].causes == ("a_rich",)
    assert sum(counted(store).values()) == 1
    other.close()


def test_a_backup_comes_back(store: Store, place: str, knowledge: Knowledge, tmp_path: Path) -> None:
    """A backup is a log by itself, whatever it came from, and takes the place of what is there."""
    with store.writing() as connection:
        put_in(connection, list(Shop(knowledge).parts(10)))
    before = exported(store)
    back_up(store, tmp_path / "backup.db")
    alone = open_log(where_of(str(tmp_path / "backup.db")))
    assert exported(alone) == before
    alone.close()
    add(store, next(Shop(knowledge, seed=3).parts(1)))
    assert exported(store) != before
    store.close()
    aside = restore(tmp_path / "backup.db", where_of(place))
    again = open_log(where_of(place))
    assert exported(again) == before
    again.close()
    if aside is not None:
        old = open_log(where_of(str(aside)))
        assert sum(counted(old).values()) == 11
        old.close()
