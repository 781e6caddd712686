"""`diagnose knowledge`: what the tool knows. List it, show an entry with its reasons, check the files,
describe them to an editor.
"""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING, Any

import click
from msgspec import structs

from diagnose.commands._shared import MAYBE_COMMAND, complete_id
from diagnose.errors import FileFaults, InputError, shown

if TYPE_CHECKING:
    from diagnose.bench.calculation import Calculation
    from diagnose.knowledge import Knowledge
    from diagnose.knowledge.entry import Entry

_KNOWLEDGE = click.option(
    "--knowledge", "knowledge_dir", metavar="DIR", help="Read this knowledge folder instead of the built-in one."
)
_JSON = click.option("--json", "as_json", is_flag=True, help="One JSON object on standard output.")
_WIDTH = 100
#: so many entries are offered where a few letters fit several
_MOST_OFFERED = 30


def _emit(data: Any) -> None:
    from diagnose.report.json import to_json

    click.echo(to_json(data))


@click.group("knowledge", invoke_without_command=True, subcommand_metavar=MAYBE_COMMAND)
@_JSON
@_KNOWLEDGE
@click.pass_context
def knowledge_group(context: click.Context, as_json: bool, knowledge_dir: str | None) -> None:
    """What the tool knows: list it, show an entry and its reasons, check the files, describe them to an editor."""
    if context.invoked_subcommand is not None:
        if knowledge_dir is not None:
            raise click.UsageError(
                f"--knowledge goes behind '{context.invoked_subcommand}', as in: "
                f"diagnose knowledge {context.invoked_subcommand} --knowledge DIR",
                context,
            )
        return
    from diagnose.knowledge import load_knowledge
    from diagnose.report.json import knowledge_ids

    ids = knowledge_ids(load_knowledge(knowledge_dir))
    if as_json:
        _emit(ids)
        return
    for kind, names in ids.items():
        if isinstance(names, list):
            click.echo(f"{kind}: {len(names)}")


@knowledge_group.command("check")
@click.argument("folder", required=False, metavar="[DIR]")
@_KNOWLEDGE
def knowledge_check(folder: str | None, knowledge_dir: str | None) -> None:
    """Read and check every knowledge file and the shop's own; each fault is a line on standard error.

    A warning says which word or share to change.
    """
    from diagnose.knowledge.files import files_in_use
    from diagnose.knowledge.reader import compile_files

    if folder is not None and knowledge_dir is not None:
        raise click.UsageError("--knowledge does not go with a DIR: both name the folder")
    try:
        knowledge, _ = compile_files(files_in_use(folder or knowledge_dir))
    except FileFaults as faults:
        for fault in faults.faults:
            click.echo(str(fault), err=True)
        raise click.exceptions.Exit(2) from None
    for warning in knowledge.warnings:
        click.echo(f"warning: {warning}", err=True)
    kinds = ("symptoms", "facts", "checks", "causes", "remedies", "dangers", "practice", "sources")
    click.echo(f"all in order: {', '.join(f'{len(getattr(knowledge, kind))} {kind}' for kind in kinds)}")


@knowledge_group.command("schema")
@click.option("--case", "of_case", is_flag=True, help="The schema of case files instead.")
@_KNOWLEDGE
def knowledge_schema(of_case: bool, knowledge_dir: str | None) -> None:
    """Print the JSON Schema of the knowledge files, for an editor that completes and checks them."""
    from diagnose.casebook.case_reading import case_schema
    from diagnose.knowledge import load_knowledge
    from diagnose.knowledge.schema import json_schema

    knowledge = load_knowledge(knowledge_dir)
    _emit(case_schema(knowledge) if of_case else json_schema(knowledge.words))


@knowledge_group.command("list")
@click.argument("kind", required=False)
@_JSON
@_KNOWLEDGE
def knowledge_list(kind: str | None, as_json: bool, knowledge_dir: str | None) -> None:
    """List the entries of a KIND (symptoms, causes, checks, facts, remedies, ...), or all of them, with their names."""
    from diagnose.knowledge import load_knowledge
    from diagnose.knowledge.entry import tables_of, title_of
    from diagnose.knowledge.kinds import nearest

    tables = {
        name: {i: title_of(e) for i, e in t.items()} for name, t in tables_of(load_knowledge(knowledge_dir)).items()
    }
    tables["sums"] = {item.name: item.title for item in _sums()}
    if kind is not None and kind not in tables:
        raise InputError(f"no kind '{shown(kind)}', expected one of {', '.join(tables)}{nearest(kind, tables)}")
    wanted = tables if kind is None else {kind: tables[kind]}
    if as_json:
        _emit({"version": 1, **{name: dict(sorted(table.items())) for name, table in wanted.items()}})
        return
    for name, table in wanted.items():
        click.echo(f"{name}:")
        for entry, title in sorted(table.items()):
            click.echo(f"  {entry}: {title}")


@knowledge_group.command("show")
@click.argument("words", nargs=-1, required=True, metavar="ID|WORDS", shell_complete=complete_id)
@_JSON
@_KNOWLEDGE
def knowledge_show(words: tuple[str, ...], as_json: bool, knowledge_dir: str | None) -> None:
    """Show one entry: what it is, why, how to tell, what it is linked to and how strongly, what to do, sources.

    A few letters of its id or name will do, or a caller's words. Example: diagnose knowledge show mold_cold
    """
    from diagnose.knowledge import load_knowledge

    text = " ".join(words)
    knowledge = load_knowledge(knowledge_dir)
    found, offered = _found(knowledge, text)
    if as_json:
        also = [{"kind": kind, "id": name, "title": title} for kind, name, title in offered]
        _emit({"version": 1, "entries": [_plain(entry) for entry in found], "also": also})
        return
    for entry in found:
        click.echo("\n".join(_lines(entry)))
    if offered:
        click.echo("\nOr:" if found else f"'{shown(text)}' fits several:")
        for kind, name, title in offered[:_MOST_OFFERED]:
            click.echo(f"  {name} ({kind}): {title}")
        if len(offered) > _MOST_OFFERED:
            click.echo(f"  (and {len(offered) - _MOST_OFFERED} more)")


def _found(knowledge: Knowledge, text: str) -> tuple[list[Entry], list[tuple[str, str, str]]]:
    """Return what *text* names: entries to show, and others (kind, id, title) that it may mean."""
    from diagnose.hearing.matching import hear, index_of
    from diagnose.knowledge.entry import described, entries_of, matching, title_of
    from diagnose.knowledge.kinds import nearest

    shows = [described(knowledge, kind, entry) for kind, entry in entries_of(knowledge, text)]
    shows += [_of_sum(item) for item in _sums() if item.name == text]
    if shows:
        return shows, []
    tables = matching(knowledge, text)
    fits = [(kind, name, title_of(getattr(knowledge, kind)[name])) for kind, name in tables]
    wanted = text.lower().split()
    fits += [("sums", s.name, s.title) for s in _sums() if all(w in f"{s.name} {s.title}".lower() for w in wanted)]
    if not fits:
        heard = hear(index_of(knowledge), text)
        fits = [("symptoms", name, knowledge.symptoms[name].title) for name in heard]
        if heard:
            best = described(knowledge, "symptoms", knowledge.symptoms[heard[0]])
            return [best], fits[1:]
    if not fits:
        ids = [
            name for kind in ("symptoms", "causes", "checks", "facts", "remedies") for name in getattr(knowledge, kind)
        ]
        raise InputError(f"nothing is known of '{shown(text)}'{nearest(text, ids)}; diagnose knowledge list names all")
    if len(fits) > 1:
        return [], fits
    return _found(knowledge, fits[0][1])


def _sums() -> tuple[Calculation, ...]:
    from diagnose.bench.catalogue import CALCULATIONS

    return CALCULATIONS


def _of_sum(item: Calculation) -> Entry:
    from diagnose.knowledge.entry import Entry

    inputs = [f"{each.name}: {each.title}{f' ({each.unit})' if each.unit else ''}" for each in item.inputs]
    texts = {"what": (f"diagnose sum {item.name}",), "inputs": tuple(inputs), "takes for granted": tuple(item.assumes)}
    return Entry("sum", item.name, item.title, {k: said for k, said in texts.items() if said}, {}, (item.source,))


def _plain(entry: Entry) -> dict[str, Any]:
    links = {
        heading: [{k: v for k, v in structs.asdict(link).items() if v != "" and k != "p"} for link in found]
        for heading, found in entry.links.items()
    }
    texts = {heading: list(said) for heading, said in entry.texts.items()}
    head = {"kind": entry.kind, "id": entry.id, "title": entry.title}
    return {**head, "texts": texts, "links": links, "sources": list(entry.sources)}


def _lines(entry: Entry) -> list[str]:
    lines = [f"{entry.title} ({entry.kind} {entry.id})"]
    for heading, said in entry.texts.items():
        lines += ["", f"{heading.capitalize()}:", *(line for text in said for line in _wrapped(text))]
    for heading, links in entry.links.items():
        lines += ["", f"{heading.capitalize()}:"]
        for link in links:
            answer = f": {link.answer}" if link.answer else ""
            word = f" - {link.word}" if link.word else ""
            why = f", {link.why}" if link.why and word else f" - {link.why}" if link.why else ""
            lines += _wrapped(f"{link.title}{answer}{word}{why} [{link.id}]")
    return [*lines, "", "Sources:", *(line for source in entry.sources for line in _wrapped(source))]


def _wrapped(text: str) -> list[str]:
    return textwrap.wrap(text, _WIDTH, initial_indent="  ", subsequent_indent="    ", break_on_hyphens=False)
