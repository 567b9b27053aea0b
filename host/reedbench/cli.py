"""The `reedbench` command. Each subcommand lives in its own module and is imported only when it is used."""

from importlib import import_module

import click
from click.shell_completion import CompletionItem

from reedbench import __version__

# In the order of the work. The module commands/<name>.py holds the click command, always named `command`.
COMMANDS = {
    "demo": "Run the whole job on a desk meter: survey, pull, plan, sheet.",
    "desk": "Start a desk meter: the real firmware, without the hardware.",
    "hear": "Measure the reeds in WAV recordings.",
    "find": "List the meters that are connected.",
    "install": "Put the firmware onto a meter's board.",
    "layout": "List and show kinds of instrument, and check your own.",
    "instrument": "Describe, add, list, show, edit and remove instruments.",
    "load": "Send an instrument to the meter.",
    "pull": "Bring the meter's takes into the ledger.",
    "survey": "List, show and remove surveys; keep strokes that were counted.",
    "plan": "Plan the work on a surveyed instrument.",
    "sheet": "Write the plan as a page to print.",
    "history": "Tell what the record remembers of an instrument, or of the shop.",
    "export": "Write takes, readings or plan as CSV.",
    "import": "Bring readings from paper into the ledger.",
    "ledger": "Check, back up, restore the ledger; make it a meter's home.",
    "completion": "Let your shell complete commands.",
}


class LazyGroup(click.Group):
    """A group whose commands are the modules of `reedbench.commands`."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name not in COMMANDS:
            return None
        command = import_module(f"reedbench.commands.{cmd_name}").command
        assert isinstance(command, click.Command)
        return command

    def shell_complete(self, ctx: click.Context, incomplete: str) -> list[CompletionItem]:
        """Commands from the table, so that completing does not have to import them all; options from click."""
        if incomplete.startswith("-"):
            return click.Command.shell_complete(self, ctx, incomplete)
        return [CompletionItem(name, help=words) for name, words in COMMANDS.items() if name.startswith(incomplete)]

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """List the commands from the table, so that help does not have to import them all."""
        with formatter.section("Commands"):
            formatter.write_dl(list(COMMANDS.items()))


@click.group(cls=LazyGroup, invoke_without_command=True, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="reedbench")
@click.pass_context
def cli(context: click.Context) -> None:
    """Survey a free-reed instrument with the meter, plan the retuning, print the sheet."""
    if context.invoked_subcommand is None:
        click.echo(context.get_help())
