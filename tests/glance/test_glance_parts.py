"""Colours, addresses, certificates, meters: the small parts of the page."""

from __future__ import annotations

import json
import re
import shutil
import socket
import ssl
import stat
import subprocess
import threading
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, timedelta
from importlib.resources import files

import pytest
from cryptography import x509
from cryptography.hazmat.primitives.hashes import SHA256
from hypothesis import given
from hypothesis import strategies as st

from callout.checklist.model import Who
from callout.glance.address import At, at, is_local, named, own_address
from callout.glance.certificate import certified
from callout.glance.codes import drawn, printed
from callout.glance.gate import MOST_FROM_ONE, Gate
from callout.glance.messages import Invite, JunkError, Touch, message
from callout.glance.meter import MOST_ADDRESSES, Meter
from callout.glance.pairing import MOST_INVITATIONS, MOST_SCREENS, Pairing
from callout.glance.problems import GlanceProblem
from callout.glance.site import FILES

CSS = (files("callout.glance") / "static" / "glance.css").read_text(encoding="utf-8")


def theme(name: str) -> dict[str, str]:
    block = CSS.split(f'[data-theme="{name}"] {{')[1].split("}")[0]
    return dict(re.findall(r"--([a-z-]+): (#[0-9a-f]{6});", block))


def rgb(colour: str) -> list[int]:
    return [int(colour[i : i + 2], 16) for i in (1, 3, 5)]


def luminance(colour: str) -> float:
    """WCAG 2.2, definition of relative luminance."""
    parts = [c / 255 for c in rgb(colour)]
    r, g, b = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts)
    return 0.2126 * r + 0.7152 * g + 0.0722 * b


def contrast(one: str, two: str) -> float:
    """WCAG 2.2, definition of contrast ratio."""
    high, low = sorted((luminance(one), luminance(two)), reverse=True)
    return (high + 0.05) / (low + 0.05)


@pytest.mark.parametrize("name", ["day", "night"])
@pytest.mark.parametrize(
    ("ink", "ground"),
    [("ink", "ground"), ("ink", "soft"), ("soft-ink", "soft"), ("soft-ink", "ground"),
     ("press-ink", "press"), ("warning-ink", "warning"), ("caution-ink", "caution")],
)  # fmt: skip
def test_words_have_a_contrast_of_seven_to_one(name, ink, ground):
    """WCAG 2.2, 1.4.6 (AAA): 7 to 1."""
    colours = theme(name)
    assert contrast(colours[ink], colours[ground]) >= 7


@pytest.mark.parametrize("name", ["day", "night"])
def test_what_bounds_a_target_can_be_seen(name):
    """WCAG 2.2, 1.4.11: 3 to 1."""
    colours = theme(name)
    assert contrast(colours["line"], colours["ground"]) >= 3
    assert contrast(colours["fill"], colours["press"]) >= 2


@pytest.mark.parametrize("name", ["day", "night"])
def test_red_is_for_warnings_and_amber_for_cautions_and_nothing_else_has_a_colour(name):
    """14 CFR 25.1322: red for warnings, amber or yellow for cautions (as quoted)."""
    for key, colour in theme(name).items():
        r, g, b = rgb(colour)
        coloured = max(r, g, b) - min(r, g, b) > 24
        assert key.startswith(("warning", "caution")) or not coloured, key
    r, g, b = rgb(theme(name)["warning"])
    assert r > 4 * max(g, b)
    r, g, b = rgb(theme(name)["caution"])
    assert r > g > 2 * b


def test_the_night_is_dim():
    """Nothing but words that warn is brighter than half of white."""
    colours = theme("night")
    assert max(luminance(colours[key]) for key in ("ground", "soft", "press", "warning")) < 0.03
    assert luminance(colours["ink"]) < 0.5


def test_no_file_of_the_page_names_anything_outside():
    for name in set(FILES.values()):
        text = (files("callout.glance") / "static" / name).read_text(encoding="utf-8")
        assert [] == re.findall(r"(?:https?:)?//(?!\$\{)[a-z0-9.-]+\.[a-z]{2,}", text), name
        assert "innerHTML" not in text
        assert "style=" not in text


@pytest.mark.parametrize(
    ("address", "local"),
    [
        # RFC 1918, RFC 4193, RFC 3927, RFC 4291 and what lies beside them
        ("10.0.0.1", True), ("172.16.0.1", True), ("172.31.255.254", True), ("192.168.1.5", True),
        ("172.32.0.1", False), ("11.0.0.1", False), ("192.169.0.1", False),
        ("fd00::1", True), ("fe80::1", True), ("fe80::1%eth0", True), ("::1", True),
        ("2001:4860:4860::8888", False), ("169.254.7.7", True), ("127.0.0.1", True),
        ("8.8.8.8", False), ("0.0.0.0", False), ("::", False), ("224.0.0.1", False),
        ("255.255.255.255", False), ("::ffff:8.8.8.8", False), ("::ffff:192.168.1.5", True),
        ("hangar.example", False), ("", False), ("192.168.1", False),
    ],
)  # fmt: skip
def test_which_addresses_are_of_a_local_network(address, local):
    assert local == is_local(address)


def test_an_address_is_read_with_and_without_its_port():
    assert At("192.168.1.5", 0) == at("192.168.1.5")
    assert At("192.168.1.5", 8443) == at("192.168.1.5:8443")
    assert At("fd00::1", 8443) == at("[fd00::1]:8443")
    assert At("fd00::1", 0) == at("fd00::1")
    assert ("10.0.0.1:1", "[fd00::1]:1") == (named("10.0.0.1", 1), named("fd00::1", 1))
    for bad in ("hangar", "fe80::1%eth0", "192.168.1.5:x", "192.168.1.5:-1", ":8443", "1.1.1.1:80"):
        with pytest.raises(GlanceProblem):
            at(bad)


def test_the_own_address_is_local():
    assert is_local(own_address())


def test_a_certificate_is_kept_and_renewed_for_another_address_or_when_it_is_old(tmp_path):
    first = certified(tmp_path, "192.168.1.5").fingerprint
    assert first == certified(tmp_path, "192.168.1.5").fingerprint
    second = certified(tmp_path, "192.168.1.6").fingerprint
    assert first != second
    later = datetime.now(UTC) + timedelta(days=380)
    assert second != certified(tmp_path, "192.168.1.6", later).fingerprint
    (tmp_path / "glance.pem").write_text("nonsense")
    assert 32 == len(certified(tmp_path, "192.168.1.6").fingerprint.split(":"))


def test_programs_that_begin_at_once_have_each_a_certificate_for_their_own_address(tmp_path):
    """They share the folder: the last one's stays, and nothing of the others."""
    hosts = [f"10.0.0.{number % 3}" for number in range(8)]
    with ThreadPoolExecutor(4) as pool:
        made = list(pool.map(lambda host: certified(tmp_path, host), hosts))
    of = {host: {one.fingerprint for one, theirs in zip(made, hosts, strict=True) if theirs == host}
          for host in hosts}  # fmt: skip
    assert sum(map(len, of.values())) == len(set.union(*of.values()))
    kept = x509.load_pem_x509_certificate((tmp_path / "glance.pem").read_bytes())
    assert kept.fingerprint(SHA256()).hex(":").upper() in set.union(*of.values())
    assert ["glance.pem"] == [path.name for path in tmp_path.iterdir()]


def test_the_key_is_its_owners_alone_and_signs_nothing_but_itself(tmp_path):
    certified(tmp_path, "127.0.0.1")
    path = tmp_path / "glance.pem"
    assert 0o600 == stat.S_IMODE(path.stat().st_mode)
    found = x509.load_pem_x509_certificate(path.read_bytes())
    assert not found.extensions.get_extension_for_class(x509.BasicConstraints).value.ca
    days = (found.not_valid_after_utc - found.not_valid_before_utc).days
    assert days <= 398
    if openssl := shutil.which("openssl"):  # another library says the same
        command = [openssl, "x509", "-in", str(path), "-noout", "-fingerprint", "-sha256"]
        told = subprocess.run(command, capture_output=True, text=True, check=True).stdout
        assert certified(tmp_path, "127.0.0.1").fingerprint in told


def test_a_client_that_trusts_the_certificate_accepts_its_address_and_no_other(tmp_path):
    """Python's own TLS client checks name, time and signature."""
    kept = certified(tmp_path, "127.0.0.1")
    trusting = ssl.create_default_context(cafile=str(tmp_path / "glance.pem"))

    def shake(name: str) -> None:
        one, two = socket.socketpair()
        with one, two:
            server = threading.Thread(target=lambda: _accept(kept.context, one), daemon=True)
            server.start()
            try:
                trusting.wrap_socket(two, server_hostname=name).close()
            finally:
                two.close()
                server.join(60)

    shake("127.0.0.1")
    with pytest.raises(ssl.SSLCertVerificationError):
        shake("192.168.1.5")


def _accept(context: ssl.SSLContext, plain: socket.socket) -> None:
    try:
        context.wrap_socket(plain, server_side=True).close()
    except (OSError, ssl.SSLError):
        plain.close()


def test_codes_and_screens_do_not_pile_up():
    pairing = Pairing(lambda: 0.0)
    tokens = [pairing.invite(Who.PILOT) for _ in range(MOST_INVITATIONS + 1)]
    assert pairing.pair(tokens[0]) is None
    secrets = []
    for _ in range(MOST_SCREENS + 1):
        secret = pairing.pair(pairing.invite(Who.HELPER))
        assert secret is not None
        secrets.append(secret)
    assert pairing.screen(secrets[0]) is None
    last = pairing.screen(secrets[-1])
    assert last is not None
    assert Who.HELPER is last.role


def test_a_token_has_at_least_128_bits_and_never_comes_twice():
    """OWASP, session management: at least 64 bits of entropy (from memory)."""
    pairing = Pairing(lambda: 0.0)
    tokens = {pairing.invite(Who.PILOT) for _ in range(1000)}
    assert 1000 == len(tokens)
    assert all(len(token) * 6 >= 128 for token in tokens)


def test_a_meter_lets_a_burst_through_and_then_its_rate():
    meter = Meter(rate=2, burst=5)
    assert [True] * 5 + [False] == [meter.takes("a", 0.0) for _ in range(6)]
    assert [True, False] == [meter.takes("a", 0.5) for _ in range(2)]
    assert meter.takes("b", 0.5)
    for number in range(10 * MOST_ADDRESSES):
        meter.takes(str(number), 1.0)
    assert MOST_ADDRESSES == len(meter._buckets)


def test_a_gate_lets_so_many_in_from_one_address_and_again_when_one_has_left():
    with Gate("127.0.0.1", 0) as gate:
        gate.settimeout(60)
        clients = [socket.create_connection(("127.0.0.1", gate.port)) for _ in range(17)]
        inside = [gate.accept()[0] for _ in range(MOST_FROM_ONE)]
        with pytest.raises(ConnectionAbortedError):
            gate.accept()
        inside.pop().close()
        clients.append(socket.create_connection(("127.0.0.1", gate.port)))
        inside.append(gate.accept()[0])
        for one in (*clients, *inside):
            one.close()


json_values = st.recursive(
    st.none() | st.booleans() | st.floats() | st.integers() | st.text(max_size=10),
    lambda inside: (
        st.lists(inside, max_size=4)
        | st.dictionaries(st.sampled_from(["say", "shown", "invite", "x"]), inside, max_size=3)
    ),
    max_leaves=8,
)


@given(st.text(max_size=50) | json_values.map(json.dumps))
def test_whatever_comes_is_a_message_or_junk(text):
    """No other error, whatever comes: h11's rule for what the other side sends (its fuzz/)."""
    try:
        found = message(text)
    except JunkError:
        return
    assert isinstance(found, Touch | Invite)


def test_a_touch_is_read_as_it_was_sent():
    assert Touch("full and free", 7, 12.5) == message('{"say":"full and free","shown":[7,12.5]}')
    assert Invite("helper") == message('{"invite":"helper"}')


def test_a_code_is_drawn_for_terminal_and_page():
    address = "https://192.168.1.5:8443/pair#" + "x" * 43
    assert printed(address).count("\n") > 10
    assert drawn(address).startswith("data:image/svg+xml;base64,")
