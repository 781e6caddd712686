"""Our book against two general-purpose libraries to 1e-9: beliefs, predicted answers, plans and batches of questions.

pyAgrum by lazy propagation, pgmpy by variable elimination: two programs by different hands, which share with ours the network
alone, written in nodes of two parents (`tests/bench/unrolled.py`). pgmpy comes with the extra `bench`; it takes minutes over a whole
case, so what it says of more than beliefs is asked on slices of the book (`test_slices_of_the_book.py`).
"""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest

from diagnose.reasoning.answers import SEEN
from diagnose.reasoning.batch import Batcher
from diagnose.reasoning.plan import Costs, Planner
from diagnose.reasoning.prediction import Predictor, open_questions
from tests.bench.asked import Asked, entropy, row_of
from tests.bench.peers import PEERS

pytest.importorskip("pyagrum")

NEAR = 1e-9
CASES = ("bare-fan-by-the-seam", "sticky-necks", "enamel-on-a-blade", "tusks-in-march")


def compared(answer, beliefs):
    """Assert that what a library answered is what is believed."""
    held, part = answer
    for cause in beliefs.causes:
        assert held[cause.id] == pytest.approx(cause.present, abs=NEAR), cause.id
        assert part.get(cause.id, 0.0) == pytest.approx(cause.probability, abs=NEAR), cause.id
    assert part.get("not_listed", 0.0) == pytest.approx(beliefs.not_listed, abs=NEAR)


@pytest.mark.parametrize("name", CASES)
def test_beliefs_by_elimination(name, consulted):
    """pgmpy's variable elimination comes to the same chances of holding and of a part, cause by cause."""
    pytest.importorskip("pgmpy", reason="in the extra `bench`")
    situation = consulted[name].situation
    compared(PEERS["pgmpy elimination"].prepare(situation.network, True)(), situation.beliefs)


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("peer", ["pyAgrum lazy", "pyAgrum noisy-OR", "pyAgrum Shafer-Shenoy", "pgmpy elimination"])
def test_random_nets_by_every_peer(peer, seed, random_network, of_network):
    """Each library in each of its configurations agrees on random nets, so the benchmark compares like with like."""
    pytest.importorskip(PEERS[peer].module)
    network = random_network(seed, causes=6, findings=5)
    compared(PEERS[peer].prepare(network, True)(), of_network(network).beliefs)


# -- what pyAgrum says of more than beliefs ------------------------------------------------------------------------


def plain_questions(situation):
    """Open symptoms and choices of which no answer given is another view."""
    knowledge = situation.model.knowledge
    twins = {
        check
        for name in situation.answers
        if name in knowledge.symptoms
        for check, _ in knowledge.symptoms[name].same_as
    }
    return [
        name
        for name in open_questions(situation.model, situation.answers)
        if name not in twins
        and (name in knowledge.symptoms or (name in knowledge.checks and knowledge.checks[name].kind == "choice"))
    ]


@pytest.mark.parametrize("name", CASES)
def test_predicted_answers(name, consulted):
    """The chance of each answer to an open symptom or check is what lazy propagation gives it, slips of the teller counted."""
    situation = consulted[name].situation
    truly = 1.0 - situation.model.knowledge.words["misreport"]["seen"]
    count = 0
    for prediction in Predictor(situation).predict(plain_questions(situation)[::5]):
        rows = row_of(situation.model, prediction.question)
        asked = Asked(situation.network, rows)
        shown = asked.joint(asked.hung)
        none = [1.0, *(float(shown[(0,) * (i + 1)].sum()) for i in range(len(rows)))]  # no level down to this one shows
        chances = [truly**i * (none[i] - truly * none[i + 1]) for i in range(len(rows))] + [
            truly ** len(rows) * none[-1]
        ]
        assert [outcome.chance for outcome in prediction.outcomes] == pytest.approx(chances, abs=NEAR), (
            prediction.question
        )
        count += 1
    assert count >= 3


@pytest.mark.parametrize("name", CASES)
def test_success_of_a_plan(name, consulted):
    """The chance that the best plan mends all that had a part is that of a node "left unmended" in the library's network."""
    situation = consulted[name].situation
    costs = Costs.from_words(situation.model.knowledge.words["costs"])
    planner = Planner(situation, costs, ("next_pour", "between_pours"))
    for chosen in (planner.best().remedies, [planner.remedies[0].id]):
        mend = dict(zip(situation.inference.names, planner.mend(frozenset(chosen)).tolist(), strict=True))
        asked = Asked(situation.network, mend=mend)
        assert planner.plan(frozenset(chosen)).success == pytest.approx(asked.joint(asked.ends)[0], abs=NEAR)


@pytest.mark.parametrize("name", ["sticky-necks", "bare-fan-by-the-seam"])
def test_worth_of_a_batch(name, consulted):
    """The joint gain of two open symptoms, each answered with its own chance, is that of the library's joint tables."""
    situation = consulted[name].situation
    batcher = Batcher(situation, field=1000)
    symptoms = [
        n for n in plain_questions(situation) if n in batcher.chance and n in situation.model.knowledge.symptoms
    ]
    pair = sorted(symptoms, key=lambda n: -batcher.worth([n]))[:2]
    truly = 1.0 - situation.model.knowledge.words["misreport"]["seen"]
    says = np.array([[truly, 1.0 - truly], [0.0, 1.0]])  # what shows -> what is said
    asked = Asked(situation.network, [row_of(situation.model, question)[0] for question in pair])
    tables = {}
    for cause, part in asked.made.part.items():
        if cause != "not_listed":
            tables[cause] = np.einsum("pab,ax,by->pxy", asked.joint([part, *asked.hung]), says, says)
    worth = 0.0
    for both in product((False, True), repeat=2):
        p, q = (batcher.chance[n] if yes else 1.0 - batcher.chance[n] for n, yes in zip(pair, both, strict=True))
        silent = tuple(axis + 1 for axis, yes in enumerate(both) if not yes)
        heard = {cause: table.sum(axis=silent) if silent else table for cause, table in tables.items()}
        gain = sum(entropy([table.reshape(2, -1).sum(axis=1)[1]]) for table in heard.values())
        for table in heard.values():
            flat = table.reshape(2, -1)
            gain -= sum(float(both.sum()) * entropy([both[1] / both.sum()]) for both in flat.T if both.sum() > 0.0)
        worth += p * q * gain
    assert worth == pytest.approx(batcher.worth(pair), abs=NEAR)
    assert SEEN in [outcome.value for outcome in Predictor(situation).predict(pair)[0].outcomes]
