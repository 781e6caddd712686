"""The report's orders in words: save this part or cast again, one change for the next pour, and the whole plan.

There is one order, told in steps: the one change with what its outcome will tell, then the rest of the plan for somebody who can't
afford another bad part. Costs are in the shop's own money, and each sum is written out.
"""

from __future__ import annotations

from diagnose.assessment.advice import GOAL, Action, Parting, Saving, Whole
from diagnose.knowledge import Remedy
from diagnose.prose import answer as wording
from diagnose.prose.answer import how_sure, in_sentence, listed, quoted
from diagnose.report.document import Block, Entry, Row
from diagnose.report.text.writer import Writer

#: more hours than this are in no part
_MOST_HOURS = 60


class Doing(Writer):
    """The sections that tell what to do."""

    # -- this part -------------------------------------------------------------------------------------------------

    def save(self) -> list[Block]:
        """Save the part or cast again, with the sum; and what saves it."""
        report = self.report
        if not report.suspects:
            return []
        if report.advice.saving is None:
            return [
                "No cause stands out enough to mend for. Leave the part as it is; it is the best evidence there is."
            ]
        saving = report.advice.saving
        told = self._action if saving.decision.save else self._in_short
        blocks: list[Block] = [self._verdict_on(saving), *(told(action) for action in saving.actions)]
        unsaved = [quoted(cause.title) for cause in report.advice.unsaved]
        if unsaved:
            blocks.append(f"Nothing known saves the part if it was {listed(unsaved, 'or')}. Keep it as evidence.")
        return blocks

    def _verdict_on(self, saving: Saving) -> str:
        why = saving.decision.why
        if saving.decision.save:
            return f"Save it: {why}."
        if not saving.actions:
            return f"Cast again: {why}."
        if saving.pays_from is None or saving.pays_from > _MOST_HOURS:
            return f"Cast again: {why}. If it has to be saved all the same:"
        return f"Cast again: {why}. With more than about {wording.hours(saving.pays_from)} of work in it, this is worth trying:"

    # -- the next pour ---------------------------------------------------------------------------------------------

    def change(self) -> list[Block]:
        """One change for the next pour, why one, and what its outcome will tell."""
        advice = self.report.advice
        if not self.report.suspects:
            return []
        if advice.change is None:
            return [
                "Change nothing yet: no cause stands out enough. If you must pour, pour it the same way, weigh and time everything, and write it down."
            ]
        why = "One change, all else as it was, or nobody will know which change did it. Write down what you changed."
        told = self._outcome(advice.parting) if advice.parting is not None else self._left_alone(advice.change)
        return [self._action(advice.change), " ".join(filter(None, [why, told]))]

    def _left_alone(self, change: Action) -> str:
        """Where two causes had a part together, the one that the one change leaves for the pour after it."""
        for suspect in self.report.suspects[:2] if self.report.both else ():
            if suspect.cause.id not in change.remedy.fixes:
                return f"It leaves {quoted(suspect.cause.title)} alone ({how_sure(suspect.probability)}), which is for the pour after, or for the whole plan."
        return ""

    def _outcome(self, parting: Parting) -> str:
        """What a good part and a bad one will mean, if it was one of the two."""
        change = parting.change
        return (
            f"If the part comes good, it was {quoted(parting.good.title)} ({wording.figure(change.if_good)}); if the same fault comes again, it was "
            f"{quoted(parting.bad.title)} ({wording.figure(change.if_bad)}). That holds if only one of the two had a part."
        )

    def plan(self) -> list[Block]:
        """The whole plan for somebody who can't afford another bad part, with its sums."""
        whole = self.report.advice.whole
        if whole is None:
            return []
        if not whole.rest:
            return [
                f"Nothing beside the one change is worth its cost. It mends all that had a part in {_of_100(whole.plan.success)}. {self._reaching(whole)}"
            ]
        minor = [self._named(action.remedy) for action in whole.rest if not action.mends]
        also = [f"And for less likely causes: {'; '.join(minor)}."] if minor else []
        return [
            self._sum(whole),
            *(self._step(action) for action in whole.rest if action.mends),
            " ".join([*also, self._reaching(whole)]),
        ]

    def _sum(self, whole: Whole) -> str:
        alone, plan = whole.alone, whole.plan
        them = "this" if len(whole.rest) == 1 else f"these {len(whole.rest)}"
        return (
            f"Do the one change and {them} together; you won't learn which did it. All that had a part is then mended in {_of_100(plan.success)}, "
            f"with the one change alone in {_of_100(alone.success)}. With an hour at {whole.hour:.0f} and another bad part at {whole.bad_part:.0f}: "
            f"{_cost(plan.cost, plan.success, whole.bad_part)} for the plan, {_cost(alone.cost, alone.success, whole.bad_part)} for the one change."
        )

    def _step(self, action: Action) -> Entry:
        """A remedy of the plan in short: what it is for, what to do, and its caution."""
        remedy = action.remedy
        mends = listed([quoted(cause.title) for cause, _ in action.mends])
        when = ", between pours" if remedy.when == "between_pours" else ""
        rows = (Row("", (remedy.do,)), Row("Caution", (remedy.caution,) if remedy.caution else (), "caution"))
        return Entry(remedy.title, f"{self.spent(remedy)}{when}; for {mends}", tuple(row for row in rows if row.lines))

    def _reaching(self, whole: Whole) -> str:
        goal = f"{100 * GOAL:.0f} of 100"
        if whole.reaching is None:
            return f"Nothing known here reaches {goal}; everything together reaches {_of_100(whole.most)}."
        if not whole.extra:
            return f"That reaches {goal}."
        extra = "; ".join(self._named(remedy) for remedy in whole.extra)
        return f"To reach {goal} do also: {extra}. The cheapest way there costs {whole.reaching.cost:.0f} in all."

    def _named(self, remedy: Remedy) -> str:
        return f"{in_sentence(remedy.title)} ({self.spent(remedy)})"

    # -- remedies --------------------------------------------------------------------------------------------------

    def _in_short(self, action: Action) -> Entry:
        """A remedy that is not the advice: what to do, how surely it works, and its caution."""
        remedy = action.remedy
        rows = (Row("", (remedy.do,)), Row("Caution", (remedy.caution,) if remedy.caution else (), "caution"))
        return Entry(
            remedy.title, f"{self.spent(remedy)}; {self._works(action)}", tuple(row for row in rows if row.lines)
        )

    def _works(self, action: Action) -> str:
        return listed([f"{wording.mends(link.word)} for {quoted(cause.title)}" for cause, link in action.mends])

    def _action(self, action: Action) -> Entry:
        remedy, works = action.remedy, self._works(action)
        rows = (
            Row("", (remedy.do,)),
            Row("How surely", (works,) if works else ()),
            Row("Worked if", (remedy.verify,) if remedy.verify else ()),
            Row("Caution", (remedy.caution,) if remedy.caution else (), "caution"),
        )
        return Entry(
            remedy.title,
            self.spent(remedy) + (", between pours" if remedy.when == "between_pours" else ""),
            tuple(row for row in rows if row.lines),
        )


def _cost(cost: float, success: float, bad_part: float) -> str:
    return f"{cost:.0f} + {1 - success:.2f} x {bad_part:.0f} = {cost + (1 - success) * bad_part:.0f}"


def _of_100(chance: float) -> str:
    """Return a chance as pours: `about 60 of 100`."""
    return wording.figure(chance).replace(" %", " of 100")
