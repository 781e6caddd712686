"""The top of the command line: commands grouped by what one wants to do, loaded when they are called,
with a nearest name for a slip.
"""

from __future__ import annotations

from importlib import import_module

import click

#: what one wants to do -> command, module and attribute, and its line in the help
SECTIONS: tuple[tuple[str, tuple[tuple[str, str, str], ...]], ...] = (
    (
        "A bad part",
        (
            ("read", "diagnose.commands.read:read", "Read a case file and print the diagnosis."),
            ("new", "diagnose.commands.answer:new", "Start a case file; no YAML to write."),
            ("set", "diagnose.commands.answer:set_command", "Set answers of a case file: key=value."),
            ("hear", "diagnose.commands.desk:hear", "Say which faults a caller's words may mean."),
            ("draw", "diagnose.commands.draw:draw_command", "Draw a case or a fault as a picture."),
        ),
    ),
    (
        "Somebody else's part",
        (
            ("ask", "diagnose.commands.desk:ask", "The best few questions as a message to send."),
            ("answer", "diagnose.commands.answer:answer", "Take what came back into the case file."),
            (
                "client",
                "diagnose.commands.client:client_group",
                "Help a shop elsewhere: page, take, reply, list, phone.",
            ),
        ),
    ),
    (
        "The next pour",
        (
            ("plan-pour", "diagnose.commands.desk:plan_pour", "Before the pour: what to change first, in order."),
            ("sum", "diagnose.commands.sums:sum_group", "The trade's sums: grams, clocks, temperatures, vents."),
        ),
    ),
    (
        "The house log",
        (("log", "diagnose.commands.log:log_group", "Keep parts, close them, list, count, learn."),),
    ),
    (
        "What the tool knows",
        (
            ("knowledge", "diagnose.commands.knowledge:knowledge_group", "List it, show an entry, check the files."),
            ("handbook", "diagnose.commands.handbook:handbook", "Write it as a book: pages for a folder, that print."),
            ("paths", "diagnose.commands.paths:paths", "Where the knowledge, the shop's file and the cases are."),
            ("completion", "diagnose.commands.paths:completion", "The lines that switch on completion in a shell."),
        ),
    ),
)
_EXAMPLES = (
    ("diagnose", "asks what is wrong, then the question worth most"),
    ("diagnose read owl.yaml --short", "the answer of a case file on a card"),
    ("diagnose sum split 500 1:2", "grams of A and B for a batch"),
)


class Commands(click.Group):
    """A group that imports a command only when it is called or asked for by name."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Return the names in the order of the help."""
        return [name for _, entries in SECTIONS for name, _, _ in entries]

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Return the command of that name, imported now, or None."""
        for _, entries in SECTIONS:
            for name, where, _ in entries:
                if name == cmd_name:
                    module, _, attribute = where.partition(":")
                    command: click.Command = getattr(import_module(module), attribute)
                    return command
        return None

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """Find the command of *args*; a slip of the finger gets the nearest name."""
        if args and args[0] == "help":
            click.echo(ctx.get_help() if len(args) < 2 else self._help_of(ctx, args[1]))
            ctx.exit()
        if args and self.get_command(ctx, args[0]) is None and not args[0].startswith("-"):
            import difflib

            near = difflib.get_close_matches(args[0], self.list_commands(ctx), n=1)
            hint = f", nearest is '{near[0]}'" if near else ""
            raise click.UsageError(f"no command '{args[0]}'{hint}", ctx)
        return super().resolve_command(ctx, args)

    def _help_of(self, ctx: click.Context, name: str) -> str:
        command = self.get_command(ctx, name)
        if command is None:
            raise click.UsageError(f"no command '{name}'", ctx)
        with click.Context(command, info_name=name, parent=ctx) as below:
            return command.get_help(below)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Write the commands by what one wants to do."""
        for title, entries in SECTIONS:
            with formatter.section(title):
                formatter.write_dl([(name, said) for name, _, said in entries])

    def format_help_text(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Write what the program is for, with three examples."""
        super().format_help_text(ctx, formatter)
        with formatter.section("Examples"):
            formatter.write_dl(_EXAMPLES)
