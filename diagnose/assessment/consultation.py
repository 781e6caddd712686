"""A case made ready for thought: what follows from its raw answers, and one `Situation` of the reasoning.

The questionnaire looks at it between two questions and pays only for what it looks at; `assess` concludes everything
from it.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cached_property
from typing import TYPE_CHECKING

from diagnose.casebook.case import Case
from diagnose.casebook.dangers import barred, danger_evidence
from diagnose.casebook.derive import Derivation, derive
from diagnose.knowledge import Knowledge, Remedy
from diagnose.reasoning.answers import Answer
from diagnose.reasoning.network import Model
from diagnose.reasoning.plan import Costs, Planner
from diagnose.reasoning.prediction import Prediction, Predictor
from diagnose.reasoning.situation import Situation
from diagnose.reasoning.value_of_information import Ranking, rank_questions

if TYPE_CHECKING:
    from diagnose.reasoning.batch import Batch

#: when a remedy is done that bears on the pours to come
NEXT_POUR = ("next_pour", "between_pours")


class ModelCache:
    """The knowledge as it applies to each build and paint, made once each.

    *learned_cases* is from how many confirmed cases of a log the numbers of the book were moved, None where they
    weren't.
    """

    learned_cases: int | None = None

    def __init__(self, knowledge: Knowledge) -> None:
        self.knowledge = knowledge
        self._made: dict[tuple[str | None, bool | None], Model] = {}

    def of(self, case: Case) -> Model:
        """Return the model for the build and paint of *case*."""
        key = (case.build, case.painted)
        if key not in self._made:
            self._made[key] = Model(self.knowledge, *key)
        return self._made[key]


class Consultation:
    """A case and what is worked out from it when it is first looked at."""

    def __init__(self, models: ModelCache, case: Case) -> None:
        self.models = models
        self.knowledge = models.knowledge
        self.case = case

    @cached_property
    def derivation(self) -> Derivation:
        """Computed values, facts worked out, and warnings of the sums."""
        return derive(self.case, self.knowledge)

    @cached_property
    def answers(self) -> Mapping[str, Answer]:
        """All answers, given and worked out."""
        return self.derivation.all_answers(self.case)

    @cached_property
    def situation(self) -> Situation:
        """Model, network and inference of these answers."""
        return Situation(self.models.of(self.case), self.answers)

    @property
    def symptoms_seen(self) -> tuple[str, ...]:
        """Symptoms told as seen, in the order told."""
        return self.situation.seen

    @cached_property
    def dangers(self) -> Mapping[str, tuple[str, ...]]:
        """What must be said before everything else, each with the answers that say so."""
        return danger_evidence(self.knowledge, self.answers)

    def allows(self, remedy: Remedy) -> bool:
        """Whether *remedy* may be offered here: no danger, age, damage or text of its own forbids it."""
        return not barred(remedy, self.answers, tuple(self.dangers))

    @cached_property
    def costs(self) -> Costs:
        """What an hour, material and another bad part cost this shop."""
        return Costs.from_words(self.knowledge.words["costs"])

    @cached_property
    def next_pour(self) -> Planner:
        """The planner for the next pour and the work before it."""
        return Planner(self.situation, self.costs, NEXT_POUR, allow=self.allows)

    @cached_property
    def ranking(self) -> Ranking:
        """Questions worth asking, best first, and whether asking more pays; none where it doesn't."""
        return rank_questions(self.situation, self.next_pour)

    def batch(self, count: int) -> Batch:
        """Return the best *count* questions to send together; none where no symptom was told."""
        from diagnose.reasoning.batch import Batch, Batcher

        return Batcher(self.situation).greedy(count) if self.symptoms_seen else Batch((), ())

    def predict(self, question: str) -> Prediction | None:
        """Return what each answer to *question* would do, or None where none could change anything."""
        made = Predictor(self.situation).predict([question])
        return made[0] if made else None
