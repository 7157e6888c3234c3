"""Reads mails back over IMAPS as the mailbox holds them, once they have come.

    read_back.py PORT CA_FILE USER MESSAGE_ID COUNT         the password stands on the standard input

Prints a list with each mail of that Message-ID: its bytes, and what the server made of its structure and its envelope
(RFC 3501, 7.4.2). Waits until COUNT of them are there, or a while; there may be more or fewer.
"""

import imaplib
import json
import ssl
import sys
import time

# How long a mail may take from the server that took it into the mailbox, in seconds: a busy machine takes 2.
WAIT_SECONDS = 30


def mails(box, message_id):
    box.noop()
    for number in box.search(None, "HEADER", "Message-ID", f'"{message_id}"')[1][0].split():
        described = box.fetch(number, "(ENVELOPE BODYSTRUCTURE)")[1][0].decode("ascii")
        whole = box.fetch(number, "(BODY.PEEK[])")[1][0][1]
        yield {"described": described, "bytes": whole.decode("ascii")}


def main():
    port, ca_file, user, message_id, count = sys.argv[1:]
    password = sys.stdin.buffer.read().decode()
    trusted = ssl.create_default_context(cafile=ca_file)
    with imaplib.IMAP4_SSL("localhost", int(port), ssl_context=trusted, timeout=WAIT_SECONDS) as box:
        box.authenticate("PLAIN", lambda _: f"\0{user}\0{password}".encode())
        box.select("INBOX", readonly=True)
        deadline = time.monotonic() + WAIT_SECONDS
        found = list(mails(box, message_id))
        while len(found) < int(count) and time.monotonic() < deadline:
            time.sleep(0.1)
            found = list(mails(box, message_id))
        print(json.dumps(found))


if __name__ == "__main__":
    main()
