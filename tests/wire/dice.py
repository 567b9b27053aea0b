"""Chance that falls the same way on CPython and MicroPython, so that a failing case can be thrown again."""


class Dice:
    """Marsaglia's 32-bit xorshift (Journal of Statistical Software 8, 2003), started by `seed` > 0."""

    def __init__(self, seed):
        self._state = seed * 2654435761 & 0xFFFFFFFF or 1
        for _ in range(8):
            self.below(2)

    def below(self, most):
        """A whole number from 0 to most - 1."""
        state = self._state
        state ^= state << 13 & 0xFFFFFFFF
        state ^= state >> 17
        state ^= state << 5 & 0xFFFFFFFF
        self._state = state
        return state * most >> 32

    def between(self, low, high):
        """A whole number from low to high, both included."""
        return low + self.below(high - low + 1)

    def pick(self, choices):
        """One of a list."""
        return choices[self.below(len(choices))]

    def shuffled(self, things):
        """A new list of the same things in another order."""
        left = list(things)
        order = []
        while left:
            order.append(left.pop(self.below(len(left))))
        return order
