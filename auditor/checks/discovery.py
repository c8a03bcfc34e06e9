"""Discovery: a network of that exact name is on a band and channel that the module can use."""

from collections.abc import Iterator

from auditor.checks.registry import Scope, check, part_of
from auditor.compute.keys import name_octets, name_problem
from auditor.compute.near_misses import fragile, near_miss
from auditor.compute.radio import CHANNELS, Band, permitted_channels
from auditor.findings import Found, Stage
from auditor.models.words import Severity, Standard
from auditor.survey.kit import Survey
from auditor.survey.module import Module
from auditor.survey.selection import id_ranges

SSID_LENGTH = "IEEE 802.11, SSID element: 0 to 32 octets, none is the wildcard"
SSID_OCTETS = "IEEE 802.11, SSID element: names are compared octet by octet"
CONFUSABLES = "Unicode UTS #39 (look-alike letters), UAX #15 (composed accents)"
CHANNEL_TABLE = "IEEE 802.11, channel numbering; the region's table names its own source"
PRACTICE = "common practice, no source"


@check(Stage.DISCOVERY, Severity.FAULT, SSID_LENGTH)
def network_name_invalid(module: Module, survey: Survey) -> Iterator[Found]:
    """The network name that the module looks for, or the planned one, cannot exist.

    A name has 1 to 32 octets. Letters outside ASCII take two octets or more in UTF-8, so a name
    of thirty letters can already be too long. No access point can carry such a name.

    Mend: Shorten the name, at the access point and at every module.

    Example:
        [[module]]
        id = "TG-02"
        network_name = "saltmarsh-gauges-of-the-field-centre"
    """
    names = {
        survey.network.name: survey.place("network", "name"),
        module.network_name: module.place("network_name"),
    }
    for name, place in names.items():
        problem = None if name is None else name_problem(name)
        if name is not None and problem:
            yield Found(
                f'The network name "{name}" {problem}.',
                "Choose a name of 1 to 32 octets, for the kit and the access point.",
                (place,),
                {"octets": len(name_octets(name))},
            )


@check(Stage.DISCOVERY, Severity.FAULT, SSID_OCTETS, after=("network-name-invalid",))
def network_name_differs(module: Module, survey: Survey) -> Iterator[Found]:
    """The module looks for another network name than the one that is planned.

    Names are compared octet by octet: letter case, a blank at an end, a look-alike letter or an
    accent composed in another way make another name, and the module searches for ever.

    Mend: Set the module to the planned name, letter for letter.

    Example:
        [[module]]
        id = "TG-02"
        network_name = "Saltmarsh-gauges"
    """
    given, wanted = module.network_name, survey.network_name
    if survey.is_inferred or given is None or wanted is None or given == wanted:
        return
    miss = near_miss(given, wanted)
    how = f": {miss.detail}" if miss else ""
    yield Found(
        f'The module looks for "{given}", and the network is "{wanted}"{how}.',
        f'Set network_name to "{wanted}".',
        (module.place("network_name"), survey.place("network", "name")),
        {"given": given, "wanted": wanted, "differs_in": miss.kind.value if miss else "all of it"},
    )


@check(Stage.DISCOVERY, Severity.ADVICE, CONFUSABLES, scope=Scope.KIT)
def network_name_fragile(survey: Survey) -> Iterator[Found]:
    """The planned network name is easily mistyped.

    A blank at an end, a control character or a letter that looks like another cannot be seen on
    a label or a card, and whoever types the name in by hand will miss it.

    Mend: Choose a name of plain ASCII letters, digits and hyphens.

    Example:
        [network]
        name = "saltmarsh-gauges "
    """
    name = survey.network_name
    reasons = fragile(name) if name and not survey.is_inferred else ()
    if reasons:
        yield Found(
            f'The network name "{name}" is fragile: {"; ".join(reasons)}.',
            "Choose a name of plain letters, digits and hyphens, for the kit and the access point.",
            (survey.place("network", "name"),),
            {"reasons": list(reasons)},
        )


@check(Stage.DISCOVERY, Severity.FAULT, "IEEE 802.11; the module's profile")
def band_unsupported(module: Module, survey: Survey) -> Iterator[Found]:
    """The network is on no band that the module can use.

    A radio for 2.4 GHz never hears a network on 5 GHz.

    Mend: Open the network on the module's band too, under the same name.

    Example:
        [network]
        band = "5 GHz"
        channel = 36
        lowest_basic_rate = "6 Mb/s"
    """
    offered = survey.bands
    known = module.profile.bands if module.profile else ()
    if offered and known and not offered.intersection(known):
        yield Found(
            f"The network is on {_listed(sorted(offered))}; the module knows {_listed(known)}.",
            f"Open the network on {known[0].value} too.",
            (survey.place("network", "band" if survey.network.band else "channel"),),
            {"offered": sorted(offered), "known": [band.value for band in known]},
        )


def _listed(bands: list[Band] | tuple[Band, ...]) -> str:
    return " and ".join(band.value for band in bands)


@check(Stage.DISCOVERY, Severity.FAULT, CHANNEL_TABLE)
def channel_not_permitted(module: Module, survey: Survey) -> Iterator[Found]:
    """The network's channel does not exist in its band, or the region does not permit it.

    An access point that knows the region does not start there, and one that does not know it
    breaks the rules of the band. Limits change: the local regulator's text decides.

    Mend: Choose a permitted channel; 1, 6 and 11 do not overlap.

    Example:
        [kit]
        region = "US"
        [network]
        channel = 12
    """
    channel, band = survey.network.channel, survey.channel_band
    if channel is None:
        return
    place = survey.place("network", "channel")
    if band is None or channel not in CHANNELS[band]:
        planned = _listed(survey.network.band) or "Wi-Fi"
        yield Found(
            f"There is no channel {channel} in {planned}.",
            f"Choose one of {_numbers(_legal_channels(band or Band.GHZ_2_4, module, survey))}.",
            (place,),
            {"channel": channel},
        )
    elif survey.region and channel not in (legal := _legal_channels(band, module, survey)):
        yield Found(
            f"Channel {channel} of {band.value} is not permitted in {survey.region.code}.",
            f"Choose one of {_numbers(legal)}. Limits change: follow your local regulator.",
            (place, survey.place("kit", "region")),
            {"channel": channel, "permitted": [str(number) for number in legal]},
        )


def _legal_channels(band: Band, module: Module, survey: Survey) -> tuple[int, ...]:
    """Return the channels of a band, without those that the region forbids to this module."""
    if survey.region is None:
        return CHANNELS[band]
    only_dsss = module.profile is not None and module.profile.standards == (Standard.B,)
    return permitted_channels(band, survey.region.rules, ofdm=not only_dsss)


def _numbers(channels: tuple[int, ...]) -> str:
    return ", ".join(map(str, channels)) or "none: no channel of this band is permitted"


@check(
    Stage.DISCOVERY,
    Severity.FAULT,
    "IEEE 802.11; the module's profile",
    after=("band-unsupported",),
)
def channel_unsupported(module: Module, survey: Survey) -> Iterator[Found]:
    """The network is on a channel that the module does not tune to.

    Many modules know channels 1 to 11 only; they never hear a network on 12 or 13.

    Mend: Move the network to a channel that every module knows.

    Example:
        [network]
        channel = 13
        [[module]]
        id = "TG-02"
        profile = "generic-24ghz-early"
    """
    channel, band = survey.network.channel, survey.channel_band
    if module.profile is None or band is None or len(survey.bands) > 1:
        return
    known = module.profile.channels.get(band)
    if known and channel in CHANNELS[band] and channel not in known:
        shared = _shared_channels(band, module, survey)
        yield Found(
            f"The network is on channel {channel}; the module knows {_numbers(known)}.",
            f"Move the network to one of {_numbers(shared or known)}.",
            (survey.place("network", "channel"), module.place("profile")),
            {"channel": channel, "known": [str(number) for number in known]},
        )


def _shared_channels(band: Band, module: Module, survey: Survey) -> tuple[int, ...]:
    """Return the channels that every profile of the kit knows and the region permits."""
    known = [channels for each in survey.profiles if (channels := each.channels.get(band))]
    legal = _legal_channels(band, module, survey)
    return tuple(number for number in legal if all(number in channels for channels in known))


@check(Stage.DISCOVERY, Severity.ADVICE, PRACTICE, scope=Scope.KIT)
def hidden_network(survey: Survey) -> Iterator[Found]:
    """The access point hides the network's name.

    Only a station that asks for the name finds it, so a module that cannot ask never joins. It
    protects nothing: the name is in every frame with which a station joins.

    Mend: Show the name.

    Example:
        [network]
        hidden = true
    """
    if survey.network.hidden:
        yield Found(
            "The access point hides the network's name.",
            "Set hidden = false, here and at the access point.",
            (survey.place("network", "hidden"),),
        )


@part_of("hidden-network", Scope.MODULE)
def _cannot_ask_for_hidden(module: Module, survey: Survey) -> Iterator[Found]:
    if survey.network.hidden and module.profile and module.profile.finds_hidden is False:
        yield Found(
            "The network's name is hidden, and the module cannot ask for a hidden name.",
            "Show the name: set hidden = false, here and at the access point.",
            (survey.place("network", "hidden"), module.place("profile")),
            severity=Severity.FAULT,
        )


@check(Stage.DISCOVERY, Severity.ADVICE, PRACTICE, scope=Scope.KIT)
def band_steering(survey: Survey) -> Iterator[Found]:
    """The access point pushes stations to 5 GHz, and some modules know only 2.4 GHz.

    To push, it ignores the first requests of a station on 2.4 GHz. Most modules ask again and
    are let in later; some give up.

    Mend: Switch band steering off, or give the modules a network of their own on 2.4 GHz.

    Example:
        [network]
        band = ["2.4 GHz", "5 GHz"]
        band_steering = true
    """
    if not survey.network.band_steering or len(survey.bands) < 2:
        return
    slow = survey.ids(survey.those(_knows_only_2_4_ghz))
    if slow:
        yield Found(
            f"The access point steers stations to 5 GHz; {len(slow)} of {len(survey.modules)} "
            f"modules know only 2.4 GHz: {id_ranges(slow)}.",
            "Switch band_steering off, or open a network for the modules on 2.4 GHz alone.",
            (survey.place("network", "band_steering"),),
            {"modules": slow},
        )


def _knows_only_2_4_ghz(module: Module) -> bool:
    return module.profile is not None and module.profile.bands == (Band.GHZ_2_4,)
