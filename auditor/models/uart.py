"""The question about a serial rate, as it is asked on the command line."""

from fractions import Fraction

from auditor.compute.uart import DivisorRule
from auditor.models import forms as f
from auditor.models.words import Parity


class RateQuestion(f.Table):
    """Which divisor makes a rate (Bd) from a clock (Hz), for a frame of so many bits."""

    clock: f.Frequency
    rate: f.SymbolRate
    multiplier: f.Multiplier = Fraction(1)
    oversampling: tuple[f.Oversampling, ...] = (16, 8)
    rule: f.DivisorRuleWord = DivisorRule.N_PLUS_ONE
    bits: f.DivisorBits | None = None
    data_bits: f.DataBits = 8
    parity: f.ParityWord = Parity.NONE
    stop_bits: f.StopBits = Fraction(1)

    @property
    def data_and_parity_bits(self) -> int:
        """The bits between the start bit and the stop bits."""
        return self.data_bits + (self.parity is not Parity.NONE)
