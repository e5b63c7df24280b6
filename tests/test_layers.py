"""The shape of the house: who may import whom, and how long a file may be.

Imports count wherever they stand: at the top, deferred into a function, behind TYPE_CHECKING, or
spelled out for importlib. The rules are shown to bite on planted trees at the end.
"""

from __future__ import annotations

import ast
from graphlib import CycleError, TopologicalSorter
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from collections.abc import Iterator

ROOT = Path(__file__).parents[1]
PACKAGES = ("analysis", "pipelines", "dashboards", "data_demo")
MOST_LINES = 400

# What stands on the left knows nothing of what stands on the right.
KNOWS_NOTHING_OF = {
    "analysis": ("pipelines", "dashboards", "data_demo"),
    "dashboards": ("pipelines", "analysis", "data_demo"),
    "pipelines.errors": ("pipelines",),
    "pipelines.readers": (
        "pipelines.store",
        "pipelines.config",
        "pipelines.flows",
        "pipelines.commands",
        "pipelines.cli",
    ),
    "pipelines.store": (
        "pipelines.readers",
        "pipelines.config",
        "pipelines.flows",
        "pipelines.commands",
        "pipelines.cli",
    ),
    "pipelines.config": ("pipelines.flows", "pipelines.commands", "pipelines.cli"),
    "pipelines.flows": ("pipelines.commands", "pipelines.cli"),
    "pipelines.commands": ("pipelines.cli",),
}
# From the bottom up: a part imports from rows below its own, never from its siblings.
ROWS_OF_ANALYSIS = (
    ("errors", "each"),
    ("units",),
    ("intervals",),
    ("survival", "kinetics", "oxygen", "control", "panel", "week"),
    ("staling", "line"),
    ("dating",),
    ("cases",),
)
ROW = {part: row for row, parts in enumerate(ROWS_OF_ANALYSIS) for part in parts}

Imports = dict[str, set[str]]


def read_imports(root: Path) -> Imports:
    """Map every module below the root to the dotted names that it imports."""
    return {
        module_name(path.relative_to(root)): set(imported_names(path, root))
        for package in PACKAGES
        for path in sorted((root / package).rglob("*.py"))
    }


def module_name(path: Path) -> str:
    """Name the module of a file, `analysis/oxygen/__init__.py` being analysis.oxygen."""
    parts = path.with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def imported_names(path: Path, root: Path) -> Iterator[str]:
    """Yield every name that a file imports, `from a.b import c` being a.b.c."""
    package = path.relative_to(root).parent.parts
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"), filename=str(path))):
        match node:
            case ast.Import(names=names):
                yield from (alias.name for alias in names)
            case ast.ImportFrom(module=module, names=names, level=level):
                here = package[: len(package) - level + 1] if level else ()
                base = [*here, *([module] if module else [])]
                yield from (".".join([*base, alias.name]) for alias in names)
            case ast.Call(
                func=ast.Name(id="import_module" | "__import__")
                | ast.Attribute(attr="import_module"),
                args=[ast.Constant(value=str(name)), *_],
            ):
                yield name


def within(name: str, package: str) -> bool:
    """Tell whether a dotted name is a package or lies in it."""
    return name == package or name.startswith(f"{package}.")


def strangers(imports: Imports) -> Iterator[str]:
    """Find imports between packages that know nothing of each other."""
    for module, names in imports.items():
        for package, unknown in KNOWS_NOTHING_OF.items():
            if within(module, package):
                for name in sorted(names):
                    if any(within(name, other) for other in unknown):
                        yield f"{module} imports {name}: {package} knows nothing of it"


def prefect_outside_flows(imports: Imports) -> Iterator[str]:
    """Find modules that import Prefect and are no flow."""
    for module, names in imports.items():
        if not within(module, "pipelines.flows") and any(within(name, "prefect") for name in names):
            yield f"{module} imports prefect: only pipelines.flows does"


def upward_in_analysis(imports: Imports) -> Iterator[str]:
    """Find imports inside analysis that do not go down a row."""
    for module, names in imports.items():
        if not within(module, "analysis"):
            continue
        part = module.partition(".")[2].partition(".")[0]
        if part and part not in ROW:
            yield f"{module} has no row: add {part} to ROWS_OF_ANALYSIS"
            continue
        for name in sorted(names):
            other = name.partition(".")[2].partition(".")[0]
            if within(name, "analysis") and other != part and not below(other, part):
                yield f"{module} imports {name}: it is not in a row below"


def below(lower: str, upper: str) -> bool:
    """Tell whether a part of analysis stands in a row below another."""
    return lower in ROW and upper in ROW and ROW[lower] < ROW[upper]


def circles(imports: Imports) -> Iterator[str]:
    """Find a ring of modules that import each other, if there is one."""
    graph = {
        module: {found for name in names if (found := holder(name, imports))} - {module}
        for module, names in imports.items()
    }
    try:
        TopologicalSorter(graph).prepare()
    except CycleError as error:
        yield f"circle: {' - '.join(error.args[1])}"


def holder(name: str, imports: Imports) -> str | None:
    """Find the module of ours that a dotted name is, or is in."""
    while name and name not in imports:
        name = name.rpartition(".")[0]
    return name or None


def long_files(root: Path) -> Iterator[str]:
    """Find Python files that are too long, in folders that are not hidden."""
    visible = (entry for entry in root.iterdir() if not entry.name.startswith("."))
    for entry in sorted(visible):
        for path in sorted(entry.rglob("*.py")) if entry.is_dir() else [entry]:
            lines = len(path.read_bytes().splitlines()) if path.suffix == ".py" else 0
            if lines > MOST_LINES:
                yield f"{path.relative_to(root).as_posix()} has {lines} lines, over {MOST_LINES}"


def faults(root: Path) -> list[str]:
    """List everything that breaks a rule below the root."""
    imports = read_imports(root)
    return [
        *strangers(imports),
        *prefect_outside_flows(imports),
        *upward_in_analysis(imports),
        *circles(imports),
        *long_files(root),
    ]


def test_the_repository_keeps_to_its_layers() -> None:
    """No import of ours breaks a rule and no file is too long."""
    assert faults(ROOT) == []


def test_the_rules_see_the_repository() -> None:
    """Every package is found, with imports in it: an empty search would pass too."""
    imports = read_imports(ROOT)
    assert {name.partition(".")[0] for name in imports} == set(PACKAGES)
    assert "analysis.errors.InputError" in imports["analysis.units"]


def plant(root: Path, files: dict[str, str]) -> None:
    """Write a tree of files: the sound one, with those given in place of or beside its own."""
    sound = {
        "analysis/__init__.py": "",
        "analysis/errors.py": "",
        "analysis/units.py": "from analysis.errors import InputError\n",
        "analysis/kinetics/__init__.py": "",
        "analysis/kinetics/arrhenius.py": "from analysis.units import kelvin\nimport numpy\n",
        "analysis/kinetics/history.py": "from analysis.kinetics.arrhenius import q10\n",
        "analysis/oxygen/dose.py": "from analysis import errors, units\n",
        "analysis/staling/model.py": "from analysis.kinetics import history\n",
        "pipelines/__init__.py": "",
        "pipelines/errors.py": "",
        "pipelines/readers/files.py": "from pipelines.errors import ReadError\n",
        "pipelines/store/intake.py": "from pipelines.errors import StoreError\n",
        "pipelines/config.py": "from pipelines.readers.files import read_file\n",
        "pipelines/flows/fit.py": "import analysis.staling.model\nimport pipelines.store.intake\n",
        "pipelines/flows/nightly.py": "from prefect import flow\nfrom dashboards import build\n",
        "pipelines/cli.py": "def run():\n    from pipelines.flows.nightly import nightly\n",
        "dashboards/__init__.py": "",
        "dashboards/build.py": "from . import theme\n",
        "dashboards/theme.py": "x = 1\n" * MOST_LINES,
        "data_demo/__init__.py": "",
        ".venv/lib/long.py": "x = 1\n" * (MOST_LINES + 1),
    }
    for name, text in (sound | files).items():
        path = root / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")


def test_a_sound_tree_has_no_fault(tmp_path: Path) -> None:
    """Downward imports, Prefect in a flow, 400 lines, and what lies in hidden folders pass."""
    plant(tmp_path, {})
    assert faults(tmp_path) == []


DEFERRED = "def load():\n    "
FOR_TYPES = "from typing import TYPE_CHECKING\nif TYPE_CHECKING:\n    "


@pytest.mark.parametrize(
    ("file", "text", "fault"),
    [
        ("analysis/units.py", "import pipelines.store.intake", "analysis knows nothing"),
        ("analysis/units.py", "from dashboards import theme", "analysis knows nothing"),
        ("analysis/units.py", "from data_demo import truth", "analysis knows nothing"),
        ("dashboards/theme.py", "from analysis import units", "dashboards knows nothing"),
        ("dashboards/theme.py", "from pipelines import config", "dashboards knows nothing"),
        ("dashboards/theme.py", DEFERRED + "import analysis.units", "dashboards knows nothing"),
        (
            "dashboards/theme.py",
            "import importlib\nimportlib.import_module('analysis.units')",
            "dashboards knows nothing",
        ),
        ("pipelines/readers/new.py", "from pipelines import store", "readers knows nothing"),
        ("pipelines/readers/new.py", "from .. import store", "readers knows nothing"),
        ("pipelines/readers/new.py", "from ..store.intake import x", "readers knows nothing"),
        ("pipelines/readers/new.py", "import pipelines.config", "readers knows nothing"),
        (
            "pipelines/store/new.py",
            FOR_TYPES + "from pipelines.readers.files import read_file",
            "store knows nothing",
        ),
        ("pipelines/store/new.py", "import pipelines.flows.fit", "store knows nothing"),
        ("pipelines/flows/new.py", "from pipelines.cli import run", "flows knows nothing"),
        ("pipelines/config.py", "from pipelines.flows import fit", "config knows nothing"),
        ("pipelines/errors.py", "from pipelines import cli", "errors knows nothing"),
        ("pipelines/cli.py", DEFERRED + "from prefect import flow", "only pipelines.flows does"),
        ("pipelines/store/new.py", "import prefect.runtime", "only pipelines.flows does"),
        ("analysis/oxygen/new.py", "from analysis.kinetics import history", "not in a row below"),
        ("analysis/oxygen/new.py", "from analysis.staling.model import x", "not in a row below"),
        ("analysis/oxygen/new.py", "from ..kinetics import history", "not in a row below"),
        (
            "analysis/oxygen/new.py",
            FOR_TYPES + "from analysis.dating import Date",
            "not in a row below",
        ),
        ("analysis/__init__.py", "from analysis.units import kelvin", "not in a row below"),
        ("analysis/intervals.py", "from analysis.survival import laws", "not in a row below"),
        ("analysis/brewing/new.py", "", "add brewing to ROWS_OF_ANALYSIS"),
        (
            "analysis/kinetics/arrhenius.py",
            DEFERRED + "from analysis.kinetics.history import Stages",
            "circle: ",
        ),
        (
            "analysis/kinetics/arrhenius.py",
            FOR_TYPES + "from analysis.kinetics.history import Stages",
            "circle: ",
        ),
        ("dashboards/theme.py", "from dashboards.build import build", "circle: "),
        ("dashboards/theme.py", "x = 1\n" * (MOST_LINES + 1), "dashboards/theme.py has 401 lines"),
        ("tests/test_long.py", "x = 1\n" * (MOST_LINES + 1), "tests/test_long.py has 401 lines"),
        ("long.py", "x = 1\n" * (MOST_LINES + 1), "long.py has 401 lines"),
    ],
)
def test_a_planted_fault_is_found(tmp_path: Path, file: str, text: str, fault: str) -> None:
    """Each rule fails on a tree that is sound but for one line, and on nothing else in it."""
    plant(tmp_path, {file: text + "\n" * (not text.endswith("\n"))})
    found = faults(tmp_path)
    assert len(found) == 1
    assert fault in found[0]
