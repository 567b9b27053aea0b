"""Reeds sounded on demand in front of a board, and the meter that has heard them."""

from pathlib import Path
from typing import Any

from PIL import Image
from reedbench.desk.audio import RATE
from reedbench.desk.players import Address, ReedPlayer, Sounding, address_of
from reedbench.instrument import InstrumentReed
from reedbench.ledger import Ledger
from reedbench.link import converse
from reedbench.load import load
from reedbench.pull import Pulled, pull

ROOT = Path(__file__).parents[2]
PICTURES = ROOT / "build" / "board"
AFTER_S = 2.5  # from the end of a sounding until its take is kept and shown


class Played(ReedPlayer):
    """Sounds a reed on demand instead of reading a screen."""

    def sounding(self, address: Address, number: int) -> Sounding:
        played = self._play(address, number)
        assert played
        words, track, _ = played
        return Sounding(address, number, 0, words, track)

    def before(self, board: Any, reed: InstrumentReed, number: int) -> Sounding:
        """Sounds `reed` for the `number`-th time at the board, until it has been dealt with."""
        sounding = self.sounding(address_of(reed), number)
        board.sound(sounding.words)
        board.rest(len(sounding.words) / RATE + AFTER_S)
        return sounding


def give(board: Any, ledger: Ledger, instrument: Any) -> None:
    """Loads the instrument onto the meter."""
    with converse(board.port, ledger.identity) as meter:
        load(meter.link, instrument, "assembled", 0)


def status(board: Any, ledger: Ledger) -> dict[str, Any]:
    with converse(board.port, ledger.identity) as meter:
        return meter.link.request("status")


def fetch(board: Any, ledger: Ledger) -> Pulled:
    with converse(board.port, ledger.identity) as meter:
        return pull(meter, ledger)


def pictured(board: Any, name: str) -> Path | None:
    """The picture of what the display shows now; None where it cannot be seen."""
    PICTURES.mkdir(parents=True, exist_ok=True)
    path = PICTURES / f"{name}.png"
    path.unlink(missing_ok=True)
    board.picture(path)
    return path if path.exists() else None


def shows(board: Any, scene: str) -> bool:
    """Whether the display shows the accepted picture of this name; True where it cannot be seen."""
    path = pictured(board, scene)
    if path is None:
        return True
    with Image.open(path) as seen, Image.open(ROOT / "tests" / "screens" / "expected" / f"{scene}.png") as wanted:
        return seen.convert("1").resize((128, 64), Image.Resampling.NEAREST).tobytes() == wanted.convert("1").tobytes()


def ticks(board: Any, ledger: Ledger) -> Any:
    with converse(board.port, ledger.identity) as meter:
        return meter.link.request("ticks")
