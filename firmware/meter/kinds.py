"""Kinds of instrument that need no host. Made by tests/meter/make_kinds.py from the layouts' data.

A kind: identity, title, then a line of voices and one for each place, with a MIDI number in C for each of them that it
has. A voice: breath/slide/member, and for one that is tuned above the voice before it /beats at A4/rise (builtin.py).
"""

KEYS = (
    ("C", 0),
    ("Db", 1),
    ("D", 2),
    ("Eb", 3),
    ("E", 4),
    ("F", 5),
    ("F#", 6),
    ("G", -5),
    ("Ab", -4),
    ("A", -3),
    ("Bb", -2),
    ("B", -1),
    ("low C", -12),
    ("low Db", -11),
    ("low D", -10),
    ("low Eb", -9),
    ("low E", -8),
    ("low F", -7),
    ("low F#", -6),
    ("low G", -17),
    ("low Ab", -16),
    ("low A", -15),
    ("low Bb", -14),
    ("low B", -13),
)

KINDS = (
    (
        "richter-10-harmonic-minor",
        "Ten-hole diatonic, harmonic minor, named by its hole 1 blow",
        "blow//,draw// 1,60,62 2,63,67 3,67,71 4,72,74 5,75,77 6,79,80 7,84,83 8,87,86 9,91,89 10,96,92",
    ),
    (
        "richter-10-natural-minor",
        "Ten-hole diatonic, natural minor, named by its hole 1 blow",
        "blow//,draw// 1,60,62 2,63,67 3,67,70 4,72,74 5,75,77 6,79,81 7,84,82 8,87,86 9,91,89 10,96,93",
    ),
    (
        "richter-10",
        "Ten-hole diatonic, Richter tuning",
        "blow//,draw// 1,60,62 2,64,67 3,67,71 4,72,74 5,76,77 6,79,81 7,84,83 8,88,86 9,91,89 10,96,93",
    ),
    (
        "solo-8",
        "Slide chromatic, 8 holes, solo tuning",
        "blow/out/,draw/out/,blow/in/,draw/in/ 1,60,62,61,63 2,64,65,65,66 3,67,69,68,70 4,72,71,73,72 "
        "5,72,74,73,75 6,76,77,77,78 7,79,81,80,82 8,84,83,85,86",
    ),
    (
        "solo-10",
        "Slide chromatic, 10 holes, solo tuning",
        "blow/out/,draw/out/,blow/in/,draw/in/ 1,60,62,61,63 2,64,65,65,66 3,67,69,68,70 4,72,71,73,72 "
        "5,72,74,73,75 6,76,77,77,78 7,79,81,80,82 8,84,83,85,84 9,84,86,85,87 10,88,89,89,90",
    ),
    (
        "solo-12",
        "Slide chromatic, 12 holes, solo tuning",
        "blow/out/,draw/out/,blow/in/,draw/in/ 1,60,62,61,63 2,64,65,65,66 3,67,69,68,70 4,72,71,73,72 "
        "5,72,74,73,75 6,76,77,77,78 7,79,81,80,82 8,84,83,85,84 9,84,86,85,87 10,88,89,89,90 11,91,93,92,94 "
        "12,96,95,97,98",
    ),
    (
        "solo-14",
        "Slide chromatic, 14 holes, solo tuning",
        "blow/out/,draw/out/,blow/in/,draw/in/ 1,55,57,56,58 2,60,59,61,60 3,60,62,61,63 4,64,65,65,66 "
        "5,67,69,68,70 6,72,71,73,72 7,72,74,73,75 8,76,77,77,78 9,79,81,80,82 10,84,83,85,84 11,84,86,85,87 "
        "12,88,89,89,90 13,91,93,92,94 14,96,95,97,98",
    ),
    (
        "solo-16",
        "Slide chromatic, 16 holes, solo tuning",
        "blow/out/,draw/out/,blow/in/,draw/in/ 1,48,50,49,51 2,52,53,53,54 3,55,57,56,58 4,60,59,61,60 "
        "5,60,62,61,63 6,64,65,65,66 7,67,69,68,70 8,72,71,73,72 9,72,74,73,75 10,76,77,77,78 11,79,81,80,82 "
        "12,84,83,85,84 13,84,86,85,87 14,88,89,89,90 15,91,93,92,94 16,96,95,97,98",
    ),
    (
        "tremolo-21",
        "Tremolo harmonica, 21 columns",
        "blow//base,blow//high/2/0.5,draw//base,draw//high/2/0.5 1,60,60,, 2,,,62,62 3,64,64,, 4,,,65,65 "
        "5,67,67,, 6,,,69,69 7,72,72,, 8,,,71,71 9,76,76,, 10,,,74,74 11,79,79,, 12,,,77,77 13,84,84,, 14,,,81,81 "
        "15,88,88,, 16,,,83,83 17,91,91,, 18,,,86,86 19,96,96,, 20,,,89,89 21,,,93,93",
    ),
    (
        "tremolo-24",
        "Tremolo harmonica, 24 columns, scale layout",
        "blow//base,blow//high/2/0.5,draw//base,draw//high/2/0.5 1,55,55,, 2,,,62,62 3,60,60,, 4,,,65,65 "
        "5,64,64,, 6,,,69,69 7,67,67,, 8,,,71,71 9,72,72,, 10,,,74,74 11,76,76,, 12,,,77,77 13,79,79,, 14,,,81,81 "
        "15,84,84,, 16,,,83,83 17,88,88,, 18,,,86,86 19,91,91,, 20,,,89,89 21,96,96,, 22,,,93,93 23,100,100,, "
        "24,,,95,95",
    ),
)
