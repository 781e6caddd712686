"""Properties that hold whatever the numbers are, on random nets and on answers drawn from the shipped knowledge."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from diagnose.casebook import case_from_bytes, case_text, parse_answer
from diagnose.casebook.case import Case
from diagnose.errors import InputError
from diagnose.knowledge import load_knowledge
from diagnose.reasoning.inference import Inference
from diagnose.reasoning.network import Finding, Network
from tests.reasoning.conftest import make_network

KNOWLEDGE = load_knowledge(None)
CHOSEN = sorted(
    name
    for name in {*KNOWLEDGE.facts, *KNOWLEDGE.checks} - {"build", "painted"}  # what contradicts the build is refused
    if KNOWLEDGE.question(name).kind in ("choice", "many") and KNOWLEDGE.question_kind(name)
)
SEEDS = st.integers(0, 10**6)
USUAL = settings(max_examples=60, deadline=None)


def beliefs(network: Network) -> dict[str, tuple[float, float]]:
    """P(held) and P(had a part) by cause."""
    found = Inference(network)
    return dict(zip(found.names, zip(found.present.tolist(), found.responsible.tolist(), strict=True), strict=True))


def near(one: dict[str, tuple[float, float]], other: dict[str, tuple[float, float]]) -> None:
    """Assert that all causes of *one* are believed in as in *other*, to 1e-13."""
    for name, pair in one.items():
        assert pair == pytest.approx(other[name], abs=1e-13), name


@USUAL
@given(SEEDS, st.floats(0.0, 1.0), st.integers(0, 6))
def test_an_irrelevant_cause_changes_nothing(seed: int, prior: float, place: int) -> None:
    """A cause that nothing told is linked to leaves all others as they are and keeps its prior, wherever it stands."""
    network = make_network(seed, causes=6, findings=5)
    names, priors = list(network.causes), list(network.priors)
    names.insert(place % 6, "idle")
    priors.insert(place % 6, prior)
    wider = beliefs(replace(network, causes=tuple(names), priors=tuple(priors)))
    near(beliefs(network), wider)
    assert wider["idle"] == pytest.approx((prior, 0.0), abs=1e-15)


@USUAL
@given(SEEDS)
def test_a_cause_that_cannot_hold_changes_nothing(seed: int) -> None:
    """A cause of prior 0 leaves all others as they are, whatever it is linked to."""
    network = make_network(seed, causes=6, findings=5)
    linked = tuple(replace(f, links={**f.links, "never": 0.1 + 0.15 * j}) for j, f in enumerate(network.findings))
    wider = beliefs(Network(("never", *network.causes), (0.0, *network.priors), linked, {}))
    near(beliefs(network), wider)
    assert wider["never"] == (0.0, 0.0)


@USUAL
@given(SEEDS, st.randoms(use_true_random=False))
def test_order_of_causes_and_findings(seed: int, rng) -> None:
    """Causes and findings in any order are believed in alike."""
    network = make_network(seed, causes=7, findings=6)
    pairs = list(zip(network.causes, network.priors, strict=True))
    findings = list(network.findings)
    rng.shuffle(pairs)
    rng.shuffle(findings)
    names, priors = zip(*pairs, strict=True)
    near(beliefs(network), beliefs(Network(names, priors, tuple(findings), {})))


@USUAL
@given(SEEDS, st.floats(0.01, 1.0), st.booleans())
def test_an_answer_that_weighs_alike_says_nothing(seed: int, weight: float, symptom: bool) -> None:
    """A finding that is as likely told where it shows as where it does not moves no belief that a cause held."""
    network = make_network(seed, causes=6, findings=5)
    links = {name: 0.1 + 0.1 * i for i, name in enumerate(network.causes)}
    silent = Finding("silent", "silent", False, True, weight, weight, 0.05, links)
    near(beliefs(network), beliefs(replace(network, findings=(*network.findings, silent))))


@USUAL
@given(SEEDS)
def test_a_finding_split_between_two_views_counts_once_each(seed: int) -> None:
    """An absent finding is worth its factor on each cause: two of links p and q are one of link 1 - (1 - p)(1 - q)."""
    network = make_network(seed, causes=6, findings=4)
    one = {name: 0.05 + 0.1 * i for i, name in enumerate(network.causes)}
    other = {name: 0.6 - 0.1 * i for i, name in enumerate(network.causes)}
    both = {name: 1.0 - (1.0 - one[name]) * (1.0 - other[name]) for name in network.causes}
    apart = [Finding(n, n, False, False, 0.0, 1.0, 0.02, links) for n, links in (("one", one), ("other", other))]
    together = Finding("both", "both", False, False, 0.0, 1.0, 0.02, both)
    near(
        beliefs(replace(network, findings=(*network.findings, *apart))),
        beliefs(replace(network, findings=(*network.findings, together))),
    )


WORDS = st.text(alphabet="abcdefghijklmnopqrstuvwxyz_", min_size=3, max_size=12)


@USUAL
@given(st.sampled_from(CHOSEN), WORDS)
def test_an_impossible_answer_is_named(name: str, word: str) -> None:
    """An answer that is not on the list is refused in one line, which says which question, what was written and what was expected."""
    entry = KNOWLEDGE.question(name)
    allowed = set(getattr(entry, "choices", None) or entry.results) | {"unknown", "yes", "no", "true", "false", "null"}
    if word in allowed or word in ("dont_know",):
        return
    text = f"case: 1\nanswers:\n  {name}: {word}\n"
    with pytest.raises(InputError) as refused:
        case_from_bytes(text.encode(), "owl.yaml", KNOWLEDGE)
    line = str(refused.value).splitlines()[0]
    assert line.startswith(f"owl.yaml:3: {name}: '{word}', expected ")


@USUAL
@given(
    st.lists(st.sampled_from(CHOSEN), unique=True, max_size=12),
    st.lists(st.sampled_from(sorted(KNOWLEDGE.symptoms)), unique=True, max_size=8),
    st.integers(0, 1000),
)
def test_a_case_written_and_read_again_gives_the_same_bytes(asked: list[str], shown: list[str], pick: int) -> None:
    """What is written is what is written again after reading it, byte for byte, at the first turn."""
    case = Case(title="Owl mask")
    for i, name in enumerate(asked):
        entry = KNOWLEDGE.question(name)
        options = sorted(getattr(entry, "choices", None) or entry.results)
        word = options[(pick + i) % len(options)]
        try:
            case = case.with_answer(name, parse_answer(KNOWLEDGE, name, word, None), word)
        except ValueError:
            continue
    for name in shown:
        case = case.with_answer(name, parse_answer(KNOWLEDGE, name, "seen", None), "seen")
    written = case_text(case, KNOWLEDGE)
    assert case_text(case_from_bytes(written.encode(), "owl.yaml", KNOWLEDGE), KNOWLEDGE) == written
