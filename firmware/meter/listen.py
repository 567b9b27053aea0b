"""From quiet to quiet: finds one sounding in the stream of blocks and gathers its tone.

    wait -- level rises --> attack -- a period shows --> gather -- enough, or it ends --> measure
    measure -- the take is dealt with --> release -- quiet --> wait
    measure -- two reeds: to be heard for longer --> hold -- it ends --> measure

What sounds on after its take is kept as it passes, for whoever wants to see where it goes (live.py).

The attack is thrown away: a reed starts flat, and the lower it is the longer. Of a tone too short for that as much is
kept as a reading needs, and the measurement cuts off what still glides. Noise without a period (a cough, a
door) never gets past `attack`. After a take the listener wants quiet before it hears the next, so that one long
breath is one take; a sound that just stays (a fan) becomes the new quiet.
"""

from .blocks import BLOCK, SILENT, copy
from .coarse import NEEDED_GLANCE, RATE
from .memory import SAMPLES_MOST
from .track import LOW_HZ

LOOK_FIRST = 4 * BLOCK  # samples after the onset, when a first figure may be had
ATTACK = RATE // 10  # as much after the onset is thrown away, if the tone lasts
SETTLE_PERIODS = 40  # and as much: a reed's pitch settles with a time constant of 9 to 16 periods
SETTLE_MOST = 55 * RATE // 100
SHORT_HIGH = 3 * RATE // 10  # as much is kept of a tone from LOW_HZ up, even if that is its attack
SHORT_LOW = 6 * RATE // 10  # and below
LOOK_AGAIN = 4 * BLOCK  # between looks for a period: each takes as long as three blocks
ATTACK_MOST = 6 * RATE // 10  # a reed that shows no period by then is noise
GATHER_HIGH = 7 * RATE // 10  # tone gathered from LOW_HZ up ...
LASTS_HIGH = 8 * RATE // 10  # ... but no later after the onset than this
GATHER_LOW = SAMPLES_MOST - BLOCK  # and below: a second
PERIODIC = 0.6  # autocorrelation at which a period counts as seen
# Levels are whole numbers, 1/100 dB: numbers with a fraction would need new memory for every block.
FLOOR_LEAST, FLOOR_MOST = -8000, -5600  # between which the room is at the start
ONSET = 1200  # above the room's floor
LEAST = -6200  # quieter than this is nothing
ENDED = 1000  # below the tone's loudest block
QUIET = 1800  # the same, for the quiet after it
STAYS_WITHIN = 300  # a sound that stays within this ...
STAYS = 3 * RATE // 2  # ... for so long after a take is the room's ...
STAYS_TONE = 120 * RATE  # ... or, if it has the level of the tone, for so long
CLIPPED_MOST = 80  # percent of a tone's samples that may be at the ends of the range: its pitch is still the same
CLIPPED_TOLD = 0.02  # share of clipped samples from which a take loses accuracy
MARGIN_LEAST = 1800  # above the room's floor from which a tone is heard well
ROOM_MOST = -4500  # a louder room hides reeds at arm's length
TRIES_MOST = 2  # times a tone that has not settled is listened to further
HELD = 2600  # below the loudest block: two reeds that beat may fall as deep and come back
HELD_SOFT = 5  # blocks as soft as that are the end
STALE = 12  # blocks that may have waited, or been lost, while the tone before was measured


class Listener:
    """Gathers one sounding after another.

    `samples` is where the tone is gathered: a bytearray for SAMPLES_MOST samples of 16 bits (see memory.py).
    `phase` is one of "wait", "attack", "gather", "measure", "hold", "release". In "wait" there is a `count` while a
    sounding may be beginning. In "measure" and "hold", `samples[:count]` is the tone, `position` the number of its
    first sample since power-up, `flags` what went wrong while gathering. In "release" it is the last of what sounds
    on, nothing once it fades. `glimpse_hz` is a first rough pitch as soon as the tone has one. `refused` says why the
    last noise was none.
    """

    def __init__(self, pitch, samples):
        self._pitch = pitch
        self.samples = samples
        self.phase = "wait"
        self.floor = SILENT
        self.refused = ""
        self.flags = []
        self._clear()

    def _clear(self):
        self.count = 0
        self.position = 0
        self.flags.clear()
        self.glimpse_hz = 0.0
        self.onset = 0
        self._seen = 0
        self._loud = 0
        self._soft = 0
        self._peak = self._base = SILENT
        self._clipped = 0
        self._wanted = GATHER_LOW
        self._tries = 0
        self._stale = 0
        self._look = LOOK_FIRST
        self._early = 0
        self._short = 0
        self._lost = False

    def feed(self, block, position, level, clipped, lost, expected_hz=0.0):
        """Takes one block of BLOCK samples (`position`: number of its first); True when a tone is ready."""
        if self.phase == "wait":
            if lost:
                self._loud = 0  # what began just before the pause begins after it
            self._wait(block, position, level)
            return False
        if self.phase == "release":
            self._release(block, position, level, lost)
            return False
        if self.phase == "hold":
            return self._hold(level)
        if self._stale:
            self._stale -= 1
            return False
        self._seen += BLOCK
        if lost:
            return self._gap()
        if self._seen <= ATTACK:
            self._peak = self._base = level  # a click of the slide before the tone does not set its level
        elif level > self._base + ONSET:
            # Something softer sounded before, a voice perhaps: the reed begins only here.
            self._listen_anew(self._base)
            self._wait(block, position, level)
            return False
        else:
            self._peak = max(self._peak, level)
            self._base += (self._peak - self._base) // 4
        self._clipped += clipped
        if self.phase == "attack":
            return self._attack(block, position, level, expected_hz)
        return self._gather(block, position, level)

    def go_on(self):
        """The tone had not settled: gathers more of the same sounding. False when it has been tried often enough.

        Blocks that waited while it was measured are skipped: more of them are lost.
        """
        if self._tries >= TRIES_MOST or self.count < self._wanted:
            return False
        self._tries += 1
        self.count = 0
        self.flags.clear()
        self._clipped = 0
        self._soft = 0
        self._stale = STALE
        self.phase = "gather"
        return True

    def hold(self):
        """The tone is gathered, but is heard to its end, or to where `heard` says that it is enough."""
        self.phase = "hold"
        self._soft = 0

    def heard(self):
        """It is enough."""
        self.phase = "measure"

    def measured(self):
        """The tone has been dealt with; now wait for quiet."""
        self.phase = "release"
        self.count = 0
        self._soft = 0
        self._stays = 0
        self._stays_level = SILENT

    def look(self, expected_hz=0.0):
        """Rough pitch in hertz of what is in `samples` now; 0 for none."""
        hz, clarity = self._pitch.glance(self.samples, self.count, expected_hz)
        return hz if clarity >= PERIODIC else 0.0

    def clipped(self):
        """Share of the tone's samples at the ends of the range."""
        return self._clipped / max(1, self._seen)

    def hint(self):
        """What is wrong with the sound, while it can be mended: "clipped", "soft", "loud room", or "" if nothing is."""
        if self.phase in ("attack", "gather", "hold"):
            if self.clipped() > CLIPPED_TOLD:
                return "clipped"
            return "soft" if self.phase != "attack" and self._peak - self.floor < MARGIN_LEAST else ""
        return "loud room" if self.phase == "wait" and self.floor > ROOM_MOST else ""

    def _wait(self, block, position, level):
        if self.floor == SILENT:
            self.floor = max(FLOOR_LEAST, min(FLOOR_MOST, level))  # the first block: a room, or a tone already
        if level > self._onset_level():
            if not self._loud:
                self._clear()
                self.onset = position
            self._append(block, position)
            self._loud += 1
            if self._loud >= 2:
                self.phase = "attack"
                self._seen = 2 * BLOCK
                self._peak = level
            return
        self._loud = self.count = 0
        # The floor falls at once and rises slowly, so that breath noise before a tone does not lift it.
        self.floor += (level - self.floor) // (2 if level < self.floor else 33)

    def _onset_level(self):
        """Level from which a sound stands out of the room."""
        return max(self.floor + ONSET, LEAST)

    def _attack(self, block, position, level, expected_hz):
        self._append(block, position)
        if self._faded(level) and self._soft >= 2:
            self._give_up("no tone")
            return False
        if self._seen < self._look or self.count < NEEDED_GLANCE:
            return False
        hz = self.look(expected_hz)
        if hz:
            self.glimpse_hz = hz
            low = hz < LOW_HZ
            self._early = max(ATTACK, min(SETTLE_MOST, int(SETTLE_PERIODS * RATE / hz)))
            self._wanted = GATHER_LOW if low else min(GATHER_HIGH, LASTS_HIGH - self._early)
            self._short = min(SHORT_LOW if low else SHORT_HIGH, SAMPLES_MOST - BLOCK - self._early)
            self.phase = "gather"
            self._early = max(0, self._early - (self._seen - self.count))
        elif self._seen >= ATTACK_MOST:
            self._give_up("no tone")
        self._look = self._seen + LOOK_AGAIN
        return False

    def _gather(self, block, position, level):
        if self._faded(level):
            if self._soft >= 2:
                # The two soft blocks were not kept; the one before them may hold the release.
                self.count = max(0, self.count - BLOCK)
                if self._lost and self.count < self._short:
                    self._give_up("gap")
                    return False
                if self._early:
                    self._cut(min(self._early, max(0, self.count - self._short)))
                return self._ready()
            return False
        self._append(block, position)
        if self._early and self.count >= self._early + self._short:
            self._cut(self._early)
        return self.count >= self._wanted and not self._early and self._ready()

    def _gap(self):
        """Samples were lost before this block or in it: what came before is a tone, or all is begun anew after it."""
        if self.phase == "gather" and self._early == 0 and self.count >= self._short > 0:
            return self._ready()
        if self.phase == "gather":
            self._early = max(0, self._early - self.count)
        self.count = 0
        self._lost = True
        return False

    def _cut(self, early):
        """Throws the first `early` samples away."""
        self.count -= early
        copy(self.samples, early, self.samples, 0, self.count)
        self.position += early
        self._early = 0

    def _faded(self, level):
        if self._within(level, ENDED):
            self._soft = 0
            return False
        self._soft += 1
        return True

    def _within(self, level, fall):
        """Whether a block lies no more than `fall` below the tone's loudest, and stands out of the room."""
        return level > max(self._peak - fall, self._onset_level())

    def _append(self, block, position):
        count = self.count
        if not count:
            self.position = position
        copy(block, 0, self.samples, count, BLOCK)
        self.count = count + BLOCK

    def _ready(self):
        if 100 * self._clipped > CLIPPED_MOST * self._seen:
            self.flags.append("clipped")
        self.phase = "measure"
        return True

    def _give_up(self, why):
        self.refused = why
        self.measured()

    def _hold(self, level):
        if self._within(level, HELD):
            self._soft = 0
            return False
        self._soft += 1
        if self._soft < HELD_SOFT:
            return False
        self.phase = "measure"
        return True

    def _release(self, block, position, level, lost):
        if level > self._peak + ONSET:
            self._listen_anew(self._peak)
            self._wait(block, position, level)
            return
        self._pass_by(block, position, level, lost)
        if abs(level - self._stays_level) > STAYS_WITHIN:
            self._stays = 0
            self._stays_level = level
        self._stays += BLOCK
        if self._stays >= (STAYS_TONE if self.count else STAYS):
            self._listen_anew(level)
        elif self._within(level, QUIET):
            self._soft = 0
        else:
            self._soft += 1
            if self._soft >= 3:
                self._listen_anew(level)

    def _pass_by(self, block, position, level, lost):
        """Keeps the last of what sounds on: half a second at least, once it has lasted so long."""
        if lost or not self.glimpse_hz or not self._within(level, ENDED):
            self.count = 0
            return
        if self.count > GATHER_LOW - BLOCK:
            self.count //= 2
            copy(self.samples, self.count, self.samples, 0, self.count)
        self._append(block, position)

    def _listen_anew(self, level):
        """Waits for the next sounding, which has to rise above what sounds now: a note that dies away is no new one."""
        self._clear()
        self.floor = max(self.floor, level)
        self.phase = "wait"
