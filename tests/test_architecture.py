"""The shape of the code: imports go down, the science is pure, the start is light."""

import ast
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parent.parent
APPS = ("clinic", "programs", "outcomes")
# An app may import itself and what stands on its right.
MAY_IMPORT = {
    "clinic": {"clinic"},
    "programs": {"programs", "clinic"},
    "outcomes": {"outcomes", "programs", "clinic"},
}
# These files put the whole together and know every app.
COMPOSITION_ROOT = {
    "clinic/settings.py",
    "clinic/urls.py",
    "clinic/management/commands/demo.py",
}
PURE = ("outcomes/science", "programs/dosing", "clinic/sourced")
HEAVY = ("pandas", "numpy", "plotly", "scipy", "statsmodels", "weasyprint")
# Modules, or whole packages, that load a heavy library: whoever stands outside
# imports them inside a function.
LAZY = {
    "outcomes.frames",
    "outcomes.science.charts",
    "outcomes.science.group",
    "outcomes.science.programme_chart",
    "outcomes.science.simulate",
    "outcomes.science.stall",
    "outcomes.trends",
}


@dataclass(frozen=True, slots=True)
class Import:
    """One imported module, by its absolute name."""

    module: str
    line: int
    function: str | None
    is_relative: bool
    is_for_types: bool


def python_files(*folders: str) -> list[Path]:
    """List the modules below the folders, without migrations."""
    return [
        path
        for folder in folders
        for path in sorted((ROOT / folder).rglob("*.py"))
        if "migrations" not in path.parts
    ]


def shown(path: Path) -> str:
    """Return the path as it is written in this file."""
    return path.relative_to(ROOT).as_posix()


def is_module(name: str) -> bool:
    """Tell whether a dotted name is a module of this project."""
    path = ROOT.joinpath(*name.split("."))
    return path.with_suffix(".py").exists() or path.is_dir()


def absolute_names(path: Path, node: ast.Import | ast.ImportFrom) -> Iterator[str]:
    """Yield what an import statement loads, relative names made absolute."""
    if isinstance(node, ast.Import):
        yield from (alias.name for alias in node.names)
        return
    package = path.relative_to(ROOT).parent.parts
    start = package[: len(package) - node.level + 1] if node.level else ()
    base = ".".join([*start, *filter(None, [node.module])])
    for alias in node.names:
        deeper = f"{base}.{alias.name}"
        yield deeper if is_module(deeper) else base


def imports_of(path: Path) -> Iterator[Import]:
    """Yield every import of a module with the place that it stands in."""

    def walk(node: ast.AST, function: str | None, for_types: bool) -> Iterator[Import]:
        for child in ast.iter_child_nodes(node):
            if isinstance(child, ast.Import | ast.ImportFrom):
                relative = bool(getattr(child, "level", 0))
                for name in absolute_names(path, child):
                    yield Import(name, child.lineno, function, relative, for_types)
            is_function = isinstance(child, ast.FunctionDef | ast.AsyncFunctionDef)
            yield from walk(
                child,
                child.name if is_function else function,
                for_types or is_type_checking(child),
            )

    return walk(ast.parse(path.read_text(encoding="utf-8")), None, False)


def is_type_checking(node: ast.AST) -> bool:
    """Tell whether a block is read by the type checker only."""
    test = getattr(node, "test", None)
    return isinstance(test, ast.Name) and test.id == "TYPE_CHECKING"


def is_lazy(module: str) -> bool:
    """Tell whether a module is one of LAZY, or stands in one of its packages."""
    return any(module == name or module.startswith(f"{name}.") for name in LAZY)


def faults(*folders: str, because: str) -> list[str]:
    """List imports that break the rule of that name, with file and line."""
    return [
        f"{shown(path)}:{found.line} imports {found.module}"
        for path in python_files(*folders)
        for found in imports_of(path)
        if RULES[because](path, found)
    ]


def goes_up(path: Path, found: Import) -> bool:
    """Tell whether an import climbs to a higher app."""
    app, target = path.relative_to(ROOT).parts[0], found.module.split(".")[0]
    if shown(path) in COMPOSITION_ROOT:
        return False
    return target in APPS and target not in MAY_IMPORT[app]


def is_impure(path: Path, found: Import) -> bool:
    """Tell whether pure code reaches for Django or for code that does."""
    top = found.module.split(".")[0]
    if top in APPS:
        return not found.module.replace(".", "/").startswith(PURE)
    return top in {"django", "django_htmx", "environ", "csp"}


def dodges_a_cycle(path: Path, found: Import) -> bool:
    """Tell whether a function imports the project's own code without need."""
    if found.function is None or found.module.split(".")[0] not in APPS:
        return False
    return not is_lazy(found.module) and found.function != "ready"


def crosses_relatively(path: Path, found: Import) -> bool:
    """Tell whether an import is relative across apps, or absolute within one."""
    app, target = path.relative_to(ROOT).parts[0], found.module.split(".")[0]
    return target in APPS and found.is_relative != (app == target)


RULES = {
    "up": goes_up,
    "impure": is_impure,
    "cycle": dodges_a_cycle,
    "relative": crosses_relatively,
}


def test_imports_go_down_only() -> None:
    """outcomes may know programs and clinic, programs may know clinic."""
    assert faults(*APPS, because="up") == []


def test_science_and_dosing_never_import_django() -> None:
    """A statistician can read and run them without Django."""
    assert faults(*PURE, because="impure") == []


def test_functions_import_only_what_is_heavy() -> None:
    """An import inside a function is for weight, never to dodge a cycle."""
    assert faults(*APPS, because="cycle") == []


def test_imports_are_relative_inside_an_app_and_absolute_across() -> None:
    """The form of an import shows whether it leaves the app."""
    assert faults(*APPS, because="relative") == []


def test_lazy_modules_are_imported_inside_functions() -> None:
    """Outside of each other and the pure science, they come late."""
    early = [
        f"{shown(path)}:{found.line} imports {found.module}"
        for path in python_files(*APPS)
        if not shown(path).startswith((*PURE, "outcomes/management/"))
        if not is_lazy(shown(path).removesuffix(".py").replace("/", "."))
        for found in imports_of(path)
        if is_lazy(found.module) and not found.function and not found.is_for_types
    ]
    assert early == []


def test_heavy_libraries_stay_out_of_start_up() -> None:
    """Neither set-up nor the whole URL table loads the numeric libraries."""
    code = (
        "import sys, django; django.setup();"
        "from django.urls import get_resolver; get_resolver().url_patterns;"
        f"print([name for name in {HEAVY!r} if name in sys.modules])"
    )
    loaded = subprocess.check_output([sys.executable, "-c", code], text=True, cwd=ROOT)
    assert loaded.strip() == "[]"
