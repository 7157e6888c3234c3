"""Reads a mail strictly with Python's `email`, which knows nothing of how it was written, and prints what it found.

    read_mail.py FILE

`faults` lists what breaks a standard, each with its source; a mail that is right has none.
"""

import collections
import email
import email.policy
import json
import re
import sys
from email.header import decode_header, make_header

# Each of these stands exactly once in a mail of ours: the first four by RFC 5322, 3.6 and RFC 2045, 4, the others
# because readers and servers look for them.
ONCE = ["Date", "From", "MIME-Version", "Content-Type", "To", "Subject", "Message-ID", "Auto-Submitted", "List-Id"]
# What stands twice at most once in any mail (RFC 5322, 3.6).
NEVER_TWICE = ["Sender", "Reply-To", "Cc", "Bcc", "In-Reply-To", "References"]


def faults(raw, mail):
    """What breaks a standard."""
    if re.search(rb"(?<!\r)\n|\r(?!\n)", raw):
        yield "a line ends otherwise than in CR LF (RFC 5322, 2.3)"
    if [byte for byte in raw if byte > 126 or byte < 32 and byte not in b"\t\r\n"]:
        yield "it holds a byte that is no plain letter, blank or line end (RFC 5322, 2.2 and RFC 2045, 2.7)"
    if max(map(len, raw.split(b"\r\n"))) > 998:
        yield "a line is longer than 998 bytes (RFC 5322, 2.1.1)"
    count = collections.Counter(name.lower() for name in mail.keys())
    for name in ONCE:
        if count[name.lower()] != 1:
            yield f"{name} stands there {count[name.lower()]} times"
    for name in NEVER_TWICE:
        if count[name.lower()] > 1:
            yield f"{name} stands there more than once (RFC 5322, 3.6)"
    head, _, body = raw.partition(b"\r\n\r\n")
    for word in re.findall(rb"=\?[^?\s]+\?[bBqQ]\?[^?\s]*\?=", head):
        if len(word) > 75:
            yield f"an encoded word has {len(word)} letters, of 75 (RFC 2047, 2)"
    # The mail library breaks no line between a name and its address. Only in such a line is the limit for encoded words
    # not kept; every reader and server we know takes it.
    lines = [line.split(b" <")[0] for line in head.split(b"\r\n")]
    if any(len(line) > 76 and b"=?utf-8?" in line for line in lines):
        yield "a header line with an encoded word is longer than 76 letters (RFC 2047, 2)"
    if any(len(line) > 76 for line in body.split(b"\r\n")):
        yield "a line of an encoded body is longer than 76 letters (RFC 2045, 6.7 and 6.8)"
    if re.search(rb"[ \t]\r\n", body):
        yield "a line of a body ends in a blank, which a server may take away (RFC 2045, 6.7)"
    for part in mail.walk():
        yield from map(repr, part.defects)
        if not part.is_multipart() and part["Content-Transfer-Encoding"] not in ("quoted-printable", "base64"):
            yield f"a part is in {part['Content-Transfer-Encoding']}"


def addresses(mail, name):
    return [[address.display_name, address.addr_spec] for address in mail[name].addresses]


def found(raw):
    # Any defect is an error; and the policy SMTP parses every header that is looked at by RFC 5322.
    mail = email.message_from_bytes(raw, policy=email.policy.SMTP.clone(raise_on_defect=True))
    for value in mail.values():
        str(value)
    parts = [part for part in mail.walk() if not part.is_multipart()]
    # The headers' words are decoded by `email.header`: Python 3.11's own parser of addresses puts a blank between two
    # encoded words, which RFC 2047, 6.2 tells readers to join.
    plain = email.message_from_bytes(raw).items()
    return {
        "headers": [[name, str(make_header(decode_header(value)))] for name, value in plain],
        "from": addresses(mail, "From"),
        "to": addresses(mail, "To"),
        "date": mail["Date"].datetime.isoformat(),
        "tree": [part.get_content_type() for part in mail.walk()],
        "contents": [part.get_content() for part in parts],
        "names": [part.get_filename() for part in parts],
        "faults": list(faults(raw, mail)),
    }


if __name__ == "__main__":
    with open(sys.argv[1], "rb") as file:
        print(json.dumps(found(file.read())))
