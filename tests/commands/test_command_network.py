"""From `--arithmetic` anybody can redo the answer: by firing every link by hand on small nets, and in long decimals on whole ones."""

from __future__ import annotations

import itertools
import json
import math
import subprocess
from collections.abc import Callable
from decimal import Decimal, getcontext
from pathlib import Path
from typing import Any

import pytest

Run = Callable[..., "subprocess.CompletedProcess[str]"]
CASES = Path(__file__).parents[1] / "cases"
getcontext().prec = 60

SMALL_CASES = {
    "one_symptom": "symptoms: [soft_face]",
    "two_symptoms": "symptoms: [soft_face, holes]\nface_temperature: 9 degC\nchanged: [season]",
    "all_symptoms": "symptoms: [soft_face, holes, paint_flakes, coat_lifts]\npaint_wait: 2 h\nshop_temperature: 12 degC",
    "absent_and_checks": "symptoms: [holes]\nsymptoms_absent: [soft_face]\nbuild: bare_foam\ncup: soft\nwhere: [top]\nthickness: 0.45 mm",
    "hearsay": "holes: {value: seen, source: remembered}\nsoft_face: {value: absent, source: told}\n"
    "cup: {value: holed, source: told}\nface_temperature: {value: 35 degC, source: told}",
    "good_cup": "symptoms: [holes, soft_face]\npainted: no\ncup: good\nwhere: [everywhere]",
    "nothing_seen": "cup: soft\nface_temperature: 9 degC",
}


def by_hand(network: dict[str, Any]) -> tuple[dict[str, float], dict[str, float], float]:
    """Return present, probability and unexplained by firing every leak and every link of every set of causes."""
    names = list(network["priors"])
    seen = [f for f in network["findings"] if f["symptom"] and f["seen"]]
    total, leakless = 0.0, 0.0
    held, silent = dict.fromkeys(names, 0.0), dict.fromkeys(names, 0.0)
    for bits in itertools.product((False, True), repeat=len(names)):
        holding = [name for name, bit in zip(names, bits, strict=True) if bit]
        weight = math.prod(
            network["priors"][n] if bit else 1 - network["priors"][n] for n, bit in zip(names, bits, strict=True)
        )
        quiet = dict.fromkeys(holding, weight)
        no_leak = weight
        for finding in network["findings"]:
            whole, without, clean = fired(finding, holding)
            weight *= whole
            no_leak *= clean if finding in seen else whole
            for name in holding:
                quiet[name] *= without[name] if finding in seen else whole
        total += weight
        leakless += no_leak
        for name in holding:
            held[name] += weight
            silent[name] += quiet[name]
    present = {name: held[name] / total for name in names}
    return present, {name: (held[name] - silent[name]) / total for name in names}, 1 - leakless / total


def fired(finding: dict[str, Any], holding: list[str]) -> tuple[float, dict[str, float], float]:
    """Return the likelihood of one finding, its part in which each cause is silent, and that in which neither the leak nor `not_listed` fires."""
    roads = [("", finding["leak"]), *((name, finding["links"].get(name, 0.0)) for name in holding)]
    whole, clean, without = 0.0, 0.0, dict.fromkeys(holding, 0.0)
    for fires in itertools.product((False, True), repeat=len(roads)):
        weight = (
            math.prod(chance if fire else 1 - chance for (_, chance), fire in zip(roads, fires, strict=True))
            * finding["on" if any(fires) else "off"]
        )
        loud = {name for (name, _), fire in zip(roads, fires, strict=True) if fire}
        whole += weight
        clean += 0.0 if loud & {"", "not_listed"} else weight
        for name in holding:
            without[name] += 0.0 if name in loud else weight
    return whole, without, clean


def in_decimals(network: dict[str, Any]) -> tuple[dict[str, float], dict[str, float], float]:
    """The same by inclusion and exclusion over the findings, in sixty digits, which is enough for a whole net."""
    names = list(network["priors"])
    prior = {name: Decimal(repr(p)) for name, p in network["priors"].items()}
    findings = [
        {
            **f,
            "on": Decimal(repr(f["on"])),
            "off": Decimal(repr(f["off"])),
            "leak": Decimal(repr(f["leak"])),
            "telling": f["symptom"] and f["seen"],
            "links": {name: 1 - Decimal(repr(p)) for name, p in f["links"].items()},
        }
        for f in network["findings"]
    ]
    opened, shut = [f for f in findings if f["on"] > 0], [f for f in findings if f["on"] <= 0]
    one = Decimal(1)
    told = [f for f in findings if f["telling"]]
    hush = {name: math.prod((f["links"].get(name, one) for f in told), start=one) for name in names}
    shut_factor = {name: math.prod((f["links"].get(name, one) for f in shut), start=one) for name in names}
    start = math.prod((f["off"] * (1 - f["leak"]) for f in shut), start=one)
    total, leakless = Decimal(0), Decimal(0)
    held, silent = dict.fromkeys(names, Decimal(0)), dict.fromkeys(names, Decimal(0))
    for bits in itertools.product((False, True), repeat=len(opened)):
        off = [f for f, bit in zip(opened, bits, strict=True) if bit]
        on = [f for f, bit in zip(opened, bits, strict=True) if not bit]
        weight = math.prod(((f["off"] - f["on"]) * (1 - f["leak"]) for f in off), start=start) * math.prod(
            (f["on"] for f in on), start=one
        )
        factor = {
            n: prior[n] * shut_factor[n] * math.prod((f["links"].get(n, one) for f in off), start=one) for n in names
        }
        quiet = {
            n: prior[n]
            * shut_factor[n]
            * hush[n]
            * math.prod((f["links"].get(n, one) for f in off if not f["telling"]), start=one)
            for n in names
        }
        product = math.prod((1 - prior[n] + factor[n] for n in names), start=weight)
        total += product
        for name in names:
            rest = product / (1 - prior[name] + factor[name])
            held[name] += rest * factor[name]
            silent[name] += rest * quiet[name]
        rest = (
            product / (1 - prior["not_listed"] + factor["not_listed"]) * (1 - prior["not_listed"] + quiet["not_listed"])
        )
        leakless += rest * math.prod((1 - f["leak"] for f in on if f["telling"]), start=one)
    return (
        {n: float(held[n] / total) for n in names},
        {n: float((held[n] - silent[n]) / total) for n in names},
        float(1 - leakless / total),
    )


def agrees(result: dict[str, Any], redone: tuple[dict[str, float], dict[str, float], float]) -> None:
    """Assert that *result* is what was worked out again, to a billionth."""
    present, probability, unexplained = redone
    assert {c["id"] for c in result["causes"]} == set(result["network"]["priors"]) - {"not_listed"}
    for cause in result["causes"]:
        assert cause["present"] == pytest.approx(present[cause["id"]], abs=1e-9)
        assert cause["probability"] == pytest.approx(probability[cause["id"]], abs=1e-9)
    assert result["unexplained"] == pytest.approx(unexplained, abs=1e-9)


@pytest.mark.parametrize("name", SMALL_CASES)
def test_a_small_net_by_hand(run: Run, small: Path, tmp_path: Path, name: str) -> None:
    """On five causes every number follows from the dump by firing every link."""
    path = tmp_path / "case.yaml"
    path.write_text("case: 1\nanswers:\n" + "".join(f"  {line}\n" for line in SMALL_CASES[name].splitlines()))
    done = run("read", "--json", "--arithmetic", "--knowledge", small, path)
    assert (done.returncode, done.stderr) == (0, "")
    result = json.loads(done.stdout)
    agrees(result, by_hand(result["network"]))
    if name == "nothing_seen":
        assert result["unexplained"] == 0
        assert all(cause["probability"] == 0 for cause in result["causes"])
        assert any(cause["present"] > 0.3 for cause in result["causes"])


@pytest.mark.parametrize(
    "stem",
    [
        "tusks-in-march",
        "brown-skin-swirled-through",
        "wiped-and-painted",
        "stopped-short-in-the-pot",
        "club-with-a-brown-heart",
    ],
)
def test_a_whole_net_in_long_decimals(run: Run, stem: str) -> None:
    """On the shipped knowledge every number follows from the dump as well."""
    result = json.loads(run("read", "--json", "--arithmetic", CASES / f"{stem}.yaml").stdout)
    agrees(result, in_decimals(result["network"]))


def test_the_two_ways_agree(run: Run, small: Path, tmp_path: Path) -> None:
    """The long decimals are themselves checked by hand on a small net."""
    path = tmp_path / "case.yaml"
    path.write_text(
        "case: 1\nanswers:\n" + "".join(f"  {line}\n" for line in SMALL_CASES["absent_and_checks"].splitlines())
    )
    network = json.loads(run("read", "--json", "--arithmetic", "--knowledge", small, path).stdout)["network"]
    for one, other in zip(by_hand(network)[:2], in_decimals(network)[:2], strict=True):
        assert one == pytest.approx(other, abs=1e-12)


def test_what_the_dump_holds(run: Run) -> None:
    """Priors of all causes with `not_listed`; findings with the keys promised, links between 0 and 1, twelve digits at most."""
    result = json.loads(run("read", "--json", "--arithmetic", CASES / "tusks-in-march.yaml").stdout)
    network = result["network"]
    assert set(network) == {"priors", "findings"}
    assert "not_listed" in network["priors"]
    assert "not_listed" not in {cause["id"] for cause in result["causes"]}
    numbers = list(network["priors"].values())
    for finding in network["findings"]:
        assert list(finding) == ["id", "symptom", "seen", "on", "off", "leak", "links"]
        assert set(finding["links"]) <= set(network["priors"])
        numbers += [finding["on"], finding["off"], finding["leak"], *finding["links"].values()]
    assert all(0 <= number <= 1 and float(f"{number:.12g}") == number for number in numbers)
