"""Makes the certificates that the tests' mail servers show: one good one, and one of each kind to be refused.

    make_certificates.py [FOLDER]       target/mail where none is given

Writes `ca.pem` with `ca.key`, which signs the others, and for each of these a certificate `NAME.pem` with its key `NAME.key`:
    server      good: for localhost and 127.0.0.1
    wrong       good, but for mail.elsewhere.example
    expired     for localhost, no longer valid since yesterday
    self        for localhost, signed by itself alone
"""

import datetime
import ipaddress
import os
import pathlib
import sys

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

DAY = datetime.timedelta(days=1)
NOW = datetime.datetime.now(datetime.timezone.utc)
HERE = [x509.DNSName("localhost"), x509.IPAddress(ipaddress.IPv4Address("127.0.0.1"))]
ELSEWHERE = [x509.DNSName("mail.elsewhere.example")]


def named(name):
    return x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, name)])


def certificate(name, key, issuer, issuer_key, names=None, until=NOW + 30 * DAY):
    """A certificate of 31 days, for the names given; without names, one that may sign others."""
    made = (
        x509.CertificateBuilder()
        .subject_name(named(name))
        .issuer_name(named(issuer))
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(until - 31 * DAY)
        .not_valid_after(until)
        .add_extension(x509.BasicConstraints(ca=names is None, path_length=None), critical=True)
    )
    if names is not None:
        made = made.add_extension(x509.SubjectAlternativeName(names), critical=False)
        made = made.add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
    return made.sign(issuer_key, hashes.SHA256())


def write(path, content):
    """Whole or not at all, and a key for nobody else's eyes: several tests may make their certificates at once."""
    beside = path.with_name(f".{path.name}.{os.getpid()}")
    beside.touch(mode=0o600)
    beside.write_bytes(content)
    beside.replace(path)


def private(key):
    return key.private_bytes(
        serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
    )


def make(folder):
    folder.mkdir(parents=True, exist_ok=True)
    signer = ec.generate_private_key(ec.SECP256R1())
    ca = certificate("The tests' own authority", signer, "The tests' own authority", signer)
    write(folder / "ca.pem", ca.public_bytes(serialization.Encoding.PEM))
    write(folder / "ca.key", private(signer))
    for name, names, until, signs_itself in [
        ("server", HERE, NOW + 30 * DAY, False),
        ("wrong", ELSEWHERE, NOW + 30 * DAY, False),
        ("expired", HERE, NOW - DAY, False),
        ("self", HERE, NOW + 30 * DAY, True),
    ]:
        key = ec.generate_private_key(ec.SECP256R1())
        issuer, issuer_key = (name, key) if signs_itself else ("The tests' own authority", signer)
        made = certificate(name, key, issuer, issuer_key, names, until)
        write(folder / f"{name}.pem", made.public_bytes(serialization.Encoding.PEM))
        write(folder / f"{name}.key", private(key))


if __name__ == "__main__":
    repository = pathlib.Path(__file__).resolve().parents[2]
    make(pathlib.Path(sys.argv[1]) if len(sys.argv) > 1 else repository / "target/mail")
