"""Builds of a demo killed at random moments: the earlier output stays whole, no process stays, the next clears up.

`python tests/long/kills.py [KILLS] [SEED]` prints a row a kill and the sums. Two builds of one demo alternate (at two
joist spacings), so that what lies in the folder tells whose it is, byte for byte. A share of the kills waits for the
moment when everything is written and the folders are about to be exchanged: by lot alone few would fall there.
"""

from __future__ import annotations

import hashlib
import os
import random
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass, field
from pathlib import Path

ROOT = Path(__file__).parents[2]
SIGN, BUSY = ".plumbcut", ".plumbcut-busy"
SPACINGS = ("16in", "12in")
AT_THE_END = 4  # every fourth kill falls close to the exchange


def contents(folder: Path) -> dict[str, str]:
    """Checksum of every file of an output by its path, its marker among them."""
    return {
        p.relative_to(folder).as_posix(): hashlib.sha256(p.read_bytes()).hexdigest()
        for p in sorted(folder.rglob("*"))
        if p.is_file() and p.name != BUSY
    }


def of_session(session: int) -> list[int]:
    """Every process of a session that still runs (Linux: read off /proc)."""
    found = []
    for entry in Path("/proc").iterdir():
        try:
            fields = (entry / "stat").read_text().rsplit(")", 1)[1].split()
            if int(fields[3]) == session and fields[0] != "Z":
                found.append(int(entry.name))
        except (OSError, ValueError, IndexError):
            continue
    return found


@dataclass
class Kills:
    """What was seen; `faults` holds a line for each thing that was not as it must be."""

    kept: int = 0  # the earlier output was in place
    new: int = 0  # the new one was already
    ended: int = 0  # the build ended before its kill
    left: int = 0  # a working folder was left, for the next build to clear away
    longest: float = 0.0  # seconds until the last process was gone
    moments: list[float] = field(default_factory=list)  # seconds after the start
    faults: list[str] = field(default_factory=list)


class Site:
    """A scratch folder with a deck file a spacing, the clean output of each, and the folder to build into."""

    def __init__(self, scratch: Path, demo: str = "terrace"):
        self.scratch, self.out = scratch, scratch / "job" / "out"
        self.clean: list[dict[str, str]] = []
        self.seconds = 0.0
        text = (ROOT / "params" / f"{demo}.toml").read_text()
        for n, spacing in enumerate(SPACINGS):
            folder = scratch / str(n)
            folder.mkdir()
            (folder / "deck.toml").write_text(text.replace("[frame]", f'[frame]\njoist_spacing = "{spacing}"', 1))
            shutil.copy(ROOT / "params" / "prices.csv", folder)
            start = time.monotonic()
            self.start(n, scratch / f"clean{n}").wait()
            self.seconds = max(self.seconds, time.monotonic() - start)
            self.clean.append(contents(scratch / f"clean{n}"))
        assert self.clean[0] != self.clean[1]
        self.out.parent.mkdir()
        shutil.copytree(scratch / "clean0", self.out)

    def start(self, n: int, out: Path) -> subprocess.Popen:
        command = [sys.executable, "-m", "plumbcut.exports.command", "build", "deck.toml", "--out", str(out)]
        return subprocess.Popen(
            command,
            cwd=self.scratch / str(n),
            stdout=subprocess.DEVNULL,
            stderr=subprocess.PIPE,
            start_new_session=True,
        )

    def leftovers(self) -> list[Path]:
        return [p for p in self.out.parent.iterdir() if p != self.out]

    def wait_for_the_end(self, build: subprocess.Popen) -> None:
        """Until the marker lies in the working folder: from there on the folders are exchanged."""
        while build.poll() is None and not any((p / SIGN).exists() for p in self.leftovers()):
            time.sleep(0.001)


def kill_one(site: Site, n: int, lot: random.Random, at_the_end: bool, seen: Kills) -> str:
    """Start build `n` over the output of the other one, kill it, look. Returns a row to print."""
    before, lay = contents(site.out), site.leftovers()
    start = time.monotonic()
    build = site.start(n, site.out)
    if at_the_end:
        site.wait_for_the_end(build)
        time.sleep(lot.uniform(0.0, 0.05))
    else:
        time.sleep(lot.uniform(0.0, site.seconds))
    moment = time.monotonic() - start
    seen.moments.append(moment)
    if build.poll() is not None:
        seen.ended += 1
    build.send_signal(signal.SIGKILL)
    build.communicate()
    gone = time.monotonic()
    while of_session(build.pid):
        if time.monotonic() - gone > 10:
            seen.faults.append(f"kill at {moment:.2f} s: processes stay")
            for pid in of_session(build.pid):
                os.kill(pid, signal.SIGKILL)
            break
        time.sleep(0.005)
    seen.longest = max(seen.longest, time.monotonic() - gone)
    after = contents(site.out) if site.out.exists() else {}
    if after == before:
        seen.kept, what = seen.kept + 1, "earlier output"
    elif after == site.clean[n]:
        seen.new, what = seen.new + 1, "new output"
    else:
        what = "neither"
        changed = sorted(k for k in {*before, *after} if before.get(k) != after.get(k))
        seen.faults.append(f"kill at {moment:.2f} s: neither output whole, {', '.join(changed[:5])}")
    left = site.leftovers()
    seen.left += bool(left)
    of_others = [p for p in lay if p in left and any(p.iterdir())]
    if of_others and len(left) > len(of_others):  # this build had begun its own, and so had cleared up
        seen.faults.append(f"kill at {moment:.2f} s: what an earlier kill left still lies there")
    return f"{moment:6.2f} s  {what}, {len(left)} left over"


def clear_up(site: Site, n: int, seen: Kills) -> None:
    """A build that is let run: its output is that of a clean build, and nothing lies about."""
    for path in site.leftovers():
        if not any(path.iterdir()):  # so young and empty, it may be of a build that has just begun: a minute passes
            os.utime(path, (time.time() - 120,) * 2)
    build = site.start(n, site.out)
    said = build.communicate()[1].decode()
    if build.returncode:
        seen.faults.append(f"the next build ended with {build.returncode}: {said[-300:]}")
    if contents(site.out) != site.clean[n]:
        seen.faults.append("the next build's output is not that of a clean one")
    lying = [*site.leftovers(), *site.out.rglob(BUSY)]
    if lying:
        seen.faults.append(f"the next build left {', '.join(p.name for p in lying)}")


def run(scratch: Path, kills: int, seed: int, say=lambda line: None, clear_every: int = 5) -> Kills:
    """`kills` kills; after every `clear_every` of them (and after the last) a build is let run."""
    site, lot, seen = Site(scratch), random.Random(seed), Kills()
    for k in range(kills):
        n = (k + 1) % 2
        say(kill_one(site, n, lot, k % AT_THE_END == AT_THE_END - 1, seen))
        if k % clear_every == clear_every - 1 or k == kills - 1:
            clear_up(site, 1 - n, seen)
    return seen


if __name__ == "__main__":
    count, seed = (int(v) for v in (*sys.argv[1:], "50", "7")[:2]) if len(sys.argv) != 2 else (int(sys.argv[1]), 7)
    with tempfile.TemporaryDirectory() as folder:
        found = run(Path(folder), count, seed, lambda line: print(line, flush=True))
    print(
        f"{count} kills, {min(found.moments):.2f} to {max(found.moments):.2f} s after the start: {found.kept} times the"
        f" earlier output, {found.new} times the new one, {found.ended} builds had ended; {found.left} left a working"
        f" folder; the last process was gone after {found.longest:.2f} s at most; {len(found.faults)} faults"
    )
    print("\n".join(found.faults))
    sys.exit(1 if found.faults else 0)
