"""Puts what a script has measured into README.md, between the marks of its name."""

import os
import re

PAGE = os.path.join(os.path.dirname(os.path.abspath(__file__)), "README.md")


def has(name, lines):
    """Whether it stands there already."""
    with open(PAGE) as page:
        return "\n".join([f"<!-- {name} -->", *lines, f"<!-- /{name} -->\n"]) in page.read()


def put(name, lines):
    with open(PAGE) as page:
        text = page.read()
    block = re.compile(f"(<!-- {name} -->\n).*?(<!-- /{name} -->\n)", re.DOTALL)
    measured = "\n".join(lines)
    text, count = block.subn(lambda marks: f"{marks[1]}{measured}\n{marks[2]}", text)
    assert count == 1, f"{PAGE} has one block {name}"
    with open(PAGE, "w") as page:
        page.write(text)
