"""What a laboratory would write over OpenCV in an afternoon: finds a row of fibres in one picture, fits each cladding and
lists particles and scratches. Kept as the alternative that the program is timed against; no verdict rests on it.

    python benches/lab_script.py PICTURE [--fibres 12]

Prints the milliseconds of each stage and, for each fibre, its centre and what lies on it, um. Array work is left to numpy
and OpenCV throughout; only fibres, directions and marks are looped over.
"""

import argparse
import time

import cv2
import numpy as np

PITCH, CLADDING = 250.0, 125.0
ANGLES = np.linspace(0, 2 * np.pi, 360, endpoint=False)
DIRECTIONS = 16
# Share of its true width that a disc shows at half its height, by its width over the blur: an integral over the disc.
WIDTHS = np.array([0.5, 1.0, 1.5, 2.0, 3.0, 4.0, 6.0, 10.0])
SHOWN = np.array([4.75, 2.42, 1.68, 1.35, 1.10, 1.03, 1.00, 1.00])


def votes(small, radius):
    """Where circles of that radius have their middle: unit gradients, each voting a radius before it and behind it."""
    gx, gy = cv2.Sobel(small, cv2.CV_32F, 1, 0), cv2.Sobel(small, cv2.CV_32F, 0, 1)
    size = cv2.magnitude(gx, gy)
    y, x = np.nonzero(size > np.quantile(size, 0.85))
    ux, uy = gx[y, x] / size[y, x], gy[y, x] / size[y, x]
    total = np.zeros(small.shape, np.float32)
    for sign in (-radius, radius):
        cx, cy = np.rint(x + sign * ux).astype(int), np.rint(y + sign * uy).astype(int)
        inside = (cx >= 0) & (cy >= 0) & (cx < small.shape[1]) & (cy < small.shape[0])
        np.add.at(total, (cy[inside], cx[inside]), 1)
    return cv2.GaussianBlur(total, (0, 0), 1.0) * 2 * np.pi


def peaks(total, count, apart):
    """The highest places that lie at least so far apart: x, y and height of each."""
    total, found = total.copy(), []
    for _ in range(count):
        _, height, _, (x, y) = cv2.minMaxLoc(total)
        found.append((x, y, height))
        cv2.circle(total, (x, y), int(apart), 0, -1)
    return np.array(found)


def locate(picture, fibres):
    """Centres and radius of the row's claddings, pixels: the radius whose circles lie on a lattice of four radii."""
    factor = max(1, round(picture.shape[1] / 1100))
    small = cv2.resize(picture, None, fx=1 / factor, fy=1 / factor, interpolation=cv2.INTER_AREA)
    best = (0, None, None)
    for radius in np.arange(5.0, 26.0, 1.0):
        found = peaks(votes(small, radius), fibres, 2.5 * radius)
        steps = np.diff(np.sort(found[:, 0])) / (4 * radius)
        row = np.sum(np.abs(steps - 1) < 0.08) * np.median(found[:, 2]) / radius
        best = max(best, (row, radius, found), key=lambda b: b[0])
    _, radius, found = best
    found = found[np.argsort(found[:, 0]), :2]
    return (found + 0.5) * factor - 0.5, radius * factor


def rays(picture, centre, radii):
    """Levels along rays about a centre, one row for each angle."""
    x = (centre[0] + np.outer(np.cos(ANGLES), radii)).astype(np.float32)
    y = (centre[1] + np.outer(np.sin(ANGLES), radii)).astype(np.float32)
    return cv2.remap(picture, x, y, cv2.INTER_LINEAR)


def circle(picture, centre, radius):
    """Circle through the steepest place of each ray, twice, without what lies off; blur from the edge's width."""
    for reach in (0.25 * radius, 0.06 * radius):
        radii = np.arange(radius - reach, radius + reach, 0.25)
        slope = np.abs(np.gradient(cv2.GaussianBlur(rays(picture, centre, radii), (0, 0), 2.0, sigmaY=1.0), axis=1))
        k = np.clip(np.argmax(slope, axis=1), 1, len(radii) - 2)
        rows = np.arange(len(ANGLES))
        a, b, c = slope[rows, k - 1], slope[rows, k], slope[rows, k + 1]
        at = radii[k] + 0.25 * 0.5 * (a - c) / np.minimum(a - 2 * b + c, -1e-9)
        keep = np.abs(at - np.median(at)) < 3 * 1.4826 * np.median(np.abs(at - np.median(at))) + 0.1
        x, y = centre[0] + at * np.cos(ANGLES), centre[1] + at * np.sin(ANGLES)
        design = np.stack([x, y, np.ones_like(x)], 1)[keep]
        u, v, w = np.linalg.lstsq(design, (x**2 + y**2)[keep], rcond=None)[0]
        centre = np.array([u / 2, v / 2])
        radius = np.sqrt(w + centre @ centre)
    edge = np.median(rays(picture, centre, np.arange(radius - 8, radius + 8, 0.25)), axis=0)
    line = np.abs(np.gradient(edge))
    wide = np.sum(line > line.max() / 2) * 0.25 / 2.355
    return centre, radius, max(wide, 0.5)


def residual(picture, centre, radius):
    """What is left of the glass, relative, when the light's surface and the median of each ring are taken away."""
    x0, y0 = np.floor(centre - radius - 2).astype(int)
    size = int(2 * radius + 5)
    patch = picture[max(y0, 0) : y0 + size, max(x0, 0) : x0 + size]
    y, x = np.mgrid[: patch.shape[0], : patch.shape[1]]
    x, y = (x + max(x0, 0) - centre[0]) / radius, (y + max(y0, 0) - centre[1]) / radius
    r = np.hypot(x, y)
    ring = (r > 0.6) & (r < 0.93)
    terms = np.stack([np.ones_like(x), x, y, x * x, x * y, y * y], -1).astype(np.float32)
    light = terms @ np.linalg.lstsq(terms[ring], patch[ring], rcond=None)[0]
    rest = patch / np.maximum(light, 1e-3) - 1
    glass = r < 1 - 2.5 / radius
    number = (r * radius).astype(int)
    order = np.argsort(number[glass], kind="stable")
    cuts = np.flatnonzero(np.diff(number[glass][order])) + 1
    levels = np.array([np.median(part) for part in np.split(rest[glass][order], cuts)])
    return np.where(glass, rest - levels[np.clip(number, 0, len(levels) - 1)], 0).astype(np.float32), glass


def scatter(values):
    return 1.4826 * np.median(np.abs(values - np.median(values))) + 1e-6


def particles(rest, glass, blur, um):
    """Sizes, um, of compact marks: contours at half their height, their width freed of blur by the table."""
    smooth = cv2.GaussianBlur(rest, (0, 0), blur)
    seen = ((np.abs(smooth) > 5 * scatter(smooth[glass])) & glass).astype(np.uint8)
    count, labels, stats, _ = cv2.connectedComponentsWithStats(seen)
    sizes = []
    for k in range(1, count):
        x, y, w, h, _ = stats[k]
        cut = (slice(max(y - 6, 0), y + h + 6), slice(max(x - 6, 0), x + w + 6))
        level = np.where(labels[cut] == k, np.abs(rest[cut]), 0).max() / 2
        half = ((np.abs(rest[cut]) > level) & ((labels[cut] == k) | (labels[cut] == 0))).astype(np.uint8)
        contours, _ = cv2.findContours(half, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
        width = 2 * cv2.minEnclosingCircle(max(contours, key=len))[1] + 1
        shown = np.interp(width / (2.355 * blur), WIDTHS * SHOWN, SHOWN)
        sizes.append(width / shown * um)
    return sizes


def scratches(rest, glass, blur, um):
    """Widths, um, of lines: the strongest of long thin filters in sixteen directions."""
    length = max(int(12 / um), 5)
    best = np.zeros_like(rest)
    x, y = np.meshgrid(np.arange(-length, length + 1), np.arange(-length, length + 1))
    for angle in np.arange(DIRECTIONS) * np.pi / DIRECTIONS:
        along, across = x * np.cos(angle) + y * np.sin(angle), y * np.cos(angle) - x * np.sin(angle)
        bar = np.exp(-0.5 * (across / (1.2 * blur)) ** 2) - 0.5 * np.exp(-0.5 * (across / (2.4 * blur)) ** 2)
        bar = (bar * (np.abs(along) < length)).astype(np.float32)
        bar -= bar.mean()
        response = cv2.filter2D(rest, -1, bar / np.sqrt(np.sum(bar**2)))
        np.maximum(best, np.abs(response) / scatter(response[glass]), out=best)
    seen = ((best > 7) & glass).astype(np.uint8)
    count, _, stats, _ = cv2.connectedComponentsWithStats(seen)
    long = [k for k in range(1, count) if np.hypot(stats[k][2], stats[k][3]) * um > 15]
    return [stats[k][4] / np.hypot(stats[k][2], stats[k][3]) * um for k in long]


def analyse(path, fibres=12):
    """Milliseconds of each stage, and each fibre's centre, particles and scratches."""
    clock, times = time.perf_counter(), {}

    def lap(name):
        nonlocal clock
        now = time.perf_counter()
        times[name] = times.get(name, 0) + (now - clock) * 1e3
        clock = now

    picture = cv2.imread(str(path), cv2.IMREAD_GRAYSCALE)
    lap("decode")
    picture = picture.astype(np.float32) / 255
    centres, radius = locate(picture, fibres)
    lap("locate")
    found = []
    for centre in centres:
        centre, own, blur = circle(picture, centre, radius)
        lap("fit")
        um = CLADDING / 2 / own
        rest, glass = residual(picture, centre, own)
        found.append((centre, particles(rest, glass, blur, um), scratches(rest, glass, blur, um)))
        lap("features")
    return times, found


def main():
    words = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    words.add_argument("picture")
    words.add_argument("--fibres", type=int, default=12)
    given = words.parse_args()
    times, found = analyse(given.picture, given.fibres)
    print(", ".join(f"{name} {ms:.1f} ms" for name, ms in times.items()), f"; in all {sum(times.values()):.1f} ms")
    for number, (centre, dots, lines) in enumerate(found, 1):
        told = [f"particle {d:.1f}" for d in dots] + [f"scratch {w:.1f}" for w in lines]
        print(f"{number:2} at {centre[0]:.2f}, {centre[1]:.2f} px: {', '.join(told) or 'nothing'}")


if __name__ == "__main__":
    main()
