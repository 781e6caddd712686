"""The compiled knowledge is kept by its content: used when it fits, never when stale, broken or half-written, done without when unwritable."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from diagnose.errors import FileFaults
from diagnose.knowledge import cache, load_callers, load_knowledge, store
from diagnose.knowledge.files import SourceFile
from tests.patience import WAIT

ROOT = Path(__file__).parents[2]


@pytest.fixture
def folder(tmp_path: Path, words: str, trade: str, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A knowledge folder of the small trade and an empty cache."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    place = tmp_path / "shop"
    place.mkdir()
    (place / "words.yaml").write_text(words, encoding="utf-8")
    (place / "trade.yaml").write_text(trade, encoding="utf-8")
    return place


@pytest.fixture
def compilations(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The list of compilations made so far."""
    made: list[str] = []
    compile_and_keep = store.compile_and_keep

    def counted(files: list[SourceFile], key: str) -> Any:
        made.append(key)
        return compile_and_keep(files, key)

    monkeypatch.setattr(store, "compile_and_keep", counted)
    return made


def cache_file(tmp_path: Path, kind: str = "knowledge") -> Path:
    """The one cache file of a kind; nothing else lies in the folder than two of them."""
    folder = tmp_path / "cache" / "diagnose"
    assert len(list(folder.iterdir())) == 2
    (found,) = folder.glob(f"{kind}-*.json")
    return found


def test_the_second_start_uses_the_cache(folder: Path, compilations: list[str]) -> None:
    """Reading twice compiles once, and both give the same knowledge."""
    first, second = load_knowledge(str(folder)), load_knowledge(str(folder))
    assert len(compilations) == 1
    assert first == second


def test_a_changed_file_is_compiled_anew(folder: Path, compilations: list[str]) -> None:
    """One letter changed, with size and time as they were, and the cache does not fit; changed back, it fits again."""
    path = folder / "trade.yaml"
    old, times = path.read_text(encoding="utf-8"), path.stat()
    load_knowledge(str(folder))
    path.write_text(old.replace("Face too cold", "Face too COLD"), encoding="utf-8")
    os.utime(path, ns=(times.st_atime_ns, times.st_mtime_ns))
    assert load_knowledge(str(folder)).causes["face_cold"].title == "Face too COLD"
    path.write_text(old, encoding="utf-8")
    assert load_knowledge(str(folder)).causes["face_cold"].title == "Face too cold"
    assert len(compilations) == 2


def test_a_file_renamed_or_added_is_compiled_anew(folder: Path, compilations: list[str]) -> None:
    """The names of the files count as their content does."""
    load_knowledge(str(folder))
    (folder / "trade.yaml").rename(folder / "craft.yml")
    load_knowledge(str(folder))
    (folder / "more.yaml").write_text("sources:\n  second: {title: t, about: a, seen: all}\n", encoding="utf-8")
    assert "second" in load_knowledge(str(folder)).sources
    assert len(compilations) == 3


def test_another_program_does_not_trust_the_cache(
    folder: Path, compilations: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """A newer version of the program, or a changed reader in a checkout, compiles afresh."""
    load_knowledge(str(folder))
    monkeypatch.setattr("diagnose.__version__", "99.0")
    load_knowledge(str(folder))
    monkeypatch.setattr(cache, "_program_mark", lambda: "changed")
    load_knowledge(str(folder))
    assert len(compilations) == 3


def test_every_module_of_the_reader_marks_the_program() -> None:
    """A change of any module of the folder, the units among them, changes the mark."""
    mark = cache._program_mark()
    names = {path.name for path in Path(store.__file__).parent.glob("*.py")} | {"units.py"}
    assert {"kinds.py", "model.py", "graph.py", "yaml_reader.py"} <= names
    assert all(f"{name}:" in mark for name in names)


@pytest.mark.parametrize("broken", ["", "{", "half", "flipped", "[" * 100_000, "null\n{}"])
def test_a_broken_cache_is_ignored_and_mended(
    folder: Path, tmp_path: Path, compilations: list[str], broken: str
) -> None:
    """Empty, half-written, garbled or nested without end: it is read past, and the next start has a whole one."""
    whole = load_knowledge(str(folder))
    place = cache_file(tmp_path)
    data = place.read_bytes()
    if broken == "half":
        place.write_bytes(data[: len(data) // 2])
    elif broken == "flipped":
        place.write_bytes(data.replace(b"Face too cold", b"Face too bold"))
    else:
        place.write_text(broken)
    assert load_knowledge(str(folder)) == whole
    assert load_knowledge(str(folder)) == whole
    assert len(compilations) == 2
    assert place.read_bytes() == data


def test_it_is_done_without_where_it_cannot_be_written(
    folder: Path, tmp_path: Path, compilations: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """A file where the folder should be: the knowledge is read all the same, and nothing is left behind."""
    (tmp_path / "a_file").write_text("not a folder")
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "a_file"))
    assert load_knowledge(str(folder)).causes
    assert load_knowledge(str(folder)).causes
    assert len(compilations) == 2
    assert (tmp_path / "a_file").read_text() == "not a folder"


def test_a_full_disk_leaves_no_half_file(folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the move into place fails, the file beside it is taken away."""

    def no_room(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("diagnose.files.os.replace", no_room)
    assert load_knowledge(str(folder)).causes
    assert list((tmp_path / "cache" / "diagnose").iterdir()) == []


def test_old_caches_are_cleared(folder: Path, tmp_path: Path) -> None:
    """Only the newest few of each kind are kept."""
    path = folder / "trade.yaml"
    text = path.read_text(encoding="utf-8")
    for number in range(8):
        path.write_text(text.replace("Face too cold", f"Face too cold {number}"), encoding="utf-8")
        load_knowledge(str(folder))
    for kind in ("knowledge", "callers"):
        assert len(list((tmp_path / "cache" / "diagnose").glob(f"{kind}-*.json"))) == 5


def test_many_writers_at_once_leave_one_whole_cache(folder: Path, tmp_path: Path) -> None:
    """Six processes that start together all read the same knowledge, and what they leave is whole."""
    code = "import sys; from diagnose.knowledge import load_knowledge; k = load_knowledge(sys.argv[1]); print(k.cache_key, len(k.causes))"
    children = [
        subprocess.Popen([sys.executable, "-c", code, str(folder)], stdout=subprocess.PIPE, cwd=ROOT, text=True)
        for _ in range(6)
    ]
    said = {child.communicate(timeout=WAIT)[0] for child in children}
    assert [child.returncode for child in children] == [0] * 6
    assert len(said) == 1
    head, body = cache_file(tmp_path).read_bytes().split(b"\n", 1)
    assert head.decode().split()[0] in said.pop()
    assert json.loads(body)["causes"]


def test_faults_are_told_whatever_the_cache_holds(folder: Path) -> None:
    """A file broken after a good start is refused with its faults, not covered by what was kept."""
    from diagnose.errors import FileFaults

    load_knowledge(str(folder))
    path = folder / "trade.yaml"
    path.write_text(
        path.read_text(encoding="utf-8").replace("    base: occasional", "    base: ocasional"), encoding="utf-8"
    )
    with pytest.raises(FileFaults) as caught:
        load_knowledge(str(folder))
    assert str(caught.value).startswith(f"{folder}/trade.yaml:")


def test_where_the_knowledge_is_looked_for(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The folder given, else DIAGNOSE_KNOWLEDGE, else the shipped one; a folder that isn't there or holds nothing is told."""
    from diagnose.errors import FileFaults, InputError
    from diagnose.knowledge import knowledge_root

    monkeypatch.setenv("DIAGNOSE_KNOWLEDGE", str(tmp_path / "env"))
    assert knowledge_root(str(tmp_path / "given")) == tmp_path / "given"
    assert knowledge_root() == tmp_path / "env"
    with pytest.raises(FileFaults, match=r"env: no such folder, expected a folder of knowledge files$"):
        load_knowledge()
    with pytest.raises(FileFaults, match=r": holds no \.yaml file, expected knowledge files$"):
        load_knowledge(str(tmp_path))
    monkeypatch.delenv("DIAGNOSE_KNOWLEDGE")
    assert (knowledge_root() / "words.yaml").is_file()
    monkeypatch.setattr("diagnose.__file__", str(tmp_path / "x" / "__init__.py"))
    with pytest.raises(
        InputError,
        match=r"no knowledge folder found, tried --knowledge or DIAGNOSE_KNOWLEDGE \(not given\), .*knowledge",
    ):
        knowledge_root()


def test_a_shop_sets_its_own_costs_and_materials(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The file that DIAGNOSE_SHOP names adds materials and overrides costs word by word; all else stays as shipped."""
    shop = tmp_path / "shop.yaml"
    shop.write_text(
        "materials:\n  our_foam: {title: Ours, help: One ratio., kind: foam, ratios: {52: 0.15 g/mL}, sheet_temperature: 23 degC, cream_time: 40 s,"
        " sources: [common practice]}\nwords:\n  costs:\n    values: {another bad part: 220}\n",
        encoding="utf-8",
    )
    shipped = store.load_knowledge()
    monkeypatch.setenv("DIAGNOSE_SHOP", str(shop))
    ours = store.load_knowledge()
    assert ours.materials["our_foam"].values["cream_time"] == 40.0
    assert ours.words["costs"] == {**shipped.words["costs"], "another bad part": 220.0}
    assert ours.causes == shipped.causes
    assert ours.content_key != shipped.content_key


def test_a_shop_sets_its_own_practice(folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A number that shops go by is the shop's own where its file says so; what it is and its unit stay."""
    with open(folder / "trade.yaml", "a", encoding="utf-8") as file:
        file.write(
            "practice:\n  loss: {about: left in the cup, unit: percent, low: 4 percent, high: 8 percent, source: ours}\n"
        )
    shop = tmp_path / "shop.yaml"
    shop.write_text("practice: {loss: 3}\n", encoding="utf-8")
    assert load_knowledge(str(folder)).practice["loss"].of(None) == (4.0, 6.0, 8.0)
    monkeypatch.setenv("DIAGNOSE_SHOP", str(shop))
    ours = load_knowledge(str(folder)).practice["loss"]
    assert (ours.of("bare_foam"), ours.about, ours.source) == ((3.0, 3.0, 3.0), "left in the cup", "the shop's own")
    shop.write_text("practice: {lose: 3}\n", encoding="utf-8")
    with pytest.raises(FileFaults, match=r"shop\.yaml:1: practice\.lose: no such practice number, nearest is 'loss'$"):
        load_knowledge(str(folder))


def test_two_keys(folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The content key names what stands in the files, wherever they lie and whichever program reads them; the cache key does not."""
    first = load_knowledge(str(folder))
    monkeypatch.setattr(cache, "_program_mark", lambda: "changed")
    (tmp_path / "elsewhere").symlink_to(folder)
    moved = load_knowledge(str(tmp_path / "elsewhere"))
    assert moved.content_key == first.content_key
    assert moved.cache_key != first.cache_key
    (folder / "more.yaml").write_text("sources:\n  second: {title: t, about: a, seen: all}\n", encoding="utf-8")
    assert load_knowledge(str(folder)).content_key != first.content_key


def test_what_callers_say_is_kept_beside(folder: Path, tmp_path: Path, compilations: list[str]) -> None:
    """Their phrases are in a cache of their own, which reading a case never opens."""
    load_knowledge(str(folder))
    assert load_callers(str(folder)).phrases["holes"] == ("bubbles",)
    assert len(compilations) == 1
    cache_file(tmp_path, "callers").unlink()
    assert load_callers(str(folder)).phrases["holes"] == ("bubbles",)
    assert len(compilations) == 2
    assert b"skin comes off" not in cache_file(tmp_path).read_bytes()


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("causes: {x: {}}\n", ":1: causes: a shop's own file holds materials, practice, sources and words.costs only"),
        (
            "words: {likelihood: {values: {always: 0.5}}}\n",
            ":1: words.likelihood: a shop's own file sets words.costs only",
        ),
        (
            "words: {costs: {values: {hour at werk: 5}}}\n",
            ":1: words.costs.values.hour at werk: 'hour at werk', expected a cost, nearest is 'hour at work'",
        ),
    ],
)
def test_a_shop_file_can_change_nothing_else(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, text: str, message: str
) -> None:
    """Anything but materials, sources and costs in it is refused with its line."""
    shop = tmp_path / "shop.yaml"
    shop.write_text(text, encoding="utf-8")
    monkeypatch.setenv("DIAGNOSE_SHOP", str(shop))
    with pytest.raises(FileFaults) as caught:
        store.load_knowledge()
    assert f"{shop}{message}" in [str(fault) for fault in caught.value.faults]
