"""Chooses what is kept of a door's findings: a few files that together pass most of the code passed.

    python tests/fuzz/keep.py DOOR MOST        after tests/fuzz/run DOOR

Takes the kept corpus and what lies in target/fuzz/found, asks the door (libFuzzer's merge) which places of the code each
file passes, and fills corpus/DOOR up to MOST files, chosen one by one: each the one that adds the most places, the
shorter of two alike. A file that has a name in words was written for what it says, or once broke something, and stays;
the others bear numbers. A file that ends the door is left out, and named.
"""

import subprocess
import sys
import tempfile
from pathlib import Path

HERE = Path(__file__).resolve().parent
FUZZ = HERE.parents[1] / "target/fuzz"

# libFuzzer counts how often a place is passed in eight steps; here only that it is passed counts.
STEPS = 8


def places_by_file(control):
    """Which places each file passes, as the merge wrote them down."""
    lines = control.read_text(errors="replace").splitlines()
    files = lines[2 : 2 + int(lines[0])]
    places = {}
    for line in lines[2 + len(files) :]:
        word, number, *features = line.split()
        if word == "FT":
            places[files[int(number)]] = {int(feature) // STEPS for feature in features}
    for file in set(files) - places.keys():
        print(f"ends the door: {file}")
    return places


def choose(places, staying, most):
    """The files that are kept beside those that stay, best first."""
    passed = set().union(*(places.get(file, set()) for file in staying))
    left = {file: passes for file, passes in places.items() if file not in staying}
    chosen = []
    while left and len(staying) + len(chosen) < most:
        best = max(left, key=lambda file: (len(left[file] - passed), -Path(file).stat().st_size, file))
        if not left[best] - passed:
            break
        passed |= left.pop(best)
        chosen.append(best)
    everything = set().union(*places.values())
    kept = len(staying) + len(chosen)
    print(f"{kept} of {len(places)} files pass {len(passed)} of {len(everything)} places")
    return chosen


def main():
    door, most = sys.argv[1], int(sys.argv[2])
    program = next(FUZZ.glob(f"*/release/{door}"))
    corpus = HERE / "corpus" / door
    with tempfile.TemporaryDirectory() as scratch:
        control, merged = Path(scratch, "control"), Path(scratch, "merged")
        merged.mkdir()
        merge = ["-set_cover_merge=1", f"-merge_control_file={control}", "-timeout=5", f"-artifact_prefix={scratch}/"]
        subprocess.run([program, *merge, merged, corpus, FUZZ / "found" / door], check=True, capture_output=True)
        numbered = [file for file in corpus.iterdir() if file.name.isdigit()]
        staying = {str(file) for file in corpus.iterdir()} - {str(file) for file in numbered}
        chosen = [Path(file).read_bytes() for file in choose(places_by_file(control), staying, most)]
    for file in numbered:
        file.unlink()
    for number, kept in enumerate(chosen, 1):
        (corpus / f"{number:02}").write_bytes(kept)


main()
