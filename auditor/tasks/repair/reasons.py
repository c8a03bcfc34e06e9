"""Why a finding is left for a person."""

from auditor.findings import Finding, Stage
from auditor.models.secrets import Secret
from auditor.survey.kit import Survey
from auditor.survey.module import Module
from auditor.tasks.repair.mending import PREFIX, inherited_value, keys_of, right_value
from auditor.tasks.repair.trial import Spot

CHOICE = "No single right value follows from the file."
_OF_STAGE = {
    Stage.RECORD: "Only the boards and their labels can tell what is right.",
    Stage.POWER: "Supply and wiring are facts, not settings: only the bench can tell.",
    Stage.DISCOVERY: "The radio of the module and the access point decide this.",
    Stage.ADMISSION: "The radio of the module and the access point decide this.",
    Stage.KEYS: "The access point must get it too.",
    Stage.SERIAL: "The controller and its program decide this.",
}
_OF_CHECK = {
    "reservation-conflict": "The address server holds the reservation, and must change it too.",
    "module-in-two-sessions": "Who is where, and when, is for the timetable to say.",
    "unknown-module-named": "Nobody but you knows who was meant.",
    "waiver-expired": "Whether it is still accepted is for a person to say.",
    "unknown-profile": "Only the part itself can tell which profile it is.",
    "weak-security": "A better mode takes the access point and every module that has this one.",
    "stations-over-limit": "It is a matter of room, not of a setting.",
    "pool-too-small": "It is a matter of room, not of a setting.",
    "pool-runs-out": "It is a matter of room, not of a setting.",
    "airtime-high": "It is a matter of room, not of a setting.",
    "serial-overrun": "It is a matter of room, not of a setting.",
    "talker-line-too-slow": "It is a matter of room, not of a setting.",
}


def why_left(
    finding: Finding,
    module: Module | None,
    survey: Survey,
    brought: dict[Spot, frozenset[str]],
) -> str:
    """Return why a finding on a module, or on the kit, was not mended.

    `brought` has the checks that fired anew when a setting was mended, which was taken back.
    """
    if module is not None:
        for key in keys_of(finding):
            anew = brought.get(Spot(module.index, key))
            if anew:
                return f"To mend {key} would bring {' and '.join(sorted(anew))}."
        reasons = (_why_not_set(key, finding, module, survey) for key in keys_of(finding))
        reason = next(filter(None, reasons), None)
        if reason:
            return reason
    return _OF_CHECK.get(finding.check) or _OF_STAGE.get(finding.stage, CHOICE)


def _why_not_set(key: str, finding: Finding, module: Module, survey: Survey) -> str | None:
    """Return what stands in the way of mending one setting; None where nothing does."""
    if key == "address":
        if not survey.places.have_room(module.index, key):
            return "The table has no column for an address."
        return None if not module.is_static else "No other address of the subnet is known as free."
    if not module.says(key):
        place = module.place(key)
        is_shared = place.column is not None and key not in PREFIX[1:]
        return f"{key} is what many modules share ({place})." if is_shared else None
    right = right_value(key, finding, survey)
    if isinstance(right, Secret) and inherited_value(key, survey) is None:
        return "There is no passphrase in the plan that it could take."
    return f"The file does not say which {key} is right." if right is None else None
