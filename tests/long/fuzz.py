"""Demo files mutated by lot: no traceback, no hang, nothing outside the output folder, one clear line a fault.

`python tests/long/fuzz.py [FILES] [SEED] [KEEP]` prints the sums, and copies each file that broke something into the
folder KEEP. Every tenth file is built whole, the others are checked. Each runs in a process forked from one that has
the kernel loaded, under limits of time and memory, and says of every file that it opens for writing where that lies.
"""

from __future__ import annotations

import collections
import importlib
import os
import pkgutil
import random
import re
import resource
import shutil
import signal
import sys
import tempfile
import time
import traceback
from dataclasses import dataclass, field
from pathlib import Path

ROOT = Path(__file__).parents[2]
DEMOS = [(ROOT / "params" / f"{name}.toml").read_text() for name in ("hillside", "terrace", "wraparound")]
SHEET = (ROOT / "params" / "sheets" / "boards.toml").read_text()
PRICES = (ROOT / "params" / "prices.csv").read_text()
CPU_SECONDS, WALL_SECONDS = 120, 400  # for one file; the machine may be shared
MEMORY = 3 << 30  # bytes of address space over what the kernel takes
BUILT = 10  # every tenth file is built, the others are checked
LONGEST_LINE = 500  # letters of one message
# what a hand or a program puts where a value belongs; as TOML
HOSTILE = [
    *("0", "-1", "1", "1e308", "-1e308", "1e-300", "nan", "inf", "-inf", "true", "false", "[]", "{}", "[[]]", "0.1"),
    *('""', '" "', '"12"', '"1/0 in"', '"-3 in"', '"0"', '"nan"', '"1e400"', '"99999999999 ft"', '"5%"', '"1 in 0"'),
    *('"\\u202e"', '"\\u0000"', '"%%c^J"', '"../../../../etc/passwd"', '"/dev/zero"', "1979-05-27", "0x10", "[0, 0]"),
    *(
        '"12\' 6 1/2\\""',
        '"2x12"',
        '"front"',
        '"e1"',
        '"auto"',
        "[1, 2, 3]",
        '[["1", "2"]]',
        "{ front = 3 }",
        "'''x'''",
    ),
    *("9" * 5000, '"' + "w" * 20_000 + '"', "[" * 500 + "]" * 500, "[" + "1, " * 3000 + "1]", '"é漢字🙂"', '"\\t"'),
]
VALUE = re.compile(r"^(\s*[\w.\"-]+\s*=\s*)(.*)$")
NUMBER = re.compile(r"(?<![\w.])-?\d+(?:\.\d+)?(?![\w.])")


def known_keys() -> list[tuple[str, str]]:
    """(section header, `key = example`) of every key that the starter file shows."""
    from plumbcut.model.input.starter import starter

    header, found = "", []
    for line in starter().splitlines():
        bare = line[1:] if line.startswith("#") and not line.startswith("# ") else line
        if bare.startswith("["):
            header = bare.split("#")[0].strip()
        elif header and not bare.startswith("#") and VALUE.match(bare):
            found.append((header, re.sub(r"\s{2,}#.*", "", bare)))
    return found


class Lot:
    """Mutations of one text; each takes and returns the text as lines."""

    def __init__(self, seed: str, keys: list[tuple[str, str]]):
        self.lot, self.keys = random.Random(seed), keys

    def text(self) -> bytes:
        """A mutated demo: half of them by changes that leave most files good, half by all that may go wrong."""
        lines = self.lot.choice(DEMOS).split("\n")
        mild = self.lot.random() < 0.5
        kinds = [self.nudged] * 4 + [self.added] * 3
        if not mild:
            kinds += [self.hostile, self.scaled] * 3 + [self.added_hostile] * 2
            kinds += [self.dropped, self.doubled, self.swapped, self.section_doubled, self.renamed]
        for _ in range(self.lot.randint(1, 3)):
            lines = self.lot.choice(kinds)(lines)
        source = "\n".join(lines).encode()
        return self.bytes_changed(source) if not mild and self.lot.random() < 0.2 else source

    def one(self, lines: list[str], wanted=VALUE.match) -> int | None:
        found = [i for i, line in enumerate(lines) if wanted(line)]
        return self.lot.choice(found) if found else None

    def with_value(self, line: str, value: str) -> str:
        return VALUE.sub(lambda m: m[1] + value, line)

    def hostile(self, lines: list[str]) -> list[str]:
        i = self.one(lines)
        return (
            lines if i is None else [*lines[:i], self.with_value(lines[i], self.lot.choice(HOSTILE)), *lines[i + 1 :]]
        )

    def nudged(self, lines: list[str]) -> list[str]:
        """One number a little larger or smaller, as another design would have it."""
        return self.scaled(lines, (0.7, 0.8, 0.9, 0.95, 0.99, 1.01, 1.05, 1.1, 1.2, 1.4))

    def scaled(
        self, lines: list[str], factors: tuple[float, ...] = (0, -1, 0.01, 0.1, 0.5, 2, 3, 10, 100)
    ) -> list[str]:
        """One number of one value made much larger or smaller: a slip of the pen."""
        i = self.one(lines, NUMBER.search)
        if i is None:
            return lines
        place = self.lot.choice(list(NUMBER.finditer(lines[i])))
        value = float(place[0]) * self.lot.choice(factors)
        text = f"{value:g}" if value != int(value) else str(int(value))
        return [*lines[:i], lines[i][: place.start()] + text + lines[i][place.end() :], *lines[i + 1 :]]

    def added(self, lines: list[str], value: str | None = None) -> list[str]:
        """A key of the starter file, in its section where there is one."""
        header, line = self.lot.choice(self.keys)
        line = line if value is None else self.with_value(line, value)
        key = VALUE.match(line)[1].split("=")[0].strip()
        if header not in lines:
            return [*lines, "", header, line]
        i = lines.index(header)
        end = next((k for k in range(i + 1, len(lines)) if lines[k].startswith("[")), len(lines))
        kept = [x for x in lines[i + 1 : end] if not re.match(rf"\s*{re.escape(key)}\s*=", x)]
        return [*lines[: i + 1], line, *kept, *lines[end:]]

    def added_hostile(self, lines: list[str]) -> list[str]:
        return self.added(lines, self.lot.choice(HOSTILE))

    def dropped(self, lines: list[str]) -> list[str]:
        i = self.lot.randrange(len(lines))
        return lines[:i] + lines[i + 1 :]

    def doubled(self, lines: list[str]) -> list[str]:
        i = self.lot.randrange(len(lines))
        return [*lines[:i], lines[i], *lines[i:]]

    def swapped(self, lines: list[str]) -> list[str]:
        i, k = (self.lot.randrange(len(lines)) for _ in range(2))
        lines = list(lines)
        lines[i], lines[k] = lines[k], lines[i]
        return lines

    def section_doubled(self, lines: list[str]) -> list[str]:
        i = self.one(lines, lambda line: line.startswith("["))
        if i is None:
            return lines
        end = next((k for k in range(i + 1, len(lines)) if lines[k].startswith("[")), len(lines))
        return [*lines, *lines[i:end]]

    def renamed(self, lines: list[str]) -> list[str]:
        i = self.one(lines)
        if i is None:
            return lines
        key, rest = lines[i].split("=", 1)
        at = self.lot.randrange(len(key) or 1)
        return [*lines[:i], f"{key[:at]}{self.lot.choice('x_.-é ')}{key[at:]}={rest}", *lines[i + 1 :]]

    def bytes_changed(self, source: bytes) -> bytes:
        at = self.lot.randrange(len(source) or 1)
        junk = bytes(self.lot.randrange(256) for _ in range(self.lot.randint(1, 6)))
        return self.lot.choice([source[:at], source[:at] + junk + source[at:], source[:at] + junk + source[at + 4 :]])


@dataclass
class Outcome:
    """What one file did. `faults` is empty where all is as it must be."""

    code: int
    seconds: float  # of the processor
    said: str
    faults: list[str] = field(default_factory=list)


def _watch_writes(allowed: Path, log: int) -> None:
    """Tell of every file or folder that is made, changed or taken away outside one folder."""
    places = {"os.mkdir": (0,), "os.remove": (0,), "os.rmdir": (0,), "os.rename": (0, 1), "os.link": (1,)}
    places |= {"os.symlink": (1,), "os.truncate": (0,), "os.chmod": (0,), "shutil.rmtree": (0,)}

    def hook(event: str, args: tuple) -> None:
        found = [args[i] for i in places.get(event, ())]
        if event == "open" and args[2] is not None and args[2] & (os.O_WRONLY | os.O_RDWR | os.O_CREAT):
            found = [args[0]]
        if event in ("subprocess.Popen", "os.system", "socket.connect"):
            os.write(log, f"{event} {args[0]!r}\n".encode())
        for place in found:
            if isinstance(place, (str, bytes)):
                full = os.path.abspath(os.fsdecode(place))
                if full != os.devnull and not full.startswith((f"{allowed}/", "/dev/shm/")) and full != str(allowed):
                    os.write(log, f"{event} {full}\n".encode())

    sys.addaudithook(hook)


def _child(folder: Path, arguments: list[str]) -> None:
    """The command in a process of its own, under limits; never returns."""
    code = 70
    try:
        os.setsid()
        for n, name in ((1, "stdout"), (2, "stderr")):
            os.dup2(os.open(folder.parent / f"{folder.name}.{name}", os.O_WRONLY | os.O_CREAT | os.O_TRUNC), n)
        sys.stdout, sys.stderr = (os.fdopen(n, "w", closefd=False) for n in (1, 2))
        log = os.open(folder.parent / f"{folder.name}.writes", os.O_WRONLY | os.O_CREAT | os.O_TRUNC)
        os.chdir(folder)
        tempfile.tempdir = str(folder)
        taken = int(Path("/proc/self/statm").read_text().split()[0]) * os.sysconf("SC_PAGE_SIZE")
        resource.setrlimit(resource.RLIMIT_AS, (taken + MEMORY,) * 2)
        resource.setrlimit(resource.RLIMIT_CPU, (CPU_SECONDS,) * 2)
        _watch_writes(folder, log)
        from plumbcut.exports.command import main

        main(arguments, prog_name="plumbcut")
        code = 0
    except SystemExit as e:
        code = e.code if isinstance(e.code, int) else 70
    except BaseException:
        traceback.print_exc()
    finally:
        sys.stdout.flush()
        sys.stderr.flush()
        os._exit(code)


def run_file(folder: Path, source: bytes, built: bool) -> Outcome:
    """Build or check one file in `folder`, which is made, and look at everything that came of it."""
    folder.mkdir()
    (folder / "deck.toml").write_bytes(source)
    (folder / "prices.csv").write_text(PRICES)
    (folder / "sheets").mkdir(exist_ok=True)
    (folder / "sheets" / "boards.toml").write_text(SHEET)
    pid = os.fork()
    if pid == 0:
        _child(folder, ["build", "deck.toml", "--out", "out"] if built else ["check", "deck.toml"])
    start, used = time.monotonic(), None
    while True:
        done, status, usage = os.wait4(pid, os.WNOHANG)
        if done:
            break
        if used is None and time.monotonic() - start > WALL_SECONDS:
            used = WALL_SECONDS
            os.killpg(pid, signal.SIGKILL)
        time.sleep(0.01)
    said = (folder.parent / f"{folder.name}.stderr").read_text(errors="replace")
    seconds = usage.ru_utime + usage.ru_stime
    code = os.waitstatus_to_exitcode(status)
    outcome = Outcome(code, seconds, said)
    if used or code in (-signal.SIGXCPU, -signal.SIGKILL):
        outcome.faults.append(f"no end within {CPU_SECONDS} s")
    elif code not in ((0, 2) if built else (0, 1, 2)):
        outcome.faults.append(f"exit code {code}")
    if "Traceback" in said or "MemoryError" in said:
        outcome.faults.append(f"traceback: {said.strip().splitlines()[-1][:200]}")
    elif code == 2:
        outcome.faults += _unclear(said)
    writes = (folder.parent / f"{folder.name}.writes").read_text()
    if writes:
        outcome.faults.append(f"outside its folder: {writes.splitlines()[0][:200]}")
    wanted = {"deck.toml", "prices.csv", "sheets"} | ({"out"} if built and code == 0 else set())
    if {p.name for p in folder.iterdir()} != wanted:
        outcome.faults.append(f"lies about: {', '.join(sorted(p.name for p in folder.iterdir()))}")
    if (folder / "deck.toml").read_bytes() != source:
        outcome.faults.append("the file itself was changed")
    return outcome


def _unclear(said: str) -> list[str]:
    """What is wrong with the messages of a refused file: a line each, with file, line and key."""
    lines = said.rstrip("\n").split("\n")
    faults = []
    for line in lines:
        whole = re.match(r"deck\.toml(:\d+)?: (is (not TOML|not UTF-8|empty|larger))", line)
        if not whole and not re.match(r"deck\.toml:\d+: [^\s:]+( \([a-z ]+\d+( [a-z ]+\d+)*\))?: \S", line):
            faults.append(f"not a line with line and key: {line[:160]!r}")
        elif len(line) > LONGEST_LINE:
            faults.append(f"a message of {len(line)} letters: {line[:100]!r}")
        elif not line.isprintable():
            faults.append(f"a message with signs that cannot be seen: {line[:100]!r}")
    return faults[:3]


def load_all() -> None:
    """Every module of the model and the exports, so that a forked process loads none."""
    from plumbcut import exports, model
    from plumbcut.exports.build import load_kernel

    load_kernel()
    for room in (model, exports):
        for module in pkgutil.walk_packages(room.__path__, f"{room.__name__}."):
            importlib.import_module(module.name)


def run(scratch: Path, files: int, seed: int, keep: Path | None = None, say=lambda line: None) -> list[Outcome]:
    """The outcome of each of `files` mutated files."""
    load_all()
    keys, found = known_keys(), []
    for n in range(files):
        source, built = Lot(f"{seed}-{n}", keys).text(), n % BUILT == BUILT - 1
        outcome = run_file(scratch / str(n), source, built)
        found.append(outcome)
        if outcome.faults:
            say(f"{n}: {'; '.join(outcome.faults)}")
            if keep:
                keep.mkdir(parents=True, exist_ok=True)
                (keep / f"{n}.toml").write_bytes(source)
                (keep / f"{n}.txt").write_text("\n".join([*outcome.faults, outcome.said]))
        shutil.rmtree(scratch / str(n))
    return found


def sums(found: list[Outcome]) -> str:
    codes = collections.Counter(o.code for o in found)
    slow = max(found, key=lambda o: o.seconds)
    return (
        f"{len(found)} files: "
        + ", ".join(f"{codes[c]} ended with {c}" for c in sorted(codes))
        + f"; longest {slow.seconds:.1f} s; {sum(bool(o.faults) for o in found)} with a fault"
    )


if __name__ == "__main__":
    given = sys.argv[1:]
    with tempfile.TemporaryDirectory() as folder:
        outcomes = run(
            Path(folder),
            int(given[0]) if given else 500,
            int(given[1]) if given[1:] else 11,
            Path(given[2]) if given[2:] else None,
            lambda line: print(line, flush=True),
        )
    print(sums(outcomes))
    sys.exit(1 if any(o.faults for o in outcomes) else 0)
