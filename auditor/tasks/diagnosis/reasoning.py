"""The causes of one board against what is seen of it, in numbers."""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from auditor.compute.inference import (
    blurred,
    information_gain_bits,
    posterior,
)
from auditor.tasks.diagnosis.causes import Cause, Values
from auditor.tasks.diagnosis.observations import OBSERVATIONS
from auditor.tasks.diagnosis.weights import ERROR_RATE

CLEARLY = 1.5
"""By so much more likely it is what speaks for a cause; common practice, no source."""


@dataclass(frozen=True)
class Reasoning:
    """Causes with their probabilities before anybody looked, what each predicts, what was seen."""

    causes: tuple[Cause, ...]
    priors: tuple[float, ...]
    predictions: tuple[Mapping[str, Values], ...]
    seen: Mapping[str, str]

    @cached_property
    def probabilities(self) -> tuple[float, ...]:
        """The probability of each cause, after what was seen."""
        return self.after(self.seen)

    def after(self, seen: Mapping[str, str]) -> tuple[float, ...]:
        """Return the probability of each cause after something was seen."""
        return posterior(self.priors, (self.likelihoods(*each) for each in seen.items()))

    def likelihoods(self, name: str, value: str) -> list[float]:
        """Return the probability of a value of an observation, under each cause."""
        at = OBSERVATIONS[name].values.index(value)
        return [row[at] for row in self._chances(name)]

    def likelihood(self, seen: Iterable[tuple[str, str]]) -> float:
        """Return how likely it was, before anybody looked, that all of several things are seen."""
        rows = [self.likelihoods(*each) for each in seen]
        return math.fsum(
            prior * math.prod(row[cause] for row in rows) for cause, prior in enumerate(self.priors)
        )

    def gain_bits(self, name: str) -> float:
        """Return how many bits an observation tells about the cause on average."""
        return information_gain_bits(self.probabilities, self._chances(name))

    def supports(self, name: str, value: str, cause: int) -> bool:
        """Say whether what was seen is clearly likelier under a cause than on average of all.

        The average gives each cause the same weight: a likely one would speak against itself.
        """
        row = self.likelihoods(name, value)
        return row[cause] >= CLEARLY * math.fsum(row) / len(row)

    def is_explained(self, seen: Iterable[tuple[str, str]]) -> bool:
        """Say whether there is a cause that predicts all of several things."""
        pairs = list(seen)
        return any(all(value in row[name] for name, value in pairs) for row in self.predictions)

    def ranked(self, probabilities: Sequence[float]) -> list[int]:
        """Return the positions of the causes, the likeliest first."""
        return sorted(range(len(self.causes)), key=lambda cause: -probabilities[cause])

    def _chances(self, name: str) -> list[tuple[float, ...]]:
        """Return the probability of each value of an observation, a row for each cause."""
        return [_chances(name, row[name]) for row in self.predictions]


def _chances(name: str, predicted: Values) -> tuple[float, ...]:
    each = 1 / len(predicted)
    even = [each if value in predicted else 0.0 for value in OBSERVATIONS[name].values]
    return blurred(even, ERROR_RATE)
