"""`diagnose read`: one JSON object, many lines, exit statuses, and nothing but JSON on standard output."""

from __future__ import annotations

import json
import os
import re
import resource
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.patience import WAIT

Run = Callable[..., "subprocess.CompletedProcess[str]"]
ROOT = Path(__file__).parents[2]
CASES = ROOT / "tests" / "cases"
TUSKS = CASES / "tusks-in-march.yaml"
KEYS = [
    "version",
    "verdict",
    "dangers",
    "out_of_bounds",
    "causes",
    "unexplained",
    "next",
    "settled",
    "change",
    "save",
    "plan",
    "computed",
    "warnings",
    "knowledge",
    "learned",
]


def significant(number: float) -> int:
    """Return how many significant digits *number* was printed with."""
    mantissa = repr(number).lower().partition("e")[0].replace("-", "").replace(".", "").lstrip("0")
    return len(mantissa.rstrip("0") if "." in repr(number) else mantissa)


def test_one_object_as_promised(run: Run) -> None:
    """The keys in order, causes sorted, numbers of ten digits, nothing on standard error."""
    done = run("read", "--json", TUSKS)
    assert (done.returncode, done.stderr) == (0, "")
    result = json.loads(done.stdout)
    assert list(result) == KEYS
    assert result["version"] == 1
    order = [(-cause["probability"], -cause["present"], cause["id"]) for cause in result["causes"]]
    assert order == sorted(order)
    for cause in result["causes"]:
        assert list(cause) == ["id", "probability", "present", "for", "against"]
        assert 0 <= cause["probability"] <= cause["present"] + 1e-9 <= 1 + 1e-9
        assert significant(cause["probability"]) <= 10
        assert not set(cause["for"]) & set(cause["against"])
    for question in result["next"]:
        assert list(question) == ["question", "gain_bits", "minutes"]
    assert isinstance(result["settled"], bool)
    assert result["settled"] is (result["next"] == [])
    ids = [cause["id"] for cause in result["causes"]]
    assert result["verdict"]["causes"] == ids[: len(result["verdict"]["causes"])]
    assert list(result["change"]) == ["remedies", "causes", "chance"]
    assert list(result["save"]) == ["verdict", "remedies", "chance", "minutes"]
    assert re.fullmatch(r"[0-9a-f]{64}", result["knowledge"])
    for item in result["out_of_bounds"]:
        assert list(item) == ["name", "value", "unit", "low", "high", "causes"]


def test_only_causes_of_this_build_are_listed(run: Run, tmp_path: Path) -> None:
    """Bare, unpainted foam has no skin-coat and no paint cause in its result; an unknown build has all."""
    known = json.loads(run("knowledge", "--json").stdout)["causes"]
    listed = {}
    for build, painted in (("bare_foam", "no"), ("unknown", "unknown")):
        path = tmp_path / "case.yaml"
        path.write_text(f"case: 1\nanswers: {{build: {build}, painted: {painted}, symptoms: [thin_skin]}}\n")
        listed[build] = {cause["id"] for cause in json.loads(run("read", "--json", path).stdout)["causes"]}
    assert listed["unknown"] == set(known)
    assert not {"skin_not_gelled", "paint_cold_or_damp"} & listed["bare_foam"]
    assert "mold_cold" in listed["bare_foam"]


def test_without_a_symptom_nothing_had_a_part(run: Run, tmp_path: Path) -> None:
    """All probabilities are zero and a warning says why; what held is still told."""
    path = tmp_path / "case.json"
    path.write_text(json.dumps({"case": 1, "answers": {"mold_temperature": "5 degC"}}))
    result = json.loads(run("read", "--json", path).stdout)
    assert {cause["probability"] for cause in result["causes"]} == {0}
    assert result["unexplained"] == 0
    assert result["warnings"] == ["no symptom told as seen, so nothing is there to explain: all probabilities are zero"]
    assert "-0.0" not in run("read", "--json", path).stdout


def test_an_answered_question_is_not_asked_again(run: Run, tmp_path: Path) -> None:
    """What was answered, even by "unknown", is not among the next questions."""
    path = tmp_path / "case.yaml"
    asked: list[str] = []
    for _ in range(4):
        lines = "".join(f"  {name}: unknown\n" for name in asked)
        path.write_text(f"case: 1\nanswers:\n  build: bare_foam\n  painted: no\n  symptoms: [coarse_cells]\n{lines}")
        result = json.loads(run("read", "--json", path).stdout)
        following = [question["question"] for question in result["next"]]
        assert following
        assert not set(following) & {*asked, "build", "painted", "coarse_cells"}
        asked.append(following[0])


def test_computed_values_have_their_names_and_units(run: Run, tmp_path: Path) -> None:
    """The promised names, with the promised units, and the values of the hand-worked sums."""
    path = tmp_path / "case.yaml"
    path.write_text("""case: 1
answers: {build: skin_and_foam, symptoms: [skin_gaps], a_mass: 142 g, b_mass: 300 g, ratio_target: 50,
  charge_mass: 395 g, part_mass: 350 g, cavity_volume: 1900 mL, free_rise_density: 0.16 g/mL,
  room_temperature: 23 degC, relative_humidity: 50 %, mold_temperature: 20 degC, skin_mass: 228 g, mold_area: 1450 cm2}
""")
    result = json.loads(run("read", "--json", path).stdout)
    found = {item["name"]: (item["value"], item["unit"]) for item in result["computed"]}
    wanted = {
        "ratio": (47.33333333, "parts_a_per_100_b"),
        "ratio_error": (-5.333333333, "percent"),
        "packing": (1.299342105, "1"),
        "packing_of_part": (1.151315789, "1"),
        "dew_point": (12.02, "degC"),
        "dew_margin": (7.98, "K"),
        "skin_mean": (1.497536946, "mm"),
    }
    for name, (value, unit) in wanted.items():
        assert found[name] == (pytest.approx(value, abs=0.005 if name.startswith("dew") else 1e-8), unit)
    assert "skin_mean: no sheet says how dense the skin is, so 1.05 g/mL is assumed" in result["warnings"]


@pytest.mark.parametrize("network", [(), ("--arithmetic",)])
def test_the_same_bytes_on_every_machine(run: Run, tmp_path: Path, network: tuple[str, ...]) -> None:
    """Hash seed, threads of the linear algebra, locale, encoding of the terminal and an empty cache change no byte."""
    path = tmp_path / "case.yaml"
    path.write_text(
        "case: 1\ntitle: Käuzchen\nanswers:\n  symptoms: [thin_skin, pinholes, shrinkage]\n  mold_temperature: 61 degF\n  room_temperature: 66F\n"
        "  relative_humidity: 70 %\n  where_worst: [top, tips]\n  skin_mass: 200 g\n  mold_area: 1500\n  changed_since_good: [season, person]\n"
    )
    settings: list[dict[str, str]] = [
        {"PYTHONHASHSEED": "0", "OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1"},
        {"PYTHONHASHSEED": "4242", "OMP_NUM_THREADS": "4", "OPENBLAS_NUM_THREADS": "4"},
        {"LC_ALL": "C", "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0"},
        {"PYTHONIOENCODING": "latin-1"},
        {"XDG_CACHE_HOME": str(tmp_path / "fresh"), "TERM": "dumb", "COLUMNS": "20"},
    ]
    said = {run("read", "--json", *network, path, env=env).stdout for env in settings}
    assert len(said) == 1
    assert json.loads(said.pop())["version"] == 1


def test_batch_reads_in_the_order_promised(run: Run, tmp_path: Path) -> None:
    """Files as given, of a folder its own case files by name, refused ones in their place, and exit status 2."""
    folder = tmp_path / "shop"
    (folder / "deep").mkdir(parents=True)
    good = "case: 1\nanswers: {symptoms: [thin_skin]}\n"
    for name in ("b.yml", "a.yaml", "deep/z.yaml", "notes.txt", "d.yaml.bak"):
        (folder / name).write_text(good)
    (folder / "c.json").write_text('{"case": 1, "answers": {"symptoms": ["pinholes"]}}')
    (folder / "B.yaml").write_text("case: 1\nanswers: {symptoms: [thin_skn], a_mass: 0 g}\n")
    (tmp_path / "single.yaml").write_text(good)
    done = run("read", "--batch", "single.yaml", "shop", "none.yaml", cwd=tmp_path)
    lines = [json.loads(line) for line in done.stdout.splitlines()]
    assert (done.returncode, done.stderr) == (2, "")
    assert [line["case"] for line in lines] == [
        "single.yaml",
        "shop/B.yaml",
        "shop/a.yaml",
        "shop/b.yml",
        "shop/c.json",
        "none.yaml",
    ]
    assert lines[1] == {
        "case": "shop/B.yaml",
        "error": "shop/B.yaml:2: symptoms: no symptom 'thin_skn', nearest is 'thin_skin' (and 1 more)",
    }
    assert lines[5] == {"case": "none.yaml", "error": "none.yaml: can't be read: No such file or directory"}
    assert list(lines[2]) == ["case", *KEYS]
    alone = json.loads(run("read", "--json", "shop/c.json", cwd=tmp_path).stdout)
    assert lines[4] == {"case": "shop/c.json", **alone}


def test_batch_of_good_cases_exits_with_nought(run: Run) -> None:
    """All twenty worked cases are read, by name, and `--arithmetic` adds the arithmetic to each."""
    done = run("read", "--batch", "--json", "--arithmetic", CASES)
    lines = [json.loads(line) for line in done.stdout.splitlines()]
    assert (done.returncode, done.stderr) == (0, "")
    assert [Path(line["case"]).name for line in lines] == sorted(path.name for path in CASES.glob("*.yaml"))
    assert all(line["network"]["findings"] for line in lines)


REFUSED = {
    "empty.yaml": (b"", "{path}: empty, expected keys and values"),
    "binary.yaml": (b"\x89PNG\0\0", "{path}: a binary file, expected text (YAML or JSON)"),
    "latin.yaml": (b"case: 1\ntitle: K\xe4uzchen\n", "{path}:2: byte 0xe4 is not UTF-8, expected text in UTF-8"),
    "version.yaml": (
        b"case: 2\nanswers: {}\n",
        "{path}:1: case: '2', expected 1, the version of the format that this program reads",
    ),
    "huge.yaml": (
        b"case: 1\nanswers: {}\n#" + b"x" * (1 << 20),
        "{path}: over 1048576 bytes, expected a case of at most 1 MiB",
    ),
    "deep.yaml": (b"[" * 20_000, "{path}:1: nested more than 24 deep"),
    "owl.yaml": (
        b"case: 1\n\n\n\n\n\n\nanswers:\n  mold_temperature: 61 lb\n",
        "{path}:9: mold_temperature: '61 lb' is a mass, expected a temperature",
    ),
    "many.yaml": (
        b"case: 1\nanswers: {a_mass: 0 g, b_mass: 0 g, thin_skn: seen}\n",
        "{path}:2: a_mass: '0 g' is not believable, expected 1 to 200000 g\n"
        "{path}:2: b_mass: '0 g' is not believable, expected 1 to 200000 g\n"
        "{path}:2: thin_skn: no such question, nearest is 'thin_skin'",
    ),
    "bomb.yaml": (
        b"a: &a [x]\nb: &b [*a, *a]\nc: [*b, *b]\n",
        "{path}:1: anchor &a: anchors and aliases are refused, write the value out",
    ),
    "tag.json": (b'{"case": 1, "case": 1, "answers": {}}', "{path}:1: case: stands twice, first in line 1"),
}


@pytest.mark.parametrize("name", REFUSED)
@pytest.mark.parametrize("options", [("--json",), ()], ids=["json", "report"])
def test_a_refused_case_is_a_line_a_fault_and_status_two(
    run: Run, tmp_path: Path, name: str, options: tuple[str, ...]
) -> None:
    """A clear line for each fault on standard error, nothing on standard output, exit status 2, nothing changed on the disk."""
    data, message = REFUSED[name]
    path = tmp_path / name
    path.write_bytes(data)
    before = (path.read_bytes(), path.stat().st_mtime_ns, sorted(os.listdir(tmp_path)))
    done = run("read", *options, path)
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr == message.format(path=path) + "\n"
    assert (path.read_bytes(), path.stat().st_mtime_ns, sorted(os.listdir(tmp_path))) == before


def test_a_refusal_takes_less_than_a_second(run: Run, tmp_path: Path) -> None:
    """The quickest of three runs on a mebibyte of wrong keys, start of the interpreter and all, by the processor's time."""
    path = tmp_path / "wrong.yaml"
    path.write_text("case: 1\nanswers:\n" + "".join(f"  question_{n}: 1\n" for n in range(55_000)))
    took = []
    for _ in range(3):
        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        assert run("read", "--json", path).returncode == 2
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
        took.append(after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime)
    assert 0.05 < min(took) < 1.0


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (("read",), "diagnose: Missing argument 'CASE...'; see diagnose read --help"),
        (("read", "a.yaml", "b.yaml"), "diagnose: one case at a time, or --batch for many; see diagnose read --help"),
        (
            ("read", "--batch", "--html", "x.html", "a.yaml"),
            "diagnose: --batch does not go with --html; see diagnose read --help",
        ),
        (
            ("--knowledge", "x", "read", "a.yaml"),
            "diagnose: --knowledge goes behind the command, as in: diagnose read --knowledge DIR; see diagnose --help",
        ),
        (
            ("read", "--knowledge", "/no/such", "a.yaml"),
            "/no/such: no such folder, expected a folder of knowledge files",
        ),
    ],
)
def test_a_wrong_command_line_is_one_line_and_status_two(run: Run, words: tuple[str, ...], message: str) -> None:
    """What is wrong and where to read on, in one line."""
    done = run(*words)
    assert (done.returncode, done.stdout, done.stderr) == (2, "", message + "\n")


@pytest.mark.parametrize("words", [("red", "a.yaml"), ("read", "--jsn", "a.yaml"), ("knowledge", "chek")])
def test_a_misspelt_command_is_one_line_with_the_nearest(run: Run, words: tuple[str, ...]) -> None:
    """A command or option that doesn't exist is told with the one that does."""
    done = run(*words)
    assert (done.returncode, done.stdout) == (2, "")
    assert len(done.stderr.splitlines()) == 1
    assert re.search(r"nearest is|Did you mean", done.stderr)


def test_help_and_version_exit_with_nought(run: Run) -> None:
    """Both go to standard output."""
    assert (run("--version").returncode, run("read", "-h").returncode, run("--help").returncode) == (0, 0, 0)
    assert run("--version").stdout.startswith("diagnose, version ")


def test_a_closed_pipe_is_no_traceback(clean_env: dict[str, str]) -> None:
    """Who reads the first line and goes, as `head` does, is not shown a traceback."""
    child = subprocess.Popen(
        [sys.executable, "-m", "diagnose", "read", "--batch", "--arithmetic", *[str(CASES)] * 5],
        cwd=ROOT,
        env=clean_env,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    )
    assert child.stdout is not None
    assert child.stderr is not None
    child.stdout.readline()
    child.stdout.close()
    said = child.stderr.read()
    child.stderr.close()
    assert child.wait(timeout=WAIT) == 1
    assert said == b""


def test_a_full_disk_is_status_one(clean_env: dict[str, str]) -> None:
    """Work that fails is told in one line with exit status 1."""
    with open("/dev/full", "w", encoding="utf-8") as full:
        done = subprocess.run(
            [sys.executable, "-m", "diagnose", "read", "--json", str(TUSKS)],
            cwd=ROOT,
            env=clean_env,
            stdout=full,
            stderr=subprocess.PIPE,
            text=True,
            timeout=WAIT,
            check=False,
        )
    assert (done.returncode, done.stderr) == (1, "diagnose: No space left on device\n")


def test_ctrl_c_is_status_130(clean_env: dict[str, str], tmp_path: Path) -> None:
    """Stopped while it waits for a file that never comes: no traceback, exit status 130."""
    pipe = tmp_path / "case.yaml"
    os.mkfifo(pipe)
    child = subprocess.Popen(
        [sys.executable, "-m", "diagnose", "read", "--json", str(pipe)],
        cwd=ROOT,
        env=clean_env,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        # a test run that was put in the background ignores Ctrl-C, and a child would inherit that
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),
    )
    writer = os.open(pipe, os.O_WRONLY)  # opens as soon as the child has opened its end, and then it waits to read
    time.sleep(0.1)
    child.send_signal(signal.SIGINT)
    try:
        out, err = child.communicate(timeout=WAIT)
    finally:
        child.kill()
        os.close(writer)
    assert (child.returncode, out) == (130, b"")
    assert b"Traceback" not in err
