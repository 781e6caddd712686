"""`diagnose log add`, `close`, `list`, `show`: one part at a time."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click
from msgspec.structs import replace

from diagnose.commands._shared import CASE
from diagnose.commands.log_shared import knowledge_of, knowledge_option, log_option, opened, put, show_list
from diagnose.errors import InputError, one_line

if TYPE_CHECKING:
    from collections.abc import Iterator

    from diagnose.casebook import Case
    from diagnose.knowledge import Knowledge
    from diagnose.logbook.book import Kept
    from diagnose.logbook.entry import Entry, Outcome
    from diagnose.logbook.photos import Photo
    from diagnose.logbook.store import Store

HOW, NEXT = ("looked", "tested", "fixed", "opinion"), ("good", "bad", "not_poured")
ABOUT = ("date", "part", "mold", "lot_a", "lot_b", "person", "client")


# -- add -----------------------------------------------------------------------------------------------------------


@click.command("add")
@click.argument("case", type=CASE, required=False, metavar="[CASE]")
@click.option("--good", is_flag=True, help="A part without fault, so that rates have a bottom; needs no case file.")
@click.option("--title", help="A name for the part.")
@click.option("--date", metavar="DAY", help="The day it was made, as 2026-03-02 (else the case's, else today).")
@click.option("--part", help="What it is.")
@click.option("--mold", help="The mold it came from.")
@click.option("--lot-a", "lot_a", help="Lot of the A side.")
@click.option("--lot-b", "lot_b", help="Lot of the B side.")
@click.option("--person", help="Who poured.")
@click.option("--client", help="For whom, by your own alias.")
@click.option(
    "--photo", "photos", multiple=True, type=click.Path(dir_okay=False), help="A photo of the part; again for more."
)
@log_option
@knowledge_option
def add_command(
    case: str | None,
    good: bool,
    title: str | None,
    photos: tuple[str, ...],
    where: str | None,
    as_json: bool,
    knowledge_dir: str | None,
    **told: str | None,
) -> None:
    """Keep a part in the log, with what is said of it today.

    Example: diagnose log add owl.yaml, or: diagnose log add --good --mold "owl 2"
    """
    if case is None and not good:
        raise click.UsageError("give a case file; only a good part (--good) needs none")
    from diagnose.logbook.book import New
    from diagnose.logbook.book import add as keep

    knowledge = knowledge_of(knowledge_dir)
    told_case = _told(case, knowledge, title, {key: text or "" for key, text in told.items()})
    pictures = _pictures(told_case, case, photos)
    told_case = told_case.with_about(photos=tuple(name for name, _ in pictures))
    entry = _said(told_case, knowledge, good, case)
    with opened(where, write=True) as store:
        name = keep(store, New(entry, photos=tuple(pictures)))
    if as_json:
        put({"id": name})
    else:
        click.echo(f"kept as {name}" + ("" if good else f"; when you know what it was: diagnose log close {name}"))


def _told(path: str | None, knowledge: Knowledge, title: str | None, told: dict[str, str]) -> Case:
    from diagnose.casebook import Case, read_case
    from diagnose.logbook.book import today
    from diagnose.logbook.entry import with_about

    case = read_case(path, knowledge) if path is not None else Case()
    case = with_about(replace(case, title=title) if title else case, **told)
    return case if case.about.date else with_about(case, date=today())


def _pictures(case: Case, path: str | None, given: tuple[str, ...]) -> list[tuple[str, Photo | None]]:
    """The photos that the case names (looked for beside its file, nowhere else) and those *given*."""
    from diagnose.logbook.photos import read_photo

    found: list[tuple[str, Photo | None]] = []
    folder = Path(path).parent if path else Path()
    for name in case.about.photos:
        photo = None
        if ".." not in Path(name).parts and not Path(name).is_absolute() and (folder / name).exists():
            photo = read_photo(folder / name)
        else:
            click.echo(one_line(f"{name}: no such photo beside the case; only its name is kept"), err=True)
        found.append((name, photo))
    for name in given:
        try:
            found.append((Path(name).name, read_photo(Path(name))))
        except FileNotFoundError:
            raise InputError(f"{name}: no such file, expected a photo") from None
    return found


def _said(case: Case, knowledge: Knowledge, good: bool, path: str | None) -> Entry:
    from diagnose.logbook.entry import entry_of, with_advice

    try:
        entry = entry_of(case, knowledge, good)
    except InputError as error:
        raise InputError(f"{path}: {error}" if path else str(error)) from None
    return entry if good else with_advice(entry, case, knowledge)


# -- close ---------------------------------------------------------------------------------------------------------


@click.command("close")
@click.argument("name", metavar="ID")
@click.option(
    "--cause",
    "causes",
    multiple=True,
    metavar="ID",
    help="What it was; again for more; not_listed where it was none of them.",
)
@click.option("--how", type=click.Choice(HOW), help="How you know.")
@click.option("--next", "next_part", type=click.Choice(NEXT), help="Whether the next part was good.")
@click.option("--remedy", "remedies", multiple=True, metavar="ID", help="What was done about it; again for more.")
@click.option("--cost", type=float, metavar="AMOUNT", help="What the fault cost, in your own money.")
@click.option("--date", "day", metavar="DAY", help="The day it was found out, as 2026-03-02 (else today).")
@log_option
@knowledge_option
def close_command(
    name: str,
    causes: tuple[str, ...],
    how: str | None,
    next_part: str | None,
    remedies: tuple[str, ...],
    cost: float | None,
    day: str | None,
    where: str | None,
    as_json: bool,
    knowledge_dir: str | None,
) -> None:
    """Close a case with what it turned out to be. Closing again corrects; the earlier outcome is kept.

    Without options it asks three things. Example: diagnose log close b7srm --cause mold_cold --how fixed --next good
    """
    from diagnose.logbook import book
    from diagnose.logbook.entry import Outcome, checked, cost_of, day_of

    knowledge = knowledge_of(knowledge_dir)
    with opened(where, write=True) as store:
        found = book.kept(store, name)
        if not causes or how is None or next_part is None:
            causes, how, next_part = _asked(found, knowledge, causes, how, next_part)
        outcome = Outcome(causes, how, next_part, remedies, cost_of(cost), day_of(day or book.today(), "--date"))
        book.close(store, found.id, checked(outcome, knowledge))
    if as_json:
        put({"id": found.id, "state": "closed", "outcome": outcome.to_plain()})
        return
    again = "corrected" if found.outcomes else "closed"
    click.echo(
        f"{found.id} {again}: {', '.join(knowledge.label(cause) for cause in causes)} ({how}); the next part: "
        f"{next_part.replace('_', ' ')}"
    )


def _asked(
    found: Kept, knowledge: Knowledge, causes: tuple[str, ...], how: str | None, next_part: str | None
) -> tuple[tuple[str, ...], str, str]:
    """Ask, on a terminal, what the options left open."""
    if found.good:
        raise InputError(f"{found.id}: is a good part, there is nothing to close")
    if not sys.stdin.isatty():
        raise click.UsageError("close needs --cause, --how and --next where no terminal is there to ask")
    if not causes:
        causes = _asked_causes(found, knowledge)
    how = how or click.prompt(
        "How do you know? looked at it, tested it, fixed it, or an opinion", type=click.Choice(HOW), err=True
    )
    next_part = next_part or click.prompt("And the next part?", type=click.Choice(NEXT), err=True)
    return causes, str(how), str(next_part)


def _asked_causes(found: Kept, knowledge: Knowledge) -> tuple[str, ...]:
    offered = [*(cause for cause, _ in found.said.causes), "not_listed"]
    for number, cause in enumerate(offered, start=1):
        label = "none of the causes that are known here" if cause == "not_listed" else knowledge.label(cause)
        click.echo(one_line(f"  {number}. {label} ({cause})"), err=True)
    while True:
        text = click.prompt("What was it? Numbers or ids, with commas between", err=True)
        words = [word.strip() for word in text.split(",") if word.strip()]
        chosen = [offered[int(w) - 1] if w.isdecimal() and 0 < int(w) <= len(offered) else w for w in words]
        wrong = [cause for cause in chosen if cause not in knowledge.causes and cause != "not_listed"]
        if chosen and not wrong:
            return tuple(dict.fromkeys(chosen))
        click.echo(one_line(f"no cause '{(wrong or [text])[0]}'; diagnose knowledge --json lists them all"), err=True)


# -- list and show ---------------------------------------------------------------------------------------------------


@click.command("list")
@click.option("--open", "waiting", is_flag=True, help="Only those that wait for an outcome.")
@click.option("--client", metavar="ALIAS", help="Only those of one client.")
@click.option("-n", "most", type=click.IntRange(1), default=20, show_default=True, help="How many.")
@log_option
def list_command(waiting: bool, client: str | None, most: int, where: str | None, as_json: bool) -> None:
    """List the cases, latest first."""
    from diagnose.logbook.book import listed

    with opened(where) as store:
        cases = listed(store, waiting, client, most)
    if as_json:
        put({"cases": [case.to_plain() for case in cases]})
    elif cases:
        show_list("", cases)
    else:
        click.echo("no such case in the log", err=True)


@click.command("show")
@click.argument("name", metavar="ID")
@click.option(
    "--output",
    "-o",
    "output",
    metavar="FILE",
    type=click.Path(dir_okay=False),
    help="Write it as a case file; - for standard output.",
)
@click.option(
    "--photos", "photos", metavar="DIR", type=click.Path(file_okay=False), help="Write its photos into this folder."
)
@log_option
@knowledge_option
def show_command(
    name: str, output: str | None, photos: str | None, where: str | None, as_json: bool, knowledge_dir: str | None
) -> None:
    """Show a case: what was told, what was said of it, what it was."""
    from diagnose.logbook.book import kept
    from diagnose.logbook.exchange import line_of

    with opened(where) as store:
        found = kept(store, name)
        if photos is not None:
            _write_photos(store, found, Path(photos))
    if output is not None:
        _write_case(found, output, knowledge_of(knowledge_dir))
    if as_json:
        put(
            {
                **line_of(found),
                "assessment": found.assessment,
                "photos": [{"name": n, "digest": d or None} for n, d in found.photos],
            }
        )
    elif output is None:
        for line in _shown_lines(found, knowledge_of(knowledge_dir)):
            click.echo(one_line(line))


def _write_photos(store: Store, found: Kept, folder: Path) -> None:
    from diagnose.logbook.movers import picture

    folder.mkdir(parents=True, exist_ok=True)
    for number, (_, digest) in enumerate(found.photos, start=1):
        if digest:
            (folder / f"{found.id}-{number}.jpg").write_bytes(picture(store, digest))


def _write_case(found: Kept, output: str, knowledge: Knowledge) -> None:
    from diagnose.casebook import case_text
    from diagnose.logbook.entry import case_of
    from diagnose.logbook.files import written_whole

    text = case_text(case_of(found.case, knowledge, found.id), knowledge)
    if output == "-":
        click.echo(text, nl=False)
        return
    with written_whole(Path(output)) as file:
        file.write(text)
    click.echo(f"written: {output}", err=True)


def _shown_lines(found: Kept, knowledge: Knowledge) -> Iterator[str]:
    about = found.case.get("about") or {}
    state = "good" if found.good else "closed" if found.outcome else "waiting for an outcome"
    yield f"{found.id}  {found.case.get('title') or about.get('part') or '(no title)'}  ({state})"
    for key in (*ABOUT, "remarks"):
        if about.get(key):
            yield f"  {key.replace('_', ' ')}: {about[key]}"
    for key, value in found.case["answers"].items():
        plain = value["value"] if isinstance(value, dict) else value
        text = ", ".join(plain) if isinstance(plain, list) else plain
        yield f"  {knowledge.label(key)}: {text}" + (f" ({value['source']})" if isinstance(value, dict) else "")
    if found.said.causes:
        yield "  said then: " + ", ".join(
            f"{knowledge.label(cause)} {100 * chance:.0f} %" for cause, chance in found.said.causes
        )
    for i, outcome in enumerate(found.outcomes):
        yield "  " + ("it was: " if i == 0 else "before it was corrected: ") + _outcome_words(outcome, knowledge)


def _outcome_words(outcome: Outcome, knowledge: Knowledge) -> str:
    causes = ", ".join("none of those known" if c == "not_listed" else knowledge.label(c) for c in outcome.causes)
    done = f"; done: {', '.join(map(knowledge.label, outcome.remedies))}" if outcome.remedies else ""
    cost = f"; cost {outcome.cost:g}" if outcome.cost is not None else ""
    return f"{causes} ({outcome.how}, {outcome.date}); the next part {outcome.next.replace('_', ' ')}{done}{cost}"
