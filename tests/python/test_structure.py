"""The shape of the package: no circle of imports, no class that is only a part of another."""

from __future__ import annotations

import ast
import inspect
import re
from graphlib import CycleError, TopologicalSorter
from pathlib import Path
from typing import Any, get_args

import pytest

import underturf as ut
import underturf.diagnostics
import underturf.plotting
from underturf import _core
from underturf.digs import Method
from underturf.methods.chances import Form
from underturf.options import Objective, Tool
from underturf.results.ranking import By

PACKAGE = Path(ut.__file__).parent
LOOKS = (f"{PACKAGE.name}.exporting", f"{PACKAGE.name}.plotting")
ENGINE = f"{PACKAGE.name}._core"


def sources():
    """Every file of the package by the name of its module."""
    found = {}
    for path in PACKAGE.rglob("*.py"):
        parts = [PACKAGE.name, *path.relative_to(PACKAGE).with_suffix("").parts]
        found[".".join(parts[:-1] if parts[-1] == "__init__" else parts)] = path.read_text(encoding="utf-8")
    return found


def is_for_types(node):
    return isinstance(node, ast.If) and ast.unparse(node.test) == "TYPE_CHECKING"


def is_for_a_look(node):
    """Whether this is the import inside ``plot`` or ``export``: these look at everything, and everything can be looked at."""
    return isinstance(node, ast.ImportFrom) and node.col_offset > 0 and node.module.startswith(LOOKS)


def imports_of(source, modules):
    """Modules of the package that a file imports when it runs, inside functions too."""
    waiting, found = [ast.parse(source)], set()
    while waiting:
        node = waiting.pop()
        if is_for_types(node) or is_for_a_look(node):
            continue
        waiting.extend(ast.iter_child_nodes(node))
        if isinstance(node, ast.Import):
            found |= {name.name for name in node.names if name.name in modules}
        elif isinstance(node, ast.ImportFrom) and node.module in modules and node.module != PACKAGE.name:
            inner = {f"{node.module}.{name.name}" for name in node.names} & modules
            found |= inner | rooms(node.module) | (set() if inner else {node.module})
        elif isinstance(node, ast.ImportFrom) and node.module in modules:
            names = {f"{node.module}.{name.name}" for name in node.names} - {ENGINE}
            found |= (names & modules) | ({node.module} if names - modules else set())
    return found


def rooms(module):
    """Packages inside the package that Python runs before it runs a module of theirs."""
    parts = module.split(".")
    return {".".join(parts[:k]) for k in range(2, len(parts))}


def order_of(files):
    graph = {name: imports_of(source, set(files)) for name, source in files.items()}
    graph = {name: {other for other in needs if other not in rooms(name) | {name}} for name, needs in graph.items()}
    return list(TopologicalSorter(graph).static_order()), sum(map(len, graph.values()))


def test_imports_have_an_order():
    order, edges = order_of(sources())
    assert len(order) > 60
    assert edges > 150


def test_a_circle_of_imports_is_seen():
    files = {"a.b": "def f():\n    from a.c import g", "a.c": "import a.b"}
    with pytest.raises(CycleError):
        order_of(files)
    files["a.b"] = "if TYPE_CHECKING:\n    from a.c import g"
    assert order_of(files)[0] == ["a.b", "a.c"]


def test_no_method_is_left_to_somebody_else():
    raised = [name for name, source in sources().items() if "raise NotImplementedError" in source]
    assert not raised


#: Most parameters of a function; the object that a method belongs to is not counted.
MOST = 7


def public_functions():
    """Every function, method and property that the package exports, by name."""
    for module in (ut, ut.diagnostics, ut.plotting):
        for name in module.__all__:
            thing = getattr(module, name)
            if inspect.isfunction(thing):
                yield name, thing, 0
            elif inspect.isclass(thing):
                yield from methods_of(thing)


def methods_of(kind):
    made = (
        {"__init__", "__new__", "_make", "_replace"}
        if hasattr(kind, "__dataclass_fields__") or issubclass(kind, tuple)
        else set()
    )
    for name, thing in inspect.getmembers_static(kind):
        if isinstance(thing, property):
            yield f"{kind.__name__}.{name}", thing.fget, 1
        bare = getattr(thing, "__func__", thing)
        if inspect.isfunction(bare) and name not in made and (name == "__init__" or not name.startswith("_")):
            yield f"{kind.__name__}.{name}", bare, 0 if isinstance(thing, staticmethod) else 1


def says_any(annotation):
    return re.search(r"\bAny\b", str(annotation)) is not None


def test_public_functions_have_few_parameters_and_say_what_they_take():
    seen = 0
    for name, function, owner in public_functions():
        signature = inspect.signature(function)
        assert len(signature.parameters) - owner <= MOST, name
        annotations = [of.annotation for of in signature.parameters.values()][owner:] + [signature.return_annotation]
        assert not any(map(says_any, annotations)), f"{name}: {signature}"
        assert all(of.kind != of.VAR_KEYWORD for of in signature.parameters.values()), f"{name} takes anything"
        seen += 1
    assert seen > 120


def test_no_function_has_many_parameters():
    seen = 0
    for module, source in sources().items():
        for node in ast.walk(ast.parse(source)):
            if isinstance(node, ast.FunctionDef):
                names = [of.arg for of in (*node.args.posonlyargs, *node.args.args, *node.args.kwonlyargs)]
                owner = names[:1] in (["self"], ["cls"]) or (
                    ".methods." in module and names[:1] in (["layouts"], ["site"])
                )
                assert len(names) - owner <= MOST, f"{module}.{node.name}"
                seen += 1
    assert seen > 500


def test_a_long_or_vague_signature_is_seen():
    def long(a, b, c, d, e, f, g, h): ...

    def vague(a: dict[str, Any]): ...

    assert len(inspect.signature(long).parameters) > MOST
    assert says_any(inspect.signature(vague).parameters["a"].annotation)
    assert not says_any("Many")


def test_files_are_short():
    lines = {name: source.count("\n") for name, source in sources().items()}
    assert len(lines) > 80
    assert not {name: count for name, count in lines.items() if count > 400}


#: What has no example of its own, and why.
WITHOUT_EXAMPLE = {
    **dict.fromkeys(["UnderturfError", "ArgumentError", "DigError", "DocumentSyntaxError"], "shown where it is raised"),
    **dict.fromkeys(["LayoutError", "ConvergenceError", "EffortError", "MemoryLimitError"], "raised after long work"),
    "InternalError": "nobody can ask for it",
    **dict.fromkeys(
        [
            "AssessedDig",
            "Effect",
            "MetalLine",
            "PlannedProbe",
            "PlannedSweep",
            "RankedDig",
            "RankedValve",
            "ReportRow",
            "Spot",
        ],
        "a row; its result has one",
    ),
    "Result": "the results have one each",
    "RootBall": "root_ball has one",
}


def documented():
    """Every class, function and method that the package exports, with its docstring; properties are told by their class."""
    for module in (ut, ut.diagnostics, ut.plotting):
        for name in module.__all__:
            thing = getattr(module, name)
            if inspect.isfunction(thing) or inspect.isclass(thing):
                yield name, inspect.getdoc(thing) or ""
    for name, function, _ in public_functions():
        if not name.endswith(".__init__"):
            yield name, inspect.getdoc(function) or ""


def is_property(name):
    owner, _, attribute = name.partition(".")
    return bool(attribute) and isinstance(inspect.getattr_static(getattr(ut, owner), attribute), property)


def without_example(docs):
    return {name for name, doc in docs.items() if ">>> " not in doc}


def test_everything_public_has_an_example_that_is_run():
    """Examples are run by ``--doctest-modules``. Planted fault: a method whose example was taken out."""
    docs = {name: doc for name, doc in documented() if not is_property(name)}
    assert len(docs) > 115
    assert without_example(docs) == set(WITHOUT_EXAMPLE)
    assert without_example({"Site.plot": docs["Site.plot"].partition("Examples")[0]}) == {"Site.plot"}
    assert "--doctest-modules" in (Path(__file__).parents[2] / "pyproject.toml").read_text(encoding="utf-8")


#: Sources of the binding; they lie beside the package.
BINDING = Path(__file__).parents[2] / "python" / "src"


def raisers(folder):
    """Files of the binding that make a Python exception, with how often."""
    made = re.compile(r"\b(?:PyErr::|Py[A-Z]\w*Error::|\w*Error::)new_err\b|\bimport_exception!")
    found = {path.name: len(made.findall(path.read_text(encoding="utf-8"))) for path in sorted(folder.glob("*.rs"))}
    return {name: count for name, count in found.items() if count}, len(found)


def test_exceptions_are_made_in_one_place(tmp_path):
    made, seen = raisers(BINDING)
    assert seen > 15
    assert list(made) == ["errors.rs"]
    assert made["errors.rs"] > 20
    (tmp_path / "site.rs").write_text('return Err(ArgumentError::new_err("no"));')
    assert list(raisers(tmp_path)[0]) == ["site.rs"]


#: Sources of the engine.
ENGINE_SOURCES = BINDING.parents[1] / "src"

#: How Python is written: a call, a keyword with its value, and options that only make sense as such.
PYTHON = re.compile(r"\b\w+\(\)|\b\w+=(?:True|False|\d|\.\.\.)|\b(?:accept_unconverged|memory_limit_gb|spare_roots)\b")


def error_texts(source):
    """The texts in the attributes that word the errors of a Rust file."""
    worded = re.findall(r"#\[error\((.*?)\)\]\n", source, re.DOTALL)
    return re.findall(r'"((?:[^"\\]|\\.)*)"', "\n".join(worded), re.DOTALL)


def test_errors_of_the_engine_do_not_speak_python():
    """The engine serves Rust too; how to ask otherwise in Python is added by the binding, in one table."""
    texts = [text for path in ENGINE_SOURCES.rglob("*.rs") for text in error_texts(path.read_text(encoding="utf-8"))]
    assert len(texts) > 80
    assert not [text for text in texts if PYTHON.search(text)]
    planted = '#[error("take it as it is (`accept_unconverged=True`)")]\nNotConverged,'
    assert PYTHON.search(*error_texts(planted))


def test_words_of_arguments_are_the_engine_s():
    """Types cannot be made from what the engine tells, so the words of the types are held against it."""
    words = _core.WORDS
    for name, literal in {"method": Method, "objective": Objective, "tool": Tool, "form": Form, "by": By}.items():
        assert list(get_args(literal)) == words[name], name


#: Sentences that the engine owns.
OWNED = (_core.NOT_CONVERGED, _core.NOWHERE, *_core.WORDS["nameless_valve"])


def literals(source):
    """The texts of a file that are no docstrings."""
    tree = ast.parse(source)
    bare = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}
    return [
        node.value
        for node in ast.walk(tree)
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in bare
    ]


def test_sentences_of_the_engine_stand_there_alone():
    said = {name: literals(source) for name, source in sources().items()}
    assert sum(map(len, said.values())) > 2000
    for owned in OWNED:
        assert not [name for name, texts in said.items() if any(owned in text for text in texts)], owned


#: Calls that write files.
WRITES = re.compile(r"(\w+)\.(?:write_text|write_bytes|savefig|to_netcdf|open)\(([^)\n]*)")


def written_in_place(source):
    """Calls that write to what no ``with replacing(...)`` gave; docstrings, and streams in memory, apart."""
    code = ast.unparse(ast.parse(re.sub(r'""".*?"""', '""', source, flags=re.DOTALL)))
    parts = set(re.findall(r"replacing\(.*?\) as (\w+)", code))
    wrong = []
    for call in WRITES.finditer(code):
        name, arguments = call[1], call[2]
        reads = ".open(" in call[0] and not re.search(r"'[wa]b?\+?'", arguments)
        if not reads and name not in parts and arguments.split(",")[0] not in parts | {"stream"}:
            wrong.append(call[0])
    return wrong


def test_files_are_put_in_place_whole():
    """A kill at any moment leaves the old file or the new one."""
    files = {name: source for name, source in sources().items() if not name.endswith("_atomic")}
    # Formats of exports are given the part by the one that sends for them.
    formats = [name for name in files if name.startswith("underturf.exporting.") and not name.endswith("dispatch")]
    assert len(formats) > 10
    assert "replacing(" in files["underturf.exporting.dispatch"]
    found = {name: written_in_place(source) for name, source in files.items() if name not in formats}
    assert {name: calls for name, calls in found.items() if calls} == {}
    seen = sum("replacing(" in source for source in sources().values())
    assert seen > 8
    assert written_in_place("path.write_text(text)") == ["path.write_text(text"]
    assert written_in_place("with replacing(path) as part:\n    part.write_text(text)") == []
