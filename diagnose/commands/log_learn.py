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
    from diagnose.logbook.in_use import InUse
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

    Shows what would change and judges it by playing the log again in time order; nothing is used before --apply, and
    then by every bench that reads this log.
    """
    if forget and apply:
        raise click.UsageError("--apply or --forget, not both")
    from diagnose.logbook import replay
    from diagnose.logbook.apply import forget as forget_it
    from diagnose.logbook.apply import put_in_use
    from diagnose.logbook.in_use import in_use_or_book

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
        used = put_in_use(store, verdict.learned) if applied else in_use_or_book(store.where)
    if as_json:
        put({**_plain(verdict, knowledge), "applied": applied, "in_use": used.to_plain() if used else None})
    else:
        _show(verdict, knowledge, apply)
        click.echo(used_words(used))
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


def _plain(verdict: Verdict, knowledge: Knowledge) -> dict[str, Any]:
    from diagnose.logbook.changes import changed_links, changed_results
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
        "way": verdict.way,
        "changes": [{"id": m.id, "book": ten(m.book), "now": ten(m.now), "cases": m.cases} for m in verdict.changes],
        "links": [
            {"cause": m.cause, "finding": m.finding, "book": ten(m.book), "now": ten(m.now)}
            for m in changed_links(verdict.learned, knowledge)
        ],
        "results": [
            {"check": m.check, "result": m.result, "book": ten(m.book), "now": ten(m.now)}
            for m in changed_results(verdict.learned, knowledge)
        ],
        "remembered": {factor: len(seen) for factor, seen in verdict.learned.memory.items()},
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
    _show_links(verdict, knowledge)
    if verdict.judged:
        book, log = verdict.book, verdict.with_log
        click.echo(
            f"played again in time order, {verdict.judged} cases: log score {book.log_score:.3f} by the book, "
            f"{log.log_score:.3f} with the log"
        )
        click.echo(f"  first cause right: {100 * book.first:.0f} % by the book, {100 * log.first:.0f} % with the log")
        click.echo(f"  what helped most: {verdict.way}")
    if not verdict.accepted:
        click.echo(f"not accepted: {verdict.reason}; the book stays as it is")
    elif not apply:
        click.echo("it helps; put it in use by: diagnose log learn --apply")


def _show_links(verdict: Verdict, knowledge: Knowledge) -> None:
    """What a cause shows as here, what shows without one, and what is remembered; only what would be used."""
    from diagnose.logbook.changes import changed_links, changed_results

    links = [
        (f"{knowledge.label(moved.cause)} shows as {_finding(moved.finding, knowledge)}", moved.book, moved.now)
        for moved in changed_links(verdict.learned, knowledge)
    ]
    results = [
        (f"{_finding(f'{shown.check}:{shown.result}', knowledge)} without a cause", shown.book, shown.now)
        for shown in changed_results(verdict.learned, knowledge)
    ]
    for name, moves in (("links", links), ("results", results)):
        for what, book, now in moves[:MOST]:
            click.echo(f"  {what}: {100 * book:.0f} % in the book, {100 * now:.0f} % here")
        if len(moves) > MOST:
            click.echo(f"  and {len(moves) - MOST} more {name}")
    kept = {factor: len(seen) for factor, seen in verdict.learned.memory.items() if seen}
    if kept:
        words = {"mold": "molds", "lot_a": "lots of A", "lot_b": "lots of B"}
        click.echo("  remembered: " + ", ".join(f"{n} {words[factor]}" for factor, n in kept.items()))


def _finding(finding: str, knowledge: Knowledge) -> str:
    question, _, result = finding.partition(":")
    label = knowledge.label(question)
    return f"{label}: {knowledge.checks[question].results[result].title}" if result else label


def used_words(used: InUse | None) -> str:
    """Return in one line which learning is in use."""
    if used is None:
        return "in use: the book alone"
    day, cases = used.recorded[:10], used.learned.cases
    return (
        f"in use: learning {used.number} of this log, from {cases} confirmed cases, since {day}; "
        "back to the book by: diagnose log learn --forget"
    )
