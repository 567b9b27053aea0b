"""`reedbench history`: what the record remembers of an instrument, of a reed, of the whole shop."""

import shutil
from pathlib import Path

import click

from reedbench.errors import BadInput
from reedbench.hand.past import past_of
from reedbench.hand.settled import SettlingRecord
from reedbench.hand.shop import last_pasts, pace_of, shop_of
from reedbench.hand.told import past_dict, past_lines, reed_dict, reed_lines
from reedbench.hand.told_shop import shop_dict, shop_lines
from reedbench.heard import Heard
from reedbench.ledger import Ledger
from reedbench.options import json_option, ledger_option
from reedbench.output import report
from reedbench.why import item_named


@click.command("history")
@click.argument("key", required=False)
@click.option(
    "--state",
    metavar="STATE",
    help='The state of sounding to tell of, such as "covers off"; otherwise the one surveyed in most often.',
)
@click.option("--reed", metavar="REED", help="Every reading of one reed, named as in the plan.")
@click.option("--shop", "of_shop", is_flag=True, help="What the whole shop's record teaches, instead.")
@ledger_option
@json_option
def command(
    key: str | None, state: str | None, reed: str | None, of_shop: bool, ledger_path: Path, as_json: bool
) -> None:
    """Tell the past of the instrument of that KEY, or of the one surveyed last.

    Its surveys in one state of sounding, what each pass did, what settled back afterwards, which reeds tire, and how
    long the next pass should take. With --shop: how far a stroke of this shop goes, how its reeds settle, how well it
    repeats itself, its pace.

    \b
    Example:
        reedbench history 6f1c0a9be2d43875
        reedbench history 6f1c0a9be2d43875 --reed "3 draw, slide in"
        reedbench history --shop
    """
    if of_shop and (key is not None or reed is not None or state is not None):
        raise BadInput("--shop is about all instruments: leave out the key, --reed and --state")
    width = shutil.get_terminal_size().columns
    with Ledger.open(ledger_path) as ledger:
        if of_shop:
            shop = shop_of(ledger)
            report(shop_dict(shop), shop_lines(shop, width), as_json)
            return
        record = SettlingRecord(Heard(ledger))
        past = past_of(ledger, key or ledger.survey(None).instrument, state, record=record)
        pace = pace_of(last_pasts(ledger, record, past))
    if reed is None:
        report(past_dict(past, pace), past_lines(past, pace, width), as_json)
        return
    named = item_named(past.chapters[-1].plan, reed).reed
    report(reed_dict(past, named), reed_lines(past, named, width), as_json)
