"""A lot spread over a Dask cluster: the recipe, with a worker killed half-way.

The work on one sheet is a pure function of its files, so any engine that hands out lines can spread a
lot: write the tasks, give each line to `inktell lot work` anywhere, collect the lines, merge them.
Work that is lost with a worker is simply done again.
"""

import os
import signal
import subprocess
import time
import unittest

import dask
from distributed import Client, LocalCluster, as_completed

import estate


def work(program, task):
    """One task line → one line of a finished sheet; runs on a worker."""
    done = subprocess.run([program, "lot", "work"], input=task, capture_output=True, text=True)
    # 2: some file could not be read; the line says which.
    if done.returncode not in (0, 2) or not done.stdout:
        raise RuntimeError(done.stderr)
    return done.stdout


class OnDask(unittest.TestCase):
    def test_a_cluster_that_loses_a_worker_gives_the_result_of_one_process(self):
        tasks = estate.run("lot", estate.photos(), "--tasks", "-").splitlines()
        root = estate.folder()
        finished = root / "finished.jsonl"
        with dask.config.set({"distributed.scheduler.allowed-failures": 5}):
            with LocalCluster(
                n_workers=3, threads_per_worker=1, processes=True, dashboard_address=None
            ) as cluster, Client(cluster) as client:
                futures = client.map(work, [estate.PROGRAM] * len(tasks), tasks, pure=False)
                killed = None
                lines = []
                for future in as_completed(futures):
                    lines.append(future.result())
                    if killed is None and len(lines) >= 2:
                        killed = self.kill_a_busy_worker(cluster, client)
                self.assertIsNotNone(killed)
                self.assert_dead(killed)
        self.assertEqual(len(lines), len(tasks))
        finished.write_text("".join(lines))
        estate.run(
            "lot", "merge", finished, "--out", root / "out",
            "--title", "Estate", "--time", estate.MOMENT,
        )
        estate.assert_same(self, root / "out", estate.one_run())

    def kill_a_busy_worker(self, cluster, client):
        """Kills a worker process that has work in hand, without warning; returns its number."""
        pids = client.run(os.getpid)
        for _ in range(200):
            for address, keys in client.processing().items():
                if keys and address in pids:
                    os.kill(pids[address], signal.SIGKILL)
                    return pids[address]
            time.sleep(0.02)
        self.fail("no worker had work in hand")

    def assert_dead(self, pid):
        """The process is gone, or a corpse not yet collected."""
        for _ in range(100):
            try:
                with open(f"/proc/{pid}/stat", encoding="utf-8") as stat:
                    if stat.read().rsplit(")", 1)[1].split()[0] == "Z":
                        return
            except FileNotFoundError:
                return
            time.sleep(0.1)
        self.fail(f"worker {pid} is alive")


if __name__ == "__main__":
    unittest.main()
