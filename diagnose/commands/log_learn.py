"""`diagnose log learn`: what the log teaches, whether it helps, and putting it in use or out of it."""

from __future__ import annotations

from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

import click

from diagnose.commands.log_shared import knowledge_of, knowledge_option, log_option, opened, put

if TYPE_CHECKING:
    from collections.abc import Iterator
    from concurrent.futures import Executor

    from diagnose.knowledge import Knowledge
    from diagnose.logbook.replay import Score, Verdict

#: causes shown on the terminal
MOST = 12


@click.command("learn")
@click.option("--apply", "apply", is_flag=True, help="Put it in use, if the replay accepts it.")
@click.option("--forget", is_flag=True, help="Go back to the book alone.")
@click.option(
    "--jobs", type=click.IntRange(0), default=0, help="Processes for the replay; 0: all cores where it is worth it."
)
@click.option("--cluster", metavar="ADDRESS", help="Replay on a cluster of dask.distributed at this address.")
@log_option
@knowledge_option
def learn_command(
    apply: bool,
    forget: bool,
    jobs: int,
    cluster: str | None,
    where: str | None,
    as_json: bool,
    knowledge_dir: str | None,
) -> None:
    """Learn from the closed cases: how often each cause holds here, what it shows as, what this mold and that lot did.

    Shows what would change and judges it by playing the log again in time order; nothing is used before --apply.
    """
    if forget and apply:
        raise click.UsageError("--apply or --forget, not both")
    from diagnose.logbook import replay
    from diagnose.logbook.apply import forget as forget_it
    from diagnose.logbook.apply import put_in_use

    with opened(where, write=apply or forget) as store:
        if forget:
            was = forget_it(store)
            words = "back to the book" if was else "nothing was in use; the book it is"
            put({"forgotten": was}) if as_json else click.echo(words)
            return
        knowledge = knowledge_of(knowledge_dir)
        with workers(jobs, cluster, store) as executor:
            verdict = replay.judge(store, knowledge, knowledge_dir, executor)
        applied = apply and verdict.accepted
        if applied:
            put_in_use(store, verdict.learned)
    if as_json:
        put({**_plain(verdict), "applied": applied})
    else:
        _show(verdict, knowledge, apply)
    if apply and not applied:
        raise click.exceptions.Exit(1)


@contextmanager
def workers(jobs: int, cluster: str | None, store: Any) -> Iterator[Executor | None]:
    """The executor for the replay, None for this process alone."""
    if cluster is not None:
        from diagnose.logbook.cluster import executor_at

        with executor_at(cluster) as executor:
            yield executor
        return
    count = jobs or _worth(store)
    if count < 2:
        yield None
        return
    from concurrent.futures import ProcessPoolExecutor
    from multiprocessing import get_context

    with ProcessPoolExecutor(count, mp_context=get_context("spawn")) as executor:
        yield executor


def _worth(store: Any) -> int:
    """Processes that are worth starting: one for a few hundred cases, else all cores."""
    import os

    from diagnose.logbook.book import counted

    return (
        1
        if counted(store)["closed"] < 400
        else len(os.sched_getaffinity(0))
        if hasattr(os, "sched_getaffinity")
        else os.cpu_count() or 1
    )


def _plain(verdict: Verdict) -> dict[str, Any]:
    from diagnose.report.json import ten

    def scored(score: Score) -> dict[str, Any]:
        return {"log_score": ten(score.log_score), "first": ten(score.first)}

    return {
        "cases": verdict.learned.cases,
        "judged": verdict.judged,
        "book": scored(verdict.book),
        "learned": scored(verdict.with_log),
        "gain": ten(verdict.gain),
        "error": ten(verdict.error),
        "accepted": verdict.accepted,
        "reason": verdict.reason or None,
        "changes": [{"id": m.id, "book": ten(m.book), "now": ten(m.now), "cases": m.cases} for m in verdict.changes],
    }


def _show(verdict: Verdict, knowledge: Knowledge, apply: bool) -> None:
    click.echo(f"learned from {verdict.learned.cases} confirmed cases")
    for moved in verdict.changes[:MOST]:
        click.echo(
            f"  {knowledge.label(moved.id)}: {100 * moved.book:.1f} % in the book, {100 * moved.now:.1f} % here "
            f"(named in {moved.cases})"
        )
    if len(verdict.changes) > MOST:
        click.echo(f"  and {len(verdict.changes) - MOST} more")
    if verdict.judged:
        book, log = verdict.book, verdict.with_log
        click.echo(
            f"played again in time order, {verdict.judged} cases: log score {book.log_score:.3f} by the book, "
            f"{log.log_score:.3f} with the log"
        )
        click.echo(f"  first cause right: {100 * book.first:.0f} % by the book, {100 * log.first:.0f} % with the log")
    if not verdict.accepted:
        click.echo(f"not accepted: {verdict.reason}; the book stays as it is")
    elif apply:
        click.echo("in use from now on; back to the book by: diagnose log learn --forget")
    else:
        click.echo("it helps; put it in use by: diagnose log learn --apply")
