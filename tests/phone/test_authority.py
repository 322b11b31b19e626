"""The household's certificates: what they may vouch for, how long, and who may read their keys."""

from __future__ import annotations

import shutil
import subprocess
from datetime import UTC, datetime, timedelta

import pytest
from cryptography import x509

from fieldvoice.errors import PhoneError
from fieldvoice.phone.authority import RENEW_DAYS, SERVER_DAYS, open_authority

NOW = datetime(2027, 3, 5, 9, tzinfo=UTC)
HOSTS = ["192.168.1.20", "house.local"]


@pytest.fixture
def authority(tmp_path):
    return open_authority(tmp_path, NOW)[0]


def _server(authority, now=NOW, hosts=HOSTS):
    return x509.load_pem_x509_certificate(authority.server_files(hosts, now)[0].read_bytes())


def test_keys_are_for_their_owner_alone(authority, tmp_path):
    authority.server_files(HOSTS, NOW)
    assert {one.stat().st_mode & 0o777 for one in tmp_path.iterdir()} == {0o600}


def test_the_root_has_a_name_that_phones_list(authority):
    assert authority.name.startswith("fieldvoice house ")
    assert len(authority.fingerprint.split()) == 32


def test_the_servers_certificate_is_as_phones_ask(authority):
    """By Apple HT210176: 825 days at most, names in SAN, serverAuth; read again from the file."""
    server = _server(authority)
    assert server.not_valid_after_utc - server.not_valid_before_utc <= timedelta(days=825)
    names = server.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    assert [str(one) for one in names.get_values_for_type(x509.IPAddress)] == HOSTS[:1]
    assert names.get_values_for_type(x509.DNSName) == HOSTS[1:]
    usage = server.extensions.get_extension_for_class(x509.ExtendedKeyUsage).value
    assert [one._name for one in usage] == ["serverAuth"]


def test_it_is_kept_and_renewed_by_itself(authority):
    first = _server(authority)
    assert _server(authority, NOW + timedelta(days=30)) == first
    near_end = NOW + timedelta(days=SERVER_DAYS - RENEW_DAYS)
    renewed = _server(authority, near_end)
    assert renewed != first
    assert renewed.not_valid_after_utc > first.not_valid_after_utc


@pytest.mark.parametrize("hosts", [["192.168.1.35", "house.local"], ["192.168.1.20", "b.local"]])
def test_another_address_or_name_has_another(authority, hosts):
    assert _server(authority) != _server(authority, hosts=hosts)


def test_the_authority_stays_the_same(authority, tmp_path):
    again, is_new = open_authority(tmp_path, NOW + timedelta(days=900))
    assert (again.der, is_new) == (authority.der, False)


@pytest.mark.parametrize("broken", ["authority.pem", "authority.key"])
def test_one_that_cannot_be_read_is_one_line(authority, tmp_path, broken):
    (tmp_path / broken).write_bytes(b"-----BEGIN nothing-----")
    with pytest.raises(PhoneError, match=r"cannot be read\. Move that folder away"):
        open_authority(tmp_path, NOW)


@pytest.mark.skipif(shutil.which("openssl") is None, reason="there is no openssl to ask")
@pytest.mark.parametrize(
    ("hosts", "holds"),
    [
        (["192.168.1.20"], True), (["10.1.2.3"], True), (["house.local"], True),
        (["93.184.216.34"], False), (["bank.example"], False), (["local.example"], False),
    ],
)  # fmt: skip
def test_it_can_vouch_for_nothing_on_the_internet(tmp_path, hosts, holds):
    """As OpenSSL's verify has it, which goes by name constraints (RFC 5280, 4.2.1.10)."""
    authority, _ = open_authority(tmp_path, datetime.now(UTC))
    place, _ = authority.server_files(hosts, datetime.now(UTC))
    done = subprocess.run(
        ["openssl", "verify", "-CAfile", str(tmp_path / "authority.pem"), str(place)],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert (done.returncode == 0) is holds, done.stderr
    assert holds or "permitted subtree violation" in done.stderr
