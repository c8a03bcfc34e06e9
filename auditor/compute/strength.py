"""How long a passphrase withstands somebody who tries one after the other."""

import re
from collections.abc import Iterable, Iterator

GUESS_RATE_PER_S = 2_533_300  # GeForce RTX 4090, hashcat 6.2.6, mode 22000: list by Chick3nman
_LONGEST_ESTIMATED = 72  # characters; zxcvbn 4.5.0, `max_length`


def guesses(passphrase: str, own_words: Iterable[str] = ()) -> int:
    """The number of guesses that an attacker needs on average, as zxcvbn estimates it.

    `own_words` are those that somebody near the kit tries first (its name, the network's name,
    the term), most likely first; each counts whole, in parts, and with its parts run together.
    Of more than 72 characters only the first 72 count, which errs on the careful side.

    Source: zxcvbn 4.5.0 (D. L. Wheeler, "zxcvbn: Low-Budget Password Strength Estimation",
    USENIX Security 2016).
    """
    if not passphrase:
        return 1
    from zxcvbn import zxcvbn  # its import takes 20 ms

    words = dict.fromkeys(form for word in own_words for form in _forms(word))
    return int(zxcvbn(passphrase[:_LONGEST_ESTIMATED], user_inputs=list(words))["guesses"])


def attack_time_s(guesses: float, rate: float = GUESS_RATE_PER_S) -> float:
    """The time in seconds that a number of guesses takes at a rate in guesses per second.

    Raises: ValueError where `guesses` is below 0 or `rate` not above 0.
    Source of the rate: the hashcat 6.2.6 benchmark of a GeForce RTX 4090, mode 22000 (WPA and
    WPA2 passphrases, from a recorded handshake), 2533.3 kH/s.
    """
    if guesses < 0:
        raise ValueError(f"guesses is {guesses}; it must be at least 0")
    if rate <= 0:
        raise ValueError(f"rate is {rate}; it must be above 0")
    return guesses / rate


def search_space(alphabet_size: int, length: int) -> int:
    """The number of texts of a length over an alphabet; half of them are tried on average.

    `alphabet_size` counts what is drawn at random: characters, or the words of a list.

    Raises: ValueError where `alphabet_size` is below 1 or `length` below 0.
    """
    if alphabet_size < 1:
        raise ValueError(f"alphabet_size is {alphabet_size}; it must be at least 1")
    if length < 0:
        raise ValueError(f"length is {length}; it must be at least 0")
    return int(alphabet_size**length)


def _forms(word: str) -> Iterator[str]:
    parts = [part for part in re.split(r"[\W_]+", word) if part]
    yield from (form for form in (word, *parts, "".join(parts)) if form)
