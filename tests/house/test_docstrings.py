"""Every public function says what goes in, what comes out, in which unit and from whom."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest

import feedchar
from feedchar import errors
from feedchar.tables.sources import sources

PACKAGE = Path(feedchar.__file__).parent
FAMILY = {name for name in vars(errors) if name.endswith("Error")}

SECTION = re.compile(r"^(\w[\w ]*)\n-{3,}$", re.MULTILINE)
UNIT = re.compile(r"\[[^\[\]]+\]\.?$")
"""A unit in brackets closes the description: [T], [m s⁻¹], [-]."""

FREE_WORDS = (
    "common practice", "no source", "from memory", "guess", "definition", "stoichiometry",
    "deriv", "closed form", "exact", "codata", "iupac", "checked against", "reference_tables",
    ".csv", "as `", "pep ", "unicode",
)  # fmt: skip
"""A reference may be words instead of a key: an honest label, a derivation, or a table."""

PLUMBING = (
    "front_door.py", "sample/", "tables/", "report/", "batch/", "cli/", "assembly/",
    "characterise.py", "units.py",
)  # fmt: skip
"""Rooms that read, write or arrange hold no published relation, so they need no reference."""


def public_functions():
    for path in sorted(PACKAGE.rglob("*.py")):
        module = path.relative_to(PACKAGE).as_posix()
        if module.startswith("cli/") or path.name.startswith("_"):
            continue
        for node in ast.parse(path.read_text(encoding="utf-8")).body:
            if isinstance(node, ast.FunctionDef) and not node.name.startswith("_"):
                yield pytest.param(module, node, id=f"{module}:{node.name}")


def sections(text: str) -> dict[str, str]:
    pieces = SECTION.split(text)
    return {"summary": pieces[0].strip()} | {
        name: body.strip("\n") for name, body in zip(pieces[1::2], pieces[2::2], strict=True)
    }


def entries(body: str) -> dict[str, str]:
    """Name and type line of each entry, and its description."""
    found: dict[str, str] = {}
    heading = ""
    for line in body.splitlines():
        if line and not line.startswith(" "):
            heading = line
            found[heading] = ""
        elif heading:
            found[heading] += " " + line.strip()
    return {name: text.strip() for name, text in found.items()}


def parameters(node: ast.FunctionDef) -> list[str]:
    arguments = node.args
    names = [*arguments.posonlyargs, *arguments.args, *arguments.kwonlyargs]
    extra = [arguments.vararg, arguments.kwarg]
    return [name.arg for name in [*names, *[e for e in extra if e is not None]]]


def returns_something(node: ast.FunctionDef) -> bool:
    return not (
        node.returns is None
        or (isinstance(node.returns, ast.Constant) and node.returns.value is None)
        or (isinstance(node.returns, ast.Name) and node.returns.id in ("NoReturn", "Never"))
    )


def raised_here(node: ast.FunctionDef) -> set[str]:
    return {
        inner.exc.func.id
        for inner in ast.walk(node)
        if isinstance(inner, ast.Raise)
        and isinstance(inner.exc, ast.Call)
        and isinstance(inner.exc.func, ast.Name)
        and inner.exc.func.id in FAMILY
    }


@pytest.mark.parametrize(("module", "node"), list(public_functions()))
def test_a_public_function_tells_units_errors_and_source(module, node):
    text = ast.get_docstring(node)
    assert text, "no docstring"
    told = sections(text)
    assert told["summary"].split("\n\n")[0].strip().endswith((".", "?")), "summary is one sentence"

    if names := parameters(node):
        assert "Parameters" in told, "no Parameters section"
        described = entries(told["Parameters"])
        listed = {
            name.strip().lstrip("*")
            for heading in described
            for name in heading.split(":")[0].split(",")
        }
        assert listed == set(names), f"parameters described {listed}, taken {set(names)}"
        without = [heading for heading, body in described.items() if not UNIT.search(body)]
        assert not without, f"no unit in brackets at the end of {without}"

    if returns_something(node):
        assert "Returns" in told or "Yields" in told, "no Returns section"
        described = entries(told.get("Returns", told.get("Yields", "")))
        assert described
        without = [heading for heading, body in described.items() if not UNIT.search(body)]
        assert not without, f"no unit in brackets at the end of {without}"

    raised = raised_here(node)
    missing = {name for name in raised if name not in told.get("Raises", "")}
    assert not missing, f"raises {missing} without saying so"

    reference = told.get("References", "")
    if not reference and module.startswith(PLUMBING):
        return
    assert reference, "no References section"
    keys = set(re.findall(r"[A-Za-z0-9_-]+", reference)) & set(sources())
    words = any(word in reference.lower() for word in FREE_WORDS)
    assert keys or words, f'"{reference}" names no key of sources.csv and no honest label'


@pytest.mark.parametrize(
    "module", [path.relative_to(PACKAGE).as_posix() for path in sorted(PACKAGE.rglob("*.py"))]
)
def test_a_module_says_what_it_is_for_and_stays_readable(module):
    text = (PACKAGE / module).read_text(encoding="utf-8")
    assert ast.get_docstring(ast.parse(text)), "no module docstring"
    assert len(text.splitlines()) < 300, "300 lines or more: split by idea"
    assert not re.search(r"(^|/)(utils?|helpers?|misc|tools?)(/|\.py$)", module)
