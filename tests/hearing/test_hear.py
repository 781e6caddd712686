"""What callers say is heard as what they mean: their own sentences, typing errors, "not", two complaints, and nonsense.

`callers.yaml` holds the sentences. `held_out` was written last and nothing was changed because of it: its share is the honest one
(97 % among the first three when it was first run). The other lists were learnt from, so theirs only guard against a fall back.
"""

from __future__ import annotations

import random
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st

from diagnose.hearing.matching import Index, build_index, hear, index_of
from diagnose.knowledge import load_callers, load_knowledge
from diagnose.knowledge.callers import Callers

ROOT = Path(__file__).resolve().parents[2]
CALLERS: dict[str, Any] = yaml.safe_load((Path(__file__).parent / "callers.yaml").read_text(encoding="utf-8"))
SENTENCES = {"first": 0.97, "workshop": 0.97, "second": 0.96, "third": 0.96, "held_out": 0.92}


KNOWLEDGE = load_knowledge(str(ROOT / "knowledge"))
SAID = load_callers(str(ROOT / "knowledge"))
INDEX = build_index(KNOWLEDGE.symptoms.values(), SAID)


def ideas(text: str) -> list[list[str]]:
    """The ideas of *text*, clause by clause, spelled as it stands."""
    return INDEX.ideas.clauses(INDEX.ideas.words(text))


def heard(index: Index) -> list[list[str]]:
    """What *index* makes of the first list of callers."""
    return [hear(index, said) for said in CALLERS["first"]]


def _share(sentences: dict[str, list[str]], among: int = 3) -> float:
    return sum(any(name in hear(INDEX, said)[:among] for name in meant) for said, meant in sentences.items()) / len(
        sentences
    )


def _with_slips(text: str, chance: random.Random) -> str:
    """Make one slip of the finger in about half of the longer words: dropped, swapped, doubled or wrong letter."""
    words = []
    for word in text.split():
        if len(word) > 4 and word.isalpha() and chance.random() < 0.5:
            at = chance.randrange(1, len(word) - 1)
            rest = word[at + 1 :]
            word = word[:at] + chance.choice(
                [rest, rest[0] + word[at] + rest[1:], word[at] * 2 + rest, chance.choice("aeionrst") + rest]
            )
        words.append(word)
    return " ".join(words)


@pytest.mark.parametrize(("name", "least"), SENTENCES.items())
def test_the_right_symptom_is_among_the_first_three(name: str, least: float) -> None:
    """Callers in their own words: the right symptom comes among the first three."""
    assert _share(CALLERS[name]) >= least


def test_the_right_symptom_mostly_comes_first() -> None:
    """Of the held-out sentences, six in seven have the right one at the top."""
    assert _share(CALLERS["held_out"], among=1) >= 0.85


def test_every_symptom_is_called_about() -> None:
    """No symptom is left without a sentence, and no sentence names a symptom that isn't there."""
    assert {name for group in SENTENCES for meant in CALLERS[group].values() for name in meant} == set(
        KNOWLEDGE.symptoms
    )


def test_what_the_knowledge_files_say_is_heard() -> None:
    """The phrases that the files give are found themselves, near enough all of them (a few fit two symptoms)."""
    said = {phrase: [name] for name, phrases in SAID.phrases.items() for phrase in phrases}
    assert _share(said) >= 0.97


@pytest.mark.parametrize("said", CALLERS["both"])
def test_two_complaints_in_one_breath(said: str) -> None:
    """Each of the two is met among the first four."""
    found = hear(INDEX, said)[:4]
    assert all(set(found).intersection(meant) for meant in CALLERS["both"][said]), found


@pytest.mark.parametrize("said", CALLERS["denied"])
def test_what_is_denied_does_not_lead(said: str) -> None:
    """A symptom that the caller says is not there is not among the first three."""
    assert not set(hear(INDEX, said)[:3]).intersection(CALLERS["denied"][said])


@pytest.mark.parametrize("said", CALLERS["nothing"])
def test_nothing_is_heard_where_nothing_fits(said: str) -> None:
    """Opening hours, nonsense and empty lines name no symptom."""
    assert hear(INDEX, said) == []


@pytest.mark.parametrize("seed", range(3))
def test_slips_of_the_finger(seed: int) -> None:
    """With half of the longer words mistyped, nine in ten are still heard."""
    chance = random.Random(seed)
    assert _share({_with_slips(said, chance): meant for said, meant in CALLERS["first"].items()}) >= 0.9


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("the colour is streaky in the mould", "the color is streaky in the mold"),
        ("foam is gray and odour stays", "foam is grey and odor stays"),
        ("it isn't sticky", "it is not sticky"),
        ("it isn\u2019t sticky", "it isnt sticky"),
        ("wrinkles", "wrinkled"),
        ("PINHOLES!!!", "pin-holes"),
    ],
)
def test_the_same_in_another_spelling(one: str, other: str) -> None:
    """British and American, apostrophes, capitals and endings make no difference."""
    assert ideas(one)[0] == ideas(other)[0]
    assert hear(INDEX, one) == hear(INDEX, other)


@pytest.mark.parametrize(
    ("said", "name"),
    [
        ("sticky", "tacky_through"),
        ("the paint is sticky", "paint_stays_soft"),
        ("the rubber skin is sticky", "skin_coat_soft"),
        ("cracks when it bends", "cracked_skin"),
        ("the paint cracks when it bends", "paint_cracks"),
        ("bubbles in the latex", "skin_coat_bubbles"),
        ("bubbles in the paint", "paint_blisters"),
        ("bubbles inside when I cut it", "scattered_bubbles"),
    ],
)
def test_paint_and_rubber_skin_change_the_meaning(said: str, name: str) -> None:
    """The same complaint goes to the paint, the rubber skin or the foam, by what it is said of."""
    assert name in hear(INDEX, said)[:2]


@pytest.mark.parametrize(
    ("said", "expected"),
    [
        ("it is not sticky", [["!STICKY"]]),
        ("none of the ears filled", [["DETAIL", "!FILL"]]),
        ("not sticky or oily but soft", [["!STICKY", "!OIL"], ["SOFT"]]),
        ("I'm not sure, no idea, it is sticky", [["STICKY"]]),
    ],
)
def test_how_far_not_reaches(said: str, expected: list[list[str]]) -> None:
    """Not takes the next word with it, "or" goes on, a comma or "but" ends it, and "not sure" denies nothing."""
    assert ideas(said) == expected


def test_at_most_eight_and_none_twice() -> None:
    """The answer is short, without repeats, and can be made shorter."""
    for said in CALLERS["first"]:
        found = hear(INDEX, said)
        assert len(found) == len(set(found)) <= 8
        assert hear(INDEX, said, limit=2) == found[:2]


def test_the_order_of_the_symptoms_does_not_matter() -> None:
    """Symptoms in another order give the same answers, and the index of a knowledge is that of its files."""
    assert heard(build_index(reversed(KNOWLEDGE.symptoms.values()), SAID)) == heard(INDEX)
    assert heard(index_of(KNOWLEDGE)) == heard(INDEX)
    assert index_of(KNOWLEDGE) is index_of(KNOWLEDGE)


def test_the_same_on_every_run() -> None:
    """Another hash seed gives the same index and the same answers."""
    program = (
        "import sys, json; sys.path[:0] = [sys.argv[1], sys.argv[2]]; import test_hear as t;"
        "print(json.dumps([t.INDEX.phrases, t.INDEX.telling, t.heard(t.INDEX)]))"
    )
    command = [sys.executable, "-c", program, str(ROOT), str(Path(__file__).parent)]
    runs = [
        subprocess.run(command, env={"PYTHONHASHSEED": seed}, capture_output=True, check=True).stdout
        for seed in ("1", "2")
    ]
    assert runs[0] == runs[1]


def test_it_is_fast() -> None:
    """A sentence takes well under 5 ms of work, and the whole index some tens of milliseconds, once."""
    builds = []
    for _ in range(5):
        start = time.process_time()
        build_index(KNOWLEDGE.symptoms.values(), SAID)
        builds.append(time.process_time() - start)
    start = time.process_time()
    for said in CALLERS["first"]:
        hear(INDEX, said)
    assert (time.process_time() - start) / len(CALLERS["first"]) < 0.005
    assert min(builds) < 0.15


@given(st.text(max_size=200))
def test_any_text_is_taken(text: str) -> None:
    """Whatever is typed, the answer is a list of symptoms that exist."""
    assert set(hear(INDEX, text)) <= set(KNOWLEDGE.symptoms)


def test_nothing_known_nothing_heard() -> None:
    """An index without symptoms hears nothing."""
    assert hear(build_index([], Callers({})), "it is all sticky") == []
