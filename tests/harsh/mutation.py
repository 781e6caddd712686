"""What is changed in a room of the program, one spot at a time: every mutant with the line as it was and as it becomes.

Cosmic Ray (`pip install cosmic-ray`) swaps the operators, numbers, words and caught errors; three kinds of our own drop a statement, return nothing,
and decide a condition for good. Left alone: annotations, decorators and what stands in the head of a class, docstrings, wording of errors (what stands inside `raise`), `__repr__`, `__all__`
and `if TYPE_CHECKING`, where a change is no change of what the program does.
"""

from __future__ import annotations

import ast
import random
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

#: to what each operator is swapped; the rest of Cosmic Ray's 200 swaps only raise a TypeError
_BINARY = {
    "Add": ("Sub",),
    "Sub": ("Add",),
    "Mul": ("Div",),
    "Div": ("Mul",),
    "FloorDiv": ("Mul",),
    "Mod": ("Add",),
    "Pow": ("Mul",),
    "BitOr": ("BitAnd", "Sub"),
    "BitAnd": ("BitOr",),
}
_COMPARED = {
    "Eq": ("NotEq", "LtE"),
    "NotEq": ("Eq", "Gt"),
    "Lt": ("LtE", "Gt"),
    "LtE": ("Lt", "GtE"),
    "Gt": ("GtE", "Lt"),
    "GtE": ("Gt", "LtE"),
    "Is": ("IsNot",),
    "IsNot": ("Is",),
}
_PLAIN = (
    "NumberReplacer",
    "ReplaceAndWithOr",
    "ReplaceOrWithAnd",
    "ReplaceTrueWithFalse",
    "ReplaceFalseWithTrue",
    "ReplaceBreakWithContinue",
    "ReplaceContinueWithBreak",
    "ReplaceUnaryOperator_Delete_Not",
    "ReplaceUnaryOperator_Delete_USub",
    "ExceptionReplacer",
    "ZeroIterationForLoop",
)
Span = tuple[tuple[int, int], tuple[int, int]]


@dataclass(frozen=True, slots=True)
class Mutant:
    """One change: *file* from the top of the checkout, *line* from 1, *kind* of the change, the line *was* and *becomes*, and the whole *text* then."""

    file: str
    line: int
    kind: str
    was: str
    becomes: str
    text: str

    @property
    def name(self) -> str:
        """Where and what, in one line."""
        return f"{self.file}:{self.line} {self.kind}: {self.was}  ->  {self.becomes}"


def sampled(root: Path, files: Iterable[Path], count: int, seed: int) -> list[Mutant]:
    """Return *count* mutants of *files* (all, with 0): spots drawn without replacement by *seed*, at each spot one of its changes."""
    spots = [(path, span, makers) for path in sorted(files) for span, makers in _spots(path.read_text("utf-8"))]
    draw = random.Random(seed)
    found: list[Mutant] = []
    for path, span, makers in draw.sample(spots, len(spots)):
        if count and len(found) >= count:
            break
        made = _mutant(root, path, span, draw.choice(makers))
        if made is not None and not _is_idle(made):
            found.append(made)
    return found


def defined_at(source: str, line: int) -> tuple[set[str], range]:
    """Return the names that the statement at *line*, run when the module is imported, gives to something, and the lines of a function's body."""
    body, names = ast.parse(source).body, set[str]()
    while True:
        node = next((each for each in body if _first_line(each) <= line <= (each.end_lineno or each.lineno)), None)
        if isinstance(node, ast.FunctionDef):
            return names | {node.name}, range(node.body[0].lineno, (node.end_lineno or node.lineno) + 1)
        if not isinstance(node, ast.ClassDef):
            targets = [*getattr(node, "targets", ()), *([node.target] if isinstance(node, ast.AnnAssign) else ())]
            told = {each.id for target in targets for each in ast.walk(target) if isinstance(each, ast.Name)}
            return told or names, range(0)
        names, body = {node.name}, node.body


def _first_line(node: ast.stmt) -> int:
    return min([node.lineno, *(each.lineno for each in getattr(node, "decorator_list", ()))])


def _is_idle(mutant: Mutant) -> bool:
    """Whether only a guard of the writer's or the shape of a signature is changed: `zip(..., strict=True)`, `def f(a, *, b)`."""
    was, becomes = (re.sub(r"strict=(True|False)", "strict", line) for line in (mutant.was, mutant.becomes))
    return was == becomes or (was.startswith("def ") and was.replace("*,", "/,") == becomes)


def _mutant(root: Path, path: Path, span: Span, kind: str) -> Mutant | None:
    source = path.read_text("utf-8")
    text = _changed(source, span, kind)
    if text is None or text == source or not _parses(text):
        return None
    old, new = source.splitlines(), text.splitlines()
    first = next(i for i, (a, b) in enumerate(zip(old, new, strict=False)) if a != b)
    return Mutant(str(path.relative_to(root)), first + 1, kind, old[first].strip(), new[first].strip(), text)


def _parses(text: str) -> bool:
    try:
        ast.parse(text)
    except SyntaxError:
        return False
    return True


# -- where -------------------------------------------------------------------------------------------------------------


def _spots(source: str) -> list[tuple[Span, list[str]]]:
    """The spots of a module that may be changed, in order, each with the kinds of change it takes."""
    tree = ast.parse(source)
    lines = source.splitlines()
    barred = [_span(node, lines) for node in _barred(tree)]
    by_spot: dict[tuple[str, Span], list[str]] = {}
    for family, kind, span in [*_swaps(source), *_own(tree, lines)]:
        if not any(start <= span[0] and span[1] <= stop for start, stop in barred):
            by_spot.setdefault((family, span), []).append(kind)
    return [(span, kinds) for (_, span), kinds in sorted(by_spot.items(), key=lambda spot: (spot[0][1], spot[0][0]))]


def _span(node: ast.AST, lines: list[str]) -> Span:
    """From where to where *node* stands: line from 1, column in characters (the tree counts bytes)."""

    def column(line: int, offset: int) -> int:
        return len(lines[line - 1].encode()[:offset].decode())

    assert isinstance(node, ast.stmt | ast.expr | ast.arg)
    assert node.end_lineno is not None
    assert node.end_col_offset is not None
    start = (node.lineno, column(node.lineno, node.col_offset))
    return start, (node.end_lineno, column(node.end_lineno, node.end_col_offset))


def _barred(tree: ast.Module) -> Iterator[ast.AST]:
    """What no change is made within."""
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef | ast.ClassDef):
            yield from node.decorator_list
        if isinstance(node, ast.ClassDef):
            yield from (keyword.value for keyword in node.keywords)
        if isinstance(node, ast.FunctionDef):
            if node.name in ("__repr__", "__str__"):
                yield node
            if node.returns is not None:
                yield node.returns
        elif isinstance(node, ast.arg | ast.AnnAssign) and node.annotation is not None:
            yield node.annotation
        elif (
            (isinstance(node, ast.Raise) and node.exc is not None)
            or (isinstance(node, ast.Assign) and getattr(node.targets[0], "id", "") == "__all__")
            or (isinstance(node, ast.If) and "TYPE_CHECKING" in ast.unparse(node.test))
            or isinstance(node, ast.Assert)
        ):
            yield node.exc if isinstance(node, ast.Raise) and node.exc is not None else node


def _swaps(source: str) -> Iterator[tuple[str, str, Span]]:
    """Cosmic Ray's changes: the family, the operator's name with which occurrence of it, and where."""
    from cosmic_ray.ast import ast_nodes, get_ast
    from cosmic_ray.plugins import get_operator

    nodes = list(ast_nodes(get_ast(source)))
    for family, names in _operators().items():
        for name in names:
            operator = get_operator(f"core/{name}")()
            spans = [span for node in nodes for span in operator.mutation_positions(node)]
            for occurrence, span in enumerate(spans):
                yield family, f"{name}/{occurrence}", span


def _operators() -> dict[str, list[str]]:
    swaps = {
        family: [f"{family}_{one}_{other}" for one, others in table.items() for other in others]
        for family, table in (("ReplaceBinaryOperator", _BINARY), ("ReplaceComparisonOperator", _COMPARED))
    }
    return {**swaps, **{name: [name] for name in _PLAIN}}


def _own(tree: ast.Module, lines: list[str]) -> Iterator[tuple[str, str, Span]]:
    """Our own three kinds of change."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Return) and node.value is not None and not _is_none(node.value):
            yield "return", "nothing returned", _span(node.value, lines)
        elif isinstance(node, ast.AugAssign | ast.Raise | ast.Delete) or (
            isinstance(node, ast.Expr) and not isinstance(node.value, ast.Constant)
        ):
            yield "statement", "statement dropped", _span(node, lines)
        tests = [node.test] if isinstance(node, ast.If | ast.IfExp) else getattr(node, "ifs", [])
        for test in tests:
            yield "condition", "always so", _span(test, lines)
            yield "condition", "never so", _span(test, lines)


def _is_none(node: ast.expr) -> bool:
    return isinstance(node, ast.Constant) and node.value is None


# -- how ---------------------------------------------------------------------------------------------------------------

_PUT = {"nothing returned": "None", "statement dropped": "pass", "always so": "True", "never so": "False"}


def _changed(source: str, span: Span, kind: str) -> str | None:
    if kind in _PUT:
        lines = source.splitlines(keepends=True)
        (first, start), (last, stop) = span
        kept_below = "\n" * (last - first)  # so that lines below keep their numbers
        put = lines[first - 1][:start] + _PUT[kind] + lines[last - 1][stop:].rstrip("\n") + "\n" + kept_below
        if kept_below and lines[last - 1][stop:].strip():
            put = lines[first - 1][:start] + _PUT[kind] + lines[last - 1][stop:]
        return "".join([*lines[: first - 1], put, *lines[last:]])
    from cosmic_ray.mutating import mutate_code
    from cosmic_ray.plugins import get_operator

    name, occurrence = kind.split("/")
    try:
        text: str | None = mutate_code(source, get_operator(f"core/{name}")(), int(occurrence))
    except AttributeError:
        if name != "ExceptionReplacer":
            raise
        return None  # `except module.Error`: Cosmic Ray renames plain names only
    return text


__all__ = ["Mutant", "defined_at", "sampled"]
