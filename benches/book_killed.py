#!/usr/bin/env python3
"""Grades a made-up site into a book, killed many times at random moments, and once left alone; compares the records.

Usage: benches/book_killed.py PITCHLINE [--faces 300] [--kills 50] [--seed 1]

The site: the demo's pictures of one row, copied under invented names. Also tells how long the run that was left alone
took in processor time against the same pictures graded one by one, and the most memory it held (VmHWM of Linux).
Needs Python's standard library alone.
"""

import argparse
import pathlib
import random
import resource
import shutil
import signal
import sqlite3
import subprocess
import tempfile
import time

GRADE = ["--layout", "mpo-12", "--criteria", "iec-61300-3-35-ed2-mm"]


def site(program, folder, faces):
    subprocess.run([program, "demo", "--out", folder / "demo", "--quiet"], check=True)
    made = [folder / "demo" / name / f"{name}.png" for name in ("reference-cord", "trunk-1-store", "trunk-3-floor")]
    pictures = folder / "pictures"
    pictures.mkdir()
    for n in range(faces):
        name = f"1A.A{n // 48 + 1:02}-{n % 48 + 1:02}@{'AB'[n % 2]}"
        shutil.copy2(made[n % 3], pictures / f"{name}.png")
    return pictures, made


def records(book):
    db = sqlite3.connect(book / "book.sqlite")
    rows = db.execute("SELECT place, link, before, body FROM entry ORDER BY place").fetchall()
    documents = db.execute("SELECT sha256, bytes FROM document ORDER BY sha256").fetchall()
    db.close()
    return rows, documents


def cpu():
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def watched(command):
    """Runs a command; processor seconds, seconds, and the most memory it held in MB."""
    before, begun, most = cpu(), time.monotonic(), 0
    child = subprocess.Popen(command, stdout=subprocess.DEVNULL)
    while child.poll() is None:
        try:
            status = pathlib.Path(f"/proc/{child.pid}/status").read_text()
            most = max([most] + [int(l.split()[1]) for l in status.splitlines() if l.startswith("VmHWM")])
        except OSError:
            pass
        time.sleep(0.05)
    assert child.returncode == 0, child.returncode
    return cpu() - before, time.monotonic() - begun, most / 1024


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("program", type=pathlib.Path)
    parser.add_argument("--faces", type=int, default=300)
    parser.add_argument("--kills", type=int, default=50)
    parser.add_argument("--seed", type=int, default=1)
    args = parser.parse_args()
    program, chance = args.program.resolve(), random.Random(args.seed)
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        pictures, made = site(program, folder, args.faces)
        for book in ("killed", "whole", "small"):
            subprocess.run([program, "book", "new", folder / book, "--name", "Harbour"], check=True, capture_output=True)
        add = lambda book, what: [program, "book", "add", folder / book, what, *GRADE, "--workers", "2", "--quiet"]

        used, took, most = watched(add("whole", pictures))
        print(f"{args.faces} faces left alone: {used:.1f} s of processor, {took:.1f} s, at most {most:.0f} MB")
        few = folder / "few"
        few.mkdir()
        for picture in sorted(pictures.iterdir())[:20]:
            shutil.copy2(picture, few)
        _, _, small = watched(add("small", few))
        print(f"20 faces: at most {small:.0f} MB")
        alone = 0.0
        for picture in made:
            begun = cpu()
            grade = [program, "grade", picture, *GRADE, "--out", folder / "out", "--no-map", "--quiet"]
            for _ in range(5):
                subprocess.run(grade, env={"RAYON_NUM_THREADS": "1"})
            alone += (cpu() - begun) / 5
        alone *= args.faces / len(made)
        print(f"the same graded one by one, one thread: {alone:.1f} s of processor; ratio {used / alone:.2f}")

        kills = 0
        for _ in range(args.kills):
            child = subprocess.Popen(add("killed", pictures), stdout=subprocess.DEVNULL)
            time.sleep(chance.uniform(0.02, 1.5 * took / args.kills))
            child.send_signal(signal.SIGKILL)
            kills += child.wait() == -signal.SIGKILL
        held = len(records(folder / "killed")[0])
        subprocess.run(add("killed", pictures), check=True)
        same = records(folder / "killed") == records(folder / "whole")
        print(f"killed {kills} times, {held} records then; resumed: records {'are the same' if same else 'DIFFER'}")
        raise SystemExit(0 if same else 1)


main()
