"""What is wrong in a knowledge file is told with file, line, key, what was expected and the nearest id: all of it at once."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from diagnose.errors import FileFaults
from diagnose.knowledge import Knowledge

Spoil = Callable[..., list[str]]
LineOf = Callable[[str], int]

#: (piece of the small trade, what stands there instead, the line by a piece of text, the message)
FAULTS = [
    # keys
    (
        "    help: The outside gives",
        "    hlep: The outside gives",
        "  soft_face:\n",
        "symptoms.soft_face: 'help' is missing",
    ),
    (
        "    pointless: when it is plain already\n    minutes: 1\n    answerable: usually\n  holes:\n",
        "    minutes: 1\n    answerable: usually\n  holes:\n",
        "  soft_face:\n",
        "symptoms.soft_face: 'pointless' is missing, expected one of pointless and always_ask",
    ),
    (
        "    pointless: when it is plain already\n    minutes: 1\n    answerable: usually\n    kind: id\n",
        "    minutes: 1\n    answerable: usually\n    kind: id\n",
        "  material:\n",
        "facts.material: 'pointless' is missing, expected one of pointless and always_ask",
    ),
    (
        "    find_out: Tear it open.\n    pointless: when it is plain already\n",
        "    find_out: Tear it open.\n    pointless: when dry\n    always_ask: it tells most\n",
        "  cup:\n",
        "checks.cup: 'pointless' stands beside 'always_ask', expected one of pointless and always_ask",
    ),
    (
        "    help: Cold faces stay soft.",
        "    colour: red\n    help: Cold faces stay soft.",
        "    help: Cold faces stay soft.",
        "facts.face_temperature.colour: unknown key",
    ),
    (
        "    minutes: 10\n",
        "    minuts: 5\n    minutes: 10\n",
        "    minutes: 10\n",
        "remedies.warm_it.minuts: unknown key, nearest is 'minutes'",
    ),
    (
        "      - {id: good, title: Good}",
        "      - {id: good, title: Good, sources: x}",
        "      - {id: good, title: Good}",
        "checks.cup.results.good.sources: unknown key",
    ),
    ("remedies:\n", "remedy:\n", "remedies:\n", "remedy: unknown section, nearest is 'remedies'"),
    # shapes
    (
        "  holes: [bubbles]",
        "  holes: bubbles",
        "  holes: [bubbles]",
        "callers.holes: expected a list, as [one, another]",
    ),
    (
        "    title: Face too cold",
        "    title: [Face too cold]",
        "    title: Face too cold",
        "causes.face_cold.title: a list stands here, expected text",
    ),
    (
        "    title: Face too cold",
        "    title: ''",
        "    title: Face too cold",
        "causes.face_cold.title: empty, expected text",
    ),
    (
        "    title: Face too cold",
        f"    title: {'cold ' * 20}",
        "    title: Face too cold",
        "causes.face_cold.title: 99 characters, expected at most 70",
    ),
    (
        "    title: Face too cold",
        '    title: "a\\u0007b"',
        "    title: Face too cold",
        "causes.face_cold.title: holds a control character, expected plain text",
    ),
    (
        "    stage: material",
        "    stage: materials",
        "    stage: material",
        "causes.old_cans.stage: 'materials', expected one of material, mixing, mold_design, "
        "mold_preparation, pouring, cure, skin_coat, painting, environment, nearest is 'material'",
    ),
    (
        "    minutes: 10\n",
        "    minutes: ten\n",
        "    minutes: 10\n",
        "remedies.warm_it.minutes: 'ten', expected a number from 0 to 10000",
    ),
    (
        "    minutes: 10\n",
        "    minutes: 1:30\n",
        "    minutes: 10\n",
        "remedies.warm_it.minutes: '1:30', expected a number from 0 to 10000",
    ),
    (
        "    minutes: 10\n",
        "    minutes: -10\n",
        "    minutes: 10\n",
        "remedies.warm_it.minutes: '-10', expected a number from 0 to 10000",
    ),
    (
        "  holes: [bubbles]",
        "  holes: [bubbles, holes, bubbles]",
        "  holes: [bubbles]",
        "callers.holes: 'bubbles' stands twice",
    ),
    (
        "    answerable: usually\n    sources: [small_book]",
        "    answerable: usually\n    sources: []",
        "    sources: [small_book]",
        "symptoms.paint_flakes.sources: 0 values, expected at least 1",
    ),
    # words
    (
        "    base: occasional",
        "    base: ocasional",
        "    base: occasional",
        "causes.face_hot.base: 'ocasional', expected a word for share: very common, common, occasional, rare, very rare, nearest is 'occasional'",
    ),
    (
        "      coat_lifts: usually - nothing",
        "      coat_lifts: mostly - nothing",
        "      coat_lifts: usually",
        "causes.coat_dry.symptoms.coat_lifts: 'mostly', expected a word for likelihood: always, usually, often, sometimes, seldom",
    ),
    (
        "      coat_lifts: usually - nothing is left to bond to",
        "      coat_lifts: usually",
        "      coat_lifts: usually",
        "causes.coat_dry.symptoms.coat_lifts: 'usually' stands without a reason, expected 'usually - ' and the mechanism",
    ),
    (
        "{season: for - shops",
        "{season: fro - shops",
        "      changed: {season",
        "causes.face_cold.facts.changed.season: 'fro', expected a word for ratio: decisive for, "
        "strong for, for, slightly for, neutral, slightly against, against, strong against, rules out, nearest is 'for'",
    ),
    # ids
    (
        "  soft_face:\n",
        "  Soft-Face:\n",
        "  soft_face:\n",
        "symptoms.Soft-Face: expected an id of small letters, digits and underscores",
    ),
    ("  thin_foam:\n", "  not_listed:\n", "  thin_foam:\n", "materials.not_listed: the id is taken by the program"),
    (
        "  thin_foam:\n",
        "  small_book:\n",
        "  thin_foam:\n",
        "materials.small_book: the id is taken by sources in k/trade.yaml:{  small_book:}",
    ),
    ("  coat_dry:\n", "  cup:\n", "  coat_dry:\n", "causes.cup: the id is taken by checks in k/trade.yaml:{  cup:}"),
    (
        "      soft_face: usually",
        "      soft_fase: usually",
        "      soft_face: usually",
        "causes.face_cold.symptoms.soft_fase: no symptom 'soft_fase', nearest is 'soft_face'",
    ),
    (
        "      thickness: {thin",
        "      thicknes: {thin",
        "      thickness: {thin",
        "causes.face_cold.checks.thicknes: no check 'thicknes', nearest is 'thickness'",
    ),
    (
        "{thin: often - little",
        "{thinn: often - little",
        "      thickness: {thin",
        "causes.face_cold.checks.thickness.thinn: no such result, nearest is 'thin'",
    ),
    (
        "{thin: often - little",
        "{ok: often - little",
        "      thickness: {thin",
        "causes.face_cold.checks.thickness.ok: is the base, what shows when nothing acts: expected a telling result",
    ),
    (
        "{season: for - shops",
        "{seasons: for - shops",
        "      changed: {season",
        "causes.face_cold.facts.changed.seasons: no such answer, nearest is 'season'",
    ),
    (
        "    opposite: face_cold",
        "    opposite: face_cool",
        "    opposite: face_cold",
        "causes.face_hot.opposite: no cause 'face_cool', nearest is 'face_cold'",
    ),
    (
        "    opposite: face_cold",
        "    opposite: face_hot",
        "    opposite: face_cold",
        "causes.face_hot.opposite: is the cause itself, expected another",
    ),
    (
        "    opposite: face_cold",
        "    opposite: common practice",
        "    opposite: face_cold",
        "causes.face_hot.opposite: no cause 'common practice'",
    ),
    (
        "    opposite: face_cold\n",
        "",
        "    opposite: face_hot",
        "causes.face_cold.opposite: 'face_hot' doesn't name it back",
    ),
    (
        "    better_than: [shop_temperature]",
        "    better_than: [shop_temp]",
        "    better_than:",
        "facts.face_temperature.better_than: no fact 'shop_temp', nearest is 'shop_temperature'",
    ),
    (
        "    same_as: [cup.holed]",
        "    same_as: [cup.holes]",
        "    same_as:",
        "symptoms.holes.same_as: no result 'cup.holes' of a check, expected check.result, nearest is 'cup.holed'",
    ),
    (
        "    title: Foam while",
        "    words: [x]\n    title: Foam while",
        "    title: Foam while",
        "remedies.foam_in_time.words: unknown key",
    ),
    (
        "    fixes: {coat_dry:",
        "    fixes: {coat_dri:",
        "    fixes: {coat_dry:",
        "remedies.foam_in_time.fixes.coat_dri: no cause 'coat_dri', nearest is 'coat_dry'",
    ),
    (
        "    base: good\n",
        "    base: goood\n",
        "    base: good\n",
        "checks.cup.base: 'goood', expected one of the results, nearest is 'good'",
    ),
    # numbers, units, curves, bands
    ("    unit: mm", "    unit: furlong", "    unit: mm", "checks.thickness.unit: unknown unit 'furlong'"),
    (
        "    plausible: [0 h, 20000 h]",
        "    plausible: [20000 h, 0 h]",
        "    plausible: [0 h",
        "facts.paint_wait.plausible: expected the lowest and the highest believable value",
    ),
    (
        "    plausible: [0 h, 20000 h]",
        "    plausible: [0 h, 20 lb]",
        "    plausible: [0 h",
        "facts.paint_wait.plausible: '20 lb' is a mass, expected a time",
    ),
    (
        "    plausible: [0 h, 20000 h]",
        "    plausible: [0 h]",
        "    plausible: [0 h",
        "facts.paint_wait.plausible: 1 values, expected at least 2",
    ),
    (
        "    error: 10 percent",
        "    error: 0 percent",
        "    error: 10 percent",
        "facts.paint_wait.error: '0 percent', expected more than 0",
    ),
    (
        "{2 h: occasional, 24 h: very common, 72 h",
        "{24 h: occasional, 2 h: very common, 72 h",
        "    typical: {2 h",
        "facts.paint_wait.typical: values out of order, expected them rising",
    ),
    (
        "{1 h: strong for, 24 h: neutral, 72 h",
        "{24 h: strong for, 1 h: neutral, 72 h",
        "      paint_wait:",
        "causes.paint_early.facts.paint_wait: points of the curve out of order, expected them rising",
    ),
    (
        "{1 h: strong for, 24 h: neutral, 72 h",
        "{1 h: strong for, 60 min: neutral, 72 h",
        "      paint_wait:",
        "causes.paint_early.facts.paint_wait: points of the curve out of order, expected them rising",
    ),
    (
        "{1 h: strong for, 24 h: neutral, 72 h",
        "{1 lb: strong for, 24 h: neutral, 72 h",
        "      paint_wait:",
        "causes.paint_early.facts.paint_wait.1 lb: '1 lb' is a mass, expected a time",
    ),
    (
        "from: 0.1 mm, to: 0.5 mm",
        "from: 0.2 mm, to: 0.5 mm",
        "    results:\n      - {id: ok,",
        "checks.thickness.results: the bands leave a gap or overlap, expected each 'to' to be the next 'from'",
    ),
    (
        "{id: none, title: No skin, to: 0.1 mm, background: unusual}",
        "{id: none, title: No skin, to: 0.1 mm}",
        "      - {id: none, title: No skin",
        "checks.thickness.results.none: 'background' is missing, expected with every result but the base",
    ),
    (
        "      - {id: good, title: Good}",
        "      - {id: good, title: Good, to: 3}",
        "      - {id: good, title: Good}",
        "checks.cup.results.good: 'from' and 'to' go with kind: number",
    ),
    (
        "    kind: id\n",
        "    unit: g\n    kind: id\n",
        "    kind: id\n",
        "facts.material.unit: does not go with kind: id",
    ),
    (
        "    error: 10 percent\n",
        "",
        "  paint_wait:\n",
        "facts.paint_wait: 'error' is missing, expected with kind: number",
    ),
    (
        "{yes: common, no: common}",
        "{yes: common, maybe: common}",
        "    choices: {yes:",
        "facts.painted.choices: expected yes and no",
    ),
    (
        "    ratios: {50: 160",
        "    ratios: {-50: 160",
        "    ratios:",
        "materials.thin_foam.ratios.-50: expected more than 0",
    ),
    (
        "    cream_time: 45 s",
        "    cream_time: 0 s",
        "    cream_time:",
        "materials.thin_foam.cream_time: expected more than 0",
    ),
    # what stands in lists, groups, callers' phrases, dangers
    (
        "      - {id: soft, title: Soft, background: ordinary}",
        "      - {title: Soft, background: ordinary}",
        "      - {id: soft",
        "checks.cup.results: expected an entry with its id, as id: thin",
    ),
    (
        "      - {id: soft, title: Soft, background: ordinary}",
        "      - {id: good, title: Soft, background: ordinary}",
        "      - {id: soft",
        "checks.cup.results.good: the id stands twice",
    ),
    (
        "    kind: id\n",
        "    ask_when: {seen: [holes, hoels]}\n    kind: id\n",
        "    kind: id\n",
        "facts.material.ask_when.seen: no such answer 'hoels', nearest is 'holes'",
    ),
    (
        "callers:\n",
        "groups: {any: [holes, hoels]}\ncallers:\n",
        "callers:\n",
        "groups.any: no symptom or family 'hoels', nearest is 'holes'",
    ),
    (
        "  holes: [bubbles]\n",
        "  hoels: [bubbles]\n",
        "  holes: [bubbles]",
        "callers.hoels: no symptom 'hoels', nearest is 'holes'",
    ),
    (
        "  holes: [bubbles]\n",
        "",
        "  holes:\n",
        "symptoms.holes: nothing under callers says how it is called",
    ),
    (
        "callers:\n",
        "dangers: {hot: {title: t, say: s, why: w, over: {face_temperature: 3 kg}}}\ncallers:\n",
        "callers:\n",
        "dangers.hot.over.face_temperature: '3 kg' is a mass, expected a temperature",
    ),
    (
        "    material: little\n",
        "    never_with: [hot]\n    material: little\n",
        "    material: little\n",
        "remedies.new_cans.never_with: no danger 'hot'",
    ),
    (
        "    material: little\n",
        "    not_when: {cup: [softt]}\n    material: little\n",
        "    material: little\n",
        "remedies.new_cans.not_when.cup: no such answer 'softt', nearest is 'soft'",
    ),
    (
        "callers:\n",
        "practice: {loss: {about: a, unit: percent, low: 3, source: x}}\ncallers:\n",
        "callers:\n",
        "practice.loss: expected either value, or low and high (and mid) rising",
    ),
    # the whole
    (
        "    symptoms:\n      coat_lifts: usually - nothing is left to bond to\n",
        "",
        "  coat_dry:\n",
        "causes.coat_dry: produces no symptom, so it can never be found",
    ),
    (
        "    checks:\n      where: {top: seldom - the top of the coat dries first}\n",
        "",
        "  coat_dry:\n",
        "causes.coat_dry: has no evidence: no fact bears on it and no check shows it",
    ),
    (
        "    fixes: {coat_dry: usually - the coat still bonds}",
        "    fixes: {old_cans: usually - the coat still bonds}",
        "  coat_dry:\n",
        "causes.coat_dry: has no remedy",
    ),
    (
        "    do: Pour while a finger leaves a print.\n    when: next_pour",
        "    do: Pour while a finger leaves a print.\n    when: this_part",
        "  coat_dry:\n",
        "causes.coat_dry: has no remedy for the next pour",
    ),
    (
        "      paint_flakes: often - gas gathers under the film",
        "      soft_face: often - gas gathers under the film",
        "  paint_flakes:\n",
        "symptoms.paint_flakes: nothing causes it",
    ),
    (
        "    builds: [skin_and_foam]\n    symptoms",
        "    builds: [bare_foam]\n    symptoms",
        "  coat_lifts:\n",
        "symptoms.coat_lifts: no cause of it can occur on the same build and paint",
    ),
    (
        "    builds: [skin_and_foam]\n    symptoms",
        "    builds: [bare_foam]\n    symptoms",
        "  coat_dry:\n",
        "causes.coat_dry: can't show as 'coat_lifts': they never occur on the same build or paint",
    ),
    (
        "    checks:\n      cup: {holed: usually - the cup had the same mix, soft: sometimes - the same weak network}\n",
        "",
        "  cup:\n",
        "checks.cup: no cause shows in it",
    ),
    (
        "    error: 1 degC\n",
        "    error: 1 degC\n    better_than: [face_temperature]\n",
        "  face_temperature:\n    title",
        "facts.face_temperature: better_than runs in a ring: face_temperature, shop_temperature",
    ),
]


@pytest.mark.parametrize(("old", "new", "at", "message"), FAULTS, ids=lambda value: str(value)[:50])
def test_each_fault_is_told_with_its_line_and_key(
    spoilt: Spoil, line_of: LineOf, old: str, new: str, at: str, message: str
) -> None:
    """One thing spoilt gives one exact line: file, line, key, what was expected, the nearest id."""
    found = spoilt((old, new))
    before, brace, piece = message.partition("{")
    if brace:  # the line of a piece of the small trade is part of the message
        message = before + str(line_of(piece.rstrip("}")))
    moved = 0 if line_of(at) <= line_of(old) else new.count("\n") - old.count("\n")
    assert f"k/trade.yaml:{line_of(at) + moved}: {message}" in found


def test_all_errors_are_told_at_once_and_in_order(spoilt: Spoil) -> None:
    """Faults of shape, of ids, of numbers and of the whole are all told in one run, sorted by line."""
    found = spoilt(
        ("    minutes: 10\n", "    minuts: 5\n    minutes: 10\n"),
        ("      soft_face: usually", "      soft_fase: usually"),
        ("{1 h: strong for, 24 h: neutral, 72 h", "{24 h: strong for, 1 h: neutral, 72 h"),
        ("    base: occasional", "    base: ocasional"),
        (
            "    fixes: {coat_dry: usually - the coat still bonds}",
            "    fixes: {old_cans: usually - the coat still bonds}",
        ),
    )
    assert [fault.split(": ", 1)[1] for fault in found] == [
        "causes.face_cold.symptoms.soft_fase: no symptom 'soft_fase', nearest is 'soft_face'",
        "causes.face_hot.base: 'ocasional', expected a word for share: very common, common, occasional, rare, very rare, nearest is 'occasional'",
        "causes.paint_early.facts.paint_wait: points of the curve out of order, expected them rising",
        "remedies.warm_it.minuts: unknown key, nearest is 'minutes'",
    ]


def test_half_an_entry_does_not_spoil_what_names_it(spoilt: Spoil) -> None:
    """An entry that lacks a key is told once; nobody who names it is told that it doesn't exist."""
    found = spoilt(("    base: good\n", ""), ("    family: voids\n", ""))
    assert [fault.split(": ", 1)[1] for fault in found] == [
        "symptoms.holes: 'family' is missing",
        "checks.cup: 'base' is missing",
    ]


def test_files_that_cannot_be_read_do_not_hide_the_faults_of_others(
    compiled: Callable[..., Knowledge], trade: str
) -> None:
    """A broken file and a misspelt key in another are told together; ids are not called dangling, for they may stand in the broken one."""
    with pytest.raises(FileFaults) as caught:
        compiled(
            trade.replace("    base: occasional", "    base: ocasional"), "symptoms:\n\tx: 1\n", "a: 1\n---\nb: 2\n"
        )
    found = [str(fault) for fault in caught.value.faults]
    assert found[0].startswith("k/more.yaml:2: not readable as YAML: ")
    assert found[1] == "k/third.yaml:2: a second document starts here, expected one to a file"
    assert found[2].endswith(
        "causes.face_hot.base: 'ocasional', expected a word for share: very common, common, occasional, rare, very rare, nearest is 'occasional'"
    )
    assert len(found) == 3


def test_an_id_may_stand_in_one_file_only(spoilt: Spoil, line_of: LineOf) -> None:
    """An id that stands in two files is told with the place of the first, sources like all others."""
    more = "sources:\n  small_book: {title: t, about: a, seen: all}\nsymptoms:\n  holes: {}\n"
    found = spoilt(more=more)
    assert found == [
        f"k/more.yaml:2: sources.small_book: the id is taken by sources in k/trade.yaml:{line_of('  small_book: {')}",
        f"k/more.yaml:4: symptoms.holes: the id is taken by symptoms in k/trade.yaml:{line_of('  holes:')}",
    ]


def test_headline_is_the_first_fault_and_a_count() -> None:
    """Where one line must do, it is the first fault and how many more there are."""
    from diagnose.errors import Fault

    faults = FileFaults([Fault("b.yaml", 9, "k: two"), Fault("a.yaml", 3, "k: one"), Fault("a.yaml", 10, "k: three")])
    assert str(faults) == "a.yaml:3: k: one (and 2 more)"
    assert str(FileFaults([Fault("a.yaml", 0, "empty")])) == "a.yaml: empty"


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        (
            "  likelihood:\n",
            "  likelyhood:\n",
            "words.likelyhood: 'likelyhood', expected a table, one of likelihood, ratio, share, "
            "background, answerable, trust, misreport, limits, costs, nearest is 'likelihood'",
        ),
        ("often: 0.5", "often: 1.5", "words.likelihood.values.often: 1.5, expected a chance above 0 and below 1"),
        ("often: 0.5", "often: 0", "words.likelihood.values.often: 0, expected a chance above 0 and below 1"),
        ("ordinary: 0.02", "ordinary: 1", "words.background.values.ordinary: 1, expected a chance above 0 and below 1"),
        ("rules out: 0.03", "rules out: 0", "words.ratio.values.rules out: 0, expected more than 0"),
        ("ratio cap: 20", "ratio cap: 0.5", "words.limits.values.ratio cap: 0.5, expected 1 or more"),
        ("told: 0.8", "told: 8", "words.trust.values.told: 8, expected a share from 0 to 1"),
        ("told: 0.8, ", "", "words.trust: 'told' is missing"),
        (
            "rules out: 0.03",
            "rules out: three",
            "words.ratio.values.rules out: 'three', expected a number from 0 to 1000",
        ),
    ],
)
def test_the_tables_of_words_are_checked(
    compiled: Callable[..., Knowledge], words: str, trade: str, old: str, new: str, message: str
) -> None:
    """A number that can't be a chance, a ratio of nought, a table misspelt or a word missing is told before anything else is read."""
    assert words.count(old) == 1
    with pytest.raises(FileFaults) as caught:
        compiled(trade, with_words=words.replace(old, new))
    assert any(str(fault).endswith(message) for fault in caught.value.faults), [
        str(fault) for fault in caught.value.faults
    ]


def test_a_table_may_stand_once_in_all_files(compiled: Callable[..., Knowledge], words: str, trade: str) -> None:
    """Two files can't both say what "usually" means."""
    table = "words:\n  share: {source: x, about: y, values: {common: 3}}\n"
    with pytest.raises(FileFaults) as caught:
        compiled(trade, table)
    line = words[: words.index("  share:")].count("\n") + 1
    assert str(caught.value) == f"k/more.yaml:2: words.share: stands twice, first in k/words.yaml:{line}"
