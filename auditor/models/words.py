"""The words a setting may take, each with the other ways in which people write it."""

from enum import StrEnum


class Security(StrEnum):
    """How a network protects its frames."""

    OPEN = "open"
    WEP_40 = "wep-40"
    WEP_104 = "wep-104"
    WPA = "wpa-personal"
    WPA2 = "wpa2-personal"
    WPA3 = "wpa3-personal"
    WPA_WPA2 = "wpa-wpa2-personal"
    WPA2_WPA3 = "wpa2-wpa3-personal"
    WPA_ENTERPRISE = "wpa-enterprise"
    WPA2_ENTERPRISE = "wpa2-enterprise"
    WPA3_ENTERPRISE = "wpa3-enterprise"

    @property
    def is_enterprise(self) -> bool:
        """Whether it needs an 802.1X server, which is outside what is checked."""
        return self.value.endswith("enterprise")

    @property
    def is_wep(self) -> bool:
        """Whether it is one of the two WEP modes."""
        return self in (Security.WEP_40, Security.WEP_104)

    @property
    def parts(self) -> frozenset["Security"]:
        """The plain modes that a mixed mode stands for; a plain mode stands for itself."""
        return _PARTS.get(self, frozenset({self}))


_PARTS = {
    Security.WPA_WPA2: frozenset({Security.WPA, Security.WPA2}),
    Security.WPA2_WPA3: frozenset({Security.WPA2, Security.WPA3}),
}


class Protection(StrEnum):
    """Management-frame protection: not used, used where the other end can, insisted on."""

    OFF = "off"
    OPTIONAL = "optional"
    REQUIRED = "required"


class Severity(StrEnum):
    """How grave a finding is: it will not work, it may fail, it is worth knowing."""

    FAULT = "fault"
    RISK = "risk"
    ADVICE = "advice"

    @property
    def rank(self) -> int:
        """Higher is graver."""
        return {Severity.FAULT: 3, Severity.RISK: 2, Severity.ADVICE: 1}[self]


class Addressing(StrEnum):
    """Where a module's address comes from."""

    STATIC = "static"
    POOLED = "pooled"


class Parity(StrEnum):
    """The parity bit of a serial frame."""

    NONE = "none"
    EVEN = "even"
    ODD = "odd"
    MARK = "mark"
    SPACE = "space"


class FlowControl(StrEnum):
    """How a receiver holds up a sender on the serial line."""

    NONE = "none"
    RTS_CTS = "rts-cts"
    XON_XOFF = "xon-xoff"


class Transport(StrEnum):
    """The transport of a message."""

    UDP = "udp"
    TCP = "tcp"


class Intent(StrEnum):
    """For how many receivers a message is meant."""

    BROADCAST = "broadcast"
    UNICAST = "unicast"


class Framing(StrEnum):
    """How a receiver finds where a message ends."""

    FIXED = "fixed"
    LENGTH_PREFIXED = "length-prefixed"
    DELIMITED = "delimited"


class Link(StrEnum):
    """How a host is attached."""

    WIRED = "wired"
    WIRELESS = "wireless"


class PinDirection(StrEnum):
    """Which way a pin of the controller is set."""

    IN = "in"
    OUT = "out"


class ControllerPin(StrEnum):
    """A serial pin of the controller."""

    TX = "tx"
    RX = "rx"


class Terminal(StrEnum):
    """Where the positive end of a capacitor goes."""

    OUTPUT = "output"
    GROUND = "ground"


class RegulatorKind(StrEnum):
    """How a regulator lowers its voltage."""

    LINEAR = "linear"
    SWITCHING = "switching"


class IndicatorState(StrEnum):
    """What an indicator shows."""

    DARK = "dark"
    STEADY = "steady"
    BLINKING = "blinking"


class Standard(StrEnum):
    """An amendment of IEEE 802.11 that a radio speaks."""

    B = "802.11b"
    G = "802.11g"
    N = "802.11n"
    A = "802.11a"
    AC = "802.11ac"
    AX = "802.11ax"


OTHER_SPELLINGS: dict[type[StrEnum], dict[str, StrEnum]] = {
    Security: {
        "none": Security.OPEN,
        "wep40": Security.WEP_40,
        "wep64": Security.WEP_40,
        "wep104": Security.WEP_104,
        "wep128": Security.WEP_104,
        "wpa": Security.WPA,
        "wpapsk": Security.WPA,
        "wpapersonal": Security.WPA,
        "wpa2": Security.WPA2,
        "wpa2psk": Security.WPA2,
        "wpa2personal": Security.WPA2,
        "wpa3": Security.WPA3,
        "wpa3sae": Security.WPA3,
        "wpa3personal": Security.WPA3,
        "wpawpa2": Security.WPA_WPA2,
        "wpawpa2psk": Security.WPA_WPA2,
        "wpawpa2personal": Security.WPA_WPA2,
        "wpa2wpa3": Security.WPA2_WPA3,
        "wpa2wpa3personal": Security.WPA2_WPA3,
        "wpa2802.1x": Security.WPA2_ENTERPRISE,
    },
    Addressing: {
        "dhcp": Addressing.POOLED,
        "yes": Addressing.POOLED,
        "true": Addressing.POOLED,
        "on": Addressing.POOLED,
        "no": Addressing.STATIC,
        "false": Addressing.STATIC,
        "off": Addressing.STATIC,
        "dynamic": Addressing.POOLED,
        "fixed": Addressing.STATIC,
    },
    Parity: {
        "n": Parity.NONE,
        "e": Parity.EVEN,
        "o": Parity.ODD,
        "m": Parity.MARK,
        "s": Parity.SPACE,
    },
    FlowControl: {
        "off": FlowControl.NONE,
        "hardware": FlowControl.RTS_CTS,
        "software": FlowControl.XON_XOFF,
    },
}
"""Spellings of the trade, without blanks, hyphens, slashes and underscores, in lower case."""
