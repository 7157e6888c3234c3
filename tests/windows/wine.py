"""Wine with a Windows of its own in target/windows, at work only as long as the tests need it.

Every process of it is known by its environment, which names that Windows: so none is left over, and no other Wine of the
PC is touched.
"""

import contextlib
import os
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

REPOSITORY = Path(__file__).resolve().parents[2]
PREFIX = REPOSITORY / "target/windows/wine"
READY = PREFIX / "ready"
WINE = "/usr/lib/wine/wine64"
WINESERVER = "/usr/lib/wine/wineserver64"

# How long Wine may take for its own start or end, in seconds; two cores with ten at work take 30 for the first of all
# starts, and 1 for an end.
WINE_SECONDS = 300

# How often a Windows may be laid out before it counts as failed. Wine's own first start, before any program of ours, has
# ended with its exit code 53, a library that it did not find, where it went well thirty times out of thirty.
TRIES = 3


def environment():
    """This process's environment with what Wine needs: no screen, no words of its own, and nothing to install."""
    ours = {"WINEPREFIX": str(PREFIX), "WINEDEBUG": "-all", "WINEDLLOVERRIDES": "mscoree,mshtml="}
    return {name: value for name, value in os.environ.items() if name != "DISPLAY"} | ours


@contextlib.contextmanager
def at_work():
    """Wine at work, with one service manager from beginning to end; afterwards nothing of it is left."""
    # Whoever has the tests ended has Wine ended, too.
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(143))
    try:
        # What a run that was killed has left would be in the way.
        end()
        if not READY.exists():
            lay_out()
        tell(WINESERVER, "--persistent")
        tell(WINE, "cmd", "/c", "exit")
        yield
    except BaseException:
        # A Windows in which a test has failed may have a service left, and is made anew.
        READY.unlink(missing_ok=True)
        raise
    finally:
        end()


def lay_out():
    """Makes the Windows, as new; says what Wine said where that took more than one try."""
    for left in reversed(range(TRIES)):
        shutil.rmtree(PREFIX, ignore_errors=True)
        PREFIX.parent.mkdir(parents=True, exist_ok=True)
        said = PREFIX.with_name("wine.log")
        try:
            with said.open("wb") as log:
                tell(WINE, "wineboot", "--init", stderr=log)
            break
        except subprocess.SubprocessError as failure:
            print(f"tests/windows: Wine could not lay a Windows out: {failure}", file=sys.stderr)
            print(said.read_text("utf-8", "replace")[-2000:], file=sys.stderr, flush=True)
            if not left:
                raise
        finally:
            # The start that lays a Windows out leaves it with two service managers.
            end()
    # Every Windows since 10 has this library, which Rust needs; Debian's Wine does not, so it gets one of ours.
    library = PREFIX / "drive_c/windows/system32/bcryptprimitives.dll"
    source = Path(__file__).with_name("bcryptprimitives.c")
    subprocess.run(["x86_64-w64-mingw32-gcc", "-shared", "-O2", "-o", library, source, "-ladvapi32"], check=True)
    READY.touch()


def tell(*command, stderr=subprocess.DEVNULL):
    """Has Wine do something. What it starts goes on, and so must not hold this script's output open."""
    streams = {"stdin": subprocess.DEVNULL, "stdout": subprocess.DEVNULL, "stderr": stderr}
    subprocess.run(command, env=environment(), check=True, timeout=WINE_SECONDS, **streams)


def end():
    """Ends every process of this Wine."""
    given_up = time.monotonic() + WINE_SECONDS
    while left := processes():
        if time.monotonic() > given_up:
            for process in left:
                with contextlib.suppress(ProcessLookupError):
                    os.kill(process, signal.SIGKILL)
            raise AssertionError(f"processes of Wine did not end in {WINE_SECONDS} s, and were killed: {left}")
        # It ends its processes with itself. Without one of them there may still be one that is just starting.
        subprocess.run([WINESERVER, "--kill"], env=environment(), check=False, stderr=subprocess.DEVNULL)
        time.sleep(0.2)


def processes():
    """The processes of this Wine, by number."""
    mark = f"WINEPREFIX={PREFIX}".encode()
    found = []
    for folder in Path("/proc").glob("[0-9]*"):
        # One that has just ended, or is another account's, is none of ours.
        with contextlib.suppress(OSError):
            if mark in (folder / "environ").read_bytes().split(b"\0"):
                found.append(int(folder.name))
    return found
