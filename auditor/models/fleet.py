"""The fleet file, format 1: one class a table, one field a key."""

from typing import Annotated, Literal

from pydantic import Field, model_validator

from auditor.models import forms as f
from auditor.models import words as w


def _format(written: object) -> int:
    if written == 1 and not isinstance(written, bool):
        return 1
    raise ValueError("is not 1, the only format there is")


class Kit(f.Table):
    """What the kit is, and which profile and policy it goes by."""

    format: Annotated[Literal[1], f.Reader(_format)] = 1
    name: f.Text | None = None
    term: f.Text | None = None
    profile: f.Name | None = None
    policy: f.Name | None = None
    region: f.Name | None = None
    modules: f.Name | None = None


class Pool(f.Table):
    """The range that the address server leases from."""

    first: f.Address
    last: f.Address

    @model_validator(mode="after")
    def _in_order(self) -> "Pool":
        if self.last < self.first:
            raise ValueError(f"has last {self.last} before first {self.first}; swap the two")
        return self


class IPv4(f.Table):
    """The subnet, its gateway and its address server."""

    subnet: f.Subnet | None = None
    gateway: f.Gateway | None = None
    pool: Pool | None = None
    lease_time: f.LeaseTime | None = None
    address_server: f.Switch | None = None
    reservations: dict[f.HardwareAddress, f.Address] = Field(default_factory=dict)


class Host(f.Table):
    """Something with a fixed address that is no module: access point, logger, printer."""

    name: f.Name
    address: f.Address
    port: f.Port | None = None
    transport: f.TransportWord | None = None
    link: f.LinkWord = w.Link.WIRED


class Network(f.Table):
    """The planned network, as the access point is set."""

    name: f.Text | None = None
    security: f.SecurityWord | None = None
    passphrase: f.SecretText | None = None
    protected_management: f.ProtectionWord | None = None
    hidden: f.Switch = False
    band: f.Bands = ()
    channel: f.Channel | None = None
    lowest_basic_rate: f.DataRate | None = None
    band_steering: f.Switch = False
    beacon_interval: f.BeaconInterval | None = None
    dtim_period: f.Period | None = None
    client_isolation: f.Switch = False
    station_limit: f.Count | None = None
    other_stations: f.Count = 0
    accept_list: tuple[f.HardwareAddress, ...] | None = None
    retired_passphrases: tuple[f.SecretText, ...] = ()
    ipv4: IPv4 = IPv4.model_construct()
    host: tuple[Host, ...] = ()


class Serial(f.Table):
    """The planned serial line."""

    rate: f.SymbolRate | None = None
    data_bits: f.DataBits | None = None
    parity: f.ParityWord | None = None
    stop_bits: f.StopBits | None = None
    flow_control: f.FlowControlWord | None = None


class Controller(f.Table):
    """The controller board at the other end of the serial line."""

    profile: f.Name | None = None
    clock: f.Frequency | None = None
    clock_multiplier: f.Multiplier | None = None
    oversampling: f.Oversampling | None = None
    divisor: f.Divisor | None = None
    divisor_rule: f.DivisorRuleWord | None = None
    divisor_bits: f.DivisorBits | None = None
    transmitter: f.Switch | None = None
    receiver: f.Switch | None = None
    receive_buffer: f.ByteCount | None = None
    longest_gap: f.ReadingGap | None = None
    clears_overrun: f.Switch | None = None
    rx_pin: "Pin | None" = None
    tx_pin: "Pin | None" = None
    logic_level: f.Volts | None = None


class Pin(f.Table):
    """How a serial pin of the controller is set up."""

    direction: f.PinDirectionWord | None = None
    digital: f.Switch | None = None


class Supply(f.Table):
    """What a module is fed from, and how it is wired."""

    regulator: f.RegulatorKindWord | None = None
    thermal_resistance: f.KelvinPerWatt | None = None
    ambient: f.Celsius | None = None
    highest_junction: f.Celsius | None = None
    input_voltage: f.Volts | None = None
    output_voltage: f.Volts | None = None
    current_limit: f.Milliamps | None = None
    dropout_voltage: f.Volts | None = None
    capacitance: f.Microfarads | None = None
    capacitor_polarised: f.Switch | None = None
    capacitor_positive_to: f.TerminalWord | None = None
    indicator_resistor: f.Ohms | None = None
    indicator_forward_voltage: f.Volts | None = None
    common_ground: f.Switch | None = None
    rx_wired_to: f.ControllerPinWord | None = None
    tx_wired_to: f.ControllerPinWord | None = None


class Traffic(f.Table):
    """Who sends what to whom."""

    intent: f.IntentWord | None = None
    destination: f.Address | None = None
    port: f.Port | None = None
    transport: f.TransportWord | None = None
    talkers: f.Texts | None = None
    message_bytes: f.ByteCount | None = None
    message_interval: f.MessageInterval | None = None
    framing: f.FramingWord | None = None
    names_sender: f.Switch | None = None


class Session(f.Table):
    """One group at the benches, from start to end."""

    name: f.Name
    start: f.Moment
    end: f.Moment
    modules: f.Texts

    @model_validator(mode="after")
    def _in_order(self) -> "Session":
        if self.end <= self.start:
            raise ValueError(f"ends at {self.end}, not after its start {self.start}")
        return self


class Defaults(f.Table):
    """The keys of a module that every module has unless it says otherwise."""

    hardware_address: f.HardwareAddress | None = None
    profile: f.Name | None = None
    network_name: f.Text | None = None
    security: f.SecurityWord | None = None
    passphrase: f.SecretText | None = None
    serial_rate: f.SymbolRate | None = None
    data_bits: f.DataBits | None = None
    parity: f.ParityWord | None = None
    stop_bits: f.StopBits | None = None
    flow_control: f.FlowControlWord | None = None
    addressing: f.AddressingWord | None = None
    address: f.Address | None = None
    prefix_length: f.PrefixLength | None = None
    netmask: f.Netmask | None = None
    gateway: f.Gateway | None = None
    talks: f.Switch | None = None
    destination: f.Address | None = None
    port: f.Port | None = None
    listen_port: f.Port | None = None
    transport: f.TransportWord | None = None
    message_bytes: f.ByteCount | None = None
    transmit_power: f.PowerLevel | None = None
    antenna_gain: f.Gain | None = None
    saved: f.Switch | None = None
    holder: f.Text | None = None
    note: f.Text | None = None
    controller: Controller | None = None
    supply: Supply | None = None

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


class Waiver(f.Table):
    """A finding accepted on purpose."""

    check: f.Name
    modules: f.Texts | None = None
    reason: f.Name
    until: f.Day | None = None


class Fleet(f.Table):
    """A whole fleet file with the rows of its table."""

    kit: Kit = Kit.model_construct()
    network: Network | None = None
    serial: Serial = Serial.model_construct()
    controller: Controller = Controller.model_construct()
    supply: Supply = Supply.model_construct()
    traffic: Traffic = Traffic.model_construct()
    session: tuple[Session, ...] = ()
    defaults: Defaults = Defaults.model_construct()
    module: tuple[ModuleEntry, ...] = ()
    waiver: tuple[Waiver, ...] = ()
