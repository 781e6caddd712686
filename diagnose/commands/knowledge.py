"""`diagnose knowledge`: what the tool knows, listed, checked, described to an editor."""

from __future__ import annotations

import click

from diagnose.commands._shared import knowledge_option
from diagnose.errors import FileFaults


@click.group("knowledge", invoke_without_command=True)
@click.option("--json", "as_json", is_flag=True, help="The ids of all entries as one JSON object.")
@knowledge_option
@click.pass_context
def knowledge_group(context: click.Context, as_json: bool, knowledge_dir: str | None) -> None:
    """What the tool knows: list it, check it, describe its files to an editor."""
    if context.invoked_subcommand is not None:
        return
    from diagnose.knowledge import load_knowledge
    from diagnose.report.json import knowledge_ids, to_json

    ids = knowledge_ids(load_knowledge(knowledge_dir))
    if as_json:
        click.echo(to_json(ids))
        return
    for kind, names in ids.items():
        if isinstance(names, list):
            click.echo(f"{kind}: {len(names)}")


@knowledge_group.command("check")
@click.argument("folder", required=False, metavar="[DIR]")
def knowledge_check(folder: str | None) -> None:
    """Read and check every knowledge file; each fault is a line on standard error."""
    from diagnose.knowledge.store import compile_folder, folder_label, knowledge_files, knowledge_root

    try:
        plain = compile_folder(knowledge_files(knowledge_root(folder)), folder_label(folder))
    except FileFaults as faults:
        for fault in faults.faults:
            click.echo(str(fault), err=True)
        raise click.exceptions.Exit(2) from None
    for warning in plain["warnings"]:
        click.echo(f"warning: {warning}", err=True)
    counts = ", ".join(
        f"{len(plain[kind])} {kind}" for kind in ("symptoms", "facts", "checks", "causes", "remedies", "sources")
    )
    click.echo(f"all in order: {counts}")


@knowledge_group.command("schema")
def knowledge_schema() -> None:
    """Print the JSON Schema of the knowledge files, for an editor that completes and checks them."""
    from diagnose.knowledge import load_knowledge
    from diagnose.knowledge.schema import json_schema
    from diagnose.report.json import to_json

    words = {table: dict(values) for table, values in load_knowledge().words.items()}
    click.echo(to_json(json_schema(words)))
