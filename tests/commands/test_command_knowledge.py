"""`diagnose knowledge`: the ids, the check of a folder, and the schema."""

from __future__ import annotations

import json
import shutil
import subprocess
from collections.abc import Callable
from pathlib import Path

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


def test_a_case_read_with_broken_knowledge_is_one_line(run: Run, small: Path, tmp_path: Path) -> None:
    """`read` tells the first fault of the knowledge and how many more there are."""
    folder = tmp_path / "shop"
    shutil.copytree(small, folder)
    path = folder / "trade.yaml"
    path.write_text(
        path.read_text(encoding="utf-8")
        .replace("    base: occasional", "    base: ocasional")
        .replace("    minutes: 10\n", "    minuts: 10\n"),
        encoding="utf-8",
    )
    done = run("read", "--json", "--knowledge", folder, ROOT / "tests" / "cases" / "tusks-in-march.yaml")
    assert (done.returncode, done.stdout) == (2, "")
    assert len(done.stderr.splitlines()) == 1
    assert done.stderr.endswith(" (and 2 more)\n")


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
