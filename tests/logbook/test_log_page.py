"""Monday's page: counted in the engine, the same on both, and right by counting again by hand."""

from __future__ import annotations

import json
from collections import Counter
from pathlib import Path

import pytest
from log_support import new_database
from msgspec.structs import replace
from scipy import stats
from shop import Shop

from diagnose.assessment.consultation import ModelCache
from diagnose.knowledge import Knowledge
from diagnose.logbook.book import New, add, put_in
from diagnose.logbook.counts import Span
from diagnose.logbook.entry import Outcome, Said, case_of, entry_of
from diagnose.logbook.page import page_of
from diagnose.logbook.statistics import false_discovery, wilson
from diagnose.logbook.store import Store
from diagnose.report.log_page import log_page_text
from diagnose.report.text.log_page import page_lines


@pytest.fixture(scope="module")
def parts(knowledge: Knowledge) -> list[New]:
    """Six hundred parts of a shop, each bad one with what was said of it."""
    rates = {**dict.fromkeys(knowledge.causes, 0.02), "mold_cold": 0.2}
    made = list(Shop(knowledge, rates, by_mold={"mold 2": {"trapped_air": 0.9}}).parts(600))
    said = [Said("made up", (("mold_cold", ((i * 37) % 99 + 1) / 100),)) for i in range(len(made))]
    return [
        new if new.entry.good else replace(new, entry=replace(new.entry, said=told))
        for new, told in zip(made, said, strict=True)
    ]


@pytest.fixture
def filled(store: Store, parts: list[New]) -> Store:
    with store.writing() as connection:
        put_in(connection, parts)
    return store


def test_it_counts_what_is_there(filled: Store, parts: list[New]) -> None:
    """Parts, faults, causes, plans and weeks as a count by hand finds them."""
    page = page_of(filled, Span()).to_plain()
    bad = [new for new in parts if not new.entry.good]
    assert (page["n"], page["bad"], page["waiting"]) == (len(parts), len(bad), 0)
    faults = Counter(symptom for new in bad for symptom in new.entry.symptoms)
    assert {bar["id"]: bar["count"] for bar in page["pareto_faults"]} == faults
    causes = Counter(cause for new in bad for cause in new.outcomes[-1].causes)
    assert {bar["id"]: bar["count"] for bar in page["pareto_causes"]} == causes
    assert sum(bar["cost"] for bar in page["pareto_causes"]) == pytest.approx(50.0 * len(bad), abs=0.5)
    assert sum(bar["cost"] for bar in page["pareto_faults"]) == pytest.approx(50.0 * len(bad), abs=0.5)
    tried = [new for new in bad if new.outcomes[-1].next != "not_poured"]
    good = sum(new.outcomes[-1].next == "good" for new in tried)
    assert (page["plans"]["tried"], page["plans"]["good"]) == (len(tried), good)
    assert (page["plans"]["low"], page["plans"]["high"]) == pytest.approx(wilson(good, len(tried)))
    points = page["p_chart"]["points"]
    assert sum(point["n"] for point in points) == len(parts)
    assert sum(point["bad"] for point in points) == len(bad)
    assert [point["period"] for point in points] == sorted({point["period"] for point in points})


def test_calibration_is_of_the_first_cause(filled: Store, parts: list[New]) -> None:
    """Said so, right so often: band by band as counted by hand."""
    page = page_of(filled, Span()).to_plain()
    for band in page["calibration"]:
        mine = [
            new for new in parts if not new.entry.good and band["from"] <= (new.entry.said.first[1] or 0.0) < band["to"]
        ]
        assert band["n"] == len(mine)
        assert band["right"] == sum(new.entry.said.first[0] in new.outcomes[-1].causes for new in mine)
    assert sum(band["n"] for band in page["calibration"]) == page["bad"]


def test_what_goes_with_what_is_found_by_exact_tests(filled: Store, parts: list[New]) -> None:
    """The mold that traps air shows; p by scipy's test of the four counts, q over all pairs tested, and every effect has its interval."""
    page = page_of(filled, Span()).to_plain()
    found = page["associations"]
    assert any(a["factor"] == "mold" and a["level"] == "mold 2" for a in found)
    for a in found:
        level = [new for new in parts if getattr(new.entry.about, a["factor"], new.entry.ratio) == a["level"]]
        table = [[a["seen"], a["of"] - a["seen"]], [a["seen_elsewhere"], a["of_elsewhere"] - a["seen_elsewhere"]]]
        if a["factor"] in ("mold", "lot_a"):
            assert a["of"] == len(level)
            assert a["seen"] == sum(a["fault"] in new.entry.symptoms for new in level)
        assert a["p"] == pytest.approx(stats.fisher_exact(table)[1], rel=1e-6)
        assert a["low"] < a["odds_ratio"] < a["high"]
        assert a["p"] <= a["q"] <= 0.10
    assert [a["q"] for a in found] == sorted(a["q"] for a in found)
    assert page["pairs_tested"] > len(found)


def test_nothing_goes_with_anything_in_a_shop_without_habits(store: Store, knowledge: Knowledge) -> None:
    """False findings are controlled: of a hundred and more pairs hardly one is shown."""
    with store.writing() as connection:
        put_in(connection, list(Shop(knowledge, seed=11).parts(150)))
    page = page_of(store, Span()).to_plain()
    assert page["pairs_tested"] > 50
    assert len(page["associations"]) <= 2
    assert false_discovery([0.5]) == [0.5]


def test_a_span_holds_its_days_and_no_others(filled: Store, parts: list[New], knowledge: Knowledge) -> None:
    """Both ends count; a part without a day is in no bounded span."""
    add(filled, New(entry_of(case_of({"case": 1, "answers": {}}, knowledge), knowledge, good=True)))
    day = parts[30].entry.about.date
    page = page_of(filled, Span(day, day)).to_plain()
    assert page["n"] == sum(new.entry.about.date == day for new in parts)
    assert page_of(filled, Span()).to_plain()["n"] == len(parts) + 1
    assert page_of(filled, Span("2020-01-01", "2099-01-01")).to_plain()["n"] == len(parts)
    assert page_of(filled, Span("", "2020-01-01")).to_plain()["n"] == 0


def test_both_engines_give_the_same_bytes(parts: list[New], tmp_path: Path, address: str) -> None:
    """SQLite and PostgreSQL: the same page."""
    from diagnose.logbook.places import where_of
    from diagnose.logbook.store import open_log

    pages = []
    for place in (str(tmp_path / "log.db"), new_database(address)):
        opened = open_log(where_of(place), write=True)
        with opened.writing() as connection:
            put_in(connection, parts)
        pages.append(json.dumps(page_of(opened, Span()).to_plain()))
        opened.close()
    assert pages[0] == pages[1]


def test_an_opinion_proves_nothing(file_store: Store, knowledge: Knowledge) -> None:
    """It counts among the causes and not in the calibration."""
    case = case_of({"case": 1, "answers": {"symptoms": ["thin_skin"]}, "about": {"date": "2026-01-05"}}, knowledge)
    entry = replace(entry_of(case, knowledge), said=Said("made up", (("mold_cold", 0.7),)))
    add(file_store, New(entry, (Outcome(("mold_cold",), "opinion", "not_poured"),)))
    page = page_of(file_store, Span()).to_plain()
    assert page["pareto_causes"][0]["id"] == "mold_cold"
    assert page["calibration"] == []
    assert page["plans"]["tried"] == 0


def test_an_empty_log_has_a_page(file_store: Store, knowledge: Knowledge) -> None:
    """It says so, as JSON, in words and as HTML."""
    page = page_of(file_store, Span("2026-01-01", "")).to_plain()
    assert page["n"] == 0
    assert page["p_chart"] == {"center": 0.0, "points": []}
    assert list(page_lines(page, knowledge)) == ["The house log, from 2026-01-01", "No part is logged for these days."]
    assert "No part is logged" in log_page_text(page, knowledge)


def test_the_words_say_what_the_numbers_say(filled: Store, knowledge: Knowledge) -> None:
    """Each part of the page is there, causes by their titles, no p without its effect."""
    text = "\n".join(page_lines(page_of(filled, Span()).to_plain(), knowledge))
    for words in (
        "FAULTS",
        "CAUSES OF CLOSED PARTS",
        "SHARE OF BAD PARTS BY WEEK",
        "WHAT GOES WITH WHAT",
        "95 % interval",
    ):
        assert words in text
    assert knowledge.causes["mold_cold"].title in text
    assert "mold_cold" not in text


def test_the_html_page_stands_by_itself(filled: Store, knowledge: Knowledge) -> None:
    """Pictures inside with words for who can't see them, no script, nothing from elsewhere, and the same bytes again."""
    page = page_of(filled, Span()).to_plain()
    html = log_page_text(page, knowledge)
    assert html.count("<svg") == html.count("<desc") == 3
    for words in ("<script", "http://", "https://", "src=", "@import"):
        assert words not in html
    assert log_page_text(page, knowledge) == html


def test_names_can_not_become_markup(file_store: Store, knowledge: Knowledge, models: ModelCache) -> None:
    """A mold called like a script is a name; so is one that would move the cursor."""
    with file_store.writing() as connection:
        for i in range(40):
            bad = i % 2 == 0
            answers = {"symptoms": ["pinholes"]} if bad else {}
            about = {"date": "2026-01-05", "mold": "<script>alert(1)</script>\x1b[2J" if bad else "plain"}
            case = case_of({"case": 1, "answers": answers}, knowledge).with_about(**about)
            put_in(connection, [New(entry_of(case, knowledge, good=not bad))])
    page = page_of(file_store, Span()).to_plain()
    assert page["associations"]
    html = log_page_text(page, knowledge)
    assert "<script" not in html
    assert "&lt;script&gt;" in html
    assert "\x1b" not in html
    assert not any("\x1b" in line for line in page_lines(page, knowledge))
