"""What the sheet says beside drawings and plan: which face is which, and what to check before any metal comes off."""

from reedbench.layouts import Layout
from reedbench.layouts.layout import FACES
from reedbench.plan import Plan

LIES = {"outer": "under the cover", "inner": "behind the plate"}  # on a comb
LIES_MIRRORED = {"outer": "behind the plate", "inner": "towards you"}


def faces(layout: Layout, mirrored: bool = False) -> list[tuple[str, str]]:
    """(face, what is there) of each face on which reeds lie, for the legend."""
    breaths = sorted({reed.breath for reed in layout.reeds if reed.breath}, key=lambda breath: FACES[breath] != "outer")
    lies = LIES_MIRRORED if mirrored else LIES
    return [(FACES[breath], f"{breath}, {lies[FACES[breath]]}" if layout.has_comb else breath) for breath in breaths]


def checklist(plan: Plan) -> list[str]:
    """What to see to before any metal comes off (common practice, no source)."""
    layout = plan.instrument.layout
    parts = f"{'Combs, plates' if layout.has_comb else layout.plate_word.capitalize() + 's, wax, leather'} and screws"
    steps = [
        "Instrument at room temperature, clean and dry; lint and dust out of the slots.",
        f"{parts} airtight{'; slide moves freely and seals' if layout.has_slide else ''}.",
        *(["Valves flat, dry and free; none missing."] if layout.has_valves else []),
        "Every tongue centred in its slot; gap and curve set. Each moves the pitch, so they come first.",
        "Support the tongue with a thin shim; stroke lengthwise, never across; never nick an edge.",
        "After each touch: brush, pluck a few times, let the warmth of your hand leave it, then measure.",
        "Raise a little low and creep up. Lower with more care: the rivet end moves three times as far.",
    ]
    if layout.wind == "bellows":
        steps.append("Finish by readings in the closed instrument: on the bench the air and the clamping differ.")
    if layout.has_pairs:
        steps.append("One reed of a pair at a time, the other muted: two that sound together pull at each other.")
    if layout.unconfirmed:
        steps.insert(0, "The layout of this instrument is unconfirmed: check its notes before you trust a move.")
    return steps
