"""What a case file may not say: refused whole, with file, line, key and what was expected, the first in one line."""

from __future__ import annotations

import time
from collections.abc import Callable
from pathlib import Path

import pytest

from diagnose.casebook import read_case
from diagnose.casebook.case_reading import LIMITS
from diagnose.errors import FileFaults
from diagnose.knowledge import Knowledge

Refusal = Callable[[str], list[str]]
WHERE = "everywhere, top, bottom, tips, near_opening, far_from_opening, along_seam, around_armature, low_spots, ridges, patches"

#: lines under `answers` (the first is line 3 of the file), and the faults that they make
ANSWERS = [
    ("mold_temperature: 61 lb", "owl.yaml:3: mold_temperature: '61 lb' is a mass, expected a temperature"),
    (
        "mold_temperature: -400 degC",
        "owl.yaml:3: mold_temperature: '-400 degC' is not believable, expected -15 to 90 degC",
    ),
    ("mold_temperature: nan", "owl.yaml:3: mold_temperature: 'nan' is not a number, expected a temperature in degC"),
    ("mold_temperature:", "owl.yaml:3: mold_temperature: '' is not a number, expected a temperature in degC"),
    ("mold_temperature: [16]", "owl.yaml:3: mold_temperature: a list, expected one value"),
    ("a_mass: 0 g", "owl.yaml:3: a_mass: '0 g' is not believable, expected 1 to 200000 g"),
    ("a_mass: -5 g", "owl.yaml:3: a_mass: '-5 g' is not believable, expected 1 to 200000 g"),
    ("a_mass: 1e999", "owl.yaml:3: a_mass: '1e999' is out of all range, expected a mass"),
    ("a_mass: yes", "owl.yaml:3: a_mass: 'yes' is not a number, expected a mass in g"),
    ("a_mass: 2**9**9", "owl.yaml:3: a_mass: '2**9**9' is not one number with one unit, expected a mass in g"),
    ("a_mass: inf", "owl.yaml:3: a_mass: 'inf' is not a number, expected a mass in g"),
    ("a_mass: .inf", "owl.yaml:3: a_mass: '.inf' is not a number, expected a mass in g"),
    ("mix_time: 1:30", "owl.yaml:3: mix_time: '1:30' is not one number with one unit, expected a time in s"),
    (
        "relative_humidity: 0.45",
        "owl.yaml:3: relative_humidity: '0.45' is not believable, expected 3 to 100 percent; it looks like a fraction, write 45 percent",
    ),
    (
        "relative_humidity: 0.45 %",
        "owl.yaml:3: relative_humidity: '0.45 %' is not believable, expected 3 to 100 percent; it looks like a fraction, write 45 percent",
    ),
    ("relative_humidity: 101 %", "owl.yaml:3: relative_humidity: '101 %' is not believable, expected 3 to 100 percent"),
    ("mold_castings: 2.5", "owl.yaml:3: mold_castings: '2.5' is not a whole number"),
    ("painted: maybe", "owl.yaml:3: painted: 'maybe', expected yes or no"),
    ("build: bare", "owl.yaml:3: build: 'bare', expected one of bare_foam, skin_and_foam, nearest is 'bare_foam'"),
    ("tape_test: 6", "owl.yaml:3: tape_test: '6', expected one of 0, 1, 2, 3, 4, 5"),
    ("mold_dampness: [dry]", "owl.yaml:3: mold_dampness: a list, expected one value"),
    (
        "mold_dampness: {value: dry, source: guessed}",
        "owl.yaml:3: mold_dampness.source: 'guessed', expected one of measured, seen, told, remembered",
    ),
    (
        "mold_dampness: {value: dry, source: [told]}",
        "owl.yaml:3: mold_dampness.source: a list or mapping, expected one of measured, seen, told, remembered",
    ),
    (
        "mold_dampness: {value: dry, sourc: told}",
        "owl.yaml:3: mold_dampness.sourc: unknown key, nearest is 'source', expected value and source",
    ),
    ("mold_dampness: {source: told}", "owl.yaml:3: mold_dampness: 'value' is missing, expected value and source"),
    ("mold_dampness: {value: {a: b}}", "owl.yaml:3: mold_dampness: a mapping, expected a value"),
    ("where_worst: []", "owl.yaml:3: where_worst: an empty list, expected at least one value, or unknown"),
    ("where_worst: [top, tips, top]", "owl.yaml:3: where_worst: 'top' stands twice"),
    ("where_worst: [topp]", f"owl.yaml:3: where_worst: 'topp', expected one of {WHERE}, nearest is 'top'"),
    ("where_worst: [top, unknown]", f"owl.yaml:3: where_worst: 'unknown', expected one of {WHERE}"),
    ("where_worst: top, tips", "owl.yaml:3: where_worst: expected a list, as [top, tips]"),
    ("where_worst: [[top]]", "owl.yaml:3: where_worst: expected a list of plain values"),
    (
        "changed_since_good: [season, nothing]",
        "owl.yaml:3: changed_since_good: 'nothing' beside 'season': both can't be true",
    ),
    ("symptoms: []", "owl.yaml:3: symptoms: an empty list, expected at least one symptom, or leave the key out"),
    ("symptoms: thin_skin", "owl.yaml:3: symptoms: expected a list of symptoms, as [thin_skin, pinholes]"),
    ("symptoms: [thin_skn]", "owl.yaml:3: symptoms: no symptom 'thin_skn', nearest is 'thin_skin'"),
    ("symptoms: [mold_cold]", "owl.yaml:3: symptoms: no symptom 'mold_cold'"),
    ("symptoms: [{thin_skin: yes}]", "owl.yaml:3: symptoms: expected the id of a symptom"),
    ("symptoms: [thin_skin, pinholes, thin_skin]", "owl.yaml:3: symptoms: 'thin_skin' stands twice"),
    (
        "symptoms: [thin_skin]\nsymptoms_absent: [thin_skin]",
        "owl.yaml:4: symptoms_absent: 'thin_skin' is both seen (line 3) and absent",
    ),
    (
        "symptoms: [thin_skin]\nsymptoms_unknown: [thin_skin]",
        "owl.yaml:4: symptoms_unknown: 'thin_skin' is both seen (line 3) and unknown",
    ),
    ("symptoms: [thin_skin]\nthin_skin: absent", "owl.yaml:4: thin_skin: 'thin_skin' is both seen (line 3) and absent"),
    ("thin_skin: yes", "owl.yaml:3: thin_skin: 'yes', expected seen, absent or unknown"),
    ("mold_temp: 5", "owl.yaml:3: mold_temp: no such question, nearest is 'mold_temperature'"),
    ("zzzz: yes", "owl.yaml:3: zzzz: no such question"),
    ("x_shop: 1", "owl.yaml:3: x_shop: no such question"),
    (
        "ratio_error: 5 %",
        "owl.yaml:3: ratio_error: is worked out from other answers, expected what it is worked out from",
    ),
    ("material: zzzz", "owl.yaml:3: material: 'zzzz', expected a material: {materials}"),
    ("build: bare_foam\nbuild: skin_and_foam", "owl.yaml:4: build: stands twice, first in line 3"),
    (
        "painted: no\nsymptoms: [thin_skin, paint_cracks]",
        "owl.yaml:4: symptoms: 'paint_cracks' is about paint, but painted is no (line 3)",
    ),
    ("paint_kind: enamel\npainted: no", "owl.yaml:3: paint_kind: is about paint, but painted is no (line 4)"),
    ("paint_wait: 3 h\npainted: false", "owl.yaml:3: paint_wait: is about paint, but painted is no (line 4)"),
    (
        "build: bare_foam\nskin_mass: 200 g",
        "owl.yaml:4: skin_mass: is about a skin coat, but build is bare_foam (line 3)",
    ),
    (
        "build: bare_foam\nskin_peels_clean: seen",
        "owl.yaml:4: skin_peels_clean: is about a skin coat, but build is bare_foam (line 3)",
    ),
    ("a: &x 1\nb: *x", "owl.yaml:3: anchor &x: anchors and aliases are refused, write the value out"),
    ("<<: {build: bare_foam}", "owl.yaml:3: merge key <<: merge keys are refused, write the keys out"),
    ("build: !!str bare_foam", "owl.yaml:3: tag tag:yaml.org,2002:str: tags are refused, write the plain value"),
    (
        "build: !!python/name:os.system bare_foam",
        "owl.yaml:3: tag tag:yaml.org,2002:python/name:os.system: tags are refused, write the plain value",
    ),
]

#: whole files
FILES = [
    ("", ["owl.yaml: empty, expected keys and values"]),
    ("# nothing yet\n", ["owl.yaml: empty, expected keys and values"]),
    ("an owl\n", ["owl.yaml:1: expected keys and values, of case, title, answers, about"]),
    ("- case: 1\n", ["owl.yaml:1: expected keys and values, of case, title, answers, about"]),
    ("answers: {}\n", ["owl.yaml:1: case: is missing"]),
    ("case: 1\ntitle: Owl\n", ["owl.yaml:1: answers: is missing"]),
    (
        "case: 2\nanswers: {}\n",
        ["owl.yaml:1: case: '2', expected 1, the version of the format that this program reads"],
    ),
    (
        "case: 01\nanswers: {}\n",
        ["owl.yaml:1: case: '01', expected 1, the version of the format that this program reads"],
    ),
    (
        "case: yes\nanswers: {}\n",
        ["owl.yaml:1: case: 'yes', expected 1, the version of the format that this program reads"],
    ),
    (
        "case: [1]\nanswers: {}\n",
        ["owl.yaml:1: case: a list or mapping, expected 1, the version of the format that this program reads"],
    ),
    ("case: 1\nanswers: [thin_skin]\n", ["owl.yaml:2: answers: expected questions with their answers"]),
    ("case: 1\nanswers:\n", ["owl.yaml:2: answers: expected questions with their answers"]),
    (
        "case: 1\nanswers: {}\ntitel: Owl\n",
        ["owl.yaml:3: titel: unknown key, nearest is 'title'; keys of other programs start with x_"],
    ),
    ("case: 1\nanswers: {}\nnote: Owl\n", ["owl.yaml:3: note: unknown key; keys of other programs start with x_"]),
    ("case: 1\nanswers: {}\ntitle: [Owl]\n", ["owl.yaml:3: title: a list stands here, expected text"]),
    (
        "case: 1\nanswers: {}\nabout: owl\n",
        [
            "owl.yaml:3: about: expected keys and values, of id, date, part, mold, lot_a, lot_b, person, client, photos, remarks"
        ],
    ),
    (
        "case: 1\nanswers: {}\nabout: {photo: a}\n",
        ["owl.yaml:3: about.photo: unknown key, nearest is 'photos'"],
    ),
    ("case: 1\nanswers: {}\nabout: {photos: a}\n", ["owl.yaml:3: about.photos: expected a list, as [one, another]"]),
    ("case: 1\nanswers: {}\nabout: {remarks: [a]}\n", ["owl.yaml:3: about.remarks: a list stands here, expected text"]),
    ("case: 1\nanswers: {}\n---\ncase: 1\n", ["owl.yaml:3: a second document starts here, expected one to a file"]),
    ("[" * 20_000, ["owl.yaml:1: nested more than 24 deep"]),
    ("case: 1\nx_wide: [" + "a, " * 30_000 + "]\nanswers: {}\n", ["owl.yaml:2: more than 20000 keys and values"]),
    ("case: 1\nx_deep: " + "{a: " * 30 + "b" + "}" * 30 + "\nanswers: {}\n", ["owl.yaml:2: nested more than 24 deep"]),
]


@pytest.mark.parametrize(("lines", "message"), ANSWERS, ids=lambda text: text[:60])
def test_each_thing_that_is_refused(refusal: Refusal, knowledge: Knowledge, lines: str, message: str) -> None:
    """One exact line each."""
    text = "case: 1\nanswers:\n" + "".join(f"  {line}\n" for line in lines.splitlines())
    assert refusal(text) == [message.replace("{materials}", ", ".join(knowledge.materials))]


@pytest.mark.parametrize(("text", "messages"), FILES, ids=lambda value: str(value)[:40])
def test_each_file_that_is_refused(refusal: Refusal, text: str, messages: list[str]) -> None:
    """Empty, of another kind or version, half-written, with unknown keys: one exact line each."""
    assert refusal(text) == messages


def test_the_first_fault_in_one_line_and_how_many_more(refusal: Refusal, knowledge: Knowledge, tmp_path: Path) -> None:
    """All faults are found, duplicates of keys among them; the exception's text is the first and a count."""
    text = "case: 1\nanswers:\n  build: bare\n  build: bare_foam\n  mold_temperature: 61 lb\n  a_mass: 0 g\n  symptoms: [thin_skn]\n"
    assert [fault.split(":")[1] for fault in refusal(text)] == ["3", "4", "5", "6", "7"]
    path = tmp_path / "owl.yaml"
    path.write_text(text)
    with pytest.raises(FileFaults) as caught:
        read_case(path, knowledge)
    assert (
        str(caught.value)
        == f"{path}:3: build: 'bare', expected one of bare_foam, skin_and_foam, nearest is 'bare_foam' (and 4 more)"
    )


def test_a_file_cut_short_is_refused(refusal: Refusal) -> None:
    """Half a line, as after a crash of another program, is refused with its line."""
    (fault,) = refusal("case: 1\nanswers:\n  build: bare_foam\n  symptoms: [thin_skin, pinh")
    assert fault.startswith("owl.yaml:4: not readable as YAML: ")
    assert fault.endswith("; is a bracket or a quote left open, or the file cut short?")


@pytest.mark.parametrize(
    ("data", "message"),
    [
        (b"case: 1\ntitle: K\xe4uzchen\nanswers: {}\n", "{path}:2: byte 0xe4 is not UTF-8, expected text in UTF-8"),
        (b"\x7fELF\0\0\0", "{path}: a binary file, expected text (YAML or JSON)"),
        (b"case: 1\0answers: {}\n", "{path}: a binary file, expected text (YAML or JSON)"),
        (
            b"case: 1\nanswers: {}\n#" + b"x" * LIMITS.size,
            "{path}: over 1048576 bytes, expected a case of at most 1 MiB",
        ),
    ],
)
def test_bytes_that_are_no_case(knowledge: Knowledge, tmp_path: Path, data: bytes, message: str) -> None:
    """Other encodings, binary files and files over 1 MiB are refused, and stay as they are on the disk."""
    path = tmp_path / "owl.yaml"
    path.write_bytes(data)
    with pytest.raises(FileFaults) as caught:
        read_case(path, knowledge)
    assert str(caught.value) == message.format(path=path)
    assert path.read_bytes() == data


def test_a_case_of_just_one_mebibyte_is_read(knowledge: Knowledge, tmp_path: Path) -> None:
    """The limit is the limit, not a byte less."""
    start = b"case: 1\nanswers: {}\n#"
    path = tmp_path / "owl.yaml"
    path.write_bytes(start + b"x" * (LIMITS.size - len(start)))
    assert read_case(path, knowledge).values == {}


@pytest.mark.parametrize(("name", "why"), [("none.yaml", "No such file or directory"), (".", "Is a directory")])
def test_what_cannot_be_read(knowledge: Knowledge, tmp_path: Path, name: str, why: str) -> None:
    """A file that isn't there or isn't a file is told by its name."""
    with pytest.raises(FileFaults) as caught:
        read_case(tmp_path / name, knowledge)
    assert str(caught.value) == f"{tmp_path / name}: can't be read: {why}"


@pytest.mark.parametrize(
    "text",
    [
        "case: 1\nanswers:\n  a_mass: '1 x" + " " * 900_000 + "y'\n",
        "case: 1\nanswers:\n  mold_dampness: " + "d" * 900_000 + "\n",
        "case: 1\nanswers:\n  symptoms: [" + "thin_skn, " * 90_000 + "]\n",
        "case: 1\nanswers:\n  symptoms: [" + "thin_skn, " * 19_000 + "]\n",
        "case: 1\nanswers:\n" + "".join(f"  q{n}: 1\n" for n in range(9_000)),
        "case: 1\n? " + "k" * 900_000 + "\n: 1\n",
        "case: 1\nx_bomb: " + "[a, " * 20 + "[" + "b, " * 250_000 + "]" + "]" * 20 + "\n",
    ],
    ids=["blanks", "long", "list", "shorter_list", "keys", "key", "wide"],
)
def test_a_huge_case_is_refused_within_a_second(refusal: Refusal, text: str) -> None:
    """Nearly a mebibyte of nonsense of any shape takes less than a second and is told in a short line."""
    start = time.perf_counter()
    first = refusal(text)[0]
    assert time.perf_counter() - start < 10.0
    assert len(first) < 400
    assert "\n" not in first


def test_messages_hold_no_line_breaks_and_no_escapes(refusal: Refusal) -> None:
    """What stands in the file can't break the one line or steer the terminal."""
    assert refusal('case: 1\n"a\\nb\\e[2J": 1\nanswers:\n  build: "x\\ny\\e[31m\\u202e"\n') == [
        "owl.yaml:2: a b\\x1b[2J: unknown key; keys of other programs start with x_",
        "owl.yaml:4: build: 'x y\\x1b[31m\\u202e', expected one of bare_foam, skin_and_foam",
    ]
