"""What the program says of itself: help of every command, its version, hints for mistyped words, completion."""

from __future__ import annotations

import os
import re
import subprocess
import sys

import pytest
from click.testing import CliRunner
from commanding import environment, run

import underturf as ut
from underturf.__main__ import main
from underturf.commands.program import cli

#: Width that help is asked for; a terminal of that width shows it whole.
WIDTH = 100


def helped(*words):
    found = CliRunner().invoke(cli, [*words, "--help"], prog_name="underturf", terminal_width=WIDTH)
    assert found.exit_code == 0
    return found.output


@pytest.mark.parametrize("name", [None, *cli.commands])
def test_help_fits_and_tells_units(name):
    text = helped(*([name] if name else []))
    assert max(map(len, text.splitlines())) <= WIDTH
    words = " ".join(text.split())
    assert "Lengths take a unit (0.3m, 30cm, 12in, 5ft6in)" in words
    assert "a bare number is in the unit of the document" in words
    assert "\\" not in text
    assert "Parameters" not in text


@pytest.mark.parametrize("name", list(cli.commands))
def test_every_option_is_told(name):
    parts = [part for part in cli.commands[name].params if part.param_type_name == "option"]
    assert all(part.help and part.help[0].isupper() and part.help.rstrip().endswith((".", ")")) for part in parts)
    assert not {"out", "as_"} <= {part.name for part in parts} or "- is standard output" in " ".join(
        helped(name).split()
    )


def test_the_program_tells_exit_codes_and_cautions():
    words = " ".join(helped().split())
    for told in ("0 done", "1 refused", "2 wrong usage", "3 not converged", "130 stopped with Ctrl-C"):
        assert told in words
    assert all(caution in words for caution in ut.CAUTIONS)
    assert all(re.search(rf"^  {name}\b", helped(), re.MULTILINE) for name in cli.commands)


def test_the_version_is_that_of_the_package():
    assert (
        CliRunner().invoke(cli, ["--version"], prog_name="underturf").output == f"underturf, version {ut.__version__}\n"
    )


def test_help_is_shown_where_nothing_is_asked(capsys):
    assert main([]) == 2
    said = capsys.readouterr()
    assert "Begin:" in said.err
    assert said.out == ""


def test_the_package_does_not_import_the_commands():
    code = "import sys, underturf; print([n for n in sys.modules if n.startswith(('click', 'underturf.commands'))])"
    found = subprocess.run([sys.executable, "-c", code], capture_output=True, env=environment(), check=True, text=True)
    assert found.stdout == "[]\n"


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_completion_prints_a_script_for_each_shell(capsys, shell):
    assert main(["completion", shell]) == 0
    said = capsys.readouterr().out
    assert f"_UNDERTURF_COMPLETE={shell}_complete" in said


def test_the_shell_is_offered_commands_and_options():
    def offered(words, place):
        more = {"_UNDERTURF_COMPLETE": "bash_complete", "COMP_WORDS": words, "COMP_CWORD": str(place)}
        found = run(env={**environment(), **more}, text=True)
        assert found.returncode == 0
        return [line.partition(",")[2] for line in found.stdout.splitlines()]

    assert offered("underturf as", 1) == ["assess"]
    assert offered("underturf add-", 1) == ["add-probe", "add-test", "add-dig"]
    assert "--setback-limit" in offered("underturf assess --set", 2)
    assert offered("underturf demo --example te", 3) == ["terrace"]


@pytest.mark.skipif(os.name != "posix", reason="bash")
def test_bash_reads_the_script():
    script = run("completion", "bash", text=True).stdout
    found = subprocess.run(["bash", "-n"], input=script, capture_output=True, text=True, check=False)
    assert (found.returncode, found.stderr) == (0, "")
