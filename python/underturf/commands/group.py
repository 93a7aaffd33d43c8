"""The program as a group of commands: listed in the order of a day, with a hint where a word is mistyped."""

from __future__ import annotations

from typing import Any

import click

from underturf import _core

__all__ = ["Program"]


class Program(click.Group):
    """A group of commands in sections, each with its title."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.sections: dict[str, list[str]] = {}

    def add_section(self, title: str, *commands: click.Command) -> None:
        """Add commands under a title."""
        for one in commands:
            self.add_command(one)
        self.sections.setdefault(title, []).extend(str(one.name) for one in commands)

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: D102
        return [name for names in self.sections.values() for name in names]

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:  # noqa: D102
        widest = max(map(len, self.commands))
        for title, names in self.sections.items():
            with formatter.section(title):
                rows = [(name.ljust(widest), self.commands[name].get_short_help_str(200)) for name in names]
                formatter.write_dl(rows)

    def resolve_command(  # noqa: D102
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        if args and not args[0].startswith("-") and args[0] not in self.commands:
            hint = _core.spelling_hint(args[0], self.list_commands(ctx))
            raise click.UsageError(f'there is no command "{args[0]}"{hint or "; underturf --help lists them"}', ctx)
        return super().resolve_command(ctx, args)
