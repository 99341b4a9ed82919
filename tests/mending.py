"""Takes the value that would do out of a refusal's message and puts it into the file."""

import copy
import re
import tomllib

WOULD_DO = re.compile(r"; ([\w.]+) = (.+) would do$")


def mended(data: dict, message: str) -> dict:
    """The file with the value that a message names put in."""
    found = WOULD_DO.search(message)
    assert found, f"names no value that would do: {message}"
    key, value = found.group(1), tomllib.loads(f"v = {found.group(2)}")["v"]
    changed = copy.deepcopy(data)
    *path, last = [int(k) if k.isdecimal() else k for k in key.split(".")]
    at = changed
    for k in path:
        at = at[k] if isinstance(k, int) else at.setdefault(k, {})
    at[last] = value
    return changed
