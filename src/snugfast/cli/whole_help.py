"""Help for a group of commands."""

from __future__ import annotations

import click

LONGEST = 200  # letters of one sentence


class WholeHelp(click.Group):
    """Help that says its one sentence about each command to the end."""

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """List the commands with the whole of their first sentence."""
        with formatter.section("Commands"):
            formatter.write_dl(
                [
                    (name, command.get_short_help_str(LONGEST))
                    for name, command in sorted(self.commands.items())
                ]
            )
