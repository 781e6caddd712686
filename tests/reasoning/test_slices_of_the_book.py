"""Predicted answers, plans and batches on slices of our own book: against every world written out, to 1e-12, and two libraries, to 1e-9.

A slice is the shipped knowledge with six of its causes (and what is off the list) and two faults seen: small enough to go through every set of
causes and every firing of every link, and for pgmpy, which takes minutes over a whole case. Whole cases against pyAgrum are in
`test_sweep_peers.py`. pgmpy comes with the extra `bench`.
"""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from msgspec.structs import replace

from diagnose.reasoning.answers import ABSENT, SEEN, Answer
from diagnose.reasoning.batch import Batcher
from diagnose.reasoning.network import Model
from diagnose.reasoning.plan import Costs, Planner
from diagnose.reasoning.prediction import Predictor
from diagnose.reasoning.situation import Situation
from tests.bench.asked import Asked, entropy, row_of

#: two faults that are seen, one that is absent, a symptom and a check that are open
SLICES = {
    "skin": ("thin_skin", "pinholes", "rounded_tips", "tacky_face_only", "press_test"),
    "tips": ("rounded_tips", "short_fill", "tacky_through", "collapse", "cup_test"),
}
CAUSES = 6
LIBRARIES = ("pyagrum", "pgmpy")


def sliced(knowledge, name):
    """The situation of a slice: the commonest causes of its faults, and those answers."""
    *told, symptom, check = SLICES[name]
    linked = [
        cause
        for cause in knowledge.causes.values()
        if knowledge.applies(cause.id, "bare_foam", False) and {*told[:2]} & set(cause.symptoms)
    ]
    linked.sort(
        key=lambda cause: (
            -len({*told, symptom} & set(cause.symptoms)) - (check in cause.checks),
            -cause.base,
            cause.id,
        )
    )
    kept = {cause.id: cause for cause in linked[:CAUSES]}
    model = Model(replace(knowledge, causes=dict(sorted(kept.items()))), "bare_foam", False)
    answers = {told[0]: Answer(SEEN), told[1]: Answer(SEEN, "remembered"), told[2]: Answer(ABSENT)}
    return Situation(model, {"build": Answer("bare_foam"), "painted": Answer("no"), **answers})


@pytest.fixture(scope="module", params=SLICES)
def slice_of(request, models):
    """A slice: its situation, its open symptom and its open check."""
    return sliced(models.knowledge, request.param), *SLICES[request.param][3:]


@pytest.fixture(scope="module", params=["every world", *LIBRARIES])
def outside(request):
    """What says what the chances are: its name, and how near."""
    if request.param in LIBRARIES:
        pytest.importorskip(request.param, reason="in the extra `bench`")
    return request.param, 1e-9 if request.param in LIBRARIES else 1e-12


def worlds(network):
    """Weight, causes that hold, and what had a part ("" for coincidence), of every set of causes and every firing."""
    for holds in itertools.product((False, True), repeat=len(network.causes)):
        now = {cause for cause, held in zip(network.causes, holds, strict=True) if held}
        weight = math.prod(p if held else 1.0 - p for held, p in zip(holds, network.priors, strict=True))
        kept = []
        for j, finding in enumerate(network.findings):
            links = {cause: p for cause, p in finding.links.items() if cause in now}
            if finding.on <= 0.0:  # absent for certain: nothing of it has fired
                weight *= finding.off * (1.0 - finding.leak) * math.prod(1.0 - p for p in links.values())
            else:
                kept += [(j, "", finding.leak), *((j, cause, p) for cause, p in links.items())]
        for fires in itertools.product((False, True), repeat=len(kept)):
            w, shown, guilty = weight, set(), set()
            for fired, (j, cause, p) in zip(fires, kept, strict=True):
                w *= p if fired else 1.0 - p
                if fired:
                    shown.add(j)
                    guilty |= {cause} if network.findings[j].symptom else set()
            for j, finding in enumerate(network.findings):
                if finding.on > 0.0:
                    w *= finding.on if j in shown else finding.off
            yield w, now, guilty


def joint_by_worlds(network, rows, causes):
    """By cause: P(it had a part, what the open *rows* show), an axis each."""
    tables = {cause: np.zeros((2,) * (1 + len(rows))) for cause in causes}
    for weight, now, guilty in worlds(network):
        shows = [1.0 - (1.0 - leak) * math.prod(1.0 - links.get(c, 0.0) for c in now) for links, leak in rows]
        chances = np.array(weight)
        for p in shows:
            chances = np.multiply.outer(chances, [1.0 - p, p])
        for cause, table in tables.items():
            table[int(cause in guilty)] += chances
    return {cause: table / table.sum() for cause, table in tables.items()}


def joint_of(outside, network, rows, causes):
    """By cause: P(it had a part, what the open *rows* show), from *outside*."""
    if outside == "every world":
        return joint_by_worlds(network, rows, causes)
    asked = Asked(network, rows, library=outside)
    return {cause: asked.joint([asked.made.part[cause], *asked.hung]) for cause in causes}


def test_predicted_answers(slice_of, outside):
    """The chance of each answer to a symptom and to a check with several results, and the belief that it leaves, slips of the teller counted."""
    situation, *questions = slice_of
    name, near = outside
    truly = 1.0 - situation.model.knowledge.words["misreport"]["seen"]
    causes = [
        c for c in situation.network.causes[:-1] if any(c in f.links for f in situation.network.findings if f.on > 0.0)
    ][:3]
    for prediction in Predictor(situation).predict(questions):
        rows = row_of(situation.model, prediction.question)[:3]
        for cause, table in joint_of(name, situation.network, rows, causes).items():
            # down to this level nothing shows, beside whether the cause had a part
            none = [table.reshape(2, -1).sum(axis=1)]
            none += [table[(slice(None), *(0,) * (i + 1))].reshape(2, -1).sum(axis=1) for i in range(len(rows))]
            answers = [truly**i * (none[i] - truly * none[i + 1]) for i in range(len(rows))]
            place = situation.inference.index[cause]
            for outcome, both in zip(prediction.outcomes, answers, strict=False):
                assert outcome.chance == pytest.approx(both.sum(), abs=near), (prediction.question, outcome.value)
                assert outcome.probability[place] == pytest.approx(both[1] / both.sum(), abs=near)
            if len(rows) == len(prediction.outcomes) - 1:
                last = truly ** len(rows) * none[-1]
                assert prediction.outcomes[-1].chance == pytest.approx(last.sum(), abs=near)


def test_success_of_plans(slice_of, outside):
    """The chance that all that had a part is mended, for the best plan and for each pair of remedies of the book."""
    situation, *_ = slice_of
    name, near = outside
    costs = Costs.from_words(situation.model.knowledge.words["costs"])
    planner = Planner(situation, costs, ("next_pour", "between_pours"))
    pairs = itertools.islice(itertools.combinations([r.id for r in planner.remedies], 2), 4)
    for chosen in (planner.best().remedies, *pairs):
        mend = dict(zip(situation.inference.names, planner.mend(frozenset(chosen)).tolist(), strict=True))
        if name == "every world":
            every = [(w, math.prod(mend.get(c, 0.0) for c in guilty)) for w, _, guilty in worlds(situation.network)]
            expected = math.fsum(w * mended for w, mended in every) / math.fsum(w for w, _ in every)
        else:
            asked = Asked(situation.network, mend=mend, library=name)
            expected = float(asked.joint(asked.ends)[0])
        assert planner.plan(frozenset(chosen)).success == pytest.approx(expected, abs=near)


def test_worth_of_a_batch(slice_of, outside):
    """What two open questions together are expected to tell, each answered with its own chance."""
    situation, symptom, _ = slice_of
    name, near = outside
    batcher = Batcher(situation, field=1000)
    knowledge = situation.model.knowledge
    second = next(n for n in batcher.field if n in knowledge.symptoms and n not in situation.answers and n != symptom)
    pair, truly = [symptom, second], 1.0 - knowledge.words["misreport"]["seen"]
    says = np.array([[truly, 1.0 - truly], [0.0, 1.0]])  # what shows -> what is said
    rows = [row_of(situation.model, question)[0] for question in pair]
    causes = [situation.inference.names[i] for i in batcher.linked]
    tables = {
        cause: np.einsum("pab,ax,by->pxy", table, says, says)
        for cause, table in joint_of(name, situation.network, rows, causes).items()
    }
    worth = 0.0
    for both in itertools.product((False, True), repeat=2):
        p, q = (batcher.chance[n] if yes else 1.0 - batcher.chance[n] for n, yes in zip(pair, both, strict=True))
        silent = tuple(axis + 1 for axis, yes in enumerate(both) if not yes)
        for table in tables.values():
            heard = (table.sum(axis=silent) if silent else table).reshape(2, -1)
            gain = entropy([heard.sum(axis=1)[1]])
            gain -= sum(float(one.sum()) * entropy([one[1] / one.sum()]) for one in heard.T if one.sum() > 0.0)
            worth += p * q * gain
    assert worth == pytest.approx(batcher.worth(pair), abs=near)
    assert worth > 0.0
