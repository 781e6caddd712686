"""A figure in a text is the figure of the sum or of the practice number that speaks of the same thing, or there is none.

The sums are checked against outside sources in `tests/published/`; what else is here is common practice, no source.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest

from diagnose.bench import catalogue
from diagnose.bench.calculation import Figure
from diagnose.knowledge import load_knowledge

KNOWN = load_knowledge()
PRACTICE = KNOWN.practice
ATMOSPHERE, SOLID, FREE_RISE = 101.325, 1100.0, 160.0


def texts() -> Iterator[tuple[str, str]]:
    """Everything that is told of causes, faults, questions and remedies, by id."""
    for name, cause in KNOWN.causes.items():
        links = [*cause.symptoms.values(), *(link for results in cause.checks.values() for link in results.values())]
        yield name, " ".join((cause.title, cause.help, cause.mechanism, *(link.why for link in links)))
    for name, symptom in KNOWN.symptoms.items():
        yield name, f"{symptom.title} {symptom.help} {symptom.look}"
    for table in (KNOWN.facts, KNOWN.checks):
        for name, asked in table.items():
            yield name, f"{asked.title} {asked.help} {asked.find_out}"
    for name, remedy in KNOWN.remedies.items():
        yield name, " ".join((remedy.title, remedy.do, remedy.verify, remedy.caution))


def figures(sum_name: str, **values: float | str) -> dict[str, Figure]:
    """The figures of one sum."""
    return dict(catalogue.by_name(sum_name).run(values, PRACTICE).figures)


def numbers(text: str, pattern: str) -> list[float]:
    """The numbers that *pattern* finds in a text, which must be there."""
    found = re.search(pattern, text)
    assert found, text
    return [float(group) for group in found.groups()]


def test_the_wait_before_paint_is_that_of_the_sum() -> None:
    """A day is for a room at the temperature that sheets are said for, and the night in the box as long as the sum goes by."""
    do = KNOWN.remedies["wait_before_paint"].do
    (room,) = numbers(do, r"A day in a room of (\d+) °C")
    assert room == PRACTICE["sheet_temperature"].mid
    assert PRACTICE["paint_wait"].mid == 24
    hours, box = numbers(do, r"a night of (\d+) hours at (\d+) °C")
    (wait,) = figures("paint-wait", part_temperature=box).values()
    assert hours == pytest.approx(wait.high, abs=0.5)


def test_the_cream_of_a_warm_day_is_that_of_the_clock() -> None:
    """45 s at 25 °C at five degrees more: the two ends of the sum."""
    do = KNOWN.remedies["pour_before_cream"].do
    cream, at, low, high, warm = numbers(do, r"so (\d+) s at (\d+) °C is about (\d+) to (\d+) s at (\d+) °C")
    clock = figures("clock", material_temperature=warm, cream_time=cream, sheet_temperature=at)["cream_time"]
    assert (low, high) == (pytest.approx(clock.low, abs=0.5), pytest.approx(clock.high, abs=0.6))


def test_the_window_of_a_coat_is_that_of_the_sheet() -> None:
    """What is called safe, green and shut are the ends of the practice numbers that the sheet goes by."""
    ends = numbers(KNOWN.facts["skin_delay"].help, r"From ([\d.]+) to (\d+) is safe; under\s+([\d.]+) .* past (\d+) ")
    opens, closes = PRACTICE["window_opens"], PRACTICE["window_closes"]
    assert ends == [opens.high, closes.low, opens.low, closes.high]


def test_the_packing_that_is_called_usual_is_that_of_the_sheet() -> None:
    """The fact, the remedy and the practice number name the same four ends."""
    bare, backed = (PRACTICE["packing"].by_build[build] for build in ("bare_foam", "skin_and_foam"))
    wanted = [bare.low, bare.high, backed.low, backed.high]
    pattern = r"([\d.]+) to ([\d.]+)(?: is usual for)? bare(?: foam)?,\s+([\d.]+) to ([\d.]+) behind a skin"
    assert numbers(KNOWN.facts["packing"].help, pattern) == wanted
    assert numbers(KNOWN.remedies["pour_the_reckoned_grams"].do, pattern) == wanted
    (middle, behind) = numbers(KNOWN.facts["packing_against_usual"].help, r"([\d.]+) for bare foam and ([\d.]+) behind")
    assert (middle, behind) == (bare.mid, backed.mid)


def test_stick_and_second_cup_have_one_limit_each() -> None:
    """Up to 150 g a stick, from 45 s of cream a second cup: in the question, in the remedy, on the sheet."""
    do = KNOWN.remedies["mix_through_two_cups"].do
    assert numbers(do, r"for more than (\d+) g, a flat\s+stick only for less") == [PRACTICE["stick_batch"].mid]
    assert numbers(KNOWN.facts["mixed_with"].help, r"doubtful over (\d+) g") == [PRACTICE["stick_batch"].mid]
    assert numbers(do, r"creams after (\d+) s or more") == [PRACTICE["two_cups_cream"].mid]


def test_mixing_and_pouring_fit_into_the_cream_time() -> None:
    """Of 35 s, 14 go into mixing and the last drop is in by 23: nine seconds are left to pour, and no second cup is asked for."""
    share, cream, seconds = numbers(
        KNOWN.remedies["mix_through_two_cups"].do, r"Mix for ([\d.]+) of today's cream time \((\d+) s cream, (\d+) s\)"
    )
    assert seconds == pytest.approx(share * cream)
    assert share == PRACTICE["mix_fraction"].mid
    assert PRACTICE["pour_fraction"].mid * cream - seconds >= 8
    assert cream < PRACTICE["two_cups_cream"].mid


def test_what_water_does_is_said_once() -> None:
    """A gram of water makes 1.36 L of gas and eats 15 to 30 g of A, by the sum for A of 16 to 31 % NCO, wherever a text says how much."""
    said = [(name, text) for name, text in texts() if re.search(r"gram of water|1 g of water", text)]
    assert len(said) >= 2
    for name, text in said:
        (gas,) = numbers(text, r"about ([\d.]+) (?:L|liters) of gas")
        assert gas == pytest.approx(figures("water", water=1.0)["gas"].value, rel=0.01), name
        low, high = numbers(text, r"(\d+) to (\d+) g of (?:A|the hard side)")
        eaten = [figures("water", water=1.0, nco=nco)["a_eaten"].value for nco in (31.0, 16.0)]
        assert (low, high) == (pytest.approx(eaten[0], abs=0.5), pytest.approx(eaten[1], abs=1.0)), name
    assert not [name for name, text in texts() if re.search(r"(?:twenty|20) times (?:its weight|as much)", text)]


def test_rice_is_weighed_and_not_taken_from_a_table() -> None:
    """Two texts had two densities of rice; now it is weighed in a level cup."""
    for name, text in texts():
        for sentence in re.split(r"(?<=[.;])\s", text):
            if re.search(r"\brice\b", sentence):
                assert not re.search(r"0\.8\d* g/mL", sentence), name
                assert "level cup" in text, name


@pytest.mark.parametrize("name", ["lay_two_thin_coats", "ask_the_coat_with_a_glove"])
def test_the_coat_is_weighed_and_timed_by_the_sheet(name: str) -> None:
    """Grams of coat and the window stand on the number sheet; slushing is told apart from brushing."""
    do = KNOWN.remedies[name].do
    assert "number sheet" in do
    assert not re.search(r"\d+ g\b|a fifth|gel times", do)
    if name == "lay_two_thin_coats":
        assert "two to three times" in " ".join(do.split())


def test_no_text_names_a_pressure_of_its_own() -> None:
    """Every pressure in a mold lies between what backed and bare packing give by the gas law (`boyle`); none is of a hand mold of 5 to 20 kPa."""
    solid = FREE_RISE / SOLID

    def gas_law(packing: float) -> float:
        return ATMOSPHERE * (packing * (1 - solid) / (1 - packing * solid) - 1)

    bare, backed = (PRACTICE["packing"].by_build[build] for build in ("bare_foam", "skin_and_foam"))
    told = [(name, float(n)) for name, text in texts() for n in re.findall(r"(\d+(?:\.\d+)?) kPa", text)]
    assert told
    for name, pressure in told:
        assert 0.9 * gas_law(backed.high) <= pressure <= gas_law(bare.high), name


def test_liquids_and_face_of_a_change_are_those_of_its_text() -> None:
    """A remedy that brings a temperature to a practice number names a range that holds it."""
    checked = 0
    for name, remedy in KNOWN.remedies.items():
        for fact, number in remedy.sets.items():
            wanted = PRACTICE[number].mid
            if not fact.endswith("_temperature"):
                continue
            spans = re.findall(r"(\d+)(?:[- ](?:to )?(\d+))? °C", remedy.title)
            if not spans:
                assert "number sheet" in remedy.do, name
                continue
            low, high = (float(end or spans[0][0]) for end in spans[0])
            assert min(low, high) - (5 if low == high and "cool to" in remedy.title else 0) <= wanted <= high, name
            checked += 1
    assert checked >= 3


# -- what a text must say, or must not -----------------------------------------------------------------------------------

SAYS = {
    "vent_the_dead_ends": ("Core a", "right through rubber and jacket", "needle slit shuts"),
    "rebuild_the_missing_part": ("never pour on without cutting", "back to open cells"),
    "warm_a_scrap_then_decide": ("scrap it", "bleeds through", "never to be worn"),
    "melt_and_blend_a": ("whole closed can", "never over 50 °C", "so replace it"),
    "stipple_a_fresh_coat": ("no sanding", "same rubber", "goes before this"),
    "warm_both_liquids": ("has separated", "stir it to the floor"),
    "restir_b_to_the_bottom": ("shaking can't lift its floor", "up to a kilo may be shaken"),
    "clear_oil_and_soap_from_the_bench": ("Don't rinse cups or tools with alcohol",),
}


@pytest.mark.parametrize("name", SAYS)
def test_a_remedy_says_what_makes_it_work(name: str) -> None:
    """The words without which it does harm or nothing: how, until when, and when to give up."""
    remedy = KNOWN.remedies[name]
    said = " ".join(f"{remedy.do} {remedy.caution}".split())
    assert [words for words in SAYS[name] if words not in said] == []


def test_no_coat_of_a_day_is_sanded() -> None:
    """What goes on with a young coat takes no grit to it; a part's own coat is roughened only when a nail no longer marks it."""
    for name, remedy in KNOWN.remedies.items():
        mends = set(remedy.fixes) & {"skin_overcured", "skin_contaminated", "skin_uneven", "skin_not_gelled"}
        if mends and remedy.when != "this_part":
            assert not re.search(r"\b\d+ grit|until no gloss", remedy.do), name


def test_vents_are_not_counted() -> None:
    """No text asks for a number of vents: place counts."""
    assert not [name for name, text in texts() if re.search(r"\b\d+ vents|\d+ at the least", text)]
