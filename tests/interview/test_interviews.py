"""The eight callers of `docs/interviews.md`: few prompts, the right lead, and what matters to a fault asked early."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from diagnose.knowledge import Knowledge
from tests.interview.scenarios import CALLERS, Caller, Played, page, play

PAGE = Path(__file__).parents[2] / "docs/interviews.md"


@pytest.fixture(scope="module")
def played(knowledge: Knowledge) -> dict[str, Played]:
    """All interviews, each played once."""
    return {caller.name: play(caller, knowledge) for caller in CALLERS}


@pytest.mark.parametrize("caller", CALLERS, ids=lambda caller: caller.name)
def test_from_the_first_fault_to_the_answer_takes_few_prompts(caller: Caller, played: dict[str, Played]) -> None:
    """Twelve at most until it is offered, that and every counter-question among them, and never more than version 0.1.0 took."""
    assert 1 <= played[caller.name].prompts <= min(12, caller.before)


def test_what_is_picked_beside_the_answer_is_asked_and_no_more(played: dict[str, Played]) -> None:
    """A prompt for each that is picked and one more list; two of the callers know something that was not asked."""
    assert sum(one.beside > 0 for one in played.values()) >= 2
    for one in played.values():
        picked = [len(re.findall(r"\? \([\d.]+ (?:s|min|h)\)", line)) for line in one.screen if line.startswith("> ")]
        assert one.beside == sum(count + 1 for count in picked if count)


@pytest.mark.parametrize("caller", [c for c in CALLERS if c.expected], ids=lambda caller: caller.name)
def test_what_they_know_leads_to_the_right_cause(caller: Caller, played: dict[str, Played]) -> None:
    """The cause that the caller's own answers point to is first."""
    assert played[caller.name].consultation.situation.beliefs.causes[0].id in caller.expected


def test_what_decides_is_asked_early(played: dict[str, Played]) -> None:
    """Grams for a sticky part, temperatures for a poor skin: the first thing asked is one of them."""
    grams = _asked(played, "Tacky right through")
    assert grams[:3] == ["ratio_target", "a_mass", "b_mass"]
    assert _asked(played, "Fox nose")[:2] == ["room_temperature", "material_temperature"]
    assert "mold_temperature" in _asked(played, "Rabbit mask")[:2]


def test_who_knows_nothing_is_not_kept(played: dict[str, Played]) -> None:
    """After eight questions in vain the answer is offered."""
    asked = played["Somebody who knows nothing but that fingers are missing"]
    assert asked.prompts <= 9
    assert not any(a.known for name, a in asked.consultation.case.values.items() if name != "short_fill")


def test_the_page_is_what_is_played(knowledge: Knowledge) -> None:
    """`docs/interviews.md` is what the command writes."""
    assert PAGE.read_text(encoding="utf-8") == page(knowledge)


def _asked(played: dict[str, Played], name: str) -> list[str]:
    """What was asked of the caller whose name begins so, in order, beyond the opening."""
    found = next(one for title, one in played.items() if title.startswith(name))
    opening = {"build", "painted", *found.caller.faults}
    return [question for question in found.consultation.case.answers if question not in opening]
