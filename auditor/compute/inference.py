"""Which of several causes is at work, and what an observation would tell about it.

Causes exclude each other. A probability is a number from 0 to 1; the probabilities of all causes,
and those of all values that one observation can have, sum to 1. What observations tell is counted
in bits.
"""

import math
from collections.abc import Iterable, Sequence

_ROUNDING = 1e-9
"""By so much the sum of probabilities may miss 1."""


def entropy_bits(probabilities: Sequence[float]) -> float:
    """How uncertain it is which of several things is so, in bits; 0 where one is certain.

    Raises: ValueError where a probability is below 0, or they do not sum to 1.
    Source: C. E. Shannon, "A Mathematical Theory of Communication", Bell System Technical Journal
    27 (1948), section 6: H = -sum of p log2 p.
    """
    _require_distribution(probabilities)
    # math.fsum does not depend on the order; adding 0.0 makes of -0.0 what people write
    return -math.fsum(p * math.log2(p) for p in probabilities if p > 0) + 0.0


def blurred(prediction: Sequence[float], error_rate: float) -> tuple[float, ...]:
    """What is seen of what a cause predicts, by people who now and then see anything at all.

    With the probability `error_rate` each value is seen as often as any other.

    Raises: ValueError where the error rate is not from 0 to 1, or the prediction does not sum to 1.
    """
    _require_distribution(prediction)
    if not 0 <= error_rate <= 1:
        raise ValueError(f"error_rate is {error_rate}; it must be from 0 to 1")
    by_mistake = error_rate / len(prediction)
    return tuple((1 - error_rate) * p + by_mistake for p in prediction)


def normalised(weights: Sequence[float]) -> tuple[float, ...]:
    """The probabilities that stand in the same proportion as some weights.

    Raises: ValueError where a weight is below 0, or none is above 0.
    """
    if any(weight < 0 for weight in weights):
        raise ValueError(f"weight is {min(weights)}; it must not be below 0")
    total = math.fsum(weights)
    if total <= 0:
        raise ValueError("the weights sum to 0; one must be above 0")
    return tuple(weight / total for weight in weights)


def posterior(priors: Sequence[float], likelihoods: Iterable[Sequence[float]]) -> tuple[float, ...]:
    """The probability of each cause once something was seen.

    A likelihood is the probability of one thing that was seen, for each cause. Given the cause,
    observations are taken to be independent of each other (naive Bayes).

    Raises: ValueError where a likelihood is given for fewer or more causes than there are, or
    what was seen is impossible under every cause.
    Source: Bayes' rule, P(c | s) = P(c) P(s | c) / sum over all causes of the same.
    """
    rows = list(likelihoods)
    wrong = [len(row) for row in rows if len(row) != len(priors)]
    if wrong:
        raise ValueError(f"likelihoods of {wrong[0]} causes; it must be {len(priors)}")
    by_cause = zip(*rows, strict=True) if rows else ((),) * len(priors)
    return normalised(
        [prior * math.prod(sorted(seen)) for prior, seen in zip(priors, by_cause, strict=True)]
    )


def value_probabilities(
    probabilities: Sequence[float], predictions: Sequence[Sequence[float]]
) -> tuple[float, ...]:
    """The probability of each value of an observation, whichever cause is at work.

    `predictions` has a row for each cause: the probability of each value under it.

    Raises: ValueError where there are not as many rows as causes.
    Source: the law of total probability.
    """
    pairs = list(zip(probabilities, predictions, strict=True))
    return tuple(
        math.fsum(p * row[value] for p, row in pairs) for value in range(len(predictions[0]))
    )


def information_gain_bits(
    probabilities: Sequence[float], predictions: Sequence[Sequence[float]]
) -> float:
    """How many bits of the uncertainty about the cause an observation takes away on average.

    Raises: ValueError where there are not as many rows as causes, or they do not sum to 1.
    Source: Shannon (1948), section 12: the rate is H(x) less the equivocation H_y(x), and is the
    same as H(y) - H_x(y), which is computed here.
    """
    expected = value_probabilities(probabilities, predictions)
    noise = math.fsum(
        p * entropy_bits(row) for p, row in zip(probabilities, predictions, strict=True)
    )
    return max(0.0, entropy_bits(normalised(expected)) - noise)


def _require_distribution(probabilities: Sequence[float]) -> None:
    if any(p < 0 for p in probabilities):
        raise ValueError(f"probability is {min(probabilities)}; it must not be below 0")
    total = math.fsum(probabilities)
    if abs(total - 1) > _ROUNDING:
        raise ValueError(f"the probabilities sum to {total:.9g}; it must be 1")
