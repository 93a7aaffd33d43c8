"""Benches as ratios to a fixed kernel, compared with the baseline of the repository.

``python benches/ratios.py`` runs the criterion benches, short, and prints every bench with its ratio then and now; it ends with 1
where one became slower by more than a fifth. ``--keep`` makes the run the new baseline, ``benches/ratios.json``. ``--as-is``
takes what ``target/criterion`` holds and runs nothing; names after it pick benches. Only the standard library is needed.

Each bench program measures the kernel of ``benches/reference`` as well. A ratio is the fastest sample of a bench over the fastest
one of the kernel in the same program: that takes out the speed of the machine and most of what other work takes from it. It does
not take out caches and cores that are shared while every sample runs, so run it on an idle machine, and once more before you
believe that a bench is slower.
"""

from __future__ import annotations

import argparse
import datetime
import json
import os
import platform
import subprocess
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
BASELINE = ROOT / "benches" / "ratios.json"
MEASURED = ROOT / "target" / "criterion"
BENCHES = ("spanning_tree", "map", "probes", "site", "zones")

#: What becomes slower by more than this share is pointed out.
TOLERATED = 0.2

#: Both runs of a comparison are built alike, as ``.ci/run`` builds: linking across crates would take many times as long.
BUILD = {
    "CARGO_PROFILE_BENCH_LTO": "off",
    "CARGO_PROFILE_BENCH_CODEGEN_UNITS": "16",
    "CARGO_PROFILE_BENCH_OVERFLOW_CHECKS": "true",
}


#: Short: the fastest of a few samples is all that counts.
SHORT = ("--noplot", "--warm-up-time", "0.5", "--measurement-time", "2", "--sample-size", "10")


def run(benches: tuple[str, ...]) -> None:
    """Run these bench programs, short."""
    chosen = [word for bench in benches for word in ("--bench", bench)]
    subprocess.run(["cargo", "bench", *chosen, "--", *SHORT], cwd=ROOT, env={**os.environ, **BUILD}, check=True)


def fastest() -> dict[str, float]:
    """Read the nanoseconds of the fastest sample of every bench, by its name."""
    times = {}
    for path in MEASURED.glob("**/new/sample.json"):
        name = json.loads((path.parent / "benchmark.json").read_text())["full_id"]
        sample = json.loads(path.read_text())
        times[name] = min(time / count for time, count in zip(sample["times"], sample["iters"], strict=True))
    return times


def ratios(times: dict[str, float], benches: tuple[str, ...]) -> dict[str, float]:
    """Divide times by that of the reference in the same program."""
    found = {}
    for name, time in sorted(times.items()):
        bench = name.split("/")[0]
        if bench in benches:
            found[name] = float(f"{time / times[f'reference/{bench}']:.4g}")
    if not found:
        raise SystemExit(f"nothing of {', '.join(benches)} was measured in {MEASURED}")
    return found


def slower(then: dict[str, float], now: dict[str, float]) -> list[str]:
    """Name the benches that became slower by more than is tolerated."""
    return [name for name in now if name in then and now[name] > (1 + TOLERATED) * then[name]]


def told(then: dict[str, float], now: dict[str, float]) -> str:
    """Write every bench with its ratios, the slower ones marked; benches of one side alone are named."""
    late = slower(then, now)
    lines = [f"{'bench':<70}{'then':>10}{'now':>10}{'change':>9}"]
    for name, ratio in now.items():
        before = f"{then[name]:>10.4g}" if name in then else f"{'new':>10}"
        change = f"{ratio / then[name] - 1:>+9.0%}" if name in then else ""
        lines.append(f"{name:<70}{before}{ratio:>10.4g}{change}{'  SLOWER' if name in late else ''}")
    lines += [f"{name}: in the baseline, not measured now" for name in then if name not in now]
    return "\n".join(lines)


def note() -> dict[str, str]:
    """Say where and of what a baseline was made."""
    info = Path("/proc/cpuinfo")
    lines = info.read_text().splitlines() if info.exists() else []
    model = next((line.split(":")[1].strip() for line in lines if line.startswith("model name")), platform.machine())
    asked = ["git", "describe", "--always", "--dirty"]
    commit = subprocess.run(asked, cwd=ROOT, capture_output=True, text=True, check=False).stdout.strip()
    return {
        "day": datetime.datetime.now(datetime.UTC).date().isoformat(),
        "commit": commit or "unknown",
        "machine": f"{model}, {os.cpu_count()} cores, {platform.system()}, load {os.getloadavg()[0]:.1f} at the end",
        "build": " ".join(f"{name}={value}" for name, value in BUILD.items()),
    }


def main() -> int:
    """Run, compare, keep."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("benches", nargs="*", help=f"some of {', '.join(BENCHES)}; all without a name")
    parser.add_argument("--keep", action="store_true", help="make this run the baseline")
    parser.add_argument("--as-is", action="store_true", help="run nothing, take what was measured last")
    given = parser.parse_args()
    benches = tuple(given.benches) or BENCHES
    if not set(benches) <= set(BENCHES):
        parser.error(f"benches are {', '.join(BENCHES)}")
    if not given.as_is:
        run(benches)
    now = ratios(fastest(), benches)
    baseline = json.loads(BASELINE.read_text()) if BASELINE.exists() else {"ratios": {}}
    then = {name: ratio for name, ratio in baseline["ratios"].items() if name.split("/")[0] in benches}
    print(told(then, now))
    if given.keep:
        kept = {name: ratio for name, ratio in baseline["ratios"].items() if name not in then}
        BASELINE.write_text(json.dumps({**note(), "ratios": dict(sorted({**kept, **now}.items()))}, indent=1) + "\n")
        print(f"kept in {BASELINE}")
        return 0
    return 1 if slower(then, now) else 0


if __name__ == "__main__":
    raise SystemExit(main())
