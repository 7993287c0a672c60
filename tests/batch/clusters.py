"""Schedulers and workers in processes of their own."""

import os
import subprocess
import sys
from contextlib import contextmanager

SCHEDULER = """
import asyncio, distributed
async def main():
    async with distributed.Scheduler(
        host="127.0.0.1", port=0, dashboard_address="127.0.0.1:0"
    ) as scheduler:
        print(scheduler.address, flush=True)
        await scheduler.finished()
asyncio.run(main())
"""
WORKER = """
import asyncio, distributed, sys
async def main():
    async with distributed.Worker(
        sys.argv[1], nthreads=1, host="127.0.0.1", dashboard_address="127.0.0.1:0"
    ) as worker:
        await worker.finished()
asyncio.run(main())
"""


@contextmanager
def program(text, *arguments, **environment):
    """A scheduler or a worker in a process of its own."""
    with subprocess.Popen(
        [sys.executable, "-c", text, *arguments], stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL, text=True, env={**os.environ, **environment},
    ) as process:  # fmt: skip
        try:
            yield process
        finally:
            process.kill()


@contextmanager
def scheduler(before=""):
    with program(before + SCHEDULER) as process:
        yield process, process.stdout.readline().strip()
