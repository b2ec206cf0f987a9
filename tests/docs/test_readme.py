import re
from pathlib import Path

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")
COMMANDS = re.findall(r"^(python3 -m venv .*)$", README, re.MULTILINE)


def test_readme_gives_two_commands_one_for_the_job_and_one_for_the_tests():
    assert [command.rsplit("&& ", 1)[1] for command in COMMANDS] == [
        ".venv/bin/shoeing demo",
        ".venv/bin/python -m pytest",
    ]


def test_continuous_integration_runs_the_test_command_as_readme_has_it():
    assert COMMANDS[1] in (ROOT / ".ci" / "run").read_text(encoding="utf-8")


def test_every_file_that_readme_and_developers_point_to_is_there():
    for page in ("README.md", "DEVELOPERS.md"):
        text = (ROOT / page).read_text(encoding="utf-8")
        targets = re.findall(r"\]\((?!https?:|#)([^)#]+)", text)
        assert targets, page
        assert [target for target in targets if not (ROOT / target).exists()] == [], page


def test_every_option_and_command_that_readme_names_exists():
    from typer.testing import CliRunner

    from pipelines.cli import app

    helps = "".join(
        CliRunner().invoke(app, [*name, "--help"], env={"COLUMNS": "200"}).output
        for name in ([], ["demo"], ["check"], ["publish"], ["share"], ["simulate"])
    )
    used = "\n".join(line.split("shoeing ", 1)[1] for line in README.splitlines() if "shoeing " in line)
    named = set(re.findall(r"(?<![-\w])--[a-z][a-z-]+", used))
    assert named, "README shows how the commands are used"
    assert sorted(option for option in named if option not in helps) == []
