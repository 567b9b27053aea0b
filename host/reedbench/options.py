"""Options that several commands share, so that they are spelled and explained in one place."""

from pathlib import Path

import click

from reedbench.ledger import default_path

json_option = click.option("--json", "as_json", is_flag=True, help="Print JSON for another program.")

ledger_option = click.option(
    "--ledger",
    "ledger_path",
    type=click.Path(path_type=Path),
    envvar="REEDBENCH_LEDGER",
    default=default_path,
    help="The ledger file; otherwise REEDBENCH_LEDGER, otherwise one in your data folder.",
)

port_option = click.option(
    "--port", help="The meter's port; needed only for a desk meter, or where several meters are connected."
)
