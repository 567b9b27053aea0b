"""What sets the display's chip up, and where its picture begins, by the chips' data sheets.

Both take the same picture, eight rows a page. An SSD1306 (data sheet rev. 1.1, section 9) has a column of memory for
each of the glass; it is told to go on page by page. An SH1106 (V2.3, "command table") knows nothing else; it has 132
columns, of which the usual glass shows 128 from the third on, and another converter for the glass's voltage.
"""

_COMMON = bytes(
    (
        0xAE,  # off
        0xD5, 0x80,  # clock
        0xA8, 63,  # rows, less one
        0xD3, 0,  # no shift
        0x40,  # first row on top
        0xA1,  # left to right
        0xC8,  # top to bottom
        0xDA, 0x12,  # how the glass is wired
        0xA4,  # show memory
        0xA6,  # lit is 1
    )
)  # fmt: skip
# Addressing and charge pump, contrast, precharge, level of lines that rest; pump, and the rest as after a reset.
_SSD1306 = bytes((0x20, 0x02, 0x8D, 0x14, 0x81, 0xCF, 0xD9, 0xF1, 0xDB, 0x30))
_SH1106 = bytes((0xAD, 0x8B, 0x81, 0x80, 0xD9, 0x22, 0xDB, 0x35))
_ON = bytes((0xAF,))

# (commands, first column that the glass shows)
PANELS = {
    "SSD1306": (_COMMON + _SSD1306 + _ON, 0),
    "SH1106": (_COMMON + _SH1106 + _ON, 2),
}
