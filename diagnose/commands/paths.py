"""`diagnose paths` and `diagnose completion`: where things are, and the lines that switch on completion in a shell."""

from __future__ import annotations

import click

_SHELLS = {
    "bash": 'eval "$(_DIAGNOSE_COMPLETE=bash_source diagnose)"',
    "zsh": 'eval "$(_DIAGNOSE_COMPLETE=zsh_source diagnose)"',
    "fish": "_DIAGNOSE_COMPLETE=fish_source diagnose | source",
}
_FILES = {"bash": "~/.bashrc", "zsh": "~/.zshrc", "fish": "~/.config/fish/completions/diagnose.fish"}


@click.command("paths")
def paths() -> None:
    """Where things are: the knowledge, the shop's own file, the cache, unfinished cases."""
    from platformdirs import user_cache_path, user_state_path

    from diagnose.knowledge.files import knowledge_root, shop_path

    for label, path in (
        ("knowledge", knowledge_root()),
        ("shop file", shop_path()),
        ("cache", user_cache_path("diagnose", appauthor=False)),
        ("unfinished cases", user_state_path("diagnose", appauthor=False) / "cases"),
    ):
        click.echo(f"{label}: {path}" + ("" if path.exists() else " (not there yet)"))


@click.command("completion")
@click.argument("shell", type=click.Choice(list(_SHELLS)))
def completion(shell: str) -> None:
    """Print the line that switches on completion of commands, files and ids, for bash, zsh or fish.

    Example: diagnose completion bash >> ~/.bashrc
    """
    click.echo(f"# add this line to {_FILES[shell]}")
    click.echo(_SHELLS[shell])
