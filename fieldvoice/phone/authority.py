"""A certificate authority for one household, and the certificate of its server.

Browsers give the microphone to secure pages only, and nobody vouches for an address of a private
network: the household does it itself. What phones are asked to trust can vouch for private
addresses and ``.local`` names alone (name constraints, RFC 5280 part 4.2.1.10), so that whoever
stole its key could not speak for anything on the internet.
"""

from __future__ import annotations

import ipaddress
import secrets
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

from cryptography import x509
from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

from fieldvoice.errors import PhoneError
from fieldvoice.phone.address import LOCAL, NETWORKS
from fieldvoice.whole_files import write_whole

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

#: How long the authority holds: trusting one is work, and it is asked for once (a design choice).
AUTHORITY_DAYS = 3650
#: How long the server's own certificate holds. Phones take none over 825 days (Apple HT210176).
SERVER_DAYS = 180
#: It is made anew when it holds no longer than this.
RENEW_DAYS = 45
#: A clock that is behind by less sees no certificate of the future.
_SLACK = timedelta(days=2)

#: No address: OpenSSL takes a common name that may be a host's for one, and would refuse it.
_SERVER_NAME = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "fieldvoice server")])

_AUTHORITY, _AUTHORITY_KEY = "authority.pem", "authority.key"
_SERVER, _SERVER_KEY = "server.pem", "server.key"


@dataclass(frozen=True, slots=True)
class Authority:
    """The household's authority: its certificate, its key, and the folder that they lie in."""

    certificate: x509.Certificate
    key: ec.EllipticCurvePrivateKey
    folder: Path

    @property
    def der(self) -> bytes:
        """The certificate as phones take it."""
        return self.certificate.public_bytes(serialization.Encoding.DER)

    @property
    def fingerprint(self) -> str:
        """The SHA-256 fingerprint as phones show it: pairs of hexadecimal digits."""
        digest = self.certificate.fingerprint(hashes.SHA256()).hex().upper()
        return " ".join(digest[at : at + 2] for at in range(0, len(digest), 2))

    @property
    def name(self) -> str:
        """The name under which phones list it."""
        return _common_name(self.certificate)

    def server_files(self, hosts: Sequence[str], now: datetime) -> tuple[Path, Path]:
        """Return the files of the server's certificate for ``hosts`` and of its key.

        They are made anew where they are missing, for other hosts, or near their end.

        Raises:
            PhoneError: they cannot be written.
        """
        place, key_place = self.folder / _SERVER, self.folder / _SERVER_KEY
        if not (key_place.exists() and self._still_good(place, hosts, now)):
            key = ec.generate_private_key(ec.SECP256R1())
            try:
                write_whole(key_place, _key_pem(key))
                write_whole(place, _pem(self._issue(key, hosts, now)))
            except OSError as fault:
                raise _unwritable(self.folder, fault) from fault
        return place, key_place

    def _still_good(self, place: Path, hosts: Sequence[str], now: datetime) -> bool:
        try:
            found = x509.load_pem_x509_certificate(place.read_bytes())
            found.verify_directly_issued_by(self.certificate)
            names = found.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
        except (OSError, ValueError, TypeError, InvalidSignature, x509.ExtensionNotFound):
            return False
        is_now = found.not_valid_before_utc <= now
        lasts = now + timedelta(days=RENEW_DAYS) < found.not_valid_after_utc
        return is_now and lasts and set(names) == set(map(_host, hosts))

    def _issue(
        self, key: ec.EllipticCurvePrivateKey, hosts: Sequence[str], now: datetime
    ) -> x509.Certificate:
        public = key.public_key()
        own = self.certificate.public_key()
        assert isinstance(own, ec.EllipticCurvePublicKey)
        usage = x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH])
        return (
            _begun(_SERVER_NAME, self.certificate.subject, public, now, SERVER_DAYS)
            .add_extension(x509.SubjectAlternativeName([*map(_host, hosts)]), critical=False)
            .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
            .add_extension(_usage(signs_certificates=False), critical=True)
            .add_extension(usage, critical=False)
            .add_extension(x509.AuthorityKeyIdentifier.from_issuer_public_key(own), critical=False)
            .sign(self.key, hashes.SHA256())
        )


def open_authority(folder: Path, now: datetime) -> tuple[Authority, bool]:
    """Return the authority kept in ``folder``, and whether it was made just now.

    Its key is for this user alone (mode 0600).

    Raises:
        PhoneError: it cannot be read or written.
    """
    place, key_place = folder / _AUTHORITY, folder / _AUTHORITY_KEY
    if place.exists() and key_place.exists():
        found = _read(place, key_place, folder)
        if now + timedelta(days=SERVER_DAYS) < found.certificate.not_valid_after_utc:
            return found, False
    key = ec.generate_private_key(ec.SECP256R1())
    try:
        write_whole(key_place, _key_pem(key))
        made = Authority(_own_certificate(key, now), key, folder)
        write_whole(place, _pem(made.certificate))
    except OSError as fault:
        raise _unwritable(folder, fault) from fault
    return made, True


def _read(place: Path, key_place: Path, folder: Path) -> Authority:
    try:
        certificate = x509.load_pem_x509_certificate(place.read_bytes())
        key = serialization.load_pem_private_key(key_place.read_bytes(), password=None)
        if not isinstance(key, ec.EllipticCurvePrivateKey):
            raise TypeError("another kind of key")
        if key.public_key() != certificate.public_key():
            raise ValueError("the key of another certificate")
    except (OSError, ValueError, TypeError) as fault:
        raise PhoneError(
            f"The phones' certificate in {folder} cannot be read. Move that folder away to make "
            "another; every phone must then trust it and be paired anew."
        ) from fault
    return Authority(certificate, key, folder)


def _own_certificate(key: ec.EllipticCurvePrivateKey, now: datetime) -> x509.Certificate:
    # A root without a common name is not listed by iOS; the digits tell several apart.
    name = x509.Name(
        [
            x509.NameAttribute(NameOID.ORGANIZATION_NAME, "fieldvoice"),
            x509.NameAttribute(
                NameOID.COMMON_NAME, f"fieldvoice house {secrets.token_hex(2).upper()}"
            ),
        ]
    )
    networks = [x509.IPAddress(network) for network in NETWORKS]
    allowed = x509.NameConstraints([x509.DNSName(LOCAL), *networks], None)
    return (
        _begun(name, name, key.public_key(), now, AUTHORITY_DAYS)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(_usage(signs_certificates=True), critical=True)
        .add_extension(allowed, critical=True)
        .sign(key, hashes.SHA256())
    )


def _begun(
    subject: x509.Name,
    issuer: x509.Name,
    public: ec.EllipticCurvePublicKey,
    now: datetime,
    days: int,
) -> x509.CertificateBuilder:
    begins = now.astimezone(UTC) - _SLACK
    return (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(issuer)
        .public_key(public)
        .serial_number(x509.random_serial_number())
        .not_valid_before(begins)
        .not_valid_after(begins + timedelta(days=days))
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(public), critical=False)
    )


def _usage(*, signs_certificates: bool) -> x509.KeyUsage:
    return x509.KeyUsage(
        digital_signature=not signs_certificates,
        key_cert_sign=signs_certificates,
        crl_sign=signs_certificates,
        content_commitment=False,
        key_encipherment=False,
        data_encipherment=False,
        key_agreement=False,
        encipher_only=False,
        decipher_only=False,
    )


def _host(host: str) -> x509.GeneralName:
    try:
        return x509.IPAddress(ipaddress.IPv4Address(host))
    except ValueError:
        return x509.DNSName(host)


def _common_name(certificate: x509.Certificate) -> str:
    return str(certificate.subject.get_attributes_for_oid(NameOID.COMMON_NAME)[0].value)


def _pem(certificate: x509.Certificate) -> bytes:
    return certificate.public_bytes(serialization.Encoding.PEM)


def _key_pem(key: ec.EllipticCurvePrivateKey) -> bytes:
    return key.private_bytes(
        serialization.Encoding.PEM,
        serialization.PrivateFormat.PKCS8,
        serialization.NoEncryption(),
    )


def _unwritable(folder: Path, fault: OSError) -> PhoneError:
    return PhoneError(f"The phones' certificate cannot be written to {folder}: {fault.strerror}.")
