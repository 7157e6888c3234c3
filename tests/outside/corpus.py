"""Takes the spreadsheet files that other projects ship with their packages, by the packages' names, from the registries.

Which packages, in which version and with which SHA-256, stands in packages.csv. The files go below
target/outside/files/PACKAGE/ and stay there; nothing of them is kept in the repository.
"""

import csv
import hashlib
import os
import shutil
import subprocess
import sys
import tarfile
import tempfile
import zipfile

HERE = os.path.dirname(os.path.abspath(__file__))
FILES = os.path.join(HERE, "..", "..", "target", "outside", "files")
WORKBOOKS = (".xlsx", ".xlsm", ".xlsb", ".xls", ".ods")
TEXTS = (".csv", ".tsv")
# Larger ones are the measurements of others, and take openpyxl minutes.
FILE_BYTES_MAX = 512 * 1024


def run(*command, folder):
    environment = dict(os.environ, PATH=os.path.dirname(sys.executable) + os.pathsep + os.environ["PATH"])
    done = subprocess.run(command, cwd=folder, env=environment, capture_output=True, text=True, errors="replace")
    if done.returncode:
        sys.exit(f"{' '.join(command)} failed:\n{done.stdout}{done.stderr}")


def archive_of(registry, package, version, folder):
    """The package as its registry has it, fetched by the registry's own client."""
    pip = (sys.executable, "-m", "pip", "download", "--quiet", "--no-deps", "--no-build-isolation")
    if registry == "PyPI":
        run(*pip, "--no-binary", ":all:", f"{package}=={version}", folder=folder)
    elif registry == "PyPI wheel":
        old = ("--python-version", "36", "--platform", "manylinux1_x86_64")
        run(*pip, "--only-binary", ":all:", *old, f"{package}=={version}", folder=folder)
    elif registry == "npm":
        run("npm", "pack", "--silent", f"{package}@{version}", folder=folder)
    else:
        return crate(package, version, folder)
    return os.path.join(folder, os.listdir(folder)[0])


def crate(package, version, folder):
    os.mkdir(os.path.join(folder, "src"))
    open(os.path.join(folder, "src", "lib.rs"), "w").close()
    with open(os.path.join(folder, "Cargo.toml"), "w") as manifest:
        manifest.write('[package]\nname = "fetch"\nversion = "0.0.0"\nedition = "2021"\n[workspace]\n[dependencies]\n')
        manifest.write(f'{package} = "={version}"\n')
    run("cargo", "fetch", "--quiet", folder=folder)
    cache = os.path.join(os.environ.get("CARGO_HOME", os.path.expanduser("~/.cargo")), "registry", "cache")
    name = f"{package}-{version}.crate"
    found = [os.path.join(cache, registry, name) for registry in os.listdir(cache)]
    return next(path for path in found if os.path.isfile(path))


def members(archive):
    """The files of an archive, by name, with what reads them."""
    if zipfile.is_zipfile(archive):
        with zipfile.ZipFile(archive) as package:
            for entry in package.infolist():
                if not entry.is_dir() and entry.file_size <= FILE_BYTES_MAX:
                    yield entry.filename, lambda entry=entry: package.read(entry)
    else:
        with tarfile.open(archive) as package:
            for entry in package:
                if entry.isfile() and entry.size <= FILE_BYTES_MAX:
                    yield entry.name, lambda entry=entry: package.extractfile(entry).read()


def fetch(registry, package, version, sha256):
    """Lays the files of a package below FILES, unless they lie there."""
    place = os.path.join(FILES, package)
    if os.path.isdir(place):
        return
    print(f"fetching {package} {version} ({registry})", file=sys.stderr)
    with tempfile.TemporaryDirectory() as folder:
        archive = archive_of(registry, package, version, folder)
        with open(archive, "rb") as content:
            found = hashlib.sha256(content.read()).hexdigest()
        if found != sha256:
            sys.exit(f"{package} {version} is not the package that packages.csv means: its SHA-256 is {found}")
        half = place + ".half"
        shutil.rmtree(half, ignore_errors=True)
        for name, read in members(archive):
            # What the archive calls its top folder says nothing; and no name may lead out of the place.
            parts = [part for part in name.split("/") if part not in ("", ".", "..")]
            parts = parts[1:] if len(parts) > 1 and registry != "PyPI wheel" else parts
            if name.lower().endswith(WORKBOOKS + TEXTS) and not parts[-1].startswith("~$"):
                path = os.path.join(half, *parts)
                os.makedirs(os.path.dirname(path), exist_ok=True)
                with open(path, "wb") as file:
                    file.write(read())
        os.rename(half, place)


def fetch_all():
    """Fetches what is not there yet, and gives the files of every package, each once: (package, name, path)."""
    os.makedirs(FILES, exist_ok=True)
    with open(os.path.join(HERE, "packages.csv")) as packages:
        packages = [tuple(row.values()) for row in csv.DictReader(packages)]
    files, seen = [], set()
    for package in packages:
        fetch(*package)
        place = os.path.join(FILES, package[1])
        for folder, _, names in sorted(os.walk(place)):
            for name in sorted(names):
                path = os.path.join(folder, name)
                with open(path, "rb") as content:
                    content = content.read()
                if content and content not in seen:
                    seen.add(content)
                    files.append((package[1], os.path.relpath(path, place).replace(os.sep, "/"), path))
    return files
