"""`diagnose log learn`."""

import click


@click.command("learn")
def learn_command() -> None:
    """Learn."""
