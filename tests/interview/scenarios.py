"""Eight made-up callers played through the questionnaire: `python -m tests.interview.scenarios > docs/interviews.md`.

Each caller knows what stands beside him here and says "don't know" to all else. What he would read is counted at 200 words a minute, every
row of every menu included. The prompts are those from the first fault that is told to the card; what comes before (safety, evidence,
build, paint, title, faults) is the same for all and is counted apart.
"""

from __future__ import annotations

import io
import tempfile
import textwrap
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from diagnose.assessment.assess import assess
from diagnose.assessment.consultation import Consultation
from diagnose.interview.autosave import Draft
from diagnose.interview.dialogue import Field, Menu, Reply
from diagnose.interview.flow import Session
from diagnose.interview.frontends.scripted import ScriptedAsker
from diagnose.interview.progress import Notebook
from diagnose.interview.symptoms import DONE, NAME, WORDS
from diagnose.knowledge import Knowledge, load_knowledge
from diagnose.prose.chance import figure
from diagnose.report.terminal import print_card
from diagnose.report.text.shown import Shown

#: words read in a minute
READS = 200
_HEAD = """# Eight interviews

Eight made-up callers, played by `python -m tests.interview.scenarios > docs/interviews.md`. Each knows what it takes to tell his case and says "don't know" to
all else. *Prompts* are those from the first fault that is told to the offer of the answer, that and every counter-question among them; before that come safety,
evidence, build, paint, title and faults. *Picked beside* are the prompts after the offer, for what he picks from the list that stands there. *Prompts before* is the same of version 0.1.0, counted by hand on the same callers. *Read* is the time to read
every word and every row of every menu from the first prompt on, at 200 words a minute. `?` is what is asked, `>` the reply."""


@dataclass(frozen=True)
class Caller:
    """One caller: what is wrong (*faults*), what he *knows*, when he has had *enough* (None: never), and whether he is on the *phone*, with
    the *words* that he says first.

    *before* are the prompts that version 0.1.0 put from the first fault to its answer, as counted by hand then.
    """

    name: str
    build: str
    painted: str
    faults: tuple[str, ...]
    knows: Mapping[str, str | tuple[str, ...]] = field(default_factory=dict)
    expected: tuple[str, ...] = ()
    before: int = 0
    enough: int | None = None
    phone: bool = False
    words: str = ""


CALLERS = (
    Caller(
        "Fox nose with hardly any skin; cans on a cold floor, first casting",
        "bare_foam",
        "no",
        ("thin_skin",),
        {
            "cans_stored": "cold",
            "material_temperature": "14 C",
            "room_temperature": "17 C",
            "release_used": "silicone",
            "repeats": "first_casting",
            "cup_leftover": "good",
            "where_worst": ("everywhere",),
            "look_at_pour": "liquid_even",
            "stick_test": "even",
            "mold_dampness": "dry",
        },
        ("material_cold", "charge_small", "silicone_release"),
        40,
    ),
    Caller(
        "Wolf ears like thumbs, ears up, no vents, the same spot each time",
        "bare_foam",
        "no",
        ("rounded_tips",),
        {"orientation": "detail_up", "vents_at_tips": "none", "repeats": "same_spot", "cup_leftover": "good"},
        ("trapped_air",),
        16,
    ),
    Caller("Somebody who knows nothing but that fingers are missing", "", "", ("short_fill",), {}, (), 62),
    Caller(
        "Jaw with pockets and a big void, asks for the answer after five",
        "bare_foam",
        "no",
        ("smooth_pockets",),
        {"orientation": "detail_up", "look_at_pour": "creamy"},
        ("poured_late", "trapped_air"),
        6,
        enough=5,
    ),
    Caller(
        "Tacky right through: 86 g of A to 200 g of B at 1:2",
        "bare_foam",
        "no",
        ("tacky_through",),
        {"ratio_target": "1 to 2", "a_mass": "86 g", "b_mass": "200 g", "cup_leftover": "sticky", "stick_test": "even"},
        ("b_rich",),
        14,
    ),
    Caller(
        "Painted tentacle, the paint peels clean off",
        "bare_foam",
        "yes",
        ("paint_peels_clean",),
        {
            "paint_when": "after_demold",
            "release_used": "silicone",
            "washed_before_paint": "dry_wipe",
            "peel_back": "clean_slick",
            "paint_wait": "20 h",
        },
        ("silicone_release", "residue_on_part"),
        15,
    ),
    Caller(
        "Rubber skin comes off the foam, told by phone",
        "skin_and_foam",
        "no",
        ("skin_peels_clean",),
        {"skin_state_at_foam": "dry", "skin_to_foam_time": "26 h", "peel_back": "clean_dull", "cup_leftover": "good"},
        ("skin_overcured",),
        13,
        phone=True,
        words="the skin comes off clean like a glove",
    ),
    Caller(
        "Rabbit mask sticky on its face alone, mold at 12 °C",
        "bare_foam",
        "no",
        ("tacky_face_only",),
        {"mold_temperature": "12 C", "room_temperature": "18 C", "cup_leftover": "good", "mold_dampness": "dry"},
        ("mold_cold",),
        11,
    ),
)


class Recorder(ScriptedAsker):
    """Answers as a caller would, and keeps what stood on the screen."""

    def __init__(self, caller: Caller) -> None:
        fixed = {"safety": "well", "build": caller.build, "painted": caller.painted, WORDS: caller.words}
        super().__init__(answers={**{name: value for name, value in fixed.items() if value}, **caller.knows})
        self.caller = caller
        self.lines_seen: list[str] = []
        self.words = self.after_fault = self.offered = 0

    def tell(self, text: str, quiet: bool = False, whole: bool = False) -> None:
        """Keep what is said."""
        super().tell(text, quiet, whole)
        self._read(text)
        self.lines_seen.append(f"  {text}" if text else "")

    def choose(self, menu: Menu) -> Reply:
        """Tick the caller's faults where they are on the list; answer what he knows; ask for the answer when he has had enough."""
        for text in (menu.message, *(row.title for row in menu.rows)):
            self._read(text)
        reply = self._choice(menu)
        titles = [row.title for row in (*menu.rows, *menu.commands) if row.value in (reply.values or (reply.command,))]
        self._asked(menu, ", ".join(titles))
        return reply

    def _choice(self, menu: Menu) -> Reply:
        if self._had_enough(menu):
            return Reply(command="enough")
        rows = {row.value for row in menu.rows}
        ticked = tuple(name for name in self.caller.faults if name in rows)
        if menu.name == "safety":
            return super().choose(menu)
        if menu.name == "ended" and (known := tuple(row.value for row in menu.rows if row.value in self.caller.knows)):
            return Reply(known)
        if menu.several and ticked:
            return Reply(ticked)
        if menu.name == NAME and DONE not in rows:
            family = load_knowledge().symptoms[self.caller.faults[0]].family
            return Reply((family,))
        if menu.name.endswith(".doubt"):
            return Reply(("seen",))
        return super().choose(menu)

    def fill(self, field: Field) -> Reply:
        """Type what the caller knows."""
        self._read(field.message)
        if self._had_enough(field):
            self._asked(field, "show me")
            return Reply(command="enough")
        reply = super().fill(field)
        self._asked(field, reply.text or field.empty)
        return reply

    def _had_enough(self, prompt: Menu | Field) -> bool:
        return self.caller.enough is not None and self.after_fault >= self.caller.enough and prompt.name != "ended"

    def _asked(self, prompt: Menu | Field, answer: str) -> None:
        told = bool(self.asked) and prompt.name not in ("safety", "evidence", "build", "painted", "title", NAME, WORDS)
        ticks = isinstance(prompt, Menu) and prompt.several and not self.after_fault
        self.after_fault += told and not ticks
        self.offered = self.offered or (self.after_fault if prompt.name == "ended" else 0)
        self.lines_seen += [f"? {prompt.message}", f"> {answer}"]

    def _read(self, text: str) -> None:
        self.words += len(text.split())


@dataclass(frozen=True)
class Played:
    """How one interview went: *prompts* from the first fault to the offer of the answer, and so many *beside* it, by what the caller picked there."""

    caller: Caller
    consultation: Consultation
    prompts: int
    beside: int
    opening: int
    seconds: float
    screen: tuple[str, ...]


def play(caller: Caller, knowledge: Knowledge) -> Played:
    """Play *caller* through the questionnaire to its answer."""
    asker = Recorder(caller)
    with tempfile.TemporaryDirectory() as folder:
        session = Session(asker, Notebook(knowledge), Draft(Path(folder) / "case.yaml", knowledge), caller.phone)
        found = session.run()
    assert found is not None
    opening = len(asker.asked) - asker.after_fault
    prompts = asker.offered or asker.after_fault
    beside = asker.after_fault - prompts
    return Played(caller, found, prompts, beside, opening, 60 * asker.words / READS, tuple(asker.lines_seen))


def table(played: Sequence[Played]) -> list[str]:
    """Return the figures of all interviews, a row a caller."""
    lines = [
        "| caller | prompts before | prompts | picked beside | read, s | first cause |",
        "|---|---|---|---|---|---|",
    ]
    for one in played:
        first = one.consultation.situation.beliefs.causes[0]
        title = one.consultation.knowledge.causes[first.id].title
        lines.append(
            f"| {one.caller.name} | {one.caller.before} | {one.prompts} | {one.beside or '-'} | {one.seconds:.0f} | {title}, {figure(first.probability)} |"
        )
    return lines


def page(knowledge: Knowledge) -> str:
    """Return the page of all interviews, with what was read of each."""
    played = [play(caller, knowledge) for caller in CALLERS]
    parts = [_HEAD, "\n".join(table(played))]
    for one in played:
        said = "\n".join(line for text in one.screen for line in _wrapped(text))
        card = "\n".join(card_lines(one.consultation))
        parts.append(f"## {one.caller.name}\n\n```text\n{said}\n\n{card}\n```")
    return "\n\n".join(parts) + "\n"


def card_lines(consultation: Consultation) -> list[str]:
    """Return the card as `read --short` prints it for a mail."""
    stream = io.StringIO()
    print_card(Shown.of(assess(consultation), consultation.case, consultation.knowledge), stream)
    return stream.getvalue().rstrip().split("\n")


def _wrapped(text: str) -> list[str]:
    return textwrap.wrap(text, 110, subsequent_indent="    ") or [""]


if __name__ == "__main__":
    print(page(load_knowledge()), end="")
