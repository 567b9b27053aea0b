"""How figures are written."""

MINUS = "\u2212"


def signed(cents: float, digits: int = 1) -> str:
    """Cents with their sign and a true minus: "+4.2", "−12.0"; "0.0" where they round to nothing."""
    text = f"{cents:+.{digits}f}"
    if float(text) == 0:
        return text[1:]
    return text.replace("-", MINUS)


def rounded(value: float | None) -> float | None:
    """A figure for other programs: three digits after the point, and no minus before nought."""
    return None if value is None else round(value, 3) + 0.0
