"""The kinds of hostile attempts: each makes one, out of what a source of chance gives it."""

from collections.abc import Callable, Mapping
from functools import cache
from random import Random

from auditor.checks import CHECKS
from auditor.cli.choices import AuditFormat
from auditor.demo import FILES, FLEET, FOLDER
from auditor.examples import clean_text, spoiled_text
from auditor.models import fleet
from auditor.models.forms import Table
from auditor.reading.profiles import FOLDERS, shipped_folder
from tests.hostile.attempts import Attempt
from tests.hostile.mutations import with_other_bytes, with_other_cells, with_other_values
from tests.hostile.oddities import BYTES, DATES, NUMBERS, SHAPES, odd_text, odd_value, written

CLEAN = clean_text()
DEMO = {name: (FOLDER / name).read_bytes() for name in FILES}
HEADER = "id,address,serial_rate,network_name,passphrase,note,holder,controller.divisor\n"
ROW = "TG-01,10.20.0.31,9600,saltmarsh-gauges,,,,\n"
TABLES: Mapping[str, type[Table]] = {
    "[kit]": fleet.Kit,
    "[network]": fleet.Network,
    "[network.ipv4]": fleet.IPv4,
    "[network.ipv4.pool]": fleet.Pool,
    "[[network.host]]": fleet.Host,
    "[serial]": fleet.Serial,
    "[controller]": fleet.Controller,
    "[controller.rx_pin]": fleet.Pin,
    "[supply]": fleet.Supply,
    "[traffic]": fleet.Traffic,
    "[[session]]": fleet.Session,
    "[defaults]": fleet.Defaults,
    "[[module]]": fleet.ModuleEntry,
    "[[waiver]]": fleet.Waiver,
}
"""The tables of a fleet file by how they begin."""
OUTPUTS = (".", "/", "a/b", "/dev/full", "/dev/null", "kit.toml", "./kit.toml", "x" * 300)
"""Names that no report may be written to."""
PROFILE_KEYS = {"modules": "profile", "controllers": "profile", "policies": "policy"}
"""The key by which a fleet names a profile of each folder; the others are named by `region`."""


def _options(random: Random) -> tuple[str, ...]:
    return random.choice(
        (
            (),
            ("--format", random.choice(list(AuditFormat))),
            ("--format", random.choice(list(AuditFormat)), "--output", "report.out"),
            ("--policy", "strict", "--fail-on", "advice"),
            ("--without-secrets",),
        )
    )


def _read(name: str, files: Mapping[str, bytes], random: Random) -> Attempt:
    """Return an attempt that reads one of some files."""
    if random.randrange(5) == 0:
        return Attempt(("capacity", name), files)
    return Attempt(("check", name, *_options(random)), files)


@cache
def _spoiled(id: str) -> bytes:
    return spoiled_text(CHECKS[id].example).encode()


def _fleet(random: Random) -> bytes:
    """Return a real fleet file: that of the demo, of the examples, or one of these spoiled."""
    tomls = [id for id, check in CHECKS.items() if not check.example.startswith("id,")]
    choice = random.randrange(3)
    if choice == 0:
        return DEMO[FLEET]
    return CLEAN.encode() if choice == 1 else _spoiled(random.choice(tomls))


def random_bytes(random: Random) -> Attempt:
    """Bytes without any sense, or with the beginnings of one."""
    size = random.choice((1, 20, 300, 5000))
    pieces = (*BYTES, b"[kit]\n", b"[[module]]\n", b"id = ", b"id,address\n", b"1", b"a", b"\n")
    plain = random.randrange(2)
    content = random.randbytes(size) if plain else b"".join(random.choices(pieces, k=size // 4 + 1))
    return _read(*_named(content, random), random)


def _named(content: bytes, random: Random) -> tuple[str, dict[str, bytes]]:
    name = random.choice(("kit.toml", "kit.csv", "kit.tsv", "kit"))
    return name, {name: content}


def fleet_bytes(random: Random) -> Attempt:
    """A fleet file with other bytes."""
    return _read(FLEET, DEMO | {FLEET: with_other_bytes(_fleet(random), random)}, random)


def fleet_values(random: Random) -> Attempt:
    """A fleet file with other values, keys and tables."""
    return _read(FLEET, DEMO | {FLEET: with_other_values(_fleet(random), random)}, random)


def table_bytes(random: Random) -> Attempt:
    """A table with other bytes, alone or beside its fleet."""
    content = with_other_bytes(DEMO["kit.csv"], random)
    return _read(random.choice((FLEET, "kit.csv")), DEMO | {"kit.csv": content}, random)


def table_cells(random: Random) -> Attempt:
    """A table with other cells, headers and rows, alone or beside its fleet."""
    content = with_other_cells(DEMO["kit.csv"], random)
    return _read(random.choice((FLEET, "kit.csv")), DEMO | {"kit.csv": content}, random)


def profiles(random: Random) -> Attempt:
    """A profile of a module, a controller, a policy or a region with something changed."""
    folder = random.choice(list(FOLDERS.values()))
    path = random.choice(sorted((shipped_folder() / folder).glob("*.toml")))
    change = random.choice((with_other_bytes, with_other_values))
    files = {"own.toml": change(path.read_bytes(), random), "passphrase.txt": b"secret-0"}
    key = PROFILE_KEYS.get(folder, "region")
    table = "controller" if folder == "controllers" else "kit"
    lines = f'[{table}]\n{key} = "./own.toml"\n[[module]]\nid = "TG-01"\n'
    if folder == "policies" and random.randrange(2):
        return Attempt(("check", "kit.toml", "--policy", "./own.toml"), files | _kit(CLEAN))
    return _read("kit.toml", files | _kit(lines), random)


def _kit(text: str) -> dict[str, bytes]:
    return {"kit.toml": text.encode("utf-8", "surrogatepass")}


def nesting(random: Random) -> Attempt:
    """A document that is nested deeply, or has many parts at one depth."""
    deep = random.choice((14, 15, 16, 17, 30, 400, 5000, 20_000))
    opening, closing = random.choice((("[", "]"), ("{ a = ", " }"), ("[{ a = ", "}]")))
    line = random.choice(
        (
            f"x = {opening * deep}1{closing * random.choice((deep, deep - 1, 0))}",
            f"{'.'.join('a' * deep)} = 1",
            f"[{'.'.join('a' * deep)}]",
            f"[[{'.'.join('a' * deep)}]]\n" * 2,
            "\n".join(f"k{n} = {n}" for n in range(deep)),
            "[[session]]\n" * deep,
            "[[network.host]]\n" * deep,
            f"network = {{ host = [{'{}, ' * deep}] }}",
            f"a = [{'1, ' * deep}]",
        )
    )
    return _read("kit.toml", _kit(f"{line}\n{random.choice(('', CLEAN))}"), random)


def values(random: Random) -> Attempt:
    """A single odd value for a key that there is."""
    header, table = random.choice(list(TABLES.items()))
    key = random.choice(list(table.model_fields))
    value = random.choice((*NUMBERS, *DATES, *SHAPES, odd_value(random)))
    lines = f'{header}\n{key} = {value}\n[[module]]\nid = "TG-01"\n'
    return _read("kit.toml", _kit(lines), random)


def texts(random: Random) -> Attempt:
    """Odd texts wherever a text may stand."""
    odd = [written(odd_text(random)) for _ in range(9)]
    lines = (
        f"[kit]\nname = {odd[0]}\nterm = {odd[1]}\n"
        f"[network]\nname = {odd[2]}\nsecurity = 'wpa2-personal'\npassphrase = {odd[3]}\n"
        f"[[network.host]]\nname = {odd[4]}\naddress = '10.20.0.9'\n"
        f"[traffic]\ntalkers = [{odd[5]}]\n"
        f"[[session]]\nname = {odd[6]}\nmodules = [{odd[5]}]\n"
        f"start = 2026-03-02T09:00:00\nend = 2026-03-02T10:00:00\n"
        f"[[module]]\nid = {odd[6]}\nnetwork_name = {odd[7]}\nprofile = {odd[8]}\n"
        f"[[module]]\nid = {odd[7]}\nholder = {odd[8]}\nnote = {odd[0]}\nnetwork_name = {odd[2]}\n"
        f"[[waiver]]\ncheck = 'weak-security'\nreason = {odd[4]}\nmodules = [{odd[5]}]\n"
    )
    return _read("kit.toml", _kit(lines), random)


def cells(random: Random) -> Attempt:
    """Odd texts as the cells of a table, quoted or not."""
    rows = []
    for _ in range(random.choice((1, 3))):
        row = [odd_text(random) for _ in range(8)]
        if random.randrange(2):  # leave odd only what takes any text
            row[1:3], row[7] = ["10.20.0.31", "9600"], "103"
        if random.randrange(2):
            row = ['"' + cell.replace('"', '""') + '"' for cell in row]
        rows.append(",".join(row))
    content = (HEADER + "\n".join(rows) + "\n").encode("utf-8", "surrogatepass")
    return _read("kit.csv", {"kit.csv": content}, random)


def sizes(random: Random) -> Attempt:
    """Tables that are wide, long or have one huge cell, and lines without end."""
    many = random.choice((1000, 1000, 30_000, 30_000, 100_000))
    table = random.choice(
        (
            "," * many + "\n" + ROW,
            HEADER.strip() + ",x" * many + "\n" + ROW,
            HEADER + ROW.strip() + "," * many + "\n",
            HEADER + ROW.replace("saltmarsh-gauges", "潮" * many),
            f"{'i' * many}d,address\n" + ROW,
            HEADER + '"' + "a\n" * many + '",' + ROW[6:],
            HEADER + '"' * many + "\n",
            HEADER + "\n" * many + ROW,
            HEADER + ROW * (many // 30),
            HEADER + "\r" * many,
        )
    )
    return _read("kit.csv", {"kit.csv": table.encode()}, random)


def names(random: Random) -> Attempt:
    """Paths that lead where nobody should, or nowhere."""
    name = random.choice(
        (
            "/dev/zero", "/dev/stdin", "/dev/tty", "/proc/self/mem", "/proc/self/environ",
            "/etc/passwd", "../kit.toml", "../../../../etc/passwd", "..", ".", "/",
            "./", "a/../kit.toml", "./kit.toml", "kit.toml", "//kit.toml", "~/kit.toml",
            "a\0.toml", "x" * 300 + ".toml", "a/" * 3000 + ".toml", "con.toml", "a\x1b[31m.toml",
            "C:\\kit.toml", "\\\\host\\kit.toml", "file:///etc/passwd",
            "http://192.0.2.1/kit.toml", ".toml", "/.toml", odd_text(random),
        )
    )  # fmt: skip
    key = random.choice(("modules", "profile", "policy", "region"))
    secret = random.choice(
        (f"{{ file = {written(name)} }}", f"[{{ file = {written(name)} }}]", "'secret-0'")
    )
    network = "retired_passphrases" if secret.startswith("[") else "passphrase"
    lines = CLEAN.replace("[kit]", f"[kit]\n{key} = {written(name)}", 1)
    if random.randrange(2):
        lines = f'[network]\nname = "a"\n{network} = {secret}\n[[module]]\nid = "TG-01"\n'
    return _read("kit.toml", _kit(lines), random)


def arguments(random: Random) -> Attempt:
    """Command lines that do not fit."""
    odd = odd_text(random).replace("\0", "")
    number, output = random.choice((odd, *NUMBERS)), random.choice(OUTPUTS)
    command = random.choice(
        (
            ("check", "kit.toml", random.choice(("--only", "--policy", "--format")), odd),
            ("check", "kit.toml", random.choice(("--fail-on", "--column", "--allow-folder")), odd),
            ("check", "kit.toml", odd), ("check", odd), ("capacity", odd), ("explain", odd),
            ("checks", "--format", odd), (odd,), (), ("check",), ("profiles", odd), ("schema", odd),
            ("cards", "kit.toml", "--modules", odd),
            ("diagnose", "kit.toml", odd), ("diagnose", "kit.toml", "TG-01", "--seen", odd),
            ("check", "kit.toml", "--output", output, "--force"),
            ("uart", "--clock", odd, "--rate", "9600"),
            ("uart", "--clock", "8 MHz", "--rate", number),
            ("uart", "--clock", "8 MHz", "--rate", "9600", "--bits", number),
            ("uart", "--clock", "8 MHz", "--rate", "9600", "--oversampling", odd),
            ("uart", "--clock", "8 MHz", "--rate", "9600", "--multiplier", odd, "--parity", odd),
        )
    )  # fmt: skip
    return Attempt(command, _kit(CLEAN))


_ALL = (
    random_bytes, fleet_bytes, fleet_values, table_bytes, table_cells, profiles, nesting,
    values, texts, cells, sizes, names, arguments,
)  # fmt: skip
KINDS: Mapping[str, Callable[[Random], Attempt]] = {
    each.__name__.replace("_", " "): each for each in _ALL
}
"""The kinds by their names."""
