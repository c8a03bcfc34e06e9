"""How often each cause is met before anybody looks: small relative weights.

All of them are common practice, no source. They say that a slip in one of many settings is met
more often than a part that fails, and that what a file shows to be wrong is wrong more often than
not; nothing should hang on one unit more or less.
"""

from collections.abc import Mapping

from auditor.models.words import Severity

ERROR_RATE = 0.05
"""So often somebody misreads what is to be seen: common practice, no source."""

IN_FILE: Mapping[Severity, int] = {Severity.FAULT: 400, Severity.RISK: 25}
"""The weight of a cause that the audit finds in the file: common practice, no source."""

ON_NO_FILE: Mapping[str, int] = {
    # the board is not set up as the file says
    "never-set-up": 8,
    "settings-lost": 8,
    "wrong-board": 5,
    "wrong-network-name": 8,
    "wrong-security-mode": 5,
    "wrong-passphrase": 10,
    "wrong-wep-key": 10,
    "set-to-pooled": 3,
    "set-to-static": 3,
    "wrong-address": 5,
    "no-usable-address": 3,
    "wrong-prefix-length": 2,
    "wrong-gateway": 2,
    "wrong-destination": 5,
    "wrong-port": 4,
    "wrong-listen-port": 5,
    "wrong-transport": 3,
    "wrong-serial-rate": 6,
    "wrong-frame": 3,
    "wrong-flow-control": 3,
    "wrong-message-length": 3,
    # supply and wiring
    "supply-off": 8,
    "supply-too-weak": 4,
    "supply-too-high": 1,
    "supply-reversed": 2,
    "burst-current-short": 5,
    "capacitor-reversed": 2,
    "held-in-reset": 2,
    "module-broken": 1,
    "antenna-loose": 2,
    "serial-pair-not-crossed": 6,
    "serial-wire-loose": 5,
    "no-common-ground": 4,
    "logic-level-mismatch": 2,
    "serial-line-shared": 2,
    # on the air
    "access-point-off": 5,
    "access-point-renamed": 2,
    "channel-changed": 3,
    "out-of-range": 4,
    "interference": 3,
    "another-access-point": 2,
    "access-point-mode-changed": 2,
    "access-point-full": 3,
    "not-on-accept-list": 3,
    "passphrase-changed": 2,
    # addresses and delivery
    "address-server-off": 4,
    "pool-exhausted": 3,
    "foreign-address-server": 2,
    "address-taken": 4,
    "wired-side-unplugged": 2,
    "client-isolation": 3,
    "broadcast-held-back": 2,
    "talker-silent": 5,
    "receiver-not-listening": 3,
    # the controller
    "controller-rate-wrong": 6,
    "controller-clock-off": 2,
    "controller-frame-wrong": 3,
    "controller-receiver-off": 4,
    "controller-transmitter-off": 3,
    "controller-pin-wrong": 3,
    "controller-reads-too-seldom": 4,
    "overrun-not-cleared": 2,
    "program-not-running": 5,
    "program-not-listening": 5,
    "other-messages-expected": 4,
}
"""The weight of a cause that no file shows, by its name: common practice, no source."""
