"""The keys of json_keys.py that belong to plans alone: reeds, stages, parts, beats, what another A costs."""

from json_shapes import EARLIER_TAKES, REED, SETTLED, VERDICT, within

PLANNED = {
    **REED,
    "hole": "number of the hole, key or button from the low end",
    "member": "bank, or member of a pair; empty where there is one",
    "midi": "its note as a MIDI note number",
    **VERDICT,
    "clock_u95_cents": "part of the uncertainty that is common to all reeds, from the meter's clock; null without one",
    "takes_used": "the survey's own takes that the reading stands on, by their number",
    **EARLIER_TAKES,
    "takes_left_out": "the takes that it does not stand on",
    "takes_left_out[].take": "number of the take",
    "takes_left_out[].survey": "number of the earlier survey that it is from; null for one of its own",
    "takes_left_out[].why": "the reason, in words",
    "pass": "rough or fine for work on metal, otherwise empty",
    "order": "place in the order of the work, from 1; 0 where there is nothing to do",
    "stop_cents": "what the reed should read when this pass stops; null without work on metal",
    "bench_stop_cents": "the same as it reads on the bench; null where nobody knows",
    "more_takes": "takes that should decide a reed to be sounded again; 0 elsewhere, and where takes do not agree yet",
    "jobs": "what to see to before any metal, the first first: clean, gap, centre, valve, screws, rivet, replace",
    "zone": "where metal comes off, in a word; empty without work on metal",
    "where": "the same, in more words",
    "thinner_percent": "share of the thickness there to take off in this pass, an order of size; null without work",
    "strokes": "light strokes that this pass should take, as the shop's record has it; null where it does not tell",
    "strokes_fewest": "fewer in 1 of 40 cases; null likewise",
    "strokes_most": "more in 1 of 40 cases; null likewise",
    "tip_mass_percent": "mass on the tip for a large lowering, in percent of the tongue's; otherwise null",
}

STAGES = {
    "stages": "the work, cut into what is done in one go, in its order",
    "stages[].stage": "again, look, replace, rough, or fine",
    "stages[].plate": "of a fine pass; otherwise empty",
    "stages[].face": "outer for what is at hand, inner where the plate comes off; empty elsewhere",
    "stages[].reeds": "numbers of its reeds, in the order of the work",
    "stages[].sound_after": "numbers of those to sound when it is done: its own, and what shares their chambers",
    "stages[].then": "what to sound and when, in a sentence",
    "afterwards": "what follows the last stage, and when to stop, a sentence or two each",
    "settled": "what worked reeds of this shop did without work, as far as it was known then",
    **within("settled[]", SETTLED),
    "parts": "what to have at hand",
    "parts[].part": "what",
    "parts[].needed": "whether it will be needed; otherwise only if what is looked at turns out so",
    "parts[].reeds": "numbers of the reeds that it is for",
}

TOGETHER = {
    "lower": "number of the lower reed, or of the one that the other is tuned against",
    "upper": "number of the other",
    "interval": "unison, octave, or pair; with --together also the chords: minor third to major sixth",
    "at_once": "whether one breath can sound both",
    "wanted_hz": "beats a second by their targets; above zero the interval is wide",
    "goal_hz": "how far from that it may beat",
    "now_hz": "beats a second by their readings; null where one has none",
    "u95_hz": "uncertainty of that, 95 %, without the clock's share; null likewise",
    "after_hz": "beats a second after this pass; null likewise",
    "mean_cents": "middle of the two from the middle wanted, of a unison or pair; otherwise null",
}

COST = {
    "reference_hz": "A",
    "off": "reeds to be moved",
    "lower": "those of them to come down",
    "unsure": "reeds that another take must decide",
    "good": "good ones",
    "unread": "reeds left out: without a reading, or to be looked at first",
    "total_cents": "all moves together",
    "most_up_cents": "largest move up",
    "most_down_cents": "largest move down, above zero",
    "mean_cents": "how far all reeds lie from their targets on average",
}

LAST = "number of the reed brought nearer its target when all are good, so that these two agree; otherwise null"
