"""What is wrong with the sound while it still sounds, so that it can be mended before the take is lost."""

CLIPPED_MOST = 0.02  # share of clipped samples from which a take loses accuracy
MARGIN_LEAST = 1800  # 1/100 dB above the room from which a tone is heard well; an onset takes 1200
ROOM_MOST = -4500  # 1/100 dB from full scale: a louder room hides reeds at arm's length


def hint(listener):
    """Name of what is wrong with what `listener` (a listen.Listener) hears: "clipped", "weak", "loud room", or ""."""
    if listener.phase in ("attack", "gather", "hold"):
        if listener.clipped() > CLIPPED_MOST:
            return "clipped"
        return "weak" if listener.phase != "attack" and listener.margin() < MARGIN_LEAST else ""
    return "loud room" if listener.phase == "wait" and listener.floor > ROOM_MOST else ""
