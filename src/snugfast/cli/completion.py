"""Completion of commands and options in the shell, by the script that the shell reads at its start."""

from __future__ import annotations

import click

HOW = {
    "bash": 'eval "$(snugfast completion bash)"      in ~/.bashrc',
    "zsh": 'eval "$(snugfast completion zsh)"       in ~/.zshrc',
    "fish": "snugfast completion fish | source       in ~/.config/fish/config.fish",
}


@click.command(epilog="\b\n" + "\n".join(HOW.values()))
@click.argument("shell", type=click.Choice(sorted(HOW)))
@click.pass_context
def completion(ctx: click.Context, shell: str) -> None:
    """Print what makes the Tab key complete commands and options in your shell."""
    from click.shell_completion import get_completion_class

    kind = get_completion_class(shell)
    assert kind is not None
    click.echo(kind(ctx.find_root().command, {}, "snugfast", "_SNUGFAST_COMPLETE").source())
