"""The fleet file, format 1: one class a table, one field a key."""

from typing import Annotated, Literal

from pydantic import Field, model_validator

from auditor.models import forms as f
from auditor.models import words as w
from auditor.models.json_forms import Form


def _format(written: object) -> int:
    if written == 1 and not isinstance(written, bool):
        return 1
    raise ValueError("is not 1, the only format there is")


class Kit(f.Table):
    """What the kit is, and which profile and policy it goes by."""

    format: Annotated[Literal[1], f.Reader(_format, Form(lambda: {"const": 1}))] = 1
    """The version of this format."""
    name: f.Text | None = None
    """What the kit is called in reports."""
    term: f.Text | None = None
    """The term in which it is used."""
    profile: f.Name | None = None
    """The module profile of all modules: a shipped name, or a path."""
    policy: f.Name | None = None
    """How strict the audit is: a shipped name, or a path."""
    region: f.Name | None = None
    """The country where the kit is: its ISO 3166-1 alpha-2 code, or a path."""
    modules: f.Name | None = None
    """A table of the modules (CSV), relative to this file."""


class Pool(f.Table):
    """The range that the address server leases from."""

    first: f.Address
    """The lowest address that is leased."""
    last: f.Address
    """The highest address that is leased."""

    @model_validator(mode="after")
    def _in_order(self) -> "Pool":
        if self.last < self.first:
            raise ValueError(f"has last {self.last} before first {self.first}; swap the two")
        return self


class IPv4(f.Table):
    """The subnet, its gateway and its address server."""

    subnet: f.Subnet | None = None
    """The subnet of the network."""
    gateway: f.Gateway | None = None
    """The way out of the subnet; "none" where there is none."""
    pool: Pool | None = None
    """The range of addresses that are leased."""
    lease_time: f.LeaseTime | None = None
    """How long an address is leased for."""
    address_server: f.Switch | None = None
    """Whether something on the network leases addresses."""
    reservations: dict[f.HardwareAddress, f.Address] = Field(default_factory=dict)
    """Addresses that are kept, each for one hardware address."""


class Host(f.Table):
    """Something with a fixed address that is no module: access point, logger, printer."""

    name: f.Name
    """What it is called; talkers may name it."""
    address: f.Address
    """Its fixed address."""
    port: f.Port | None = None
    """The port on which it listens."""
    transport: f.TransportWord | None = None
    """The transport that it takes."""
    link: f.LinkWord = w.Link.WIRED
    """How it is attached; over the air it needs a place at the access point."""


class Network(f.Table):
    """The planned network, as the access point is set."""

    name: f.Text | None = None
    """The network name (SSID), at most 32 octets."""
    security: f.SecurityWord | None = None
    """How the access point protects its frames."""
    passphrase: f.SecretText | None = None
    """The passphrase or key of the network; better a reference than the text itself."""
    protected_management: f.ProtectionWord | None = None
    """Whether the access point protects management frames (802.11w)."""
    hidden: f.Switch = False
    """Whether beacons leave out the network name."""
    band: f.Bands = ()
    """The band, or the bands, on which the access point works."""
    channel: f.Channel | None = None
    """The channel on which the access point works."""
    lowest_basic_rate: f.DataRate | None = None
    """The lowest rate that every station must support; broadcasts go at it."""
    band_steering: f.Switch = False
    """Whether the access point pushes stations to another band."""
    beacon_interval: f.BeaconInterval | None = None
    """The time from one beacon to the next."""
    dtim_period: f.Period | None = None
    """How many beacons apart broadcasts go to stations that doze."""
    client_isolation: f.Switch = False
    """Whether stations cannot reach each other."""
    station_limit: f.Count | None = None
    """How many stations the access point takes."""
    other_stations: f.Count = 0
    """Stations that are no modules: they take places and leases."""
    accept_list: tuple[f.HardwareAddress, ...] | None = None
    """The only hardware addresses that the access point takes."""
    retired_passphrases: tuple[f.SecretText, ...] = ()
    """Earlier passphrases, to find modules that still have one."""
    ipv4: IPv4 = IPv4.model_construct()
    """The addresses of the network."""
    host: tuple[Host, ...] = ()
    """What has a fixed address and is no module: access point, logger, printer."""


class Serial(f.Table):
    """The planned serial line."""

    rate: f.SymbolRate | None = None
    """The rate of the serial line."""
    data_bits: f.DataBits | None = None
    """Data bits of a frame."""
    parity: f.ParityWord | None = None
    """The parity bit of a frame."""
    stop_bits: f.StopBits | None = None
    """Stop bits of a frame."""
    flow_control: f.FlowControlWord | None = None
    """How a receiver holds up a sender."""


class Controller(f.Table):
    """The controller board at the other end of the serial line."""

    profile: f.Name | None = None
    """The controller profile: a shipped name, or a path."""
    clock: f.Frequency | None = None
    """The clock that the serial rate is made from."""
    clock_multiplier: f.Multiplier | None = None
    """A factor between the clock and the rate generator."""
    oversampling: f.Oversampling | None = None
    """Samples per bit."""
    divisor: f.Divisor | None = None
    """The value that is loaded for the rate."""
    divisor_rule: f.DivisorRuleWord | None = None
    """How the loaded value divides the clock."""
    divisor_bits: f.DivisorBits | None = None
    """The width of the divisor, in bits."""
    transmitter: f.Switch | None = None
    """Whether the program switches the transmitter on."""
    receiver: f.Switch | None = None
    """Whether the program switches the receiver on."""
    receive_buffer: f.ByteCount | None = None
    """What is kept of received bytes until they are read."""
    longest_gap: f.ReadingGap | None = None
    """The longest time between two reads of what was received."""
    clears_overrun: f.Switch | None = None
    """Whether the program clears the flag after an overrun."""
    rx_pin: "Pin | None" = None
    """The pin that receives."""
    tx_pin: "Pin | None" = None
    """The pin that transmits."""
    logic_level: f.Volts | None = None
    """The supply of the pins, and so their high level."""


class Pin(f.Table):
    """How a serial pin of the controller is set up."""

    direction: f.PinDirectionWord | None = None
    """Which way the pin is set."""
    digital: f.Switch | None = None
    """Whether the pin is set to digital rather than analogue."""


class Supply(f.Table):
    """What a module is fed from, and how it is wired."""

    regulator: f.RegulatorKindWord | None = None
    """How the regulator lowers the voltage."""
    thermal_resistance: f.KelvinPerWatt | None = None
    """The regulator's, from junction to ambient."""
    ambient: f.Celsius | None = None
    """The temperature around the regulator, in °C."""
    highest_junction: f.Celsius | None = None
    """The highest temperature that the regulator's junction may have, in °C."""
    input_voltage: f.Volts | None = None
    """The voltage at the regulator's input."""
    output_voltage: f.Volts | None = None
    """The voltage at the module."""
    current_limit: f.Milliamps | None = None
    """The most that the regulator gives."""
    dropout_voltage: f.Volts | None = None
    """How far the input must stay above the output."""
    capacitance: f.Microfarads | None = None
    """The capacitor beside the module."""
    capacitor_polarised: f.Switch | None = None
    """Whether that capacitor has a positive end."""
    capacitor_positive_to: f.TerminalWord | None = None
    """Where its positive end goes."""
    indicator_resistor: f.Ohms | None = None
    """The resistor in series with the indicator."""
    indicator_forward_voltage: f.Volts | None = None
    """The voltage across the lit indicator."""
    common_ground: f.Switch | None = None
    """Whether module and controller share a ground."""
    rx_wired_to: f.ControllerPinWord | None = None
    """The controller's pin to which the module's receive pin goes."""
    tx_wired_to: f.ControllerPinWord | None = None
    """The controller's pin to which the module's transmit pin goes."""


class Traffic(f.Table):
    """Who sends what to whom."""

    intent: f.IntentWord | None = None
    """Whether messages are meant for all or for one."""
    destination: f.Address | None = None
    """The address that messages are sent to."""
    port: f.Port | None = None
    """The port that messages are sent to."""
    transport: f.TransportWord | None = None
    """The transport of the messages."""
    talkers: f.Texts | None = None
    """Who sends: ids, ranges of ids, names of hosts. Left out, anyone may."""
    message_bytes: f.ByteCount | None = None
    """The length of a message."""
    message_interval: f.MessageInterval | None = None
    """The time from one message of a talker to its next."""
    framing: f.FramingWord | None = None
    """How a receiver finds where a message ends."""
    names_sender: f.Switch | None = None
    """Whether a message says who sent it."""


class Session(f.Table):
    """One group at the benches, from start to end."""

    name: f.Name
    """What the session is called."""
    start: f.Moment
    """When it starts, in local time."""
    end: f.Moment
    """When it ends, in local time."""
    modules: f.Texts
    """Which modules are in use: ids, ranges such as "TG-01..TG-15", or "all"."""

    @model_validator(mode="after")
    def _in_order(self) -> "Session":
        if self.end <= self.start:
            raise ValueError(f"ends at {self.end}, not after its start {self.start}")
        return self


class Defaults(f.Table):
    """The keys of a module that every module has unless it says otherwise."""

    hardware_address: f.HardwareAddress | None = None
    """The hardware address of its radio (EUI-48)."""
    profile: f.Name | None = None
    """The module profile: a shipped name, or a path."""
    network_name: f.Text | None = None
    """The network name (SSID) that it looks for."""
    security: f.SecurityWord | None = None
    """The security mode that it is set to."""
    passphrase: f.SecretText | None = None
    """The passphrase or key that it is set to; left out, it is the network's."""
    serial_rate: f.SymbolRate | None = None
    """The rate of its serial line."""
    data_bits: f.DataBits | None = None
    """Data bits of its serial frame."""
    parity: f.ParityWord | None = None
    """The parity bit of its serial frame."""
    stop_bits: f.StopBits | None = None
    """Stop bits of its serial frame."""
    flow_control: f.FlowControlWord | None = None
    """How its serial receiver holds up the sender."""
    addressing: f.AddressingWord | None = None
    """Where its address comes from."""
    address: f.Address | None = None
    """Its static address."""
    prefix_length: f.PrefixLength | None = None
    """How many bits of its address name the subnet."""
    netmask: f.Netmask | None = None
    """The same as prefix_length, written as a mask; one of the two is enough."""
    gateway: f.Gateway | None = None
    """The gateway that it is set to; "none" where it has none."""
    talks: f.Switch | None = None
    """Whether its program sends."""
    destination: f.Address | None = None
    """The address that it sends to."""
    port: f.Port | None = None
    """The port that it sends to."""
    listen_port: f.Port | None = None
    """The port on which it listens."""
    transport: f.TransportWord | None = None
    """The transport that it uses."""
    message_bytes: f.ByteCount | None = None
    """The length of the messages that it sends or waits for."""
    transmit_power: f.PowerLevel | None = None
    """The power that it transmits with."""
    antenna_gain: f.Gain | None = None
    """The gain of its antenna."""
    saved: f.Switch | None = None
    """Whether its settings are in non-volatile memory."""
    holder: f.Text | None = None
    """Who has it."""
    note: f.Text | None = None
    """Anything to remember of it."""
    controller: Controller | None = None
    """What is different at its controller; laid over the kit's table."""
    supply: Supply | None = None
    """What is different in its supply; laid over the kit's table."""

    @model_validator(mode="after")
    def _one_prefix(self) -> "Defaults":
        if None not in (self.prefix_length, self.netmask) and self.prefix_length != self.netmask:
            raise ValueError(
                f"has prefix_length {self.prefix_length} and a netmask that means "
                f"{self.netmask}; keep one of them"
            )
        return self


class ModuleEntry(Defaults):
    """A module as it stands in the file or the table."""

    id: f.Name
    """Its own id, as on its label."""


class Waiver(f.Table):
    """A finding accepted on purpose."""

    check: f.Name
    """The check whose finding is accepted."""
    modules: f.Texts | None = None
    """The modules for which it is accepted: ids and ranges. Left out, it is all."""
    reason: f.Name
    """Why it is accepted."""
    until: f.Day | None = None
    """The last day on which it is accepted."""


class Fleet(f.Table):
    """A whole fleet file with the rows of its table."""

    kit: Kit = Kit.model_construct()
    """What the kit is, and what it goes by."""
    network: Network | None = None
    """The planned network, as the access point is set."""
    serial: Serial = Serial.model_construct()
    """The planned serial line."""
    controller: Controller = Controller.model_construct()
    """The controller board at the other end of the serial line."""
    supply: Supply = Supply.model_construct()
    """What a module is fed from, and how it is wired."""
    traffic: Traffic = Traffic.model_construct()
    """Who sends what to whom."""
    session: tuple[Session, ...] = ()
    """The timetable: one group at the benches, from start to end."""
    defaults: Defaults = Defaults.model_construct()
    """What every module has unless it says otherwise."""
    module: tuple[ModuleEntry, ...] = ()
    """The modules, each with what it is set to."""
    waiver: tuple[Waiver, ...] = ()
    """Findings that are accepted on purpose."""
