"""`diagnose sum NAME`, `diagnose plan-pour` and `diagnose ask` as other programs run them."""

from __future__ import annotations

import json
import math
import os
import pty
import re
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from diagnose.bench import catalogue
from diagnose.casebook.sheet import TITLES
from diagnose.commands.main import run as run_here
from tests.patience import WAIT

Run = Callable[..., "subprocess.CompletedProcess[str]"]
ROOT = Path(__file__).parents[2]
CASES = ROOT / "tests" / "cases"

#: sums typed with options and in other units than the sum's own; every sum is typed as its example has it too
OPTIONS = {
    "split": "--batch 450g --ratio-target 1:2",
    "ratio-error": "--a-mass 142g --b-mass 0.3kg --ratio-target 50 --scale-step 1g",
    "density-of-ratio": "--ratio-target 40 --ratio-1 50 --density-1 8pcf --ratio-2 30 --density-2 13pcf",
    "charge": "--cavity-volume 1.9L --free-rise-density 160kg/m3 --packing 1.3",
    "packing": "--cavity-volume 1900mL --free-rise-density 0.16g/mL --part-mass 395g",
    "clock": "--material-temperature 64F --cream-time 45s --sheet-demold-time 45min",
    "window": "--room-temperature 68F --opens 30min --closes 3h",
    "vent": "--cavity-volume 1.5L --fill-time 1min --bore 1.5mm",
    "warm-mold": "--wall-thickness 15mm --mold-temperature 15C --around 45C --target 28C",
    "dew-point": "--room-temperature 77F --relative-humidity 60% --mold-temperature 59F",
    "skin-thickness": "--skin-mass 8oz --mold-area 1450cm2",
    "purge": "--air-changes 6/h",
    "limits": "--substance MDI",
}
TYPED = [(item.name, item.example) for item in catalogue.CALCULATIONS] + list(OPTIONS.items())

#: name, inputs, and the one line that refuses them: a wrong dimension, no mass, out of range, a ratio that the material doesn't come in, no number
REFUSED = [
    (
        "dew-point",
        "--room-temperature 25g --relative-humidity 60",
        "diagnose: --room-temperature: '25g' is a mass, expected a temperature",
    ),
    (
        "charge",
        "--cavity-volume 1900kg --free-rise-density 160 --packing 1.3",
        "diagnose: --cavity-volume: '1900kg' is a mass, expected a volume",
    ),
    ("split", "--batch 0 --ratio-target 50", "diagnose: batch 0 g: expected 0.01 g to 100000 g"),
    (
        "ratio-error",
        "--a-mass 0g --b-mass 300g --ratio-target 50",
        "diagnose: mass of A 0 g: expected 0.01 g to 100000 g",
    ),
    (
        "ratio-error",
        "--a-mass 142g --b-mass 0g --ratio-target 50",
        "diagnose: mass of B 0 g: expected 0.01 g to 100000 g",
    ),
    ("free-rise", "--foam-mass 0g --cup-volume 500mL", "diagnose: foam in the cup 0 g: expected 1 g to 10000 g"),
    (
        "charge",
        "--cavity-volume -5 --free-rise-density 160 --packing 1.3",
        "diagnose: cavity volume -5 mL: expected 0 mL to 1000000000 mL",
    ),
    ("vent", "--cavity-volume 1500 --fill-time 0 --bore 1.5", "diagnose: time to fill 0 s: expected 1 s to 3600 s"),
    ("index", "--a-mass 50 --nco 0 --b-mass 100 --oh-number 35", "diagnose: NCO of A 0 %: expected 1 % to 50 %"),
    (
        "density-of-ratio",
        "--ratio-target 80 --ratio-1 50 --density-1 128 --ratio-2 30 --density-2 208",
        "diagnose: mix ratio 80 parts per 100: expected 30 parts per 100 to 50 parts per 100",
    ),
    (
        "density-of-ratio",
        "--ratio-target 40 --ratio-1 50 --density-1 128 --ratio-2 50 --density-2 208",
        "diagnose: ratio 50 twice: expected one density for each ratio",
    ),
    (
        "dew-point",
        "--room-temperature nan --relative-humidity 60",
        "diagnose: --room-temperature: 'nan' is not a number, expected a temperature in degC",
    ),
    (
        "dew-point",
        "--room-temperature 1e400 --relative-humidity 60",
        "diagnose: --room-temperature: '1e400' is out of all range, expected a temperature",
    ),
    ("purge", "--air-changes inf", "diagnose: --air-changes: 'inf', expected a number in 1/h"),
    ("limits", "--substance XYZ", "diagnose: --substance: 'XYZ', expected one of MDI, TDI"),
    (
        "dew-point",
        "--relative-humidity 60",
        "diagnose: dew-point needs --room-temperature: temperature of the air at the mold in °C",
    ),
]


def here(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str, str]:
    """Run a command in this process: status, standard output, standard error."""
    status = run_here(list(words))
    said = capsys.readouterr()
    return status, said.out, said.err


@pytest.mark.parametrize(("name", "words"), TYPED, ids=[f"{name}-{i}" for i, (name, _) in enumerate(TYPED)])
def test_every_sum_as_json(name: str, words: str, capsys: pytest.CaptureFixture[str]) -> None:
    """Inputs with units, result, unit, range, figures, assumptions and source; every number finite, the result inside its range."""
    status, out, err = here(capsys, "sum", name, *words.split(), "--json")
    assert (status, err) == (0, "")
    assert out.isascii()
    found = json.loads(out)
    keys = ["version", "sum", "inputs", "result", "unit", "range", "figures", "text", "lines", "assumes", "source"]
    assert list(found) == keys
    assert found["sum"] == name
    assert found["assumes"]
    assert found["source"]
    given = {word.lstrip("-").replace("-", "_") for word in words.split() if word.startswith("--")}
    assert given <= set(found["inputs"])
    assert all(entry["unit"] for entry in found["inputs"].values())
    if found["result"] is None:
        assert name == "limits"
        return
    assert found["result"] == next(iter(found["figures"].values()))["value"]
    for figure in found["figures"].values():
        assert math.isfinite(figure["value"])
        assert figure["unit"]
        if figure["range"] is not None:
            assert figure["range"][0] <= figure["value"] <= figure["range"][1]


@pytest.mark.parametrize(("name", "words"), TYPED, ids=[f"{name}-{i}" for i, (name, _) in enumerate(TYPED)])
def test_every_sum_in_words(name: str, words: str, capsys: pytest.CaptureFixture[str]) -> None:
    """The sum in one sentence, what it assumes and its source, and never "nan" or "None"."""
    status, out, err = here(capsys, "sum", name, *words.split())
    assert (status, err) == (0, "")
    lines = out.splitlines()
    assert any(line.startswith("  assumes: ") for line in lines)
    assert lines[-1].startswith("  source: ")
    assert not {"nan", "None", "inf"} & set(out.split())


def test_plain_arguments_are_the_options(capsys: pytest.CaptureFixture[str]) -> None:
    """In the order asked for, before, behind or between options."""
    wanted = here(capsys, "sum", "split", "--batch", "500", "--ratio-target", "1:2")
    assert wanted[0] == 0
    for words in ("500 1:2", "500 --ratio-target 1:2", "--batch 500 1:2", "--ratio-target 1:2 500"):
        assert here(capsys, "sum", "split", *words.split()) == wanted
    assert wanted[1].splitlines()[0] == "500 g at 1:2 (50 A to 100 B) is 167 g of A and 333 g of B"
    left_over = here(capsys, "sum", "split", "500", "1:2", "7")
    assert left_over == (2, "", "diagnose: split takes no more than 2 numbers here: '7' is left over\n")


def test_a_choice_takes_any_case(capsys: pytest.CaptureFixture[str]) -> None:
    """`limits MDI` is what anybody types, and mdi, and bare-foam for bare_foam."""
    assert here(capsys, "sum", "limits", "mdi") == here(capsys, "sum", "limits", "MDI")
    words = ("sum", "charge", "1900", "160", "--build")
    assert here(capsys, *words, "bare-foam") == here(capsys, *words, "bare_foam")


def test_the_shop_s_own_practice_is_used(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A bucket that keeps 10 % in this shop changes what `charge` mixes, and the line says whose number it is."""
    shop = tmp_path / "knowledge"
    shutil.copytree(ROOT / "knowledge", shop)
    text = (shop / "practice.yaml").read_text(encoding="utf-8")
    old = "    low: 4\n    mid: 6\n    high: 10\n    source: common practice\n"
    assert text.count(old) == 1
    (shop / "practice.yaml").write_text(text.replace(old, "    value: 10\n    source: our scale\n"), encoding="utf-8")
    words = ("sum", "charge", "1900", "0.16g/mL", "--build", "bare_foam", "--knowledge", str(shop), "--json")
    found = json.loads(here(capsys, *words)[1])
    assert found["result"] == pytest.approx(1900 * 0.16 * 1.45 / 0.9)
    assert any("10 % (our scale)" in line for line in found["assumes"])


def test_bare_sum_is_its_help(capsys: pytest.CaptureFixture[str]) -> None:
    """Groups in the order of a job, every sum in its group, examples that run, no escaped line ends."""
    status, out, err = here(capsys, "sum")
    assert (status, err) == (0, "")
    assert out == here(capsys, "sum", "--help")[1]
    assert "\\n" not in out
    headings = [line for line in out.splitlines() if line.endswith(":") and not line.startswith(" ")]
    assert headings[-6:] == ["The next pour:", "The mix:", "The mold:", "The skin coat:", "Paint:", "The room:"]
    for item in catalogue.CALCULATIONS:
        assert f"  {item.name} " in out
    for line in out.splitlines():
        if line.startswith("    diagnose sum "):
            assert here(capsys, *line.split()[1:])[0] == 0


@pytest.mark.parametrize("item", catalogue.CALCULATIONS, ids=lambda item: item.name)
def test_the_help_of_a_sum_has_an_example_and_marks_what_it_needs(
    item: catalogue.Calculation, capsys: pytest.CaptureFixture[str]
) -> None:
    """`?` and full stop don't meet, the example is there, what is needed is marked so."""
    status, out, _ = here(capsys, "sum", item.name, "--help")
    assert status == 0
    flat = " ".join(out.split())
    assert f"Example: diagnose sum {item.name} {item.example}" in flat
    assert "?." not in out
    assert out.count("(needed)") == sum(given.required for given in item.inputs)


def test_units_are_turned(capsys: pytest.CaptureFixture[str]) -> None:
    """Degrees F, ounces and kilos come out as if typed in the unit of the sum."""
    for name, typed, plain in (
        ("dew-point", "--room-temperature 68F --relative-humidity 60", "--room-temperature 20 --relative-humidity 60"),
        ("skin-thickness", "--skin-mass 8oz --mold-area 1450", "--skin-mass 226.796185 --mold-area 1450"),
        ("purge", "--air-changes 6/h", "--air-changes 6"),
    ):
        one, other = (json.loads(here(capsys, "sum", name, *text.split(), "--json")[1]) for text in (typed, plain))
        assert one["result"] == pytest.approx(other["result"], rel=1e-9)


@pytest.mark.parametrize(("name", "typed", "line"), REFUSED)
def test_refused_in_one_line(name: str, typed: str, line: str, capsys: pytest.CaptureFixture[str]) -> None:
    """Wrong input is one clear line with the quantity and what was expected, exit 2, nothing on standard output."""
    for more in ((), ("--json",)):
        assert here(capsys, "sum", name, *typed.split(), *more) == (2, "", line + "\n")


def test_an_unknown_sum_and_an_unknown_option(capsys: pytest.CaptureFixture[str]) -> None:
    """Both are told in one line with the nearest, exit 2."""
    assert here(capsys, "sum", "splt") == (2, "", "diagnose: no sum 'splt', nearest is 'split'\n")
    status, out, err = here(capsys, "sum", "split", "--bath", "3")
    assert (status, out, err.count("\n")) == (2, "", 1)
    assert "--batch" in err


def test_what_is_missing_is_asked_on_a_terminal(clean_env: dict[str, str]) -> None:
    """The batch is typed, the ratio is asked for on standard error, a slip is told and asked again; the sum comes on standard output."""
    master, slave = pty.openpty()
    process = subprocess.Popen(
        [sys.executable, "-m", "diagnose", "sum", "split", "500"],
        env=clean_env,
        cwd=ROOT,
        stdin=slave,
        stdout=subprocess.PIPE,
        stderr=slave,
    )
    os.close(slave)
    os.write(master, b"12 mm\n1:2\n")
    out = process.communicate(timeout=WAIT)[0].decode()
    asked = os.read(master, 65536).decode()
    os.close(master)
    assert process.returncode == 0
    assert out.splitlines()[0] == "500 g at 1:2 (50 A to 100 B) is 167 g of A and 333 g of B"
    assert "Parts of A to 100 of B by weight" in asked
    assert "--ratio-target: '12 mm' is a length, expected parts of A to 100 of B" in asked


@settings(deadline=None)  # the first run imports
@given(mass=st.floats(allow_nan=True, allow_infinity=True), ratio=st.floats(-10, 1000))
def test_never_nan(mass: float, ratio: float) -> None:
    """Whatever number is typed, the sum is refused or every number in it is finite."""
    status = run_here(["sum", "split", f"--batch={mass!r}", f"--ratio-target={ratio!r}", "--json"])
    assert status in (0, 2)
    if not math.isfinite(mass) or mass <= 0.0:
        assert status == 2


def test_real_process(run: Run) -> None:
    """As a child process: JSON alone on standard output; a refusal alone on standard error."""
    good = run("sum", "dew-point", "--room-temperature", "68F", "--relative-humidity", "60", "--json")
    assert (good.returncode, good.stderr) == (0, "")
    assert json.loads(good.stdout)["result"] == pytest.approx(12.0, abs=0.05)
    bad = run("sum", "split", "--batch", "0", "--ratio-target", "50")
    assert (bad.returncode, bad.stdout, bad.stderr) == (2, "", "diagnose: batch 0 g: expected 0.01 g to 100000 g\n")


# -- the sheet -----------------------------------------------------------------------------------------------------

SHEET = """case: 1
answers:
  build: bare_foam
  painted: no
  symptoms: [short_fill]
  cavity_volume: 1900 mL
  free_rise_density: 160 kg/m^3
  ratio_target: 50
"""


def test_sheet_as_json_and_in_words(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The same grams both ways: 1.9 L x 160 kg/m3 x 1.45 / 0.94 = 469 g, a third of it A; told as 470."""
    path = tmp_path / "case.yaml"
    path.write_text(SHEET)
    status, out, err = here(capsys, "sum", "sheet", str(path), "--json")
    assert (status, err) == (0, "")
    assert out.isascii()
    found = json.loads(out)
    assert list(found) == ["version", "sum", "lines"]
    by_name = {line["name"]: line for line in found["lines"]}
    keys = ["name", "group", "title", "text", "result", "unit", "range", "missing", "used", "sum", "assumes"]
    for line in found["lines"]:
        assert list(line) == keys
        assert (line["result"] is None) == bool(line["missing"])
    assert by_name["mix_mass"]["result"] == pytest.approx(1900 * 0.16 * 1.45 / 0.94, rel=1e-9)
    assert by_name["a_mass"]["result"] == pytest.approx(by_name["mix_mass"]["result"] / 3, rel=1e-9)
    status, out, _ = here(capsys, "sum", "sheet", str(path))
    assert status == 0
    assert out.splitlines()[0] == "Mix in all: 470 g (420 to 515 g)"
    assert "Both liquids, measured in the can: 22 to 25 °C\n" in out
    assert "Last drop in by, after A meets B: needs cream time on the sheet\n" in out


def test_the_sheet_is_that_of_the_report(capsys: pytest.CaptureFixture[str]) -> None:
    """Every number that `read --sheet` prints stands on `sum sheet` too, demold and warmth as the change advised has them."""
    met = 0
    for path in sorted((CASES.parent / "assessment" / "cases").glob("*.yaml")):
        _, read, _ = here(capsys, "read", str(path), "--sheet", "--book")
        status, out, _ = here(capsys, "sum", "sheet", str(path))
        assert status == 0
        whole = set(out.replace("\u00a0", " ").splitlines())
        for line in read.partition("NUMBERS FOR THE NEXT POUR")[2].replace("\u00a0", " ").splitlines():
            if re.match(r"  [A-Z][^:]*: \d", line) and line.strip().partition(":")[0] in TITLES.values():
                assert line.strip() in whole, path.name
                met += 1
    assert met > 40


def test_sheet_of_every_worked_case(capsys: pytest.CaptureFixture[str]) -> None:
    """Every worked case has a sheet, whatever is missing from it."""
    for path in sorted(CASES.glob("*.yaml")):
        status, out, err = here(capsys, "sum", "sheet", str(path), "--json")
        assert (status, err) == (0, ""), path.name
        assert len(json.loads(out)["lines"]) >= 6


# -- before the pour and tomorrow's questions ----------------------------------------------------------------------

PLAN = "case: 1\nanswers:\n  build: bare_foam\n  painted: no\n  mold_temperature: 8 degC\n  material_temperature: 12 degC\n"
RATES = "Rates come from bad parts that somebody looked into: they say which fault is likelier than usual if the part turns out bad, not how likely a bad part is."


def test_plan_pour(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A cold plan: causes raised with a remedy each, faults above the usual, the change that lowers most, and what the rates mean."""
    path = tmp_path / "monday.yaml"
    path.write_text(PLAN)
    status, out, err = here(capsys, "plan-pour", str(path), "--json")
    assert (status, err) == (0, "")
    found = json.loads(out)
    assert list(found) == [
        "version",
        "faults",
        "causes",
        "change",
        "changes",
        "out_of_bounds",
        "wanted",
        "computed",
        "note",
    ]
    assert found["note"] == RATES
    assert {"mold_cold", "material_cold"} <= {cause["id"] for cause in found["causes"]}
    for entry in found["faults"] + found["causes"]:
        assert 0.0 < entry["usual"] < entry["chance"] <= 1.0
    assert found["change"]["saves"] > 0.0
    status, out, _ = here(capsys, "plan-pour", str(path))
    assert status == 0
    assert out.splitlines()[-1] == RATES


def test_plan_pour_of_an_ordinary_plan(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Nothing raised is no promise: what the plan would have to tell is named, with what the rates mean."""
    path = tmp_path / "monday.yaml"
    path.write_text("case: 1\nanswers:\n  build: bare_foam\n  painted: no\n")
    status, out, err = here(capsys, "plan-pour", str(path))
    assert (status, err) == (0, "")
    assert out.startswith(
        "Little is told of this pour, so no risk named is no promise. Tell as well: mold face temperature"
    )
    assert out.endswith(f"\n{RATES}\n")
    assert json.loads(here(capsys, "plan-pour", str(path), "--json")[1])["change"] is None


def test_plan_pour_refuses_a_part_that_is_poured(capsys: pytest.CaptureFixture[str]) -> None:
    """A case with symptoms is for `read`: one line, exit 2."""
    path = str(CASES / "tusks-in-march.yaml")
    line = f"diagnose: {path}: tells symptoms, expected the facts of a pour that is still to come; use: diagnose read\n"
    assert here(capsys, "plan-pour", path) == (2, "", line)


def test_ask_for_tomorrow(capsys: pytest.CaptureFixture[str]) -> None:
    """As many questions as asked for, none twice, none answered yet, with the joint gain rising; the same in words."""
    path = str(CASES / "brains-on-the-ridges.yaml")
    status, out, err = here(capsys, "ask", path, "-n", "3", "--json")
    assert (status, err) == (0, "")
    questions = json.loads(out)["questions"]
    assert len({q["question"] for q in questions}) == len(questions) == 3
    gains = [q["joint_gain_bits"] for q in questions]
    assert gains == sorted(gains)
    assert all(q["title"] and q["find_out"] for q in questions)
    status, out, _ = here(capsys, "ask", path, "-n", "3")
    assert status == 0
    lines = out.splitlines()
    assert lines[0].startswith('Hello, 3 questions about "')
    assert [line[:3] for line in lines if line[:1].isdigit()] == ["1. ", "2. ", "3. "]
    assert lines.count("   [ ] don't know") == 3
    assert all(f"[{q['question']}]" in " ".join(lines) for q in questions)
    assert max(map(len, lines)) <= 78


def test_ask_without_a_symptom(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Nothing to explain: an empty list, and a line that says so."""
    path = tmp_path / "case.yaml"
    path.write_text(PLAN)
    assert json.loads(here(capsys, "ask", str(path), "--json")[1])["questions"] == []
    assert here(capsys, "ask", str(path)) == (
        0,
        "",
        "no question would tell more: no symptom told, or all is answered\n",
    )
