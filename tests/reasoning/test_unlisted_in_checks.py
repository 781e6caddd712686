"""What is not on the list shows in every check with one stated chance, however many telling results the check has."""

import math

import pytest

from diagnose.reasoning.network import NOT_LISTED, Model


@pytest.mark.parametrize("build", ["bare_foam", "skin_and_foam"])
def test_an_unlisted_cause_shows_in_each_check_with_the_stated_chance(build, models):
    """1 - product of (1 - link) over the telling results is `not listed shows`: neither a check of many results nor one of few leans to it."""
    knowledge = models.knowledge
    model = Model(knowledge, build, None)
    shows = knowledge.words["limits"]["not listed shows"]
    kinds = set()
    for check in knowledge.checks.values():
        links = model.result_links(check)
        quiet = math.prod(1.0 - links[result][NOT_LISTED] for result in check.telling)
        assert 1.0 - quiet == pytest.approx(shows, abs=1e-9), check.id
        kinds.add((check.kind, len(check.telling) > 1))
    assert {("many", True), ("choice", True), ("choice", False)} <= kinds


def test_no_telling_result_of_one_choice_is_favored(models):
    """Where one result excludes the others an unlisted cause shows as each of them equally often."""
    model = Model(models.knowledge, None, None)
    for check in models.knowledge.checks.values():
        if check.kind == "many":
            continue
        links, left, chances = model.result_links(check), 1.0, []
        for result in reversed(check.telling):
            chances.append(left * links[result][NOT_LISTED])
            left *= 1.0 - links[result][NOT_LISTED]
        assert chances == pytest.approx([chances[0]] * len(chances), abs=1e-9), check.id
