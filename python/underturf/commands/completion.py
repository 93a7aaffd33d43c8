"""``underturf completion``: the script by which a shell completes commands and options."""

from __future__ import annotations

import click
from click.shell_completion import get_completion_class

from underturf.commands.answers import Answer, about, say
from underturf.commands.given import Given, command
from underturf.errors import ArgumentError

__all__ = ["completion"]

#: Where each shell reads it, as its user writes it.
HOW = {
    "bash": 'Add to ~/.bashrc: eval "$(underturf completion bash)"',
    "zsh": 'Add to ~/.zshrc: eval "$(underturf completion zsh)"',
    "fish": "Write to ~/.config/fish/completions/underturf.fish",
}


@command("completion", (click.argument("shell", type=click.Choice(list(HOW)), metavar="SHELL"),))
def completion(given: Given) -> None:
    """Print the script that completes commands and options in SHELL: bash, zsh or fish.

    For bash, add this line to ~/.bashrc: eval "$(underturf completion bash)". For zsh, the same with zsh in ~/.zshrc. For fish,
    write the output to ~/.config/fish/completions/underturf.fish.
    """
    kind = get_completion_class(given.shell)
    root = click.get_current_context().find_root()
    if kind is None:
        raise ArgumentError(f"this version of click completes nothing in {given.shell}")
    script = kind(root.command, {}, "underturf", "_UNDERTURF_COMPLETE").source()
    say(
        given,
        Answer(text=script, about=about(), result={"shell": given.shell, "script": script, "how": HOW[given.shell]}),
    )
