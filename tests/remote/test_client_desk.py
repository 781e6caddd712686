"""The desk: one id over phone, page and second round; what a round changed; who waits; what a reply says and what not."""

from __future__ import annotations

from typing import Any

import pytest
from msgspec.structs import replace

from diagnose.assessment.assess import assess
from diagnose.assessment.consultation import Consultation, ModelCache
from diagnose.commands._desk_log import DeskLog
from diagnose.errors import InputError
from diagnose.knowledge import Knowledge
from diagnose.logbook import book
from diagnose.logbook.entry import Outcome
from diagnose.remote.cases import joined, usable_case
from diagnose.remote.desk import Taken, errand_of, rounds_of, take, take_call, waiting
from diagnose.remote.order import case_of
from diagnose.remote.reply import Reply, reply_of, reply_page, reply_text
from diagnose.remote.returned import read_returned
from diagnose.remote.words import taken_lines, waiting_lines

from .conftest import DAY, packed, report


def _take(log: DeskLog, models: ModelCache, day: str = DAY, **changes: Any) -> Taken:
    return take(read_returned(packed(report(**changes)), "file", models.knowledge), log, models, day)


def _reply(models: ModelCache, **plain: Any) -> Reply:
    case = usable_case(plain, "case", models.knowledge, [])
    return reply_of(assess(Consultation(models, case), full=True), case, models.knowledge, "abcd5")


# -- rounds ----------------------------------------------------------------------------------------------------------


def test_one_id_from_the_phone_to_the_second_page(log: DeskLog, models: ModelCache, shipped: Knowledge) -> None:
    """A call, a page and a second page are one case of three rounds; the later answers count, the earlier stay."""
    called = take_call(case_of(shipped, ["rounded_tips"], "bare_foam"), "harbor", log, models, DAY)
    page = {
        "id": called.id,
        "token": "0" * 18,
        "answers": {"symptoms": ["rounded_tips"], "repeats": "same_spot", "orientation": "unknown"},
    }
    first = _take(log, models, "2026-03-03", **page)
    second = _take(
        log,
        models,
        "2026-03-05",
        id=called.id,
        token="1" * 18,
        answers={"vents_at_tips": "none", "repeats": "moves_about"},
    )
    assert [called.id, first.id, second.id] == [called.id] * 3
    assert [called.round, first.round, second.round] == [1, 2, 3]
    found = log.find(called.id)
    assert found is not None
    assert [(one.how, one.day) for one in rounds_of(found.case)] == [
        ("phone", DAY),
        ("page", "2026-03-03"),
        ("page", "2026-03-05"),
    ]
    told = {name: answer.value for name, answer in found.case.values.items()}
    assert told["vents_at_tips"] == "none"
    assert told["repeats"] == "moves_about"
    assert told["rounded_tips"] == "seen"
    assert len(log.open_cases("harbor")) == 1


def test_a_round_shows_what_it_moved(log: DeskLog, models: ModelCache) -> None:
    """The causes that a round moved are told with their chances before and after, most first; a first round moves
    nothing.
    """
    first = _take(log, models)
    second = _take(log, models, id=first.id, token="1" * 18, answers={"vents_at_tips": "none", "repeats": "same_spot"})
    assert first.moves == ()
    air = next(move for move in second.moves if move.cause == "trapped_air")
    assert air.now > air.before + 0.05
    sizes = [abs(move.now - move.before) for move in second.moves]
    assert sizes == sorted(sizes, reverse=True)
    lines = "\n".join(taken_lines(second, models.knowledge, "harbor"))
    assert "this round:" in lines
    assert "rose from" in lines


def test_the_same_file_twice_is_one_case(log: DeskLog, models: ModelCache) -> None:
    """Taken again it keeps its id and its round, and it is told; another part of the same client is another case."""
    first = _take(log, models)
    again = _take(log, models)
    other = _take(log, models, token="f" * 18)
    assert (again.id, again.round) == (first.id, 1)
    assert any("taken before" in fault for fault in again.faults)
    assert other.id != first.id


def test_an_id_of_another_client_is_not_touched(log: DeskLog, models: ModelCache) -> None:
    """Who names somebody else's id gets a case of his own, and the other stays as it is."""
    mine = _take(log, models)
    theirs = _take(log, models, client="quarry", id=mine.id, token="2" * 18)
    assert theirs.id != mine.id
    assert any("not a case of this client" in fault for fault in theirs.faults)
    found = log.find(mine.id)
    assert found is not None
    assert (found.client, len(rounds_of(found.case))) == ("harbor", 1)


def test_an_id_that_is_not_here_makes_a_new_case(log: DeskLog, models: ModelCache) -> None:
    """A page of another desk's log is a new case here, with a line that says so."""
    taken = _take(log, models, id="zzzzz")
    assert taken.id != "zzzzz"
    assert any("no case zzzzz" in fault for fault in taken.faults)


def test_what_contradicts_the_first_round_is_told(log: DeskLog, models: ModelCache) -> None:
    """A paint fault on a part told as unpainted is dropped, the rest of the round is taken."""
    first = _take(log, models)
    second = _take(
        log, models, id=first.id, token="3" * 18, answers={"symptoms": ["paint_peels_clean"], "repeats": "same_spot"}
    )
    told = {name: answer.value for name, answer in second.case.values.items()}
    assert "paint_peels_clean" not in told
    assert (told["repeats"], told["rounded_tips"]) == ("same_spot", "seen")
    assert any("paint_peels_clean" in fault for fault in second.faults)


def test_rounds_join_as_files() -> None:
    """The newer answer counts, a fault taken back moves to its new list, remarks follow one another."""
    before = {
        "title": "Owl",
        "answers": {"build": "bare_foam", "symptoms": ["a", "b"]},
        "about": {"remarks": "one", "mold": "m"},
    }
    now = {"title": "x", "answers": {"build": "skin_and_foam", "symptoms_absent": ["b"]}, "about": {"remarks": "two"}}
    assert joined(before, now) == {
        "title": "Owl",
        "answers": {"build": "skin_and_foam", "symptoms": ["a"], "symptoms_absent": ["b"]},
        "about": {"remarks": "one / two", "mold": "m"},
    }


def test_a_closed_case_is_not_changed(log: DeskLog, models: ModelCache) -> None:
    """A round for a case that is closed is refused in one line."""
    first = _take(log, models)
    book.close(log.store, first.id, Outcome(("trapped_air",), "fixed", "good"))
    with pytest.raises(InputError, match="expected an open case"):
        _take(log, models, id=first.id, token="4" * 18)


def test_photos_of_all_rounds_stay(log: DeskLog, models: ModelCache) -> None:
    """Photos of a second round are added under names of ours."""
    import base64
    import io

    from PIL import Image

    def photo(shade: int) -> list[dict[str, str]]:
        made = io.BytesIO()
        Image.new("L", (40, 30), shade).save(made, "JPEG")
        return [{"name": "x", "of": "", "jpeg": base64.b64encode(made.getvalue()).decode()}]

    first = _take(log, models, photos=photo(10))
    _take(log, models, id=first.id, token="5" * 18, answers={"repeats": "same_spot"}, photos=photo(200))
    assert [name for name, _ in book.kept(log.store, first.id).photos] == ["client-photo-1.jpg", "client-photo-2.jpg"]


def test_a_case_without_a_fault_gets_a_first_page(models: ModelCache) -> None:
    """After a call in which no fault was named the page is a first one, under the id of the call, with what was told."""
    case = usable_case({"answers": {"build": "bare_foam"}}, "x", models.knowledge, [])
    errand = errand_of(Consultation(models, case), "harbor", "abcd5", 2)
    assert (errand.id, errand.round, errand.ask, errand.before) == ("abcd5", 1, (), {"build": "bare_foam"})


def test_an_errand_with_nothing_left_is_refused(models: ModelCache, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where no answer would tell more there is no page to send."""
    monkeypatch.setattr("diagnose.remote.desk.batch_of", lambda consultation, count: ())
    with pytest.raises(InputError, match="nothing is left to ask"):
        errand_of(Consultation(models, case_of(models.knowledge, ["thin_skin"], "bare_foam")), "harbor", "abcd5", 2)


# -- who waits -------------------------------------------------------------------------------------------------------


def test_clients_wait_by_name_and_by_days(log: DeskLog, models: ModelCache) -> None:
    """By client, the longest waiting first; a closed case and a case without a client are not there."""
    new = _take(log, models, "2026-03-09")
    old = _take(log, models, "2026-02-20", token="6" * 18)
    other = _take(log, models, "2026-03-01", client="quarry", token="7" * 18)
    closed = _take(log, models, "2026-01-01", client="quarry", token="8" * 18)
    book.close(log.store, closed.id, Outcome(("trapped_air",), "opinion", "not_poured"))
    log.keep(case_of(models.knowledge, ["thin_skin"]), new.assessment, ())
    found = waiting(log, "2026-03-10")
    assert [(one.client, one.id, one.days) for one in found] == [
        ("harbor", old.id, 18),
        ("harbor", new.id, 1),
        ("quarry", other.id, 9),
    ]
    lines = waiting_lines(found, models.knowledge)
    assert lines[0] == "harbor"
    assert "18 days" in lines[1]
    assert waiting_lines([], models.knowledge) == ["No client is waiting."]


# -- the reply -------------------------------------------------------------------------------------------------------

_COLD = {
    "build": "bare_foam",
    "painted": "no",
    "symptoms": ["thin_skin", "tacky_face_only"],
    "symptoms_absent": ["tacky_through"],
    "mold_temperature": "52 degF",
    "material_temperature": "70 degF",
    "mold_dampness": "dry",
    "cup_leftover": "good",
    "changed_since_good": ["season"],
}


def test_a_reply_says_what_to_do_and_how_sure(models: ModelCache) -> None:
    """The cause in the client's units, one change with its caution, their numbers, what would prove it wrong."""
    reply = _reply(models, title="Goose", answers=_COLD)
    text = reply_text(reply)
    assert reply.think[0].startswith('We think it was "Mold face too cold')
    assert "52" in text
    assert "°F" in text
    for heading in ("WHAT WE THINK", "DO THIS NEXT", "THIS PART", "YOUR NUMBERS FOR THE NEXT POUR", "TAKE CARE"):
        assert f"\n{heading}\n" in text
    assert reply.do
    assert reply.wrong
    assert max(map(len, text.splitlines())) <= 76


def test_page_and_mail_say_the_same(models: ModelCache) -> None:
    """Every sentence of the mail is on the page."""
    import html
    import re

    reply = _reply(models, title="Goose", answers=_COLD)
    page = " ".join(html.unescape(re.sub(r"<[^>]+>", " ", reply_page(reply))).split())
    for line in (*reply.think, *reply.wrong, *(text for step in reply.do for _, text in step.lines), *reply.cautions):
        assert " ".join(line.split()) in page


def test_a_reply_holds_nothing_of_the_desk(models: ModelCache) -> None:
    """No person, no remark, no alias, no lot, no id of the knowledge."""
    about = {"client": "harbor", "person": "Robin", "remarks": "they shout", "lot_a": "A77", "part": "mask"}
    reply = _reply(models, title="Goose", answers=_COLD, about=about)
    for text in (reply_text(reply), reply_page(reply)):
        for hidden in ("harbor", "Robin", "shout", "A77", "mold_cold", "thin_skin"):
            assert hidden not in text


def test_a_danger_comes_first_in_a_reply(models: ModelCache) -> None:
    """A brown middle is told before what we think, and nothing that warms the part is offered."""
    reply = _reply(models, answers={"build": "bare_foam", "symptoms": ["scorched_core"]})
    text = reply_text(reply)
    assert text.index("!! ") < text.index("WHAT WE THINK")
    assert "Carry it outdoors" in text
    assert reply.this_part == ()
    assert "Leave it alone" in reply.this_part_note


def test_a_reply_about_nothing_asks_what_is_wrong(models: ModelCache) -> None:
    """A case of remarks alone gets an honest reply."""
    reply = _reply(models, answers={"build": "bare_foam"}, about={"remarks": "help"})
    assert "no fault that we know by name" in reply.think[0]
    assert reply.do == ()


def test_a_round_tells_the_support_person_all(log: DeskLog, models: ModelCache) -> None:
    """Dangers, what is seen, remarks, what was dropped, and the next command."""
    taken = _take(
        log,
        models,
        answers={"symptoms": ["scorched_core"], "nonsense": "x"},
        about={"remarks": "hot to the touch"},
        warned=["hot_core"],
    )
    lines = taken_lines(taken, models.knowledge, "har bor", ["hot_core"])
    text = "\n".join(lines)
    assert lines[1].startswith("!! ")
    assert text.count("!! ") == len(taken.assessment.dangers)
    assert "They say: hot to the touch" in text
    assert "Dropped: nonsense" in text
    assert f"diagnose client reply {taken.id}" in text
    assert taken.case.about.client == "harbor"
    settled = replace(taken, ask=())
    assert "would not pay" in taken_lines(settled, models.knowledge, "harbor")[-1]
