"""Times `pitchline grade` against OpenCV's decoding of the same file, and against `lab_script.py` beside this file,
interleaved in one run, on two threads. Starting Python is not counted for the script, starting the program is for it.

    cargo build --release
    target/outside-venv/bin/python benches/against_opencv.py [--runs 15] [--stepped | PICTURE ...]

Without a picture, one is rendered by `pitchline synth`: 12 fibres, about 5,900 x 1,100 pixels, as PNG, and
written again by OpenCV as JPEG and TIFF. Prints medians, their ratio to imread, and the script's stages. A picture of
one's own is graded as mpo-12 by the multimode criteria. With --stepped, 14 pictures of 1,600 x 1,200 that step along
the face are read and graded, and the program's peak of memory is told. `./check` makes the environment of that Python.
"""

import argparse
import os
import pathlib
import statistics
import subprocess
import tempfile
import time

import cv2
import lab_script

ROOT = pathlib.Path(__file__).resolve().parent.parent
PROGRAM = ROOT / "target/release/pitchline"
ENVIRONMENT = {**os.environ, "RAYON_NUM_THREADS": "2"}
SCENE = """
layout = "mpo-12"
[face]
seed = 5
[camera]
um_per_px = 0.5
width_px = 5900
height_px = 1100
turn_deg = 1.5
[dirt]
level = "moderate"
seed = 5
"""


def rendered(folder):
    """A face of our own as PNG, JPEG and TIFF."""
    scene = folder / "face.toml"
    scene.write_text(SCENE)
    subprocess.run([PROGRAM, "synth", scene, "--out", folder, "--quiet"], check=True)
    picture = cv2.imread(str(folder / "face.png"), cv2.IMREAD_UNCHANGED)
    cv2.imwrite(str(folder / "face.jpg"), picture, [cv2.IMWRITE_JPEG_QUALITY, 90])
    cv2.imwrite(str(folder / "face.tif"), picture)
    return [folder / f"face.{kind}" for kind in ("png", "jpg", "tif")]


def stepped(folder):
    """14 pictures of one face, each with 54 % of its width in common with the next."""
    base = SCENE.split("[camera]")[0] + SCENE[SCENE.index("[dirt]") :]
    for step in range(14):
        camera = f"um_per_px = 0.3\nwidth_px = 1600\nheight_px = 1200\nmiddle_um = [{222 * (step - 6.5):.1f}, {step % 3}]"
        scene = folder / "step.toml"
        scene.write_text(f"{base}[camera]\nseed = {step}\n{camera}\n")
        subprocess.run([PROGRAM, "synth", scene, "--out", folder / "one", "--quiet"], check=True)
        (folder / "run").mkdir(exist_ok=True)
        (folder / "one/step.png").rename(folder / f"run/{step + 1:02}.png")
    return folder / "run"


def milliseconds(work):
    start = time.perf_counter()
    work()
    return (time.perf_counter() - start) * 1e3


def grade(picture, out, more):
    """Grades and gives the program's peak of memory, MiB."""
    line = [PROGRAM, "grade", picture, "--layout", "mpo-12", "--criteria", "iec-61300-3-35-ed2-mm"]
    program = subprocess.Popen([*line, "--out", out, "--quiet", *more], env=ENVIRONMENT)
    _, status, usage = os.wait4(program.pid, 0)
    if os.waitstatus_to_exitcode(status) not in (0, 1, 3):
        raise SystemExit(f"{picture} cannot be graded")
    return usage.ru_maxrss / 1024


def compare(picture, runs, folder):
    """Medians of reading, grading, and grading without maps, each run in turn."""
    works = {
        "imread": lambda: cv2.imread(str(picture)),
        "grade": lambda: grade(picture, folder / "out", []),
        "grade --no-map": lambda: grade(picture, folder / "out", ["--no-map"]),
        "script": lambda: stages.append(lab_script.analyse(picture)[0]),
    }
    stages = []
    times = {name: [] for name in works}
    for work in works.values():
        work()
    for _ in range(runs):
        for name, work in works.items():
            times[name].append(milliseconds(work))
    medians = {name: statistics.median(values) for name, values in times.items()}
    told = ", ".join(f"{name} {value:.1f} ms" for name, value in medians.items())
    ratios = [medians[name] / medians["imread"] for name in ("grade", "grade --no-map", "script")]
    print(f"{picture.name}: {told}; {', '.join(f'{ratio:.2f}' for ratio in ratios)} times imread")
    parts = {name: statistics.median(stage[name] for stage in stages) for name in stages[0]}
    print("  the script's stages: " + ", ".join(f"{name} {value:.1f} ms" for name, value in parts.items()))


def compare_stepped(run, runs, folder):
    """Medians of reading all pictures of a run and of grading them, in turn; and the peak of memory."""
    pictures = sorted(run.iterdir())
    works = {
        "imread": lambda: [cv2.imread(str(picture)) for picture in pictures],
        "grade": lambda: peaks.append(grade(run, folder / "out", [])),
        "grade --no-map": lambda: grade(run, folder / "out", ["--no-map"]),
    }
    peaks = []
    times = {name: [] for name in works}
    for _ in range(runs + 1):
        for name, work in works.items():
            times[name].append(milliseconds(work))
    medians = {name: statistics.median(values[1:]) for name, values in times.items()}
    told = ", ".join(f"{name} {value:.0f} ms" for name, value in medians.items())
    ratios = [f"{medians[name] / medians['imread']:.2f}" for name in ("grade", "grade --no-map")]
    print(f"{len(pictures)} stepped pictures: {told}; {', '.join(ratios)} times imread; at most {max(peaks):.0f} MiB")


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("pictures", nargs="*", type=pathlib.Path, metavar="PICTURE")
    parser.add_argument("--runs", type=int, default=15)
    parser.add_argument("--stepped", action="store_true")
    options = parser.parse_args()
    cv2.setNumThreads(2)
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        if options.stepped:
            return compare_stepped(stepped(folder), options.runs, folder)
        for picture in options.pictures or rendered(folder):
            compare(picture, options.runs, folder)


main()
