"""The lines of Python in the README run as they stand, and the page keeps its length."""

from __future__ import annotations

import re
from pathlib import Path

README = Path(__file__).parents[2] / "README.md"


def test_the_lines_of_python_in_the_readme_run(tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    (code,) = re.findall(r"```python\n(.*?)```", README.read_text(encoding="utf-8"), re.DOTALL)
    exec(compile(code, str(README), "exec"), {})  # noqa: S102
    assert (tmp_path / "sheet.pdf").read_bytes().startswith(b"%PDF")
    assert "Call the local one-call centre" in capsys.readouterr().out


def test_every_page_that_the_readme_names_is_there():
    text = README.read_text(encoding="utf-8")
    named = re.findall(r"\]\(([^)#]+)\)", text)
    assert len(named) > 5
    assert [name for name in named if not name.startswith("http") and not (README.parent / name).exists()] == []
    assert text.count("\n") <= 120
