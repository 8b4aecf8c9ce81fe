"""A small invented estate and the program, as all checks in this folder use them."""

import functools
import os
import pathlib
import subprocess
import tempfile

PROGRAM = os.environ["INKTELL"]
MOMENT = "2026-01-02T10:00:00Z"
# Some files of the estate cannot be read, and the exit code says so.
READ_BUT_FOR_SOME = 2
RESULTS = ["sheets.csv", "sheets.jsonl", "sheets.parquet", "lot.html"]
_HELD = []


def run(*arguments, stdin=None, env=None, codes=(0, READ_BUT_FOR_SOME)):
    """Runs the program; returns what it wrote to standard output."""
    done = subprocess.run(
        [PROGRAM, *map(str, arguments)],
        input=stdin,
        env={**os.environ, **(env or {})},
        capture_output=True,
        text=True,
        timeout=600,
    )
    if done.returncode not in codes:
        raise AssertionError(f"{arguments}: exit code {done.returncode}\n{done.stderr}")
    return done.stdout


def folder():
    """A folder of its own, removed at the end."""
    held = tempfile.TemporaryDirectory()
    _HELD.append(held)
    return pathlib.Path(held.name)


@functools.cache
def photos():
    """The estate's photographs: 10 sheets, 30 files, every fault."""
    root = folder()
    run("lot", "demo", root, "--sheets", 10, "--width", 300, "--px-per-mm", 30)
    return root / "photos"


@functools.cache
def one_run():
    """The estate examined in one process."""
    out = folder() / "out"
    run("lot", photos(), "--out", out, "--title", "Estate", "--time", MOMENT, "--no-reports")
    return out


def assert_same(test, left, right):
    """Both folders hold the same results, byte for byte."""
    for name in RESULTS:
        same = (left / name).read_bytes() == (right / name).read_bytes()
        test.assertTrue(same, f"{name} differs between {left} and {right}")
