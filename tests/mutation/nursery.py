"""Where mutants live and die: a fork of this process for each, with all else already imported."""

import ast
import gc
import importlib
import os
import resource
import sys
from collections.abc import Iterator, Sequence
from contextlib import suppress
from importlib.machinery import ModuleSpec, SourceFileLoader
from importlib.util import spec_from_file_location
from pathlib import Path
from types import CodeType, ModuleType

import pytest
from hypothesis import Phase, settings

BROKEN = "raise ImportError('a mutant that every test kills')"
PASSED, FAILED = 0, 1
PROFILE = "mutation"
ALREADY_IMPORTED = "pytest.PytestAssertRewriteWarning"
PLAINLY = ("-x", "--tb=no", "-p", "no:cacheprovider", "-W", f"ignore::{ALREADY_IMPORTED}")
STAGES = ("not hypothesis", "hypothesis")
"""Which tests run, in this order: the second only for what survives the first."""


class Nursery:
    """Runs the tests of one file against other sources of it.

    Raises:
        RuntimeError: the tests fail as the file is, or do not notice when it is broken.
    """

    def __init__(self, path: Path, tests: Sequence[str]) -> None:
        self._name = ".".join(path.with_suffix("").parts)
        self._path = path
        self._tests = tests
        self._limit_s = 60
        settings.register_profile(
            PROFILE,
            max_examples=50,
            derandomize=True,
            deadline=None,
            database=None,
            phases=(Phase.explicit, Phase.generate),
        )
        _import_what(tests)
        self._dependents = _dependents(self._name)
        gc.freeze()
        started_s = _children_s()
        if self.fate(path.read_text(encoding="utf-8")) != "survived":
            raise RuntimeError(f"{path}: its own tests fail: {', '.join(tests)}")
        if self.fate(BROKEN) != "killed":
            raise RuntimeError(f"{path}: its tests do not notice when it is broken")
        self._limit_s = 3 + 3 * round(_children_s() - started_s)

    def fate(self, source: str) -> str:
        """Return what becomes of a source of the file: "killed", "survived" or "timeout"."""
        for stage in STAGES:
            fate = self._fate_in(stage, source)
            if fate != "survived":
                return fate
        return "survived"

    def _fate_in(self, stage: str, source: str) -> str:
        sys.stdout.flush()
        child = os.fork()
        if child == 0:
            self._live(stage, source)
        status = os.waitpid(child, 0)[1]
        if os.WIFSIGNALED(status):
            return "timeout"
        return "survived" if os.WEXITSTATUS(status) == PASSED else "killed"

    def _live(self, stage: str, source: str) -> None:
        """Run the tests of one stage against a source, and end this process."""
        status = FAILED
        with suppress(BaseException):
            resource.setrlimit(resource.RLIMIT_CPU, (self._limit_s, self._limit_s))
            _be_silent()
            _forget(self._dependents)
            sys.meta_path.insert(0, _Finder(self._name, self._path, source))
            chosen = ["-m", stage, f"--hypothesis-profile={PROFILE}"]
            status = int(pytest.main([*PLAINLY, *chosen, *self._tests]))
        nothing_chosen = status == int(pytest.ExitCode.NO_TESTS_COLLECTED)
        os._exit(PASSED if nothing_chosen else status)


class _Finder:
    """Finds one module, with a source of our choice."""

    def __init__(self, name: str, path: Path, source: str) -> None:
        self._name = name
        self._loader = _Loader(name, str(path.resolve()))
        self._loader.source = source

    def find_spec(self, name: str, path: object, target: object = None) -> ModuleSpec | None:
        if name != self._name:
            return None
        return spec_from_file_location(name, self._loader.path, loader=self._loader)


class _Loader(SourceFileLoader):
    source: str

    def get_code(self, fullname: str) -> CodeType:
        return compile(self.source, self.path, "exec")


def _children_s() -> float:
    usage = resource.getrusage(resource.RUSAGE_CHILDREN)
    return usage.ru_utime + usage.ru_stime


def _be_silent() -> None:
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, 1)
    os.dup2(nowhere, 2)


def _import_what(tests: Sequence[str]) -> None:
    """Import the whole package and what the tests use from elsewhere, as far as it is there."""
    used = {name for test in tests for name in _imports(Path(test))}
    elsewhere = {name for name in used if not name.startswith(("auditor", "tests"))}
    for name in (*_modules(), *sorted(elsewhere)):
        with suppress(ImportError):
            importlib.import_module(name)


def _modules() -> dict[str, Path]:
    """Return every module of the package by its name, but for those that run when imported."""
    found = {}
    for path in sorted(Path("auditor").rglob("*.py")):
        parts = path.with_suffix("").parts
        found[".".join(parts[:-1] if parts[-1] == "__init__" else parts)] = path
    del found["auditor.__main__"]
    return found


def _imports(path: Path) -> Iterator[str]:
    """Give what a file imports: modules, and names that may be modules."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (each.name for each in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module:
            yield node.module
            yield from (f"{node.module}.{each.name}" for each in node.names)


def _dependents(name: str) -> set[str]:
    """Return a module and all that import it, directly or by way of others.

    What a package has gathered while its modules were imported goes with it, and so do they.
    """
    uses = {
        module: {module.rpartition(".")[0], *_imports(path)} for module, path in _modules().items()
    }
    found = {name}
    while more := {module for module, used in uses.items() if used & found} - found:
        found |= more
    return found


def _forget(names: set[str]) -> None:
    """Let modules be imported anew."""
    for name in names:
        sys.modules.pop(name, None)
        package, _, own = name.rpartition(".")
        above: ModuleType | None = sys.modules.get(package)
        if above is not None and hasattr(above, own):
            delattr(above, own)
