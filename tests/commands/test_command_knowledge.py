"""`diagnose knowledge`: the ids, the check of a folder, and the schema."""

from __future__ import annotations

import json
import shutil
import subprocess
from collections.abc import Callable
from pathlib import Path

import pytest

Run = Callable[..., "subprocess.CompletedProcess[str]"]
ROOT = Path(__file__).parents[2]


def test_ids_of_all_entries(run: Run) -> None:
    """One object with the sorted ids of each kind; a derived fact is none that can be answered."""
    done = run("knowledge", "--json")
    assert (done.returncode, done.stderr) == (0, "")
    ids = json.loads(done.stdout)
    assert list(ids) == ["version", "symptoms", "facts", "checks", "causes", "remedies", "sources"]
    assert ids["version"] == 1
    assert all(names == sorted(set(names)) and names for kind, names in ids.items() if kind != "version")
    assert "mold_cold" in ids["causes"]
    assert "ratio_error" not in ids["facts"]


def test_ids_of_another_folder(run: Run, small: Path) -> None:
    """`--knowledge` lists what that folder holds."""
    ids = json.loads(run("knowledge", "--json", "--knowledge", small).stdout)
    assert ids["causes"] == ["coat_dry", "face_cold", "face_hot", "old_cans", "paint_early"]
    assert ids["sources"] == ["small_book"]


def test_without_json_it_is_counted_for_a_reader(run: Run, small: Path) -> None:
    """A line for each kind."""
    assert (
        run("knowledge", "--knowledge", small).stdout
        == "symptoms: 4\nfacts: 7\nchecks: 3\ncauses: 5\nremedies: 4\nsources: 1\n"
    )


def test_the_shipped_knowledge_is_in_order(run: Run) -> None:
    """The check of the shipped files exits with nought."""
    done = run("knowledge", "check")
    assert done.returncode == 0
    assert done.stdout.startswith("all in order: ")
    assert all(line.startswith("warning: knowledge/") for line in done.stderr.splitlines())


def test_every_error_is_a_line_on_standard_error(run: Run, small: Path, tmp_path: Path) -> None:
    """Exit status 2, all the faults, a line each, and nothing on standard output."""
    folder = tmp_path / "shop"
    shutil.copytree(small, folder)
    path = folder / "trade.yaml"
    text = path.read_text(encoding="utf-8")
    path.write_text(
        text.replace("    base: occasional", "    base: ocasional").replace("    minutes: 10\n", "    minuts: 10\n"),
        encoding="utf-8",
    )
    done = run("knowledge", "check", folder)
    assert (done.returncode, done.stdout) == (2, "")
    at = [
        text[: text.index(piece)].count("\n") + 1
        for piece in ("    base: occasional", "  warm_it:", "    minutes: 10\n")
    ]
    assert done.stderr.splitlines() == [
        f"{path}:{at[0]}: causes.face_hot.base: 'ocasional', "
        f"expected a word for share: very common, common, occasional, rare, very rare, nearest is 'occasional'",
        f"{path}:{at[1]}: remedies.warm_it: 'minutes' is missing",
        f"{path}:{at[2]}: remedies.warm_it.minuts: unknown key, nearest is 'minutes'",
    ]


def test_a_case_read_with_broken_knowledge_tells_twenty_faults(run: Run, small: Path, tmp_path: Path) -> None:
    """`read` tells every fault of the knowledge, a line each, and after twenty how many more there are."""
    folder = tmp_path / "shop"
    shutil.copytree(small, folder)
    path = folder / "trade.yaml"
    text = path.read_text(encoding="utf-8")
    for spoilt, lines in (
        (
            text.replace("    base: occasional", "    base: ocasional").replace(
                "    minutes: 10\n", "    minuts: 10\n"
            ),
            3,
        ),
        (text.replace("    minutes: ", "    minuts: "), 21),
    ):
        path.write_text(spoilt, encoding="utf-8")
        done = run("read", "--json", "--knowledge", folder, ROOT / "tests" / "cases" / "tusks-in-march.yaml")
        assert (done.returncode, done.stdout) == (2, "")
        assert len(done.stderr.splitlines()) == lines
    assert done.stderr.splitlines()[-1] == f"(and {2 * text.count('    minutes: ') - 20} more)"


def test_the_check_reads_the_shops_own_file(run: Run, small: Path, tmp_path: Path) -> None:
    """A shop's file that every other command refuses is not called in order."""
    shop = tmp_path / "shop.yaml"
    shop.write_text("materials: {ours: {title: Ours}}\n", encoding="utf-8")
    done = run("knowledge", "check", small, env={"DIAGNOSE_SHOP": str(shop)})
    assert (done.returncode, done.stdout) == (2, "")
    assert f"{shop}:1: materials.ours: 'kind' is missing" in done.stderr.splitlines()


def test_a_warning_says_what_to_change(run: Run, small: Path, tmp_path: Path) -> None:
    """Scaled ratios come with the one word that would mend them, and it does."""
    folder = tmp_path / "shop"
    shutil.copytree(small, folder)
    path = folder / "trade.yaml"
    text = path.read_text(encoding="utf-8")
    path.write_text(
        text.replace("      paint_wait: {1 h", "      painted: {yes: for, no: against}\n      paint_wait: {1 h")
    )
    (line,) = [line for line in run("knowledge", "check", folder).stderr.splitlines() if "facts.painted" in line]
    assert line.endswith("; 'yes: slightly for' makes it 1.12, or make the answers that speak for the cause rarer")
    path.write_text(
        path.read_text(encoding="utf-8").replace("{yes: for, no: against}", "{yes: slightly for, no: against}")
    )
    assert "facts.painted" not in run("knowledge", "check", folder).stderr


def test_an_entry_is_shown_with_its_links_and_their_reasons(run: Run, small: Path) -> None:
    """What it is, why, what it leads to and what leads to it, how strongly in words, the mechanism of each, what mends it."""
    done = run("knowledge", "show", "face_cold", "--json", "--knowledge", small)
    (entry,) = json.loads(done.stdout)["entries"]
    assert (entry["kind"], entry["id"], entry["title"]) == ("cause", "face_cold", "Face too cold")
    assert entry["texts"]["why"] == ["A cold wall takes the heat of the outer foam, so it sets late and weak."]
    assert entry["links"]["shows as"] == [
        {
            "kind": "symptom",
            "id": "soft_face",
            "title": "Face soft, inside firm",
            "word": "usually",
            "why": "the outer foam sets late and stays weak",
        }
    ]
    assert {link["answer"]: link["word"] for link in entry["links"]["told by"]} == {
        "10 degC": "for",
        "20 degC": "neutral",
        "30 degC": "slightly against",
        "season": "for",
    }
    assert [link["id"] for link in entry["links"]["mended by"]] == ["warm_it"]
    assert entry["sources"] == ["common practice, no source"]
    text = run("knowledge", "show", "face_cold", "--knowledge", small).stdout
    assert "Face soft, inside firm - usually, the outer foam sets late and stays weak [soft_face]" in text


def test_every_entry_and_every_sum_can_be_shown(run: Run) -> None:
    """Nothing that the list names fails, and each says more than its name."""
    from diagnose.commands.knowledge import _found, _lines
    from diagnose.knowledge import load_knowledge

    tables = json.loads(run("knowledge", "list", "--json").stdout)
    knowledge = load_knowledge()
    assert {"symptoms", "causes", "checks", "facts", "remedies", "sources", "sums"} <= tables.keys()
    for kind, table in tables.items():
        for name in table if kind != "version" else ():
            entries, _ = _found(knowledge, name)
            assert entries[0].id == name
            assert len(_lines(entries[0])) > 4


def test_every_mechanism_is_shown(run: Run) -> None:
    """Each reason that the reader demands is printed with its cause."""
    from diagnose.commands.knowledge import _found
    from diagnose.knowledge import load_knowledge

    knowledge = load_knowledge()
    for cause in knowledge.causes.values():
        ((entry,), _) = _found(knowledge, cause.id)
        shown = {link.why for links in entry.links.values() for link in links}
        wanted = [*cause.symptoms.values(), *(link for links in cause.checks.values() for link in links.values())]
        assert {link.why for link in wanted} <= shown


def test_every_text_that_a_caster_wrote_is_shown() -> None:
    """Help, mechanism and sources of a cause, help of a material, and all of a source are printed, not only demanded and kept."""
    from diagnose.commands.knowledge import _found, _lines
    from diagnose.knowledge import load_knowledge

    def printed(name: str) -> str:
        entries, _ = _found(knowledge, name)
        return " ".join(" ".join(line for entry in entries for line in _lines(entry)).split())

    knowledge = load_knowledge()
    wanted = [(c.id, text) for c in knowledge.causes.values() for text in (c.help, c.mechanism)]
    wanted += [(m.id, m.help) for m in knowledge.materials.values()]
    wanted += [(s.id, text) for s in knowledge.sources.values() for text in (s.title, s.about, s.seen)]
    for name, text in wanted:
        assert " ".join(text.split()) in printed(name), name
    for cause in knowledge.causes.values():
        for source in set(cause.sources) & set(knowledge.sources):
            assert source in printed(cause.id) or knowledge.sources[source].title in printed(cause.id), cause.id


@pytest.mark.parametrize(
    ("words", "first"),
    [
        (["old", "cans"], "Cans too old (cause old_cans)"),
        (["too", "dry"], "Skin coat too dry (cause coat_dry)"),
        (["the", "skin", "comes", "off"], "Skin coat lifts off (symptom coat_lifts)"),
        (["dew-point"], "Will the mold sweat? (sum dew-point)"),
    ],
)
def test_a_few_letters_or_a_callers_words_will_do(run: Run, small: Path, words: list[str], first: str) -> None:
    """Where they fit one entry it is shown; a caller's words show the symptom heard."""
    done = run("knowledge", "show", *words, "--knowledge", small)
    assert done.stdout.splitlines()[0].startswith(first)


def test_where_letters_fit_several_they_are_offered(run: Run, small: Path) -> None:
    """Ids, kinds and names; nothing that fits is exit status 2 with the nearest id."""
    done = run("knowledge", "show", "face", "--knowledge", small)
    assert done.stdout.startswith("'face' fits several:\n  soft_face (symptoms): Face soft, inside firm\n")
    done = run("knowledge", "show", "fase_cold", "--knowledge", small)
    assert (done.returncode, done.stdout) == (2, "")
    assert "nothing is known of 'fase_cold', nearest is 'face_cold'" in done.stderr


def test_the_list_of_a_kind(run: Run, small: Path) -> None:
    """Ids with their names, sorted; an unknown kind is told with the nearest."""
    done = run("knowledge", "list", "remedies", "--knowledge", small)
    assert done.stdout.splitlines()[:2] == ["remedies:", "  foam_in_time: Foam while the coat still grabs"]
    assert "nearest is 'remedies'" in run("knowledge", "list", "remedys", "--knowledge", small).stderr


def test_the_folder_of_the_environment_is_named_in_messages(run: Run, tmp_path: Path) -> None:
    """DIAGNOSE_KNOWLEDGE is read where no folder is given, and faults are told with its name."""
    (tmp_path / "x.yaml").write_text("symptom: {}\n")
    done = run("knowledge", "check", env={"DIAGNOSE_KNOWLEDGE": str(tmp_path)})
    assert done.returncode == 2
    assert f"{tmp_path}/x.yaml: words.likelihood: the table is missing from all files" in done.stderr.splitlines()


def test_the_schema_is_json(run: Run) -> None:
    """An editor can read the schema as it is printed."""
    done = run("knowledge", "schema")
    assert (done.returncode, done.stderr) == (0, "")
    assert json.loads(done.stdout)["$schema"] == "https://json-schema.org/draft/2020-12/schema"
