"""The rooms of the house: who may import whom, and what must not be imported before a file has passed validation."""

from __future__ import annotations

import ast
import graphlib
import importlib.metadata
import re
import subprocess
import sys
import tomllib
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import pytest

from plumbcut.model.solid.roles import ROLES

ROOT = Path(__file__).parents[1]
FLOORS = {"shared": set(), "model": {"shared"}, "exports": {"shared", "model"}}
LONGEST = 475  # lines: what is read in one sitting (our own)
LONGEST_FUNCTION = 60  # lines, its heading and docstring with it: what is seen at one look (our own)
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


# each room of the model may import those before it; `deck` holds the parts, and what judges them comes after
ROOMS = [
    "input",
    "solid",
    "strength",
    "plan",
    "pieces",
    "measuring",
    "as_built",
    "deck",
    "structure",
    "rules",
    "order",
    "design",
    "parameter_file",
]
# they answer --help and a faulty file before the kernel is loaded (`test_answers_without_the_kernel`)
LOADS_LATE = {"exports.build", "exports.command", "exports.form_command", "exports.client.client_command"}


def module_of(path: Path) -> str:
    return ".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__")


def own_imports(path: Path) -> Iterator[tuple[str, ast.ImportFrom, bool]]:
    """(module of ours, the statement, whether it stands in a function) of every import, type-only ones included."""
    known = {module_of(p): p for p in MODULES}
    package = path.relative_to(ROOT).parent.parts
    tree = ast.parse(path.read_text())
    inside = {
        id(node)
        for f in ast.walk(tree)
        if isinstance(f, (ast.FunctionDef, ast.AsyncFunctionDef))
        for node in ast.walk(f)
    }
    for node in ast.walk(tree):
        if not isinstance(node, ast.ImportFrom) or not node.level:
            continue
        base = [*package[: len(package) - node.level + 1], *(node.module.split(".") if node.module else [])]
        for name in node.names:
            target = ".".join([*base, name.name])
            target = target if target in known else ".".join(base)
            if target in known and target != module_of(path):
                yield target, node, id(node) in inside


def test_no_two_modules_import_each_other():
    """No cycle of any length, type-only imports included."""
    graph = {module_of(p): {t for t, _, _ in own_imports(p)} for p in MODULES}
    tuple(graphlib.TopologicalSorter(graph).static_order())  # raises CycleError with the cycle


def test_own_modules_are_imported_at_the_top():
    late = {
        f"{module_of(p)}:{node.lineno} {target}"
        for p in MODULES
        if module_of(p) not in LOADS_LATE
        for target, node, inside in own_imports(p)
        if inside
    }
    assert not late


def test_rooms_of_the_model_import_downwards():
    def rank(module: str) -> int:
        return ROOMS.index(module.split(".")[1])

    arrows = {
        (module_of(p).removeprefix("model."), t.removeprefix("model."))
        for p in (ROOT / "model").rglob("*.py")
        if p.name != "__init__.py"
        for t, _, _ in own_imports(p)
        if t.startswith("model.") and rank(t) > rank(module_of(p))
    }
    assert arrows == set()


# one clear message to who typed the file, before any paper: what was measured, in the units of a tape
MESSAGES = {"model.as_built.outline_fit", "model.as_built.survey"}


def test_numbers_are_worded_for_paper_in_exports_alone():
    """The model and `shared` say numbers as data (`shared.said`); feet, inches and fractions are written in exports."""
    words = {"feet_inches", "inches", "millimetres"}
    found = {
        module_of(p)
        for p in MODULES
        if p.relative_to(ROOT).parts[0] != "exports"
        for target, node, _ in own_imports(p)
        if target == "shared.units" and words & {a.name for a in node.names}
    }
    assert found == MESSAGES


def test_no_module_is_too_long_to_read():
    long = {str(p.relative_to(ROOT)): n for p in MODULES if (n := len(p.read_text().splitlines())) > LONGEST}
    assert not long


def test_no_function_is_too_long_to_see():
    long = {
        f"{path.relative_to(ROOT)} {node.name}": lines
        for folder in (*FLOORS, ".package", "params", "tests")
        for path in sorted((ROOT / folder).rglob("*.py"))
        for node in ast.walk(ast.parse(path.read_text()))
        if isinstance(node, (ast.FunctionDef, ast.AsyncFunctionDef))
        and (lines := node.end_lineno - node.lineno + 1) > LONGEST_FUNCTION
    }
    assert not long


# the same thing under the same word: what Python users get is the model's deck, with what is worked out on asking
DEFINED_TWICE = {
    "Deck": ["exports.door", "model.deck"],
}


def test_a_class_name_has_one_meaning():
    """Names of types written out (`Point = tuple[float, float]`) too."""
    found: dict[str, list[str]] = {}
    for path in MODULES:
        tree = ast.parse(path.read_text())
        names = [node.name for node in ast.walk(tree) if isinstance(node, ast.ClassDef)]
        stored = (t for node in tree.body if isinstance(node, ast.Assign) for t in node.targets)
        names += [t.id for t in stored if isinstance(t, ast.Name) and t.id[0].isupper() and not t.id.isupper()]
        for name in names:
            found.setdefault(name, []).append(module_of(path))
    assert {name: sorted(places) for name, places in found.items() if len(places) > 1} == DEFINED_TWICE


def test_a_module_name_has_one_meaning():
    names = Counter(path.stem for path in MODULES if path.stem != "__init__")
    assert not [name for name, count in names.items() if count > 1]


def test_a_constant_has_one_meaning():
    """A value that others may ask for is named once; what one module keeps to itself begins with an underscore."""
    found: dict[str, list[str]] = {}
    for path in MODULES:
        for node in ast.parse(path.read_text()).body:
            targets = node.targets if isinstance(node, ast.Assign) else [getattr(node, "target", None)]
            for name in (n for t in targets if t for n in ast.walk(t) if isinstance(n, ast.Name)):
                if not name.id.startswith("_") and name.id.isupper():
                    found.setdefault(name.id, []).append(module_of(path))
    assert not {name: places for name, places in found.items() if len(places) > 1}


def test_a_module_named_in_words_is_there():
    """Docstrings, comments and DEVELOPERS.md follow a module that is moved or renamed."""
    named = re.compile(r"`((?:model|exports|shared|tests)/[\w/]+)(?:\.py)?`")
    gone = [
        f"{path.relative_to(ROOT)}: {place}"
        for path in [*MODULES, ROOT / "DEVELOPERS.md", ROOT / "README.md"]
        for place in named.findall(path.read_text())
        if not any((ROOT / f"{place}{end}").exists() for end in ("", ".py"))
    ]
    assert not gone


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


# where three or more kinds of piece are named in one breath, because the drawing or the rule is about just these
NAMED_TOGETHER = {
    "model/measuring/bay_seen.py": 1,
    "exports/cards/frame_marks.py": 1,
    "exports/cards/guard_card.py": 1,
    "exports/formats/calcs.py": 1,
    "exports/sheets/guard_details.py": 1,
    "exports/sheets/stair_section.py": 2,
    "model/measuring/carriers.py": 1,
    "model/rules/check_frame.py": 1,
    "model/rules/check_guards.py": 1,
    "model/rules/check_stair_guards.py": 1,
}


def test_what_a_kind_of_piece_is_stands_in_its_row_alone():
    """No table of roles outside `solid/roles`: a new kind would be missing there."""
    found: dict[str, int] = {}
    for path in MODULES:
        if path.name == "roles.py":
            continue
        for node in ast.walk(ast.parse(path.read_text())):
            items = node.keys if isinstance(node, ast.Dict) else getattr(node, "elts", ())
            names = [i.value for i in items if isinstance(i, ast.Constant) and i.value in ROLES]
            if len(names) >= 3:
                place = path.relative_to(ROOT).as_posix()
                found[place] = found.get(place, 0) + 1
    assert found == NAMED_TOGETHER


CITATION = re.compile(r"\b(IRC|NDS|DCA 6|ASCE|AWC|AWPA|R3\d\d|R5\d\d)\b")
QUOTES = {"model/input/parameters.py": 1}  # the default edition, which is a choice and no citation


def test_no_citation_is_typed_in_the_model():
    """Documents and clauses stand in the data (`shared/data`), so that a further edition is rows; docstrings may name
    them."""
    found: dict[str, int] = {}
    for path in (ROOT / "model").rglob("*.py"):
        tree = ast.parse(path.read_text())
        texts = {
            id(n.body[0].value)
            for n in ast.walk(tree)
            if isinstance(n, (ast.Module, ast.ClassDef, ast.FunctionDef)) and n.body and isinstance(n.body[0], ast.Expr)
        }
        for node in ast.walk(tree):
            text = node.value if isinstance(node, ast.Constant) and id(node) not in texts else None
            if isinstance(text, str) and CITATION.search(text):
                place = path.relative_to(ROOT).as_posix()
                found[place] = found.get(place, 0) + 1
    assert found == QUOTES


# names that no paper words in other units: angles at the saw, lengths as a price list has them, a load in pounds
AS_GIVEN = {("model/order/cuts.py", "°"), ("model/order/order.py", " ft"), ("model/structure/member_checks.py", " lb")}
JUDGING = ("structure", "rules", "order", "plan", "as_built", "strength")


@pytest.mark.parametrize("room", JUDGING)
def test_the_model_rounds_no_number_for_paper(room):
    """Reasons, notes and lines of the calculation hold their numbers as data (`shared/said`); what a fault of the file
    says is no paper."""
    found = []
    for path in sorted((ROOT / "model" / room).glob("*.py")):
        name = str(path.relative_to(ROOT))
        found += [
            f"{name}:{line}: {text}"
            for line, text in rounding(path.read_text())
            if not any(name == file and sign in text for file, sign in AS_GIVEN)
        ]
    assert not found, "\n".join(found)


def rounding(source: str) -> list[tuple[int, str]]:
    """(line, text) of each f-string outside an error that gives a number its decimals."""
    tree = ast.parse(source)
    parent = {child: node for node in ast.walk(tree) for child in ast.iter_child_nodes(node)}
    found = []
    for node in ast.walk(tree):
        if not isinstance(node, ast.FormattedValue) or node.format_spec is None:
            continue
        if not re.search(r"[fge]'$", ast.unparse(node.format_spec)):
            continue
        above, within = node, []
        while (above := parent.get(above)) is not None:
            within.append(above)
        errors = ("DesignError", "NoValue", "ValueError", "InputError")
        told = any(
            isinstance(a, ast.Raise) or (isinstance(a, ast.Call) and ast.unparse(a.func) in errors) for a in within
        )
        if not told:
            whole = next(a for a in within if isinstance(a, ast.JoinedStr))
            found.append((node.lineno, ast.unparse(whole)))
    return found


def test_a_rounded_number_is_found():
    assert rounding("why = f'{x:.2f} in wide'") and rounding("why = f'{x:g} in'")
    assert not rounding("raise DesignError('a', f'{x:.2f} in wide')") and not rounding("name = f'{mark}-{n:02d}'")


def test_what_the_tests_import_is_declared():
    """Everything outside the standard library that a test imports is in pyproject, so that nothing is skipped for want
    of it."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
    asked = [*project["dependencies"], *project["optional-dependencies"]["test"]]
    declared = {re.match(r"[\w.-]+", line)[0].lower() for line in asked}
    own = {path.stem for path in (ROOT / "tests").rglob("*.py")} | {"plumbcut"}
    homes = importlib.metadata.packages_distributions()
    missing = set()
    for path in (ROOT / "tests").rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text())):
            names = [a.name for a in node.names] if isinstance(node, ast.Import) else []
            if isinstance(node, ast.ImportFrom) and not node.level and node.module:
                names.append(node.module)
            for top in {n.split(".")[0] for n in names} - own - sys.stdlib_module_names:
                if not {d.lower() for d in homes.get(top, [top])} & declared:
                    missing.add(top)
    assert missing <= {"OCP"}  # the kernel's own calls come with cadquery
    assert "importorskip" not in "".join(
        p.read_text() for p in (ROOT / "tests").rglob("*.py") if p.name != "test_architecture.py"
    )


def public_functions(body: list[ast.stmt]) -> Iterator[ast.FunctionDef]:
    for node in body:
        if isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
            yield from public_functions(node.body)
        if isinstance(node, ast.FunctionDef) and not node.name.startswith("_"):
            yield node


def test_every_public_function_of_the_model_says_its_types():
    """Every parameter and what comes back: the type checker looks through `.ci/types`, which CI runs."""
    untyped = []
    for path in [p for room in ("model", "shared") for p in (ROOT / room).rglob("*.py")]:
        for f in public_functions(ast.parse(path.read_text()).body):
            every = [*f.args.posonlyargs, *f.args.args, *f.args.kwonlyargs, f.args.vararg, f.args.kwarg]
            bare = [a.arg for a in every if a and a.arg not in ("self", "cls") and a.annotation is None]
            untyped += [(path.name, f.name, bare)] if bare or f.returns is None else []
    assert not untyped
    assert "bash .ci/types" in (ROOT / ".ci" / "run").read_text().splitlines()
