"""What is installed is what was tested: the wheel holds every file of the package and works without the checkout."""

import os
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

from tests.house.tree import PACKAGE, ROOT


def pip(*arguments: str | Path) -> None:
    """Run pip without the network."""
    command = [sys.executable, "-m", "pip", "--quiet", "--disable-pip-version-check", *map(str, arguments)]
    subprocess.run(command, check=True, cwd=ROOT)


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The wheel, built from this checkout."""
    folder = tmp_path_factory.mktemp("wheel")
    pip("wheel", "--no-deps", "--no-build-isolation", "--no-index", "--wheel-dir", folder, ROOT)
    return next(folder.glob("onthree-*.whl"))


def test_wheel_holds_every_file_of_the_package(wheel: Path) -> None:
    with zipfile.ZipFile(wheel) as archive:
        packed = {name for name in archive.namelist() if name.startswith("onthree/")}
    files = {
        path.relative_to(PACKAGE.parent).as_posix()
        for path in PACKAGE.rglob("*")
        if path.is_file() and "__pycache__" not in path.parts
    }

    assert packed == files


def test_installed_wheel_reads_its_data(wheel: Path, tmp_path: Path) -> None:
    pip("install", "--no-deps", "--no-index", "--target", tmp_path / "installed", wheel)
    program = "import onthree.sources as s; print(s.__file__); print(len(s.all_sources()), len(s.technique_texts()))"
    environment = {**os.environ, "PYTHONPATH": str(tmp_path / "installed")}
    run = [sys.executable, "-c", program]
    place, counts = subprocess.run(
        run, cwd=tmp_path, env=environment, check=True, capture_output=True, text=True
    ).stdout.splitlines()

    assert Path(place).is_relative_to(tmp_path)
    assert all(int(count) > 0 for count in counts.split())
