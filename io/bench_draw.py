"""Random numbers of the bench that are the same on every machine and with every version of a library.

SplitMix64 (Steele, Lea and Flood 2014, Fast Splittable Pseudorandom Number Generators, figure 14).
"""

from __future__ import annotations

from typing import Final

_MASK: Final = 2**64 - 1
_GAMMA: Final = 0x9E3779B97F4A7C15


def _mixed(z: int) -> int:
    z = ((z ^ (z >> 30)) * 0xBF58476D1CE4E5B9) & _MASK
    z = ((z ^ (z >> 27)) * 0x94D049BB133111EB) & _MASK
    return z ^ (z >> 31)


class Draw:
    """A stream of random numbers.

    Parameters
    ----------
    seed
        Of the stream.
    path
        Numbers that name a stream of its own below the seed, for example a class and a size.

    Examples
    --------
    >>> Draw(1234567).word()
    6457827717110365317
    >>> sorted(Draw(1).pick(3, 10)) == Draw(1).pick(3, 10)
    True
    """

    def __init__(self, seed: int, *path: int) -> None:
        self._state = seed & _MASK
        for number in path:
            self._state = _mixed((self._state + _GAMMA * (number + 1)) & _MASK)

    def word(self) -> int:
        """The next 64 bits."""
        self._state = (self._state + _GAMMA) & _MASK
        return _mixed(self._state)

    def below(self, count: int) -> int:
        """A whole number from 0 to ``count - 1``, each as likely as the others."""
        limit = 2**64 - 2**64 % count
        while (word := self.word()) >= limit:
            pass
        return word % count

    def between(self, low: int, high: int) -> int:
        """A whole number from `low` to `high`, both included."""
        return low + self.below(high - low + 1)

    def pick(self, number: int, count: int) -> list[int]:
        """`number` different ones of 0 to ``count - 1``, rising; all of them where there are no more."""
        places = list(range(count))
        for i in range(min(number, count)):
            j = self.between(i, count - 1)
            places[i], places[j] = places[j], places[i]
        return sorted(places[:number])
