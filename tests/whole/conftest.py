"""One run of the demo for all tests of the whole, and how to run a command as a user does."""

import json
import subprocess
import sys
from collections.abc import Callable

import pytest
from finished import Demo

SEED = 7


@pytest.fixture(scope="session")
def reedbench() -> Callable[..., subprocess.CompletedProcess[str]]:
    """Runs the command with these arguments, without a terminal and without standard input."""

    def run(*arguments: object, timeout: float = 120) -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            [sys.executable, "-m", "reedbench", *map(str, arguments)],
            stdin=subprocess.DEVNULL,
            capture_output=True,
            text=True,
            timeout=timeout,
        )

    return run


@pytest.fixture(scope="session")
def demo(
    reedbench: Callable[..., subprocess.CompletedProcess[str]],
    micropython_program: str,
    tmp_path_factory: pytest.TempPathFactory,
) -> Demo:
    folder = tmp_path_factory.mktemp("demo")
    done = reedbench("demo", "--json", "--seed", SEED, "--out", folder)
    assert done.returncode == 0, done.stderr
    return Demo(json.loads(done.stdout), folder)
