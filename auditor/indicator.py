"""What a module's indicator should show, by the stage at which its climb is seen to stop."""

from auditor.findings import JOINING, Stage
from auditor.models.profile import IndicatorLook
from auditor.models.quantities import shown_frequency
from auditor.models.words import IndicatorState
from auditor.survey.module import Module


def expected_indicator(module: Module, shows_at: Stage | None) -> str | None:
    """Return what to expect, in words; None where no profile says it."""
    if module.profile is None:
        return None
    looks = module.profile.indicator
    if shows_at is Stage.POWER:
        return look_in_words(looks.unpowered)
    if shows_at in JOINING:
        return look_in_words(looks.searching)
    return look_in_words(looks.joined)


def look_in_words(look: IndicatorLook | None) -> str | None:
    """Return what an indicator shows, as people say it; None where no profile says it."""
    if look is None:
        return None
    if look.state is IndicatorState.BLINKING and look.rate:
        hertz = f"{float(look.rate):g} Hz" if look.rate < 1000 else shown_frequency(look.rate)
        return f"{look.state.value} {hertz}"
    return look.state.value
