"""Times the exact map against other ways to make it, all in one run on the same layouts, and prints ratios.

    python -m venv VENV && VENV/bin/pip install numpy numba opencv-python-headless shapely
    VENV/bin/python benches/compare.py

Runs `cargo bench --bench map` first and reads its results. Every way uses all cores. "Wrong" is the number of cells
decided wrongly, draw by draw, as a share of the cells that are truly struck.
"""

import json
import math
import os
import subprocess
import time
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path

import cv2
import numba
import numpy as np
import shapely

ROOT = Path(__file__).resolve().parent.parent
CORES = len(os.sched_getaffinity(0))
CELL_M, PIPE_M, HOLE_M = 0.1, float(np.float32(0.0167)), 0.45
RADIUS = (HOLE_M + PIPE_M) / CELL_M  # of the capsules, in cells


@dataclass(frozen=True)
class Case:
    """One size of map; the same numbers as in `map.rs`."""

    cols: int
    rows: int
    pieces: int
    draws: int
    lengths: tuple[float, float]

    @property
    def name(self) -> str:
        return f"{self.cols}x{self.rows}_cells_{self.pieces}_pieces_{self.draws}_draws"


SMALL = Case(250, 200, 47, 2000, (1.0, 6.0))
LARGE = Case(2500, 2000, 1170, 480, (2.0, 14.0))


def uniform(k):
    """Numbers `k` of the stream in `map.rs` (SplitMix64)."""
    with np.errstate(over="ignore"):
        z = (k + np.uint64(1)) * np.uint64(0x9E3779B97F4A7C15)
        z = (z ^ (z >> np.uint64(30))) * np.uint64(0xBF58476D1CE4E5B9)
        z = (z ^ (z >> np.uint64(27))) * np.uint64(0x94D049BB133111EB)
    return ((z ^ (z >> np.uint64(31))) >> np.uint64(11)).astype(float) / 2.0**53


def layouts(case: Case, draws: int) -> np.ndarray:
    """(draw, piece, 4): x and y of both ends in cells, y downwards, lower y first."""
    k = np.arange(draws * case.pieces, dtype=np.uint64)
    u = uniform(np.uint64(5) * k[:, None] + np.arange(5, dtype=np.uint64))
    turn = np.where(u[:, 3] < 0.7, np.floor(4 * u[:, 4]), 4 * u[:, 4])
    bearing = 0.2 + math.pi / 2 * turn
    length = (case.lengths[0] + (case.lengths[1] - case.lengths[0]) * u[:, 2]) / CELL_M
    x, y = u[:, 0] * case.cols - 0.5, case.rows - 0.5 - u[:, 1] * case.rows
    dx, dy = length * np.cos(bearing), -length * np.sin(bearing)
    ends = np.stack([x, y, x + dx, y + dy], axis=1)
    ends = np.where(dy[:, None] < 0, ends[:, [2, 3, 0, 1]], ends)
    return ends.reshape(draws, case.pieces, 4)


def in_blocks(one, case, ends):
    """Sums `one(case, draws)` over blocks of draws, one thread per core."""
    with ThreadPoolExecutor(CORES) as pool:
        return sum(pool.map(lambda block: one(case, block), np.array_split(ends, CORES)))


# --- shapely: union of buffers, then a test of every centre -------------------------------------------------------


def shapely_mask(case, pieces):
    lines = shapely.linestrings(pieces.reshape(-1, 2, 2))
    area = shapely.union_all(shapely.buffer(lines, RADIUS))
    shapely.prepare(area)
    x, y = np.meshgrid(np.arange(case.cols), np.arange(case.rows))
    return shapely.contains_xy(area, x.ravel(), y.ravel()).reshape(x.shape)


# --- OpenCV: thick lines ------------------------------------------------------------------------------------------

SHIFT = 8  # fractional bits of OpenCV's coordinates


# The whole width with the fewest wrong cells on the small map (6: 27 %, 8: 6 %, 10: 15 %, 12: 34 %); 2 x RADIUS is 9.33.
WIDTH = 8


def opencv_mask(case, pieces):
    mask = np.zeros((case.rows, case.cols), np.uint8)
    lines = np.round(pieces * 2**SHIFT).astype(np.int32).reshape(-1, 2, 2)
    cv2.polylines(mask, list(lines), False, 1, WIDTH, cv2.LINE_8, SHIFT)
    return mask


def masks_of(mask):
    def counts(case, ends):
        total = np.zeros((case.rows, case.cols), np.uint32)
        for pieces in ends:
            total += mask(case, pieces)
        return total

    return counts


# --- numpy: spans of rows into a difference array ------------------------------------------------------------------


def bounds(ends, y):
    """Leftmost and rightmost x of the capsules on rows `y`; NaN where they miss the row."""
    x0, y0, x1, y1 = (ends[..., i, None] for i in range(4))
    dx, dy = x1 - x0, y1 - y0
    lean, slope = dx / np.hypot(dx, dy), dx / dy
    above = y - y0
    out = []
    for sign in (-1, 1):
        along = np.clip(above + sign * RADIUS * lean, 0, dy)
        with np.errstate(invalid="ignore"):
            out.append(x0 + along * slope + sign * np.sqrt(RADIUS**2 - (above - along) ** 2))
    return out


def numpy_mask(case, pieces):
    left, right = bounds(pieces, np.arange(case.rows))
    first = np.maximum(np.ceil(left), 0)
    last = np.minimum(np.floor(right), case.cols - 1)
    piece, row = np.nonzero(first <= last)
    width = case.cols + 1
    steps = np.bincount(row * width + first[piece, row].astype(int), minlength=case.rows * width)
    steps -= np.bincount(row * width + last[piece, row].astype(int) + 1, minlength=case.rows * width)
    return steps.reshape(case.rows, width).cumsum(axis=1)[:, :-1] > 0


# --- numba: two kernels; the faster one counts --------------------------------------------------------------------


@numba.njit(inline="always")
def span(x0, y0, rise, lean, slope, radius, y, cols):
    above = y - y0
    along = min(max(above - radius * lean, 0.0), rise)
    off = above - along
    first = math.ceil(x0 + along * slope - math.sqrt(max(radius * radius - off * off, 0.0)))
    along = min(max(above + radius * lean, 0.0), rise)
    off = above - along
    last = math.floor(x0 + along * slope + math.sqrt(max(radius * radius - off * off, 0.0)))
    return max(int(first), 0), min(int(last), cols - 1)


@numba.njit(parallel=True, cache=False)
def numba_bytes(ends, rows, cols, radius, threads):
    """Spans as bytes of a mask, masks added up in bytes."""
    draws = ends.shape[0]
    counts = np.zeros((threads, rows, cols), np.uint32)
    for t in numba.prange(threads):
        sums = np.zeros((rows, cols), np.uint8)
        mask = np.zeros((rows, cols), np.uint8)
        held = 0
        for k in range(draws * t // threads, draws * (t + 1) // threads):
            for i in range(ends.shape[1]):
                x0, y0, x1, y1 = ends[k, i]
                dx, dy = x1 - x0, y1 - y0
                lean, slope = dx / math.sqrt(dx * dx + dy * dy), dx / dy
                for row in range(max(math.ceil(y0 - radius), 0), min(math.floor(y1 + radius), rows - 1) + 1):
                    first, last = span(x0, y0, dy, lean, slope, radius, row, cols)
                    for col in range(first, last + 1):
                        mask[row, col] = 1
            for row in range(rows):
                for col in range(cols):
                    sums[row, col] += mask[row, col]
                    mask[row, col] = 0
            held += 1
            if held == 255:
                counts[t] += sums
                sums[:] = 0
                held = 0
        counts[t] += sums
    return counts.sum(axis=0)


@numba.njit(parallel=True, cache=False)
def numba_spans(ends, rows, cols, radius, threads):
    """Spans merged row by row, their ends into a difference array."""
    draws, pieces = ends.shape[:2]
    steps = np.zeros((threads, rows, cols + 1), np.int32)
    for t in numba.prange(threads):
        used = np.zeros(rows, np.int32)
        start = np.empty((rows, pieces), np.int32)
        stop = np.empty((rows, pieces), np.int32)
        for k in range(draws * t // threads, draws * (t + 1) // threads):
            for i in range(pieces):
                x0, y0, x1, y1 = ends[k, i]
                dx, dy = x1 - x0, y1 - y0
                lean, slope = dx / math.sqrt(dx * dx + dy * dy), dx / dy
                for row in range(max(math.ceil(y0 - radius), 0), min(math.floor(y1 + radius), rows - 1) + 1):
                    first, last = span(x0, y0, dy, lean, slope, radius, row, cols)
                    if first > last:
                        continue
                    at = used[row]
                    while at > 0 and start[row, at - 1] > first:
                        start[row, at] = start[row, at - 1]
                        stop[row, at] = stop[row, at - 1]
                        at -= 1
                    start[row, at] = first
                    stop[row, at] = last + 1
                    used[row] += 1
            for row in range(rows):
                reached = -1
                for at in range(used[row]):
                    if start[row, at] > reached:
                        if reached >= 0:
                            steps[t, row, reached] -= 1
                        steps[t, row, start[row, at]] += 1
                        reached = stop[row, at]
                    elif stop[row, at] > reached:
                        reached = stop[row, at]
                if reached >= 0:
                    steps[t, row, reached] -= 1
                used[row] = 0
    total = steps.sum(axis=0)
    for row in range(rows):
        for col in range(1, cols + 1):
            total[row, col] += total[row, col - 1]
    return total[:, :-1]


def numba_counts(kernel):
    return lambda case, ends: kernel(ends, case.rows, case.cols, RADIUS, CORES)


# --- comparison ----------------------------------------------------------------------------------------------------


def rate(counts, case, ends):
    """Draws per second: the best of runs that take two seconds together."""
    best, end = math.inf, time.perf_counter() + 2.0
    while True:
        start = time.perf_counter()
        counts(case, ends)
        best = min(best, time.perf_counter() - start)
        if time.perf_counter() > end:
            return len(ends) / best


def engine(case: Case):
    """Draws per second and counts of the bench."""
    metadata = subprocess.check_output(["cargo", "metadata", "--format-version=1", "--no-deps"], cwd=ROOT)
    target = Path(json.loads(metadata)["target_directory"])
    times = json.loads((target / "criterion/map/hole" / case.name / "new/sample.json").read_text())
    best = min(t / n for t, n in zip(times["times"], times["iters"], strict=True))
    counts = np.fromfile(target / f"tmp/map_hole_{case.name}.u32", "<u4").reshape(case.rows, case.cols)
    return case.draws / (best * 1e-9), counts


def wrong(mask, case, ends):
    """Share of wrong cells of some draws, against spans in 64-bit floating point."""
    pairs = [(np.asarray(mask(case, e), bool), numpy_mask(case, e)) for e in ends[:20]]
    return sum(int((a != b).sum()) for a, b in pairs) / sum(int(b.sum()) for _, b in pairs)


def one_draw(counts):
    return lambda case, pieces: counts(case, pieces[None]) > 0


def compare(case: Case, ways: dict) -> None:
    own, own_counts = engine(case)
    ends = layouts(case, case.draws)
    exact = in_blocks(masks_of(numpy_mask), case, ends)
    off = np.abs(own_counts.astype(int) - exact.astype(int)).sum() / exact.sum()
    print(f"\n{case.cols} x {case.rows} cells, {case.pieces} pieces per layout, {CORES} cores\n")
    print("| way | layouts/s | underturf is faster by | wrong |\n| --- | --: | --: | --: |")
    for name, (draws, counts, mask) in ways.items():
        counts(case, ends[:CORES])  # compiles what wants compiling
        speed = rate(counts, case, ends[:draws])
        print(f"| {name} | {speed:,.3g} | {own / speed:,.1f} | {wrong(mask, case, ends):.2%} |", flush=True)
    print(f"| underturf | {own:,.3g} | 1 | {off:.2%} |")


def main() -> None:
    subprocess.run(["cargo", "bench", "--bench", "map", "--", "hole", "--noplot"], cwd=ROOT, check=True)
    numba.set_num_threads(CORES)
    cv2.setNumThreads(1)  # layouts are spread over the cores already

    def blocks(mask, draws):
        return draws, lambda case, ends: in_blocks(masks_of(mask), case, ends), mask

    def compiled(kernel, draws):
        counts = numba_counts(kernel)
        return draws, counts, one_draw(counts)

    for case, few, some in [(SMALL, 60, 2000), (LARGE, 2, 48)]:
        ways = {
            "shapely, union of buffers": blocks(shapely_mask, few),
            "numpy, spans": blocks(numpy_mask, some),
            "OpenCV, thick lines": blocks(opencv_mask, some),
            "numba, bytes": compiled(numba_bytes, some),
            "numba, merged spans": compiled(numba_spans, some),
        }
        compare(case, ways)


if __name__ == "__main__":
    main()
