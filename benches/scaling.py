"""Shows how the cost of `pitchline grade` grows: with the fibres of a face, the pictures of a stepped run, the threads;
and how much memory it takes against the decoded picture. Whole processes, maps written, interleaved, minima.

    cargo build --release
    python3 benches/scaling.py [--program target/release/pitchline] [--runs 7]

Needs nothing beside Python. Prints milliseconds, milliseconds for each fibre or picture, what two threads give, and peak
memory over three times the decoded bytes.
"""

import argparse
import os
import pathlib
import resource
import subprocess
import tempfile
import time

ROOT = pathlib.Path(__file__).resolve().parent.parent
CRITERIA = "iec-61300-3-35-ed2-mm"
FACE = """
layout = "{layout}"
[face]
seed = 5
[camera]
um_per_px = {um_per_px}
{size}
middle_um = [{x}, {y}]
turn_deg = 0.4
blur_um = 0.6
seed = {seed}
[dirt]
level = "light"
seed = 5
"""


def rendered(program, folder, name, **scene):
    """One picture, as PNG."""
    path = folder / f"{name}.toml"
    path.write_text(FACE.format(um_per_px=0.5, **scene))
    subprocess.run([program, "synth", path, "--out", folder, "--quiet"], check=True)
    path.unlink()
    (folder / f"{name}.truth.json").unlink()
    return folder / f"{name}.png"


def pixels(png):
    """Width times height, from the header."""
    head = png.read_bytes()[16:24]
    return int.from_bytes(head[:4], "big") * int.from_bytes(head[4:], "big")


def once(program, path, layout, out, threads):
    """Milliseconds and peak bytes of one run."""
    line = [program, "grade", path, "--layout", layout, "--criteria", CRITERIA, "--out", out, "--quiet"]
    begun = time.perf_counter()
    child = subprocess.Popen(line, env={**os.environ, "RAYON_NUM_THREADS": str(threads)})
    _, status, usage = os.wait4(child.pid, 0)
    took = (time.perf_counter() - begun) * 1e3
    if os.waitstatus_to_exitcode(status) not in (0, 1, 3):
        raise SystemExit(f"{path} could not be graded")
    return took, usage.ru_maxrss * 1024


def main():
    arguments = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    arguments.add_argument("--program", type=pathlib.Path, default=ROOT / "target/release/pitchline")
    arguments.add_argument("--runs", type=int, default=7)
    asked = arguments.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        folder = pathlib.Path(folder)
        cases = []
        for layout, fibres in (("mpo-8", 8), ("mpo-12", 12), ("mpo-24", 24), ("mpo-32", 32)):
            face = dict(layout=layout, x=0, y=0, seed=1, size="margin_um = [700, 260]")
            png = rendered(asked.program, folder, layout, **face)
            cases.append((f"{fibres} fibres", fibres, "fibre", layout, png, pixels(png)))
        for count in (10, 20, 40):
            steps = folder / f"{count}"
            steps.mkdir()
            for i in range(count):
                # From the bare ferrule left of the row to that right of it.
                x = -1700 + 3400 * i / (count - 1)
                at = dict(layout="mpo-12", x=round(x, 2), y=round(3 * (i % 3), 2), seed=i + 1)
                png = rendered(asked.program, steps, f"{i:02}", size="width_px = 1600\nheight_px = 1200", **at)
            cases.append((f"{count} pictures of 1,600 x 1,200", count, "picture", "mpo-12", steps, count * pixels(png)))
        best = {}
        for _ in range(asked.runs):
            for name, _, _, layout, path, _ in cases:
                for threads in (1, 2):
                    took, peak = once(asked.program, path, layout, folder / "out", threads)
                    old = best.get((name, threads), (took, peak))
                    best[name, threads] = (min(took, old[0]), max(peak, old[1]))
        for name, count, what, _, _, decoded in cases:
            (one, _), (two, peak) = best[name, 1], best[name, 2]
            print(
                f"{name}: one thread {one:.0f} ms ({one / count:.1f} a {what}), two {two:.0f} ms, {one / two:.2f} times as"
                f" fast; peak {peak / 1e6:.0f} MB, {(peak - 50e6) / decoded:.1f} times the {decoded / 1e6:.0f} MB of pixels"
                " beyond 50 MB"
            )


if __name__ == "__main__":
    main()
