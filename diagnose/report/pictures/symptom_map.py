"""The map of a symptom: its remedies, its causes, and beside it the checks that tell the causes apart.

Read off the graph of the knowledge, laid out by us: causes by their link to the symptom, remedies and checks at the height of the causes
that they touch, everything else by id, so that the map is the same on every run. An edge is as wide as its link. One sheet holds so
many causes and remedies; what is left out is counted.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from diagnose.knowledge import Knowledge
from diagnose.prose.answer import counted, in_sentence, listed, mends, shortened
from diagnose.report.pictures.canvas import GREY, INK, PAPER, SMALLEST, WIDTH, Point, Sheet, height_of, wrapped
from diagnose.report.pictures.svg import Alternative

NAME = "map"
MOST_CAUSES, MOST_REMEDIES, MOST_CHECKS = 14, 20, 6
#: a check counts for a cause that shows in it at least so surely; weaker ones would make the map a net
TELLS = 0.4
#: dashes of the edges from a remedy, by when it is done, and how that is said
_WHEN: dict[str, tuple[tuple[float, ...], str, str]] = {
    "next_pour": ((), "on the next pour", "#111111"),
    "between_pours": ((7.0, 2.5), "between pours", "#0b5fa5"),
    "this_part": ((2.0, 2.0), "on this part", "#b34700"),
}
_CHECK_DASH, _CHECK_INK = (5.0, 2.0, 1.5, 2.0), "#00735c"


@dataclass(frozen=True, slots=True)
class Node:
    """A box: kind and id of the entry, its title, and for a remedy when it is done."""

    kind: str
    id: str
    title: str
    when: str = ""

    @property
    def name(self) -> str:
        """The name of its mark."""
        return f"{self.kind}-{self.id}"


@dataclass(frozen=True, slots=True)
class Edge:
    """A link with its probability and its word."""

    source: Node
    target: Node
    p: float
    word: str


@dataclass(frozen=True, slots=True)
class SymptomMap:
    """All that the map shows, each column from above to below; *more_causes* and *more_remedies* did not fit."""

    symptom: Node
    causes: tuple[Node, ...]
    remedies: tuple[Node, ...]
    checks: tuple[Node, ...]
    edges: tuple[Edge, ...]
    more_causes: int
    more_remedies: int


def map_of(knowledge: Knowledge, symptom: str) -> SymptomMap:
    """Return the map of *symptom*. Raises KeyError where there is none of that id."""
    return _Mapper(knowledge, symptom).made()


class _Mapper:
    def __init__(self, knowledge: Knowledge, symptom: str) -> None:
        from diagnose.knowledge.graph import graph_of

        self.knowledge = knowledge
        self.graph: Any = graph_of(knowledge)
        self.symptom = Node("symptom", symptom, shortened(knowledge.symptoms[symptom].title, 80))

    def made(self) -> SymptomMap:
        """Choose, order and link the boxes."""
        shown, more = self._causes()
        causes = [self._node("cause", name) for name in shown]
        chosen, rest = self._remedies(shown)
        remedies = self._at_height([self._node("remedy", name) for name in chosen], causes)
        checks = self._at_height([self._node("check", name) for name in self._checks(shown)], causes)
        return SymptomMap(
            self.symptom,
            tuple(causes),
            tuple(remedies),
            tuple(checks),
            tuple(self._edges(causes, remedies, checks)),
            more,
            rest,
        )

    def _node(self, kind: str, name: str) -> Node:
        if kind == "check":
            return Node(kind, name, shortened(self.knowledge.checks[name].short, 60))
        if kind == "remedy":
            return Node(
                kind, name, shortened(self.knowledge.remedies[name].title, 80), self.knowledge.remedies[name].when
            )
        return Node(kind, name, shortened(self.knowledge.causes[name].title, 80))

    def _into(self, kind: str, node: tuple[str, str]) -> list[tuple[float, str]]:
        """What of *kind* leads to *node*, with its link: strongest first, then by id."""
        found = [
            (self.graph.edges[source, node]["p"], source[1])
            for source in self.graph.predecessors(node)
            if source[0] == kind
        ]
        return sorted(found, key=lambda pair: (-pair[0], pair[1]))

    def _causes(self) -> tuple[list[str], int]:
        found = self._into("cause", ("symptom", self.symptom.id))
        order = sorted(found, key=lambda pair: (-pair[0], -self.knowledge.causes[pair[1]].base, pair[1]))
        return [name for _, name in order[:MOST_CAUSES]], max(0, len(order) - MOST_CAUSES)

    def _remedies(self, causes: Sequence[str]) -> tuple[list[str], int]:
        """The surest remedy of each cause for the next pour comes first, then its surest for the part, then the others."""
        fixes = {cause: [name for _, name in self._into("remedy", ("cause", cause))] for cause in causes}
        rounds: list[str] = []
        for wanted in (("next_pour", "between_pours"), ("this_part",)):
            for cause in causes:
                rounds += [name for name in fixes[cause] if self.knowledge.remedies[name].when in wanted][:1]
        order = list(dict.fromkeys([*rounds, *(name for cause in causes for name in fixes[cause])]))
        return order[:MOST_REMEDIES], max(0, len(order) - MOST_REMEDIES)

    def _tells(self, cause: str) -> dict[str, tuple[float, str]]:
        """The checks that *cause* shows in, each with its strongest link."""
        found: dict[str, tuple[float, str]] = {}
        for kind, name in self.graph.successors(("cause", cause)):
            if kind == "result":
                edge = self.graph.edges[("cause", cause), (kind, name)]
                check = name.partition(".")[0]
                found[check] = max(found.get(check, (0.0, "")), (edge["p"], edge["word"]))
        return {check: link for check, link in found.items() if link[0] >= TELLS}

    def _checks(self, causes: Sequence[str]) -> list[str]:
        weight: dict[str, float] = {}
        for cause in causes:
            for check, (p, _) in self._tells(cause).items():
                weight[check] = weight.get(check, 0.0) + p
        return sorted(weight, key=lambda check: (-round(weight[check], 10), check))[:MOST_CHECKS]

    def _at_height(self, nodes: list[Node], causes: Sequence[Node]) -> list[Node]:
        """Sort *nodes* by the mean place of the causes that they touch, each counted by its link."""

        def place(node: Node) -> tuple[float, str]:
            met = [(i, p) for i, cause in enumerate(causes) if (p := self._touch(node, cause.id)[0]) > 0.0]
            return round(sum(i * p for i, p in met) / sum(p for _, p in met), 10), node.id

        return sorted(nodes, key=place)

    def _touch(self, node: Node, cause: str) -> tuple[float, str]:
        if node.kind == "check":
            return self._tells(cause).get(node.id, (0.0, ""))
        edge = self.graph.get_edge_data(("remedy", node.id), ("cause", cause))
        return (edge["p"], edge["word"]) if edge else (0.0, "")

    def _edges(self, causes: Sequence[Node], remedies: Sequence[Node], checks: Sequence[Node]) -> Iterable[Edge]:
        for cause in causes:
            link = self.graph.edges[("cause", cause.id), ("symptom", self.symptom.id)]
            yield Edge(cause, self.symptom, link["p"], link["word"])
            for node in (*remedies, *checks):
                p, word = self._touch(node, cause.id)
                if p > 0.0:
                    yield Edge(cause, node, p, word) if node.kind == "check" else Edge(node, cause, p, word)


# -- in words ------------------------------------------------------------------------------------------------------


def map_words(made: SymptomMap) -> Alternative:
    """Return the map in words: each cause, how often it shows so, what mends it and which checks tell it."""
    parts = [
        f"Map of the symptom {in_sentence(made.symptom.title)}: its causes, the strongest link first, with what mends each and the checks that tell it."
    ]
    parts += [_cause_in_words(made, cause) for cause in made.causes]
    parts.append(_left_out(made))
    return Alternative(f"What may cause it, and what mends it: {made.symptom.title}", " ".join(filter(None, parts)))


def _cause_in_words(made: SymptomMap, cause: Node) -> str:
    shows = next(edge.word for edge in made.edges if edge.source == cause and edge.target == made.symptom)
    fixes = [
        f"{in_sentence(e.source.title)} ({_WHEN[e.source.when][1]}, {mends(e.word)})"
        for e in made.edges
        if e.target == cause
    ]
    checks = [e.target.title for e in made.edges if e.source == cause and e.target.kind == "check"]
    said = f"{cause.title}: shows so {shows}"
    if fixes:
        said += f"; mended by {listed(fixes)}"
    if checks:
        said += f"; told by {listed(checks)}"
    return f"{said}."


def _left_out(made: SymptomMap) -> str:
    said = [
        counted(count, one, many)
        for count, one, many in (
            (made.more_causes, "weaker cause", ""),
            (made.more_remedies, "other remedy", "other remedies"),
        )
        if count
    ]
    return f"Left out: {listed(said)}." if said else ""


# -- on the sheet --------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Box:
    """A box on the sheet, in mm."""

    node: Node
    left: float
    top: float
    width: float
    height: float
    lines: tuple[str, ...]
    size: float

    @property
    def middle(self) -> float:
        return self.top + self.height / 2


_REMEDIES, _CAUSES, _RIGHT = (1.0, 60.0), (79.0, 46.0), (143.0, WIDTH - 144.0)
_TYPE, _PAD, _GAP = 8.2, 1.3, 1.9


def draw_map(made: SymptomMap) -> Sheet:
    """Return *made* laid out on a sheet."""
    title = wrapped(made.symptom.title, WIDTH - 4, 13, bold=True, most=2)
    top = 2.0 + height_of(title, 13) + height_of([""], 9) + 9.0
    checks, half = _boxes(made.checks, *_RIGHT, size=9), len(made.checks) // 2
    right = [*checks[:half], *_boxes([made.symptom], *_RIGHT, size=10.5), *checks[half:]]
    columns = [_boxes(made.remedies, *_REMEDIES), _boxes(made.causes, *_CAUSES), right]
    tall = max(max(sum(box.height + _GAP for box in column) for column in columns), 60.0)
    placed = {box.node: box for column in columns for box in _stood(column, top, tall)}
    sheet = Sheet(NAME, WIDTH, round(top + tall + 18.5, 1))
    below = sheet.lines(2.0, 2.0, title, 13, bold=True)
    sheet.lines(2.0, below, ["What may cause it, what mends that, and what tells the causes apart"], 9, GREY)
    for text, (left, _) in (
        ("What mends it", _REMEDIES),
        ("What may have gone wrong", _CAUSES),
        ("What is seen, and checks", _RIGHT),
    ):
        sheet.text(left, top - 2.0, text, SMALLEST, GREY)
    for edge in sorted(made.edges, key=lambda edge: edge.p):
        _draw_edge(sheet, placed[edge.source], placed[edge.target], edge)
    for box in placed.values():
        _draw_box(sheet, box)
    _legend(sheet, made, top + tall + 2.0)
    return sheet


def _boxes(nodes: Sequence[Node], left: float, width: float, size: float = _TYPE) -> list[_Box]:
    made = []
    for node in nodes:
        lines = wrapped(node.title, width - 2 * _PAD - 0.8, size, bold=node.kind == "symptom", most=4)
        made.append(_Box(node, left, 0.0, width, height_of(lines, size) + 2 * _PAD, tuple(lines), size))
    return made


def _stood(column: Sequence[_Box], top: float, tall: float) -> list[_Box]:
    """Stand the boxes of a column below one another, spread evenly over *tall* mm."""
    spare = (tall - sum(box.height for box in column)) / max(len(column), 1)
    y, stood = top + spare / 2, []
    for box in column:
        stood.append(_Box(box.node, box.left, y, box.width, box.height, box.lines, box.size))
        y += box.height + spare
    return stood


def _draw_box(sheet: Sheet, box: _Box) -> None:
    line = {"symptom": 2.2, "cause": 1.2}.get(box.node.kind, 0.7)
    sheet.box(
        box.left,
        box.top,
        box.width,
        box.height,
        PAPER,
        INK if box.node.kind != "check" else _CHECK_INK,
        line,
        f"box-{box.node.name}",
    )
    sheet.lines(
        box.left + _PAD + 0.4,
        box.top + _PAD - 0.2,
        box.lines,
        box.size,
        INK,
        box.node.kind == "symptom",
        name=f"label-{box.node.name}",
    )


def _wide(p: float) -> float:
    """Points for a link."""
    return 0.4 + 3.4 * p


def _draw_edge(sheet: Sheet, source: _Box, target: _Box, edge: Edge) -> None:
    dash: tuple[float, ...] = ()
    ink = GREY
    if edge.source.kind == "remedy":
        dash, _, ink = _WHEN[edge.source.when]
    elif edge.target.kind == "check":
        dash, ink = _CHECK_DASH, _CHECK_INK
    start, end = (source.left + source.width, source.middle), (target.left, target.middle)
    width = _wide(edge.p) if edge.target.kind != "check" else 0.45 * _wide(edge.p)
    sheet.line(_curve(start, end), width, ink, dash, f"edge-{edge.source.name}-{edge.target.name}")


def _curve(start: Point, end: Point) -> list[Point]:
    """Return a smooth step from *start* to *end*, level at both."""
    steps = 14
    points = []
    for i in range(steps + 1):
        t = i / steps
        points.append((start[0] + (end[0] - start[0]) * t, start[1] + (end[1] - start[1]) * t * t * (3.0 - 2.0 * t)))
    return points


def _legend(sheet: Sheet, made: SymptomMap, top: float) -> None:
    """Say what widths and dashes mean, and what is left out."""
    sheet.line([(2.0, top), (WIDTH - 2.0, top)], 0.5, GREY)
    samples: list[tuple[str, float, tuple[float, ...], str]] = [
        (word, _wide(p), (), GREY) for word, p in (("usually", 0.75), ("sometimes", 0.25))
    ]
    samples.append(("shows in the check", 1.2, _CHECK_DASH, _CHECK_INK))
    samples += [(f"mends it {said}", 1.6, dash, ink) for dash, said, ink in _WHEN.values()]
    for i, (said, width, dash, ink) in enumerate(samples):
        x, y = 2.0 + 60.0 * (i % 3), top + 4.4 + 4.6 * (i // 3)
        sheet.line([(x, y - 1.0), (x + 10.0, y - 1.0)], width, ink, dash)
        sheet.text(x + 11.5, y, said, SMALLEST, GREY)
    sheet.text(2.0, top + 13.6, f"A line is as wide as its link. {_left_out(made)}".strip(), SMALLEST, GREY)
