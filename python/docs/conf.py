"""How the pages of this folder become the documentation site: ``sphinx-build -W -b html python/docs OUT``, or ``.ci/docs``.

Two things are made beside the pages before each build and are not kept in the repository: ``reference/``, a page for every name
that the package exports, and ``notebooks/``, the notebooks with their outputs. A page that is added to the folder joins the menu
by itself.
"""

import importlib
import inspect
import os
import shutil
from pathlib import Path

from docutils import nodes
from sphinx import addnodes
from sphinx.application import Sphinx

import underturf

HERE = Path(__file__).parent
ROOT = HERE.parents[1]

project = "underturf"
author = "the underturf developers"
project_copyright = "MIT licence"
release = version = underturf.__version__

extensions = ["myst_nb", "sphinx.ext.autodoc", "sphinx.ext.autosummary", "sphinx.ext.napoleon", "sphinx_click"]
templates_path = ["_templates"]
exclude_patterns = ["validation/*", "_build", "_*.md"]

# Pages: headings are places to link to, as the repository's own viewer makes them.
myst_enable_extensions = ["colon_fence", "deflist"]
myst_heading_anchors = 4

# Notebooks come with their outputs, or are run here: see `keep_notebooks`.
nb_execution_timeout = 300
nb_merge_streams = True

# Docstrings say the types; signatures stay short.
default_role = "py:obj"
autodoc_typehints = "none"
autodoc_member_order = "bysource"
autosummary_generate = True
napoleon_google_docstring = False
napoleon_custom_sections = [("Attributes", "params_style")]
napoleon_use_rtype = False

html_theme = "furo"
html_title = f"underturf {release}"
html_static_path = ["_static"]
html_css_files = ["pages.css"]
html_copy_source = False
html_show_sphinx = False

#: The menu: pages by heading. A page that stands nowhere else joins the second group.
MENU: dict[str, list[str]] = {
    "Start": ["quickstart-metres", "quickstart-feet", "tapes"],
    "Use": ["site-document"],
    "Worked examples": [],
    "What it rests on": ["glossary", "model", "trade-values", "validation", "cite"],
    "Look up": ["reference/index"],
}

#: Groups of the reference: title, what it holds, and which of the exported names it takes. The first that fits takes a name.
GROUPS = (
    ("Errors", "What is raised.", lambda thing, _: inspect.isclass(thing) and issubclass(thing, Exception)),
    ("Options", "How a question is asked.", lambda thing, home: inspect.isclass(thing) and home.startswith("options")),
    (
        "Results",
        "Frozen answers, and their rows.",
        lambda thing, home: inspect.isclass(thing) and home.startswith("results"),
    ),
    ("Functions", "Read, sample, look up.", lambda thing, _: inspect.isfunction(thing)),
    ("Classes", "Site, layouts, maps, digs, trees.", lambda thing, _: inspect.isclass(thing)),
    ("Constants", "Sentences and lists.", lambda *_: True),
)


def grouped() -> dict[str, list[str]]:
    """Return the exported names of each group."""
    found: dict[str, list[str]] = {title: [] for title, *_ in GROUPS}
    for name in underturf.__all__:
        thing = getattr(underturf, name)
        home = str(getattr(thing, "__module__", "")).removeprefix("underturf.")
        title = next(title for title, _, takes in GROUPS if takes(thing, home))
        found[title].append(name)
    return found


def summary(module: str, names: list[str]) -> list[str]:
    """Return a table of names with a page each."""
    rows = [f"   {name}" for name in names]
    return [
        "```{eval-rst}",
        f".. currentmodule:: {module}",
        "",
        ".. autosummary::",
        "   :toctree:",
        "",
        *rows,
        "```",
        "",
    ]


def constants(names: list[str]) -> list[str]:
    """Return the descriptions of constants."""
    return ["```{eval-rst}", *(f".. autodata:: underturf.{name}\n   :no-value:\n" for name in names), "```", ""]


def write_reference() -> None:
    """Write the first page of the reference; Sphinx writes the page of each name."""
    folder = HERE / "reference"
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir()
    said = {title: sentence for title, sentence, _ in GROUPS}
    found = grouped()
    lines = ["# Reference", "", "What `import underturf as ut` brings, and two modules beside it.", ""]
    for title in ("Functions", "Classes", "Options", "Results", "Errors"):
        lines += [f"## {title}", "", said[title], "", *summary("underturf", found[title])]
    lines += ["## Constants", "", said["Constants"], "", *constants(found["Constants"])]
    for name in ("underturf.diagnostics", "underturf.plotting"):
        module = importlib.import_module(name)
        lines += [f"## {name}", "", (module.__doc__ or "").split("\n\n")[0].strip(), "", *summary(name, module.__all__)]
    (folder / "index.md").write_text("\n".join(lines), encoding="utf-8")


def keep_notebooks() -> list[str]:
    """Copy the notebooks beside the pages, and return those that need no run here.

    The tests run every notebook, which takes minutes. With ``UNDERTURF_NOTEBOOKS`` set to a folder they keep them there with
    their outputs, and those are shown here without a second run. A notebook that is not there, or is older than its source or the
    package, is run by the build, unless it is told not to: ``-D nb_execution_mode=off``.
    """
    folder = HERE / "notebooks"
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir()
    ran = Path(os.environ.get("UNDERTURF_NOTEBOOKS", ROOT / "target" / "notebooks"))
    package = max(
        file.stat().st_mtime for file in Path(underturf.__file__).parent.rglob("*") if file.suffix in (".py", ".so")
    )
    done = []
    for source in sorted((ROOT / "notebooks").glob("*.ipynb")):
        kept = ran / source.name
        fresh = kept.exists() and kept.stat().st_mtime >= max(source.stat().st_mtime, package)
        shutil.copy(kept if fresh else source, folder / source.name)
        done += [f"notebooks/{source.name}"] if fresh else []
    return done


def menu() -> str:
    """Return the menu as lists of pages."""
    groups = {title: list(pages) for title, pages in MENU.items()}
    listed = {page for pages in groups.values() for page in pages} | {"index"}
    groups["Use"] += sorted(path.stem for path in HERE.glob("*.md") if path.stem not in listed and path.stem[0] != "_")
    groups["Worked examples"] = sorted(f"notebooks/{path.stem}" for path in (HERE / "notebooks").glob("*.ipynb"))
    lists = {title: "\n".join(pages) for title, pages in groups.items()}
    return "\n".join(
        f"```{{toctree}}\n:caption: {title}\n:maxdepth: 1\n:hidden:\n\n{pages}\n```\n" for title, pages in lists.items()
    )


def put_menu(_: Sphinx, docname: str, source: list[str]) -> None:
    """Put the menu into the first page."""
    if docname == "index":
        source[0] = source[0].replace("<!-- menu -->", menu())


def unlink_words(_: Sphinx, tree: nodes.document) -> None:
    """Leave words of types as words: "name" and "length" in docstrings are no links to attributes of that name."""
    for link in list(tree.findall(addnodes.pending_xref)):
        target = str(link.get("reftarget", ""))
        if link.get("refdomain") == "py" and "." not in target and target not in underturf.__all__:
            link.replace_self(link.children)


#: Stands for the colon in the sentence of a property while docstrings are read for sections.
COLON = "\N{VERTICAL FOUR DOTS}"


def keep_colon(_: Sphinx, what: str, _name: str, _thing: object, _options: object, lines: list[str]) -> None:
    """Keep the sentence of a property whole: what stands before its colon is no type."""
    if what == "property":
        lines[:] = [line.replace(":", COLON) for line in lines]


def put_colon(_: Sphinx, what: str, _name: str, _thing: object, _options: object, lines: list[str]) -> None:
    """Put the colons back."""
    if what == "property":
        lines[:] = [line.replace(COLON, ":") for line in lines]


#: How the signatures of classes begin that functions make for the user.
MADE = ("(core", "(_", "(*, site", "(*, name, units")


def hide_made(_: Sphinx, what: str, _name: str, _thing: object, _options: object, signature: str, _returns: object):
    """Leave out how a class is called that a function makes for the user."""
    return ("", None) if what == "class" and (signature or "").startswith(MADE) else None


def setup(app: Sphinx) -> None:
    """Connect what is done while pages are read."""
    app.connect("autodoc-process-docstring", keep_colon, priority=100)
    app.connect("autodoc-process-docstring", put_colon, priority=900)
    app.connect("autodoc-process-signature", hide_made)
    app.connect("source-read", put_menu)
    app.connect("doctree-read", unlink_words, priority=900)


write_reference()
nb_execution_mode = "force"
nb_execution_raise_on_error = True
nb_execution_excludepatterns = keep_notebooks()
