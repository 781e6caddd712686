"""How an answer becomes findings: bands, values side by side, two views of one thing, trust."""

import itertools
import math

import numpy as np
import pytest
from msgspec.structs import replace

from diagnose.assessment.consultation import ModelCache
from diagnose.knowledge import load_knowledge
from diagnose.knowledge.model import Link
from diagnose.reasoning.answers import ABSENT, SEEN, Answer
from diagnose.reasoning.network import Model
from diagnose.reasoning.situation import Situation, log_odds
from diagnose.reasoning.soft_evidence import band_shares, read_bands

KNOWLEDGE = ModelCache(load_knowledge(None)).knowledge
MODEL = Model(KNOWLEDGE, "bare_foam", False)
BANDS = [(None, 0.1), (0.1, 0.5), (0.5, None)]
SKIN = [name for name, cause in MODEL.causes.items() if "skin_thickness" in cause.checks]


def of(answers):
    """The findings by id."""
    return {f.id: f for f in MODEL.network(answers).findings}


def present(answers):
    """P(held) by cause."""
    return {c.id: c.present for c in Situation(MODEL, answers).beliefs.causes}


def likelihood(findings, holding):
    """The likelihood of *findings* (BandReading) with the causes *holding* and the leak."""
    total = 1.0
    for finding in findings:
        quiet = math.prod(1.0 - finding.links.get(name, 0.0) for name in ("", *holding))
        total *= finding.on * (1.0 - quiet) + finding.off * quiet
    return total


def exact(shares, links, holding):
    """The same for the mixture of the bands: sum of share x chance that this band is what shows."""
    total, left = 0.0, 1.0
    for share, level in zip(shares, links, strict=False):
        quiet = math.prod(1.0 - level.get(name, 0.0) for name in ("", *holding))
        total += share * left * (1.0 - quiet)
        left *= quiet
    return total + shares[-1] * left


@pytest.mark.parametrize("value", [0.0, 0.05, 0.1, 0.15, 0.2, 0.3, 0.45, 0.5, 0.6, 1.0, 3.0])
def test_a_band_reading_is_exact_for_each_cause_alone(value):
    """With one cause at work and no coincidence the shared reading has exactly the chance of the mixture of its bands."""
    shares = band_shares(BANDS, value, 0.15)
    assert sum(shares) == pytest.approx(1.0, abs=1e-15)
    for p in itertools.product((0.05, 0.5, 0.9), repeat=2):
        links = [{"": 0.0, "a": p[0]}, {"": 0.0, "a": p[1]}]
        found = read_bands(shares, links)
        for holding in ((), ("a",)):
            assert likelihood(found, holding) == pytest.approx(exact(shares, links, holding), abs=2e-6)


@pytest.mark.parametrize("value", [-3.0, 0.25, 5.0])
def test_a_band_reading_without_error_is_exact_for_any_causes(value):
    """In the middle of a band the reading is the noisy-MAX itself, with two causes and coincidence at once."""
    shares = band_shares([(None, 0.1), (0.1, 0.5), (0.5, None)], value, 1e-9)
    links = [{"": 0.01, "a": 0.4, "b": 0.1}, {"": 0.02, "a": 0.5, "b": 0.7}]
    for holding in ((), ("a",), ("b",), ("a", "b")):
        assert likelihood(read_bands(shares, links), holding) == pytest.approx(exact(shares, links, holding), abs=1e-12)


def test_a_band_reading_is_near_for_two_causes():
    """Near the upper edge, with two causes and coincidence at once, the product is off the mixture by an eighth of it at most."""
    links = [{"": 0.01, "a": 0.25, "b": 0.08}, {"": 0.02, "a": 0.5, "b": 0.75}]
    for value in [i / 50 for i in range(40)]:
        shares = band_shares(BANDS, value, 0.15)
        mine, truth = (
            f(x, links, ("a", "b"))
            for f, x in ((lambda r, _, h: likelihood(r, h), read_bands(shares, links)), (exact, shares))
        )
        assert mine == pytest.approx(truth, rel=0.125), value


@pytest.mark.parametrize(
    "extra", [{}, {"pinholes": Answer(SEEN)}, {"thin_skin": Answer(SEEN)}, {"thin_skin": Answer(ABSENT)}]
)
@pytest.mark.parametrize("source", ["measured", "seen", "remembered"])
def test_skin_thickness_moves_smoothly(extra, source):
    """A hundredth of a millimetre never moves a cause's odds by a factor of 1.5, also across the edges of the bands."""
    last = None
    for step in range(121):
        now = present({**extra, "skin_thickness": Answer(step / 100, source)})
        for name in SKIN if last else ():
            moved = now[name] / (1 - now[name]) / (last[name] / (1 - last[name]))
            assert 1 / 1.5 < moved < 1.5, (name, step)
        last = now


def test_a_thin_skin_measured_keeps_the_thin_skin_told():
    """A measured 0.3 mm beside "the skin is thin" is one thing, surer: the symptom stays to be explained."""
    told = of({"thin_skin": Answer(SEEN)})["thin_skin"]
    both = of({"thin_skin": Answer(SEEN), "skin_thickness": Answer(0.3, "measured", 1e-6)})
    assert list(both) == ["thin_skin"]
    assert (told.off, both["thin_skin"].off) == (0.01, 0.0)
    assert both["thin_skin"].links == told.links


def test_a_good_skin_measured_takes_the_thin_skin_back():
    """A measured 2 mm outweighs "the skin is thin": the symptom is then absent and has nothing to explain."""
    both = of({"thin_skin": Answer(SEEN), "skin_thickness": Answer(2.0, "measured")})
    assert (both["thin_skin"].seen, both["thin_skin"].on, both["thin_skin"].off) == (False, 0.0, 1.0)


@pytest.mark.parametrize(
    ("symptom", "check", "value"),
    [("scorched_core", "cut_face", ("brown_heart",)), ("coarse_cells", "cut_face", ("coarse_all",))],
)
def test_two_views_of_one_thing_count_once(symptom, check, value):
    """Seen by the eye and on the cut: as if the symptom alone had been told."""
    once, twice = present({symptom: Answer(SEEN)}), present({symptom: Answer(SEEN), check: Answer(value)})
    assert twice == once


def test_the_surer_of_two_views_is_believed():
    """A cut seen to be even takes back a brown heart only remembered; a brown heart seen is not taken back by a cut remembered."""
    even, brown = ("fine_even",), ("brown_heart",)
    surer_cut = of({"scorched_core": Answer(SEEN, "remembered"), "cut_face": Answer(even)})
    assert not surer_cut["scorched_core"].seen
    surer_eye = of({"scorched_core": Answer(SEEN), "cut_face": Answer(even, "remembered")})
    assert surer_eye["scorched_core"].seen
    assert "cut_face:brown_heart" not in surer_eye
    told_absent = of({"scorched_core": Answer(ABSENT, "remembered"), "cut_face": Answer(brown)})
    assert "scorched_core" not in told_absent
    assert told_absent["cut_face:brown_heart"].seen


@pytest.mark.parametrize("check", ["where_worst", "cut_face"])
def test_the_base_of_many_alone_makes_the_others_absent(check):
    """`everywhere`, or a fine even cut, chosen alone says that nothing else is there; with others it is one among them."""
    entry = KNOWLEDGE.checks[check]
    alone = of({check: Answer((entry.base,))})
    assert {f.id for f in alone.values()} == {f"{check}:{result}" for result in entry.telling}
    assert all(f.on == 0.0 for f in alone.values())
    among = of({check: Answer((entry.base, entry.telling[0]))})
    assert f"{check}:{entry.telling[0]}" in among
    assert all(f.seen for f in among.values())


def test_an_unchosen_value_of_many_says_nothing():
    """Only what was chosen becomes a finding."""
    assert list(of({"where_worst": Answer(("top", "tips"))})) == ["where_worst:top", "where_worst:tips"]


def test_a_check_makes_all_that_is_more_telling_absent():
    """A reading of a choice: absent above it, seen itself, silent below."""
    check = next(
        c
        for c in KNOWLEDGE.checks.values()
        if c.kind == "choice" and len(c.telling) >= 3 and KNOWLEDGE.applies(c.id, "bare_foam", False)
    )
    middle = check.telling[1]
    found = of({check.id: Answer(middle)})
    assert {f.id: f.seen for f in found.values()} == {f"{check.id}:{middle}": True} | {
        f"{check.id}:{r}": False for r in check.telling[2:]
    }


def test_links_of_a_check_give_back_the_chances_written():
    """Level by level the conditional links of one cause multiply out to the chance written for each result."""
    for check in KNOWLEDGE.checks.values():
        if check.kind == "many":
            continue
        links = MODEL.result_links(check)
        for name, cause in MODEL.causes.items():
            left = 1.0
            written = {r: link.p for r, link in cause.checks.get(check.id, {}).items()}
            scale = min(1.0, 0.98 / sum(written.values())) if written else 1.0
            for result in reversed(check.telling):
                link = links[result].get(name, 0.0)
                assert left * link == pytest.approx(written.get(result, 0.0) * scale, abs=1e-9), (
                    name,
                    check.id,
                    result,
                )
                left *= 1.0 - link


@pytest.mark.parametrize(("source", "slip"), [("measured", 0.0), ("seen", 0.01), ("told", 0.05), ("remembered", 0.1)])
def test_trust_in_what_is_seen(source, slip):
    """A seen effect has weights (1, f) by how it is known."""
    finding = of({"pinholes": Answer(SEEN, source)})["pinholes"]
    assert (finding.on, finding.off, finding.seen) == (1.0, slip, True)


@pytest.mark.parametrize(("source", "trust"), [("measured", 1.0), ("seen", 1.0), ("told", 0.8), ("remembered", 0.5)])
def test_trust_in_what_is_absent(source, trust):
    """An absent effect keeps (0, 1) with 1 - link and 1 - leak raised to the trust."""
    finding = of({"pinholes": Answer(ABSENT, source)})["pinholes"]
    assert (finding.on, finding.off, finding.seen) == (0.0, 1.0, False)
    for name, link in MODEL.symptom_links("pinholes").items():
        assert finding.links[name] == pytest.approx(1 - (1 - link) ** trust, rel=1e-11)
    assert finding.leak == pytest.approx(1 - (1 - KNOWLEDGE.symptoms["pinholes"].background) ** trust, rel=1e-11)


def test_everything_is_rounded_before_inference():
    """Priors, leaks and links have twelve digits at most, so that the dump is all that was inferred on."""
    network = MODEL.network(
        {
            "pinholes": Answer(SEEN),
            "voids_under_skin": Answer(ABSENT, "remembered"),
            "skin_thickness": Answer(0.31, "told"),
            "mold_temperature": Answer(13.37, "measured"),
            "where_worst": Answer(("top",)),
        }
    )
    values = [*network.priors, *(v for f in network.findings for v in (f.on, f.off, f.leak, *f.links.values()))]
    assert all(value == float(f"{value:.12g}") for value in values)


def test_a_base_of_many_that_a_cause_links_to_counts_among_others():
    """Where a cause links to `everywhere`, chosen with others it is a finding like them; alone it still makes the others absent."""
    cause = KNOWLEDGE.causes["mold_cold"]
    linked = replace(
        cause,
        checks={
            **cause.checks,
            "where_worst": {**cause.checks.get("where_worst", {}), "everywhere": Link("often", 0.5, "")},
        },
    )
    model = Model(replace(KNOWLEDGE, causes={**KNOWLEDGE.causes, "mold_cold": linked}), "bare_foam", False)
    among = {f.id: f for f in model.network({"where_worst": Answer(("everywhere", "top"))}).findings}
    assert set(among) == {"where_worst:everywhere", "where_worst:top"}
    assert among["where_worst:everywhere"].links == {
        "mold_cold": 0.5,
        "not_listed": KNOWLEDGE.words["limits"]["not listed link"],
    }
    assert among["where_worst:everywhere"].leak > 0.0
    alone = model.network({"where_worst": Answer(("everywhere",))}).findings
    assert all(f.on == 0.0 for f in alone)


def test_every_symptom_is_as_weak_a_sign_of_an_unlisted_cause():
    """What shows by itself less often links to an unlisted cause as much weaker, so that link over leak is one figure for all symptoms."""
    ordinary, limits = KNOWLEDGE.words["background"]["ordinary"], KNOWLEDGE.words["limits"]
    backgrounds = set()
    for name, symptom in KNOWLEDGE.symptoms.items():
        if not KNOWLEDGE.applies(name, "bare_foam", False):
            continue
        finding = of({name: Answer(SEEN)})[name]
        backgrounds.add(symptom.background)
        assert finding.links["not_listed"] / finding.leak == pytest.approx(
            limits["not listed link"] / ordinary, rel=1e-9
        )
    assert len(backgrounds) > 1


def test_a_link_of_one_in_an_absent_finding():
    """A cause that always shows what is absent is out, and what the answer weighs is still what is lost without it."""
    cause = KNOWLEDGE.causes["mold_cold"]
    sure = replace(cause, symptoms={**cause.symptoms, "thin_skin": Link("always", 1.0, "")})
    model = Model(replace(KNOWLEDGE, causes={**KNOWLEDGE.causes, "mold_cold": sure}), "bare_foam", False)
    answers = {"pinholes": Answer(SEEN), "thin_skin": Answer(ABSENT), "voids_under_skin": Answer(ABSENT)}
    with_it = {c.id: c for c in Situation(model, answers).beliefs.causes}
    without = {c.id: c for c in Situation(model, answers).without("thin_skin").beliefs.causes}
    assert with_it["mold_cold"].present == 0.0
    lost = math.log(without["mold_cold"].present / (1 - without["mold_cold"].present))
    assert dict(with_it["mold_cold"].weights)["thin_skin"] == pytest.approx(math.log(1e-15) - lost, abs=1e-6)


@pytest.mark.parametrize(("sigmas", "kept"), [(4.7, True), (4.8, False)])
def test_a_share_of_less_than_a_millionth_is_none(sigmas, kept):
    """1.3 millionths of a normal error lie beyond 4.7 standard errors, 0.8 beyond 4.8 (normal tables)."""
    near, beyond = band_shares([(None, 10.0), (10.0, None)], 10.0 - 2.0 * sigmas, 2.0)
    assert (beyond > 0.0) is kept
    assert near + beyond == pytest.approx(1.0, abs=1e-15)
    assert near == (1.0 if not kept else pytest.approx(1.0 - 1.3e-6, abs=1e-7))


def test_a_reading_just_on_an_edge_has_the_links_of_its_band():
    """Half and half: the finding is as likely seen as not, and each link is what it is in the book."""
    (found,) = read_bands([0.5, 0.5], [{"": 0.1, "a": 0.3}])
    assert (found.level, found.on, found.off, found.links) == (0, 0.5, 0.5, {"": 0.1, "a": 0.3})
    assert band_shares([(None, 10.0), (10.0, None)], 10.0, 2.0) == pytest.approx([0.5, 0.5])


def test_odds_of_certainty_are_finite():
    """Held within 1e-15 of nothing and of certainty: 34.5 nats either way, and nothing at even chances."""
    low, even, high = log_odds(np.array([0.0, 0.5, 1.0]))
    assert (float(low), float(even), float(high)) == pytest.approx((-math.log(1e15), 0.0, math.log(1e15)), abs=0.2)
