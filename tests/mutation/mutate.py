# ruff: noqa: T201
"""Small faults put into one room at a time: do its tests notice?

    python tests/mutation/mutate.py field --count 60 --seed 1

A mutant is one change of one expression: a comparison moved, a sign turned, a product divided, a
number altered, a least made a most. A sample of them is drawn, each runs under the room's own
tests, under those of tests/published that import the changed module, and under the rule of the
house for records, in a child of this process; those that no test notices are listed. With
`--wider DIR` they run under the tests of DIR too, and both counts are given. Messages, annotations
and docstrings are left alone. A mutant may also mean the same as the original: survivors are read
by a person. Runs for minutes to hours; never part of the ordinary tests.
"""

from __future__ import annotations

import argparse
import ast
import copy
import importlib
import importlib.abc
import importlib.machinery
import importlib.util
import os
import random
import resource
import signal
import sys
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from types import CodeType

ROOT = Path(__file__).parents[2]
PRELOADED = (
    "numpy", "scipy.special", "scipy.optimize", "pandas", "openpyxl",
    "pymatgen.core", "periodictable", "tomllib",
)  # fmt: skip
RECORDS = "tests/house/test_records.py::test_a_record_is_not_changed_after_it_is_made"
MEMORY_BYTES = 6_000_000_000
TOLERANCES = {float(f"1e-{places}") for places in range(6, 301)}
"""Such a figure guards a division or ends a search: 1 is added to it, and to zero, since a tenth
more of a tolerance means the same. To other figures a tenth is added."""
WIDER_SECONDS = 1800

_COMPARED = {
    ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt, ast.Eq: ast.NotEq,
    ast.NotEq: ast.Eq, ast.Is: ast.IsNot, ast.IsNot: ast.Is, ast.In: ast.NotIn, ast.NotIn: ast.In,
}  # fmt: skip
_REVERSED = {ast.Lt: ast.Gt, ast.LtE: ast.GtE, ast.Gt: ast.Lt, ast.GtE: ast.LtE}
_COMPUTED = {
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult, ast.Pow: ast.Mult,
}  # fmt: skip
_TURNED = {
    "minimum": "maximum", "maximum": "minimum", "min": "max", "max": "min", "any": "all",
    "all": "any", "argmin": "argmax", "argmax": "argmin", "sin": "cos", "cos": "sin",
    "log": "log1p", "exp": "expm1", "sqrt": "square", "cumsum": "cumprod", "sorted": "list",
}  # fmt: skip


@dataclass(frozen=True)
class Mutant:
    """One change: the module, the line, what stands there and what is put in its place."""

    path: Path
    line: int
    old: str
    new: str
    site: int
    kind: int

    def __str__(self) -> str:
        where = self.path.relative_to(ROOT)
        return f"{where}:{self.line}: {self.old[:60]}  ->  {self.new[:60]}"


def changes(node: ast.AST) -> list[ast.AST]:
    """What may stand in place of a node."""
    out: list[ast.AST] = []
    if isinstance(node, ast.Compare) and len(node.ops) == 1:
        for table in (_COMPARED, _REVERSED):
            kind = table.get(type(node.ops[0]))
            if kind is not None:
                out.append(ast.Compare(node.left, [kind()], node.comparators))
    elif isinstance(node, ast.BinOp) and type(node.op) in _COMPUTED:
        texts = [isinstance(part, ast.Constant | ast.JoinedStr) for part in (node.left, node.right)]
        words = any(
            text and (isinstance(part, ast.JoinedStr) or isinstance(part.value, str))
            for text, part in zip(texts, (node.left, node.right), strict=True)
        )
        if not words:
            out.append(ast.BinOp(node.left, _COMPUTED[type(node.op)](), node.right))
    elif isinstance(node, ast.BoolOp):
        other = ast.Or() if isinstance(node.op, ast.And) else ast.And()
        out.append(ast.BoolOp(other, node.values))
    elif isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.Not | ast.USub | ast.Invert):
        out.append(node.operand)
    elif isinstance(node, ast.Constant):
        if isinstance(node.value, bool):
            out.append(ast.Constant(not node.value))
        elif isinstance(node.value, int):
            out.append(ast.Constant(node.value + 1))
        elif isinstance(node.value, float):
            one_more = node.value == 0.0 or node.value in TOLERANCES
            out.append(ast.Constant(node.value + 1.0 if one_more else node.value * 1.1))
    elif isinstance(node, ast.Attribute) and node.attr in _TURNED:
        out.append(ast.Attribute(node.value, _TURNED[node.attr], ast.Load()))
    elif isinstance(node, ast.Name) and node.id in _TURNED and isinstance(node.ctx, ast.Load):
        out.append(ast.Name(_TURNED[node.id], ast.Load()))
    return out


class Walker(ast.NodeTransformer):
    """Counts the sites of a module, or changes one of them."""

    def __init__(self, wanted: tuple[int, int] | None = None) -> None:
        self.wanted, self.site = wanted, -1
        self.found: list[tuple[int, int, ast.AST, ast.AST]] = []

    def visit(self, node: ast.AST) -> ast.AST:
        if isinstance(node, ast.JoinedStr | ast.Import | ast.ImportFrom):
            return node
        if isinstance(node, ast.arg):
            return node
        if isinstance(node, ast.AnnAssign):
            if node.value is not None:
                node.value = self.visit(node.value)
            return node
        if isinstance(node, ast.FunctionDef):
            node.args.defaults = [self.visit(one) for one in node.args.defaults]
            node.args.kw_defaults = [
                None if one is None else self.visit(one) for one in node.args.kw_defaults
            ]
            node.body = [self.visit(one) for one in node.body]
            return node
        before = copy.copy(node)
        self.site += 1
        site = self.site
        for kind, new in enumerate(changes(before)):
            self.found.append((site, kind, before, new))
        node = self.generic_visit(node)
        if self.wanted is not None and self.wanted[0] == site:
            return ast.copy_location(changes(before)[self.wanted[1]], before)
        return node


def mutants_of(path: Path) -> Iterator[Mutant]:
    """Every mutant of a module."""
    walker = Walker()
    walker.visit(ast.parse(path.read_text("utf-8")))
    for site, kind, old, new in walker.found:
        ast.copy_location(new, old)
        yield Mutant(path, old.lineno, ast.unparse(old), ast.unparse(new), site, kind)  # type: ignore[attr-defined]


class Loader(importlib.machinery.SourceFileLoader):
    """Gives one module its mutant, the others themselves."""

    def __init__(self, name: str, mutant: Mutant) -> None:
        super().__init__(name, str(mutant.path))
        self.mutant = mutant

    def get_code(self, fullname: str) -> CodeType:
        tree = ast.parse(self.mutant.path.read_text("utf-8"))
        Walker((self.mutant.site, self.mutant.kind)).visit(tree)
        return compile(ast.fix_missing_locations(tree), self.mutant.path, "exec")


class Finder(importlib.abc.MetaPathFinder):
    """Stands before the ordinary finders for one module."""

    def __init__(self, mutant: Mutant) -> None:
        self.name = ".".join(mutant.path.relative_to(ROOT).with_suffix("").parts)
        self.mutant = mutant

    def find_spec(self, name: str, path: object = None, target: object = None):  # type: ignore[no-untyped-def]
        if name != self.name:
            return None
        return importlib.util.spec_from_file_location(
            name, self.mutant.path, loader=Loader(name, self.mutant)
        )


def tests_of(room: str, module: str | None) -> list[str]:
    """Files of tests that run for a module (None: for any), those that import it first."""
    modules = [module] if module else [p.stem for p in (ROOT / "feedchar" / room).glob("*.py")]
    wanted = [f"from feedchar.{room} import", *(f"feedchar.{room}.{one} " for one in modules)]
    first, last = [], []
    for path in sorted((ROOT / "tests" / room).glob("test_*.py")):
        named = any(text in path.read_text("utf-8") for text in wanted)
        (first if named else last).append(str(path))
    published = [
        str(path)
        for path in sorted((ROOT / "tests" / "published").glob("test_*.py"))
        if any(text in path.read_text("utf-8") for text in wanted)
    ]
    records = [f"{RECORDS}[feedchar.{room}.{one}]" for one in modules if one[0] != "_"]
    return [*first, *last, *records, *published]


def notice(mutant: Mutant | None, tests: list[str], seconds: int) -> str:
    """What the tests make of a mutant: "survived", "killed", or "killed (time)"."""
    child = os.fork()
    if child == 0:
        signal.alarm(seconds)
        resource.setrlimit(resource.RLIMIT_AS, (MEMORY_BYTES, MEMORY_BYTES))
        nothing = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nothing, 1)
        os.dup2(nothing, 2)
        try:
            if mutant is not None:
                sys.meta_path.insert(0, Finder(mutant))
            import pytest

            code = int(
                pytest.main([*tests, "-x", "-q", "--assert=plain", "-p", "no:cacheprovider"])
            )
        except BaseException:
            code = 3
        os._exit(code)
    _, status = os.waitpid(child, 0)
    if os.WIFSIGNALED(status):
        return "killed (time)" if os.WTERMSIG(status) == signal.SIGALRM else "killed"
    return "survived" if os.WEXITSTATUS(status) == 0 else "killed"


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.split("\n", 1)[0])
    parser.add_argument("room", help="chemistry, field, separation, product or another")
    parser.add_argument("--count", type=int, default=60, help="mutants drawn (60)")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--only", default="", help="modules whose name holds this")
    parser.add_argument("--tests", action="append", help="in place of the room's own")
    parser.add_argument("--wider", action="append", default=[], help="tests for what survives them")
    arguments = parser.parse_args()
    os.chdir(ROOT)
    sys.path.insert(0, str(ROOT))
    os.environ["PYTHONPATH"] = str(ROOT)
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    room = ROOT / "feedchar" / arguments.room
    paths = [p for p in sorted(room.glob("*.py")) if not p.name.startswith("__")]
    pool = [m for path in paths if arguments.only in path.stem for m in mutants_of(path)]
    drawn = random.Random(arguments.seed).sample(pool, min(arguments.count, len(pool)))
    for name in PRELOADED:
        if importlib.util.find_spec(name.split(".")[0]) is not None:
            importlib.import_module(name)
    tests = arguments.tests or tests_of(arguments.room, None)
    started = time.monotonic()
    if notice(None, tests, 3600) != "survived":
        print("the tests fail without any mutant")
        return 1
    alone = time.monotonic() - started
    print(f"{len(pool)} mutants in {arguments.room}, {len(drawn)} drawn with seed "
          f"{arguments.seed}; the tests alone take {alone:.0f} s", flush=True)  # fmt: skip
    survived: list[Mutant] = []
    for number, mutant in enumerate(drawn, start=1):
        chosen = arguments.tests or tests_of(arguments.room, mutant.path.stem)
        ended = notice(mutant, chosen, int(60 + 6 * alone))
        if ended == "survived":
            survived.append(mutant)
        print(f"{number:4d} {ended:14s} {mutant}", flush=True)
    killed = len(drawn) - len(survived)
    print(f"killed {killed} of {len(drawn)}: {100 * killed / max(len(drawn), 1):.0f} %")
    for mutant in survived:
        print(f"survived: {mutant}")
    if arguments.wider:
        far = [m for m in survived if notice(m, arguments.wider, WIDER_SECONDS) == "survived"]
        killed = len(drawn) - len(far)
        print(f"with the wider tests {killed}: {100 * killed / max(len(drawn), 1):.0f} %")
        for mutant in far:
            print(f"survived these too: {mutant}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
