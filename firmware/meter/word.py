"""The one difference between the machine words of a board and of a PC that integer loops must know.

In viper code a load through ptr32 fills a 32-bit register on the board, sign and all; on a 64-bit machine the
upper half is zero and a negative number reads as a large positive one. `(p[i] << EXTEND) >> EXTEND` is right on
both: on the board it shifts by nothing.
"""

import sys

EXTEND = 32 if sys.maxsize > 0x7FFFFFFF else 0
EXTEND16 = EXTEND + 16  # the same for ptr16 loads, which are zero-extended everywhere
