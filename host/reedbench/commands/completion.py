"""`reedbench completion`: lets a shell complete commands and options."""

import click
from click.shell_completion import get_completion_class

from reedbench.options import quiet_option
from reedbench.output import pass_on

SHELLS = ("bash", "zsh", "fish")
VARIABLE = "_REEDBENCH_COMPLETE"  # by which the shell asks the program


@click.command("completion")
@click.argument("shell", type=click.Choice(SHELLS))
@quiet_option
def command(shell: str) -> None:
    """Print the script by which your SHELL completes commands and options with the Tab key.

    For bash 4.4 or newer keep it where its completions lie, for zsh and fish likewise; then open a new terminal.
    With zsh, ~/.zfunc must be in fpath before compinit runs: put "fpath+=~/.zfunc; autoload -Uz compinit; compinit"
    into ~/.zshrc.

    \b
    Example:
        reedbench completion bash > ~/.local/share/bash-completion/completions/reedbench
        reedbench completion zsh > ~/.zfunc/_reedbench
        reedbench completion fish > ~/.config/fish/completions/reedbench.fish
    """
    group = click.get_current_context().find_root().command
    kind = get_completion_class(shell)
    assert kind is not None  # click knows these three
    script = kind(group, {}, "reedbench", VARIABLE)
    # Not script.source(), which would run bash to see how old the one on this computer is.
    pass_on(script.source_template % script.source_vars())
