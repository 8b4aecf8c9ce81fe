#!/usr/bin/env python3
"""What a lot costs: photographs a second on 1 and 2 threads, peak memory at 10, 100 and 1000
photographs, time to the first result, overhead over `examine` in a loop, memory a pixel.

    cargo build --release && python3 benches/lot.py [target/release/inktell] [--most 1000]

Ratios within one run are what count: other work on the machine moves all times by the clock alike, and
processor time hardly at all.
"""

import argparse
import os
import pathlib
import shutil
import subprocess
import tempfile
import time

SMALL_PX = 300


def measured(command, env=None, until=None):
    """Seconds, processor seconds, peak memory in MB, seconds until the file `until` holds something."""
    start = time.perf_counter()
    process = subprocess.Popen(
        list(map(str, command)),
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        env={**os.environ, **(env or {})},
    )
    first = None
    while True:
        pid, status, usage = os.wait4(process.pid, os.WNOHANG)
        if first is None and until and until.exists() and until.stat().st_size > 0:
            first = time.perf_counter() - start
        if pid:
            break
        time.sleep(0.002)
    process.returncode = os.waitstatus_to_exitcode(status)
    if process.returncode not in (0, 2):
        raise SystemExit(f"{command}: exit code {process.returncode}")
    processor = usage.ru_utime + usage.ru_stime
    return time.perf_counter() - start, processor, usage.ru_maxrss / 1000, first


def lot(program, photos, out, *more):
    return measured(
        [program, "lot", photos, "--out", out, "--quiet", "--group", "file", *more],
        until=out / "ledger.jsonl",
    )


def copies(originals, folder, count):
    """`count` different files with the pictures of a few: bytes behind a JPEG's end change no pixel."""
    folder.mkdir(parents=True)
    for number in range(count):
        original = originals[number % len(originals)]
        target = folder / f"{number:05}.jpg"
        shutil.copy(original, target)
        with open(target, "ab") as file:
            file.write(str(number).encode())
    return folder


def main():
    arguments = argparse.ArgumentParser(description=__doc__)
    arguments.add_argument("program", nargs="?", default="target/release/inktell")
    arguments.add_argument("--most", type=int, default=1000, help="most photographs in the memory row")
    arguments = arguments.parse_args()
    program = pathlib.Path(arguments.program).absolute()
    with tempfile.TemporaryDirectory() as root:
        root = pathlib.Path(root)
        subprocess.run(
            [program, "lot", "demo", root / "estate", "--sheets", "4", "--width", str(SMALL_PX), "--px-per-mm", "30"],
            check=True, stdout=subprocess.DEVNULL,
        )
        originals = sorted((root / "estate/photos").rglob("*.jpg"))
        originals = [p for p in originals if p.name != "rule.jpg"]
        throughput(program, originals, root)
        memory(program, originals, root, arguments.most)
        memory_a_pixel(program, root)


def throughput(program, originals, root):
    photos = copies(originals, root / "60", 60)
    seconds, processor = {}, {}
    for threads in (1, 2):
        out = root / f"threads-{threads}"
        seconds[threads], processor[threads], _, first = lot(program, photos, out, "--threads", threads)
        print(
            f"{threads} thread(s): {60 / seconds[threads]:.2f} photographs/s with reports, "
            f"{processor[threads] / 60 * 1e3:.0f} ms of processor time each, first result after {first:.2f} s"
        )
    print(
        f"2 threads against 1: × {seconds[1] / seconds[2]:.2f} by the clock, "
        f"{processor[2] / processor[1]:.2f} times the processor time"
    )
    some = sorted(photos.iterdir())[:30]
    by_clock, by_processor = 0, 0
    for photo in some:
        # The lot measures each photograph on one thread and writes both of these, too.
        clock, used, *_ = measured(
            [program, "examine", photo, "--quiet", "--report", root / "x.html", "--json", root / "x.json"],
            env={"RAYON_NUM_THREADS": "1"},
        )
        by_clock += clock / len(some)
        by_processor += used / len(some)
    print(
        f"a lot on 1 thread against examine in a loop: {seconds[1] / 60 / by_clock:.2f} of the time by the clock, "
        f"{processor[1] / 60 / by_processor:.2f} of the processor time"
    )


def memory(program, originals, root, most):
    for count in (10, 100, 1000):
        if count > most:
            continue
        photos = copies(originals, root / f"memory-{count}", count)
        seconds, processor, peak, _ = lot(program, photos, root / f"memory-{count}-out", "--no-reports", "--threads", 2)
        print(f"{count} photographs of {SMALL_PX} px: peak {peak:.0f} MB, {seconds:.1f} s ({processor:.1f} s of processor time)")


def memory_a_pixel(program, root):
    """What a large photograph adds, over the same with a small one."""
    peaks = {}
    for width in (400, 4000):
        folder = root / f"width-{width}"
        subprocess.run(
            [program, "specimen", folder / "photos", "--process", "stipple-engraving", "--count", "1",
             "--size", f"{width}x{width * 3 // 4}"],
            check=True, stdout=subprocess.DEVNULL,
        )
        _, _, peaks[width], _ = lot(program, folder / "photos", folder / "out", "--threads", 1)
    px = (4000**2 - 400**2) * 3 / 4
    print(f"memory while a 12-megapixel photograph is measured: {(peaks[4000] - peaks[400]) * 1e6 / px:.0f} bytes a pixel, peak {peaks[4000]:.0f} MB")


if __name__ == "__main__":
    main()
