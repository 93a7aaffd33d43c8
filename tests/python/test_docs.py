"""The pages of the documentation: their examples run, their links lead somewhere, and the first page carries the cautions.

A page may hold files: a block of TOML or CSV whose first line is a comment with the file's name is written before examples run.
"""

from __future__ import annotations

import doctest
import re
import tomllib
from pathlib import Path

import pytest

import underturf as ut

ROOT = Path(__file__).parents[2]
DOCS = ROOT / "python" / "docs"
PAGES = sorted(path for path in DOCS.glob("*.md") if path.stem[0] != "_")
BLOCK = re.compile(r"^```(\w+)\n(.*?)^```$", re.DOTALL | re.MULTILINE)
FILE = re.compile(r"# ([\w-]+\.\w+)\n")


def blocks(text):
    return BLOCK.findall(text)


def examples(page, text):
    """The examples of a page as one test, each at its line."""
    whole, end = "", 0
    for block in BLOCK.finditer(text):
        if ">>> " in block[2]:
            whole += "\n" * text.count("\n", end, block.start(2)) + block[2]
            end = block.end(2)
    return doctest.DocTestParser().get_doctest(whole, {}, page.name, str(page), 0)


RUN = [page for page in PAGES if ">>> " in page.read_text(encoding="utf-8")]


def test_there_are_pages_with_examples():
    assert len(PAGES) > 8
    assert {"tapes", "quickstart-metres", "quickstart-feet", "cite"} <= {page.stem for page in RUN}


@pytest.mark.slow
@pytest.mark.parametrize("page", RUN, ids=lambda page: page.stem)
def test_examples_of_a_page_run(page, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    text = page.read_text(encoding="utf-8")
    for _, body in blocks(text):
        if named := FILE.match(body):
            Path(named[1]).write_text(body, encoding="utf-8")
    runner = doctest.DocTestRunner(optionflags=doctest.ELLIPSIS | doctest.NORMALIZE_WHITESPACE)
    said: list[str] = []
    failed, tried = runner.run(examples(page, text), out=said.append)
    assert tried > 0
    assert failed == 0, "".join(said)


def test_an_example_that_is_wrong_is_seen():
    said: list[str] = []
    test = examples(Path("page.md"), "```python\n>>> 1 + 1\n3\n```\n")
    assert doctest.DocTestRunner().run(test, out=said.append).failed == 1


def test_links_between_pages_lead_somewhere():
    """Pages that the build makes (the reference) apart. Catches a page that was renamed."""
    seen = 0
    for page in PAGES:
        for target in re.findall(r"\]\(([^)#\s]+)[^)]*\)", page.read_text(encoding="utf-8")):
            if not target.startswith(("http", "reference/", "notebooks/")):
                assert (page.parent / target).exists(), f"{page.name}: {target}"
                seen += 1
    assert seen > 20


def test_the_cautions_of_the_pages_are_those_of_the_package():
    said = (DOCS / "_cautions.md").read_text(encoding="utf-8")
    assert re.findall(r"^- (.*)$", said, re.MULTILINE) == list(ut.CAUTIONS)
    for name in ("index", "quickstart-metres", "quickstart-feet"):
        assert "{include} _cautions.md" in (DOCS / f"{name}.md").read_text(encoding="utf-8")


def test_the_version_to_cite_is_that_of_the_package():
    package = tomllib.loads((ROOT / "Cargo.toml").read_text(encoding="utf-8"))["workspace"]["package"]
    assert f"\nversion: {package['version']}\n" in (ROOT / "CITATION.cff").read_text(encoding="utf-8")
    assert f"Version {package['version']}." in (DOCS / "cite.md").read_text(encoding="utf-8")
