"""The rooms of the house: who may import whom, and what must not be imported before a file has passed validation."""

from __future__ import annotations

import ast
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
FLOORS = {"shared": set(), "model": {"shared"}, "exports": {"shared", "model"}}
MODULES = [p for floor in FLOORS for p in sorted((ROOT / floor).rglob("*.py"))]


@pytest.mark.parametrize("path", MODULES, ids=lambda p: str(p.relative_to(ROOT)))
def test_imports_go_down_only(path):
    floor = path.relative_to(ROOT).parts[0]
    depth = len(path.relative_to(ROOT).parts) - 1
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.Import):
            names = [a.name for a in node.names]
        elif isinstance(node, ast.ImportFrom) and node.level == 0:
            names = [node.module or ""]
        elif isinstance(node, ast.ImportFrom) and node.level > depth:
            target = (node.module or node.names[0].name).split(".")[0]
            assert target in FLOORS[floor] | {"params"}, f"{path.name}:{node.lineno} reaches up to {target}"
            continue
        else:
            continue
        assert not any(n.split(".")[0] == "plumbcut" for n in names), (
            f"{path.name}:{node.lineno}: imports inside are relative"
        )


def test_no_module_is_too_long_to_read():
    long = {str(p.relative_to(ROOT)): n for p in MODULES if (n := len(p.read_text().splitlines())) > 500}
    assert not long


@pytest.mark.parametrize(
    "call", [["--help"], ["schema"], ["new"], ["build", "BAD"], ["check", "BAD"]], ids=lambda c: c[0]
)
def test_answers_without_the_kernel(call, tmp_path):
    bad = tmp_path / "bad.toml"
    bad.write_text("[outline]\nwidth = -1\n")
    call = [str(bad) if c == "BAD" else c for c in call]
    code = (
        "import sys\nfrom plumbcut.exports.command import main\n"
        f"try:\n    main({call!r})\nexcept SystemExit:\n    pass\n"
        "heavy = [m for m in ('cadquery', 'OCP', 'ezdxf', 'trimesh', 'reportlab') if m in sys.modules]\n"
        "print('HEAVY', heavy)\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip().endswith("HEAVY []")
