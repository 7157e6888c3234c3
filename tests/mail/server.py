"""A real mail server for the tests: postfix and dovecot on this PC's loopback address, with settings of their own.

    server.py           as root; tests/mail/install brings the packages

Once it takes mail it prints one line of JSON: its folder, in which `certificates/ca.pem` is to be trusted, its ports, and
a password and tokens to sign in with. It runs until its standard input is closed, so it never outlives the test that
started it, however that ends; then nothing of it is left. Every shop `NAME.example` has a mailbox for each of PEOPLE,
and none for anybody else.
"""

import base64
import hashlib
import hmac
import json
import os
import pathlib
import re
import secrets
import shutil
import signal
import socket
import ssl
import subprocess
import sys
import tempfile
import time

import make_certificates

SETTINGS = pathlib.Path(__file__).resolve().parent / "settings"
PORTS = ["starttls", "tls", "wrong_name", "expired", "self_signed", "imaps"]
# Who has a mailbox at every shop.
PEOPLE = ["workshop", "desk", "owner"]
# Beyond plain letters, as people choose them.
PASSWORD = "grün & öl, 26%"
# How long the two may take to start, in seconds: a busy PC takes 10.
START_SECONDS = 60


class CannotRun(Exception):
    """Why there is no mail server, in words."""


def free_ports(names):
    """A free port for each name: several tests, and several copies of the repository, may run at once."""
    sockets = {name: socket.create_server(("127.0.0.1", 0)) for name in names}
    ports = {name: held.getsockname()[1] for name, held in sockets.items()}
    for held in sockets.values():
        held.close()
    return ports


def filled_in(name, values):
    """One of the settings files with the names between two `@` replaced by their values."""
    return re.sub("@([A-Z_]+)@", lambda found: str(values[found[1]]), (SETTINGS / name).read_text())


def url_safe(content):
    return base64.urlsafe_b64encode(content).rstrip(b"=")


def token(key, user, seconds):
    """A JSON Web Token (RFC 7519) that this user signs in with, valid for some seconds from now."""
    now = int(time.time())
    head = {"typ": "JWT", "alg": "HS256"}
    claims = {"sub": user, "email": user, "iat": now - 3600, "exp": now + seconds}
    signed = b".".join(url_safe(json.dumps(part).encode()) for part in (head, claims))
    return (signed + b"." + url_safe(hmac.digest(key, signed, hashlib.sha256))).decode()


def lay_out(place, ports, token_key):
    """Everything that the two need, below one folder."""
    place.chmod(0o755)
    for name in ["postfix", "queue", "data", "dovecot", "mailboxes", "settings", "token-keys/default/HS256"]:
        (place / name).mkdir(parents=True)
    shutil.chown(place / "mailboxes", "mail", "mail")
    shutil.chown(place / "data", "postfix")
    make_certificates.make(place / "certificates")
    (place / "token-keys/default/HS256/default").write_bytes(base64.b64encode(token_key))
    users = [f"{person}:{{PLAIN}}{PASSWORD}\n" for person in PEOPLE]
    (place / "settings/users").write_text("".join(users))
    values = {name.upper(): port for name, port in ports.items()} | {"PLACE": place, "PEOPLE": "|".join(PEOPLE)}
    for name, path in [
        ("main.cf", "postfix/main.cf"),
        ("master.cf", "postfix/master.cf"),
        ("dovecot.conf", "settings/dovecot.conf"),
        ("token.conf", "settings/token.conf"),
    ]:
        (place / path).write_text(filled_in(name, values))


def control(place, what):
    """Starts or stops both, each by its own command; what they say is in a log, since their daemons keep it open."""
    with (place / "control.log").open("ab") as log:
        for command in (
            ["dovecot", "-c", str(place / "settings/dovecot.conf")] + ([what] if what == "stop" else []),
            ["postfix", "-c", str(place / "postfix"), what],
        ):
            done = subprocess.run(command, stdin=subprocess.DEVNULL, stdout=log, stderr=log, timeout=START_SECONDS)
            if what == "start" and done.returncode != 0:
                raise CannotRun(f"{command[0]} did not start; the logs say:\n{logs(place)}")


def greeting(port, name, trusted):
    """What the server says first on a port, or nothing."""
    try:
        with socket.create_connection(("127.0.0.1", port), timeout=5) as plain:
            plain.settimeout(5)
            if name == "starttls":
                return plain.recv(200)
            with trusted.wrap_socket(plain, server_hostname="localhost") as secure:
                return secure.recv(200)
    except OSError:
        return b""


def wait_until_ready(place, ports):
    trusted = ssl.create_default_context(cafile=place / "certificates/ca.pem")
    trusted.check_hostname = False
    trusted.verify_mode = ssl.CERT_NONE  # three of the ports show a certificate that nobody should trust
    deadline = time.monotonic() + START_SECONDS
    for name, port in ports.items():
        while not greeting(port, name, trusted).startswith((b"220 ", b"* OK ")):
            if time.monotonic() > deadline:
                raise CannotRun(f"port {port} ({name}) gives no answer; the logs say:\n{logs(place)}")
            time.sleep(0.05)


def logs(place):
    """The last lines of every log."""
    lines = []
    for path in sorted(place.glob("*.log")):
        lines += [f"{path.name}: {line}" for line in path.read_text(errors="replace").splitlines()[-30:]]
    return "\n".join(lines)


def check_machine():
    if os.geteuid() != 0:
        raise CannotRun("postfix can be started only by root; run the tests as root")
    for program in ("postfix", "dovecot"):
        if shutil.which(program) is None:
            raise CannotRun(f"{program} is not here; tests/mail/install brings it")
    version = subprocess.run(["dovecot", "--version"], capture_output=True, text=True, check=True).stdout
    if not version.startswith("2.3."):
        raise CannotRun(f"this is dovecot {version.strip()}; tests/mail/settings/dovecot.conf is written for 2.3")


def main():
    check_machine()
    # Below /tmp, and under a short name: postfix and dovecot run as users of their own, who cannot look into every
    # home folder, and the path of a socket may have 107 bytes only.
    place = pathlib.Path(tempfile.mkdtemp(prefix="tickover-mail-", dir="/tmp"))
    # Whoever ends us with a signal gets the same tidy end.
    for asked in (signal.SIGTERM, signal.SIGINT):
        signal.signal(asked, lambda *_: sys.exit(0))
    try:
        ports, token_key = free_ports(PORTS), secrets.token_bytes(32)
        lay_out(place, ports, token_key)
        control(place, "start")
        wait_until_ready(place, ports)
        ready = {
            "place": str(place),
            "ports": ports,
            "user": "desk@shop.example",
            "password": PASSWORD,
            "token": token(token_key, "desk@shop.example", 3600),
            "expired_token": token(token_key, "desk@shop.example", -60),
        }
        print(json.dumps(ready), flush=True)
        sys.stdin.buffer.read()
    finally:
        control(place, "stop")
        shutil.rmtree(place, ignore_errors=True)


if __name__ == "__main__":
    try:
        main()
    except CannotRun as reason:
        sys.exit(f"tests/mail/server.py: {reason}")
