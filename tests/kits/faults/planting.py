"""What a planted fault is, and how a kit gets some of them that do not hide each other."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from typing import TypeAlias

from hypothesis import assume
from hypothesis import strategies as st
from hypothesis.strategies import DrawFn

from tests.kits.clean import clean_kits
from tests.kits.drawing import between, one_in, pick
from tests.kits.equipment import tables
from tests.kits.kit import Kit

THE_KIT: frozenset[int] = frozenset()
"""Where a finding stands that is about no module in particular."""

Plant: TypeAlias = Callable[[DrawFn, Kit, int], "Iterable[int] | Planted | None"]
Fits: TypeAlias = Callable[[Kit, int], bool]
PlantInPlan: TypeAlias = Callable[[DrawFn, Kit], "Iterable[int] | None"]
FitsPlan: TypeAlias = Callable[[Kit], bool]


@dataclass(frozen=True)
class Planted:
    """What must be found, on which modules (or the kit), how grave, and whom it touches.

    A severity of None hangs on more than the fault. What is said of modules that are not touched
    must stay as it was.
    """

    check: str
    severity: str | None
    at: frozenset[int]
    touches: frozenset[int]


@dataclass(frozen=True)
class Fault:
    """A fault that can be planted at a module."""

    check: str
    stage: str
    severity: str | None
    fits: Fits
    plant: Plant

    def planted(self, draw: DrawFn, kit: Kit, index: int) -> Planted:
        """Plant it at a module and say what must be found."""
        said = self.plant(draw, kit, index)
        if isinstance(said, Planted):
            return said
        modules = frozenset({index, *(said or ())})
        return Planted(self.check, self.severity, modules, modules)

    def places(self, kit: Kit) -> list[int]:
        """Return the untouched modules at which it can be planted."""
        return [index for index in kit.untouched() if self.fits(kit, index)]


@dataclass(frozen=True)
class PlanFault:
    """A fault in the plan of a kit; it may hide faults at the stages that it `covers`."""

    check: str
    severity: str | None
    covers: frozenset[str]
    fits: FitsPlan
    plant: PlantInPlan

    def planted(self, draw: DrawFn, kit: Kit) -> Planted:
        """Plant it in the plan and say what must be found; it touches everybody."""
        return Planted(
            self.check,
            self.severity,
            frozenset(self.plant(draw, kit) or THE_KIT),
            kit.everybody,
        )


FAULTS: list[Fault] = []
PLAN_FAULTS: list[PlanFault] = []


def fault(
    stage: str, check: str, severity: str | None, fits: Fits = lambda kit, index: True
) -> Callable[[Plant], Plant]:
    """Register a function that plants a fault at a module.

    It returns further modules that the fault is at, or all that is to be said of it.
    """

    def register(plant: Plant) -> Plant:
        FAULTS.append(Fault(check, stage, severity, fits, plant))
        return plant

    return register


def plan_fault(
    covers: Iterable[str], check: str, severity: str | None, fits: FitsPlan = lambda kit: True
) -> Callable[[PlantInPlan], PlantInPlan]:
    """Register a function that plants a fault in the plan.

    It returns the modules on which it must be found; none means on the kit.
    """

    def register(plant: PlantInPlan) -> PlantInPlan:
        PLAN_FAULTS.append(PlanFault(check, severity, frozenset(covers), fits, plant))
        return plant

    return register


@st.composite
def kits_with_faults(draw: DrawFn) -> tuple[Kit, list[Planted]]:
    """Draw a clean kit and plant one to four faults: one in the plan at most."""
    kit = draw(clean_kits())
    found: list[Planted] = []
    covered: frozenset[str] = frozenset()
    if one_in(draw, 3):
        chosen = pick(draw, [each for each in PLAN_FAULTS if each.fits(kit)])
        found.append(_with_witness(draw, kit, chosen.planted(draw, kit)))
        covered = chosen.covers
    for _ in range(between(draw, 0 if found else 1, 4 - len(found))):
        found += _one_more(draw, kit, covered)
    return kit, found


def _with_witness(draw: DrawFn, kit: Kit, planted: Planted) -> Planted:
    """Keep one module free of faults of its own, on which that of the plan must be found."""
    if not planted.at:
        return planted
    witness = pick(draw, sorted(planted.at))
    kit.touched.add(witness)
    return replace(planted, at=frozenset({witness}))


@st.composite
def kits_with_faults_at_modules(draw: DrawFn) -> tuple[Kit, Kit, list[Planted]]:
    """Draw a clean kit, and the same with one to three faults, all of them at modules."""
    clean = draw(clean_kits())
    kit = clean.copied()
    found: list[Planted] = []
    for _ in range(between(draw, 1, 3)):
        found += _one_more(draw, kit, frozenset())
    return clean, kit, found


@st.composite
def kits_with_fault(draw: DrawFn, chosen: Fault | PlanFault) -> tuple[Kit, Planted]:
    """Draw a clean kit that takes a fault, and plant it."""
    kit = draw(clean_kits())
    if isinstance(chosen, PlanFault):
        assume(chosen.fits(kit))
        return kit, chosen.planted(draw, kit)
    places = chosen.places(kit)
    assume(places)
    return kit, chosen.planted(draw, kit, pick(draw, places))


def _one_more(draw: DrawFn, kit: Kit, covered: frozenset[str]) -> list[Planted]:
    """Plant a fault at modules without one, if there is one that fits."""
    start = between(draw, 0, len(FAULTS) - 1)
    for chosen in (*FAULTS[start:], *FAULTS[:start]):
        places = [] if chosen.stage in covered else chosen.places(kit)
        if places:
            planted = chosen.planted(draw, kit, pick(draw, places))
            kit.touched |= planted.touches
            return [planted]
    return []


def expected_severity(planted: Planted, kit: Kit) -> str | None:
    """Return how grave a planted fault is by the kit's policy."""
    policy = tables("policies").get(kit.plan("kit", "policy") or "teaching-lab", {})
    severities: dict[str, str] = policy.get("severities", {})
    return planted.severity and severities.get(planted.check, planted.severity)
