"""Reads mails back over IMAPS as a mailbox holds them, once the server has put all that it took into the mailboxes.

    read_back.py PLACE PORT USER [MESSAGE_ID]           the password stands on the standard input

Prints a list with each mail, or each of that Message-ID: its bytes, and what the server made of its envelope and its
structure (RFC 3501, 7.4.2). PLACE is the folder of the server, PORT that of its mailboxes.
"""

import imaplib
import json
import pathlib
import ssl
import subprocess
import sys
import time

# How long a mail may be on its way from the server into a mailbox, in seconds: a busy PC takes 2.
WAIT_SECONDS = 60


def wait_until_delivered(place):
    """A mail that postfix took stands in its queue until it is in its mailboxes."""
    deadline = time.monotonic() + WAIT_SECONDS
    listing = ["postqueue", "-c", str(place / "postfix"), "-p"]
    while b"Mail queue is empty" not in subprocess.run(listing, stdout=subprocess.PIPE, check=True).stdout:
        if time.monotonic() > deadline:
            sys.exit("tests/mail/read_back.py: the server does not get its mails into the mailboxes")
        time.sleep(0.1)


def mails(box, message_id):
    wanted = ["HEADER", "Message-ID", f'"{message_id}"'] if message_id else ["ALL"]
    for number in box.search(None, *wanted)[1][0].split():
        described = box.fetch(number, "(ENVELOPE BODYSTRUCTURE)")[1][0].decode("ascii")
        whole = box.fetch(number, "(BODY.PEEK[])")[1][0][1]
        yield {"described": described, "bytes": whole.decode("ascii")}


def main():
    place, port, user, message_id = (sys.argv[1:] + [""])[:4]
    password = sys.stdin.buffer.read().decode()
    place = pathlib.Path(place)
    wait_until_delivered(place)
    trusted = ssl.create_default_context(cafile=place / "certificates/ca.pem")
    with imaplib.IMAP4_SSL("localhost", int(port), ssl_context=trusted, timeout=WAIT_SECONDS) as box:
        box.authenticate("PLAIN", lambda _: f"\0{user}\0{password}".encode())
        box.select("INBOX", readonly=True)
        print(json.dumps(list(mails(box, message_id))))


if __name__ == "__main__":
    main()
