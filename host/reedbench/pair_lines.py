"""The pairs of an instrument for a terminal and for programs."""

import textwrap
from collections.abc import Sequence
from typing import Any

from reedbench.coupling import Pair, Sounded
from reedbench.output import clean, columns
from reedbench.words import signed

HEAD = ("pair", "base", "partner", "wanted", "alone", "together", "pulled", "move first")


def pair_as_dict(one: Pair) -> dict[str, Any]:
    """One entry of `pairs` for `--json`: what those who only read both alone do not know."""
    move = one.move
    return {
        "interval": one.apart.interval.name,
        "base": _sounded_dict(one.base),
        "partner": _sounded_dict(one.partner),
        "heard_hz": _rounded(one.heard_hz),
        "u95_hz": _rounded(one.u95_hz),
        "move": move.ordinal if move else None,
        "partner_to_hz": _rounded(one.partner_to_hz),
    }


def _sounded_dict(one: Sounded) -> dict[str, Any]:
    return {
        "ordinal": one.reed.ordinal,
        "alone_cents": _rounded(one.alone_cents),
        "together_cents": _rounded(one.together_cents),
        "pulled_cents": _rounded(one.pulled_cents),
        "u95_cents": _rounded(one.u95_cents),
    }


def _rounded(value: float | None) -> float | None:
    return None if value is None else round(value, 3) + 0.0


def pairs_lines(found: Sequence[Pair], width: int) -> list[str]:
    """A line for each pair, then what the columns mean."""
    rows = [HEAD, *(row(one) for one in found)]
    notes = (
        "Base and partner: cents from target with the other muted. Beats a second: wanted, from what each reads alone, "
        "and as the two beat together. Pulled: what each moves, base then partner, when the other sounds, in cents; in "
        "brackets where that is within its uncertainty."
    )
    heard = (
        []
        if any(one.heard_hz is not None for one in found)
        else ["Not heard together yet: `reedbench load KEY --both pairs`, or `octaves`, asks for that."]
    )
    return [*columns(rows), "", *textwrap.wrap(notes, max(40, width)), *heard]


def kind_of(one: Pair) -> str:
    """Which two members or banks the pair is of, and how they are tuned: "M with M+, pair"."""
    return clean(f"{one.base.reed.member} with {one.partner.reed.member}, {one.apart.interval.name}")


def row(one: Pair) -> tuple[str, ...]:
    """A pair as cells of a table."""
    move = one.move
    return (
        clean(f"{one.base.reed.label} with {one.partner.reed.member}"),
        _cents(one.base.alone_cents),
        _cents(one.partner.alone_cents),
        _beats(one.apart.wanted_hz),
        _beats(one.apart.now_hz),
        _beats(one.heard_hz),
        " ".join(pulled_words(side) for side in (one.base, one.partner)) if one.heard_hz is not None else "",
        "" if move is None else "base" if move is one.base.reed else f"partner to {one.partner_to_hz:.2f} Hz",
    )


def pulled_words(one: Sounded) -> str:
    """How far a reed is pulled, in brackets where nobody can be sure."""
    if one.pulled_cents is None:
        return "-"
    return signed(one.pulled_cents) if one.is_pulled else f"({signed(one.pulled_cents)})"


def _cents(cents: float | None) -> str:
    return "-" if cents is None else signed(cents)


def _beats(rate: float | None) -> str:
    return "-" if rate is None else f"{abs(rate):.2f}"
