"""A disk that is full or read-only: said in a sentence, nothing lost, and it goes on afterwards.

A file system of some megabytes is mounted in a namespace of the test's own, which needs no rights.
"""

from __future__ import annotations

import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from tests.kills import FIRST, SECOND, contents, write

COMMAND = Path(sys.executable).with_name("stalecurve")
NAMESPACE = ("unshare", "--map-root-user", "--mount", "sh", "-eu", "-c")

pytestmark = pytest.mark.skipif(
    shutil.which("unshare") is None
    or subprocess.run([*NAMESPACE, "true"], check=False, capture_output=True).returncode != 0,
    reason="this system mounts no file system in a namespace",
)


def _inside(script: str, *paths: Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [*NAMESPACE, script, "sh", str(COMMAND), *map(str, paths)],
        capture_output=True,
        text=True,
        check=False,
    )


FULL = """
command=$1 brewery=$2 disk=$3 kept=$4
mount -t tmpfs -o size=40m tmpfs "$disk"
cp -r "$brewery"/. "$disk"
cd "$disk"
"$command" load >/dev/null 2>&1
cp "$disk"/stalecurve.duckdb "$kept"/before.duckdb
cp "$kept"/second/inbox/* inbox
dd if=/dev/zero of=filler bs=64k >/dev/null 2>&1 || true
truncate -s -%sK filler
code=0; "$command" load || code=$?
echo "code $code"
mkdir "$kept"/full; cp "$disk"/stalecurve.duckdb* "$kept"/full
rm filler
"$command" load >/dev/null
cp "$disk"/stalecurve.duckdb "$kept"/after.duckdb
"""


@pytest.fixture
def folders(tmp_path: Path) -> tuple[Path, Path, Path]:
    """A brewery, an empty folder for its disk, and one for what is to be looked at later."""
    brewery, disk, kept = (tmp_path / name for name in ("brewery", "disk", "kept"))
    write(brewery, FIRST)
    write(kept / "second", SECOND)
    disk.mkdir()
    return brewery, disk, kept


@pytest.mark.parametrize("left_kb", [0, 4, 12])
def test_a_load_onto_a_full_disk_is_stored_or_not(
    folders: tuple[Path, Path, Path], left_kb: int
) -> None:
    """All of it or, with a message, nothing; with room again the store is as it should be."""
    _, _, kept = folders
    done = _inside(FULL % left_kb, *folders)
    assert done.returncode == 0, done.stderr
    (kept / "undisturbed").mkdir()
    shutil.copy(kept / "before.duckdb", kept / "undisturbed" / "stalecurve.duckdb")
    write(kept / "undisturbed", FIRST)
    write(kept / "undisturbed", SECOND)
    subprocess.run([str(COMMAND), "load"], cwd=kept / "undisturbed", check=True)
    loaded = contents(kept / "undisturbed" / "stalecurve.duckdb")
    if done.stdout.splitlines()[-1] == "code 1":
        assert "Traceback" not in done.stderr
        assert "No space left on device" in done.stderr.splitlines()[-1]
        assert contents(kept / "full" / "stalecurve.duckdb") == contents(kept / "before.duckdb")
    else:
        assert contents(kept / "full" / "stalecurve.duckdb") == loaded
    assert contents(kept / "after.duckdb") == loaded


READ_ONLY = """
command=$1 brewery=$2 disk=$3
mount -t tmpfs tmpfs "$disk"
cd "$brewery"
for doing in load fit publish; do "$command" $doing >/dev/null 2>&1; done
mount -o remount,ro "$disk"
code=0; "$command" publish || code=$?
echo "code $code"
grep -c "</html>" "$disk"/pages/index.html
mount -o remount,rw "$disk"
"$command" publish >/dev/null 2>&1
ls -A "$disk"
"""


def test_pages_on_a_read_only_share_stay_as_they_are(folders: tuple[Path, Path, Path]) -> None:
    """The message names the folder, the old pages stand, and writing works once it may."""
    brewery, disk, _ = folders
    settings = FIRST["stalecurve.toml"] + f"[paths]\npages = '{disk}/pages'\n"
    write(brewery, {"stalecurve.toml": settings})
    done = _inside(READ_ONLY, *folders)
    assert done.returncode == 0, done.stderr
    assert done.stdout.splitlines()[-3:] == ["code 1", "1", "pages"]
    assert done.stderr.splitlines()[-1] == (
        f"stalecurve: the pages cannot be written to {disk}/pages: Read-only file system"
    )


SMALL = """
command=$1 brewery=$2 disk=$3
cd "$brewery"
"$command" load >/dev/null 2>&1
"$command" backup "$disk" >/dev/null 2>&1
size=$(du -sk "$disk" | cut -f1)
for percent in 10 80; do
    mount -t tmpfs -o size=$((size * percent / 100))k tmpfs "$disk"
    code=0; "$command" backup "$disk" || code=$?
    echo "code $code"
    ls -A "$disk"
done
"""


def test_a_backup_onto_a_full_disk_leaves_nothing(folders: tuple[Path, Path, Path]) -> None:
    """The message names the want of room, and no half backup stands there under any name."""
    done = _inside(SMALL, *folders)
    assert done.returncode == 0, done.stderr
    assert done.stdout.splitlines() == ["code 1", "code 1"]
    said = [line for line in done.stderr.splitlines() if not line.startswith("still ")]
    for line in said:
        assert line.startswith(
            "stalecurve: the backup could not be written, and nothing of it is left: "
        )
        assert "No space left on device" in line
    assert len(said) == 2
