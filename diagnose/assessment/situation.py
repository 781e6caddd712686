"""One case thought through: what follows from the answers, what is believed, and what to ask next.

The questionnaire, the report and the command line all look at a case through this; each part is worked out when it is
first looked at, so that a report without questions doesn't pay for them.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cached_property

from diagnose.casebook.case import Case
from diagnose.casebook.derive import Derivation, derive
from diagnose.knowledge import Knowledge
from diagnose.reasoning.answers import SEEN, Answer
from diagnose.reasoning.batch import Batch, Batcher
from diagnose.reasoning.inference import Beliefs, Inference, believe
from diagnose.reasoning.network import Model, Network
from diagnose.reasoning.plan import Costs, Plan, Planner
from diagnose.reasoning.prediction import Prediction, Predictor
from diagnose.reasoning.value_of_information import Proposal, rank_questions


class ModelCache:
    """The knowledge as it applies to each build and paint, made once each."""

    def __init__(self, knowledge: Knowledge) -> None:
        self.knowledge = knowledge
        self._made: dict[tuple[str | None, bool | None], Model] = {}

    def of(self, case: Case) -> Model:
        """Return the model for the build and paint of *case*."""
        key = (case.build, case.painted)
        if key not in self._made:
            self._made[key] = Model(self.knowledge, *key)
        return self._made[key]


class Situation:
    """A case and everything that follows from it."""

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
    def model(self) -> Model:
        """The knowledge as it applies to this build and paint."""
        return self.models.of(self.case)

    @cached_property
    def network(self) -> Network:
        """Priors and findings."""
        return self.model.network(self.answers)

    @cached_property
    def engine(self) -> Inference:
        """The network made ready for sweeps."""
        return Inference(self.network)

    @cached_property
    def beliefs(self) -> Beliefs:
        """What is believed; raises `TooManySeen` where more is said to be seen than one part can show."""
        return believe(self.model, self.answers, self.network, self.engine)

    @cached_property
    def _proposed(self) -> tuple[list[Proposal], bool]:
        return rank_questions(self.model, self.answers, self.engine, self.beliefs, planner=self.next_pour)

    @property
    def proposals(self) -> list[Proposal]:
        """Questions worth asking, best first; none when settled."""
        return self._proposed[0]

    @property
    def settled(self) -> bool:
        """Whether asking more would not pay for itself."""
        return self._proposed[1]

    @cached_property
    def symptoms_seen(self) -> list[str]:
        """Symptoms told as seen, in the order told."""
        return [
            name for name, answer in self.answers.items() if name in self.knowledge.symptoms and answer.value == SEEN
        ]

    @cached_property
    def warnings(self) -> list[str]:
        """What the reader of a result should know: answers that say nothing, assumptions of the sums."""
        found = [*self.case.warnings, *self.derivation.warnings]
        if not self.symptoms_seen:
            found.append("no symptom told as seen, so nothing is there to explain: all probabilities are zero")
        return found

    @cached_property
    def costs(self) -> Costs:
        """What an hour, material and another bad part cost this shop."""
        return Costs.from_words(self.knowledge.words["costs"])

    def planner(self, *when: str) -> Planner:
        """Return a planner over the remedies of those times (`next_pour`, `between_pours`, `this_part`)."""
        return Planner(self.model, self.engine, self.costs, {c.id: c.probability for c in self.beliefs.causes}, when)

    @cached_property
    def next_pour(self) -> Planner:
        """The planner for the next pour and the work before it."""
        return self.planner("next_pour", "between_pours")

    @cached_property
    def plan(self) -> Plan | None:
        """The set of remedies with the least expected cost, or None where no symptom was told.

        Where every set costs more than it can be expected to save, it is the single most promising remedy: to pour the same again
        is no plan.
        """
        if not self.symptoms_seen:
            return None
        best = self.next_pour.best()
        return best if best.remedies else self.next_pour.most_promising() or best

    def batch(self, count: int) -> Batch:
        """Return the best *count* questions to send together; none where no symptom was told."""
        if not self.symptoms_seen:
            return Batch((), ())
        return Batcher(self.model, Predictor(self.model, self.answers, self.engine)).greedy(count)

    def predict(self, question: str) -> Prediction | None:
        """Return what each answer to *question* would do, or None where none could change anything."""
        made = Predictor(self.model, self.answers, self.engine).predict([question])
        return made[0] if made else None
