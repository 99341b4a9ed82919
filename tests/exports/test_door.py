"""The door for Python users: README's own lines, what the package holds, and what importing it costs."""

from __future__ import annotations

import re
import subprocess
import sys
import zipfile
from pathlib import Path

import cadquery as cq
import pytest
from conftest import DEMOS, PARAMS, demo_checks, demo_deck, demo_measured

import plumbcut

ROOT = Path(__file__).parents[2]


def test_the_lines_of_the_readme_run_as_they_stand(tmp_path, monkeypatch, capsys):
    code, swept = re.findall(r"(?s)```python\n(.*?)```", (ROOT / "README.md").read_text())
    (tmp_path / "params").symlink_to(PARAMS)
    monkeypatch.chdir(tmp_path)
    exec(compile(code, "README.md", "exec"), {})
    weight, failed = capsys.readouterr().out.splitlines()
    assert float(weight.split()[0]) == pytest.approx(
        sum(m.volume for m in demo_measured("terrace") if m.stock.material == "concrete") / 1728 * 150
        + sum(w for w in weights("terrace")),
        rel=1e-6,
    )
    assert failed == "[]"
    assert len(cq.Assembly.load("terrace.step").toCompound().Solids()) == len(demo_deck("terrace").parts)
    exec(compile(swept, "README.md", "exec"), {})
    assert capsys.readouterr().out.count("outline.depth") == 3


def weights(name: str) -> list[float]:
    from plumbcut.shared.stock import weight

    return [weight(m.stock, m.volume) for m in demo_measured(name) if m.stock.material != "concrete"]


@pytest.mark.parametrize("name", DEMOS)
def test_an_assembly_has_every_piece_in_its_place(name):
    """Named leaf by leaf, coloured, of the volume that was measured; identical pieces share one shape (cadquery's own
    reading)."""
    deck = plumbcut.build(plumbcut.load(PARAMS / f"{name}.toml"))
    whole = deck.assembly()
    leaves = {k: a for k, a in whole.objects.items() if a.obj is not None}
    assert sorted(k.rsplit("/", 1)[-1] for k in leaves) == sorted(p.id for p in deck.parts)
    assert all(a.color is not None for a in leaves.values())
    assert whole.toCompound().Volume() == pytest.approx(sum(m.volume for m in demo_measured(name)), rel=1e-9)
    assert len({id(a.obj) for a in leaves.values()}) == len({id(p.shape) for p in deck.parts}) < len(leaves)
    box, boxes = whole.toCompound().BoundingBox(), [p.box for p in deck.parts]
    assert box.zmax == pytest.approx(max(b[1, 2] for b in boxes), abs=1e-4)
    assert [(c.rule, c.place, c.result) for c in deck.checks] == [
        (c.rule, c.place, c.result) for c in demo_checks(name)
    ]


def test_importing_costs_no_kernel_and_names_are_listed():
    code = (
        "import sys, plumbcut; print(plumbcut.__version__, [m for m in ('OCP', 'cadquery', 'numpy', 'pydantic') if m in"
        " sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.split(maxsplit=1)[1].strip() == "[]"
    assert {"load", "build", "Deck", "__version__"} == set(plumbcut.__all__)
    with pytest.raises(AttributeError, match="no attribute 'nosuch'"):
        plumbcut.nosuch  # noqa: B018 (asked for its error)


def test_a_wheel_holds_every_room_and_its_data(tmp_path):
    """Built from the tree as it is: a folder with an `__init__.py` is a package, wherever it lies below the floors."""
    call = [
        sys.executable,
        "-m",
        "pip",
        "wheel",
        "--quiet",
        "--no-deps",
        "--disable-pip-version-check",
        "-w",
        str(tmp_path),
    ]
    source = tmp_path / "source"
    files = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=True).stdout.split("\n")
    for name in filter(None, files):
        if not (ROOT / name).is_file():
            continue
        (source / name).parent.mkdir(parents=True, exist_ok=True)
        (source / name).write_bytes((ROOT / name).read_bytes())
    (source / "model" / "annexe").mkdir()
    (source / "model" / "annexe" / "__init__.py").write_text("")
    subprocess.run([*call, str(source)], check=True)
    (wheel,) = tmp_path.glob("*.whl")
    held = set(zipfile.ZipFile(wheel).namelist())
    floors = ("model/", "exports/", "shared/", "params/")
    wanted = {f"plumbcut/{n}" for n in files if n.startswith(floors)} | {"plumbcut/model/annexe/__init__.py"}
    assert wanted <= held and "plumbcut/py.typed" in held and "plumbcut/__init__.py" in held
