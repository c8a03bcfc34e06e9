"""Names, passphrases and keys against published vectors, an independent program, and laws."""

import hashlib
import shutil
import string
import subprocess

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from auditor.compute import keys

ORACLE = shutil.which("wpa_passphrase")
needs_oracle = pytest.mark.skipif(ORACLE is None, reason="wpa_passphrase is not installed")

# Passphrase, network name, key.
PUBLISHED_KEYS = {
    "IEEE 802.11i-2004 H.4.3, case 1": (
        "password",
        "IEEE",
        "f42c6fc52df0ebef9ebb4b90b38a5f902e83fe1b135a70e23aed762e9710a12e",
    ),
    "IEEE 802.11i-2004 H.4.3, case 2": (
        "ThisIsAPassword",
        "ThisIsASSID",
        "0dc0d6eb90555ed6419756b9a15ec3e3209b63df707dd508d14581f8982721af",
    ),
    "IEEE 802.11i-2004 H.4.3, case 3": (
        "a" * 32,
        "Z" * 32,
        "becb93866bb8c3832cb777c2f559807c8c59afcb6eae734885001300a981cc62",
    ),
    "documentation of the Rust crate wpa-psk 0.1": (
        "0123-4567-89",
        "home",
        "150c047b6fad724512a17fa431687048ee503d14c1ea87681d4f241beb04f5ee",
    ),
    "wpa_passphrase 2.10: shortest": (
        "12345678",
        "a",
        "281b2c11a70df38135bdc6b565accb1f26b1b44e1880ae31d5daece24700817b",
    ),
    "wpa_passphrase 2.10: longest": (
        "x" * 63,
        "Z" * 32,
        "564ddc5f42df7a5a467b845d8f1405f4e77ceb3d52f25e2ac5999e7d964da6a9",
    ),
    "wpa_passphrase 2.10: code 32 alone": (
        " " * 8,
        "blank",
        "d9b4e2eb664a269568d556849f1636be695adc2f85e699d62622928df7a5a9bb",
    ),
    "wpa_passphrase 2.10: code 126 alone": (
        "~" * 8,
        "tide-kit",
        "eecea82c989e46d019509c2f6708aa47048a4737c71e9382c061571e4d3f5233",
    ),
    "wpa_passphrase 2.10: a blank in the name": (
        "abcdefgh",
        "Field Centre",
        "40b793663653b4dfe1ad84528f69f5e30d5a86e812bdaced0587abca58f93928",
    ),
    "wpa_passphrase 2.10: another name": (
        "password",
        "MySSID",
        "8a98ace1117ee11811eb08759cb2bdc4d99f4cea433b86c4bcbd18ad0f9eed48",
    ),
}
IEEE_KEY = PUBLISHED_KEYS["IEEE 802.11i-2004 H.4.3, case 1"][2]

names = st.text(min_size=1, max_size=8)
passphrases = st.text(st.characters(min_codepoint=32, max_codepoint=126), min_size=8, max_size=63)
hexadecimal_keys = st.text(string.hexdigits, min_size=64, max_size=64)
# Letters that no message of ours holds, so that any of them in a message is a leak.
tell_tale_texts = st.text("QXZqÄ\x7f", min_size=1, max_size=70)


class TestNames:
    # IEEE 802.11, SSID element: 0 to 32 octets, 0 being the wildcard.
    @pytest.mark.parametrize("name", ["a", "a" * 32, "ö" * 16, " ", "saltmarsh-gauges", "\x00"])
    def test_legal(self, name: str) -> None:
        assert keys.name_problem(name) is None

    @pytest.mark.parametrize(
        ("name", "problem"),
        [
            ("", "is empty"),
            ("a" * 33, "has 33 octets; the limit is 32"),
            ("ö" * 16 + "a", "has 33 octets; the limit is 32"),
            ("€" * 11, "has 33 octets; the limit is 32"),
        ],
    )
    def test_illegal(self, name: str, problem: str) -> None:
        assert keys.name_problem(name) == problem

    def test_octets_are_utf_8(self) -> None:
        # RFC 3629: U+00F6 is C3 B6.
        assert keys.name_octets("größe") == bytes.fromhex("67 72 c3 b6 c3 9f 65")

    def test_half_a_surrogate_pair_has_no_octets(self) -> None:
        # RFC 3629, section 3: UTF-8 has no encoding for D800 to DFFF.
        with pytest.raises(ValueError, match="surrogates not allowed"):
            keys.name_octets("\ud800")


class TestPassphrases:
    # IEEE 802.11i-2004, H.4.1: 8 to 63 characters, each 32 to 126; or 64 hexadecimal digits
    # (annotated configuration of hostapd 2.10, wpa_psk).
    @pytest.mark.parametrize(
        "text", ["x" * 8, "x" * 63, " " * 8, "~" * 8, "0" * 64, "aBcDeF01" * 8]
    )
    def test_legal(self, text: str) -> None:
        assert keys.passphrase_problem(text) is None

    # wpa_passphrase 2.10 refuses 7 and 64 characters, a DEL and a TAB; it takes "päßwörter",
    # which H.4.1 does not allow.
    @pytest.mark.parametrize(
        ("text", "problem"),
        [
            ("x" * 7, "has 7 characters; it must have 8 to 63"),
            ("x" * 64, "has 64 characters; it must have 8 to 63"),
            ("0" * 63 + "g", "has 64 characters; it must have 8 to 63"),
            ("0" * 65, "has 65 characters; it must have 8 to 63"),
            ("x", "has 1 character; it must have 8 to 63"),
            ("", "has 0 characters; it must have 8 to 63"),
            ("x" * 7 + "\x7f", "has 1 character outside printable ASCII (codes 32 to 126)"),
            ("x" * 7 + "\x1f", "has 1 character outside printable ASCII (codes 32 to 126)"),
            ("x" * 7 + "\t", "has 1 character outside printable ASCII (codes 32 to 126)"),
            ("päßwörter", "has 3 characters outside printable ASCII (codes 32 to 126)"),
        ],
    )
    def test_illegal(self, text: str, problem: str) -> None:
        said = keys.passphrase_problem(text)
        assert said is not None
        assert said.startswith(problem)

    # hostapd 2.10, sae_password: no limit of 8 to 63 in the protocol.
    @pytest.mark.parametrize("text", ["x", "x" * 7, "x" * 64, "0" * 63, "päßwörter", ""])
    def test_legal_with_simultaneous_equals(self, text: str) -> None:
        assert keys.passphrase_problem(text, simultaneous_equals=True) is None

    def test_key_with_simultaneous_equals(self) -> None:
        # Observed on hostapd 2.10 and wpa_supplicant 2.10: SAE needs the password itself.
        said = keys.passphrase_problem(IEEE_KEY, simultaneous_equals=True)
        assert said is not None
        assert "a 64-digit key cannot be used with WPA3" in said

    @pytest.mark.parametrize("code", [0xD800, 0xDCFF, 0xDFFF])
    def test_half_a_surrogate_pair_with_simultaneous_equals(self, code: int) -> None:
        # RFC 3629, section 3: U+D800 to U+DFFF have no form in UTF-8.
        said = keys.passphrase_problem(f"tide{chr(code)}", simultaneous_equals=True)
        assert said == "cannot be written in UTF-8"

    @given(text=tell_tale_texts, simultaneous_equals=st.booleans())
    def test_problem_never_quotes(self, text: str, simultaneous_equals: bool) -> None:
        said = keys.passphrase_problem(text, simultaneous_equals) or ""
        assert set(text).isdisjoint(said)

    @given(passphrase=passphrases)
    def test_every_passphrase_of_the_standard_is_legal(self, passphrase: str) -> None:
        assert keys.passphrase_problem(passphrase) is None
        assert not keys.is_key(passphrase)

    @pytest.mark.parametrize("text", ["0" * 63, "0" * 65, "0" * 63 + "\n", "٠" * 64, " " * 64])
    def test_not_a_key(self, text: str) -> None:
        assert not keys.is_key(text)


class TestKeys:
    @pytest.mark.parametrize(
        ("passphrase", "name", "key"), PUBLISHED_KEYS.values(), ids=PUBLISHED_KEYS
    )
    def test_published(self, passphrase: str, name: str, key: str) -> None:
        assert keys.derived_key(passphrase, name).hex() == key

    # The function beneath: PBKDF2-HMAC-SHA1, RFC 6070, section 2.
    @pytest.mark.parametrize(
        ("password", "salt", "iterations", "octets", "key"),
        [
            (b"password", b"salt", 1, 20, "0c60c80f961f0e71f3a9b524af6012062fe037a6"),
            (b"password", b"salt", 2, 20, "ea6c014dc72d6f8ccd1ed92ace1d41f0d8de8957"),
            (b"password", b"salt", 4096, 20, "4b007901b765489abead49d926f721d065a429c1"),
            (
                b"passwordPASSWORDpassword",
                b"saltSALTsaltSALTsaltSALTsaltSALTsalt",
                4096,
                25,
                "3d2eec4fe41c849b80c8d83662c0e44a8b291a964cf2f07038",
            ),
            (b"pass\0word", b"sa\0lt", 4096, 16, "56fa6aa75548099dcc37d7f03425e0c3"),
        ],
    )
    def test_platform_has_the_function(
        self, password: bytes, salt: bytes, iterations: int, octets: int, key: str
    ) -> None:
        assert hashlib.pbkdf2_hmac("sha1", password, salt, iterations, octets).hex() == key

    @needs_oracle
    @settings(deadline=None, max_examples=25)
    @given(
        passphrase=passphrases,
        name=st.text(st.characters(exclude_characters="\0", codec="utf-8"), max_size=8),
    )
    def test_agrees_with_wpa_passphrase(self, passphrase: str, name: str) -> None:
        run = subprocess.run(
            [str(ORACLE), name, passphrase], capture_output=True, check=True, timeout=10
        )
        assert f"\tpsk={keys.derived_key(passphrase, name).hex()}\n".encode() in run.stdout

    @needs_oracle
    @pytest.mark.parametrize("text", ["x" * 7, "x" * 64, "x" * 7 + "\x7f", "x" * 7 + "\t"])
    def test_refuses_what_wpa_passphrase_refuses(self, text: str) -> None:
        run = subprocess.run([str(ORACLE), "tide-kit", text], capture_output=True, timeout=10)
        assert run.returncode != 0
        assert keys.passphrase_problem(text) is not None

    # "2short" is the "unchecked" example of the crate wpa-psk 0.1: arithmetic, not a passphrase.
    @pytest.mark.parametrize("text", ["2short", "", "päßwörter", "tide\udcff1", IEEE_KEY])
    def test_illegal_passphrase_gives_no_key(self, text: str) -> None:
        with pytest.raises(ValueError, match=r"^the passphrase (has|is a key already)"):
            keys.derived_key(text, "bar")

    @given(text=tell_tale_texts.filter(keys.passphrase_problem))
    def test_error_never_quotes(self, text: str) -> None:
        with pytest.raises(ValueError, match=r"^the passphrase") as error:
            keys.key_of(text, "bar")
        assert type(error.value) is ValueError
        assert set(text).isdisjoint(str(error.value))

    @given(passphrase=passphrases, name=names)
    @settings(deadline=None)
    def test_key_is_the_same_however_written(self, passphrase: str, name: str) -> None:
        key = keys.key_of(passphrase, name)
        assert len(key) == 32
        assert keys.key_of(key.hex(), name) == keys.key_of(key.hex().upper(), name) == key


class TestSameKey:
    # IEEE 802.11i-2004 H.4.3, case 1; and the key of the same passphrase for another name.
    @pytest.mark.parametrize(
        ("a", "b", "same"),
        [
            ("password", "password", True),
            ("password", IEEE_KEY, True),
            (IEEE_KEY.upper(), "password", True),
            (IEEE_KEY, IEEE_KEY.upper(), True),
            ("password", "Password", False),
            ("password", "password ", False),
            ("password", PUBLISHED_KEYS["wpa_passphrase 2.10: another name"][2], False),
            (IEEE_KEY, "0" * 64, False),
            ("2short", IEEE_KEY, False),
            ("2short", "2short", True),
            ("", IEEE_KEY, False),
        ],
    )
    def test_same(self, a: str, b: str, same: bool) -> None:
        assert keys.same_key(a, b, "IEEE") is same
        assert keys.same_key(b, a, "IEEE") is same

    def test_digits_fit_one_name_only(self) -> None:
        assert not keys.same_key("password", IEEE_KEY, "MySSID")

    def test_derives_only_passphrase_against_digits_and_once(self) -> None:
        keys.derived_key.cache_clear()
        keys.same_key("password", "password", "IEEE")
        keys.same_key("password", "passwords", "IEEE")
        keys.same_key(IEEE_KEY, "0" * 64, "IEEE")
        assert keys.derived_key.cache_info().misses == 0
        keys.same_key("password", IEEE_KEY, "IEEE")
        keys.same_key("0" * 64, "password", "IEEE")
        assert keys.derived_key.cache_info().misses == 1

    @given(a=passphrases | hexadecimal_keys, b=passphrases | hexadecimal_keys, name=names)
    @settings(deadline=None)
    def test_agrees_with_deriving_both(self, a: str, b: str, name: str) -> None:
        assert keys.same_key(a, b, name) == (keys.key_of(a, name) == keys.key_of(b, name))


class TestWep:
    # Annotated configuration of hostapd 2.10, wep_key0 to wep_key3.
    @pytest.mark.parametrize(
        ("text", "bits", "key"),
        [
            ("123456789a", 40, bytes.fromhex("123456789a")),
            ("vwxyz", 40, b"vwxyz"),
            ("0102030405060708090a0b0c0d", 104, bytes(range(1, 14))),
            (".2.4.6.8.0.23", 104, b".2.4.6.8.0.23"),
        ],
    )
    def test_published(self, text: str, bits: keys.WepBits, key: bytes) -> None:
        other: keys.WepBits = 104 if bits == 40 else 40
        assert keys.wep_key(text, bits) == key
        assert keys.wep_problem(text, bits) is None
        assert keys.wep_key_bits(text) == bits
        assert keys.wep_key(text, other) is None

    # The same source: 5 or 13 characters, 10 or 26 digits; 16 and 32 are of no standard.
    @pytest.mark.parametrize("length", sorted({*range(0, 40)} - {5, 10, 13, 26}))
    def test_other_lengths(self, length: int) -> None:
        assert keys.wep_key_bits("0" * length) is None

    @pytest.mark.parametrize(
        ("text", "bits", "problem"),
        [
            (
                "vwxyz1",
                40,
                "has 6 characters; a WEP key of 40 bits has "
                "5 characters or exactly 10 hexadecimal digits",
            ),
            (
                "x" * 26,
                104,
                "has 26 characters; a WEP key of 104 bits has "
                "13 characters or exactly 26 hexadecimal digits",
            ),
            ("vwxyä", 40, "has 1 character outside printable ASCII (codes 32 to 126)"),
        ],
    )
    def test_problem(self, text: str, bits: keys.WepBits, problem: str) -> None:
        assert keys.wep_problem(text, bits) == problem
        assert keys.wep_key(text, bits) is None

    def test_other_sizes(self) -> None:
        with pytest.raises(ValueError, match=r"^bits is 128; it must be 40 or 104$"):
            keys.wep_key("x" * 16, 128)  # type: ignore[arg-type]

    @given(text=tell_tale_texts)
    def test_problem_never_quotes(self, text: str) -> None:
        said = keys.wep_problem(text, 40) or ""
        assert set(text).isdisjoint(said)

    @given(key=st.binary(min_size=5, max_size=5) | st.binary(min_size=13, max_size=13))
    def test_digits_give_their_octets(self, key: bytes) -> None:
        bits = keys.wep_key_bits(key.hex())
        assert bits == 8 * len(key)
        assert keys.wep_key(key.hex().upper(), bits) == key
