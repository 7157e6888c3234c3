"""Runs the Windows program under Wine, and holds what it does against what the same program does here.

    python tests/windows/check.py WINDOWS_PROGRAM PROGRAM        from tests/windows/run

Wine is no Windows: what it cannot show is listed in DEVELOPERS.md.
"""

import contextlib
import difflib
import email
import json
import os
import re
import shutil
import signal
import subprocess
import sys
import tempfile
import time
import zipfile
from pathlib import Path

import wine

REPOSITORY = Path(__file__).resolve().parents[2]

# What hangs under Wine must not hang the tests: so long, in seconds, may a command take, and what is waited for.
STEP_SECONDS = 300


class Program:
    """The program, here or under Wine, in a folder of its own."""

    def __init__(self, command, folder):
        self.command, self.folder = command, folder
        self.here = {"cwd": folder, "env": wine.environment(), "stdin": subprocess.DEVNULL}
        folder.mkdir(parents=True)

    def run(self, *arguments, code=0):
        """What the program printed, output and error stream, as this system would have it."""
        command = [*self.command, *arguments]
        done = subprocess.run(command, **self.here, capture_output=True, timeout=STEP_SECONDS, check=False)
        printed, said = (self.plain(stream.decode("utf-8")) for stream in (done.stdout, done.stderr))
        if done.returncode != code:
            raise AssertionError(f"{arguments}: exit code {done.returncode} instead of {code}\n{printed}\n{said}")
        return printed, said

    def text(self, name):
        return self.plain((self.folder / name).read_text("utf-8"))

    def start(self, *arguments):
        """The program at work; what it says goes where this script's words go."""
        return subprocess.Popen([*self.command, *arguments], **self.here)

    def last_round(self, yard):
        """What the long run's last round did; None before the first."""
        status = self.folder / yard / "kept/status.json"
        return status.is_file() and json.loads(status.read_text("utf-8"))["last_round"]

    def last_log_line(self, yard):
        """The last words of the newest log, without time and level."""
        newest = max((self.folder / yard / "kept/log").iterdir(), key=lambda path: path.stat().st_mtime)
        return newest.read_text("utf-8").splitlines()[-1].split(" INFO ")[-1].strip()

    def plain(self, text):
        """Text with the line ends and path separators of this system, and this folder as HERE."""
        text = text.replace("\r\n", "\n").replace("\\\\", "/").replace("\\", "/")
        return text.replace(f"Z:{self.folder}", "HERE").replace(str(self.folder), "HERE")


# The least that the settings allow.
READER_MEMORY = ('# reader_memory = "1 GB"', 'reader_memory = "64 MB"')


def write_greedy_workbook(path):
    """An .xlsx whose table of strings, as ECMA-376 lays it down, holds one of 64 MB."""
    main = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
    relations = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
    parts = {
        "[Content_Types].xml": "<Types/>",
        "_rels/.rels": "<Relationships>"
        f'<Relationship Id="w" Type="{relations}/officeDocument" Target="xl/workbook.xml"/></Relationships>',
        "xl/workbook.xml": f'<workbook xmlns="{main}" xmlns:r="{relations}">'
        '<sheets><sheet name="Stock" sheetId="1" r:id="r1"/></sheets></workbook>',
        "xl/_rels/workbook.xml.rels": "<Relationships>"
        f'<Relationship Id="s" Type="{relations}/sharedStrings" Target="sharedStrings.xml"/>'
        f'<Relationship Id="r1" Type="{relations}/worksheet" Target="worksheets/sheet1.xml"/></Relationships>',
        "xl/sharedStrings.xml": f'<sst xmlns="{main}"><si><t>{"a" * (64 << 20)}</t></si></sst>',
        "xl/worksheets/sheet1.xml": f'<worksheet xmlns="{main}"><sheetData><row><c t="s"><v>0</v></c></row>'
        "</sheetData></worksheet>",
    }
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as workbook:
        for name, content in parts.items():
            workbook.writestr(name, content)


def wait_until(what, happened):
    """Waits until something has happened, and gives it."""
    given_up = time.monotonic() + STEP_SECONDS
    while time.monotonic() < given_up:
        if seen := happened():
            return seen
        time.sleep(0.2)
    raise AssertionError(f"waited {STEP_SECONDS} s in vain until {what}")


def same(what, there, here):
    """What came of it under Wine is what came of it here, or what it must be."""
    if there != here:
        lines = ("\n".join(it).splitlines() if isinstance(it, (tuple, list)) else str(it).splitlines() for it in (there, here))
        shown = "\n".join(difflib.unified_diff(*lines, "under Wine", "expected", n=1, lineterm=""))
        raise AssertionError(f"{what} differs\n{shown}")


def holds(what, text, part):
    """Some text has a part in it."""
    if part not in text:
        raise AssertionError(f"{what} has no `{part}`:\n{text}")


def version(windows, linux):
    """It starts, and says which version it is."""
    same("the version", windows.run("--version"), linux.run("--version"))


def demo(windows, linux):
    """The demo's letter, printed and in its folder, is the same; so are the exit code and the list of files."""
    same("the demo", windows.run("demo", "démo"), linux.run("demo", "démo"))
    for name in ("2026-03-02.txt", "2026-03-02.html"):
        same(name, windows.text(f"démo/digests/{name}"), linux.text(f"démo/digests/{name}"))


def setup_and_morning(windows, linux):
    """A shop's own exports are set up and read, text files and workbooks of all kinds; a second round tells the same."""
    for program in (windows, linux):
        shutil.copytree(REPOSITORY / "examples/shop/sheets", program.folder / "exports")
        for path in (program.folder / "exports").iterdir():
            os.utime(path, (1772430600, 1772430600))
    exports = sorted(path.name for path in (windows.folder / "exports").iterdir())
    arguments = ["setup", "--yard", "yard", "--accept", *(f"exports/{name}" for name in exports)]
    # What clocks count in is open: not every figure has its unit beside it.
    same("setup", windows.run(*arguments, code=1), linux.run(*arguments, code=1))
    same("the settings", windows.text("yard/tickover.toml"), linux.text("yard/tickover.toml"))
    morning = ["morning", "--yard", "yard", "--today", "2026-03-02"]
    for edition in ("first", "second"):
        # The two ran one after the other, so that the minute in which each was told may differ.
        there, here = (
            [re.sub(r"told at \d\d:\d\d;", "told at that minute;", words) for words in program.run(*morning)]
            for program in (windows, linux)
        )
        same(f"the {edition} round", there, here)
        same("the letter", windows.text("yard/digests/2026-03-02.txt"), linux.text("yard/digests/2026-03-02.txt"))


def greedy_workbook(windows, linux):
    """A workbook that unpacks to more memory than its reader may take is one complaint, and stops nothing else."""
    for program in (windows, linux):
        program.run("demo", "yard")
        settings = program.folder / "yard/tickover.toml"
        settings.write_text(settings.read_text("utf-8").replace(*READER_MEMORY), "utf-8")
        write_greedy_workbook(program.folder / "yard/sheets/greedy.xlsx")
    morning = ["morning", "--yard", "yard", "--today", "2026-03-03"]
    there, here = windows.run(*morning, code=1), linux.run(*morning, code=1)
    same("the round", there, here)
    if "needs more than 64 MB of memory" not in there[1]:
        raise AssertionError(f"the workbook was not stopped:\n{there[1]}")


def long_run(windows, _):
    """The long run sends the day's letter at its start, whole, reads again once a file has changed, and ends when asked."""
    windows.run("demo", "yard")

    def written():
        return set((windows.folder / "yard/digests").glob("*.eml"))

    before = written()
    with mail_server() as server:
        send_by(server, windows.folder / "yard")
        run = windows.start("run", "--yard", "yard")
        first = wait_until("the first round is done", lambda: windows.last_round("yard"))
        (eml,) = wait_until("the day's letter is written", lambda: written() - before)
        (mail,) = wait_until("the letter is in its mailbox", lambda: read_back(server, eml))
        same("what the mailbox holds", mail["bytes"].endswith(eml.read_bytes().decode("ascii")), True)
        shutil.copy(windows.folder / "yard/sheets/mileages.csv", windows.folder / "yard/sheets/more mileages.csv")
        wait_until(
            "the new file is read",
            lambda: (last := windows.last_round("yard")) and last["sheets"] == first["sheets"] + 1,
        )
        refused = windows.run("run", "--yard", "yard", code=2)[1]
        holds("the refusal of a second run", refused, "another long run is at work")
        run.send_signal(signal.SIGINT)
        code = run.wait(STEP_SECONDS)
    same("the exit code", code, 0)
    same("the log's last words", windows.last_log_line("yard"), "the long run ends")


@contextlib.contextmanager
def mail_server():
    """The mail server of the other tests, at work."""
    command = [sys.executable, REPOSITORY / "tests/mail/server.py"]
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as server:
        line = server.stdout.readline()
        if not line:
            raise AssertionError("the mail server did not start; its reason stands above")
        yield json.loads(line)
        server.stdin.close()


def send_by(server, yard):
    """Has a yard's letter sent by a mail server, encrypted and signed in, on every day from midnight on."""
    (yard / "mail-password").write_text(server["password"], "utf-8")
    shutil.copy(Path(server["place"], "certificates/ca.pem"), yard / "ca.pem")
    wanted = {
        "letter_at": "00:00",
        "bank_holidays": "none",
        "server": "localhost",
        "port": server["ports"]["starttls"],
        "security": "starttls",
        "user": server["user"],
        "password_file": "mail-password",
        "ca_file": "ca.pem",
        "open": ["Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday"],
        "from": server["user"],
        "to": [server["user"]],
    }
    settings = (yard / "tickover.toml").read_text("utf-8")
    for key, value in wanted.items():
        settings, count = re.subn(rf"(?m)^(# )?{key} = .*$", lambda _: f"{key} = {json.dumps(value)}", settings)
        same(f"how often the settings have `{key}`", count, 1)
    (yard / "tickover.toml").write_text(settings, "utf-8")


def read_back(server, eml):
    """The mails with the Message-ID of that file, as their mailbox holds them."""
    message_id = email.message_from_bytes(eml.read_bytes())["Message-ID"]
    command = [sys.executable, REPOSITORY / "tests/mail/read_back.py", server["place"]]
    command += [str(server["ports"]["imaps"]), server["user"], message_id]
    done = subprocess.run(command, input=server["password"].encode(), stdout=subprocess.PIPE, check=True)
    return json.loads(done.stdout)


def autostart(windows, _):
    """The service is installed, runs, reads, stops and is removed; what is not installed is said."""
    windows.run("demo", "yard here")
    said = windows.run("autostart", "status", code=1)[1]
    holds("that it is not installed is said", said, "does not start with this PC")
    printed, _ = windows.run("autostart", "install", "--yard", "yard here")
    same("what was done", printed.splitlines()[0], "Tickover keeps HERE/yard here from now on.")
    wait_until("the service's first round is done", lambda: windows.last_round("yard here"))
    lines = windows.run("autostart", "status")[0].splitlines()
    same("the status", lines[0], "Installed for the yard folder HERE/yard here")
    same("the status", lines[1].startswith("Running since "), True)
    windows.run("autostart", "install", "--yard", "yard here")
    windows.run("demo", "other")
    said = windows.run("autostart", "install", "--yard", "other", code=2)[1]
    holds("why another is not installed", said, "installed already, for the yard folder HERE/yard here")
    windows.run("autostart", "remove")
    same("the log's last words", windows.last_log_line("yard here"), "the long run ends")
    windows.run("autostart", "status", code=1)


def service_that_cannot_run(windows, _):
    """Why a service could not run stands in the log that the installer names."""
    windows.run("demo", "yard")
    run = windows.start("run", "--yard", "yard")
    wait_until("a run holds the yard folder", lambda: windows.last_round("yard"))
    said = windows.run("autostart", "install", "--yard", "yard", code=1)[1]
    holds("where to look", said, "The log in `HERE/yard/kept/log` says why")
    holds("what stands there", windows.text("yard/kept/log/tickover.log"), "another long run is at work")
    run.send_signal(signal.SIGINT)
    same("the exit code of the run", run.wait(STEP_SECONDS), 0)
    windows.run("autostart", "remove")


def foreign_service(windows, _):
    """Somebody else's service of the same name is told of, and neither changed nor removed."""
    windows.run("demo", "yard")
    program = r"C:\elsewhere\other.exe --quiet"
    services = Program([wine.WINE, "sc"], windows.folder / "services")
    registry = Program([wine.WINE, "reg"], windows.folder / "registry")
    standing = ["query", r"HKLM\System\CurrentControlSet\Services\Tickover", "/s"]
    services.run("create", "Tickover", "binPath=", program)
    before = registry.run(*standing)
    holds("the service", before[0], windows.plain(program))
    for arguments in (["install", "--yard", "yard"], ["status"], ["remove"]):
        said = windows.run("autostart", *arguments, code=2)[1]
        holds(f"what {arguments} says", said, f"it runs `{windows.plain(program)}`")
    same("the service", registry.run(*standing), before)
    services.run("delete", "Tickover")


STEPS = [version, demo, setup_and_morning, greedy_workbook, long_run, autostart, service_that_cannot_run, foreign_service]


def main(windows_program, linux_program):
    with tempfile.TemporaryDirectory(prefix="tickover-windows-") as scratch, wine.at_work():
        for step in STEPS:
            begun = time.monotonic()
            # With the drive's `Z:` the paths of the two are of one length, so that lines break alike.
            windows = Program([wine.WINE, str(Path(windows_program).resolve())], Path(scratch, step.__name__, "wine"))
            linux = Program([str(Path(linux_program).resolve())], Path(scratch, step.__name__, "system"))
            step(windows, linux)
            print(f"ok: {step.__doc__} ({time.monotonic() - begun:.1f} s)", flush=True)


if __name__ == "__main__":
    try:
        main(*sys.argv[1:])
    except (AssertionError, subprocess.SubprocessError) as failure:
        sys.exit(f"tests/windows: {failure}")
