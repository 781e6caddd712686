"""The same case and knowledge give the same bytes, whatever the hash seed, the threads, or the order of entries in the files."""

import hashlib
import os
import random
import re
import subprocess
import sys
from pathlib import Path

import pytest

from diagnose.assessment.assess import assess
from diagnose.assessment.consultation import Consultation, ModelCache
from diagnose.casebook import read_case
from diagnose.knowledge import load_knowledge
from diagnose.report.json import arithmetic, result, to_json
from tests.patience import WAIT

ROOT = Path(__file__).parents[2]
CASES = ("brains-on-the-ridges", "one-to-two-of-what", "tusks-in-march")


def printed(seed, threads, cache):
    """What the command prints for a few cases, network and all, in a fresh interpreter that has to read the knowledge itself."""
    paths = [str(ROOT / "tests" / "cases" / f"{name}.yaml") for name in CASES]
    env = {
        **os.environ,
        "PYTHONHASHSEED": str(seed),
        "OMP_NUM_THREADS": str(threads),
        "OPENBLAS_NUM_THREADS": str(threads),
        "PYTHONPATH": str(ROOT),
        "XDG_CACHE_HOME": str(cache),
    }
    command = [sys.executable, "-m", "diagnose", "read", "--json", "--arithmetic", "--batch", *paths]
    done = subprocess.run(command, env=env, capture_output=True, timeout=WAIT, check=True)
    return done.stdout


def everything_of(consultation):
    """The result with the whole arithmetic behind it, as text."""
    return to_json({**result(assess(consultation)), "network": arithmetic(consultation.situation.network)})


def test_hash_seed_and_threads(tmp_path):
    """Hash seeds 0, 1, 2 and one or two threads: the same bytes."""
    outputs = {
        hashlib.sha256(printed(seed, threads, tmp_path / str(seed))).hexdigest()
        for seed, threads in ((0, 1), (1, 2), (2, 1))
    }
    assert len(outputs) == 1


def shuffled(text, rng):
    """The same knowledge file with the entries of each section in another order."""
    parts = re.split(r"(?m)^(?=\S)", text)
    made = []
    for part in parts:
        head, *entries = re.split(r"(?m)^(?=  [A-Za-z_])", part)
        rng.shuffle(entries)
        made.append(head + "".join(entry if entry.endswith("\n") else entry + "\n" for entry in entries))
    return "".join(made)


def test_order_of_entries_in_the_files(tmp_path):
    """Entries shuffled within each file and files renamed: every probability the same to 1e-12, the same questions next."""
    rng = random.Random(7)
    for path in sorted((ROOT / "knowledge").rglob("*.yaml")):
        target = tmp_path / path.relative_to(ROOT / "knowledge").with_name(f"{rng.randrange(10**6)}-{path.name}")
        if path.name == "words.yaml":
            target = tmp_path / "words.yaml"
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_text(
            path.read_text(encoding="utf-8")
            if path.name == "words.yaml"
            else shuffled(path.read_text(encoding="utf-8"), rng),
            encoding="utf-8",
        )
    one, other = (ModelCache(load_knowledge(str(folder))) for folder in (ROOT / "knowledge", tmp_path))
    assert list(one.knowledge.causes) != list(other.knowledge.causes)
    for name in CASES:
        before, after = (
            result(assess(Consultation(m, read_case(ROOT / "tests" / "cases" / f"{name}.yaml", m.knowledge))))
            for m in (one, other)
        )
        assert [c["id"] for c in before["causes"]] == [c["id"] for c in after["causes"]]
        for mine, theirs in zip(before["causes"], after["causes"], strict=True):
            assert (theirs["probability"], theirs["present"]) == pytest.approx(
                (mine["probability"], mine["present"]), abs=1e-12
            )
            assert (mine["for"], mine["against"]) == (theirs["for"], theirs["against"])
        assert [n["question"] for n in before["next"]] == [n["question"] for n in after["next"]]
        assert before["unexplained"] == pytest.approx(after["unexplained"], abs=1e-12)


@pytest.mark.parametrize("name", CASES)
def test_order_of_answers_in_the_case(name, models, tmp_path):
    """The lines of a case file in another order give the same result, to the byte."""
    source = ROOT / "tests" / "cases" / f"{name}.yaml"
    head, _, tail = source.read_text(encoding="utf-8").partition("\nanswers:\n")
    lines = tail.splitlines()
    end = next((i for i, line in enumerate(lines) if line and not line.startswith(" ")), len(lines))
    entries = re.split(r"(?m)^(?=  [a-z_])", "\n".join(lines[:end]) + "\n")[1:]
    turned = tmp_path / f"{name}.yaml"
    turned.write_text(
        head + "\nanswers:\n" + "".join(reversed(entries)) + "\n".join(lines[end:]) + "\n", encoding="utf-8"
    )
    one, other = (everything_of(Consultation(models, read_case(path, models.knowledge))) for path in (source, turned))
    assert one == other


def test_too_much_seen_is_answered_all_the_same(models, tmp_path):
    """Nearly every symptom there is, all seen: it is answered, and to the same bits twice."""
    seen = [name for name in sorted(models.knowledge.symptoms) if models.knowledge.applies(name, "bare_foam", False)]
    case = tmp_path / "all.yaml"
    case.write_text(
        f"case: 1\nanswers:\n  build: bare_foam\n  painted: no\n  symptoms: [{', '.join(seen)}]\n", encoding="utf-8"
    )
    case = read_case(case, models.knowledge)
    one, other = (Consultation(models, case).situation.beliefs for _ in range(2))
    assert [(c.id, c.probability, c.present) for c in one.causes] == [
        (c.id, c.probability, c.present) for c in other.causes
    ]
    assert one.causes[0].probability > 0.0
