"""What has to be asked about a new instrument: only what means something for its layout, each answer checked at once.

An answer is checked by reading the instrument that it would make, so that what is refused here is what is refused in
a file, and in the same words.
"""

from collections.abc import Callable
from typing import Any

from reedbench import layouts
from reedbench.documents import shown
from reedbench.errors import BadInput
from reedbench.instrument import PLATES, SLIDES, VERSION, Instrument, new_key_id
from reedbench.layouts import Layout
from reedbench.tuning.temperaments import TEMPERAMENTS

# Asks a question, with the usual answer or None, and a check that raises BadInput; returns the answer that passed.
Ask = Callable[[str, str | None, Callable[[str], None]], str]
AS_LAID_OUT = "as the layout says"


class Description:
    """An instrument's file in the making. `said`: what the command line said, by field; `ask` None: nobody to ask."""

    def __init__(self, said: dict[str, str], ask: Ask | None) -> None:
        self._said = said
        self._ask = ask
        self.values: dict[str, Any] = {"reedbench": "instrument", "version": VERSION, "key_id": new_key_id()}

    def fill(self) -> dict[str, Any]:
        """The document; BadInput where something is missing that must be there."""
        layout = self._layout()
        order = self.values["order"] = {"reference_hz": 440.0, "tolerance_cents": 2.0}
        self.values["name"] = "new"
        if layout.transposing or "key" in self._said:
            self.values["key"] = "C"
        if layout.has_slide:
            self.values |= {"slide": SLIDES[0], "first_plate": PLATES[0]}
        self._put(self.values, "name", "What the shop calls it", None)
        if "key" in self.values:
            self._put(self.values, "key", "Key, such as C, Bb or low D", "C")
        if layout.last_hole or "last_hole" in self._said:
            notes = " or ".join(note for note, _ in layout.last_hole)
            usual = layout.last_hole[0][0] if layout.last_hole else ""
            self._put(self.values, "last_hole", f"Last reed, on an instrument in C: {notes}", usual)
        if layout.has_slide or {"slide", "first_plate"} & self._said.keys():
            self._put(self.values, "slide", f"Slide: {' or '.join(SLIDES)}", SLIDES[0])
            self._put(self.values, "first_plate", "Plate that hole 1 sounds, slide out: upper or lower", PLATES[0])
        self._put(order, "reference_hz", "Reference A in hertz", "440")
        self._put(order, "temperament", f"Temperament: {', '.join(TEMPERAMENTS)}", "equal")
        if order["temperament"] != "equal" or "tonic" in self._said:
            self._put(order, "tonic", "Its tonic", self.values.get("key", "C").split()[-1])
        self._put(order, "tolerance_cents", "Good within, in cents", "2")
        self._put(order, "drop_cents", "Drop in play, in cents", "0")
        if layout.has_pairs and self._ask:
            self._pairs(order)
        return self.values

    def _put(self, within: dict[str, Any], field: str, question: str, usual: str | None) -> None:
        """Settles one field: what was said, what is answered, or the usual."""
        if field in self._said:
            within[field] = _value(field, self._said[field])
        elif self._ask:
            answer = self._ask(question, usual, lambda text: self._try(within, field, _value(field, text)))
            within[field] = _value(field, answer)
        elif usual is None:
            raise _unsaid(field)
        elif usual:
            within[field] = _value(field, usual)

    def _try(self, within: dict[str, Any], field: str, value: Any) -> None:
        """Raises BadInput where the instrument would not be sound with that value."""
        before = within.get(field)
        within[field] = value
        try:
            Instrument.from_dict(self.values, "that cannot be")
        finally:
            within[field] = before

    def _layout(self) -> Layout:
        named = self._said.get("layout")
        if named is None:
            if not self._ask:
                raise _unsaid("layout")
            named = _choose_layout(self._ask)
        self.values["layout"] = named
        return layouts.named(named)

    def _pairs(self, order: dict[str, Any]) -> None:
        """How pairs beat: by a number of beats, or so many cents apart."""
        assert self._ask
        question = "Pairs: beats a second at A4, such as 2.5, or their distance, such as 15 cents"
        answer = self._ask(question, AS_LAID_OUT, lambda text: self._try(order, "pairs", _pair_law(text)))
        order["pairs"] = _pair_law(answer)
        if order["pairs"] is None:
            del order["pairs"]


def _unsaid(field: str) -> BadInput:
    return BadInput(f"say --{field.replace('_', '-')}: there is no terminal to ask on")


def _value(field: str, text: str) -> Any:
    """A number where a number belongs and one was written; otherwise the text, for the checks to refuse or to take."""
    if field.endswith(("_hz", "_cents")):
        try:
            number = float(text.replace(",", "."))
        except ValueError:
            return text
        return int(number) if number.is_integer() else number
    return text.strip()


def _pair_law(text: str) -> dict[str, Any] | None:
    if text.strip() == AS_LAID_OUT:
        return None
    number, _, unit = text.strip().partition(" ")
    value = _value("beats_hz", number)
    if unit.strip() in ("cent", "cents"):
        return {"law": "constant cents", "cents": value}
    return {"law": "constant beat", "beats_hz": value}


def _choose_layout(ask: Ask) -> str:
    """The layout's name, or its file's: first the family is asked, then which of it."""
    kinds = layouts.families()
    answer = _choose(ask, "Kind of instrument (number, or the name of a layout)", list(kinds))
    if answer not in kinds:
        return answer
    if len(kinds[answer]) == 1:
        return kinds[answer][0].id
    within = {f"{layout.id}: {layout.variety}": layout.id for layout in kinds[answer]}
    answer = _choose(ask, f"Which {answer[0].lower()}{answer[1:]} (number or name)", list(within))
    return within.get(answer, answer)


def _choose(ask: Ask, question: str, choices: list[str]) -> str:
    """One of `choices` by its number, or the name of a layout."""

    def check(text: str) -> None:
        if _by_number(text, choices) is None:
            layouts.named(text.strip())

    listed = "\n".join(f"{number:3}  {choice}" for number, choice in enumerate(choices, start=1))
    answer = ask(f"{listed}\n{question}", None, check)
    return _by_number(answer, choices) or answer.strip()


def _by_number(text: str, choices: list[str]) -> str | None:
    number = text.strip()
    if not number.isdecimal():
        return None
    if not 1 <= int(number) <= len(choices):
        raise BadInput(f"{shown(number)} is none of the numbers 1 to {len(choices)}")
    return choices[int(number) - 1]
