"""Takes the value that would do out of a refusal's message and puts it into the file."""

import copy
import re
import tomllib

WOULD_DO = re.compile(r"; ([\w.]+) = (.+) would do$")


def mended(data: dict, message: str) -> dict:
    """The file with the value, or the values, that a message names put in."""
    found = WOULD_DO.search(message)
    assert found, f"names no value that would do: {message}"
    changed = copy.deepcopy(data)
    for pair in re.split(r" and (?=[\w.]+ = )", f"{found.group(1)} = {found.group(2)}"):
        _put(changed, *pair.split(" = ", 1))
    return changed


def _put(changed: dict, key: str, text: str) -> None:
    value = tomllib.loads(f"v = {text}")["v"]
    *path, last = [int(k) if k.isdecimal() else k for k in key.split(".")]
    at = changed
    for k in path:
        at = at[k] if isinstance(k, int) else at.setdefault(k, {})
    at[last] = value
