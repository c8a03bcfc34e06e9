"""Bayes' rule and Shannon's entropy beside worked values, and as laws."""

import math
from collections.abc import Sequence

import pytest
from hypothesis import given
from hypothesis import strategies as st

from auditor.compute.inference import (
    blurred,
    entropy_bits,
    information_gain_bits,
    normalised,
    posterior,
    value_probabilities,
)

CLOSE = 1e-9


class TestPublishedValues:
    """Worked examples; each with its source."""

    @pytest.mark.parametrize(
        ("probabilities", "bits"),
        [
            # Shannon (1948), section 6: H vanishes only where the outcome is certain
            # (from memory, unverified).
            ((1.0, 0.0), 0.0),
            # Shannon (1948), figure 7: two even possibilities are 1 bit (from memory, unverified).
            ((0.5, 0.5), 1.0),
            # Shannon (1948), section 7: A, B, C, D with 1/2, 1/4, 1/8, 1/8 are 7/4 bits a symbol
            # (from memory, unverified).
            ((1 / 2, 1 / 4, 1 / 8, 1 / 8), 7 / 4),
            # Shannon (1948), section 6: even, H is greatest and equal to log n
            # (from memory, unverified).
            ((0.125,) * 8, 3.0),
        ],
    )
    def test_entropy(self, probabilities: Sequence[float], bits: float) -> None:
        assert entropy_bits(probabilities) == pytest.approx(bits, abs=CLOSE)

    def test_a_choice_in_two_steps(self) -> None:
        """Shannon (1948), section 6, figure 6: H(1/2, 1/3, 1/6) = H(1/2, 1/2) + H(2/3, 1/3) / 2.

        From memory, unverified.
        """
        in_two_steps = entropy_bits((1 / 2, 1 / 2)) + entropy_bits((2 / 3, 1 / 3)) / 2
        assert entropy_bits((1 / 2, 1 / 3, 1 / 6)) == pytest.approx(in_two_steps, abs=CLOSE)

    def test_a_noisy_channel(self) -> None:
        """Shannon (1948), section 12: 1 in 100 of even binary digits wrong, 81 bits lost in 1000.

        The rate is 919 bits a second of 1000 (from memory, unverified).
        """
        noisy = ((0.99, 0.01), (0.01, 0.99))
        assert information_gain_bits((0.5, 0.5), noisy) * 1000 == pytest.approx(919, abs=0.5)

    def test_a_screening_test(self) -> None:
        """Eddy (1982): 1 % ill, 80 % of the ill and 9.6 % of the others positive: 7.8 %.

        D. M. Eddy, "Probabilistic reasoning in clinical medicine", in Kahneman, Slovic and
        Tversky, Judgment under Uncertainty, 1982 (from memory, unverified).
        """
        ill, _ = posterior((0.01, 0.99), [(0.8, 0.096)])
        assert round(ill, 3) == 0.078

    def test_the_cab_problem(self) -> None:
        """Tversky and Kahneman (1982): 15 % blue cabs, a witness right in 80 %: 41 % blue.

        "Evidential impact of base rates", in the same book (from memory, unverified).
        """
        blue, _ = posterior((0.15, 0.85), [(0.8, 0.2)])
        assert round(blue, 2) == 0.41


class TestRefusals:
    """Bad arguments are named with the limit."""

    def test_what_is_no_distribution(self) -> None:
        with pytest.raises(ValueError, match=r"probability is -0\.5; it must not be below 0"):
            entropy_bits((-0.5, 1.5))
        with pytest.raises(ValueError, match=r"the probabilities sum to 0\.9; it must be 1"):
            entropy_bits((0.5, 0.4))

    def test_an_error_rate_beyond_its_limits(self) -> None:
        with pytest.raises(ValueError, match=r"error_rate is 1\.5; it must be from 0 to 1"):
            blurred((1.0,), 1.5)

    def test_weights_of_nothing(self) -> None:
        with pytest.raises(ValueError, match="the weights sum to 0; one must be above 0"):
            normalised((0.0, 0.0))
        with pytest.raises(ValueError, match="weight is -1; it must not be below 0"):
            normalised((2, -1))

    def test_a_likelihood_of_too_few_causes(self) -> None:
        with pytest.raises(ValueError, match="likelihoods of 1 causes; it must be 2"):
            posterior((0.5, 0.5), [(0.5,)])

    def test_what_no_cause_allows(self) -> None:
        with pytest.raises(ValueError, match="the weights sum to 0"):
            posterior((0.5, 0.5), [(1.0, 0.0), (0.0, 1.0)])


@st.composite
def distributions(draw: st.DrawFn, size: int) -> tuple[float, ...]:
    """Draw probabilities that sum to 1; some are 0."""
    weights = draw(st.lists(st.integers(0, 100), min_size=size, max_size=size).filter(any))
    return normalised(weights)


@st.composite
def problems(draw: st.DrawFn) -> tuple[tuple[float, ...], list[tuple[float, ...]]]:
    """Draw the probabilities of some causes, and what each predicts of an observation."""
    causes, values = draw(st.integers(1, 6)), draw(st.integers(1, 4))
    rows = [draw(distributions(values)) for _ in range(causes)]
    return draw(distributions(causes)), rows


@given(st.integers(1, 6).flatmap(distributions))
def test_entropy_is_between_none_and_that_of_even_chances(p: tuple[float, ...]) -> None:
    assert 0 <= entropy_bits(p) <= math.log2(len(p)) + CLOSE


@given(st.integers(1, 6).flatmap(distributions), st.floats(0, 1))
def test_what_is_blurred_is_still_a_distribution(p: tuple[float, ...], error_rate: float) -> None:
    seen = blurred(p, error_rate)
    assert math.fsum(seen) == pytest.approx(1, abs=CLOSE)
    assert min(seen) >= 0
    assert min(seen) >= error_rate / len(p) - CLOSE


@given(problems())
def test_probabilities_sum_to_1_before_and_after(
    problem: tuple[tuple[float, ...], list[tuple[float, ...]]],
) -> None:
    priors, rows = problem
    expected = value_probabilities(priors, rows)
    assert math.fsum(expected) == pytest.approx(1, abs=CLOSE)
    for value, probability in enumerate(expected):
        if probability > 0:
            after = posterior(priors, [[row[value] for row in rows]])
            assert math.fsum(after) == pytest.approx(1, abs=CLOSE)


@given(problems())
def test_what_is_expected_of_tomorrow_is_what_is_believed_today(
    problem: tuple[tuple[float, ...], list[tuple[float, ...]]],
) -> None:
    """The posterior, averaged over all that may be seen, is the prior."""
    priors, rows = problem
    average = [0.0] * len(priors)
    for value, probability in enumerate(value_probabilities(priors, rows)):
        if probability > 0:
            after = posterior(priors, [[row[value] for row in rows]])
            average = [a + probability * p for a, p in zip(average, after, strict=True)]
    assert average == pytest.approx(priors, abs=CLOSE)


@given(
    st.lists(st.integers(1, 100), min_size=3, max_size=3),
    st.lists(st.lists(st.floats(0.01, 1), min_size=3, max_size=3), max_size=5),
    st.randoms(use_true_random=False),
)
def test_the_order_of_observations_does_not_matter(
    weights: list[int], likelihoods: list[list[float]], random: object
) -> None:
    shuffled = sorted(likelihoods, key=lambda _: random.random())  # type: ignore[attr-defined]
    priors = normalised(weights)
    assert posterior(priors, likelihoods) == posterior(priors, shuffled)


@given(problems())
def test_the_gain_is_never_negative_and_at_most_the_entropy(
    problem: tuple[tuple[float, ...], list[tuple[float, ...]]],
) -> None:
    priors, rows = problem
    gain = information_gain_bits(priors, rows)
    assert 0 <= gain <= entropy_bits(priors) + CLOSE
    assert gain <= math.log2(len(rows[0])) + CLOSE


@given(problems())
def test_the_gain_is_the_entropy_that_an_observation_takes_away_on_average(
    problem: tuple[tuple[float, ...], list[tuple[float, ...]]],
) -> None:
    priors, rows = problem
    left = math.fsum(
        probability * entropy_bits(posterior(priors, [[row[value] for row in rows]]))
        for value, probability in enumerate(value_probabilities(priors, rows))
        if probability > 0
    )
    gain = information_gain_bits(priors, rows)
    assert gain == pytest.approx(entropy_bits(priors) - left, abs=1e-7)


@given(st.integers(1, 4).flatmap(distributions), st.integers(1, 6).flatmap(distributions))
def test_what_all_causes_predict_alike_tells_nothing(
    row: tuple[float, ...], priors: tuple[float, ...]
) -> None:
    assert information_gain_bits(priors, [row] * len(priors)) == pytest.approx(0, abs=CLOSE)
    after = posterior(priors, [[0.3] * len(priors)])
    assert after == pytest.approx(priors, abs=CLOSE)


@given(problems(), st.floats(0, 1))
def test_who_misreads_more_learns_no_more(
    problem: tuple[tuple[float, ...], list[tuple[float, ...]]], error_rate: float
) -> None:
    priors, rows = problem
    dimmed = [blurred(row, error_rate) for row in rows]
    clear = information_gain_bits(priors, rows)
    assert information_gain_bits(priors, dimmed) <= clear + CLOSE
